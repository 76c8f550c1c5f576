"""A drawing's strokes as a network: segments between nodes, each thing there once.

Words: a *node* is a place where segments end; a *loose* node has one segment only.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from core.drawing.results import Fault, Trouble
from core.segments import FLAT_BULGE, Segments, indices, segment_bounds

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from core.drawing.progress import Tick
    from core.drawing.results import Stroke
    from core.outline import BoolArray, FloatArray, IntArray, Point

MEETS_MM: Final = 1e-3
"""Ends this close meet, and curves this close lie on each other: nobody could draw the difference."""

# Vertices this close, as a part of the drawing's larger side, are one; and at most this close.
_WELD_PART, _WELD_MM = 1e-6, 5e-4
# Segments that run along each other leave each other at less than this (sine of the angle).
_ALONG = 1e-2
_MOST_PAIRS: Final = 10_000_000
_PAIRS_AT_ONCE: Final = 100_000
_MOST_AT_ONCE: Final = 1 << 13


@dataclass(frozen=True, eq=False)
class Network:
    """Segments between nodes; none bends by more than a half circle.

    Attributes:
        nodes: (k, 2) [mm].
        first, last: (m,) the nodes where the segments begin and end.
        bulge: (m,) as in ``Segments``.
        stroke: (m,) the stroke each comes from.
        is_round: (m,) whether that stroke is closed by itself: then it is a loop, whatever else runs along it.
    """

    nodes: FloatArray
    first: IntArray
    last: IntArray
    bulge: FloatArray
    stroke: IntArray
    is_round: BoolArray

    def __len__(self) -> int:
        return len(self.bulge)

    def segments(self) -> Segments:
        """All segments, worked out anew."""
        return Segments.of(self.nodes[self.first], self.nodes[self.last], self.bulge)

    def degree(self) -> IntArray:
        """(k,) how many segments end at each node."""
        return np.bincount(np.concatenate((self.first, self.last)), minlength=len(self.nodes))

    def at(self, index: IntArray | BoolArray) -> Network:
        """Some of the segments."""
        return replace(
            self,
            first=self.first[index],
            last=self.last[index],
            bulge=self.bulge[index],
            stroke=self.stroke[index],
            is_round=self.is_round[index],
        )

    def renamed(self, name: IntArray) -> Network:
        """The same with the nodes ``name`` (k,) in the places of 0 to k - 1; what comes down to a point is gone."""
        new = replace(self, first=name[self.first], last=name[self.last])
        return new.at(new.first != new.last)


def network(strokes: Sequence[Stroke], scale: float) -> Network:
    """The network of strokes, ``scale`` mm to their unit; vertices that are one to drawing accuracy are one node."""
    counts = np.array([len(s.vertices) for s in strokes])
    # There and back along one line is how some draw a line.
    is_closed = np.array([s.is_closed and (len(s.vertices) > 2 or bool(s.vertices[:, 2].any())) for s in strokes])
    vertices = np.concatenate([s.vertices for s in strokes]) * np.array([scale, scale, 1.0])
    owner = np.repeat(np.arange(len(strokes)), counts)
    ends = np.cumsum(counts) - 1
    first = np.arange(len(vertices))
    last = first + 1
    last[ends] = ends - counts + 1
    used = np.ones(len(vertices), dtype=np.bool_)
    used[ends[~is_closed]] = False
    first, last, bulge, owner = first[used], last[used], vertices[used, 2], owner[used]
    bulge[np.abs(bulge) < FLAT_BULGE] = 0.0
    points = vertices[:, :2]
    # More than a half circle: its two halves keep their shape when an end moves a little.
    steep = indices(np.abs(bulge) > 1.0 + FLAT_BULGE)
    if len(steep):
        a, b, k = points[first[steep]], points[last[steep]], bulge[steep]
        chord = b - a
        middle = (a + b) / 2.0 + k[:, None] / 2.0 * np.column_stack((chord[:, 1], -chord[:, 0]))
        new = len(points) + np.arange(len(steep))
        points = np.concatenate((points, middle))
        first, last = np.concatenate((first, new)), np.concatenate((last, last[steep]))
        last[steep] = new
        bulge[steep] = np.tan(np.arctan(k) / 2.0)
        bulge, owner = np.concatenate((bulge, bulge[steep])), np.concatenate((owner, owner[steep]))
    low = points.min(axis=0)
    size = float(np.ptp(points, axis=0).max())
    name = _welded(points - low, max(min(_WELD_PART * size, _WELD_MM), size / 2.0**30))
    _, at = np.unique(name, return_index=True)
    whole = Network(points[at], first, last, bulge, owner, is_closed[owner])
    return whole.renamed(name)


def _welded(points: FloatArray, reach: float) -> IntArray:
    """(n,) a number for each point, the same for those that lie within ``reach`` of each other."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    n = len(points)
    if not reach > 0.0:
        return np.zeros(n, dtype=np.int64)
    every, links = np.arange(n), []
    # Points that a line of one grid parts lie in one cell of another.
    for shift in ((0.0, 0.0), (0.5, 0.0), (0.0, 0.5), (0.5, 0.5)):
        cell = np.floor(points / (2.0 * reach) + np.array(shift)).astype(np.int64)
        _, at, name = np.unique((cell[:, 0] << 32) + cell[:, 1], return_index=True, return_inverse=True)
        links.append(at[name])
    other = np.concatenate(links)
    one = np.tile(every, len(links))
    graph = coo_array((np.ones(len(one), dtype=np.int8), (one, other)), shape=(n, n))
    return np.asarray(connected_components(graph, directed=False)[1], dtype=np.int64)


