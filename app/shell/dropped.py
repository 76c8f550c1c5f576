"""Files that are dropped on the window: what each is, by its ending."""

from __future__ import annotations

from enum import Enum
from pathlib import Path
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from PySide6.QtCore import QMimeData


class Dropped(Enum):
    """What a dropped file may be."""

    PROJECT = "project"
    OUTLINES = "outlines"
    PICTURE = "picture"


_ENDINGS: Final = {
    Dropped.PROJECT: (".seatwright", ".json"),
    Dropped.OUTLINES: (".dxf", ".csv", ".txt"),
    Dropped.PICTURE: (".png", ".jpg", ".jpeg", ".tif", ".tiff"),
}
REFUSAL: Final = (
    "A project, an outline file (DXF, or points in a CSV) or a picture of a part can be dropped here, one at a time."
)


def dropped(data: QMimeData) -> tuple[Dropped, Path] | None:
    """The one file that is carried, and what it is by its ending; None for anything else."""
    urls = data.urls()
    if len(urls) != 1 or not urls[0].isLocalFile():
        return None
    path = Path(urls[0].toLocalFile())
    return next(((kind, path) for kind, endings in _ENDINGS.items() if path.suffix.lower() in endings), None)
