"""Slabs: the one description of the metal.

Between two neighbouring heights the cross-section of a piece does not change, so a piece is a short list of slabs
(z from, z to, region). Plan, section, thinnest metal, volume and every written ring are read from it.
"""

from __future__ import annotations

from functools import cached_property, lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from core.features.ground import Made
from core.features.stud.threads import WASHER_ACROSS_MM
from core.geometry.lines.segment_sets import closed_segments
from core.geometry.regions.closing import closing, combine
from core.geometry.regions.region import Arrangement, Region, Step
from core.metal.curves import curves
from core.metal.order import BEYOND, HeightStep, Part, PieceWork, Trouble
from core.metal.walls import standing_walls
from core.words.ends import End

if TYPE_CHECKING:
    from collections.abc import Sequence

    from core.features.ground import Curves
    from core.features.stud.stud import Stud
    from core.geometry.lines.outline import FloatArray, IntArray, Outline, Segments
    from core.part.housing import Housing, Piece
    from core.part.insert import Insert


SAME_HEIGHT_MM = 1e-3
"""Heights of a piece that differ by less are one: no step is cut to a thousandth."""


class Slab(Struct, frozen=True):
    """Metal of one cross-section between two heights from the outer face [mm]; ``cells`` is its region as a set."""

    z0: float
    z1: float
    region: Region
    cells: int


class ResolvedPiece(Struct, frozen=True, eq=False, dict=True):
    """A piece as metal; pieces are kept by value, so that the same one is the same object.

    Attributes:
        floor: height of the seat floor from the outer face [mm].
        thickness: height of the joint face [mm].
        parts: features and curves; the index of a part is the source index in the slabs' regions.
        slabs: from the outermost raised face to the joint face, without gaps between them.
        troubles: features that found no shape.
        arrangement, steps: what the slabs were folded from; the slabs' ``cells`` are sets of this arrangement.
    """

    end: End
    floor: float
    thickness: float
    curves: Curves
    parts: tuple[Part, ...]
    slabs: tuple[Slab, ...]
    troubles: tuple[Trouble, ...]
    arrangement: Arrangement
    steps: tuple[HeightStep, ...]

    @property
    def top(self) -> float:
        """Height of the outermost raised face, 0 or below [mm]; 0 where no metal is left."""
        return self.slabs[0].z0 if self.slabs else 0.0

    @cached_property
    def as_cast(self) -> tuple[Slab, ...]:
        """The slabs before any hole is drilled: what the pattern stands for."""
        drilled = {i for i, part in enumerate(self.parts) if part.made is Made.DRILLED}
        if not drilled:
            return self.slabs
        steps = [s for s in self.steps if drilled.isdisjoint(s.step.inside)]
        return _slabs(self.arrangement, steps, self.thickness)

    def region_at(self, z: float) -> Region | None:
        """The metal at the height ``z`` [mm]; None outside the piece."""
        return next((slab.region for slab in self.slabs if slab.z0 <= z < slab.z1), None)

    @cached_property
    def walls(self) -> tuple[Outline, Outline]:
        """Outer and inner wall of the seat as they stand; see `core.metal.walls`."""
        earlier = [part.outline for part in self.parts if part.kind == "old seat"]
        return standing_walls(self.curves, (earlier[0], earlier[1]) if earlier else None)

    @cached_property
    def volume(self) -> float:
        """Volume of the metal [mm³]."""
        return sum((slab.z1 - slab.z0) * slab.region.area for slab in self.slabs)

    @cached_property
    def open_area(self) -> float:
        """Area of the opening that no slab closes, at whatever height [mm²]; 0 without an opening."""
        steps = [Step(add=True, inside=(i,)) for i, part in enumerate(self.parts) if part.kind == "opening"]
        cells = self.arrangement.cells(steps)
        for slab in self.slabs:
            cells &= ~slab.cells
        return max(self.arrangement.region(cells, steps).area, 0.0)

    @cached_property
    def silhouette(self) -> Region:
        """The union of the slabs: what is seen of the piece from above, and where one sees through it."""
        loops: dict[Outline, int] = {}
        steps: dict[Step, None] = {}
        for slab in self.slabs:
            number = {loop: loops.setdefault(loop, len(loops)) for loop in slab.region.loops}
            for outer in (loop for loop in slab.region.loops if loop.area > 0.0):
                # A hole that is smaller than an outer loop lies in it or apart from it, as loops don't cross: which of
                # the two needs no telling. A larger one may go round it.
                holes = (number[hole] for hole in slab.region.loops if -outer.area < hole.area < 0.0)
                steps[Step(add=True, inside=(number[outer],), outside=tuple(holes))] = None
        return combine(list(loops), list(steps))

    @cached_property
    def part_segments(self) -> tuple[Segments, IntArray]:
        """The segments of the outlines of all parts, one after the other, and where (parts,) each part's begin."""
        outlines = [part.outline for part in self.parts]
        counts = np.array([len(outline) for outline in outlines])
        return closed_segments(outlines)[0], np.cumsum(counts) - counts

    @cached_property
    def step_bounds(self) -> FloatArray:
        """(6, steps) what ``steps`` are limited to: least x and y, greatest x and y, least and greatest z [mm]."""
        first = [self.parts[s.step.inside[0]].outline.bounds for s in self.steps]
        bounds: FloatArray = (
            np.array([(*b, s.z0, s.z1) for b, s in zip(first, self.steps, strict=True)]).reshape(-1, 6).T
        )
        return bounds

    def named(self, name: str) -> tuple[Part, ...]:
        """The parts of the feature or curve of that name."""
        return tuple(part for part in self.parts if part.name == name)


