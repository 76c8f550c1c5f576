"""The sentences of a comparison of candidates: what stands for and against each, and why it is ranked where it is."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from msgspec.structs import replace

from core.words.verdicts import Sentence, Verdict, plain

if TYPE_CHECKING:
    from collections.abc import Sequence

    from core.fit.gaps import GapProfile
    from core.measure.candidates.results import Candidate, Move
    from core.part.project import Limits
    from core.resize.changes import Change
    from core.resize.resize import Conflict
    from core.words.errors import UserError
    from core.words.verdicts import Finding

IMPOSSIBLE: Final = Sentence("no housing can be made round it as it is described")
ASSUMES: Final = "this assumes that the rim bends freely and neither stretches nor buckles"
"""What a developed length can promise (common practice, no source)."""

_MOST_NAMES: Final = 6
_SIZES: Final = ("depth", "thickness", "distance")  # quantities without which the name would say too little


def own_place(where: str) -> str:
    """A place in the project, as one that is said of a candidate: ``new_insert.rim.width`` is its ``rim width``."""
    inside = where.removeprefix("new_insert.")
    return where if inside == where else inside.replace(".", " ").replace("_", " ")


def what_moves(change: Change) -> str:
    """``base: left lug``, ``base: seat depth``."""
    name = f"{change.feature} {change.quantity}" if change.quantity in _SIZES else change.feature
    return name if change.end is None else f"{change.end}: {name}"


def of_pattern(verdict: Verdict, conflicts: Sequence[Conflict], worst: Finding | None) -> Sentence:
    """How it fares as a new pattern."""
    return _after("as a new pattern", verdict, conflicts, worst)


def of_change(change: Change) -> Sentence:
    """One quantity's change, with its name."""
    more = "" if change.quantity in (*_SIZES, "size") else f" {change.quantity}"
    text = f"{{move_by}}, {plain(what_moves(change))}{more}"
    if change.quantity.startswith("place") or change.was is None or change.now is None:
        return Sentence.of(text, move_by=abs(change.by))
    text += " from {move_was} to {move_now}"
    return Sentence.of(text, move_by=abs(change.by), move_was=change.was, move_now=change.now)


def of_curve(name: str, by: float, where: str) -> Sentence:
    """How far a curve moves."""
    return Sentence.of(f"{{move_by}}, {name}, {'outward' if by > 0.0 else 'inward'} {where}", move_by=abs(by))


def of_moves(greatest: Move | None, moving: Sequence[str]) -> Sentence:
    """The greatest move, and all that moves."""
    if greatest is None:
        return Sentence("nothing moves")
    names = ", ".join(plain(name) for name in moving[:_MOST_NAMES])
    more = len(moving) - _MOST_NAMES
    if more > 0:
        names += f" and {more} more"
    count = (
        "1 curve or feature moves or changes"
        if len(moving) == 1
        else f"{len(moving)} curves and features move or change"
    )
    return Sentence(f"the greatest move is {greatest.how.text}; {count}: {names}", greatest.how.lengths)


def of_rework(
    verdict: Verdict, conflicts: Sequence[Conflict], worst: Finding | None, wall: float, thinnest: Finding | None
) -> Sentence:
    """Whether castings from the shelf can be machined out, and what is left of them."""
    if verdict is Verdict.NO_GO:
        return _after("castings from the shelf can't be reworked", verdict, conflicts, worst, says_verdict=False)
    left, lengths = "a wall of {wall_left} is left", {"wall_left": wall}
    if thinnest is not None:
        left += f", and {{metal_left}} at the {plain(thinnest.name)}"
        lengths["metal_left"] = thinnest.value
    text = f"castings from the shelf can be machined out: {left}"
    if verdict is Verdict.MARGINAL and worst is not None:
        return Sentence(f"{text}; marginal: {worst.advice.text}", (*lengths.items(), *worst.advice.lengths))
    return Sentence.of(text, **lengths)


def of_no_seat(error: UserError) -> Sentence:
    """Why no rework can even be drawn; its lengths are millimetres, since an error shows them by itself."""
    return Sentence(f"castings from the shelf can't be reworked: {plain(str(error))}")


