"""Loose ends brought together, nearest first, by lengthening or cutting what ends there, so that they meet exactly."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec.structs import replace

from core.geometry.lines.segments import indices
from core.measure.drawing.loops.meeting import EXACT_MM, met
from core.measure.drawing.loops.network import MEETS_MM, point
from core.measure.drawing.results import Fault, Trouble

if TYPE_CHECKING:
    from core.geometry.lines.outline import BoolArray, FloatArray, IntArray
    from core.geometry.lines.segments import Segments
    from core.measure.drawing.loops.network import Network
    from core.measure.drawing.progress import Tick

# Neighbours looked at; what lies in a thicket of more is joined in the next round.
_NEIGHBOURS: Final = 6
_ROUNDS: Final = 4
# What is as short as this many gaps is no outline, whose ends should be brought together.
_TINY: Final = 4.0
# Ends may travel this many times as far as they may be apart: lines that cross at 30 degrees or more meet there.
_REACH: Final = 2.0
_LENGTHENED: Final = "two ends did not meet; both were lengthened to where they do"
_CUT: Final = "an end ran past the other; both end now where they meet"
_MOVED: Final = "two ends lay beside each other; both left their way to meet"


def join_ends(net: Network, join: float, tick: Tick) -> tuple[Network, list[Trouble]]:
    """The network with loose ends up to ``join`` [mm] apart made one, and each gap that was wider than a micrometre.

    Lines and arcs are lengthened, or cut, to where they meet: a line stays on its line, and an arc keeps its centre and
    its radius. Where they do not meet within twice that distance, as lines side by side, both ends leave their way by
    half of what is between them.
    """
    troubles: list[Trouble] = []
    for _ in range(_ROUNDS):
        tick(0.0)
        one, other, gap = _pairs(net, join)
        if not len(one):
            break
        s, owner = net.segments(), _owners(net)
        place = met(s, owner[one], owner[other], (net.nodes[one], net.nodes[other]), _REACH * join)
        nodes = net.nodes.copy()
        nodes[one] = nodes[other] = place.at
        off = net.off.copy()
        off[one] = np.maximum(off[one], place.off)
        name = np.arange(len(nodes))
        name[other] = one
        is_cut = [_loses(s, net, node, owner[node], place.at) for node in (one, other)]
        for i in indices(gap > MEETS_MM):
            words = _MOVED if place.off[i] > EXACT_MM else _CUT if is_cut[0][i] or is_cut[1][i] else _LENGTHENED
            troubles.append(Trouble(Fault.GAP, point(place.at[i]), float(gap[i]), words, float(place.off[i])))
        net = replace(net, nodes=nodes, off=off, bulge=_bulges(s, net, nodes)).renamed(name)
    return net, troubles


def _owners(net: Network) -> IntArray:
    """(k,) a segment that ends at each node: of a loose one, the only one."""
    owner = np.full(len(net.nodes), -1, dtype=np.int64)
    every = np.arange(len(net))
    owner[net.first], owner[net.last] = every, every
    return owner


def _loses(s: Segments, net: Network, node: IntArray, owner: IntArray, at: FloatArray) -> BoolArray:
    """(m,) whether segments lose something at their ends ``node`` when these move to ``at``."""
    leaving, arriving = s.directions
    away = np.where(net.first[owner] == node, -leaving[owner], arriving[owner])
    step = at - net.nodes[node]
    lost: BoolArray = step[:, 0] * away.real + step[:, 1] * away.imag < -EXACT_MM
    return lost


def _bulges(s: Segments, net: Network, nodes: FloatArray) -> FloatArray:
    """(m,) the bulges of segments whose nodes have moved: arcs keep their centres, and so where they run."""
    bulge = net.bulge.copy()
    moved = (nodes != net.nodes).any(axis=1)
    arcs = indices((bulge != 0.0) & (moved[net.first] | moved[net.last]))
    if not len(arcs):
        return bulge
    turned = np.zeros(len(arcs))
    for node, sign in ((net.last[arcs], 1.0), (net.first[arcs], -1.0)):
        before, after = (p[node] - s.centre[arcs] for p in (net.nodes, nodes))
        turn = (after[:, 0] + 1j * after[:, 1]) * (before[:, 0] - 1j * before[:, 1])
        turned += sign * np.angle(turn)
    bulge[arcs] = np.tan((s.sweep[arcs] + turned) / 4.0)
    return bulge


def loose_nodes(net: Network) -> IntArray:
    """The nodes where one segment ends."""
    return indices(net.degree() == 1)


def _components(net: Network) -> tuple[IntArray, FloatArray]:
    """For each node, the part of the network that it hangs together with, and the length of each part [mm]."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    k = len(net.nodes)
    graph = coo_array((np.ones(len(net), dtype=np.int8), (net.first, net.last)), shape=(k, k))
    count, found = connected_components(graph, directed=False)
    part = np.asarray(found, dtype=np.int64)
    length = np.zeros(count)
    np.add.at(length, part[net.first], net.segments().length)
    return part, length


def _pairs(net: Network, join: float) -> tuple[IntArray, IntArray, FloatArray]:
    """Pairs of loose nodes to be made one, each node in one pair at most, and their distances [mm]."""
    from scipy.spatial import cKDTree

    loose = loose_nodes(net)
    none = np.empty(0, dtype=np.int64)
    if len(loose) < 2:
        return none, none, np.empty(0)
    places = net.nodes[loose]
    k_nearest = min(_NEIGHBOURS, len(loose))
    distance, near = cKDTree(places).query(places, k=k_nearest, distance_upper_bound=join * (1.0 + 1e-9))
    i = np.repeat(np.arange(len(loose)), k_nearest)
    j, gap = np.asarray(near).ravel(), np.asarray(distance).ravel()
    k = indices(np.isfinite(gap))  # a point that is there twice may not find itself first
    k = k[i[k] != j[k]]
    i, j, gap = np.minimum(i[k], j[k]), np.maximum(i[k], j[k]), gap[k]
    part, length = _components(net)
    own = part[loose[i]]
    k = indices((own != part[loose[j]]) | (length[own] > _TINY * np.maximum(gap, join)))
    i, j, gap = i[k], j[k], gap[k]
    taken = [False] * len(loose)
    chosen: list[int] = []
    first, second = i.tolist(), j.tolist()
    for m in np.lexsort((j, i, gap)).tolist():
        a, b = first[m], second[m]
        if not (taken[a] or taken[b]):
            taken[a] = taken[b] = True
            chosen.append(m)
    return loose[i[chosen]], loose[j[chosen]], gap[chosen]


def nearest_other(places: FloatArray) -> FloatArray:
    """(m,) how far each of the places (m, 2) is from the nearest other one [mm]; infinite if there is none."""
    from scipy.spatial import cKDTree

    if len(places) < 2:
        return np.full(len(places), np.inf)
    distance: FloatArray = np.asarray(cKDTree(places).query(places, k=2)[0])
    return distance[:, 1]
