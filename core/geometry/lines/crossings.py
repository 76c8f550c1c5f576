"""Where lines and arcs meet, and what is left of them when they are cut there.

Words: a *hit* is a place where two segments meet; a *node* is a vertex or a hit, and nodes closer than ``SNAP`` along
a segment are one; a *piece* is the part of a segment between two neighbouring nodes; a *cut* node is one where two
outlines, or two far parts of one, meet. Pieces keep their source segment and their place on it, so what is put
together from them lies on the original lines and arcs.
"""

from __future__ import annotations

from functools import cached_property
from itertools import pairwise
from math import atan2, pi, tan
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from core.geometry.lines.outline import BoolArray, FloatArray, IntArray, Outline, Segments, indices, segment_bounds
from core.geometry.lines.segment_sets import box_pairs, closed_segments, joined

if TYPE_CHECKING:
    from collections.abc import Sequence

SNAP = 1e-6
"""Nodes closer than this along a segment become one [mm]."""

TOUCH = 1e-7
"""Curves that come this near without crossing touch in one point [mm]."""

# Curves that overlap by less than this touch: rounding alone can do that. More is a crossing, however shallow: a third
# outline may end inside it.
_ROUNDING = 1e-11
# An end this near another segment lies on it: more than TOUCH, so that curves that touch beside their ends agree.
_END = 2.5 * TOUCH
_FEW = 1 << 16  # places times segments that are soon held against each other
_PARALLEL = 1e-12  # sine of the angle below which two lines only meet where an end of one lies on the other


class Crossings(Struct, frozen=True, eq=False):
    """Where the segments of one set meet those of another.

    Attributes:
        first, second: (m,) the segments.
        along_first, along_second: (m,) distances from their starts [mm].
        points: (m, 2) the places [mm].
    """

    first: IntArray
    second: IntArray
    along_first: FloatArray
    along_second: FloatArray
    points: FloatArray

    def __len__(self) -> int:
        return len(self.first)


def _turn_within(s: Segments, arc: IntArray, x: FloatArray, y: FloatArray) -> tuple[FloatArray, BoolArray]:
    """Angle (m,) [rad] turned from the start of each arc to the ray through (x, y), and whether the arc reaches it."""
    sweep = s.sweep[arc]
    angle = np.arctan2(y - s.centre[:, 1][arc], x - s.centre[:, 0][arc]) - s.start_angle[arc]
    turn = np.mod(np.where(sweep < 0.0, -angle, angle), 2.0 * pi)
    return turn, turn <= np.abs(sweep)


Hits = tuple[IntArray, IntArray, FloatArray, FloatArray, FloatArray]
"""Where pairs i, j of segments meet: i, j, the distances along i and along j [mm], and the points (m, 2)."""


def _line_line(s: Segments, i: IntArray, j: IntArray) -> Hits:
    (px, py), (qx, qy) = s.start.take(i, 0).T, s.start.take(j, 0).T
    step = s.end - s.start
    (dx, dy), (ex, ey) = step.take(i, 0).T, step.take(j, 0).T
    rx, ry = qx - px, qy - py
    cross = dx * ey - dy * ex
    skew = np.abs(cross) > _PARALLEL * s.length[i] * s.length[j]
    safe = np.where(skew, cross, 1.0)
    t, u = (rx * ey - ry * ex) / safe, (rx * dy - ry * dx) / safe
    k = indices(skew & (t >= 0.0) & (t <= 1.0) & (u >= 0.0) & (u <= 1.0))
    t, u = t[k], u[k]
    points = np.array((px[k] + t * dx[k], py[k] + t * dy[k])).T
    return i[k], j[k], t * s.length[i[k]], u * s.length[j[k]], points