def without_doubles(net: Network, near: float) -> tuple[Network, BoolArray]:
    """Each segment once: same ends, and middles within ``near`` [mm]; and which of them (m,) were there again.

    A closed stroke stays whole, so that neighbours may share an edge, and goes only where another is the same all
    round; of what runs along one nothing else is kept.
    """
    low, high = np.minimum(net.first, net.last), np.maximum(net.first, net.last)
    bulge = np.where(net.first <= net.last, net.bulge, -net.bulge)
    order = np.lexsort((bulge, high, low))
    chord = np.hypot(*(net.nodes[high[order]] - net.nodes[low[order]]).T)
    same = np.zeros(len(net), dtype=np.bool_)
    same[1:] = (np.diff(low[order]) == 0) & (np.diff(high[order]) == 0)
    same[1:] &= np.diff(bulge[order]) * chord[1:] / 2.0 <= near
    if not same.any():
        return net, same
    group = np.empty(len(net), dtype=np.int64)
    group[order] = np.cumsum(~same)
    covered = np.zeros(len(net) + 1, dtype=np.bool_)
    covered[group[net.is_round]] = True
    again = ~net.is_round & covered[group]
    rest = indices(~net.is_round & ~again)
    _, kept = np.unique(group[rest], return_index=True)
    again[np.delete(rest, kept)] = True
    again |= _same_all_round(net, group)
    return net.at(~again), again


def _same_all_round(net: Network, group: IntArray) -> BoolArray:
    """The segments (m,) of closed strokes that consist of the same ``group`` (m,) of segments as an earlier one."""
    again = np.zeros(len(net), dtype=np.bool_)
    parts = indices(net.is_round)
    if not len(parts):
        return again
    which = np.unique(net.stroke[parts], return_inverse=True)[1]
    order = np.lexsort((group[parts], which))
    seen: set[bytes] = set()
    for run in np.split(parts[order], np.cumsum(np.bincount(which))[:-1]):
        key = group[run].tobytes()
        if key in seen:
            again[run] = True
        seen.add(key)
    return again


def double_troubles(net: Network, again: BoolArray) -> list[Trouble]:
    """A trouble for each stroke that has segments which are there twice."""
    index = indices(again)
    if not len(index):
        return []
    s = net.at(index).segments()
    middle = s.points(np.arange(len(s)), s.length / 2.0)
    strokes, at, which = np.unique(net.stroke[index], return_index=True, return_inverse=True)
    length = np.bincount(which, weights=s.length, minlength=len(strokes))
    return [
        Trouble(Fault.DOUBLE, point(middle[i]), float(size), "drawn more than once; one was kept")
        for i, size in zip(at.tolist(), length.tolist(), strict=True)
    ]


def point(row: FloatArray) -> Point:
    """A row as a point."""
    return float(row[0]), float(row[1])


def cut_where_shared(net: Network, tick: Tick) -> Network:
    """The network with segments that run along each other cut at each other's ends, so that doubles are whole ones."""
    s = net.segments()
    low, high = segment_bounds(s)
    found: list[tuple[IntArray, IntArray, FloatArray]] = []
    for node, edge in near_pairs(low - MEETS_MM, high + MEETS_MM, net.nodes, net.nodes, tick):
        free = indices((net.first[edge] != node) & (net.last[edge] != node))
        p, e = node[free], edge[free]
        at = net.nodes[p]
        along = s.along(e, at)
        on = np.hypot(*(s.feet(e, at) - at).T) <= MEETS_MM
        k = indices(on & (along > MEETS_MM) & (along < s.length[e] - MEETS_MM))
        found.append((p[k], e[k], along[k]))
    if not found:
        return net
    p, e, along = (np.concatenate(part) for part in zip(*found, strict=True))
    kept = _runs_along(net, s, p, e, along)
    return _cut(net, s, p[kept], e[kept], along[kept])


