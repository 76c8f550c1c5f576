"""Loose ends brought together, nearest first, so that they meet exactly."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np

from core.drawing.network import MEETS_MM, point
from core.drawing.results import Fault, Trouble
from core.segments import indices

if TYPE_CHECKING:
    from core.drawing.network import Network
    from core.drawing.progress import Tick
    from core.outline import FloatArray, IntArray

# Neighbours looked at; what lies in a thicket of more is joined in the next round.
_NEIGHBOURS: Final = 6
_ROUNDS: Final = 4
# What is as short as this many gaps is no outline, whose ends should be brought together.
_TINY: Final = 4.0


def join_ends(net: Network, join: float, tick: Tick) -> tuple[Network, list[Trouble]]:
    """The network with loose ends up to ``join`` [mm] apart made one, and each gap that was wider than a micrometre.

    Both ends move to the middle between them. Arcs keep their bulge: so they turn and grow with their chord, and no
    point of them moves further than their ends, which a kept radius could not promise (of a half circle of radius 50
    whose chord shrinks by 0.01, the middle would move by 0.7).
    """
    troubles: list[Trouble] = []
    for _ in range(_ROUNDS):
        tick(0.0)
        one, other, gap = _pairs(net, join)
        if not len(one):
            break
        nodes = net.nodes.copy()
        nodes[one] = (nodes[one] + nodes[other]) / 2.0
        name = np.arange(len(nodes))
        name[other] = one
        net = replace(net, nodes=nodes).renamed(name)
        wide = indices(gap > MEETS_MM)
        troubles += [
            Trouble(Fault.GAP, point(nodes[one[i]]), float(gap[i]), "two ends did not meet; both were moved half way")
            for i in wide
        ]
    return net, troubles


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