def _line_arc(s: Segments, line: IntArray, arc: IntArray) -> Hits:
    length = s.length[line]
    start = s.start.take(line, 0)
    along = (s.end.take(line, 0) - start) / np.where(length > 0.0, length, 1.0)[:, None]
    to_centre = s.centre.take(arc, 0) - start
    foot = to_centre[:, 0] * along[:, 0] + to_centre[:, 1] * along[:, 1]
    off = np.abs(along[:, 0] * to_centre[:, 1] - along[:, 1] * to_centre[:, 0])
    depth = s.radius[arc] - off
    touches, crosses = indices((depth >= -TOUCH) & (depth <= _ROUNDING)), indices(depth > _ROUNDING)
    half = np.sqrt(depth[crosses] * (s.radius[arc[crosses]] + off[crosses]))
    k = np.concatenate((touches, crosses, crosses))
    t = np.concatenate((foot[touches], foot[crosses] - half, foot[crosses] + half))
    on = indices((t >= 0.0) & (t <= length[k]))
    k, t = k[on], t[on]
    points = start.take(k, 0) + along.take(k, 0) * t[:, None]
    turn, reached = _turn_within(s, arc[k], points[:, 0], points[:, 1])
    on = indices(reached)
    k = k[on]
    return line[k], arc[k], t[on], turn[on] * s.radius[arc[k]], points.take(on, 0)


def _arc_arc(s: Segments, i: IntArray, j: IntArray) -> Hits:
    first, r1, r2 = s.centre.take(i, 0), s.radius[i], s.radius[j]
    between = s.centre.take(j, 0) - first
    apart = np.hypot(between[:, 0], between[:, 1])
    safe = np.where(apart > 0.0, apart, 1.0)
    along = between / safe[:, None]
    step = np.abs(r1 - r2)
    gap, inset = apart - (r1 + r2), step - apart
    outer = (gap <= TOUCH) & (gap >= -_ROUNDING)
    # Circles that are one all the way round meet only where an end of one arc lies on the other.
    apart_at_all = apart + step > 10.0 * _ROUNDING
    inner = (inset <= TOUCH) & (inset >= -_ROUNDING) & apart_at_all
    touches = indices(outer | inner)
    crosses = indices((gap < -_ROUNDING) & (inset < -_ROUNDING) & apart_at_all)
    reach = np.where(inner & (r1 < r2), -r1, r1)[touches]
    a = 0.5 * (apart[crosses] + ((r1 - r2) * (r1 + r2))[crosses] / safe[crosses])
    h = np.sqrt(np.maximum((r1[crosses] - a) * (r1[crosses] + a), 0.0))
    k = np.concatenate((touches, crosses, crosses))
    on_axis = np.concatenate((reach, a, a))
    off_axis = np.concatenate((np.zeros(len(touches)), h, -h))
    (ux, uy), (x, y) = along.take(k, 0).T, first.take(k, 0).T
    x = x + on_axis * ux - off_axis * uy
    y = y + on_axis * uy + off_axis * ux
    turn1, reached1 = _turn_within(s, i[k], x, y)
    turn2, reached2 = _turn_within(s, j[k], x, y)
    on = indices(reached1 & reached2)
    k = k[on]
    return i[k], j[k], turn1[on] * r1[k], turn2[on] * r2[k], np.array((x[on], y[on])).T


def meetings(s: Segments, i: IntArray, j: IntArray) -> Hits:
    """Crossings and touches of pairs of segments; i and j may come back changed over.

    Ends that lie on the other segment may be left out, as rounding has it; ``crossings`` finds those as well.

    >>> s = Segments.of(np.array([[0.0, 0.0], [0.0, 8.0]]), np.array([[6.0, 8.0], [6.0, 0.0]]), np.zeros(2))
    >>> i, j, along_i, along_j, points = meetings(s, np.array([0]), np.array([1]))
    >>> along_i.tolist(), points.tolist()
    ([5.0], [[3.0, 4.0]])
    """
    round_i, round_j = s.bulge[i] != 0.0, s.bulge[j] != 0.0
    both, neither = round_i & round_j, ~(round_i | round_j)
    mixed = indices(round_i ^ round_j)
    found: list[Hits] = []
    for chosen, meet in ((indices(neither), _line_line), (indices(both), _arc_arc)):
        if len(chosen):
            found.append(meet(s, i[chosen], j[chosen]))
    if len(mixed):
        swap = round_i[mixed]
        found.append(_line_arc(s, np.where(swap, j[mixed], i[mixed]), np.where(swap, i[mixed], j[mixed])))
    if not found:
        none = np.zeros(0, dtype=np.int64)
        return none, none, np.zeros(0), np.zeros(0), np.zeros((0, 2))
    if len(found) == 1:
        return found[0]
    i, j, a, b, p = (np.concatenate(parts) for parts in zip(*found, strict=True))
    return i, j, a, b, p


