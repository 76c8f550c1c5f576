"""An outline of a drawing with what is asked of it to tell what it is: its middle, and what kind of shape it is."""

from __future__ import annotations

from math import radians
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct

from core.geometry.lines.outline import polygon_outline
from core.geometry.ovals.pose import hull, principal_pose
from core.measure.drawing.ovals.recover import circle_of, samples

if TYPE_CHECKING:
    from core.geometry.lines.outline import FloatArray, Point
    from core.measure.drawing.results import Loop

_CONVEX: Final = 0.995  # of the hull's area
_CORNER: Final = radians(60.0)  # more than the tightest end of an oval turns over a sixtieth of its length


class Shape(Struct, frozen=True, eq=False):
    """A loop with what the guess asks of it.

    Attributes:
        points: (180, 2) places round it [mm].
        middle: of a round, its centre; else of its line's mass [mm].
        circle: centre and diameter [mm] of one that is round.
        is_even: half a turn about its middle brings it onto itself.
        holds: other loops lie in it.
    """

    loop: Loop
    points: FloatArray
    middle: Point
    circle: tuple[Point, float] | None
    is_convex: bool
    is_even: bool
    holds: bool

    @classmethod
    def of(cls, loop: Loop, tolerance: float, *, holds: bool) -> Shape:
        """The shape of a loop that is round when it is so within the tolerance [mm]."""
        found = samples(loop.outline, 180)
        size = _size(loop)
        pose = principal_pose(found.points, found.weights)
        corners = hull(found.points)
        is_convex = abs(loop.outline.area) >= _CONVEX * polygon_outline(corners).area and not _has_corner(found.points)
        circle = circle_of(loop.outline, tolerance)
        # Turned by half a turn about its middle an oval lies on itself, however it was made.
        turned = 2.0 * np.array(pose.centre) - found.points
        is_even = bool(loop.outline.nearest(turned).distance.max() <= max(4.0 * tolerance, 0.004 * size))
        return cls(loop, found.points, circle[0] if circle else pose.centre, circle, is_convex, is_even, holds)

    @property
    def number(self) -> int:
        """The loop's own."""
        return self.loop.number

    @property
    def area(self) -> float:
        """Above 0, whichever way it runs [mm²]."""
        return abs(self.loop.outline.area)

    @property
    def size(self) -> float:
        """The larger side of the upright box round it [mm]."""
        return _size(self.loop)

    @property
    def has_side(self) -> bool:
        """Whether a straight line makes up a good part of it."""
        s = self.loop.outline.segments
        lines = s.lines_and_arcs[0]
        return bool(len(lines) and s.length[lines].max() >= 0.1 * self.loop.outline.length)


def _size(loop: Loop) -> float:
    x0, y0, x1, y1 = loop.outline.bounds
    return max(x1 - x0, y1 - y0)


def _has_corner(points: FloatArray) -> bool:
    """Whether a loop turns sharply somewhere, seen over three steps between places (n, 2) round it."""
    step = np.roll(points, -1, axis=0) - points
    way = step[:, 0] + 1j * step[:, 1]
    return bool(np.abs(np.angle(np.roll(way, -2) * way.conj())).max() > _CORNER)
