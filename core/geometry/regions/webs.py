"""The thinnest metal: the least distances between the surfaces of a region, measured through the metal.

Words: a *web* lies between two loops, or, as a *neck*, between two facing places of one loop, where the line that joins
them meets both nearly at right angles. The shortest line between two loops is one of a few for each pair of segments:
from an end to the other segment, from a line towards the centre of an arc, or along the line of two centres.
"""

from __future__ import annotations

from math import cos, hypot, pi
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from core.geometry.lines.crossings import meetings
from core.geometry.lines.outline import (
    BoolArray,
    FloatArray,
    IntArray,
    Outline,
    Point,
    Segments,
    indices,
    segment_bounds,
)
from core.geometry.lines.segment_sets import box_pairs, boxes_meeting, closed_segments, joined

if TYPE_CHECKING:
    from core.geometry.regions.region import Region

_NEARLY = 10.0 * pi / 180.0
"""How far the line across a neck between two straight edges may be from a right angle to them [rad]."""

_CONCENTRIC = 1e-9  # [mm]
_SLACK = 1e-7  # places this far past the end of a segment still count as on it [mm] or, on the unit circle, [1]
_ALONG = 1e-6  # joining lines that end this near a surface have arrived there [mm]
_GROWTH = 1.7  # how much further to look for the thinnest web where none was found
_BLOCK = 1 << 19  # pairs of segments that are looked at at once
_SAMPLES = 128  # vertices compared to guess how far to look first


class Web(Struct, frozen=True):
    """The metal between two places.

    Attributes:
        width_mm: its width, >= 0.
        a, b: the two places.
        loops: the loops they lie on; the same one twice for a neck.
    """

    width_mm: float
    a: Point
    b: Point
    loops: tuple[int, int]


class _Joins(Struct, frozen=True, eq=False):
    """Joining lines from the points ``a`` (m, 2) to ``b`` (m, 2), and the loops they join."""

    width: FloatArray
    a: FloatArray
    b: FloatArray
    first: IntArray
    second: IntArray

    def at(self, index: IntArray | BoolArray) -> _Joins:
        return _Joins(self.width[index], self.a[index], self.b[index], self.first[index], self.second[index])

    def webs(self) -> tuple[Web, ...]:
        columns = (self.width, self.a, self.b, self.first, self.second)
        return tuple(
            Web(width, (a[0], a[1]), (b[0], b[1]), (first, second))
            for width, a, b, first, second in zip(*(c.tolist() for c in columns), strict=True)
        )


def closest(a: Outline, b: Outline) -> Web:
    """The shortest line between two outlines, as a web between the loops 0 and 1; its width is 0 where they meet.

    >>> round(closest(Outline([[5, 0, 1], [-5, 0, 1]]), Outline([[9, 0, 1], [7, 0, 1]])).width_mm, 9)
    2.0
    """
    s, owner, _ = closed_segments((a, b))
    low, high = segment_bounds(s)
    first, second = indices(owner == 0), indices(owner == 1)
    # Nothing farther apart than one real distance need be looked at.
    bound = float(b.nearest(s.start[first]).distance.min()) * (1.0 + 1e-12)
    i, j = boxes_meeting((low[first] - bound, high[first] + bound), (low[second], high[second]))
    i, j = first[i], second[j]
    gap = np.maximum(np.maximum(low[i] - high[j], low[j] - high[i]), 0.0)
    near = np.hypot(gap[:, 0], gap[:, 1]) <= bound
    i, j = i[near], j[near]
    points = meetings(s, i, j)[4]
    if len(points):
        x, y = points[0].tolist()
        return Web(0.0, (x, y), (x, y), (0, 1))
    found = _between(s, owner, i, j)
    k = int(np.argmin(found.width))
    return found.at(np.array([k])).webs()[0]