def _ends_on(
    s: Segments, low: FloatArray, high: FloatArray, points: FloatArray, j: IntArray
) -> tuple[IntArray, FloatArray]:
    """Which of the points (m, 2) lie on their segments ``j`` (m,), and their distances along them [mm]."""
    k: IntArray | None = None
    for axis in (0, 1):  # most fall out along X
        p, of = (points[:, axis], j) if k is None else (points[:, axis][k], j[k])
        near = indices((p >= (low[:, axis] - _END)[of]) & (p <= (high[:, axis] + _END)[of]))
        k = near if k is None else k[near]
    assert k is not None
    on, along = _lying_on(s, points.take(k, 0), j[k])
    return k[on], along


def _lying_on(s: Segments, points: FloatArray, j: IntArray) -> tuple[IntArray, FloatArray]:
    """As ``_ends_on``, of points that lie in their segments' boxes."""
    x, y = points.T
    start, end = s.start.take(j, 0), s.end.take(j, 0)
    round_ = s.bulge[j] != 0.0
    along, on = np.zeros(len(j)), np.zeros(len(j), dtype=np.bool_)
    lines = indices(~round_)
    if len(lines):
        p0 = start.take(lines, 0)
        (dx, dy), (fx, fy) = (end.take(lines, 0) - p0).T, (points.take(lines, 0) - p0).T
        square = dx * dx + dy * dy
        t = np.clip((fx * dx + fy * dy) / np.where(square > 0.0, square, 1.0), 0.0, 1.0)
        along[lines] = t * s.length[j[lines]]
        on[lines] = np.hypot(fx - t * dx, fy - t * dy) <= _END
    arcs = indices(round_)
    if len(arcs):
        arc, ax, ay = j[arcs], x[arcs], y[arcs]
        turn, reached = _turn_within(s, arc, ax, ay)
        there = points.take(arcs, 0)
        rho = np.hypot(*(there - s.centre.take(arc, 0)).T)
        at_start = np.hypot(*(there - start.take(arcs, 0)).T) <= _END
        at_end = np.hypot(*(there - end.take(arcs, 0)).T) <= _END
        place = np.where(at_end, s.length[arc], turn * s.radius[arc])
        along[arcs] = np.where(at_start, 0.0, place)
        on[arcs] = at_start | at_end | (reached & (np.abs(rho - s.radius[arc]) <= _END))
    on_index = indices(on)
    return on_index, along[on_index]


def crossings(a: Segments, b: Segments) -> Crossings:
    """Where the segments ``a`` meet the segments ``b``, each place of a pair once, in closed form.

    Curves that touch within ``TOUCH`` meet in one point; segments that run along each other meet where an end of one
    lies on the other.

    >>> circle = Outline([[5, 0, 1], [-5, 0, 1]]).segments
    >>> line = Segments.of(np.array([[-9.0, 3.0]]), np.array([[9.0, 3.0]]), np.zeros(1))
    >>> crossings(line, circle).points.round(9).tolist()
    [[-4.0, 3.0], [4.0, 3.0]]
    """
    s = joined((a, b))
    low, high = segment_bounds(s)
    i, j = box_pairs(low, high, TOUCH)
    i, j = np.minimum(i, j), np.maximum(i, j)
    mixed = (i < len(a)) & (j >= len(a))
    i, j = i[mixed], j[mixed]
    first, second, t, u, points = meetings(s, i, j)
    swap = first > second
    first, second = np.where(swap, second, first), np.where(swap, first, second)
    t, u = np.where(swap, u, t), np.where(swap, t, u)
    parts: list[Hits] = [(first, second, t, u, points)]
    for one, other in ((i, j), (j, i)):
        for ends, place in ((s.start, np.zeros(len(s))), (s.end, s.length)):
            k, on = _ends_on(s, low, high, ends[one], other)
            own = place[one[k]]
            parts.append((i[k], j[k], *((own, on) if one is i else (on, own)), ends[one[k]]))
    first, second, t, u, points = (np.concatenate(p) for p in zip(*parts, strict=True))
    order = np.lexsort((t, second, first))
    first, second, t, u, points = first[order], second[order], t[order], u[order], points[order]
    again = np.zeros(len(order), dtype=np.bool_)
    again[1:] = (first[1:] == first[:-1]) & (second[1:] == second[:-1])
    again[1:] &= (np.abs(np.diff(t)) <= SNAP) & (np.abs(np.diff(u)) <= SNAP)
    keep = ~again
    return Crossings(first[keep], second[keep] - len(a), t[keep], u[keep], points[keep])


