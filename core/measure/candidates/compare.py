"""Several possible replacements side by side: what each would move, whether castings on the shelf can be reworked.

Each is proved twice as the new insert of the project, as a new pattern and as rework. Where its rims yield, it is also
laid into the seat as built, and proved once more pressed to the old insert's shape.
"""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING, Final

from msgspec import structs
from msgspec.structs import replace

from core.edits import add_item, unique_name
from core.evaluate import evaluate
from core.fit.case import Case
from core.fit.checks import squeeze
from core.fit.gaps import GapProfile, gap_profile
from core.fit.seat.extremes import spread_gaps
from core.geometry.ovals.ovals import exact_length
from core.geometry.ovals.pressed import grown_to
from core.measure.candidates import words
from core.measure.candidates.results import CHECKS_SHOWN, Candidate, Comparison, Move, PressedOne, Rework, Settling
from core.measure.sources import oval_sizes, size_of, take
from core.part.insert import Pressed, rim_outlines
from core.part.project import Choices, Mode, Project
from core.part.readings import Origin, SizeName
from core.words.ends import End, Side
from core.words.errors import UserError
from core.words.verdicts import Finding, Verdict, judge, worst
from core.words.whereabouts import whereabouts

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from core.evaluate import Result
    from core.geometry.lines.outline import Outline
    from core.geometry.ovals.ovals import Oval
    from core.metal.slabs import ResolvedPiece
    from core.part.insert import Insert
    from core.resize.resize import Conflict

    Tick = Callable[[float], None]

_BOUGHT: Final = "stud length"  # a longer stud is bought; it moves nothing
_CURVES: Final[dict[str, Callable[[ResolvedPiece], Outline | None]]] = {
    "seat outer": lambda piece: piece.walls[0],
    "seat inner": lambda piece: piece.walls[1],
    "opening": lambda piece: piece.curves.opening,
    "outside": lambda piece: piece.curves.outside,
}
"""Curves by their name in the changes; extents alone don't say how far one moves: shapes differ on the diagonals."""
_SAME_MM: Final = 1e-6
_STEPS: Final = 3  # evaluations of one candidate


def compare(project: Project, candidates: tuple[Insert, ...], tick: Tick = lambda _part: None) -> Comparison:
    """Every candidate as the new insert of ``project``, ranked.

    Args:
        project: housing, old insert, choices and limits; its own new insert counts only as one of ``candidates``.
        candidates: to compare.
        tick: told how much is done, 0 to 1; may raise `core.words.errors.Cancelled`.

    Raises:
        UserError: the old insert itself is impossible.
    """
    old_rims = rim_outlines(project.old_insert, End.BASE, name="old_insert")
    found = []
    for i, insert in enumerate(candidates):

        def step(done: int, i: int = i) -> None:
            tick((i + done / _STEPS) / len(candidates))

        found.append(_judged(project, insert, i, old_rims, step))
    ranked = sorted(found, key=lambda c: c.rank_key)
    tick(1.0)
    return Comparison(project, words.with_places(ranked), old_rims)


def add_candidates(project: Project, inserts: Iterable[Insert]) -> Project:
    """The project with further candidates; one whose name is taken gets a number behind it.

    Raises:
        RefusedError: one that the schema does not accept.
    """
    for insert in inserts:
        name = unique_name(project, "candidates", insert.name)
        project = add_item(project, "candidates", structs.replace(insert, name=name))
    return project


def make_new_insert(project: Project, index: int, pressed: Pressed | None = None) -> Project:
    """The project with a candidate as its new insert; the insert that was new takes its place among the candidates.

    Args:
        project: with the candidate.
        index: of the candidate.
        pressed: the shape to press it to; None as the candidate has it.
    """
    candidate = project.candidates[index]
    own = {source.size for source in candidate.sources}
    sizes = {size: size_of(candidate, size) for size in _sizes_of(candidate) if size not in own}
    new = take(candidate, sizes, Origin.CANDIDATE, candidate.name)
    if pressed is not None:
        new = structs.replace(new, pressed=pressed)
    others = (*project.candidates[:index], *project.candidates[index + 1 :])
    kept = project.new_insert
    # What came from a candidate has no other origin to go back to.
    sources = tuple(source for source in kept.sources if source.origin is not Origin.CANDIDATE)
    name = unique_name(structs.replace(project, candidates=others), "candidates", kept.name)
    kept = structs.replace(kept, sources=sources, name=name)
    return structs.replace(project, new_insert=new, candidates=(*others[:index], kept, *others[index:]))


