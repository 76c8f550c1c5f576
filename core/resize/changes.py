"""What resizing changed, and what it left alone: one row a quantity, with the reason."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from core.features.follow import distance_between
from core.features.kind import Follows
from core.features.placed import PLACE
from core.features.straight import OFFSET
from core.features.stud.kinds import KINDS
from core.features.stud.stud import bore
from core.metal.clearance import TOUCHES_MM, clearance_within
from core.part.project import Choices, HeightTo, Hold, HoldInside, Mode
from core.words.ends import End
from core.words.verdicts import Place

if TYPE_CHECKING:
    from collections.abc import Iterator

    from core.features.registry import Feature
    from core.geometry.lines.outline import Outline, Point
    from core.metal.slabs import Resolved, ResolvedPiece
    from core.part.housing import Piece

# Below this a quantity is what it was: a picometre is rounding, not a change.
UNCHANGED_MM = 1e-9


class Change(Struct, frozen=True):
    """One quantity of one feature, before and after.

    Attributes:
        feature: its name; ``end`` is None for what belongs to both pieces.
        quantity: what of it.
        was, now: [mm]; None where there was or is none.
        by: now less was; for a place, how far it moved [mm].
        why: the rule that it followed.
    """

    end: End | None
    feature: str
    quantity: str
    was: float | None
    now: float | None
    by: float
    why: str
    place: Place

    @property
    def is_change(self) -> bool:
        """Whether anything changed at all."""
        return abs(self.by) > UNCHANGED_MM


_STUCK_WHY = "can't follow, and stays where it was: see the conflicts"
_FOLLOWS_WHY = {
    Follows.MACHINE: "fixed to the machine: never moves",
    Follows.SEAT: "keeps its distance from the seat",
    Follows.OUTSIDE: "keeps its distance from the outside",
    Follows.SPREAD: "keeps its fraction of the opening",
    Follows.CENTRE: "keeps its place at the centre",
}


def changes(
    before: Resolved, after: Resolved, choices: Choices, stuck: frozenset[str] = frozenset()
) -> tuple[Change, ...]:
    """Every quantity that the resizing could have changed, in the order of the job; see ``Change.is_change``.

    Args:
        before: the housing as built.
        after: the housing now.
        choices: what is held, and where the height goes.
        stuck: paths of the rules that could not be followed, see `core.resize.resize`.
    """
    rows: list[Change] = []
    for end in before.housing.ends:
        old, new = before.piece(end), after.piece(end)
        old_piece, new_piece = before.housing.piece(end), after.housing.piece(end)
        assert old is not None
        assert new is not None
        assert old_piece is not None
        assert new_piece is not None
        rows += _curve_rows(end, old, new, choices)
        lips = _lip_left(old, old_piece), _lip_left(new, new_piece)
        rows += _size_rows(end, old_piece, new_piece, lips, choices)
        for i, (was, now) in enumerate(zip(old_piece.features, new_piece.features, strict=True)):
            rows += _feature_rows(end, (was, old), (now, new), f"features[{i}]", choices)
    rows += _housing_rows(before, after, choices)
    return tuple(replace(row, why=_STUCK_WHY) if _is_stuck(row, stuck) else row for row in rows)


def _is_stuck(row: Change, stuck: frozenset[str]) -> bool:
    return row.quantity in (PLACE, OFFSET) and f"{row.place.path}.follows" in stuck


def _row(
    end: End | None, feature: str, quantity: str, was: float | None, now: float | None, why: str, place: Place
) -> Change:
    return Change(end, feature, quantity, was, now, (now or 0.0) - (was or 0.0), why, place)


def _extent(outline: Outline | None) -> tuple[float | None, float | None]:
    if outline is None:
        return None, None
    x0, y0, x1, y1 = outline.bounds
    return x1 - x0, y1 - y0


def _curve_rows(end: End, old: ResolvedPiece, new: ResolvedPiece, choices: Choices) -> Iterator[Change]:
    rework = choices.mode is Mode.REWORK
    seat_why = "machined out to the new rim plus the gap" if rework else "the new rim plus the gap"
    outside_why = (
        "the casting's outside stays"
        if rework
        else "held by choice: the wall takes the change"
        if choices.hold is Hold.OUTSIDE
        else "keeps the wall round the seat"
    )
    opening_why = (
        "the casting's opening stays"
        if rework
        else "held by choice: the lip takes the change"
        if choices.hold_inside is HoldInside.OPENING
        else "keeps the lip inside the seat"
    )
    for name, was, now, cut, why in (
        ("seat outer", old.walls[0], new.walls[0], new.curves.seat_outer, seat_why),
        ("seat inner", old.walls[1], new.walls[1], new.curves.seat_inner, seat_why),
        ("opening", old.curves.opening, new.curves.opening, new.curves.opening, opening_why),
        ("outside", old.curves.outside, new.curves.outside, new.curves.outside, outside_why),
    ):
        if was is None and now is None:
            continue
        place = Place(end, outline=now or was, feature=name)
        for quantity, a, b, wanted in zip(("length", "width"), _extent(was), _extent(now), _extent(cut), strict=True):
            # Metal that is gone stays gone: a casting's seat can be cut larger, and its inner wall smaller, only.
            stays = b is not None and wanted is not None and abs(b - wanted) > UNCHANGED_MM
            reason = "metal can't be put back: the old wall stays" if stays else why
            yield _row(end, name, quantity, a, b, reason, place)


def _lip_left(resolved: ResolvedPiece, piece: Piece) -> float:
    """How wide the lip is where it is thinnest, with what the pockets leave of it [mm]; 0 where it is cut through."""
    wall = next(part for part in resolved.parts if part.kind == "seat" and part.is_inner)
    pockets = [p for p in resolved.parts if p.kind == "pocket" and min(p.z1, wall.z1) > max(p.z0, wall.z0)]
    left = (clearance_within(pocket.outline, resolved.walls[1]).value for pocket in pockets)
    return _there(min([piece.lip.width, *left]))


def _there(width: float) -> float:
    """The width of metal; what only stands for none is none."""
    return width if width > TOUCHES_MM else 0.0


def _inset(resolved: ResolvedPiece, path: str) -> float | None:
    """How far the edge of the feature at ``path`` lies inside the seat's inner wall [mm], below 0 past it."""
    part = next((part for part in resolved.parts if part.path == path), None)
    return None if part is None else clearance_within(part.outline, resolved.walls[1]).value


