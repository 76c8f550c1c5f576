"""The slabs of a piece side by side, so that all are measured at once."""

from __future__ import annotations

from functools import lru_cache
from math import ceil, sqrt
from typing import TYPE_CHECKING

import numpy as np
from msgspec.structs import replace

from core.geometry.lines.segment_sets import closed_segments
from core.geometry.regions.region import Region

if TYPE_CHECKING:
    from core.geometry.lines.outline import FloatArray, IntArray, Segments
    from core.metal.slabs import Slab


class SideBySide(Region, frozen=True, eq=False, kw_only=True):
    """The slabs of a piece laid out beside each other as one region, so that all are measured at once.

    Attributes:
        regions: of the slabs, where they are.
        shifts: (loops, 2) where each of ``loops`` was moved [mm]; the segments are moved, the loops are as they were.
        laid: the moved segments, and for each its loop and the segment after it.
    """

    regions: tuple[Region, ...]
    shifts: FloatArray
    laid: tuple[Segments, IntArray, IntArray]

    @property
    def segments(self) -> Segments:
        return self.laid[0]

    @property
    def loop_of_segment(self) -> IntArray:
        return self.laid[1]

    @property
    def next_segment(self) -> IntArray:
        return self.laid[2]


@lru_cache(maxsize=16)
def side_by_side(slabs: tuple[Slab, ...]) -> SideBySide | None:
    """The slabs laid out, but for those that tell nothing new; None where there is no metal."""
    regions = _telling([slab.region for slab in slabs if not slab.region.is_empty])
    if not regions:
        return None
    loops = tuple(loop for region in regions for loop in region.loops)
    sources = tuple(source for region in regions for source in region.sources)
    s, loop, after = closed_segments(loops)
    # Wide enough apart that nothing is nearer to another slab than across its own.
    pitch = 4.0 * float(np.abs(s.start).max())
    columns = ceil(sqrt(len(regions)))
    number = np.repeat(np.arange(len(regions)), [len(region.loops) for region in regions])
    shifts = np.stack((number % columns * pitch, number // columns * pitch), axis=1)
    by = shifts[loop]
    moved = replace(s, start=s.start + by, end=s.end + by, centre=s.centre + by)
    return SideBySide(loops, sources, regions=tuple(regions), shifts=shifts, laid=(moved, loop, after))


def _telling(regions: list[Region]) -> list[Region]:
    """The regions without those whose loops another one has as well.

    What further loops take away there can only cut a web into thinner ones.
    """
    sets = [frozenset(region.loops) for region in regions]
    return [
        region
        for i, region in enumerate(regions)
        if not any(sets[i] < other or (sets[i] == other and j < i) for j, other in enumerate(sets))
    ]