def _sizes_of(insert: Insert) -> tuple[SizeName, ...]:
    """The sizes that an insert of its family has."""
    lid = () if insert.lid_rim is None else (SizeName.LID_RIM_WIDTH, SizeName.LID_RIM_THICKNESS)
    return (*oval_sizes(insert.free_oval), SizeName.HEIGHT, SizeName.RIM_WIDTH, SizeName.RIM_THICKNESS, *lid)


def _judged(
    project: Project, insert: Insert, index: int, old_rims: tuple[Outline, Outline], step: Callable[[int], None]
) -> Candidate:
    step(0)
    try:
        result = evaluate(_with(project, insert, Mode.NEW_PATTERN))
        rims = rim_outlines(insert, End.BASE, name="new_insert")
    except UserError as error:
        error.where = words.own_place(error.where)
        return Candidate(insert, index, Verdict.NO_GO, error=error, reasons=(words.IMPOSSIBLE,))
    moves, conflicts = _moves(result), _distinct(result.conflicts)
    greatest, moving = _greatest(moves), tuple(dict.fromkeys(move.name for move in moves))
    step(1)
    rework = _reworked(project, insert)
    step(2)
    settling = _settled(result) if insert.is_yielding else None
    pressed = _pressed(project, insert)
    made = Candidate(
        insert,
        index,
        result.overall,
        conflicts,
        greatest,
        moving,
        tuple(f for key in CHECKS_SHOWN if (f := _shown(result.findings, key)) is not None),
        rework,
        settling,
        pressed,
        rims,
        gap_profile(old_rims[0], rims[0], End.BASE, Side.OUTER),
    )
    reasons = [
        words.of_pattern(result.overall, conflicts, _worst(result.findings)),
        words.of_moves(greatest, moving),
        rework.says,
        *([settling.says] if settling is not None else []),
        *([pressed.says] if pressed is not None else []),
    ]
    return replace(made, reasons=tuple(reasons))


def _with(project: Project, insert: Insert, mode: Mode) -> Project:
    choices: Choices = structs.replace(project.choices, mode=mode)
    return structs.replace(project, new_insert=insert, choices=choices, candidates=())


def _worst(findings: Iterable[Finding], key: str = "") -> Finding | None:
    """The worst finding of a check, or of all: by its verdict, then by its margin as a part of its limit."""

    def urgency(finding: Finding) -> tuple[int, float]:
        bounds = [abs(b) for b in (finding.low, finding.high) if b]
        return -finding.verdict.rank, finding.margin / min(bounds) if bounds else finding.margin

    return min((f for f in findings if key in ("", f.check)), key=urgency, default=None)


def _shown(findings: Iterable[Finding], key: str) -> Finding | None:
    """The finding that stands for a check: the worst; of squeezes alike the one at the free height itself."""
    own = tuple(f for f in findings if f.check == key)
    if key == squeeze.KEY:
        return max(own, key=lambda f: f.verdict.rank, default=None)
    return _worst(own)


def _distinct(conflicts: Iterable[Conflict]) -> tuple[Conflict, ...]:
    """The first conflict of each feature of each piece."""
    return tuple({(c.place.end, c.feature): c for c in reversed(tuple(conflicts))}.values())[::-1]


def _moves(result: Result) -> tuple[Move, ...]:
    """All that changes, in the order of the changes; curves by their greatest normal distance from where they were."""
    found: list[Move] = []
    seen: set[tuple[End, str]] = set()
    for change in result.changes:
        if change.feature in _CURVES and change.end is not None:
            if (change.end, change.feature) not in seen:
                seen.add((change.end, change.feature))
                found += _curve_move(result, change.end, change.feature)
        elif change.is_change and change.quantity != _BOUGHT:
            found.append(Move(words.what_moves(change), change.by, words.of_change(change)))
    return tuple(found)