def thinnest(region: Region, *, ignore_below: float = 0.0) -> Web | None:
    """The thinnest metal of a region; None where no two of its surfaces face each other.

    Args:
        region: the metal.
        ignore_below: webs thinner than this are left out [mm], e.g. where loops touch on purpose.

    >>> from core.geometry.regions.region import Region
    >>> ring = Region((Outline([[10, 0, 1], [-10, 0, 1]]), Outline([[7, 0, -1], [-7, 0, -1]])), (frozenset(),) * 2)
    >>> round(thinnest(ring).width_mm, 9)
    3.0
    """
    if region.is_empty:
        return None
    x0, y0, x1, y1 = region.bounds
    size = hypot(x1 - x0, y1 - y0)
    reach = min(size, max(_first_reach(region), ignore_below, size / 1000.0) * (1.0 + 1e-9))
    while True:
        found = _candidates(region, reach, ignore_below)
        # Candidates are sorted: the first that runs through the metal is the thinnest of all.
        begin, size_of_block = 0, 8
        while begin < len(found.width):
            block = found.at(np.arange(begin, min(begin + size_of_block, len(found.width))))
            through = indices(_through_metal(region, block))
            if len(through):
                return block.at(through[:1]).webs()[0]
            begin, size_of_block = begin + size_of_block, 2 * size_of_block
        if reach >= size:
            return None
        reach = min(size, reach * _GROWTH)