def of_settling(
    verdict: Verdict,
    profile: GapProfile,
    ends: Sequence[float],
    limits: Limits,
    squeezed: Finding | None,
    *,
    is_ring: bool,
) -> Sentence:
    """Whether it settles in the seat as it is, and what that assumes; ``ends`` are its gaps over its spread [mm]."""
    wall = f"{profile.side} wall" if is_ring else f"{profile.end}'s {profile.side} wall"
    does = "settles" if verdict is not Verdict.NO_GO else "does not settle"
    order = "seat {seat} − rim {rim}" if profile.side == "outer" else "rim {rim} − seat {seat}"
    text = (
        f"by developed length it {does} in the seat as it is: mean gap {{mean}} at the {wall}, ({order}) / 2π, "
        f"{'{from} to {to} over the spread of its sizes, ' if max(ends) > min(ends) else ''}"
        f"{{least}} to {{greatest}} wanted; {ASSUMES}"
    )
    lengths = {
        "mean": profile.developed_mean,
        "seat": profile.wall_length,
        "rim": profile.rim_length,
        "from": min(ends),
        "to": max(ends),
        "least": limits.gap(profile.side)[0],
        "greatest": limits.gap(profile.side)[1],
    }
    if squeezed is not None and verdict is not Verdict.NO_GO:
        own = tuple((f"squeeze_{name}", value) for name, value in squeezed.advice.lengths)
        advice = squeezed.advice.text
        for name, _ in squeezed.advice.lengths:
            advice = advice.replace(f"{{{name}}}", f"{{squeeze_{name}}}")
        return Sentence(f"{text}; at the seat depths as built: {advice}", (*lengths.items(), *own))
    return Sentence.of(text, **lengths)


def of_pressed(verdict: Verdict, growth: float, greatest: Move | None, length: float, width: float) -> Sentence:
    """What pressing it to the old shape would spare."""
    size = "{by_all} larger" if growth >= 0.0 else "{by_all} smaller"
    text = (
        "on the same assumption pressed to the old insert's shape, {p_length} × {p_width}, "
        f"it is {size} all round: {verdict} as a new pattern; "
    )
    lengths = {"by_all": abs(growth), "p_length": length, "p_width": width}
    if greatest is None:
        return Sentence.of(f"{text}nothing moves then", **lengths)
    text += f"the greatest move is then {greatest.how.text}"
    return Sentence(text, (*lengths.items(), *greatest.how.lengths))


def with_places(ranked: Sequence[Candidate]) -> tuple[Candidate, ...]:
    """The candidates in their order, each with the reason for its place."""
    placed = []
    for i, own in enumerate(ranked):
        if own.error is not None:
            because = Sentence("listed last, since it is impossible")
        elif len(ranked) == 1:
            because = Sentence("there is nothing to compare it with")
        elif i == 0:
            because = _against(own, ranked[1], "ahead of")
        else:
            because = _against(own, ranked[i - 1], "behind")
        placed.append(replace(own, because=because))
    return tuple(placed)


def _against(own: Candidate, other: Candidate, place: str) -> Sentence:
    """The first of the ranking's criteria by which two neighbours differ."""
    head = f"{place} “{plain(other.insert.name)}”: "
    mine, others = own.rank_key, other.rank_key
    if mine[0] != others[0]:
        return Sentence(f"{head}that one is impossible")
    if mine[1] != others[1]:
        return Sentence(f"{head}{own.verdict} against {other.verdict}")
    if mine[2] != others[2]:
        return Sentence(f"{head}{_counted(mine[2])} against {_counted(others[2])}")
    if mine[3] != others[3]:
        can, can_not = ("that one", "this one") if mine[3] else ("this one", "that one")
        return Sentence(f"{head}castings from the shelf can be reworked for {can}, not for {can_not}")
    if abs(mine[4] - others[4]) > 1e-9:
        return Sentence.of(f"{head}a greatest move of {{own}} against {{other}}", own=mine[4], other=others[4])
    return Sentence(f"level with “{plain(other.insert.name)}”; they stand in the order of the list")


def _counted(conflicts: int) -> str:
    return "1 conflict" if conflicts == 1 else f"{conflicts} conflicts"


def _after(
    head: str, verdict: Verdict, conflicts: Sequence[Conflict], worst: Finding | None, *, says_verdict: bool = True
) -> Sentence:
    """A head, and behind it the first conflict, or the worst finding's advice."""
    if conflicts:
        what = conflicts[0].what
        return Sentence(f"{head}: {_counted(len(conflicts))}; {what.text}", what.lengths)
    if verdict is Verdict.GO or worst is None:
        return Sentence(f"{head}: all checks pass")
    word = f" {verdict}" if says_verdict else ""
    return Sentence(f"{head}{word}: {worst.advice.text}", worst.advice.lengths)