def _curve_move(result: Result, end: End, name: str) -> list[Move]:
    old, new = result.before.piece(end), result.after.piece(end)
    assert old is not None
    assert new is not None
    was, now = (_CURVES[name](piece) for piece in (old, new))
    if was is None or now is None:
        return []
    profile = gap_profile(was, now, end, Side.OUTER)
    at = int(abs(profile.gap).argmax())
    by = float(profile.gap[at])
    if abs(by) < _SAME_MM:
        return []
    where = (
        "all round"
        if float(profile.gap.max() - profile.gap.min()) < _SAME_MM
        else whereabouts((float(profile.rim[at, 0]), float(profile.rim[at, 1])), was)
    )
    return [Move(f"{end}: {name}", by, words.of_curve(f"{end}: {name}", by, where))]


def _greatest(moves: Iterable[Move]) -> Move | None:
    # Of several alike the first, whatever rounding says.
    return max(moves, key=lambda move: round(abs(move.by), 6), default=None)


def _reworked(project: Project, insert: Insert) -> Rework:
    try:
        result = evaluate(_with(project, insert, Mode.REWORK))
    except UserError as error:
        error.where = words.own_place(error.where)
        return Rework(Verdict.NO_GO, None, None, words.of_no_seat(error))
    housing = result.after.housing
    wall = min(piece.wall for end in housing.ends if (piece := housing.piece(end)) is not None)
    thinnest = min((f for f in result.findings if f.check == "web"), key=lambda f: f.value, default=None)
    conflicts, worst_one = _distinct(result.conflicts), _worst(result.findings)
    says = words.of_rework(result.overall, conflicts, worst_one, wall, thinnest)
    return Rework(result.overall, wall, thinnest, says)


def _settled(result: Result) -> Settling:
    """The insert in the seats as built, its rims as long as they are."""
    limits, built = result.project.limits, result.before.housing
    as_built = Case(result.project, result.before, result.before, result.gaps_before)
    found: list[tuple[Verdict, float, GapProfile]] = []
    for profile in result.gaps_before:
        piece = built.piece(profile.end)
        assert piece is not None
        if profile.side is Side.INNER and piece.lip.height <= 0.0:
            continue  # no lip, no inner wall
        low, high = limits.gap(profile.side)
        for at_end in spread_gaps(as_built, profile):  # what is told is the one typed, what is judged the next bought
            verdict, margin = judge(at_end.developed_mean, low=low, high=high, marginal_percent=limits.marginal)
            found.append((verdict, margin, profile))
    verdict, _, profile = min(found, key=lambda f: (-f[0].rank, f[1]))
    ends = [at_end.developed_mean for at_end in spread_gaps(as_built, profile)]
    squeezed = None if built.lid is None else _worst(squeeze.check(as_built))
    both = worst([verdict, *([squeezed.verdict] if squeezed is not None else [])])
    says = words.of_settling(verdict, profile, ends, limits, squeezed, is_ring=built.lid is None)
    return Settling(both, profile.developed_mean, squeezed, says)


def _pressed(project: Project, insert: Insert) -> PressedOne | None:
    """A yielding rim that lies free, pressed to the old insert's shape; None where that is no other shape."""
    if not insert.is_yielding or insert.pressed is not None:
        return None
    old, free = project.old_insert.oval, insert.free_oval
    try:
        shape = grown_to(old, exact_length(free))
        if _is_same(shape, free):
            return None
        pressed = Pressed(shape.family, shape.width, shape.end_radius, shape.exponent)
        result = evaluate(_with(project, structs.replace(insert, pressed=pressed), Mode.NEW_PATTERN))
    except UserError:
        return None
    growth = (exact_length(free) - exact_length(old)) / (2.0 * pi)
    greatest = _greatest(_moves(result))
    says = words.of_pressed(result.overall, growth, greatest, shape.length, shape.width)
    return PressedOne(pressed, growth, result.overall, greatest, says)


def _is_same(a: Oval, b: Oval) -> bool:
    sizes = ((o.length, o.width, o.end_radius or 0.0, o.exponent or 0.0) for o in (a, b))
    return a.family is b.family and all(abs(p - q) < _SAME_MM for p, q in zip(*sizes, strict=True))