class Resolved(Struct, frozen=True):
    """A housing as metal, around the insert it is built for."""

    housing: Housing
    insert: Insert
    base: ResolvedPiece
    lid: ResolvedPiece | None

    def piece(self, end: End) -> ResolvedPiece | None:
        """The base, or the lid if there is one."""
        return self.base if end is End.BASE else self.lid

    @property
    def pieces(self) -> tuple[ResolvedPiece, ...]:
        """The pieces that there are."""
        return (self.base,) if self.lid is None else (self.base, self.lid)


def resolve(housing: Housing, insert: Insert) -> Resolved:
    """The metal of ``housing`` around ``insert``.

    Raises:
        FoldsOverError: rim or seat would fold over.
        ImpossibleOvalError: the insert's sizes make no oval.
    """
    return Resolved(
        housing,
        insert,
        _resolve_piece(housing.base, insert, End.BASE, housing.studs),
        None if housing.lid is None else _resolve_piece(housing.lid, insert, End.LID, housing.studs),
    )


@lru_cache(maxsize=64)
def _resolve_piece(piece: Piece, insert: Insert, end: End, studs: tuple[Stud, ...]) -> ResolvedPiece:
    work = PieceWork(piece, curves(piece, insert, end), end, studs)
    work.build()
    steps = _levelled(work.steps, (0.0, piece.thickness, piece.floor))
    arrangement, slabs = closing(
        [part.outline for part in work.parts],
        lambda arrangement: (arrangement, _slabs(arrangement, steps, piece.thickness)),
    )
    return ResolvedPiece(
        end,
        piece.floor,
        piece.thickness,
        work.curves,
        tuple(work.parts),
        slabs,
        tuple(work.troubles),
        arrangement,
        steps,
    )


def _levelled(steps: Sequence[HeightStep], first: Sequence[float]) -> tuple[HeightStep, ...]:
    """The steps with heights that are nearly equal made one, and without those that are left with none.

    Args:
        steps: as the features ask for them.
        first: heights that stay as they are, before all others [mm].
    """
    levels = list(dict.fromkeys(first))
    known = set(first)

    def level(z: float) -> float:
        if z in known:
            return z
        nearest = min(levels, key=lambda known: abs(known - z))
        if abs(nearest - z) < SAME_HEIGHT_MM:
            return nearest
        levels.append(z)
        known.add(z)
        return z

    moved = [HeightStep(level(s.z0), level(s.z1), s.step) for s in steps]
    return tuple(s for s in moved if s.z1 > s.z0)


def _slabs(arrangement: Arrangement, steps: Sequence[HeightStep], top: float) -> tuple[Slab, ...]:
    heights = sorted({0.0, top} | {z for s in steps for z in (s.z0, s.z1) if abs(z) < BEYOND and z <= top})
    slabs: list[Slab] = []
    for z0, z1 in pairwise(heights):
        here = [s.step for s in steps if s.z0 <= z0 and s.z1 >= z1]
        cells = arrangement.cells(here)
        region = arrangement.region(cells, here)
        if slabs and slabs[-1].region.loops == region.loops:
            slabs[-1] = Slab(slabs[-1].z0, z1, slabs[-1].region, slabs[-1].cells)
        elif not region.is_empty or slabs:
            slabs.append(Slab(z0, z1, region, cells))
    return tuple(slabs)


def raised_under(lid: ResolvedPiece | None, studs: Sequence[Stud]) -> list[float]:
    """How high over the lid's outer face each stud's washer lies, on a badge, a band or a rib [mm]."""
    raised = [slab for slab in (lid.slabs if lid else ()) if slab.z0 < 0.0 and not slab.region.is_empty]
    if not (raised and studs):
        return [0.0] * len(studs)
    at = np.array([(stud.x, stud.y) for stud in studs])
    reach = np.array([WASHER_ACROSS_MM[stud.thread] / 2.0 for stud in studs])
    # The stud's own hole goes through it: of what lies under the washer there is an edge within its reach.
    heights = [np.where(slab.region.distance(at) < reach, -slab.z0, 0.0) for slab in raised]
    found: list[float] = np.max(heights, axis=0).tolist()
    return found
