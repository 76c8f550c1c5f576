"""The questions for files to measure from, as Qt's own dialogs."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final

from PySide6.QtWidgets import QFileDialog

from app.session import settings
from app.steps.measure.topic import MeasuringDialogs

if TYPE_CHECKING:
    from PySide6.QtWidgets import QWidget

_DRAWINGS: Final = "Outlines (*.dxf *.csv *.txt);;All files (*)"
_PICTURES: Final = "Pictures (*.png *.jpg *.jpeg *.tif *.tiff);;All files (*)"
_CANDIDATES: Final = "Inserts (*.csv *.json);;All files (*)"


def _open(window: QWidget, title: str, filters: str) -> Path | None:
    name, _ = QFileDialog.getOpenFileName(window, title, settings.FOLDER.get(), filters)
    if not name:
        return None
    settings.FOLDER.put(str(Path(name).parent))
    return Path(name)


def _ask_drawing(window: QWidget) -> Path | None:
    return _open(window, "Open an outline file", _DRAWINGS)


def _ask_picture(window: QWidget) -> Path | None:
    return _open(window, "Open a picture", _PICTURES)


def _ask_candidates(window: QWidget) -> Path | None:
    return _open(window, "Open a list of inserts", _CANDIDATES)


def _ask_candidates_target(window: QWidget) -> Path | None:
    name, _ = QFileDialog.getSaveFileName(
        window,
        "Add to the list of inserts",
        settings.FOLDER.get(),
        _CANDIDATES,
        options=QFileDialog.Option.DontConfirmOverwrite,  # it is added to, not replaced
    )
    return Path(name) if name else None


REAL: Final = MeasuringDialogs(_ask_drawing, _ask_picture, _ask_candidates, _ask_candidates_target)
