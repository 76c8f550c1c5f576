"""Segments: straight lines and circular arcs as parallel arrays, and what can be asked of many at once.

Words: a *segment* runs from one point to another; its *bulge* is tan(sweep / 4), positive counter-clockwise (DXF
reference, LWPOLYLINE, code 42).
"""

from __future__ import annotations

from functools import cached_property
from math import pi
from typing import TYPE_CHECKING, Any

import numpy as np
from msgspec import Struct

if TYPE_CHECKING:
    from numpy.typing import NDArray

    FloatArray = NDArray[np.float64]
    ComplexArray = NDArray[np.complex128]
    IntArray = NDArray[np.int64]
    BoolArray = NDArray[np.bool_]
else:
    # numpy.typing is a tenth of the start; only type checkers read these.
    FloatArray = ComplexArray = IntArray = BoolArray = np.ndarray

Point = tuple[float, float]

FLAT_BULGE = 1e-9
"""A segment whose bulge is smaller is a straight line."""

# Points x segments handled at once: keeps the temporaries of a nearest-distance query inside the processor's cache.
_BLOCK = 1 << 16
_MANY = 1500  # segments, from which on a tree of them finds the nearest sooner
_FLAT = 0.5  # [mm] an arc's rise over its chord, up to which the chord tells nearly where it is
_SLACK = 1e-9  # [mm]


def indices(mask: NDArray[Any]) -> IntArray:
    """Where an array (n,) is not zero: ``np.flatnonzero`` without its detours, which count on short arrays.

    >>> indices(np.array([0.0, 2.0, 0.0, 3.0])).tolist()
    [1, 3]
    """
    found: IntArray = mask.nonzero()[0]
    return found


