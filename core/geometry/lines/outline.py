"""Closed outlines of straight lines and circular arcs.

Words: a *segment* runs from one vertex to the next; its *bulge* is tan(sweep / 4), positive counter-clockwise (DXF
reference, LWPOLYLINE, code 42). A *station* is the arc length from vertex 0 along the direction of travel. The
*outward* side of a counter-clockwise outline is the right of the direction of travel.
"""

from __future__ import annotations

from functools import cached_property, lru_cache
from itertools import accumulate
from math import atan, atan2, cos, hypot, isfinite, pi, sin
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from core.geometry.lines.foot import Foot, Row, nearest_foot, rows_of
from core.geometry.lines.rays import Rays
from core.geometry.lines.segments import (
    FLAT_BULGE,
    BoolArray,
    ComplexArray,
    FloatArray,
    IntArray,
    Point,
    Segments,
    indices,
    segment_bounds,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike

__all__ = [
    "FLAT_BULGE",
    "BoolArray",
    "ComplexArray",
    "FloatArray",
    "IntArray",
    "Nearest",
    "Outline",
    "Point",
    "Segments",
    "as_circle",
    "bulge_through",
    "circle_outline",
    "indices",
    "polygon_outline",
    "rectangle_outline",
    "segment_bounds",
    "tell_outlines",
]


# Points times segments from which on each point's ray looks only for the segments that it can meet.
_MANY = 1 << 18


class Nearest(Struct, frozen=True, eq=False, dict=True):
    """Where an outline is nearest to m points.

    Attributes:
        outline: the outline.
        points: (m, 2) [mm].
        distance: (m,) [mm], >= 0.
        segment: (m,) the segments that the nearest places lie on.
    """

    outline: Outline
    points: FloatArray
    distance: FloatArray
    segment: IntArray

    @cached_property
    def along(self) -> FloatArray:
        """(m,) distances of the nearest places from the starts of their segments [mm]."""
        return self.outline.segments.along(self.segment, self.points)

    @cached_property
    def foot(self) -> FloatArray:
        """(m, 2) the nearest places on the outline [mm]."""
        return self.outline.segments.feet(self.segment, self.points)

    @property
    def station(self) -> FloatArray:
        """(m,) the stations of the nearest places [mm]."""
        return self.outline.starts[self.segment] + self.along


class Outline:
    """Closed chain of straight lines and circular arcs, immutable and compared by value.

    Attributes:
        vertices: (n, 3), n >= 2, read-only; columns x [mm], y [mm] and the bulge [1] of the segment that starts there.

    >>> half_disc = Outline([[2, 0, 1], [-2, 0, 0]])  # of radius 2: 2 pi + 4 round it, 2 pi in it
    >>> round(half_disc.length, 6), round(half_disc.area, 6)
    (10.283185, 6.283185)
    """

    vertices: FloatArray

    def __init__(self, vertices: ArrayLike) -> None:
        v = np.array(vertices, dtype=np.float64)  # our copy
        if v.ndim != 2 or v.shape[1] != 3 or len(v) < 2:
            raise ValueError(f"vertices must have shape (n >= 2, 3), not {v.shape}")
        if not isfinite(np.add.reduce(v, None)) and not np.isfinite(v).all():  # the sum tells at once; it may overflow
            raise ValueError("vertices must be finite")
        _settle(self, v)

    @classmethod
    def of_finite(cls, vertices: FloatArray) -> Outline:
        """The outline of finite vertices (n >= 2, 3) that their maker gives away: not looked at, nor copied."""
        outline = cls.__new__(cls)
        _settle(outline, vertices)
        return outline

    @classmethod
    def without_corners(cls, vertices: ArrayLike) -> Outline:
        """The outline of vertices whose maker knows that it ``is_smooth``: need not be found out again."""
        outline = cls(vertices)
        outline.__dict__["is_smooth"] = True
        return outline

    def __setattr__(self, name: str, value: object) -> None:
        raise AttributeError(f"an Outline is immutable; make a new one instead of setting {name}")

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Outline):
            return NotImplemented
        return self is other or self._key == other._key

    @cached_property
    def _key(self) -> bytes:
        return self.vertices.tobytes()

    def __hash__(self) -> int:
        return hash(self._key)

    def __len__(self) -> int:
        return len(self.vertices)

    def __repr__(self) -> str:
        x0, y0, x1, y1 = self.bounds
        return f"Outline({len(self)} segments, x {x0:.3f}..{x1:.3f}, y {y0:.3f}..{y1:.3f}, area {self.area:.3f})"

    @cached_property
    def segments(self) -> Segments:
        """The outline's segments, in order."""
        start = self.vertices[:, :2]
        return Segments.of(start, np.concatenate((start[1:], start[:1])), self.vertices[:, 2])

    @cached_property
    def starts(self) -> FloatArray:
        """(n + 1,) station of each segment's start [mm]; the last is the whole length."""
        return np.concatenate((np.zeros(1), np.cumsum(self.segments.length)))

    @property
    def length(self) -> float:
        """Length of the closed outline [mm], exact for lines and arcs."""
        return float(self.starts[-1])

    @cached_property
    def area(self) -> float:
        """Signed area [mm²], positive counter-clockwise, with the circular segments over the chords."""
        # Most outlines have few segments: plain numbers are quicker than arrays.
        double = 0.0
        rows = self.vertices.tolist()
        for (x0, y0, bulge), (x1, y1, _) in zip(rows, rows[1:] + rows[:1], strict=True):
            double += x0 * y1 - y0 * x1
            if bulge:
                sweep, part = 4.0 * atan(bulge), (0.25 + 0.25 * bulge * bulge) / bulge
                double += ((x1 - x0) ** 2 + (y1 - y0) ** 2) * part * part * (sweep - sin(sweep))
        return double / 2.0

    @cached_property
    def centroid(self) -> Point:
        """Centre of the area [mm]."""
        s = self.segments
        cross = s.start[:, 0] * s.end[:, 1] - s.end[:, 0] * s.start[:, 1]
        moment = ((s.start + s.end) * cross[:, None]).sum(axis=0) / 6.0
        arcs = self.vertices[:, 2] != 0.0
        sweep, radius = s.sweep[arcs], s.radius[arcs]
        caps = radius**2 * (sweep - np.sin(sweep)) / 2.0
        # First moment of a circular segment about its centre: 2/3 r^3 sin^3(sweep / 2) (elementary).
        reach = (2.0 / 3.0) * radius**3 * np.sin(np.abs(sweep) / 2.0) ** 3 * np.sign(sweep)
        moment = moment + (s.centre[arcs] * caps[:, None] + s.middle[arcs] * reach[:, None]).sum(axis=0)
        return float(moment[0] / self.area), float(moment[1] / self.area)

    @property
    def is_ccw(self) -> bool:
        """Whether the outline runs counter-clockwise."""
        return self.area > 0.0

    @cached_property
    def bounds(self) -> tuple[float, float, float, float]:
        """Least x, least y, greatest x, greatest y [mm], arcs included."""
        low, high = segment_bounds(self.segments)
        least, most = low.min(axis=0), high.max(axis=0)
        return float(least[0]), float(least[1]), float(most[0]), float(most[1])

    @cached_property
    def is_smooth(self) -> bool:
        """Whether neighbouring segments share their tangent everywhere (to 1 mrad)."""
        leaving, arriving = self.segments.directions
        turns = np.concatenate((leaving[1:], leaving[:1])) * arriving.conj()
        return bool(turns.real.min() > cos(1e-3))

    @cached_property
    def axis_station(self) -> float:
        """Station zero [mm]: where the outline crosses the +X axis, furthest out if it does so more than once.

        An outline that the axis misses has its place nearest to the axis' far end.
        """
        s = self.segments
        x1, y0, y1 = s.start[:, 0], s.start[:, 1], s.end[:, 1]
        lines = indices((s.bulge == 0.0) & ((y0 < 0.0) != (y1 < 0.0)))
        part = y0[lines] / (y0[lines] - y1[lines])
        found = [x1[np.abs(y0) <= 1e-9], x1[lines] + part * (s.end[lines, 0] - x1[lines])]
        arcs = s.lines_and_arcs[1]
        up, radius = -s.centre[arcs, 1], s.radius[arcs]
        half = np.sqrt(np.maximum((radius - up) * (radius + up), 0.0))
        for side in (-half, half):
            # A hair past an arc's end is its end, as rounding has it.
            reached = side * s.middle[arcs, 0] + up * s.middle[arcs, 1] >= radius * s.half_cosine[arcs] - 1e-9
            found.append((s.centre[arcs, 0] + side)[reached & (np.abs(up) <= radius)])
        furthest = np.concatenate(found).max(initial=-np.inf)
        if furthest == -np.inf:
            _, _, high, _ = self.bounds
            furthest = 2.0 * abs(high) + self.length
        return self.station_of(self.foot_of((float(furthest), 0.0)))

    def reversed(self) -> Outline:
        """The same outline run the other way, from the same vertex."""
        back = self.vertices[::-1]
        reverse = np.concatenate((back[-1:], back[:-1]))
        reverse[:, 2] = -back[:, 2]
        return Outline(reverse)

    def oriented(self, *, ccw: bool) -> Outline:
        """This outline, or its reverse, so that it runs counter-clockwise or clockwise."""
        return self if self.is_ccw == ccw else self.reversed()

    def moved(self, dx: float, dy: float) -> Outline:
        """Shifted by (dx, dy) [mm]."""
        return Outline(self.vertices + np.array([dx, dy, 0.0])) if dx or dy else self

    def turned(self, angle: float, about: Point = (0.0, 0.0)) -> Outline:
        """Turned counter-clockwise by ``angle`` [rad]."""
        c, s = cos(angle), sin(angle)
        x, y = self.vertices[:, 0] - about[0], self.vertices[:, 1] - about[1]
        return Outline(np.column_stack((c * x - s * y + about[0], s * x + c * y + about[1], self.vertices[:, 2])))

    def scaled(self, factor: float, about: Point = (0.0, 0.0)) -> Outline:
        """Scaled by ``factor`` > 0.

        Raises:
            ValueError: the factor is not positive.
        """
        if not factor > 0:
            raise ValueError(f"factor must be positive, not {factor}")
        centre = np.array(about)
        return Outline(np.column_stack(((self.vertices[:, :2] - centre) * factor + centre, self.vertices[:, 2])))

    def mirrored(self, at: Point, direction: Point) -> Outline:
        """Mirrored about the line through ``at`` along ``direction``; the sense of travel is kept.

        Raises:
            ValueError: the direction is zero.
        """
        size = hypot(*direction)
        if not size > 0:
            raise ValueError("the mirror line needs a direction")
        d = np.array(direction) / size
        rel = self.vertices[:, :2] - np.array(at)
        xy = 2.0 * (rel @ d)[:, None] * d - rel + np.array(at)
        # Mirroring negates every sweep; reversing the travel negates it again and shifts the bulges by one place.
        return Outline(np.column_stack((xy, -self.vertices[:, 2]))).reversed()

    def locate(self, stations: ArrayLike) -> tuple[IntArray, FloatArray]:
        """Segment (m,) and distance along it (m,) [mm] of the stations (m,) [mm], taken modulo the length."""
        s = np.mod(np.atleast_1d(np.asarray(stations, dtype=np.float64)), self.length)
        index = np.clip(np.searchsorted(self.starts, s, side="right") - 1, 0, len(self) - 1)
        return index, s - self.starts[index]

    def points_at(self, stations: ArrayLike) -> FloatArray:
        """(m, 2) points at the stations (m,) [mm], taken modulo the length."""
        return self.segments.points(*self.locate(stations))

    def tangents_at(self, stations: ArrayLike) -> FloatArray:
        """(m, 2) unit directions of travel at the stations (m,) [mm]."""
        return self.segments.tangents(*self.locate(stations))

    def normals_at(self, stations: ArrayLike) -> FloatArray:
        """(m, 2) unit vectors to the right of travel: outward for a counter-clockwise outline."""
        t = self.tangents_at(stations)
        return np.column_stack((t[:, 1], -t[:, 0]))

    def nearest(self, points: ArrayLike) -> Nearest:
        """The nearest place on the outline to each point (m, 2), on its lines and arcs, not on chords."""
        p = np.atleast_2d(np.asarray(points, dtype=np.float64))
        return Nearest(self, p, *self.segments.closest(p))

    def foot_of(self, at: Point) -> Foot:
        """The place on the outline that is nearest to one point; for many points ``nearest`` is quicker."""
        return nearest_foot(self._rows, at)

    @cached_property
    def _rows(self) -> tuple[Row, ...]:
        return rows_of(self.vertices)

    def station_of(self, foot: Foot) -> float:
        """The station of a place on the outline [mm]."""
        return float(self.starts[foot.segment]) + foot.along

    def signed_distance_to(self, at: Point, foot: Foot | None = None) -> float:
        """Distance [mm] from one point to the outline, negative inside; ``foot`` is nearest to it, if known."""
        foot = foot or self.foot_of(at)
        inside = foot.is_left == self.is_ccw if self.is_smooth else bool(self.contains(at)[0])
        return -foot.distance if inside else foot.distance

    def contains(self, points: ArrayLike) -> BoolArray:
        """(m,) whether each point (m, 2) lies inside; undefined within rounding of the outline itself."""
        p = np.atleast_2d(np.asarray(points, dtype=np.float64))
        if len(p) * len(self) <= _MANY:
            return self.segments.encloses(p)
        return Rays(self.segments, np.zeros(len(self), dtype=np.int64), 1).inside(p)[:, 0]

    def signed_distance(self, points: ArrayLike) -> FloatArray:
        """(m,) distance [mm] from each point (m, 2) to the outline, negative inside."""
        p = np.atleast_2d(np.asarray(points, dtype=np.float64))
        found = self.nearest(p)
        return np.where(self.contains_near(p, found), -found.distance, found.distance)

    def contains_near(self, points: FloatArray, found: Nearest) -> BoolArray:
        """As ``contains``, told the places nearest to the points (m, 2): cheaper where there are no corners."""
        if not self.is_smooth:
            return self.contains(points)
        # Without corners the way from the nearest place runs along its normal, so that its side tells in from out.
        inside: BoolArray = self.segments.is_left(found.segment, points) == self.is_ccw
        return inside

    def chords(self, tolerance: float) -> FloatArray:
        """(m, 2) points of a polygon on the outline whose chords stray at most ``tolerance`` [mm] from it.

        Raises:
            ValueError: the tolerance is not positive.
        """
        if not tolerance > 0:
            raise ValueError(f"tolerance must be positive, not {tolerance}")
        s = self.segments
        radius = np.where(np.isfinite(s.radius), s.radius, 1.0)
        # Sagitta r (1 - cos(t / 2)), in the half-angle form that keeps its digits where tolerance << radius.
        step = 4.0 * np.arcsin(np.minimum(1.0, np.sqrt(tolerance / (2.0 * radius))))
        count = np.maximum(1, np.ceil(np.abs(s.sweep) / step - 1e-9)).astype(np.int64)
        index = np.repeat(np.arange(len(self)), count)
        rank = np.arange(len(index)) - np.repeat(np.cumsum(count) - count, count)
        return s.points(index, s.length[index] * rank / count[index])


