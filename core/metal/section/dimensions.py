"""What can be measured in a cut, and the values that the cut consists of."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from core.words.ends import End

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from core.geometry.lines.outline import Outline
    from core.geometry.regions.line_cut import LineCut
    from core.metal.slabs import Resolved, ResolvedPiece

# An interval's end that lies this near to a wall's crossing is that wall.
_AT_WALL_MM = 1e-5


class Cell(Struct, frozen=True):
    """A rectangle of the cut: from s0 to s1 along the line, from h0 to h1 in assembled height [mm]."""

    s0: float
    s1: float
    h0: float
    h1: float


class PieceCut(Struct, frozen=True):
    """The metal of one piece in the cut.

    Attributes:
        cells: rectangles that fill the metal without overlap.
        edges: the lines ((s, h), (s, h)) between metal and air, and nothing else.
    """

    end: End
    cells: tuple[Cell, ...]
    edges: tuple[tuple[tuple[float, float], tuple[float, float]], ...]


class RimCut(Struct, frozen=True):
    """A rim in its seat: as it is when closed, and ``free`` as it would stand without the squeeze."""

    end: End
    cells: tuple[Cell, ...]
    free: tuple[Cell, ...]


class StudCut(Struct, frozen=True):
    """A stud that the line runs through.

    Attributes:
        index: of the stud in the housing.
        s: its axis; ``half``: half its width in the cut [mm].
        h0, h1: its ends.
        counted0: where its length counts from: its end, or the base's joint face where the screwed-in end is left out.
        washer0, nut0, nut1: where the washer begins, the nut begins, and the nut ends.
    """

    name: str
    index: int
    s: float
    half: float
    h0: float
    h1: float
    counted0: float
    washer0: float
    nut0: float
    nut1: float


class Stack(Struct, frozen=True):
    """Assembled heights over the base's outer face [mm]; the lid's are None where there is no lid.

    Attributes:
        base_floor, lid_floor: the seat floors.
        base_joint, lid_joint: the joint faces.
        lid_face: the lid's outer face.
        free: the insert's free height.
        squeeze: free height less the height between the floors; below 0 the insert doesn't reach.
    """

    base_floor: float
    base_joint: float
    lid_joint: float | None
    lid_floor: float | None
    lid_face: float | None
    free: float
    squeeze: float


class Measure(StrEnum):
    """What a dimension of a cut measures."""

    FLOOR = "floor"
    DEPTH = "seat depth"
    FACES = "faces"
    RIM = "rim"
    HEIGHT = "height"
    SQUEEZE = "squeeze"
    STUD = "stud"
    WALL = "wall"
    LIP = "lip"
    GAP_OUTER = "gap outer"
    GAP_INNER = "gap inner"


class SectionDimension(Struct, frozen=True):
    """A size in the cut.

    Attributes:
        measure: what it is; ``end``: of which piece, None for what belongs to both.
        value: [mm]; for a gap below 0 is interference, for a squeeze below 0 a play.
        a, b: the places (s, h) it is measured between.
        paths: the project's paths that set it, the one to ask for first.
    """

    measure: Measure
    end: End | None
    value: float
    a: tuple[float, float]
    b: tuple[float, float]
    paths: tuple[str, ...]

    @property
    def is_upright(self) -> bool:
        """Whether it is a height."""
        return self.measure not in _LEVEL


_LEVEL = frozenset({Measure.WALL, Measure.LIP, Measure.GAP_OUTER, Measure.GAP_INNER})


class _Crossings(Struct, frozen=True):
    """Where the line enters and leaves the curves of one piece; None where it misses one."""

    rim_outer: tuple[float, float] | None
    rim_inner: tuple[float, float] | None
    seat_outer: tuple[float, float] | None
    seat_inner: tuple[float, float] | None


def section_dimensions(
    before: Resolved,
    after: Resolved,
    pieces: Sequence[PieceCut],
    rims: Sequence[RimCut],
    studs: Sequence[StudCut],
    stack: Stack,
    line: LineCut,
) -> tuple[SectionDimension, ...]:
    """The sizes of a cut, in the order of the pieces; what the line misses has none."""
    found: list[SectionDimension] = []
    for piece, cut in zip(after.pieces, pieces, strict=True):
        if not cut.cells:  # no metal is cut there, so that no wall, floor or gap is there to be measured
            continue
        crossings = _crossings(piece, line)
        found += _heights(before, after, piece.end, stack, crossings)
        own = after.housing.piece(piece.end)
        assert own is not None
        if own.lip.height <= 0.0:  # no lip, no inner wall
            crossings = replace(crossings, seat_inner=None)
        found += _widths(cut, stack, crossings, _hollows(piece, line))
    found += _insert(after, rims, stack)
    found += [
        SectionDimension(
            Measure.STUD,
            None,
            stud.h1 - stud.counted0,
            (stud.s, stud.counted0),
            (stud.s, stud.h1),
            (f"housing.studs[{stud.index}].length",),
        )
        for stud in studs
    ]
    return tuple(found)


def _crossings(piece: ResolvedPiece, line: LineCut) -> _Crossings:
    def reach(outline: Outline) -> tuple[float, float] | None:
        spans = line.spans((outline,))
        return (spans[0][0], spans[-1][1]) if spans else None

    return _Crossings(
        reach(piece.curves.rim_outer), reach(piece.curves.rim_inner), reach(piece.walls[0]), reach(piece.walls[1])
    )


def _heights(
    before: Resolved, after: Resolved, end: End, stack: Stack, crossings: _Crossings
) -> Iterator[SectionDimension]:
    if crossings.seat_outer is None:
        return
    left = crossings.seat_outer[0]
    seat = (left + crossings.seat_inner[0]) / 2.0 if crossings.seat_inner is not None else left
    was, now = before.housing.piece(end), after.housing.piece(end)
    assert was is not None
    assert now is not None
    # A quarter into the seat, off the wall's own line and off the floor's dimension.
    at_depth = (left + seat) / 2.0
    depth = _paths_of_height(f"housing.{end}.seat.depth", was.seat.depth, now.seat.depth)
    if end is End.BASE:
        floor, face, joint = stack.base_floor, 0.0, stack.base_joint
    else:
        assert stack.lid_floor is not None
        assert stack.lid_face is not None
        assert stack.lid_joint is not None
        floor, face, joint = stack.lid_floor, stack.lid_face, stack.lid_joint
    yield _upright(Measure.FLOOR, end, now.floor, seat, (face, floor), (f"housing.{end}.floor",))
    yield _upright(Measure.DEPTH, end, now.seat.depth, at_depth, (floor, joint), depth)
    if end is End.LID and joint - stack.base_joint > _AT_WALL_MM:
        yield SectionDimension(
            Measure.FACES,
            None,
            joint - stack.base_joint,
            (left - now.wall / 2.0, stack.base_joint),
            (left - now.wall / 2.0, joint),
            _paths_of_height("housing.faces.distance", before.housing.faces.distance, after.housing.faces.distance),
        )


def _paths_of_height(path: str, was: float, now: float) -> tuple[str, ...]:
    """The path of a height, after that of the choice that changed it: the height as built isn't what is seen."""
    return (path,) if abs(was - now) <= _AT_WALL_MM else ("choices.height_to", path)