def near_pairs(
    low: FloatArray, high: FloatArray, other_low: FloatArray, other_high: FloatArray, tick: Tick
) -> Iterator[tuple[IntArray, IntArray]]:
    """Pairs of the other boxes, (k, 2) corners, and of the boxes (n, 2) that meet, some pairs at a time.

    A drawing where nearly everything is near everything is not looked through to its end: nobody means that.
    """
    import shapely  # noqa: PLC0415 - it costs the window's start

    tree = shapely.STRtree(shapely.box(*low.T, *high.T))
    others = shapely.box(*other_low.T, *other_high.T)
    begin, step, total = 0, 64, 0
    while begin < len(others) and total < _MOST_PAIRS:
        tick(begin / len(others))
        one, other = tree.query(others[begin : begin + step])
        yield one + begin, other
        begin, total = begin + step, total + len(one)
        step = int(np.clip(_PAIRS_AT_ONCE * step / (len(one) + 1), 16, min(4 * step, _MOST_AT_ONCE)))


def _runs_along(net: Network, s: Segments, p: IntArray, e: IntArray, along: FloatArray) -> IntArray:
    """Which of the nodes ``p`` on the segments ``e`` have a segment of their own that runs along there."""
    ends = np.concatenate((net.first, net.last))
    order = np.argsort(ends, kind="stable")
    count = np.bincount(ends, minlength=len(net.nodes))
    begin = np.cumsum(count) - count
    pair = np.repeat(np.arange(len(p)), count[p])
    rank = np.arange(len(pair)) - np.repeat(np.cumsum(count[p]) - count[p], count[p])
    half = order[begin[p[pair]] + rank]
    own = half % len(net)
    leaving, arriving = s.directions
    way = np.where(half < len(net), leaving[own], -arriving[own])
    tangent = s.tangents(e[pair], along[pair])
    dot = way.real * tangent[:, 0] + way.imag * tangent[:, 1]
    sine = np.abs(way.real * tangent[:, 1] - way.imag * tangent[:, 0])
    left = np.where(dot > 0.0, s.length[e[pair]] - along[pair], along[pair])
    shared = np.minimum(left, s.length[own])
    bend = np.sign(s.bulge) / s.radius
    # Both run on from the node: curved the same way as seen in that direction.
    bent = np.where(dot > 0.0, bend[e[pair]], -bend[e[pair]]) - np.where(half < len(net), bend[own], -bend[own])
    # They part by the angle and by the difference of their curvatures.
    apart = sine * shared + np.abs(bent) * shared**2 / 2.0
    return np.unique(pair[(apart <= 2.0 * MEETS_MM) & (sine <= _ALONG)])


def _cut(net: Network, s: Segments, p: IntArray, e: IntArray, along: FloatArray) -> Network:
    """The segments ``e`` cut at the nodes ``p``, at the distances ``along`` them [mm]."""
    if not len(p):
        return net
    order = np.lexsort((along, e))
    p, e, along = p[order], e[order], along[order]
    edges, at, count = np.unique(e, return_index=True, return_counts=True)
    # Between the nodes of a cut segment, one more piece than there are nodes.
    position = at + np.arange(len(at))
    begin_node = np.insert(p, at, net.first[edges])
    begin_along = np.insert(along, at, 0.0)
    owner = np.insert(e, at, edges)
    ends = position + count
    end_node, end_along = np.roll(begin_node, -1), np.roll(begin_along, -1)
    end_node[ends], end_along[ends] = net.last[edges], s.length[edges]
    part = (end_along - begin_along) / s.length[owner]
    whole = np.ones(len(net), dtype=np.bool_)
    whole[edges] = False
    rest = net.at(whole)
    new = Network(
        net.nodes,
        np.concatenate((rest.first, begin_node)),
        np.concatenate((rest.last, end_node)),
        np.concatenate((rest.bulge, np.tan(s.sweep[owner] * part / 4.0))),
        np.concatenate((rest.stroke, net.stroke[owner])),
        np.concatenate((rest.is_round, net.is_round[owner])),
    )
    return new.at(new.first != new.last)
