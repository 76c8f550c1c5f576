"""The true cut through housing and insert along a straight line: exact intervals, no chords.

Places in a cut are (s, h): s along the line from the point it is given by, h the *assembled height* over the base's
outer face, with the lid set down on the base: h = z in the base, and in the lid h = base thickness + distance of the
faces + (lid thickness - z). The insert stands on the base's seat floor.
"""

from __future__ import annotations

from math import hypot, sqrt
from typing import TYPE_CHECKING

from msgspec import Struct

from core.features.stud.stack import stud_stack
from core.features.stud.threads import DIAMETER_MM, NUT_MM, WASHER_MM
from core.geometry.ovals.ovals import oval_outline
from core.geometry.regions.line_cut import SAME_MM, LineCut, Span
from core.metal.section.dimensions import Cell, PieceCut, RimCut, SectionDimension, Stack, StudCut, section_dimensions
from core.metal.slabs import raised_under
from core.words.ends import End

if TYPE_CHECKING:
    from collections.abc import Iterator

    from core.geometry.lines.outline import Point
    from core.metal.slabs import Resolved, ResolvedPiece
    from core.part.insert import Insert
    from core.part.project import Limits

# A rim that is squeezed past its own thickness is drawn as a skin; the finding says what is wrong.
_THINNEST_RIM = 0.05

Edge = tuple[tuple[float, float], tuple[float, float]]