def _upright(
    measure: Measure, end: End, value: float, s: float, heights: tuple[float, float], paths: tuple[str, ...]
) -> SectionDimension:
    return SectionDimension(measure, end, value, (s, min(heights)), (s, max(heights)), paths)


def _hollows(piece: ResolvedPiece, line: LineCut) -> tuple[float, ...]:
    """Where the line crosses the edges of the opening and of pockets: what a lip ends at."""
    outlines = [part.outline for part in piece.parts if part.kind in ("opening", "pocket")]
    return tuple(s for outline in outlines for span in line.spans((outline,)) for s in span)


def _widths(
    cut: PieceCut, stack: Stack, crossings: _Crossings, hollows: tuple[float, ...]
) -> Iterator[SectionDimension]:
    end = cut.end
    if crossings.seat_outer is None:
        return
    in_seat = [cell for cell in cut.cells if _is_in_seat(cell, end, stack)]
    left, right = crossings.seat_outer
    yield from _least(Measure.WALL, end, [c for c in in_seat if _is(c.s1, left)])
    yield from _least(Measure.WALL, end, [c for c in in_seat if _is(c.s0, right)])
    h = (stack.base_floor + stack.base_joint) / 2.0
    if end is End.LID:
        assert stack.lid_floor is not None
        assert stack.lid_joint is not None
        h = (stack.lid_floor + stack.lid_joint) / 2.0
    if crossings.rim_outer is not None:
        yield _gap(Measure.GAP_OUTER, end, left, crossings.rim_outer[0], h)
        yield _gap(Measure.GAP_OUTER, end, crossings.rim_outer[1], right, h)
    if crossings.seat_inner is None:
        return
    left, right = crossings.seat_inner
    if crossings.rim_inner is not None:
        yield _gap(Measure.GAP_INNER, end, crossings.rim_inner[0], left, h)
        yield _gap(Measure.GAP_INNER, end, right, crossings.rim_inner[1], h)
    # Metal that ends elsewhere is no lip: a crossbar or a boss lies in the cut.
    yield from _least(Measure.LIP, end, [c for c in in_seat if _is(c.s0, left) and _is_any(c.s1, hollows)])
    yield from _least(Measure.LIP, end, [c for c in in_seat if _is(c.s1, right) and _is_any(c.s0, hollows)])