class Pieces(Struct, frozen=True, eq=False, dict=True):
    """What is left of segments when they are cut, in the order of the segments and along each.

    Attributes:
        source: the segments that were cut.
        segment: (m,) the segment each piece is part of.
        begin, stop: (m,) where it begins and ends, as distances along that segment [mm].
        first, last: (m,) the nodes where it begins and ends.
        nodes: (k, 2) where the nodes lie [mm].
        is_cut: (k,) whether a node is a cut.
    """

    source: Segments
    segment: IntArray
    begin: FloatArray
    stop: FloatArray
    first: IntArray
    last: IntArray
    nodes: FloatArray
    is_cut: BoolArray

    def __len__(self) -> int:
        return len(self.segment)

    @cached_property
    def bulge(self) -> FloatArray:
        """(m,) tan(sweep / 4) of each piece; that of the segment itself where nothing was cut off."""
        length = self.source.length[self.segment]
        whole = self.stop - self.begin >= length
        part = (self.stop - self.begin) / np.where(length > 0.0, length, 1.0)
        bulge = self.source.bulge[self.segment]
        return np.where(whole, bulge, np.tan(self.source.sweep[self.segment] * part / 4.0))

    @cached_property
    def areas(self) -> FloatArray:
        """(m,) what each piece adds to the area of a loop that runs along it [mm²]."""
        start, end = self.nodes.take(self.first, 0), self.nodes.take(self.last, 0)
        cross = start[:, 0] * end[:, 1] - start[:, 1] * end[:, 0]
        bulge = self.bulge
        arcs = indices(bulge)
        b, chord = bulge[arcs], end.take(arcs, 0) - start.take(arcs, 0)
        sweep = 4.0 * np.arctan(b)
        # From the nodes, not from the source's radius: snapping may have moved an end.
        dx, dy = chord.T
        square = (dx * dx + dy * dy) * ((1.0 + b * b) / (4.0 * b)) ** 2
        cross[arcs] += square * (sweep - np.sin(sweep))
        return cross / 2.0

    def midpoints(self, index: IntArray) -> FloatArray:
        """(k, 2) the middle of the pieces ``index`` [mm]."""
        return self.source.points(self.segment[index], (self.begin[index] + self.stop[index]) / 2.0)

    def directions(self, index: IntArray) -> FloatArray:
        """(k, 2) unit directions of travel in the middle of the pieces ``index``."""
        return self.source.tangents(self.segment[index], (self.begin[index] + self.stop[index]) / 2.0)

    def leaving(self, edge: int, *, reach: float) -> float:
        """Direction [rad] in which a piece leaves its node, as seen ``reach`` [mm] along it; ``~piece`` runs back."""
        piece = edge if edge >= 0 else ~edge
        segment = int(self.segment[piece])
        away = float(self.begin[piece]) if edge >= 0 else float(self.stop[piece])
        tx, ty = self.source.tangents(np.array([segment]), np.array([away]))[0].tolist()
        sign = 1.0 if edge >= 0 else -1.0
        sweep = float(self.source.sweep[segment])
        bend = sweep / float(self.source.length[segment]) * reach / 2.0 if sweep else 0.0
        return atan2(sign * ty, sign * tx) + sign * bend

    def sharpest(self, arrived: int, choices: Sequence[int]) -> int:
        """The choice that is first clockwise of the way back, so that nothing lies between on the left of travel.

        ``arrived`` is the piece that runs into the node; both it and the choices are pieces, ``~piece`` run backwards.
        """
        back = ~arrived
        every = np.array([back, *choices])
        every = np.where(every < 0, ~every, every)
        # Looked at a little way off, curves that leave in one direction lie in the order of their curvature.
        reach = min(1.0, float((self.stop[every] - self.begin[every]).min()) / 4.0)
        angle = self.leaving(back, reach=reach)
        return min(choices, key=lambda e: (angle - self.leaving(e, reach=reach)) % (2.0 * pi))

    @cached_property
    def _edges(self) -> tuple[list[int], FloatArray]:
        """Segment and vertex (start's x, y and bulge) of every edge.

        The edges are the pieces forwards and then, from the last to the first, backwards: so ``~piece`` counts from the
        end and finds its own.
        """
        m, segment, bulge = len(self), self.segment.tolist(), self.bulge
        vertices = np.empty((2 * m, 3))
        vertices[:m, :2] = self.nodes.take(self.first, 0)
        vertices[m:, :2] = self.nodes.take(self.last[::-1], 0)
        vertices[:m, 2], vertices[m:, 2] = bulge, -bulge[::-1]
        return segment + segment[::-1], vertices

    @cached_property
    def _extents(self) -> list[float]:
        """Length of every piece [mm]."""
        extents: list[float] = (self.stop - self.begin).tolist()
        return extents

    def outline(self, chain: Sequence[int]) -> Outline:
        """The closed outline along the chain of pieces (``~piece``: run backwards), parts of one segment made one."""
        segment, vertices = self._edges
        # Neighbours on one segment run on in the same sense: p, p + 1 forwards, ~p, ~(p - 1) = ~p + 1 backwards.
        heads = [
            k
            for k, (before, edge) in enumerate(pairwise((chain[-1], *chain)))
            if edge != before + 1 or edge == 0 or segment[edge] != segment[before]
        ]
        if len(heads) == len(chain) or len(heads) < 2:
            return Outline.of_finite(vertices.take(chain, 0))
        rolled = (*chain, *chain[: heads[0]])
        made = vertices.take([rolled[k] for k in heads], 0)
        for row, (i, j) in enumerate(pairwise((*heads, len(rolled)))):
            if j - i > 1:
                made[row, 2] = self._bulge_of(rolled[i:j])
        return Outline.of_finite(made)

    def _bulge_of(self, run: Sequence[int]) -> float:
        """The bulge of a run of edges along one segment."""
        pieces = [edge if edge >= 0 else ~edge for edge in run]
        of = self._edges[0][pieces[0]]
        extent, length = sum(self._extents[piece] for piece in pieces), float(self.source.length[of])
        bulge = float(self.source.bulge[of])
        if extent < length - SNAP:
            bulge = tan(float(self.source.sweep[of]) * extent / length / 4.0)
        return bulge if run[0] >= 0 else -bulge