def _first_reach(region: Region) -> float:
    """The least distance between vertices of two loops [mm]: the thinnest web is no wider, if it is one at all."""
    s, loop = region.segments, region.loop_of_segment
    step = -(-len(s) // _SAMPLES)
    x, y, of = s.start[::step, 0], s.start[::step, 1], loop[::step]
    square, rise = x[:, None] - x, y[:, None] - y
    square *= square
    rise *= rise
    square += rise
    square[of[:, None] == of] = np.inf
    least = float(np.sqrt(square.min()))
    x0, y0, x1, y1 = region.bounds
    return least if np.isfinite(least) else hypot(x1 - x0, y1 - y0) / 30.0


def webs(region: Region, below: float, *, ignore_below: float = 0.0) -> tuple[Web, ...]:
    """The webs thinner than a bound, thinnest first: one for each pair of loops, and every neck.

    Args:
        region: the metal.
        below: the bound [mm].
        ignore_below: webs thinner than this are left out [mm].

    >>> from core.geometry.regions.region import Region
    >>> ring = Region((Outline([[10, 0, 1], [-10, 0, 1]]), Outline([[7, 0, -1], [-7, 0, -1]])), (frozenset(),) * 2)
    >>> [round(web.width_mm, 9) for web in webs(ring, 4.0)]
    [3.0]
    """
    if region.is_empty:
        return ()
    found = _candidates(region, below, ignore_below)
    found = found.at(found.width < below)
    found = found.at(_through_metal(region, found))
    middle = ((found.a[:, 0] + found.b[:, 0]) / 2.0) + 1j * ((found.a[:, 1] + found.b[:, 1]) / 2.0)
    kept: list[Web] = []
    of_loops: dict[tuple[int, int], _Middles] = {}
    for k, web in enumerate(found.webs()):
        known = of_loops.setdefault(web.loops, _Middles())
        # A neck may be no other one than a neck of the same loop already found, only a little beside it.
        is_new = not known.count or (
            web.loops[0] == web.loops[1] and not known.are_within(web.width_mm / 2.0, middle[k])
        )
        if is_new:
            known.add(middle[k])
            kept.append(web)
    return tuple(kept)


class _Middles:
    """The middles of webs, as complex numbers, in an array that grows: hundreds are compared at once."""

    def __init__(self) -> None:
        self.count = 0
        self._places = np.empty(8, dtype=np.complex128)

    def add(self, place: complex) -> None:
        if self.count == len(self._places):
            self._places = np.concatenate((self._places, np.empty_like(self._places)))
        self._places[self.count] = place
        self.count += 1

    def are_within(self, reach: float, place: complex) -> bool:
        """Whether one of them is no farther than ``reach`` from a place."""
        return bool((np.abs(self._places[: self.count] - place) <= reach).any())


def _candidates(region: Region, reach: float, ignore_below: float) -> _Joins:
    """Joining lines no longer than ``reach``, shortest first; not all of them run through the metal."""
    s, loop, after = region.segments, region.loop_of_segment, region.next_segment
    low, high = region.segment_boxes
    corners, corner_loop = _corners(s, loop, after)
    least, greatest = np.concatenate((low, corners.start)), np.concatenate((high, corners.start))
    i, j = box_pairs(least, greatest, reach)
    every = np.concatenate((loop, corner_loop))
    n = len(s)
    found: list[_Joins] = []
    for begin in range(0, len(i), _BLOCK):
        one, other = i[begin : begin + _BLOCK], j[begin : begin + _BLOCK]
        if len(i) > _BLOCK // 8:  # so many are sifted once more before they are measured
            gap = np.maximum(np.maximum(least[one] - greatest[other], least[other] - greatest[one]), 0.0)
            near = indices(gap[:, 0] ** 2 + gap[:, 1] ** 2 <= (reach * (1.0 + 1e-9)) ** 2)
            one, other = one[near], other[near]
        between = indices((every[one] != every[other]) & (one < n) & (other < n))
        across = indices(every[one] == every[other])
        joins = [_between(s, loop, one[between], other[between])]
        joins += _necks(s, corners, every, after, one[across], other[across], reach)
        found += [f.at((f.width <= reach) & (f.width >= ignore_below)) for f in joins]
    found.append(_diameters(s, loop, reach))
    all_ = _Joins(
        np.concatenate([f.width for f in found]),
        np.concatenate([f.a for f in found]),
        np.concatenate([f.b for f in found]),
        np.concatenate([f.first for f in found]),
        np.concatenate([f.second for f in found]),
    )
    all_ = all_.at(all_.width >= ignore_below)
    return all_.at(np.argsort(all_.width, kind="stable"))


def _corners(s: Segments, loop: IntArray, after: IntArray) -> tuple[Segments, IntArray]:
    """Corners that point into the metal, as clockwise arcs of no radius, and the loops (m,) they are on."""
    leaving, into = s.directions
    joint = into.conj() * leaving[after]
    turn = np.arctan2(joint.imag, joint.real)
    k = indices(turn < -1e-6)
    place, sweep = s.end[k], turn[k]
    # Metal is on the left: the arc's points look outwards along its own radius, into the metal.
    outward = 1j * into[k] * np.exp(0.5j * sweep)
    middle = np.array((outward.real, outward.imag)).T
    return Segments(place, place, np.tan(sweep / 4.0), place, np.zeros(len(k)), middle), loop[k]


def _between(s: Segments, loop: IntArray, i: IntArray, j: IntArray) -> _Joins:
    """The shortest lines between the segments of each pair, ends included, a few for each."""
    a, b, first, second = [], [], [], []

    def add(p: FloatArray, q: FloatArray, i: IntArray, j: IntArray) -> None:
        a.append(p)
        b.append(q)
        first.append(loop[i])
        second.append(loop[j])

    # Every end is the start of some segment of its loop, and that one is in a pair as near as this one.
    one, other = np.concatenate((i, j)), np.concatenate((j, i))
    add(s.start[one], s.feet(other, s.start[one]), one, other)
    arc_i, arc_j = s.bulge[i] != 0.0, s.bulge[j] != 0.0
    k = indices(arc_i != arc_j)
    if len(k):
        line, arc = np.where(arc_i[k], j[k], i[k]), np.where(arc_i[k], i[k], j[k])
        along = _unit(s.end[line] - s.start[line])
        rel = s.centre[arc] - s.start[line]
        t = (rel * along).sum(axis=1)
        off = rel - along * t[:, None]
        away = np.hypot(off[:, 0], off[:, 1])
        toward = -_unit(off)
        on = (t >= 0.0) & (t <= s.length[line]) & (away > s.radius[arc] - _SLACK) & _in_sector(s, arc, toward)
        p = s.start[line] + along * t[:, None]
        q = s.centre[arc] + toward * s.radius[arc, None]
        add(p[on], q[on], line[on], arc[on])
    k = indices(arc_i & arc_j)
    if len(k):
        ci, cj = i[k], j[k]
        line_of = s.centre[cj] - s.centre[ci]
        apart = np.hypot(line_of[:, 0], line_of[:, 1])
        r1, r2 = s.radius[ci], s.radius[cj]
        u = _unit(line_of)
        outside = apart > r1 + r2 - _SLACK
        # About one centre every direction is as good: the ends have found it already.
        within = ~outside & (apart < np.abs(r1 - r2) + _SLACK) & (apart > _CONCENTRIC)
        # Side by side the arcs face each other; one in the other, both bulge the same way.
        out1 = np.where((outside | (r1 > r2))[:, None], u, -u)
        out2 = np.where(outside[:, None], -u, out1)
        on = (outside | within) & _in_sector(s, ci, out1) & _in_sector(s, cj, out2)
        add(
            (s.centre[ci] + out1 * r1[:, None])[on],
            (s.centre[cj] + out2 * r2[:, None])[on],
            ci[on],
            cj[on],
        )
    return _joins(a, b, first, second)


def _joins(a: list[FloatArray], b: list[FloatArray], first: list[IntArray], second: list[IntArray]) -> _Joins:
    p, q = np.concatenate(a), np.concatenate(b)
    one, two = np.concatenate(first), np.concatenate(second)
    swap = one > two
    p, q = np.where(swap[:, None], q, p), np.where(swap[:, None], p, q)
    return _Joins(np.hypot(*(q - p).T), p, q, np.minimum(one, two), np.maximum(one, two))


def _unit(v: FloatArray) -> FloatArray:
    size = np.hypot(v[:, 0], v[:, 1])
    return v / np.where(size > 0.0, size, 1.0)[:, None]


def _in_sector(s: Segments, arc: IntArray, outward: FloatArray) -> BoolArray:
    """Whether the unit vectors (m, 2) from the centres of the arcs point at them."""
    reached: BoolArray = (outward * s.middle[arc]).sum(axis=1) >= s.half_cosine[arc] - _SLACK
    return reached


def _necks(
    s: Segments, corners: Segments, loop: IntArray, after: IntArray, i: IntArray, j: IntArray, reach: float
) -> list[_Joins]:
    """Lines across the metal between facing places of one loop, at right angles to both."""
    every = joined((s, corners))
    # Two places face each other when their directions of travel can be opposite.
    heading = every.middle_angle + np.sign(every.bulge) * (pi / 2.0)
    half = np.abs(every.sweep) / 2.0
    spread = np.minimum(half[i] + half[j] + _NEARLY * 2.0, pi)
    facing = np.cos(heading[i] - heading[j]) <= -np.cos(spread)
    chosen = indices(facing)
    i, j = i[chosen], j[chosen]
    arc_i, arc_j = every.bulge[i] != 0.0, every.bulge[j] != 0.0
    # Neighbours meet in a corner: two edges that lie beside each other have no neck.
    straight = indices(~(arc_i | arc_j))
    one, other = i[straight], j[straight]
    k = straight[(after[one] != other) & (after[other] != one)]
    found = []
    if len(k):
        found.append(_line_necks(every, loop, i[k], j[k]))
    k = indices(arc_i != arc_j)
    if len(k):
        found.append(_line_arc_necks(every, loop, np.where(arc_i, j, i)[k], np.where(arc_i, i, j)[k]))
    k = indices(arc_i & arc_j)
    if len(k):
        found.append(_arc_necks(every, loop, i[k], j[k], reach))
    return found


def _line_necks(s: Segments, loop: IntArray, i: IntArray, j: IntArray) -> _Joins:
    """Between straight edges, which may be a little out of parallel, their shortest lines."""
    a = [s.start[i], s.end[i], s.feet(i, s.start[j]), s.feet(i, s.end[j])]
    b = [s.feet(j, s.start[i]), s.feet(j, s.end[i]), s.start[j], s.end[j]]
    first, second = np.tile(loop[i], 4), np.tile(loop[j], 4)
    p, q = np.concatenate(a), np.concatenate(b)
    along_i, along_j = np.tile(_unit(s.end[i] - s.start[i]), (4, 1)), np.tile(_unit(s.end[j] - s.start[j]), (4, 1))
    w = _unit(q - p)
    # The metal is on the left of travel, so the line sets out to the left of both.
    least = cos(_NEARLY)
    left_i = along_i[:, 0] * w[:, 1] - along_i[:, 1] * w[:, 0]
    left_j = along_j[:, 1] * w[:, 0] - along_j[:, 0] * w[:, 1]
    right_angles = indices((left_i >= least) & (left_j >= least))
    return _joins([p[right_angles]], [q[right_angles]], [first[right_angles]], [second[right_angles]])


def _line_arc_necks(s: Segments, loop: IntArray, line: IntArray, arc: IntArray) -> _Joins:
    """Along the perpendicular from the centre of an arc to a line."""
    along = _unit(s.end[line] - s.start[line])
    w = np.array((-along[:, 1], along[:, 0])).T  # into the metal
    rel = s.centre[arc] - s.start[line]
    t = (rel * along).sum(axis=1)
    rho = np.sign(s.sweep[arc]) * s.radius[arc]  # positive where the outline bulges away from the metal
    width = (rel * w).sum(axis=1) + rho
    outward = np.where((s.sweep[arc] > 0.0)[:, None], w, -w)
    on = (width > _ALONG) & (t >= -_SLACK) & (t <= s.length[line] + _SLACK) & _in_sector(s, arc, outward)
    p, q = s.start[line] + along * t[:, None], s.centre[arc] + w * rho[:, None]
    return _joins([p[on]], [q[on]], [loop[line[on]]], [loop[arc[on]]])


def _arc_necks(s: Segments, loop: IntArray, i: IntArray, j: IntArray, reach: float) -> _Joins:
    """Along the line of the centres of two arcs; about one centre, at the ends and the middles they share."""
    between = s.centre[j] - s.centre[i]
    u = _unit(between)
    sign_i, sign_j = np.sign(s.sweep[i]), np.sign(s.sweep[j])
    rho_i, rho_j = sign_i * s.radius[i], sign_j * s.radius[j]
    apart, sum_ = np.hypot(between[:, 0], between[:, 1]), rho_i + rho_j
    ways = []
    for sign in (1.0, -1.0):
        width = sign * apart + sum_
        k = indices((width > _ALONG) & (width <= reach) & (apart > _SLACK))
        ways.append((k, u[k] * sign))
    k = indices((sum_ > _ALONG) & (sum_ <= reach) & (apart <= _SLACK))
    if len(k):
        for arc, signs in ((i[k], -sign_i[k]), (j[k], sign_j[k])):
            for turned in (-0.5, 0.0, 0.5):
                angle = s.middle_angle[arc] + s.sweep[arc] * turned
                ways.append((k, np.array((np.cos(angle), np.sin(angle))).T * signs[:, None]))
    k = np.concatenate([way[0] for way in ways])
    w = np.concatenate([way[1] for way in ways])
    on = _in_sector(s, i[k], -w * sign_i[k, None]) & _in_sector(s, j[k], w * sign_j[k, None])
    k, w = k[on], w[on]
    p, q = s.centre[i[k]] - w * rho_i[k, None], s.centre[j[k]] + w * rho_j[k, None]
    return _joins([p], [q], [loop[i[k]]], [loop[j[k]]])


def _diameters(s: Segments, loop: IntArray, reach: float) -> _Joins:
    """Across arcs of half a turn or more that bulge away from the metal."""
    k = indices((s.sweep >= pi - _SLACK) & (2.0 * s.radius <= reach))
    angle = s.start_angle[k] + (s.sweep[k] - pi) / 2.0
    outward = np.array((np.cos(angle), np.sin(angle))).T * s.radius[k, None]
    return _joins([s.centre[k] + outward], [s.centre[k] - outward], [loop[k]], [loop[k]])


def through_metal(region: Region, a: FloatArray, b: FloatArray) -> BoolArray:
    """(m,) whether the straight lines from the places ``a`` (m, 2) to ``b`` (m, 2) run through metal all the way.

    >>> from core.geometry.regions.region import Region
    >>> ring = Region((Outline([[10, 0, 1], [-10, 0, 1]]), Outline([[7, 0, -1], [-7, 0, -1]])), (frozenset(),) * 2)
    >>> through_metal(ring, np.array([[7.0, 0.0], [0.0, 7.0]]), np.array([[10.0, 0.0], [0.0, -7.0]])).tolist()
    [True, False]
    """
    none = np.zeros(len(a), dtype=np.int64)
    return _through_metal(region, _Joins(np.hypot(*(b - a).T), a, b, none, none))


def _through_metal(region: Region, joins: _Joins) -> BoolArray:
    """Whether joining lines run through the metal from end to end."""
    s = region.segments
    p, q = joins.a, joins.b
    touching = joins.width <= _ALONG
    inside = touching | region.contains((p + q) / 2.0)
    k = indices(inside & ~touching)
    if not len(k):
        return inside
    # No surface may cut the line between its ends; at the ends it stops short of its own.
    short = np.minimum(_ALONG / joins.width[k], 0.25)[:, None]
    start, end = p[k] + (q[k] - p[k]) * short, q[k] - (q[k] - p[k]) * short
    line, segment = boxes_meeting((np.minimum(start, end), np.maximum(start, end)), region.segment_boxes)
    if len(line):
        lines = Segments.of(start, end, np.zeros(len(k)))
        one, other = meetings(joined((lines, s)), line, segment + len(k))[:2]
        inside[k[np.minimum(one, other)]] = False
    return inside