def tell_outlines(outlines: Sequence[Outline], s: Segments, boxes: tuple[FloatArray, FloatArray]) -> None:
    """Give outlines their segments and bounds, where all were found at once: one after the other in ``s``.

    >>> square = polygon_outline([[0, 0], [2, 0], [2, 2], [0, 2]])
    >>> tell_outlines([square], square.segments, segment_bounds(square.segments))
    >>> square.bounds
    (0.0, 0.0, 2.0, 2.0)
    """
    if not outlines:
        return
    counts = [len(outline) for outline in outlines]
    ends = list(accumulate(counts))
    begins = [0, *ends[:-1]]
    low, high = np.minimum.reduceat(boxes[0], begins), np.maximum.reduceat(boxes[1], begins)
    bounds = np.concatenate((low, high), axis=1).tolist()
    for outline, begin, end, box in zip(outlines, begins, ends, bounds, strict=True):
        known = outline.__dict__
        if "segments" not in known:
            k = slice(begin, end)
            known["segments"] = Segments(s.start[k], s.end[k], s.bulge[k], s.centre[k], s.radius[k], s.middle[k])
        known["bounds"] = tuple(box)


def _settle(outline: Outline, v: FloatArray) -> None:
    """Give an outline its vertices: their own array, finite."""
    v += 0.0  # -0.0 becomes 0.0: equal means equal bytes
    # A bulge this small strays a nanometre from its chord at most, and its centre, far away, has no digits left.
    bulge = v[:, 2]
    bulge[np.abs(bulge) < FLAT_BULGE] = 0.0
    v.flags.writeable = False
    outline.__dict__["vertices"] = v


