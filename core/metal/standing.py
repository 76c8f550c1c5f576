"""Where the walls of a seat stand: where metal is behind them, in any slab from the seat's floor up to the wall's top.

A pocket through the lip, or a hole through the wall, leaves none.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from core.geometry.lines.segment_sets import closed_segments
from core.words.ends import Side

if TYPE_CHECKING:
    from core.geometry.lines.outline import BoolArray, FloatArray, Outline
    from core.geometry.lines.segments import Segments
    from core.geometry.regions.region import Region
    from core.metal.slabs import ResolvedPiece

_ON_MM = 1e-5  # a place of a wall this near to metal has metal behind it


def stands(piece: ResolvedPiece, side: Side, places: FloatArray) -> BoolArray | None:
    """(m,) whether the wall stands at places (m, 2) of it; None where it stands all round, or there is to be none."""
    wall = piece.walls[0 if side is Side.OUTER else 1]
    regions = None if _is_whole(piece, side) else _beside(piece, side)
    if regions is None:
        return None
    left = _left_of(wall, regions)
    if not len(left):
        return np.zeros(len(places), dtype=np.bool_)
    found: BoolArray = left.closest(places)[0] <= _ON_MM
    return None if found.all() else found


@lru_cache(maxsize=32)
def _left_of(wall: Outline, regions: tuple[Region, ...]) -> Segments:
    """The edges of the metal that lie on a wall."""
    s = closed_segments([loop for region in regions for loop in region.loops])[0]
    middles = s.points(np.arange(len(s)), s.length / 2.0)
    k = np.flatnonzero(wall.nearest(middles).distance <= _ON_MM) if len(s) else np.arange(0)
    return s.at(k)


@lru_cache(maxsize=32)
def _is_whole(piece: ResolvedPiece, side: Side) -> bool:
    """Whether a wall stands all round as it was drawn."""
    wall = piece.walls[0 if side is Side.OUTER else 1]
    whole = (wall, wall.reversed())
    return any(loop in whole for region in _beside(piece, side) or () for loop in region.loops)


def next_metal(piece: ResolvedPiece, side: Side, places: FloatArray) -> FloatArray:
    """(m, 2) the nearest metal to places (m, 2) in the seat, on one side of it: what is next where the wall is gone.

    The seat's middle where there is none at all on that side.
    """
    wall, regions = piece.walls[0 if side is Side.OUTER else 1], _beside(piece, side) or ()
    s = closed_segments([loop for region in regions for loop in region.loops])[0]
    index = np.arange(len(s))
    middles = s.points(index, s.length / 2.0) if len(s) else np.zeros((0, 2))
    past = wall.signed_distance(middles) * (1.0 if side is Side.OUTER else -1.0) if len(s) else np.zeros(0)
    kept = np.flatnonzero(past >= -_ON_MM)
    if not len(kept):
        return np.broadcast_to(np.array(wall.centroid), places.shape)
    nearest = kept[s.distances(places)[:, kept].argmin(axis=1)]
    return s.feet(nearest, places)


def _beside(piece: ResolvedPiece, side: Side) -> tuple[Region, ...] | None:
    """The metal of the slabs from the seat's floor up to the top of its outer or inner wall; None without a lip."""
    is_inner = side is Side.INNER
    walls = [part for part in piece.parts if part.kind in ("seat", "old seat") and part.is_inner == is_inner]
    walls = [part for part in walls if part.z1 > part.z0]
    if not walls:
        return None
    slabs = (slab for slab in piece.slabs if any(slab.z0 < part.z1 and slab.z1 > part.z0 for part in walls))
    return tuple(slab.region for slab in slabs if not slab.region.is_empty)
