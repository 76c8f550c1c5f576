"""Columns of metal: how high it stands at each place in plan, and what its height is owed to.

A *run* is the metal that stands over a place from one height to another with air, or nothing, over and under it. The
runs of a piece are read off its slabs exactly, as sets of one arrangement; a region is only built of those asked for.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from core.geometry.lines.segments import indices
from core.geometry.regions.cut_line import cut_spans
from core.geometry.regions.region import UnclosedError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from core.geometry.lines.outline import Outline, Point
    from core.metal.order import HeightStep, Part
    from core.metal.slabs import ResolvedPiece, Slab

NARROWEST_MM = 1e-3
"""Strips of plan narrower than this are rounding of outlines that meet, and no metal."""


class Run(Struct, frozen=True):
    """Where metal stands from one height to another, with none just under and over it.

    Attributes:
        first, last: numbers of the lowest and the highest of its slabs.
        z0, z1: heights from the outer face [mm].
        cells: where, as a set of the piece's arrangement.
    """

    first: int
    last: int
    z0: float
    z1: float
    cells: int

    @property
    def height(self) -> float:
        """Of the metal [mm]."""
        return self.z1 - self.z0


def runs(piece: ResolvedPiece) -> list[Run]:
    """Every run of a piece, the lowest metal first."""
    found: list[Run] = []
    under = 0
    for first, slab in enumerate(piece.slabs):
        open_under, last = slab.cells & ~under, first
        while open_under:
            over = piece.slabs[last + 1].cells if last + 1 < len(piece.slabs) else 0
            if ends := open_under & ~over:
                found.append(Run(first, last, slab.z0, piece.slabs[last].z1, ends))
            open_under &= over
            last += 1
        under = slab.cells
    return sorted(found, key=lambda run: run.height)


def wide_faces(piece: ResolvedPiece, cells: int) -> Iterator[tuple[Outline, tuple[Outline, ...]]]:
    """The connected parts of some of a piece's cells, each an outer loop and its holes, without mere strips."""
    try:
        region = piece.arrangement.region(cells, [s.step for s in piece.steps])
    except UnclosedError:
        # Outlines nearly coincide there: all of the slab that they are in stands for them, so that nothing is missed.
        region = next(slab.region for slab in piece.slabs if slab.cells & cells)
    for outer, holes in region.faces:
        loops = (outer, *holes)
        # A disc of area / length has room in it somewhere; a strip is twice as wide.
        if sum(loop.area for loop in loops) > NARROWEST_MM / 2.0 * sum(loop.length for loop in loops):
            yield outer, holes


def place_in(outer: Outline, holes: tuple[Outline, ...]) -> Point:
    """A place within a face, half-way across it from the middle of its longest edge."""
    loops = (outer, *holes)
    s = outer.segments
    index = np.array([int(s.length.argmax())])
    points, normals = s.points_and_normals(index, s.length[index] / 2.0)
    at, inward = (float(points[0, 0]), float(points[0, 1])), (-float(normals[0, 0]), -float(normals[0, 1]))
    ahead = [span for span in cut_spans(loops, at, inward).tolist() if span[1] > NARROWEST_MM / 2.0]
    if not ahead:
        return at
    half = (max(ahead[0][0], 0.0) + ahead[0][1]) / 2.0
    return at[0] + inward[0] * half, at[1] + inward[1] * half


def top_of(piece: ResolvedPiece, run: Run, at: Point) -> Part | None:
    """What a run ends under at a place of it: what takes the metal over it away, or what was put there no higher."""
    over = piece.slabs[run.last + 1] if run.last + 1 < len(piece.slabs) else None
    put = _deciding(piece, piece.slabs[run.last], at)
    taken = None if over is None else _deciding(piece, over, at)
    # A bar that crosses the hollow was put there after the metal had been taken away.
    return _part(piece, put if taken is None or (put is not None and put > taken) else taken)


def under_of(piece: ResolvedPiece, run: Run, at: Point) -> Part | None:
    """What takes the metal under a run away at a place of it; None where it lies on an outer face."""
    under = _deciding(piece, piece.slabs[run.first - 1], at) if run.z0 > NARROWEST_MM else None
    return _part(piece, under)


def decided_by(piece: ResolvedPiece, slab: Slab, at: Point) -> Part | None:
    """The part that puts metal at a place of a slab, or takes it away there: the last that reaches it."""
    return _part(piece, _deciding(piece, slab, at))


def _deciding(piece: ResolvedPiece, slab: Slab, at: Point) -> int | None:
    """The number of the step that decides whether there is metal at a place of a slab: the last that reaches it."""
    low_x, low_y, high_x, high_y, z0, z1 = piece.step_bounds
    reaching = (low_x <= at[0]) & (at[0] <= high_x) & (low_y <= at[1]) & (at[1] <= high_y)
    numbers = indices(reaching & (z0 <= slab.z0) & (z1 >= slab.z1)).tolist()  # most are elsewhere
    return next((i for i in reversed(numbers) if _reaches(piece, piece.steps[i], at)), None)


def _reaches(piece: ResolvedPiece, step: HeightStep, at: Point) -> bool:
    def lies_in(part: int) -> bool:
        return bool(piece.parts[part].outline.contains(np.array([at]))[0])

    return all(map(lies_in, step.step.inside)) and not any(map(lies_in, step.step.outside))


def _part(piece: ResolvedPiece, step: int | None) -> Part | None:
    return None if step is None else piece.parts[piece.steps[step].step.inside[0]]
