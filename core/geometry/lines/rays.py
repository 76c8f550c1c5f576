"""The test of which outlines points lie in, by rays along +X."""

from __future__ import annotations

from itertools import pairwise
from math import ceil, pi
from typing import TYPE_CHECKING

import numpy as np

from core.geometry.lines.segments import indices

if TYPE_CHECKING:
    from core.geometry.lines.segments import BoolArray, FloatArray, IntArray, Segments


_MOST = 1 << 21
"""So many crossings of rays with parts are looked at at once: more would take gigabytes."""


class Rays:
    """Counts how often rays along +X cross closed outlines: the test of which outlines points lie in.

    Arcs are cut at the top and the bottom of their circles, so that a ray crosses each part at most once.

    >>> from core.geometry.lines.outline import rectangle_outline
    >>> rays = Rays(rectangle_outline(0.0, 0.0, 3.0, 4.0).segments, np.zeros(4, dtype=np.int64), 1)
    >>> rays.inside(np.array([[1.0, 1.0], [5.0, 1.0]])).tolist()
    [[True], [False]]
    """

    def __init__(self, s: Segments, owner: IntArray, owners: int) -> None:
        arcs, lines = indices(s.bulge != 0.0), indices(s.bulge == 0.0)
        y0, y1 = s.start[lines, 1], s.end[lines, 1]
        rise = y1 - y0
        run = s.end[lines, 0] - s.start[lines, 0]
        cy, r, sweep, angle = s.centre[arcs, 1], s.radius[arcs], s.sweep[arcs], s.start_angle[arcs]
        sign = np.where(sweep < 0.0, -1.0, 1.0)
        to_top = np.mod(sign * (pi / 2.0 - angle), 2.0 * pi)
        to_bottom = np.mod(sign * (-pi / 2.0 - angle), 2.0 * pi)
        top_first = to_top < to_bottom
        size = np.abs(sweep)
        end = s.end[arcs, 1]
        extreme = np.where(top_first, r, -r)
        one = np.where(np.minimum(to_top, to_bottom) < size, cy + extreme, end)
        two = np.where(np.maximum(to_top, to_bottom) < size, cy - extreme, end)
        # Counter-clockwise the right half rises to the top; clockwise the left half does.
        side = np.where(top_first, sign, -sign)
        a = np.concatenate((y0, s.start[arcs, 1], one, two))
        b = np.concatenate((y1, one, two, end))
        low, high = np.minimum(a, b), np.maximum(a, b)
        used = indices(low < high)
        none, flat = np.zeros(len(lines)), np.zeros(3 * len(arcs))
        self._low, self._high = low[used], high[used]
        self._x = np.concatenate((s.start[lines, 0], np.tile(s.centre[arcs, 0], 3)))[used]
        self._y = np.concatenate((y0, np.tile(cy, 3)))[used]
        self._run = np.concatenate((run, flat))[used]
        self._rise = np.concatenate((rise, flat + 1.0))[used]
        self._side = np.concatenate((none, side, -side, side))[used]
        self._square = np.concatenate((none, np.tile(r * r, 3)))[used]
        self._owner = np.concatenate((owner[lines], np.tile(owner[arcs], 3)))[used]
        self._owners = owners

    def inside(self, points: FloatArray) -> BoolArray:
        """(m, owners) whether each point (m, 2) lies inside each owner's outlines; undefined on them."""
        found = np.zeros((len(points), self._owners), dtype=np.bool_)
        found[self.lying_in(points)] = True
        return found

    def lying_in(self, points: FloatArray) -> tuple[IntArray, IntArray]:
        """Points (k,) of some (m, 2), and the owners (k,) in whose outlines they lie, by owners; undefined on them."""
        p = points
        # The points a part of an outline spans follow each other in the order of y.
        order = np.argsort(p[:, 1])
        sorted_y = p[order, 1]
        begin, end = np.searchsorted(sorted_y, self._low), np.searchsorted(sorted_y, self._high)
        blocks = ceil(int((end - begin).sum()) / _MOST)
        if blocks <= 1:
            return self._lying_in(p, order, begin, end)
        edges = np.linspace(0, len(p), min(blocks, len(p)) + 1).astype(np.int64)
        found = [
            self._lying_in(p, order, np.clip(begin, a, b), np.clip(end, a, b)) for a, b in pairwise(edges.tolist())
        ]
        point, owner = (np.concatenate(part) for part in zip(*found, strict=True))
        by_owner = np.lexsort((point, owner))
        return point[by_owner], owner[by_owner]

    def _lying_in(self, p: FloatArray, order: IntArray, begin: IntArray, end: IntArray) -> tuple[IntArray, IntArray]:
        """As ``lying_in``, of the points that each part spans: from ``begin`` to ``end`` in their order along y."""
        count = end - begin
        row = np.repeat(np.arange(len(count)), count)
        point = order[np.arange(len(row)) + np.repeat(begin - (np.cumsum(count) - count), count)]
        up = p[point, 1] - self._y[row]
        # Divided before it is multiplied: next to nothing of a rise would make a slope past all numbers.
        x = self._x[row] + self._run[row] * (up / self._rise[row])
        x += self._side[row] * np.sqrt(np.maximum(self._square[row] - up * up, 0.0))
        crossed = indices(x > p[point, 0])
        cell = np.sort(self._owner[row[crossed]] * len(p) + point[crossed])
        first = np.ones(len(cell) + 1, dtype=np.bool_)
        first[1:-1] = cell[1:] != cell[:-1]
        begin = indices(first)
        odd = begin[:-1][(begin[1:] - begin[:-1]) % 2 == 1]
        owner, point = np.divmod(cell[odd], max(len(p), 1))
        return point, owner
