"""Resizing: (housing, old insert, new insert, choices) to (new housing, changes, conflicts). Pure.

New pattern: every curve keeps its normal distance from the one it follows, every feature what it follows. Rework: a
casting from the shelf is machined out; nothing else moves, and metal that is gone stays gone.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, TypeVar

from msgspec import Struct
from msgspec.structs import replace

from core.features.kind import Follows, Kind
from core.features.stud.stack import followed_length, stud_stack
from core.metal.curves import curves
from core.part.housing import Housing, Opening, Piece, Stop
from core.part.project import Choices, HeightTo, Hold, HoldInside, Limits, Mode
from core.resize.rework import reworked
from core.resize.task import SAME_MM, Task, inner_offset, least_between, lip_left, seat_offset
from core.words.ends import End
from core.words.verdicts import Place, Sentence

if TYPE_CHECKING:
    from core.features.ground import Curves
    from core.features.stud.stud import Stud
    from core.part.insert import Insert

_K = TypeVar("_K", bound=Kind)


class Conflict(Struct, frozen=True):
    """A feature that can't follow, or a limit that the resizing itself runs into.

    Attributes:
        feature: its name.
        what: what is in the way, and what to do.
        place: where.
    """

    feature: str
    what: Sentence
    place: Place


class Resized(Struct, frozen=True):
    """A housing around the new insert, and what stood in the way."""

    housing: Housing
    conflicts: tuple[Conflict, ...]


@lru_cache(maxsize=32)
def resize(housing: Housing, old: Insert, new: Insert, choices: Choices, limits: Limits) -> Resized:
    """The housing around the new insert.

    Args:
        housing: as built around ``old``.
        old: the insert that ``housing`` was built around.
        new: the insert to build around.
        choices: what is held, and where the height goes.
        limits: engagement and threads of the studs.

    Raises:
        FoldsOverError: the new rim or its seat would fold over.
        ImpossibleOvalError: an insert's sizes make no oval.
    """
    conflicts: list[Conflict] = []
    base_depth, lid_depth, distance = _heights(housing, old, new, choices, conflicts)

    def resized(piece: Piece, end: End, depth: float) -> Piece:
        gap_outer = piece.seat.gap_outer if choices.gap_outer is None else choices.gap_outer
        gap_inner = piece.seat.gap_inner if choices.gap_inner is None else choices.gap_inner
        seat = replace(piece.seat, gap_outer=gap_outer, gap_inner=gap_inner, depth=depth)
        task = Task(piece, end, old, new, choices, seat, lambda *told: conflicts.append(Conflict(*told)))
        return reworked(task) if choices.mode is Mode.REWORK else _new_pattern(task)

    base = resized(housing.base, End.BASE, base_depth)
    lid = None if housing.lid is None else resized(housing.lid, End.LID, lid_depth)
    result = replace(housing, base=base, lid=lid, faces=replace(housing.faces, distance=distance))
    old_curves = curves(housing.base, old, End.BASE)
    new_curves = curves(base, new, End.BASE)
    studs = housing.studs
    if choices.mode is Mode.NEW_PATTERN:
        studs, stuck = _followed(studs, End.BASE, "housing.studs", old_curves, new_curves)
        conflicts += stuck
    studs = tuple(_stud(stud, housing, result, limits) for stud in studs)
    return Resized(replace(result, studs=studs), tuple(conflicts))


def _heights(
    housing: Housing, old: Insert, new: Insert, choices: Choices, conflicts: list[Conflict]
) -> tuple[float, float, float]:
    """Seat depths of base and lid, and the distance of the faces, after the height change has gone where it should."""
    growth = new.height - old.height
    base = housing.base.seat.depth
    lid = 0.0 if housing.lid is None else housing.lid.seat.depth
    distance = housing.faces.distance
    to = choices.height_to
    if growth == 0.0 or to is HeightTo.SQUEEZE:
        return base, lid, distance
    if to is HeightTo.BASE:
        base = _grown(base, growth, "base seat", Place(End.BASE, path="choices.height_to"), conflicts)
    elif housing.lid is None:
        what = Sentence(f"there is no lid: the height change can't go to the {to}; choose the base or the squeeze")
        conflicts.append(Conflict("height", what, Place(path="choices.height_to")))
    elif to is HeightTo.LID:
        lid = _grown(lid, growth, "lid seat", Place(End.LID, path="choices.height_to"), conflicts)
    elif housing.faces.stop is Stop.FACES:
        what = Sentence("the faces meet, so there is no spacer to take the height; choose a spacer as the stop first")
        conflicts.append(Conflict("spacer", what, Place(path="housing.faces.stop")))
    else:
        distance = _grown(distance, growth, "spacer", Place(path="housing.faces.distance"), conflicts)
    return base, lid, distance


def _grown(was: float, growth: float, feature: str, place: Place, conflicts: list[Conflict]) -> float:
    now = was + growth
    if now > 0.0:
        return now
    what = Sentence.of(
        f"the {feature} is {{was}}; it can't take up a height {{less}} smaller; let another part take it",
        was=was,
        less=-growth,
    )
    conflicts.append(Conflict(feature, what, place))
    return was


def _new_pattern(task: Task) -> Piece:
    """Every curve keeps its normal distance from the one it follows, every feature what it follows."""
    piece, choices, old, new, end = task.piece, task.choices, task.old, task.new, task.end
    resized = replace(
        piece,
        seat=task.seat,
        wall=piece.wall if choices.wall is None else choices.wall,
        lip=piece.lip if choices.lip is None else replace(piece.lip, width=choices.lip),
    )
    if choices.hold is Hold.OUTSIDE:
        resized = _hold_outside(task, resized)
    if choices.hold_inside is HoldInside.OPENING and piece.opening is not None:
        resized = _hold_opening(task, resized)
    before, after = curves(piece, old, end), curves(resized, new, end)
    features, stuck = _followed(piece.features, end, f"housing.{end}.features", before, after)
    for one in stuck:
        task.tell(one.feature, one.what, one.place)
    inner, outside = task.inner, task.outside
    fixed = (f.held_on(inner, outside) if f.follows is Follows.MACHINE else f for f in features)
    return replace(resized, features=tuple(fixed))


def _followed(
    features: tuple[_K, ...], end: End, path: str, was: Curves, now: Curves
) -> tuple[tuple[_K, ...], list[Conflict]]:
    """The features of a list where they go when the curves of their piece change, and a conflict for each that can't.

    Args:
        features: as they stand now.
        end: the piece.
        path: of the list in the project.
        was: the piece's curves as they were.
        now: its curves now.
    """
    moved: list[_K] = []
    conflicts: list[Conflict] = []
    for i, feature in enumerate(features):
        there, stuck = feature.followed(was, now)
        moved.append(there)
        if stuck is not None:
            place = Place(end, feature.at, feature=feature.name, path=f"{path}[{i}].follows")
            conflicts.append(Conflict(feature.name, stuck, place))
    return tuple(moved), conflicts


def _hold_outside(task: Task, resized: Piece) -> Piece:
    piece, new, held = task.piece, task.new, task.outside
    if held.oval == new.oval:
        # The outside is parallel to the new seat again: say so plainly, so that there and back is no change.
        wall = held.offset - seat_offset(resized, new, task.end)
        if wall > 0.0:
            return replace(resized, held_outside=None, wall=_settled(wall, piece.wall))
    resized = replace(resized, held_outside=held)
    c = curves(resized, new, task.end)
    return replace(resized, wall=least_between(c.seat_outer, c.outside))


def _hold_opening(task: Task, resized: Piece) -> Piece:
    piece, new, held = task.piece, task.new, task.opening
    assert held is not None
    if held.oval == new.oval:
        lip = inner_offset(resized, new, task.end) - held.offset
        if lip > 0.0:
            return replace(resized, opening=Opening(), lip=replace(resized.lip, width=_settled(lip, piece.lip.width)))
    resized = replace(resized, opening=Opening(held))
    c = curves(resized, new, task.end)
    return replace(resized, lip=lip_left(resized.lip, c.seat_inner, c.opening))


def _settled(now: float, was: float) -> float:
    """The figure there was, when the new one differs only by rounding."""
    return was if abs(now - was) < SAME_MM else now


def _stud(stud: Stud, old: Housing, new: Housing, limits: Limits) -> Stud:
    was, now = stud_stack(old, stud, limits).length, stud_stack(new, stud, limits).length
    return replace(stud, length=followed_length(stud, was, now))