def cut(
    s: Segments,
    boxes: tuple[FloatArray, FloatArray],
    first: IntArray,
    last: IntArray,
    i: IntArray,
    j: IntArray,
    *,
    both_ends: bool,
) -> Pieces:
    """The segments cut where the pairs ``i``, ``j`` (m,) meet.

    Args:
        s: the segments.
        boxes: their ``segment_bounds``.
        first: (n,) the vertex each segment starts at, numbered like the segments.
        last: (n,) the vertex each segment ends at; numbers from n on are free ends.
        i: (m,) the one segment of each pair that may meet.
        j: (m,) the other.
        both_ends: whether to look for ends that lie on other segments at both ends; the starts are enough where
            every end is the start of another segment.

    >>> s = Segments.of(np.array([[0.0, 0.0], [0.0, 8.0]]), np.array([[6.0, 8.0], [6.0, 0.0]]), np.zeros(2))
    >>> ends, pair = (np.array([0, 1]), np.array([2, 3])), (np.array([0]), np.array([1]))
    >>> cut(s, segment_bounds(s), *ends, *pair, both_ends=True).stop.tolist()
    [5.0, 10.0, 5.0, 10.0]
    """
    n = len(s)
    found = _without_vertices(s, first, last, meetings(s, i, j))
    hits = found[4]
    size, vertices = n, s.start
    if both_ends:
        size = max(n, int(max(first.max(initial=0), last.max(initial=0))) + 1)
        vertices = np.empty((size, 2))
        vertices[last] = s.end
        vertices[first] = s.start
    fresh = np.arange(size, size + len(hits))
    ends = ((first, s.start), (last, s.end)) if both_ends else ((first, s.start),)
    node, on, on_along = _touched(s, boxes, (i, j), found, (*ends, (fresh, hits)))
    # A segment's own ends lie on it without being cuts.
    apart = indices((node != first[on]) & (node != last[on]))
    hit_segment = np.concatenate((*found[:2], on[apart]))
    hit_along = np.concatenate((*found[2:4], on_along[apart]))
    hit_node = np.concatenate((fresh, fresh, node[apart]))
    is_cut = np.zeros(size + len(hits), dtype=np.bool_)
    is_hit = np.zeros(n, dtype=np.bool_)
    is_hit[hit_segment] = True
    is_hit |= s.length <= SNAP
    busy, idle = indices(is_hit), indices(~is_hit)

    segment = np.concatenate((hit_segment, busy, busy))
    along = np.concatenate((hit_along, np.zeros(len(busy)), s.length[busy]))
    node = np.concatenate((hit_node, first[busy], last[busy]))
    order = np.lexsort((along, segment))
    segment, along, node = segment[order], along[order], node[order]
    follows = segment[1:] == segment[:-1]
    close = indices(follows & (along[1:] - along[:-1] <= SNAP) & (node[1:] != node[:-1]))
    name = _named(size + len(hits), node[close].tolist(), node[close + 1].tolist())
    is_cut[name[hit_node]] = True
    node = name[node]
    # A piece that leads back to its own node is a loop only if it is longer than what snapping may have closed.
    kept = indices(follows & ((node[1:] != node[:-1]) | (along[1:] - along[:-1] > 8.0 * SNAP)))
    segment = np.concatenate((segment[kept], idle))
    begin = np.concatenate((along[kept], np.zeros(len(idle))))
    stop = np.concatenate((along[kept + 1], s.length[idle]))
    start_node = np.concatenate((node[kept], name[first[idle]]))
    end_node = np.concatenate((node[kept + 1], name[last[idle]]))
    order = np.lexsort((begin, segment))
    return Pieces(
        s,
        segment[order],
        begin[order],
        stop[order],
        start_node[order],
        end_node[order],
        np.concatenate((vertices, hits)),
        is_cut,
    )


