"""Directions and places in plan, in words."""

from __future__ import annotations

from math import atan2, degrees, hypot, pi
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from core.geometry.lines.outline import Outline, Point

# Eight sides, counter-clockwise from +X, as the drawing shows them.
_SIDES = ("right", "upper right", "top", "upper left", "left", "lower left", "bottom", "lower right")


def _side(angle: float) -> str:
    """The side that an angle [rad] from +X points to: ``right``, ``upper right``, ``top``."""
    return _SIDES[round(angle / (pi / 4.0)) % 8]


def direction_words(angle: float) -> str:
    """A direction [rad] as a side and its angle from +X."""
    return f"the {_side(angle)} ({round(degrees(angle)) % 360}°)"


def whereabouts(at: Point, around: Outline) -> str:
    """Where a point lies on or in an outline: ``at the upper right``, ``at the centre``.

    The sides are told by the outline's own proportions, so that a long oval has eight sides of a like size.
    """
    x0, y0, x1, y1 = around.bounds
    x = (at[0] - (x0 + x1) / 2.0) / ((x1 - x0) / 2.0)
    y = (at[1] - (y0 + y1) / 2.0) / ((y1 - y0) / 2.0)
    if hypot(x, y) < 0.15:
        return "at the centre"
    return f"at the {_side(atan2(y, x))}"
