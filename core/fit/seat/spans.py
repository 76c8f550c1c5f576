"""Many short straight spans through one region, moved together: how much of each lies in it, and where it enters.

A crossing is counted where the ends of a segment lie on different sides of a span's line, so that the segments of a
loop, which share their ends, can't lose or double one. Moving a line only shifts the places along it and the distances
from it, so what a span and a segment have to do with each other is worked out once for all moves.
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

if TYPE_CHECKING:
    from core.geometry.lines.outline import FloatArray, IntArray
    from core.geometry.regions.region import Region

_ASIDE_MM = 1e-9  # a line that runs along an edge is on both of its sides: a little beside it there is only one
_NONE_MM = 1e-9


class _Hits(Struct, frozen=True, eq=False):
    """Where spans cross the edge of a region.

    Attributes:
        cell: (h,) which span: its row in the moves times the number of spans, and its own number.
        at: (h,) how far along the span [mm].
        sense: (h,) 1 where it goes in, -1 where it comes out.
    """

    cell: IntArray
    at: FloatArray
    sense: FloatArray


class Spans:
    """Straight spans of one length, and the edges of a region that they can meet when they move.

    Args:
        region: what they run through.
        origin: (m, 2) where they begin [mm].
        along: (m, 2) unit directions.
        length: of each [mm].
        moves: how far they will be moved at most [mm].
    """

    def __init__(self, region: Region, origin: FloatArray, along: FloatArray, length: float, moves: float) -> None:
        self.region, self.length = region, length
        self.origin = origin + _ASIDE_MM * np.column_stack((-along[:, 1], along[:, 0]))
        self.along = along
        self._span: IntArray = np.zeros(0, dtype=np.int64)
        self._edge = self._span
        if len(origin) and not region.is_empty:
            far = origin + length * along
            low, high = np.minimum(origin, far).T - moves - _ASIDE_MM, np.maximum(origin, far).T + moves + _ASIDE_MM
            least, most = region.segment_boxes
            # Edges that no span can come to are left out first: what follows looks at every pair.
            near = ((least <= high.max(axis=1)) & (most >= low.min(axis=1))).all(axis=1).nonzero()[0]
            meets = np.ones((len(origin), len(near)), dtype=np.bool_)
            for axis in (0, 1):
                meets &= low[axis, :, None] <= most[near, axis]
                meets &= high[axis, :, None] >= least[near, axis]
            self._span, edge = np.nonzero(meets)
            self._edge = near[edge]

    @cached_property
    def _ends(self) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
        s, k = self.region.segments, self._edge
        return (*self._frame(s.start[k]), *self._frame(s.end[k]))

    def _frame(self, points: FloatArray) -> tuple[FloatArray, FloatArray]:
        """How far along its span's line each point lies, and how far to the left of it [mm]."""
        off, u = points - self.origin[self._span], self.along[self._span]
        return off[:, 0] * u[:, 0] + off[:, 1] * u[:, 1], u[:, 0] * off[:, 1] - u[:, 1] * off[:, 0]

    def _hits(self, shifts: FloatArray) -> _Hits:
        """All crossings of the spans moved by each of ``shifts`` (d, 2)."""
        u, count = self.along[self._span], len(self.along)
        ahead = np.multiply.outer(shifts[:, 0], u[:, 0]) + np.multiply.outer(shifts[:, 1], u[:, 1])
        aside = np.multiply.outer(shifts[:, 1], u[:, 0]) - np.multiply.outer(shifts[:, 0], u[:, 1])
        t0, side0, t1, side1 = self._ends
        left0, left1 = side0 >= aside, side1 >= aside
        is_arc = self.region.segments.bulge[self._edge] != 0.0
        row, pair = np.nonzero(left0 != left1)
        rise = side0[pair] - side1[pair]
        at = t0[pair] + (side0[pair] - aside[row, pair]) / rise * (t1[pair] - t0[pair]) - ahead[row, pair]
        # Where the edge comes over to the left of the span, what is inside, on the edge's own left, lies behind.
        sense = np.where(left1[row, pair], -1.0, 1.0)
        on_arc = np.flatnonzero(is_arc[pair])
        cells, ats, senses = [row * count + self._span[pair]], [at], [sense]
        arcs = np.flatnonzero(is_arc)
        if len(arcs):
            s, k = self.region.segments, self._edge
            foot, up = np.full(len(k), np.nan), np.full(len(k), np.nan)
            foot[arcs], up[arcs] = self._centre_frame(arcs)
            middle_ahead = u[:, 0] * s.middle[k, 0] + u[:, 1] * s.middle[k, 1]
            middle_aside = u[:, 0] * s.middle[k, 1] - u[:, 1] * s.middle[k, 0]
            # An odd crossing of an arc is one: at the end of the chord that its middle lies at.
            r, p = row[on_arc], pair[on_arc]
            half = np.sqrt(np.maximum(s.radius[k[p]] ** 2 - (up[p] - aside[r, p]) ** 2, 0.0))
            at[on_arc] = foot[p] - ahead[r, p] + np.copysign(half, middle_ahead[p])
            # An even one is two or none: two where both ends of the chord lie on the arc.
            away = up[arcs] - aside[:, arcs]
            square = s.radius[k[arcs]] ** 2 - away * away
            half = np.sqrt(np.maximum(square, 0.0))
            least = -away * middle_aside[arcs] - half * np.abs(middle_ahead[arcs])
            limit = (s.radius * s.half_cosine)[k[arcs]]
            row, pair = np.nonzero((left0 == left1)[:, arcs] & (square > 0.0) & (least >= limit))
            p, half = arcs[pair], half[row, pair]
            cell, sign = row * count + self._span[p], np.sign(s.bulge[k[p]])
            for way in (-1.0, 1.0):
                cells.append(cell)
                ats.append(foot[p] - ahead[row, p] + way * half)
                senses.append(-way * sign)
        hits = _Hits(np.concatenate(cells), np.concatenate(ats), np.concatenate(senses))
        on = (hits.at > 0.0) & (hits.at < self.length)
        return _Hits(hits.cell[on], hits.at[on], hits.sense[on])

    def _centre_frame(self, arcs: IntArray) -> tuple[FloatArray, FloatArray]:
        off = self.region.segments.centre[self._edge[arcs]] - self.origin[self._span[arcs]]
        u = self.along[self._span[arcs]]
        return off[:, 0] * u[:, 0] + off[:, 1] * u[:, 1], u[:, 0] * off[:, 1] - u[:, 1] * off[:, 0]

    def lengths(self, shifts: FloatArray) -> FloatArray:
        """(d, m) how much of each span lies in the region when all are moved by each of ``shifts`` (d, 2) [mm]."""
        shape = len(shifts), len(self.along)
        if self.region.is_empty:
            return np.zeros(shape)
        hits = self._hits(shifts)
        size = shape[0] * shape[1]
        entered: FloatArray = np.zeros(size) + np.bincount(hits.cell, hits.sense, minlength=size)
        within: FloatArray = np.zeros(size)
        within += np.bincount(hits.cell, hits.sense * (self.length - hits.at), minlength=size)
        # What comes out oftener than it goes in, or before it goes in, was inside at the beginning.
        began_inside = (entered < -0.5) | ((np.abs(entered) < 0.5) & (within < -_NONE_MM))
        within[began_inside] += self.length
        unsure = np.flatnonzero((np.abs(entered) < 0.5) & (np.abs(within) <= _NONE_MM) & ~began_inside)
        move, span = np.divmod(unsure, shape[1])
        middle = self.origin[span] + shifts[move] + self.length / 2.0 * self.along[span]
        within[unsure] = np.where(self.region.contains(middle), self.length, 0.0)
        lengths: FloatArray = np.clip(within, 0.0, self.length).reshape(shape)
        return lengths

    def entries(self) -> FloatArray:
        """(m,) how far along each span the region begins [mm]: 0 within it, infinite where the span misses it."""
        first = np.full(len(self.along), np.inf)
        if self.region.is_empty:
            return first
        hits = self._hits(np.zeros((1, 2)))
        goes_in, out = hits.sense > 0.0, np.full(len(first), np.inf)
        np.minimum.at(first, hits.cell[goes_in], hits.at[goes_in])
        np.minimum.at(out, hits.cell[~goes_in], hits.at[~goes_in])
        first[out < first] = 0.0  # what comes out first was within it
        untouched = np.flatnonzero(np.isinf(first) & np.isinf(out))
        middle = self.origin[untouched] + self.length / 2.0 * self.along[untouched]
        first[untouched] = np.where(self.region.contains(middle), 0.0, np.inf)
        return first