def circle_outline(centre: Point, radius: float, *, phase: float = 0.0) -> Outline:
    """A counter-clockwise circle of two half arcs, starting in the direction ``phase`` [rad] from its centre.

    Raises:
        ValueError: the radius is not positive and finite.

    >>> circle_outline((3.0, 4.0), 5.0).bounds
    (-2.0, -1.0, 8.0, 9.0)
    """
    return _circle(*centre, radius, phase)


@lru_cache(maxsize=4096)
def _circle(x: float, y: float, radius: float, phase: float) -> Outline:
    """One outline for each circle, so that what it has worked out about itself is kept: most holes never change."""
    if not 0 < radius < np.inf:
        raise ValueError(f"radius must be positive and finite, not {radius}")
    dx, dy = radius * cos(phase), radius * sin(phase)
    return Outline([[x + dx, y + dy, 1.0], [x - dx, y - dy, 1.0]])


def as_circle(outline: Outline) -> tuple[Point, float] | None:
    """Centre and radius [mm] when every segment lies on one circle (to 1 nm), else None.

    >>> as_circle(circle_outline((3.0, 4.0), 5.0))
    ((3.0, 4.0), 5.0)
    """
    s = outline.segments
    if not np.isfinite(s.radius).all():
        return None
    spread = np.abs(s.radius - s.radius[0]).max() + np.abs(s.centre - s.centre[0]).max()
    if spread > 1e-6 or abs(abs(s.sweep.sum()) - 2.0 * pi) > 1e-9:
        return None
    return (float(s.centre[0, 0]), float(s.centre[0, 1])), float(s.radius[0])