def _without_vertices(s: Segments, first: IntArray, last: IntArray, hits: Hits) -> Hits:
    """The hits but those of neighbours in the vertex they share, which is no cut."""
    i, j, ti, tj, points = hits
    follows, leads = last[i] == first[j], last[j] == first[i]
    if not (follows | leads).any():
        return hits
    shared = follows & (ti >= s.length[i] - SNAP) & (tj <= SNAP)
    shared |= leads & (tj >= s.length[j] - SNAP) & (ti <= SNAP)
    k = indices(~shared)
    return i[k], j[k], ti[k], tj[k], points[k]


def _touched(
    s: Segments,
    boxes: tuple[FloatArray, FloatArray],
    pairs: tuple[IntArray, IntArray],
    found: Hits,
    nodes: Sequence[tuple[IntArray, FloatArray]],
) -> tuple[IntArray, IntArray, FloatArray]:
    """Nodes (m,) that lie on further segments (m,), and their distances along these [mm].

    Args:
        s: the segments, and their ``boxes``.
        boxes: of the segments.
        pairs: of segments that come near each other.
        found: where they meet.
        nodes: numbers and places of the starts of the segments, of their ends where these count, and of ``found``.
    """
    own = [np.arange(len(s))] * (len(nodes) - 1)
    a, b = np.concatenate((*own, found[0])), np.concatenate((*own, found[1]))
    points = np.concatenate([places for _, places in nodes])
    near = _few_near_places if len(points) * len(s) <= _FEW else _near_places
    k, on = near(boxes, points, (a, b), pairs)
    chosen, along = _lying_on(s, points.take(k, 0), on)
    return np.concatenate([number for number, _ in nodes])[k[chosen]], on[chosen], along