class Segments(Struct, frozen=True, eq=False, dict=True):
    """The segments of one or more outlines as parallel arrays, all of length n.

    What not every question needs is worked out when it is first asked for.

    Attributes:
        start, end: (n, 2) end points [mm].
        bulge: (n,) tan(sweep / 4) [1]; 0 is a straight line.
        centre: (n, 2) of the circle [mm]; NaN for a line.
        radius: (n,) [mm], > 0; infinite for a line.
        middle: (n, 2) unit vector from the centre to the middle of the arc; 0 for a line.

    >>> s = Segments.of(np.array([[0.0, 0.0], [2.0, 0.0]]), np.array([[3.0, 4.0], [-2.0, 0.0]]), np.array([0.0, 1.0]))
    >>> s.radius.tolist(), s.length.round(6).tolist()  # a line of 5, and half a circle: pi r
    ([inf, 2.0], [5.0, 6.283185])
    """

    start: FloatArray
    end: FloatArray
    bulge: FloatArray
    centre: FloatArray
    radius: FloatArray
    middle: FloatArray

    @classmethod
    def of(cls, start: FloatArray, end: FloatArray, bulge: FloatArray) -> Segments:
        """The segments between the points ``start`` and ``end``, both (n, 2), with the bulges (n,)."""
        n = len(bulge)
        arcs = indices(bulge)
        if not len(arcs):
            return cls(start, end, bulge, np.full((n, 2), np.nan), np.full(n, np.inf), np.zeros((n, 2)))
        is_round = len(arcs) == n
        one, other, b = (start, end, bulge) if is_round else (start.take(arcs, 0), end.take(arcs, 0), bulge[arcs])
        step = other - one
        # Their right normals, as long as the chords; an arc bulges to that side when it runs counter-clockwise.
        right = np.empty_like(step)
        right[:, 0] = step[:, 1]
        np.negative(step[:, 0], right[:, 1])
        # The centre lies on the chord's left normal at the distance c (1 - b^2) / 4b from its middle.
        offset = (0.25 - 0.25 * b * b) / b
        middles = (one + other) * 0.5 - right * offset[:, None]
        size = np.hypot(step[:, 0], step[:, 1])
        sizes = size * np.abs(b * 0.5 + offset)
        right *= np.copysign(1.0 / np.where(size > 0.0, size, 1.0), b)[:, None]
        if is_round:
            return cls(start, end, bulge, middles, sizes, right)
        centre, radius, middle = np.full((n, 2), np.nan), np.full(n, np.inf), np.zeros((n, 2))
        centre[arcs], radius[arcs], middle[arcs] = middles, sizes, right
        return cls(start, end, bulge, centre, radius, middle)

    @cached_property
    def lines_and_arcs(self) -> tuple[IntArray, IntArray]:
        """Indexes of the straight segments, and of the arcs."""
        is_arc = self.bulge != 0.0
        return indices(~is_arc), indices(is_arc)

    @cached_property
    def sweep(self) -> FloatArray:
        """(n,) signed angle [rad], positive counter-clockwise; 0 for a line."""
        sweep: FloatArray = 4.0 * np.arctan(self.bulge)
        return sweep

    @cached_property
    def half_cosine(self) -> FloatArray:
        """(n,) cosine of half the sweep: directions within an arc are as near to its ``middle``; 1 for a line."""
        square = self.bulge * self.bulge
        cosine: FloatArray = (1.0 - square) / (1.0 + square)
        return cosine

    @cached_property
    def start_angle(self) -> FloatArray:
        """(n,) direction from the centre to the start [rad]; for a line, the direction of travel."""
        lines, arcs = self.lines_and_arcs
        ray = (self.end if len(lines) else self.start) - (self.start if len(lines) else self.centre)
        if len(lines) and len(arcs):
            ray[arcs] = self.start.take(arcs, 0) - self.centre.take(arcs, 0)
        angle: FloatArray = np.arctan2(ray[:, 1], ray[:, 0])
        return angle

    @cached_property
    def middle_angle(self) -> FloatArray:
        """(n,) direction from the centre to the middle [rad], of arcs without a radius too; for a line, of travel."""
        angle: FloatArray = np.arctan2(self.middle[:, 1], self.middle[:, 0])
        lines = self.lines_and_arcs[0]
        angle[lines] = self.start_angle[lines]
        return angle

    @cached_property
    def directions(self) -> tuple[ComplexArray, ComplexArray]:
        """Unit directions of travel x + iy at the start (n,) and at the end (n,) of each segment; 0 without a chord."""
        chord = self.end - self.start
        step = chord[:, 0] + 1j * chord[:, 1]
        size = np.abs(step)
        step /= np.where(size > 0.0, size, 1.0)
        # Half the sweep lies between chord and tangent: exp(i sweep / 2) = (1 + ib) / (1 - ib), b = tan(sweep / 4).
        lean = 1.0 + 1j * self.bulge
        lean /= lean.conj()
        return step * lean.conj(), step * lean

    @cached_property
    def length(self) -> FloatArray:
        """(n,) length [mm]."""
        lines, arcs = self.lines_and_arcs
        if not len(lines):
            round_: FloatArray = self.radius * np.abs(self.sweep)
            return round_
        chord = self.end - self.start
        length: FloatArray = np.hypot(chord[:, 0], chord[:, 1])
        if len(arcs):
            length[arcs] = self.radius[arcs] * np.abs(self.sweep[arcs])
        return length

    def __len__(self) -> int:
        return len(self.bulge)

    def at(self, index: IntArray) -> Segments:
        """The segments ``index`` (m,) alone, in that order."""
        columns = (self.start, self.end, self.bulge, self.centre, self.radius, self.middle)
        return Segments(*(column.take(index, 0) for column in columns))

    def points(self, index: IntArray, along: FloatArray) -> FloatArray:
        """(m, 2) points on the segments ``index`` at the distances ``along`` (m,) [mm] from their starts."""
        fraction = self._fraction(index, along)
        start, end = self.start.take(index, 0), self.end.take(index, 0)
        points: FloatArray = start + (end - start) * fraction[:, None]
        k = indices(self.bulge[index])
        if len(k):
            arc = index[k]
            angle, radius = self.start_angle[arc] + self.sweep[arc] * fraction[k], self.radius[arc]
            points[k] = self.centre.take(arc, 0) + np.array((radius * np.cos(angle), radius * np.sin(angle))).T
        # The ends are exact: neighbours share them bit for bit.
        np.copyto(points, start, where=(fraction <= 0.0)[:, None])
        np.copyto(points, end, where=(fraction >= 1.0)[:, None])
        return points

    def points_and_normals(self, index: IntArray, along: FloatArray) -> tuple[FloatArray, FloatArray]:
        """As ``points``, to rounding, and the unit normals (m, 2) to the right of travel there."""
        fraction, sweep = self._fraction(index, along), self.sweep[index]
        angle = self.start_angle[index] + sweep * fraction
        ray = np.array((np.cos(angle), np.sin(angle))).T
        is_arc = (sweep != 0.0)[:, None]
        # Of a line the angle is that of travel, and its right is a quarter turn back from there.
        right = np.array((ray[:, 1], -ray[:, 0])).T
        normals = np.where(is_arc, ray * np.sign(sweep)[:, None], right)
        start = self.start.take(index, 0)
        straight = start + (self.end.take(index, 0) - start) * fraction[:, None]
        radius = np.where(is_arc, self.radius[index][:, None], 0.0)
        return np.where(is_arc, self.centre.take(index, 0) + ray * radius, straight), normals

    def tangents(self, index: IntArray, along: FloatArray) -> FloatArray:
        """(m, 2) unit directions of travel on the segments ``index`` at the distances ``along`` [mm]."""
        sweep = self.sweep[index]
        angle = self.start_angle[index] + sweep * self._fraction(index, along) + np.sign(sweep) * (pi / 2.0)
        return np.array((np.cos(angle), np.sin(angle))).T

    def _fraction(self, index: IntArray, along: FloatArray) -> FloatArray:
        """(m,) the distances ``along`` the segments ``index`` as parts of their lengths; all 0 where there is none."""
        length = self.length[index]
        fraction: FloatArray = along / np.where(length > 0.0, length, np.inf)
        return fraction

    def split(self, index: IntArray, begin: FloatArray, stop: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Start, end and bulge of the parts of the segments ``index`` between two distances along them [mm]."""
        sweep = self.sweep[index] * self._fraction(index, stop - begin)
        return self.points(index, begin), self.points(index, stop), np.tan(sweep / 4.0)

    def nearest(self, points: FloatArray) -> tuple[FloatArray, IntArray, FloatArray]:
        """Distance (m,) [mm], segment (m,) and distance along it (m,) [mm] of the place nearest to each point."""
        distance, index = self.closest(points)
        return distance, index, self.along(index, points)

    def closest(self, points: FloatArray) -> tuple[FloatArray, IntArray]:
        """Distance (m,) [mm] of each point (m, 2) to the nearest segment, and that segment (m,)."""
        step = max(1, _BLOCK // len(self))
        if len(points) <= step:
            return self._closest_block(points)
        if len(self) >= _MANY and float(self._rise.max()) < _FLAT:
            return self._closest_of_many(points)
        blocks = [self._closest_block(points[i : i + step]) for i in range(0, len(points), step)]
        return np.concatenate([b[0] for b in blocks]), np.concatenate([b[1] for b in blocks])

    def _closest_block(self, p: FloatArray) -> tuple[FloatArray, IntArray]:
        every = self._distances(p)
        index = every.argmin(axis=1)
        return every[np.arange(len(p)), index], index

    def _closest_of_many(self, p: FloatArray) -> tuple[FloatArray, IntArray]:
        """`closest` by a tree of boxes: the nearest chord bounds how far the nearest segment can be."""
        import shapely  # noqa: PLC0415 - only outlines of thousands of vertices want it

        tree = shapely.STRtree(shapely.linestrings(np.stack((self.start, self.end), axis=1)))
        shapes = shapely.points(p)
        (row, nearest), chord = tree.query_nearest(shapes, return_distance=True, all_matches=False)
        rise, within = self._rise, np.empty(len(p))
        within[row] = chord + rise[nearest] + float(rise.max()) + _SLACK
        point, index = tree.query(shapes, predicate="dwithin", distance=within)
        away = np.hypot(*(self.feet(index, p[point]) - p[point]).T)
        order = np.lexsort((index, away, point))
        first = np.ones(len(order), dtype=np.bool_)
        first[1:] = np.diff(point[order]) > 0
        best = order[first]
        return away[best], index[best]

    def feet(self, index: IntArray, points: FloatArray) -> FloatArray:
        """(m, 2) the places on the segments ``index`` (m,) that are nearest to the points (m, 2)."""
        start, end = self.start.take(index, 0), self.end.take(index, 0)
        step = end - start
        (dx, dy), (px, py) = step.T, (points - start).T
        square = dx * dx + dy * dy
        t = (px * dx + py * dy) / np.where(square > 0.0, square, 1.0)
        feet: FloatArray = start + np.minimum(np.maximum(t, 0.0), 1.0)[:, None] * step
        k = indices(self.bulge[index])
        if len(k):
            arc = index[k]
            centre, middle = self.centre.take(arc, 0), self.middle.take(arc, 0)
            ux, uy = (points.take(k, 0) - centre).T
            rho = np.hypot(ux, uy)
            inside = ux * middle[:, 0] + uy * middle[:, 1] >= rho * self.half_cosine[arc]
            scale = self.radius[arc] / np.where(rho > 0.0, rho, 1.0)
            round_ = np.array((ux * scale, uy * scale)).T + centre
            # Past the ends of an arc, the nearer end is the one on the point's side of the chord's bisector.
            ends = np.where((t[k] > 0.5)[:, None], end.take(k, 0), start.take(k, 0))
            feet[k] = np.where((inside & (rho > 0.0))[:, None], round_, ends)
        return feet

    def encloses(self, points: FloatArray) -> BoolArray:
        """(m,) whether an odd number of the closed loops that the segments make go round each point (m, 2)."""
        step = max(1, _BLOCK // max(1, len(self)))
        if len(points) <= step:
            return self._encloses_block(points)
        return np.concatenate([self._encloses_block(points[i : i + step]) for i in range(0, len(points), step)])

    def _encloses_block(self, p: FloatArray) -> BoolArray:
        x, y = p[:, 0, None], p[:, 1, None]
        x0, y0, x1, y1 = self.start[:, 0], self.start[:, 1], self.end[:, 0], self.end[:, 1]
        cross = (x1 - x0) * (y - y0) - (y1 - y0) * (x - x0)
        rises = y1 > y0
        # A point on a chord counts as lying on its +X (for a level chord: +Y) side, in the polygon test and in the test
        # of the circular segment alike, so that the two always cancel there.
        left = np.where(~rises & ((y1 < y0) | (x1 > x0)), cross >= 0.0, cross > 0.0)
        crossed = ((y0 <= y) != (y1 <= y)) & (left == rises)
        arcs = self.lines_and_arcs[1]
        if len(arcs):
            is_mixed = len(arcs) < len(self)
            centre, radius, bulge = self.centre, self.radius, self.bulge
            if is_mixed:
                centre, radius, bulge, left = centre.take(arcs, 0), radius[arcs], bulge[arcs], left.take(arcs, 1)
            cx, cy = x - centre[:, 0], y - centre[:, 1]
            capped = (cx * cx + cy * cy < radius * radius) & (left != (bulge > 0.0))
            if is_mixed:
                odd: BoolArray = np.logical_xor.reduce(crossed, 1) ^ np.logical_xor.reduce(capped, 1)
                return odd
            crossed ^= capped
        inside: BoolArray = np.logical_xor.reduce(crossed, 1)
        return inside

    def is_left(self, index: IntArray, points: FloatArray) -> BoolArray:
        """(m,) whether the points (m, 2) lie to the left of the lines, or of the circles, of the segments ``index``."""
        start = self.start.take(index, 0)
        chord, way = self.end.take(index, 0) - start, points - start
        left: BoolArray = chord[:, 0] * way[:, 1] > chord[:, 1] * way[:, 0]
        k = indices(self.bulge[index])
        if len(k):
            arc = index[k]
            x, y = (points.take(k, 0) - self.centre.take(arc, 0)).T
            left[k] = (np.hypot(x, y) < self.radius[arc]) == (self.bulge[arc] > 0.0)
        return left

    def distances(self, points: FloatArray) -> FloatArray:
        """(m, n) distances [mm] from every point (m, 2) to every segment."""
        return self._distances(points)

    @cached_property
    def _rise(self) -> FloatArray:
        """(n,) the farthest that each arc is from its chord [mm], 0 for lines."""
        rise, arcs = np.zeros(len(self)), self.lines_and_arcs[1]
        rise[arcs] = self.radius[arcs] * (1.0 - self.half_cosine[arcs])
        return rise

    @cached_property
    def _line_columns(self) -> tuple[FloatArray, ...]:
        """Of the straight segments: start x and y, step x and y to the end, and the step's square, 1 for none."""
        lines = self.lines_and_arcs[0]
        start = self.start.take(lines, 0)
        (x, y), (dx, dy) = start.T, (self.end.take(lines, 0) - start).T
        square = dx * dx + dy * dy
        return x, y, dx, dy, np.where(square > 0.0, square, 1.0)

    @cached_property
    def _arc_columns(self) -> tuple[FloatArray, ...]:
        """Of the arcs: centre, middle, radius, cosine of half the sweep, start, end; places as x and y."""
        arcs = self.lines_and_arcs[1]
        centre, middle, start, end = (c.take(arcs, 0).T for c in (self.centre, self.middle, self.start, self.end))
        return (*centre, *middle, self.radius[arcs], self.half_cosine[arcs], *start, *end)

    def _distances(self, p: FloatArray) -> FloatArray:
        lines, arcs = self.lines_and_arcs
        x, y = p[:, 0, None], p[:, 1, None]
        if not len(arcs):
            return self._to_lines(x, y)
        if not len(lines):
            return self._to_arcs(x, y)
        out = np.empty((len(p), len(self)))
        out[:, lines], out[:, arcs] = self._to_lines(x, y), self._to_arcs(x, y)
        return out

    def _to_lines(self, x: FloatArray, y: FloatArray) -> FloatArray:
        x0, y0, dx, dy, square = self._line_columns
        fx, fy = x - x0, y - y0
        t = (fx * dx + fy * dy) / square
        np.minimum(np.maximum(t, 0.0, out=t), 1.0, out=t)
        fx -= t * dx
        fy -= t * dy
        away: FloatArray = np.sqrt(fx * fx + fy * fy)
        return away

    def _to_arcs(self, x: FloatArray, y: FloatArray) -> FloatArray:
        x0, y0, mx, my, radius, half_cosine, sx, sy, ex, ey = self._arc_columns
        cx, cy = x - x0, y - y0
        rho = np.sqrt(cx * cx + cy * cy)
        # In the arc's sector when the angle to its middle is at most half the sweep: no arctangent needed.
        inside = cx * mx + cy * my >= rho * half_cosine
        sx, sy, ex, ey = x - sx, y - sy, x - ex, y - ey
        ends = np.sqrt(np.minimum(sx * sx + sy * sy, ex * ex + ey * ey))
        np.abs(np.subtract(rho, radius, out=rho), out=rho)
        return np.where(inside, rho, ends)

    def along(self, index: IntArray, p: FloatArray) -> FloatArray:
        """Distance (m,) [mm] along the segments ``index`` (m,) of the place nearest to the points ``p`` (m, 2)."""
        start = self.start.take(index, 0)
        (dx, dy), (px, py) = (self.end.take(index, 0) - start).T, (p - start).T
        square = dx * dx + dy * dy
        t = (px * dx + py * dy) / np.where(square > 0.0, square, 1.0)
        along: FloatArray = np.minimum(np.maximum(t, 0.0), 1.0) * self.length[index]
        k = indices(self.bulge[index])
        if len(k):
            arc = index[k]
            x, y = (p.take(k, 0) - self.centre.take(arc, 0)).T
            sweep = self.sweep[arc]
            turn = (np.arctan2(y, x) - self.start_angle[arc]) * np.sign(sweep) % (2.0 * pi)
            size = np.abs(sweep)
            # Past the end, the nearer end wins: half of what is left of the turn belongs to each.
            past_end = np.where(turn - size < (2.0 * pi - size) / 2.0, size, 0.0)
            along[k] = np.where(turn > size, past_end, turn) * self.radius[arc]
        return along


def segment_bounds(s: Segments) -> tuple[FloatArray, FloatArray]:
    """(n, 2) least and (n, 2) greatest corner of the box round each segment [mm].

    >>> half_circle = Segments.of(np.array([[2.0, 0.0]]), np.array([[-2.0, 0.0]]), np.array([1.0]))
    >>> [corner.tolist() for corner in segment_bounds(half_circle)]
    [[[-2.0, 0.0]], [[2.0, 2.0]]]
    """
    low, high = np.minimum(s.start, s.end), np.maximum(s.start, s.end)
    if len(s.lines_and_arcs[1]):
        # The arc passes the east, north, west or south of its circle when that direction lies in its sector. Of a line
        # the middle is 0 and the limit 1, so that its infinite radius never counts.
        limit, radius = s.half_cosine[:, None], s.radius[:, None]
        np.copyto(high, s.centre + radius, where=s.middle >= limit)
        np.copyto(low, s.centre - radius, where=-s.middle >= limit)
    return low, high
