"""Remedies that move a feature: which way, how far, and to what place."""

from __future__ import annotations

from math import atan2, hypot
from typing import TYPE_CHECKING

from core.edits import get_value
from core.fit.words import direction_words
from core.housing import Follows
from core.verdicts import Edit, Remedy

if TYPE_CHECKING:
    from core.fit.case import Case
    from core.outline import Point

_SAME_MM = 1e-9


def moved_by(case: Case, path: str, way: Point, by: float) -> Remedy | None:
    """Move what stands at ``path`` by an amount [mm] along ``way``; None where that is no way at all.

    The project holds the place as it was built; what follows seat or outside goes on from there.
    """
    size = hypot(*way)
    if size < _SAME_MM or by <= 0.0:
        return None
    x, y = get_value(case.project, f"{path}.x"), get_value(case.project, f"{path}.y")
    assert isinstance(x, float)
    assert isinstance(y, float)
    parts = (("x", x, way[0] / size), ("y", y, way[1] / size))
    edits = tuple(
        Edit(f"{path}.{axis}", start=at, per=per) if abs(per) > _SAME_MM else Edit(f"{path}.{axis}", at)
        for axis, at, per in parts
    )
    stays = get_value(case.project, f"{path}.follows") in (Follows.MACHINE, Follows.CENTRE)
    text = f"move it {{by}} towards {direction_words(atan2(way[1], way[0]))}, to x {{to}}, y {{to1}}"
    return Remedy(text if stays else f"{text} as built", edits, by)
