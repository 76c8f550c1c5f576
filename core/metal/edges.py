"""The edges of a piece's body, collected once for the checks that measure from them."""

from __future__ import annotations

from functools import cached_property, lru_cache
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from core.geometry.lines.segment_sets import closed_segments

if TYPE_CHECKING:
    from core.geometry.lines.outline import BoolArray, FloatArray, IntArray, Outline, Segments
    from core.metal.slabs import ResolvedPiece, Slab


class Edges(Struct, frozen=True, eq=False, dict=True):
    """The different loops of all slabs of a piece, but for what is raised on its outer face.

    Attributes:
        loops: each loop once, however many slabs have it.
        sources: for each loop, the parts that it runs along.
        segments: of all loops, one loop after the other.
        loop: (n,) the loop that each segment belongs to.
        in_slab: (slabs, n) whether a slab has a segment; empty slabs are left out.
    """

    loops: tuple[Outline, ...]
    sources: tuple[frozenset[int], ...]
    segments: Segments
    loop: IntArray
    in_slab: BoolArray

    @property
    def is_empty(self) -> bool:
        """Whether there is no metal at all."""
        return not self.loops

    @cached_property
    def areas(self) -> FloatArray:
        """(loops,) signed area of each loop [mm²], below 0 for holes."""
        s = self.segments
        chords = (s.start[:, 0] * s.end[:, 1] - s.end[:, 0] * s.start[:, 1]) / 2.0
        caps = np.where(s.bulge != 0.0, s.radius, 0.0) ** 2 * (s.sweep - np.sin(s.sweep)) / 2.0
        areas: FloatArray = np.add.reduceat(chords + caps, np.searchsorted(self.loop, np.arange(len(self.loops))))
        return areas


def body_edges(piece: ResolvedPiece) -> Edges:
    """The edges of a piece's slabs above its outer face."""
    return _edges(piece.slabs)


@lru_cache(maxsize=16)
def _edges(slabs: tuple[Slab, ...]) -> Edges:
    regions = [slab.region for slab in slabs if slab.z1 > 0.0 and not slab.region.is_empty]
    number: dict[Outline, int] = {}
    sources: list[frozenset[int]] = []
    rows = []
    for region in regions:
        row = [number.setdefault(loop, len(number)) for loop in region.loops]
        sources += [region.sources[k] for k, i in enumerate(row) if i >= len(sources)]
        rows.append(row)
    segments, loop, _ = closed_segments(list(number))
    has = np.zeros((len(regions), len(number)), dtype=np.bool_)
    for k, row in enumerate(rows):
        has[k, row] = True
    return Edges(tuple(number), tuple(sources), segments, loop, has[:, loop])