def polygon_outline(points: ArrayLike) -> Outline:
    """The straight-sided outline through the points (n, 2) [mm].

    >>> triangle = polygon_outline([[0, 0], [3, 0], [0, 4]])
    >>> triangle.length, triangle.area
    (12.0, 6.0)
    """
    p = np.asarray(points, dtype=np.float64)
    vertices = np.zeros((len(p), 3))
    vertices[:, :2] = p
    return Outline(vertices)


def rectangle_outline(x0: float, y0: float, x1: float, y1: float) -> Outline:
    """The counter-clockwise rectangle between two corners, x0 < x1 and y0 < y1 [mm].

    >>> rectangle_outline(0.0, 0.0, 3.0, 4.0).area
    12.0
    """
    return polygon_outline([[x0, y0], [x1, y0], [x1, y1], [x0, y1]])


def bulge_through(start: Point, end: Point, centre: Point, *, ccw: bool) -> float:
    """Bulge tan(sweep / 4) of the arc about ``centre`` from ``start`` to ``end`` in the given sense.

    >>> round(bulge_through((5.0, 0.0), (-5.0, 0.0), (0.0, 0.0), ccw=True), 9)
    1.0
    """
    a0 = atan2(start[1] - centre[1], start[0] - centre[0])
    a1 = atan2(end[1] - centre[1], end[0] - centre[0])
    sweep = (a1 - a0) % (2.0 * pi) if ccw else -((a0 - a1) % (2.0 * pi))
    return float(np.tan(sweep / 4.0))
