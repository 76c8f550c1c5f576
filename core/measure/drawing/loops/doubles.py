"""What is drawn more than once: segments, whole or in part, and outlines, on each other or a hair beside each other."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from core.geometry.lines.segments import indices, segment_bounds
from core.measure.drawing.loops.network import MEETS_MM, Network, near_pairs, point
from core.measure.drawing.results import Fault, Trouble

if TYPE_CHECKING:
    from collections.abc import Sequence

    from core.geometry.lines.outline import BoolArray, FloatArray, IntArray, Outline
    from core.geometry.lines.segments import Segments
    from core.measure.drawing.progress import Tick

DOUBLE: Final = "drawn more than once; one was kept"
"""What is told of anything that is there again."""

# Segments that run along each other leave each other at less than this (sine of the angle).
_ALONG: Final = 1e-2
# Neighbours of a fine polyline are no twins: what is shorter than so many times what twins lie apart has none.
_FEW: Final = 4.0
_NEIGHBOURS: Final = 6  # looked at, of those that run by a segment's middle
_SIZE_MM: Final = 0.02  # copies differ by no more: digits, and ends that were joined
_PLACES: Final = 400  # on an outline that is held against another one


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
        Trouble(Fault.DOUBLE, point(middle[i]), float(size), DOUBLE)
        for i, size in zip(at.tolist(), length.tolist(), strict=True)
    ]


def without_twins(net: Network, near: float) -> tuple[Network, BoolArray]:
    """Each segment once where another runs beside it all the way, and which of them (m,) were there again.

    Of a pair the one that stands later in the file goes, and what ended with it ends with the other one now, which
    takes it off its way by no more than ``near`` [mm]. What is no longer than a few times that is left alone, and so
    are closed strokes: see ``without_doubles`` and ``twin_loops``.
    """
    from scipy.spatial import cKDTree

    again = np.zeros(len(net), dtype=np.bool_)
    s = net.segments()
    long = indices(s.length > _FEW * near)
    if near <= MEETS_MM or len(long) < 2:
        return net, again
    middle = s.points(long, s.length[long] / 2.0)
    name = np.arange(len(net.nodes))
    count = min(_NEIGHBOURS, len(long))
    distance, near_by = cKDTree(middle).query(middle, k=count, distance_upper_bound=near * (1.0 + 1e-9))
    i, j = np.repeat(np.arange(len(long)), count), np.asarray(near_by, dtype=np.int64).ravel()
    k = indices(np.isfinite(np.asarray(distance).ravel()) & (i != j))
    pairs = long[np.unique(np.sort(np.column_stack((i[k], j[k])), axis=1), axis=0)]
    # A closed stroke is the one that stays; else the one that came first.
    rank = np.where(net.is_round, -1, net.stroke)
    swap = rank[pairs[:, 1]] < rank[pairs[:, 0]]
    pairs[swap] = pairs[swap, ::-1]
    pairs = pairs[~net.is_round[pairs[:, 1]]]
    one, other = pairs[:, 0], pairs[:, 1]
    (a, b), (c, d) = ((net.nodes[net.first[k]], net.nodes[net.last[k]]) for k in (one, other))
    straight = np.maximum(np.hypot(*(a - c).T), np.hypot(*(b - d).T))
    crossed = np.maximum(np.hypot(*(a - d).T), np.hypot(*(b - c).T))
    same = indices(np.minimum(straight, crossed) <= near)
    off = net.off.copy()
    for k in same[np.lexsort((rank[one[same]], rank[other[same]]))].tolist():
        stays, goes = int(one[k]), int(other[k])
        if again[goes] or again[stays]:
            continue
        again[goes] = True
        kept = (net.first[stays], net.last[stays]) if straight[k] <= crossed[k] else (net.last[stays], net.first[stays])
        for old, new in zip((net.first[goes], net.last[goes]), kept, strict=True):
            if name[old] == old and old != new and name[new] == new:
                name[old] = new
    if not again.any():
        return net, again
    rest = replace(net.at(~again), off=off)
    for node in (rest.first, rest.last):
        moved = node[name[node] != node]
        off[moved] = np.maximum(off[moved], np.hypot(*(net.nodes[moved] - net.nodes[name[moved]]).T))
    return rest.renamed(name), again


def twin_loops(outlines: Sequence[Outline], near: float) -> BoolArray:
    """Which outlines (n,) run all round no farther than ``near`` [mm] from one of their size that comes before them.

    What has another size, as a rim has in its seat, is no twin, however near it is.
    """
    from scipy.spatial import cKDTree

    again = np.zeros(len(outlines), dtype=np.bool_)
    boxes = np.array([outline.bounds for outline in outlines]).reshape(-1, 4)
    left, is_new = np.arange(len(outlines)), True
    while is_new and len(left) > 1:  # of a heap of copies, more than their nearest few
        is_new, count = False, min(_NEIGHBOURS, len(left))
        near_by = cKDTree(boxes[left]).query(boxes[left], k=count, p=np.inf, distance_upper_bound=near * (1.0 + 1e-9))[
            1
        ]
        for i, found in zip(left.tolist(), np.sort(near_by, axis=1).tolist(), strict=True):
            for k in (int(left[k]) for k in found if k < len(left)):
                if k < i and not again[k] and _is_beside(outlines[i], outlines[k], near):
                    again[i] = is_new = True
                    break
        left = left[~again[left]]
    return again


def _is_beside(one: Outline, other: Outline, near: float) -> bool:
    """Whether two outlines have one size, and run within ``near`` of each other all round."""
    sizes = [(x1 - x0, y1 - y0) for x0, y0, x1, y1 in (one.bounds, other.bounds)]
    if max(abs(a - b) for a, b in zip(*sizes, strict=True)) > min(near, _SIZE_MM):
        return False
    for a, b in ((one, other), (other, one)):
        even = a.points_at(a.length * np.arange(_PLACES) / _PLACES)
        corners = a.vertices[:: len(a) // _PLACES + 1, :2]
        if b.nearest(np.concatenate((even, corners))).distance.max() > near:
            return False
    return True


class Beside(Struct, frozen=True, eq=False):
    """Nodes beside segments that do not end there.

    Attributes:
        node, edge: (m,) the nodes and the segments.
        along: (m,) where they lie beside them [mm].
        away: (m,) how far from them [mm].
    """

    node: IntArray
    edge: IntArray
    along: FloatArray
    away: FloatArray


def beside(net: Network, near: float, tick: Tick) -> Beside:
    """All nodes within ``near`` [mm] of segments; ``tick`` is told the part that is done, and may raise."""
    s = net.segments()
    low, high = segment_bounds(s)
    found = [(np.empty(0, dtype=np.int64), np.empty(0, dtype=np.int64), np.empty(0), np.empty(0))]
    for node, edge in near_pairs(low - near, high + near, net.nodes, net.nodes, tick):
        free = indices((net.first[edge] != node) & (net.last[edge] != node))
        p, e = node[free], edge[free]
        at = net.nodes[p]
        along, away = s.along(e, at), np.hypot(*(s.feet(e, at) - at).T)
        k = indices((away <= near) & (along > 0.0) & (along < s.length[e]))
        found.append((p[k], e[k], along[k], away[k]))
    return Beside(*(np.concatenate(part) for part in zip(*found, strict=True)))


def cut_where_shared(net: Network, found: Beside, near: float) -> Network:
    """The network with segments that run along each other cut at each other's ends, so that doubles are whole ones.

    Within a micrometre they are cut at the very same nodes. Within more, each is cut on its own way beside the other's
    end, and ends closer than that to each other make one cut.

    Args:
        net: the network.
        found: its nodes beside segments, as far away as ``near`` at least.
        near: how far apart they run at most [mm], no less than a micrometre.
    """
    s = net.segments()
    k = indices((found.away <= near) & (found.along > near) & (found.along < s.length[found.edge] - near))
    p, e, along = found.node[k], found.edge[k], found.along[k]
    kept = _runs_along(net, s, p, e, along, near)
    p, e, along = p[kept], e[kept], along[kept]
    if near <= MEETS_MM:
        off = net.off.copy()
        np.maximum.at(off, p, np.hypot(*(net.nodes[p] - s.points(e, along)).T))
        net = replace(net, off=off)
    elif len(p):
        order = np.lexsort((along, e))
        e, along = e[order], along[order]
        fresh = np.append(True, (np.diff(e) != 0) | (np.diff(along) > near))
        e, along = e[fresh], along[fresh]
        p = len(net.nodes) + np.arange(len(e))
        nodes = np.concatenate((net.nodes, s.points(e, along)))
        net = replace(net, nodes=nodes, off=np.concatenate((net.off, np.zeros(len(e)))))
    return _cut(net, s, p, e, along)


def _runs_along(net: Network, s: Segments, p: IntArray, e: IntArray, along: FloatArray, near: float) -> IntArray:
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
    return np.unique(pair[(apart <= 2.0 * near) & (sine <= _ALONG)])


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
        net.off,
        np.concatenate((rest.first, begin_node)),
        np.concatenate((rest.last, end_node)),
        np.concatenate((rest.bulge, np.tan(s.sweep[owner] * part / 4.0))),
        np.concatenate((rest.stroke, net.stroke[owner])),
        np.concatenate((rest.is_round, net.is_round[owner])),
    )
    return new.at(new.first != new.last)
