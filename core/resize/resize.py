"""Resizing: (housing, old insert, new insert, choices) to (new housing, changes, conflicts). Pure.

New pattern: every curve keeps its normal distance from the one it follows, every feature what it follows. Rework: a
casting from the shelf is machined out; nothing else moves, and metal that is gone stays gone.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, TypeVar

import numpy as np
from msgspec.structs import replace

from core.features.kind import Follows, Kind
from core.features.stud.stack import followed_length, stud_stack
from core.geometry.regions.webs import closest
from core.metal.curves import curves
from core.metal.walls import standing_walls
from core.part.curve import HeldCurve
from core.part.housing import EarlierSeat, Housing, Lip, Opening, Piece, Stop
from core.part.project import Choices, HeightTo, Hold, HoldInside, Limits, Mode
from core.words.ends import End, Side
from core.words.verdicts import Place, Sentence

if TYPE_CHECKING:
    from core.features.ground import Curves
    from core.features.stud.stud import Stud
    from core.geometry.lines.outline import Outline
    from core.geometry.ovals.ovals import Oval
    from core.part.insert import Insert

_SAME_MM = 1e-9  # what two ways of adding the same lengths may differ by
_GONE_MM = 1e-6  # what stands for a wall or a lip that is gone: a width is over 0
_STATIONS = np.arange(720.0)
_K = TypeVar("_K", bound=Kind)


@dataclass(frozen=True, slots=True)
class Conflict:
    """A feature that can't follow, or a limit that the resizing itself runs into.

    Attributes:
        feature: its name.
        what: what is in the way, and what to do.
        place: where.
    """

    feature: str
    what: Sentence
    place: Place


@dataclass(frozen=True, slots=True)
class Resized:
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
    base = _piece(housing.base, old, new, End.BASE, choices, base_depth, conflicts)
    lid = None if housing.lid is None else _piece(housing.lid, old, new, End.LID, choices, lid_depth, conflicts)
    result = replace(housing, base=base, lid=lid, faces=replace(housing.faces, distance=distance))
    old_curves = curves(housing.base, old, End.BASE)
    new_curves = curves(base, new, End.BASE)
    studs = housing.studs
    if choices.mode is Mode.NEW_PATTERN:
        studs = _followed(studs, End.BASE, "housing.studs", old_curves, new_curves, conflicts)
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


def _piece(
    piece: Piece, old: Insert, new: Insert, end: End, choices: Choices, depth: float, conflicts: list[Conflict]
) -> Piece:
    gap_outer = piece.seat.gap_outer if choices.gap_outer is None else choices.gap_outer
    gap_inner = piece.seat.gap_inner if choices.gap_inner is None else choices.gap_inner
    seat = replace(piece.seat, gap_outer=gap_outer, gap_inner=gap_inner, depth=depth)
    if choices.mode is Mode.REWORK:
        return _reworked(piece, seat.gap_outer, seat.gap_inner, old, new, end, depth, choices.guided_by, conflicts)
    resized = replace(
        piece,
        seat=seat,
        wall=piece.wall if choices.wall is None else choices.wall,
        lip=piece.lip if choices.lip is None else replace(piece.lip, width=choices.lip),
    )
    if choices.hold is Hold.OUTSIDE:
        resized = _hold_outside(piece, resized, old, new, end)
    if choices.hold_inside is HoldInside.OPENING and piece.opening is not None:
        resized = _hold_opening(piece, resized, old, new, end)
    features = _followed(
        piece.features,
        end,
        f"housing.{end}.features",
        curves(piece, old, end),
        curves(resized, new, end),
        conflicts,
    )
    wall = HeldCurve.of(old.oval, _inner_offset(piece, old, end))
    outside = piece.held_outside or HeldCurve.of(old.oval, _seat_offset(piece, old, end) + piece.wall)
    fixed = (f.held_on(wall, outside) if f.follows is Follows.MACHINE else f for f in features)
    return replace(resized, features=tuple(fixed))


def _followed(
    features: tuple[_K, ...], end: End, path: str, was: Curves, now: Curves, conflicts: list[Conflict]
) -> tuple[_K, ...]:
    """The features of a list where they go when the curves of their piece change.

    Args:
        features: as they stand now.
        end: the piece.
        path: of the list in the project.
        was: the piece's curves as they were.
        now: its curves now.
        conflicts: told of each that can't follow.
    """
    moved: list[_K] = []
    for i, feature in enumerate(features):
        there, stuck = feature.followed(was, now)
        moved.append(there)
        if stuck is not None:
            place = Place(end, feature.at, feature=feature.name, path=f"{path}[{i}].follows")
            conflicts.append(Conflict(feature.name, stuck, place))
    return tuple(moved)


def _seat_offset(piece: Piece, insert: Insert, end: End) -> float:
    """Normal distance of the seat's outer wall from the insert's oval [mm]."""
    return insert.rim_at(end).outset + piece.seat.gap_outer


def _inner_offset(piece: Piece, insert: Insert, end: End) -> float:
    """Normal distance of the seat's inner wall from the insert's oval [mm], below 0."""
    rim = insert.rim_at(end)
    return rim.outset - rim.width - piece.seat.gap_inner


def _hold_outside(piece: Piece, resized: Piece, old: Insert, new: Insert, end: End) -> Piece:
    held = piece.held_outside or HeldCurve.of(old.oval, _seat_offset(piece, old, end) + piece.wall)
    if same_oval(held.oval, new.oval):
        # The outside is parallel to the new seat again: say so plainly, so that there and back is no change.
        wall = held.offset - _seat_offset(resized, new, end)
        if wall > 0.0:
            return replace(resized, held_outside=None, wall=_settled(wall, piece.wall))
    resized = replace(resized, held_outside=held)
    c = curves(resized, new, end)
    return replace(resized, wall=_least_between(c.seat_outer, c.outside))


def _least_between(inside: Outline, outside: Outline) -> float:
    """The thinnest metal between two outlines [mm]; next to none where one breaks through the other."""
    if not outside.contains(inside.vertices[:, :2]).all():
        return _GONE_MM
    return max(closest(inside, outside).width_mm, _GONE_MM)


def _hold_opening(piece: Piece, resized: Piece, old: Insert, new: Insert, end: End) -> Piece:
    assert piece.opening is not None
    held = piece.opening.held or HeldCurve.of(old.oval, _inner_offset(piece, old, end) - piece.lip.width)
    if same_oval(held.oval, new.oval):
        lip = _inner_offset(resized, new, end) - held.offset
        if lip > 0.0:
            return replace(resized, opening=Opening(), lip=replace(resized.lip, width=_settled(lip, piece.lip.width)))
    resized = replace(resized, opening=Opening(held))
    c = curves(resized, new, end)
    return replace(resized, lip=_lip_left(resized.lip, c.seat_inner, c.opening))


def _lip_left(lip: Lip, inner: Outline, opening: Outline | None) -> Lip:
    """The lip as wide as it is where it is thinnest; as it was where there is no opening to end it."""
    return lip if opening is None else replace(lip, width=_least_between(opening, inner))


def same_oval(a: Oval, b: Oval) -> bool:
    """Whether two ovals are the same curve, given the same way."""
    return a == b


def _settled(now: float, was: float) -> float:
    """The figure there was, when the new one differs only by rounding."""
    return was if abs(now - was) < _SAME_MM else now


def _reworked(
    piece: Piece,
    gap_outer: float,
    gap_inner: float,
    old: Insert,
    new: Insert,
    end: End,
    depth: float,
    guided_by: Side,
    conflicts: list[Conflict],
) -> Piece:
    """The casting from the shelf with its seat machined out to the new insert; all else as it was."""
    outer, inner = _seat_offset(piece, old, end), _inner_offset(piece, old, end)
    same = (
        same_oval(old.oval, new.oval)
        and old.rim_at(end) == new.rim_at(end)
        and (gap_outer, gap_inner, depth) == (piece.seat.gap_outer, piece.seat.gap_inner, piece.seat.depth)
    )
    if same:
        return piece
    if piece.earlier_seat is not None:
        what = Sentence(
            f"the {end} was machined out before, and only one old seat can be told from the new one: the metal that "
            "the first one took is drawn as if it were there; cast anew, or measure the casting itself"
        )
        conflicts.append(Conflict("old seat", what, Place(end, path="choices.mode")))
    if depth < piece.seat.depth - _SAME_MM:
        what = Sentence.of(
            f"the {end}'s seat is {{was}} deep already and would have to be {{now}}: metal can't be put back; "
            "let the squeeze take the height, shim the floor, or cast anew",
            was=piece.seat.depth,
            now=depth,
        )
        conflicts.append(Conflict("seat floor", what, Place(end, path="choices.mode")))
        depth = piece.seat.depth
    floor = piece.thickness - depth
    if floor <= 0.0:
        what = Sentence.of(
            f"the {end} is only {{all}} thick; a seat {{depth}} deep goes through", all=piece.thickness, depth=depth
        )
        conflicts.append(Conflict("seat floor", what, Place(end, path="choices.height_to")))
        depth, floor = piece.seat.depth, piece.floor
    opening = None
    if piece.opening is not None:
        opening = Opening(piece.opening.held or HeldCurve.of(old.oval, inner - piece.lip.width))
    # What runs parallel to the seat keeps the curve it has; along an outside that is held it does so anyway.
    inner_wall = HeldCurve.of(old.oval, inner)
    outside = None if piece.held_outside else HeldCurve.of(old.oval, outer + piece.wall)
    reworked = replace(
        piece,
        seat=replace(piece.seat, gap_outer=gap_outer, gap_inner=gap_inner, depth=depth),
        floor=floor,
        lip=replace(piece.lip, height=_lip_height_left(piece, floor, depth)),
        held_outside=piece.held_outside or outside,
        opening=opening,
        earlier_seat=EarlierSeat(HeldCurve.of(old.oval, outer), inner_wall, piece.seat.depth, piece.lip.height),
        features=tuple(f.held_on(inner_wall, outside) for f in piece.features),
    )
    c = curves(reworked, new, end)
    there = curves(piece, old, end)
    guide = guided_by if piece.lip.height > 0.0 else Side.OUTER
    _note_missing_metal(c, there, end, guide, conflicts)
    standing = standing_walls(c, (there.seat_outer, there.seat_inner))
    lip = _lip_left(reworked.lip, standing[1], c.opening)
    return replace(reworked, wall=_least_between(standing[0], c.outside), lip=lip)


def _lip_height_left(piece: Piece, floor: float, depth: float) -> float:
    """How high the lip stands over the deepened floor; a floor without a lip is faced right up to the opening [mm]."""
    return min(piece.lip.height + piece.floor - floor, depth) if piece.lip.height > 0.0 else 0.0


def _note_missing_metal(new: Curves, old: Curves, end: End, guide: Side, conflicts: list[Conflict]) -> None:
    """Where the old seat reaches past the new one, the wall that should guide the rim isn't there any more.

    Of the other wall the gap tells, which is measured to the wall that stands: wide alone, it is no reason to give a
    casting up.
    """
    is_outer = guide is Side.OUTER
    wanted, there = (new.seat_outer, old.seat_outer) if is_outer else (new.seat_inner, old.seat_inner)
    points = there.points_at(there.length * (_STATIONS / len(_STATIONS)))
    past = (1.0 if is_outer else -1.0) * wanted.signed_distance(points)
    worst = int(past.argmax())
    if past[worst] > 1e-6:
        what = Sentence.of(
            f"the {end}'s old seat is {{past}} past the new {guide} wall here: metal can't be put back; "
            "look at the gap there, fill the seat, or cast anew",
            past=float(past[worst]),
        )
        at = (float(points[worst, 0]), float(points[worst, 1]))
        conflicts.append(Conflict(f"seat {guide}", what, Place(end, at, outline=wanted, path="choices.mode")))


def _stud(stud: Stud, old: Housing, new: Housing, limits: Limits) -> Stud:
    was, now = stud_stack(old, stud, limits).length, stud_stack(new, stud, limits).length
    return replace(stud, length=followed_length(stud, was, now))
