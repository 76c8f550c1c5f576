"""Closed outlines of straight lines and circular arcs.

Words: a *segment* runs from one vertex to the next; its *bulge* is tan(sweep / 4), positive counter-clockwise (DXF
reference, LWPOLYLINE, code 42). A *station* is the arc length from vertex 0 along the direction of travel. The
*outward* side of a counter-clockwise outline is the right of the direction of travel.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import atan2, cos, hypot, pi, sin

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]
Point = tuple[float, float]

FLAT_BULGE = 1e-9
"""A segment whose bulge is smaller is a straight line."""

# Points x segments handled at once: keeps the temporaries of a nearest-distance query inside the processor's cache.
_BLOCK = 1 << 16


@dataclass(frozen=True, eq=False)
class Segments:
    """The segments of one or more outlines as parallel arrays, all of length n.

    Attributes:
        start, end: (n, 2) end points [mm].
        bulge: (n,) tan(sweep / 4) [1]; 0 is a straight line.
        centre: (n, 2) of the circle [mm]; NaN for a line.
        radius: (n,) [mm], > 0; infinite for a line.
        sweep: (n,) signed angle [rad], positive counter-clockwise; 0 for a line.
        start_angle: (n,) direction from the centre to the start [rad]; for a line, the direction of travel.
        middle: (n, 2) unit vector from the centre to the middle of the arc; 0 for a line.
        length: (n,) [mm].
    """

    start: FloatArray
    end: FloatArray
    bulge: FloatArray
    centre: FloatArray
    radius: FloatArray
    sweep: FloatArray
    start_angle: FloatArray
    middle: FloatArray
    length: FloatArray

    @classmethod
    def of(cls, start: FloatArray, end: FloatArray, bulge: FloatArray) -> Segments:
        """The segments between the points ``start`` and ``end``, both (n, 2), with the bulges (n,)."""
        chord = end - start
        chord_length = np.hypot(chord[:, 0], chord[:, 1])
        is_arc = bulge != 0.0
        safe = np.where(is_arc, bulge, 1.0)
        sweep = 4.0 * np.arctan(bulge)
        radius = np.where(is_arc, chord_length * (1.0 + safe * safe) / (4.0 * np.abs(safe)), np.inf)
        # The centre lies on the chord's left normal at the distance c (1 - b^2) / 4b from its middle.
        offset = np.where(is_arc, (1.0 - safe * safe) / (4.0 * safe), np.nan)
        centre = np.stack(
            (
                (start[:, 0] + end[:, 0]) / 2.0 - chord[:, 1] * offset,
                (start[:, 1] + end[:, 1]) / 2.0 + chord[:, 0] * offset,
            ),
            axis=1,
        )
        direction = np.where(
            is_arc,
            np.arctan2(start[:, 1] - centre[:, 1], start[:, 0] - centre[:, 0]),
            np.arctan2(chord[:, 1], chord[:, 0]),
        )
        middle_angle = direction + sweep / 2.0
        middle = np.where(
            is_arc[:, None], np.stack((np.cos(middle_angle), np.sin(middle_angle)), axis=1), np.zeros((len(bulge), 2))
        )
        length = np.where(is_arc, np.where(is_arc, radius, 0.0) * np.abs(sweep), chord_length)
        return cls(start, end, bulge, centre, radius, sweep, direction, middle, length)

    def __len__(self) -> int:
        return len(self.bulge)

    def points(self, index: IntArray, along: FloatArray) -> FloatArray:
        """(m, 2) points on the segments ``index`` at the distances ``along`` (m,) [mm] from their starts."""
        length = self.length[index]
        fraction = np.divide(along, length, out=np.zeros_like(along), where=length > 0)
        straight = self.start[index] + (self.end[index] - self.start[index]) * fraction[:, None]
        angle = self.start_angle[index] + self.sweep[index] * fraction
        radius = self.radius[index]
        is_arc = np.isfinite(radius)
        radius = np.where(is_arc, radius, 0.0)
        round_ = self.centre[index] + np.stack((radius * np.cos(angle), radius * np.sin(angle)), axis=1)
        points = np.where(is_arc[:, None], round_, straight)
        # The ends are exact: neighbours share them bit for bit.
        points = np.where((fraction <= 0.0)[:, None], self.start[index], points)
        return np.where((fraction >= 1.0)[:, None], self.end[index], points)

    def tangents(self, index: IntArray, along: FloatArray) -> FloatArray:
        """(m, 2) unit directions of travel on the segments ``index`` at the distances ``along`` [mm]."""
        length = self.length[index]
        fraction = np.divide(along, length, out=np.zeros_like(along), where=length > 0)
        sweep = self.sweep[index]
        angle = self.start_angle[index] + sweep * fraction + np.sign(sweep) * (pi / 2.0)
        return np.stack((np.cos(angle), np.sin(angle)), axis=1)

    def split(self, index: IntArray, begin: FloatArray, stop: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Start, end and bulge of the parts of the segments ``index`` between two distances along them [mm]."""
        sweep = self.sweep[index] * np.divide(
            stop - begin, self.length[index], out=np.zeros_like(begin), where=self.length[index] > 0
        )
        return self.points(index, begin), self.points(index, stop), np.tan(sweep / 4.0)

    def nearest(self, points: FloatArray) -> tuple[FloatArray, IntArray, FloatArray]:
        """Distance (m,) [mm], segment (m,) and distance along it (m,) [mm] of the place nearest to each point."""
        step = max(1, _BLOCK // len(self))
        if len(points) <= step:
            return self._nearest_block(points)
        blocks = [self._nearest_block(points[i : i + step]) for i in range(0, len(points), step)]
        return (
            np.concatenate([b[0] for b in blocks]),
            np.concatenate([b[1] for b in blocks]),
            np.concatenate([b[2] for b in blocks]),
        )

    def distances(self, points: FloatArray) -> FloatArray:
        """(m, n) distances [mm] from every point (m, 2) to every segment."""
        return self._distances(points)

    @cached_property
    def lines_and_arcs(self) -> tuple[IntArray, IntArray]:
        """Indexes of the straight segments, and of the arcs."""
        is_arc = self.bulge != 0.0
        return np.flatnonzero(~is_arc), np.flatnonzero(is_arc)

    def _distances(self, p: FloatArray) -> FloatArray:
        lines, arcs = self.lines_and_arcs
        out = np.empty((len(p), len(self)))
        x, y = p[:, 0, None], p[:, 1, None]
        if len(lines):
            start, end = self.start[lines], self.end[lines]
            dx, dy = end[:, 0] - start[:, 0], end[:, 1] - start[:, 1]
            fx, fy = x - start[:, 0], y - start[:, 1]
            square = dx * dx + dy * dy
            t = np.clip((fx * dx + fy * dy) / np.where(square > 0, square, 1.0), 0.0, 1.0)
            fx -= t * dx
            fy -= t * dy
            out[:, lines] = np.sqrt(fx * fx + fy * fy)
        if len(arcs):
            cx, cy = x - self.centre[arcs, 0], y - self.centre[arcs, 1]
            rho = np.sqrt(cx * cx + cy * cy)
            middle = self.middle[arcs]
            # In the arc's sector when the angle to its middle is at most half the sweep: no arctangent needed.
            inside = cx * middle[:, 0] + cy * middle[:, 1] >= rho * np.cos(self.sweep[arcs] / 2.0)
            start, end = self.start[arcs], self.end[arcs]
            sx, sy = x - start[:, 0], y - start[:, 1]
            ex, ey = x - end[:, 0], y - end[:, 1]
            ends = np.sqrt(np.minimum(sx * sx + sy * sy, ex * ex + ey * ey))
            out[:, arcs] = np.where(inside, np.abs(rho - self.radius[arcs]), ends)
        return out

    def _nearest_block(self, p: FloatArray) -> tuple[FloatArray, IntArray, FloatArray]:
        every = self._distances(p)
        index = np.argmin(every, axis=1)
        return every[np.arange(len(p)), index], index, self.along(index, p)

    def along(self, index: IntArray, p: FloatArray) -> FloatArray:
        """Distance (m,) [mm] along the segments ``index`` (m,) of the place nearest to the points ``p`` (m, 2)."""
        start, end = self.start[index], self.end[index]
        chord = end - start
        square = (chord * chord).sum(axis=1)
        t = ((p - start) * chord).sum(axis=1) / np.where(square > 0, square, 1.0)
        straight: FloatArray = np.clip(t, 0.0, 1.0) * self.length[index]
        is_arc = self.bulge[index] != 0.0
        if not is_arc.any():
            return straight
        centre = np.where(is_arc[:, None], self.centre[index], 0.0)
        sweep = self.sweep[index]
        sign = np.where(sweep < 0, -1.0, 1.0)
        turn = (np.arctan2(p[:, 1] - centre[:, 1], p[:, 0] - centre[:, 0]) - self.start_angle[index]) * sign
        turn = np.mod(turn, 2.0 * pi)
        size = np.abs(sweep)
        # Past the end, the nearer end wins: half of what is left of the turn belongs to each.
        turn = np.where(turn > size, np.where(turn - size < (2.0 * pi - size) / 2.0, size, 0.0), turn)
        return np.where(is_arc, turn * np.where(is_arc, self.radius[index], 0.0), straight)


@dataclass(frozen=True)
class Nearest:
    """Where an outline is nearest to m points.

    Attributes:
        distance: (m,) [mm], >= 0.
        foot: (m, 2) the nearest places on the outline [mm].
        station: (m,) their stations [mm].
        segment: (m,) the segments they lie on.
    """

    distance: FloatArray
    foot: FloatArray
    station: FloatArray
    segment: IntArray


class Outline:
    """Closed chain of straight lines and circular arcs, immutable and compared by value.

    Attributes:
        vertices: (n, 3), n >= 2, read-only; columns x [mm], y [mm] and the bulge [1] of the segment that starts there.
    """

    vertices: FloatArray

    def __init__(self, vertices: ArrayLike) -> None:
        v = np.array(vertices, dtype=np.float64) + 0.0  # our copy; -0.0 becomes 0.0: equal means equal bytes
        if v.ndim != 2 or v.shape[1] != 3 or len(v) < 2:
            raise ValueError(f"vertices must have shape (n >= 2, 3), not {v.shape}")
        if not np.isfinite(v).all():
            raise ValueError("vertices must be finite")
        # A bulge this small strays a nanometre from its chord at most, and its centre, far away, has no digits left.
        v[np.abs(v[:, 2]) < FLAT_BULGE, 2] = 0.0
        v.flags.writeable = False
        object.__setattr__(self, "vertices", v)

    def __setattr__(self, name: str, value: object) -> None:
        raise AttributeError(f"an Outline is immutable; make a new one instead of setting {name}")

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Outline) and np.array_equal(self.vertices, other.vertices)

    @cached_property
    def _hash(self) -> int:
        return hash(self.vertices.tobytes())

    def __hash__(self) -> int:
        return self._hash

    def __len__(self) -> int:
        return len(self.vertices)

    def __repr__(self) -> str:
        x0, y0, x1, y1 = self.bounds
        return f"Outline({len(self)} segments, x {x0:.3f}..{x1:.3f}, y {y0:.3f}..{y1:.3f}, area {self.area:.3f})"

    @cached_property
    def segments(self) -> Segments:
        """The outline's segments, in order."""
        start = self.vertices[:, :2]
        return Segments.of(start, np.roll(start, -1, axis=0), self.vertices[:, 2])

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
        s = self.segments
        shoelace = float((s.start[:, 0] * s.end[:, 1] - s.end[:, 0] * s.start[:, 1]).sum()) / 2.0
        arcs = self.vertices[:, 2] != 0.0
        caps = s.radius[arcs] ** 2 * (s.sweep[arcs] - np.sin(s.sweep[arcs])) / 2.0
        return shoelace + float(caps.sum())

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
        s = self.segments
        leaves = s.start_angle + s.sweep + np.sign(s.sweep) * (pi / 2.0)
        enters = np.roll(s.start_angle + np.sign(s.sweep) * (pi / 2.0), -1)
        turn = leaves - enters
        return bool(np.all(np.cos(turn) > np.cos(1e-3)))

    @cached_property
    def axis_station(self) -> float:
        """Station of the outermost crossing of the ray from the middle of the bounds along +X [mm]."""
        x0, y0, x1, y1 = self.bounds
        found = self.nearest(np.array([[x1 + (x1 - x0), (y0 + y1) / 2.0]]))
        return float(found.station[0])

    def reversed(self) -> Outline:
        """The same outline run the other way, from the same vertex."""
        v = self.vertices
        xy = np.roll(v[::-1, :2], 1, axis=0)
        return Outline(np.column_stack((xy, -v[::-1, 2])))

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
        distance, segment, along = self.segments.nearest(p)
        foot = self.segments.points(segment, along)
        return Nearest(distance, foot, self.starts[segment] + along, segment)

    def contains(self, points: ArrayLike) -> BoolArray:
        """(m,) whether each point (m, 2) lies inside; undefined within rounding of the outline itself."""
        p = np.atleast_2d(np.asarray(points, dtype=np.float64))
        step = max(1, _BLOCK // len(self))
        if len(p) <= step:
            return self._contains_block(p)
        return np.concatenate([self._contains_block(p[i : i + step]) for i in range(0, len(p), step)])

    def _contains_block(self, p: FloatArray) -> BoolArray:
        s = self.segments
        x, y = p[:, 0, None], p[:, 1, None]
        x0, y0, x1, y1 = s.start[:, 0], s.start[:, 1], s.end[:, 0], s.end[:, 1]
        cross = (x1 - x0) * (y - y0) - (y1 - y0) * (x - x0)
        rises = y1 > y0
        # A point on a chord counts as lying on its +X (for a level chord: +Y) side, in the polygon test and in the test
        # of the circular segment alike, so that the two always cancel there.
        left = np.where(rises, cross > 0, np.where((y1 < y0) | (x1 > x0), cross >= 0, cross > 0))
        spans = (y0 <= y) != (y1 <= y)
        odd: BoolArray = (spans & np.where(rises, left, ~left)).sum(axis=1) % 2 == 1
        arcs = s.lines_and_arcs[1]
        if len(arcs):
            cx, cy = x - s.centre[arcs, 0], y - s.centre[arcs, 1]
            in_disc = cx * cx + cy * cy < s.radius[arcs] ** 2
            arc_side = np.where(s.bulge[arcs] > 0, ~left[:, arcs], left[:, arcs])
            odd ^= (in_disc & arc_side).sum(axis=1) % 2 == 1
        return odd

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
        t = self.segments.tangents(found.segment, found.station - self.starts[found.segment])
        way = points - found.foot
        left = way[:, 1] * t[:, 0] > way[:, 0] * t[:, 1]
        inside: BoolArray = left == self.is_ccw
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


def segment_bounds(s: Segments) -> tuple[FloatArray, FloatArray]:
    """(n, 2) least and (n, 2) greatest corner of the box round each segment [mm]."""
    low, high = np.minimum(s.start, s.end), np.maximum(s.start, s.end)
    arcs = s.lines_and_arcs[1]
    if len(arcs):
        centre, radius, middle = s.centre[arcs], s.radius[arcs, None], s.middle[arcs]
        limit = np.cos(s.sweep[arcs] / 2.0)[:, None]
        # The arc passes the east, north, west or south of its circle when that direction lies in its sector.
        high[arcs] = np.where(middle >= limit, centre + radius, high[arcs])
        low[arcs] = np.where(-middle >= limit, centre - radius, low[arcs])
    return low, high


def circle_outline(centre: Point, radius: float, *, phase: float = 0.0) -> Outline:
    """A counter-clockwise circle of two half arcs, starting in the direction ``phase`` [rad] from its centre.

    Raises:
        ValueError: the radius is not positive and finite.
    """
    if not 0 < radius < np.inf:
        raise ValueError(f"radius must be positive and finite, not {radius}")
    dx, dy = radius * cos(phase), radius * sin(phase)
    return Outline([[centre[0] + dx, centre[1] + dy, 1.0], [centre[0] - dx, centre[1] - dy, 1.0]])


def as_circle(outline: Outline) -> tuple[Point, float] | None:
    """Centre and radius [mm] when every segment lies on one circle (to 1 nm), else None."""
    s = outline.segments
    if not np.isfinite(s.radius).all():
        return None
    spread = np.abs(s.radius - s.radius[0]).max() + np.abs(s.centre - s.centre[0]).max()
    if spread > 1e-6 or abs(abs(s.sweep.sum()) - 2.0 * pi) > 1e-9:
        return None
    return (float(s.centre[0, 0]), float(s.centre[0, 1])), float(s.radius[0])


def polygon_outline(points: ArrayLike) -> Outline:
    """The straight-sided outline through the points (n, 2) [mm]."""
    p = np.asarray(points, dtype=np.float64)
    return Outline(np.column_stack((p, np.zeros(len(p)))))


def rectangle_outline(x0: float, y0: float, x1: float, y1: float) -> Outline:
    """The counter-clockwise rectangle between two corners, x0 < x1 and y0 < y1 [mm]."""
    return polygon_outline([[x0, y0], [x1, y0], [x1, y1], [x0, y1]])


def bulge_through(start: Point, end: Point, centre: Point, *, ccw: bool) -> float:
    """Bulge tan(sweep / 4) of the arc about ``centre`` from ``start`` to ``end`` in the given sense."""
    a0 = atan2(start[1] - centre[1], start[0] - centre[0])
    a1 = atan2(end[1] - centre[1], end[0] - centre[0])
    sweep = (a1 - a0) % (2.0 * pi) if ccw else -((a0 - a1) % (2.0 * pi))
    return float(np.tan(sweep / 4.0))
