"""Directed edges to closed paths."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence


def cycles(start: Sequence[int], end: Sequence[int], choose: Callable[[int, list[int]], int]) -> list[list[int]]:
    """The edges, from node ``start[e]`` to node ``end[e]``, joined into closed chains that pass no node twice.

    Args:
        start: the node each edge leaves.
        end: the node it leads to.
        choose: the edge to go on by, given the edge arrived by and the unused ones that leave its end.

    Raises:
        LookupError: a chain can't be closed; its argument is the node where it ends.

    >>> cycles([0, 1, 0, 2], [1, 0, 2, 0], lambda arrived, choices: choices[0])
    [[0, 1], [2, 3]]
    """
    only = {node: edge for edge, node in enumerate(start)}
    if len(only) == len(start):
        return _plain_cycles(only, end)
    leaving: dict[int, list[int]] = {}
    for edge, node in enumerate(start):
        leaving.setdefault(node, []).append(edge)
    found: list[list[int]] = []
    for origin in list(leaving):
        while leaving[origin]:
            path: list[int] = []
            at: dict[int, int] = {}  # where on the path each of its nodes is left
            node = origin
            while True:
                choices = leaving.get(node)
                if not choices:
                    raise LookupError(node)
                edge = choices[0] if len(choices) == 1 or not path else choose(path[-1], choices)
                choices.remove(edge)
                at[node] = len(path)
                path.append(edge)
                node = end[edge]
                if node in at:
                    loop = path[at[node] :]
                    del path[at[node] :]
                    for passed in loop:
                        del at[start[passed]]
                    found.append(loop)
                    if not path:
                        break
    return found


def _plain_cycles(leaving: dict[int, int], end: Sequence[int]) -> list[list[int]]:
    """As ``cycles``, where just one edge leaves each node."""
    found: list[list[int]] = []
    while leaving:
        origin, edge = next(iter(leaving.items()))
        del leaving[origin]
        loop = [edge]
        while (node := end[edge]) != origin:
            following = leaving.pop(node, None)
            if following is None:
                raise LookupError(node)
            edge = following
            loop.append(edge)
        found.append(loop)
    return found