class Section(Struct, frozen=True, eq=False):
    """What a cut shows.

    Attributes:
        at, direction: the line: a point of it [mm] and its unit direction.
        pieces: the metal of base and lid; ``before``: as built, in its own assembled heights.
        rims: the insert's rims in their seats; ``body``: what lies between them.
        studs: those that the line runs through.
        stack: the assembled heights.
        dimensions: what can be measured in this cut, with the project's paths.
    """

    at: Point
    direction: Point
    pieces: tuple[PieceCut, ...]
    before: tuple[PieceCut, ...]
    rims: tuple[RimCut, ...]
    body: tuple[Cell, ...]
    studs: tuple[StudCut, ...]
    stack: Stack
    dimensions: tuple[SectionDimension, ...]

    @property
    def is_empty(self) -> bool:
        """Whether the line misses the metal."""
        return not any(piece.cells for piece in self.pieces)

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Least s, least h, greatest s, greatest h of all that is cut [mm]; a unit square when nothing is."""
        cells = [cell for piece in (*self.pieces, *self.before) for cell in piece.cells]
        cells += [cell for rim in self.rims for cell in rim.cells]
        cells += [Cell(stud.s - stud.half, stud.s + stud.half, stud.h0, stud.h1) for stud in self.studs]
        if not cells:
            return 0.0, 0.0, 1.0, 1.0
        return (
            min(c.s0 for c in cells),
            min(c.h0 for c in cells),
            max(c.s1 for c in cells),
            max(c.h1 for c in cells),
        )


def section(before: Resolved, after: Resolved, limits: Limits, start: Point, stop: Point) -> Section:
    """The cut of a housing along the line from ``start`` towards ``stop``, as long as the part.

    Args:
        before: the housing as built.
        after: the housing and its insert now.
        limits: what the studs need.
        start: where s = 0 [mm].
        stop: gives the direction of growing s [mm].

    Raises:
        ValueError: the two points are one.
    """
    dx, dy = stop[0] - start[0], stop[1] - start[1]
    size = hypot(dx, dy)
    if not size > 0.0:
        raise ValueError("a section line needs two different points")
    along = (dx / size, dy / size)
    stack = stack_of(after)
    every = (*after.pieces, *before.pieces)
    curves = [curve for piece in every for curve in (piece.curves.rim_outer, piece.curves.rim_inner)]
    line = LineCut(start, along, [*curves, *(loop for p in every for slab in p.slabs for loop in slab.region.loops)])
    pieces = tuple(_piece_cut(piece, stack, line) for piece in after.pieces)
    was = stack_of(before)
    built = tuple(_piece_cut(piece, was, line) for piece in before.pieces)
    rims = tuple(_rim_cut(piece, after.insert, stack, line) for piece in after.pieces)
    studs = tuple(_stud_cuts(after, stack, limits, start, along))
    return Section(
        start,
        along,
        pieces,
        built,
        rims,
        _body(after, stack, line),
        studs,
        stack,
        section_dimensions(before, after, pieces, rims, studs, stack, line),
    )


def stack_of(resolved: Resolved) -> Stack:
    """The assembled heights of a housing with the insert that it is built for."""
    base, lid, insert = resolved.base, resolved.lid, resolved.insert
    if lid is None:
        return Stack(base.floor, base.thickness, None, None, None, insert.height, 0.0)
    joint = base.thickness + resolved.housing.faces.apart
    lid_floor = joint + lid.thickness - lid.floor
    return Stack(
        base.floor,
        base.thickness,
        joint,
        lid_floor,
        joint + lid.thickness,
        insert.height,
        insert.height - (lid_floor - base.floor),
    )


def _height(z: float, end: End, stack: Stack) -> float:
    if end is End.BASE:
        return z
    assert stack.lid_face is not None
    return stack.lid_face - z


def _piece_cut(piece: ResolvedPiece, stack: Stack, line: LineCut) -> PieceCut:
    spans = [line.spans(slab.region.loops) for slab in piece.slabs]
    cells: list[Cell] = []
    edges: list[Edge] = []
    below: list[Span] = []
    for slab, here in zip(piece.slabs, spans, strict=True):
        h0, h1 = sorted((_height(slab.z0, piece.end, stack), _height(slab.z1, piece.end, stack)))
        cells += [Cell(s0, s1, h0, h1) for s0, s1 in here]
        edges += [((s, h0), (s, h1)) for span in here for s in span]
        edges += _level(below, here, _height(slab.z0, piece.end, stack))
        below = here
    edges += _level(below, [], _height(piece.slabs[-1].z1, piece.end, stack) if piece.slabs else 0.0)
    return PieceCut(piece.end, tuple(cells), tuple(edges))


def _level(below: list[Span], above: list[Span], h: float) -> Iterator[Edge]:
    """The edges at one height: wherever there is metal on one side only."""
    ends = sorted(s for span in (*below, *above) for s in span)
    for s0, s1 in zip(ends[::2], ends[1::2], strict=True):
        if s1 - s0 > SAME_MM:
            yield (s0, h), (s1, h)


def _rim_cut(piece: ResolvedPiece, insert: Insert, stack: Stack, line: LineCut) -> RimCut:
    spans = line.spans((piece.curves.rim_outer, piece.curves.rim_inner))
    free = insert.rim_at(piece.end).thickness
    low, high = _rim_heights(insert, stack, piece.end)
    if piece.end is End.BASE:
        free_low, free_high = low, low + free
    else:
        # Free, the insert stands up into the lid by the squeeze.
        free_high = stack.base_floor + insert.height
        free_low = free_high - free
    return RimCut(
        piece.end,
        tuple(Cell(s0, s1, low, high) for s0, s1 in spans),
        tuple(Cell(s0, s1, free_low, free_high) for s0, s1 in spans),
    )


def _rim_heights(insert: Insert, stack: Stack, end: End) -> tuple[float, float]:
    """Assembled heights of one rim as it is when closed: each rim gives way in proportion to its thickness."""
    thickness = insert.rim_at(end).thickness
    both = insert.rim.thickness + insert.rim_at(End.LID).thickness
    gives = stack.squeeze if insert.is_yielding and stack.squeeze > 0.0 else 0.0
    left = max(thickness * (1.0 - gives / both), thickness * _THINNEST_RIM)
    if end is End.BASE:
        return stack.base_floor, stack.base_floor + left
    top = stack.base_floor + insert.height - gives
    return top - left, top


def _body(resolved: Resolved, stack: Stack, line: LineCut) -> tuple[Cell, ...]:
    insert = resolved.insert
    low = _rim_heights(insert, stack, End.BASE)[1]
    high = _rim_heights(insert, stack, End.LID)[0]
    if high <= low:
        return ()
    spans = line.spans((oval_outline(insert.oval), resolved.base.curves.rim_inner))
    return tuple(Cell(s0, s1, low, high) for s0, s1 in spans)


def _stud_cuts(resolved: Resolved, stack: Stack, limits: Limits, at: Point, along: Point) -> Iterator[StudCut]:
    if stack.lid_face is None:
        return
    for i, stud in enumerate(resolved.housing.studs):
        dx, dy = stud.x - at[0], stud.y - at[1]
        radius, aside = DIAMETER_MM[stud.thread] / 2.0, abs(dx * along[1] - dy * along[0])
        if aside >= radius:
            continue
        raised = raised_under(resolved.lid, [stud])[0]
        parts = stud_stack(resolved.housing, stud, limits, raised)
        foot = stack.base_joint - parts.engagement
        face = stack.lid_face + raised
        washer = face + WASHER_MM[stud.thread]
        yield StudCut(
            stud.name,
            i,
            dx * along[0] + dy * along[1],
            sqrt(radius * radius - aside * aside),
            foot,
            foot + parts.uncounted + stud.length,
            foot + parts.uncounted,
            face,
            washer,
            washer + NUT_MM[stud.thread],
        )