def _size_rows(end: End, old: Piece, new: Piece, lips: tuple[float, float], choices: Choices) -> Iterator[Change]:
    own = {"wall": choices.wall, "lip": choices.lip, "gap outer": choices.gap_outer, "gap inner": choices.gap_inner}
    for name, was, now, path in (
        ("gap outer", old.seat.gap_outer, new.seat.gap_outer, "seat.gap_outer"),
        ("gap inner", old.seat.gap_inner, new.seat.gap_inner, "seat.gap_inner"),
        ("wall", _there(old.wall), _there(new.wall), "wall"),
        ("lip", *lips, "lip.width"),
        ("lip height", old.lip.height, new.lip.height, "lip.height"),
        ("seat", old.seat.depth, new.seat.depth, "seat.depth"),
        ("floor", old.floor, new.floor, "floor"),
        ("piece", old.thickness, new.thickness, "floor"),
    ):
        if name == "lip" and lips[1] < _there(new.lip.width) - UNCHANGED_MM:
            why = "what the pocket leaves of it"
        elif name in ("wall", "lip") and choices.mode is Mode.REWORK:
            why = "what machining leaves of it, since metal can't be put back"
        elif own.get(name) is not None:
            why = "set by you for the new housing"
        elif name in ("wall", "lip"):
            held = choices.hold is Hold.OUTSIDE if name == "wall" else choices.hold_inside is HoldInside.OPENING
            why = "takes the change, since the other side is held" if held else "held"
        elif name in ("seat", "piece"):
            why = _height_why(end, choices)
        else:
            why = "kept as built"
        quantity = {"seat": "depth", "piece": "thickness"}.get(name, "size")
        yield _row(end, name, quantity, was, now, why, Place(end, feature=name, path=f"housing.{end}.{path}"))


def _height_why(end: End, choices: Choices) -> str:
    takes = {HeightTo.BASE: End.BASE, HeightTo.LID: End.LID}.get(choices.height_to)
    if takes is end:
        return f"the height change goes to the {end} by choice"
    return f"the height change goes elsewhere: to the {choices.height_to}"


def _feature_rows(
    end: End, was: tuple[Feature, ResolvedPiece], now: tuple[Feature, ResolvedPiece], path: str, choices: Choices
) -> Iterator[Change]:
    feature = was[0]
    why = "the casting is there already" if choices.mode is Mode.REWORK else _FOLLOWS_WHY[feature.follows]
    place = Place(end, feature=feature.name, path=f"housing.{end}.{path}")
    before, after = (one.quantities(partial(_inset, resolved, path)) for one, resolved in (was, now))
    for (quantity, a), (_, b) in zip(before, after, strict=True):
        if isinstance(a, tuple):
            assert isinstance(b, tuple)
            yield _move(end, feature.name, a, b, why, place)
        else:
            assert not isinstance(b, tuple)
            yield _row(end, feature.name, quantity, a, b, why, place)


def _move(end: End | None, name: str, was: Point, now: Point, why: str, place: Place) -> Change:
    """A place has no sign: was and now are its distances from the centre, ``by`` how far it moved."""
    return Change(
        end,
        name,
        PLACE,
        distance_between(was, (0.0, 0.0)),
        distance_between(now, (0.0, 0.0)),
        distance_between(was, now),
        why,
        Place(end, now, feature=place.feature, path=place.path),
    )


def _housing_rows(before: Resolved, after: Resolved, choices: Choices) -> Iterator[Change]:
    old, new = before.housing, after.housing
    if old.lid is not None:
        why = "the height change goes here by choice" if choices.height_to is HeightTo.SPACER else "kept as built"
        place = Place(feature="spacer", path="housing.faces.distance")
        yield _row(None, "faces", "distance", old.faces.distance, new.faces.distance, why, place)
    for i, (was, now) in enumerate(zip(old.studs, new.studs, strict=True)):
        place = Place(point=(now.x, now.y), feature=was.name, path=f"housing.studs[{i}]")
        yield _move(None, was.name, (was.x, was.y), (now.x, now.y), _FOLLOWS_WHY[was.follows], place)
        why = f"the stack it passes; counted {KINDS[now.kind].counts}"
        yield _row(None, was.name, "stud length", was.length, now.length, why, place)
        for end in new.ends:
            a, b = bore(was, end), bore(now, end)
            at = Place(end, (now.x, now.y), feature=was.name, path=f"housing.studs[{i}].thread")
            yield _row(end, was.name, f"{b.purpose}, drill", a.diameter, b.diameter, "drilled; never scaled", at)
            if b.depth is not None:
                yield _row(end, was.name, f"{b.purpose}, depth", a.depth, b.depth, "drilled; without its point", at)