def _few_near_places(
    boxes: tuple[FloatArray, FloatArray],
    points: FloatArray,
    at: tuple[IntArray, IntArray],
    pairs: tuple[IntArray, IntArray],
) -> tuple[IntArray, IntArray]:
    """As ``_near_places``, where all places are soon held against all boxes."""
    (a, b), (i, j) = at, pairs
    (low_x, low_y), (high_x, high_y) = (boxes[0] - _END).T, (boxes[1] + _END).T
    x, y = points[:, :1], points[:, 1:]
    k, on = ((x >= low_x) & (x <= high_x) & (y >= low_y) & (y <= high_y)).nonzero()
    is_pair = np.zeros((len(low_x), len(low_x)), dtype=np.bool_)
    is_pair[i, j] = is_pair[j, i] = True
    a, b = a[k], b[k]
    chosen = indices((is_pair[a, on] | is_pair[b, on]) & (on != a) & (on != b))
    return k[chosen], on[chosen]


def _near_places(
    boxes: tuple[FloatArray, FloatArray],
    points: FloatArray,
    at: tuple[IntArray, IntArray],
    pairs: tuple[IntArray, IntArray],
) -> tuple[IntArray, IntArray]:
    """Places, and further segments in whose boxes they are.

    Without them, segments that run along each other would not be cut at the same places.

    Args:
        boxes: of the n segments.
        points: (m, 2) places on the segments [mm].
        at: (m,) the segment that each place is on, twice, or the two.
        pairs: (p,) segments that come near each other; only partners of those that a place is on are looked at.
    """
    (a, b), (i, j), (low, high), n = at, pairs, boxes, len(boxes[0])
    one, other = np.concatenate((i, j)), np.concatenate((j, i))
    other = other[np.argsort(one, kind="stable")]
    stop = np.cumsum(np.bincount(one, minlength=n))
    is_two = indices(a != b)
    of, k = np.concatenate((a, b[is_two])), np.concatenate((np.arange(len(a)), is_two))
    count = np.diff(stop, prepend=0)[of]
    before = np.cumsum(count) - count
    on = other[np.arange(int(count.sum())) + np.repeat(stop[of] - count - before, count)]
    k = np.repeat(k, count)
    for axis in (0, 1):  # most fall out along X
        p = points[:, axis][k]
        near = indices((p >= (low[:, axis] - _END)[on]) & (p <= (high[:, axis] + _END)[on]))
        k, on = k[near], on[near]
    chosen = indices((on != a[k]) & (on != b[k]))
    return k[chosen], on[chosen]


def _named(size: int, one: list[int], other: list[int]) -> IntArray:
    """(size,) the least number in each group of nodes that the pairs tie together."""
    parent: dict[int, int] = {}

    def root(node: int) -> int:
        while (above := parent.get(node, node)) != node:
            node = above
        return node

    for a, b in zip(one, other, strict=True):
        ra, rb = root(a), root(b)
        parent[max(ra, rb)] = min(ra, rb)
    name = np.arange(size)
    for node in parent:
        name[node] = root(node)
    return name


def split(outlines: Sequence[Outline]) -> Pieces:
    """All segments of the outlines cut at all crossings, those of an outline with itself included.

    >>> squares = [Outline([[k, k, 0], [k + 2, k, 0], [k + 2, k + 2, 0], [k, k + 2, 0]]) for k in (0, 1)]
    >>> pieces = split(squares)  # four of the eight sides are cut in two
    >>> len(pieces), int(pieces.is_cut.sum())
    (12, 2)
    """
    s, _, after = closed_segments(outlines)
    boxes = segment_bounds(s)
    return cut(s, boxes, np.arange(len(s)), after, *box_pairs(*boxes, TOUCH), both_ends=False)
