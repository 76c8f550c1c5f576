"""A network followed from segment to segment into closed chains; what leads nowhere is left out and told.

Words: a *half* is one end of a segment: half m is the beginning of segment m, half m + n the end of segment m of n.
"""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct

from core.geometry.lines.segments import indices
from core.measure.drawing.loops.join import loose_nodes, nearest_other
from core.measure.drawing.loops.network import point
from core.measure.drawing.progress import part_of
from core.measure.drawing.results import Fault, Trouble

if TYPE_CHECKING:
    from core.geometry.lines.outline import BoolArray, ComplexArray, FloatArray, IntArray
    from core.measure.drawing.loops.network import Network
    from core.measure.drawing.progress import Tick

STRAY_PART: Final = 0.02
"""Open chains shorter than this part of the drawing's larger side are bits that something left behind."""

# Where more ends meet than this, no one can tell what was meant.
_MOST_ENDS: Final = 48
_TICK_EVERY: Final = 1 << 14


class Chain(Struct, frozen=True, eq=False):
    """Segments in the order of travel, and which of them are run backwards."""

    segments: IntArray
    is_back: BoolArray


def traced(net: Network, tick: Tick) -> tuple[list[Chain], list[Trouble]]:
    """The closed chains of a network, and the ends, bits and branches that are no part of them."""
    size = float(np.ptp(net.nodes, axis=0).max()) if len(net) else 0.0
    pruned, troubles = _without_ends(net, STRAY_PART * size, part_of(tick, 0.0, 0.5))
    kept = indices(~pruned)
    inner = net.at(kept)
    partner, branches = _partners(inner)
    closed, open_ = _followed(partner, part_of(tick, 0.5, 1.0))
    s = inner.segments()
    for chain in open_:
        at = inner.nodes[inner.first[chain[0]]]
        length = float(s.length[np.array(chain)].sum())
        troubles.append(Trouble(Fault.STRAY, point(at), length, "closes nothing: it only runs between branches"))
    n = len(inner)
    chains = [Chain(kept[np.array(c) % max(n, 1)], np.array(c) >= n) for c in closed]
    return chains, troubles + branches


def _without_ends(net: Network, short: float, tick: Tick) -> tuple[BoolArray, list[Trouble]]:
    """Which segments (m,) lead to a loose end only, taken away until there is none, and a trouble for each."""
    pruned = np.zeros(len(net), dtype=np.bool_)
    loose = loose_nodes(net)
    if not len(loose):
        return pruned, []
    degree = net.degree().tolist()
    first, last, length = net.first.tolist(), net.last.tolist(), net.segments().length.tolist()
    # The sum of the segments still there at each node: with one left, it is that one.
    total = (
        np.bincount(net.first, weights=np.arange(len(net)), minlength=len(net.nodes))
        + np.bincount(net.last, weights=np.arange(len(net)), minlength=len(net.nodes))
    ).tolist()  # fmt: skip
    gone: list[int] = []
    ways: list[tuple[int, int, float, bool]] = []
    work = loose.tolist()
    is_loose = set(work)
    while work:
        start = node = work.pop()
        run = 0.0
        while degree[node] == 1:
            edge = int(total[node])
            gone.append(edge)
            if len(gone) % _TICK_EVERY == 0:
                tick(len(gone) / len(net))
            other = last[edge] if first[edge] == node else first[edge]
            degree[node] -= 1
            degree[other] -= 1
            total[node] -= edge
            total[other] -= edge
            run += length[edge]
            node = other
        if run > 0.0:
            ways.append((start, node, run, degree[node] == 0))
    pruned[gone] = True
    return pruned, _end_troubles(net, ways, is_loose, short)


