"""The place of an outline that is nearest to a single point, in plain numbers: for one point arrays are slow."""

from __future__ import annotations

from math import atan, atan2, hypot
from typing import TYPE_CHECKING, Protocol

from msgspec import Struct

if TYPE_CHECKING:
    from core.geometry.lines.segments import FloatArray, Point


class Foot(Struct, frozen=True):
    """Where an outline is nearest to one point.

    Attributes:
        distance: [mm], >= 0.
        at: the nearest place [mm].
        along: its distance from the start of its segment [mm].
        segment: the segment it lies on.
        is_left: whether the point lies to the left of that segment, or of its circle.
    """

    distance: float
    at: Point
    along: float
    segment: int
    is_left: bool


class Row(Protocol):
    """One segment of an outline."""

    def distance(self, x: float, y: float) -> float:
        """The distance of a point to this segment [mm]."""

    def foot(self, x: float, y: float) -> Foot:
        """The place of this segment that is nearest to a point."""


def rows_of(vertices: FloatArray) -> tuple[Row, ...]:
    """The segments of the outline with these vertices (n, 3): x, y, bulge.

    >>> import numpy as np
    >>> [row.distance(3.0, 4.0) for row in rows_of(np.array([[0, 0, 0], [6, 0, 0], [6, 8, 0], [0, 8, 0]]))]
    [4.0, 3.0, 4.0, 3.0]
    """
    listed = vertices.tolist()
    return tuple(
        _Arc(k, (x0, y0), (x1, y1), bulge) if bulge else _Line(k, (x0, y0), (x1, y1))
        for k, ((x0, y0, bulge), (x1, y1, _)) in enumerate(zip(listed, listed[1:] + listed[:1], strict=True))
    )


def nearest_foot(rows: tuple[Row, ...], at: Point) -> Foot:
    """Of the places nearest to ``at`` on several segments, the nearest.

    >>> import numpy as np
    >>> nearest_foot(rows_of(np.array([[0.0, 0, 0], [6, 0, 0], [6, 8, 0], [0, 8, 0]])), (2.0, -1.0))
    Foot(distance=1.0, at=(2.0, 0.0), along=2.0, segment=0, is_left=False)
    """
    away = [row.distance(*at) for row in rows]
    return rows[away.index(min(away))].foot(*at)


class _Line:
    """A straight segment."""

    __slots__ = ("end", "number", "square", "start", "step")

    def __init__(self, number: int, start: Point, end: Point) -> None:
        self.number, self.start, self.end = number, start, end
        self.step = (end[0] - start[0], end[1] - start[1])
        self.square = self.step[0] ** 2 + self.step[1] ** 2

    def _part(self, fx: float, fy: float) -> float:
        """How much of the segment lies before the foot of a point at (fx, fy) from its start."""
        dx, dy = self.step
        return min(max((fx * dx + fy * dy) / self.square, 0.0), 1.0) if self.square else 0.0

    def distance(self, x: float, y: float) -> float:
        fx, fy = x - self.start[0], y - self.start[1]
        part = self._part(fx, fy)
        return hypot(fx - part * self.step[0], fy - part * self.step[1])

    def foot(self, x: float, y: float) -> Foot:
        (x0, y0), (dx, dy) = self.start, self.step
        fx, fy = x - x0, y - y0
        part = self._part(fx, fy)
        at = (x0 + part * dx, y0 + part * dy) if part < 1.0 else self.end
        return Foot(hypot(x - at[0], y - at[1]), at, part * self.square**0.5, self.number, dx * fy > dy * fx)


class _Arc:
    """A circular segment; the formulas are told in ``core.geometry.lines.outline.Segments``."""

    __slots__ = ("centre", "end", "half_cosine", "is_ccw", "middle", "number", "radius", "start", "sweep")

    def __init__(self, number: int, start: Point, end: Point, bulge: float) -> None:
        self.number, self.start, self.end = number, start, end
        dx, dy = end[0] - start[0], end[1] - start[1]
        size, square = hypot(dx, dy), bulge * bulge
        offset = (0.25 - 0.25 * square) / bulge
        self.centre = ((start[0] + end[0]) / 2.0 - dy * offset, (start[1] + end[1]) / 2.0 + dx * offset)
        self.radius = size * abs(0.5 * bulge + offset)
        self.is_ccw = bulge > 0.0
        way = (1.0 if self.is_ccw else -1.0) / (size or 1.0)
        self.middle = (dy * way, -dx * way)
        self.half_cosine = (1.0 - square) / (1.0 + square)
        self.sweep = 4.0 * atan(abs(bulge))

    def distance(self, x: float, y: float) -> float:
        ux, uy = x - self.centre[0], y - self.centre[1]
        rho = hypot(ux, uy)
        if ux * self.middle[0] + uy * self.middle[1] >= rho * self.half_cosine:
            return abs(rho - self.radius)
        return min(hypot(x - self.start[0], y - self.start[1]), hypot(x - self.end[0], y - self.end[1]))

    def foot(self, x: float, y: float) -> Foot:
        (cx, cy), (mx, my), radius = self.centre, self.middle, self.radius
        ux, uy = x - cx, y - cy
        rho = hypot(ux, uy)
        is_left = (rho < radius) == self.is_ccw
        if rho and ux * mx + uy * my >= rho * self.half_cosine:
            scale = radius / rho
            at = cx + ux * scale, cy + uy * scale
            return Foot(abs(rho - radius), at, radius * self._turn(ux, uy), self.number, is_left)
        to_start, to_end = hypot(x - self.start[0], y - self.start[1]), hypot(x - self.end[0], y - self.end[1])
        if to_start <= to_end:
            return Foot(to_start, self.start, 0.0, self.number, is_left)
        return Foot(to_end, self.end, self.sweep * radius, self.number, is_left)

    def _turn(self, ux: float, uy: float) -> float:
        """Angle [rad] along the arc from its start to the direction (ux, uy) from its centre."""
        mx, my = self.middle
        from_middle = atan2(mx * uy - my * ux, mx * ux + my * uy)
        turn = self.sweep / 2.0 + (from_middle if self.is_ccw else -from_middle)
        return min(max(turn, 0.0), self.sweep)