def _is(s: float, wall: float) -> bool:
    return abs(s - wall) < _AT_WALL_MM


def _is_any(s: float, walls: tuple[float, ...]) -> bool:
    return any(_is(s, wall) for wall in walls)


def _is_in_seat(cell: Cell, end: End, stack: Stack) -> bool:
    if end is End.BASE:
        return cell.h0 >= stack.base_floor - _AT_WALL_MM
    assert stack.lid_floor is not None
    return cell.h1 <= stack.lid_floor + _AT_WALL_MM


def _gap(measure: Measure, end: End, low: float, high: float, h: float) -> SectionDimension:
    """A gap between the crossings of wall and rim; below 0 where they have changed places."""
    path = "gap_outer" if measure is Measure.GAP_OUTER else "gap_inner"
    paths = (f"choices.{path}", f"housing.{end}.seat.{path}")
    return SectionDimension(measure, end, high - low, (low, h), (high, h), paths)


def _least(measure: Measure, end: End, cells: list[Cell]) -> Iterator[SectionDimension]:
    if not cells:
        return
    thinnest = min(cells, key=lambda c: c.s1 - c.s0)
    h = (thinnest.h0 + thinnest.h1) / 2.0
    of_piece = f"housing.{end}.wall" if measure is Measure.WALL else f"housing.{end}.lip.width"
    own = "choices.wall" if measure is Measure.WALL else "choices.lip"
    yield SectionDimension(measure, end, thinnest.s1 - thinnest.s0, (thinnest.s0, h), (thinnest.s1, h), (own, of_piece))


def _insert(after: Resolved, rims: Sequence[RimCut], stack: Stack) -> Iterator[SectionDimension]:
    base = rims[0]
    if not base.cells:
        return
    insert, top = after.insert, stack.base_floor + after.insert.height
    last = base.free[-1]
    s = (last.s0 + last.s1) / 2.0
    if stack.lid_floor is not None or last.h1 < top - _AT_WALL_MM:
        yield SectionDimension(
            Measure.RIM, End.BASE, last.h1 - last.h0, (s, last.h0), (s, last.h1), ("new_insert.rim.thickness",)
        )
    if stack.lid_floor is None:
        yield SectionDimension(
            Measure.HEIGHT, None, insert.height, (s, stack.base_floor), (s, top), ("new_insert.height",)
        )
        return
    if insert.lid_rim is not None and len(rims) > 1 and rims[1].free:
        lid = rims[1].free[-1]
        yield SectionDimension(
            Measure.RIM,
            End.LID,
            lid.h1 - lid.h0,
            ((lid.s0 + lid.s1) / 2.0, lid.h0),
            ((lid.s0 + lid.s1) / 2.0, lid.h1),
            ("new_insert.lid_rim.thickness",),
        )
    yield SectionDimension(Measure.SQUEEZE, None, stack.squeeze, (s, stack.lid_floor), (s, top), ("new_insert.height",))