def _end_troubles(
    net: Network, ways: list[tuple[int, int, float, bool]], is_loose: set[int], short: float
) -> list[Trouble]:
    troubles: list[Trouble] = []
    ends: list[int] = []
    for start, stop, length, is_alone in ways:
        if length < short:
            words = "too short to be part of an outline; left out"
            troubles.append(Trouble(Fault.STRAY, point(net.nodes[start]), length, words))
        else:
            ends.append(start)
            if is_alone and stop in is_loose:
                ends.append(stop)
    places = net.nodes[np.array(ends, dtype=np.int64)]
    for place, gap in zip(places, nearest_other(places).tolist(), strict=True):
        words = "nothing goes on here; the size is the way to the nearest other end"
        if gap == inf:
            words = "nothing goes on here, and there is no other end"
        troubles.append(Trouble(Fault.OPEN_END, point(place), gap if gap < inf else 0.0, words))
    return troubles


def _partners(net: Network) -> tuple[IntArray, list[Trouble]]:
    """(2 n,) the half that each half goes on with at its node, -1 for none; and where more than two met."""
    ends = np.concatenate((net.first, net.last))
    order = np.argsort(ends, kind="stable")
    count = np.bincount(ends, minlength=len(net.nodes))
    begin = np.cumsum(count) - count
    partner = np.full(len(ends), -1, dtype=np.int64)
    two = begin[count == 2]
    partner[order[two]], partner[order[two + 1]] = order[two + 1], order[two]
    crowded = indices(count > 2)
    if not len(crowded):
        return partner, []
    leaving, arriving = net.segments().directions
    away = np.concatenate((leaving, -arriving))
    stroke = np.tile(net.stroke, 2)
    troubles: list[Trouble] = []
    for node in crowded.tolist():
        halves = order[begin[node] : begin[node] + count[node]]
        pairs = _straightest(away[halves], stroke[halves])
        for a, b in pairs:
            partner[halves[a]], partner[halves[b]] = halves[b], halves[a]
        if 2 * len(pairs) < len(halves) or any(stroke[halves[a]] != stroke[halves[b]] for a, b in pairs):
            words = f"{len(halves)} ends meet here; the straightest ways on were taken"
            troubles.append(Trouble(Fault.BRANCH, point(net.nodes[node]), 0.0, words))
    return partner, troubles


def _straightest(away: ComplexArray, stroke: IntArray) -> list[tuple[int, int]]:
    """Pairs of the ends that leave a node in the directions ``away``: first of one stroke, then with the least turn."""
    n = len(away)
    if n > _MOST_ENDS:
        return [(i, i + 1) for i in range(0, n - 1, 2)]
    i, j = np.triu_indices(n, 1)
    turn = np.abs(np.angle(-away[j] * away[i].conj()))
    pairs: list[tuple[int, int]] = []
    taken: set[int] = set()
    for k in np.lexsort((turn, stroke[i] != stroke[j])).tolist():
        a, b = int(i[k]), int(j[k])
        if a not in taken and b not in taken:
            taken |= {a, b}
            pairs.append((a, b))
    return pairs


def _followed(partner: IntArray, tick: Tick) -> tuple[list[list[int]], list[list[int]]]:
    """Closed and open chains: segment m run forwards is m, run backwards m + n; of an open chain just the segments."""
    n = len(partner) // 2
    follows = partner.tolist()
    is_done = [False] * n
    closed: list[list[int]] = []
    open_: list[list[int]] = []
    done = 0
    starts = [*(h for h, other in enumerate(follows) if other < 0), *range(n)]
    for start in starts:
        if is_done[start % n]:
            continue
        chain: list[int] = []
        half = start
        while half >= 0 and not is_done[half % n]:
            is_done[half % n] = True
            chain.append(half)
            # In by one end, out by the other.
            half = follows[half + n if half < n else half - n]
            done += 1
            if done % _TICK_EVERY == 0:
                tick(done / n)
        if half < 0:
            open_.append([h % n for h in chain])
        else:
            closed.append(chain)
    return closed, open_


def chain_vertices(net: Network, chain: Chain) -> FloatArray:
    """(n, 3) the vertices of a closed chain."""
    nodes = np.where(chain.is_back, net.last[chain.segments], net.first[chain.segments])
    bulge = net.bulge[chain.segments]
    return np.column_stack((net.nodes[nodes], np.where(chain.is_back, -bulge, bulge)))
