"""Rework: a casting from the shelf is machined out; nothing else moves, and metal that is gone stays gone."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from msgspec.structs import replace

from core.metal.curves import curves
from core.metal.walls import standing_walls
from core.part.housing import EarlierSeat, Opening
from core.resize.task import SAME_MM, least_between, lip_left
from core.words.ends import Side
from core.words.verdicts import Place, Sentence

if TYPE_CHECKING:
    from core.features.ground import Curves
    from core.part.housing import Piece
    from core.resize.task import Task

_STATIONS = np.arange(720.0)


def reworked(task: Task) -> Piece:
    """The casting from the shelf with its seat machined out to the new insert; all else as it was."""
    piece, seat, old, new, end = task.piece, task.seat, task.old, task.new, task.end
    same = old.oval == new.oval and old.rim_at(end) == new.rim_at(end)
    if same and (seat.gap_outer, seat.gap_inner, seat.depth) == (
        piece.seat.gap_outer,
        piece.seat.gap_inner,
        piece.seat.depth,
    ):
        return piece
    depth, floor = _depth_left(task)
    outer, inner = task.outer, task.inner
    made = replace(
        piece,
        seat=replace(seat, depth=depth),
        floor=floor,
        lip=replace(piece.lip, height=_lip_height_left(piece, floor, depth)),
        held_outside=task.outside,
        opening=None if piece.opening is None else Opening(task.opening),
        earlier_seat=EarlierSeat(outer, inner, piece.seat.depth, piece.lip.height),
        # What runs parallel to the seat keeps the curve it has; along an outside that is held it does so anyway.
        features=tuple(f.held_on(inner, None if piece.held_outside else task.outside) for f in piece.features),
    )
    now, there = curves(made, new, end), curves(piece, old, end)
    _note_missing_metal(task, now, there)
    outer_wall, inner_wall = standing_walls(now, (there.seat_outer, there.seat_inner))
    return replace(made, wall=least_between(outer_wall, now.outside), lip=lip_left(made.lip, inner_wall, now.opening))


def _depth_left(task: Task) -> tuple[float, float]:
    """Depth of the seat and height of its floor [mm]: as wanted, or as they are where that can't be."""
    piece, end, depth = task.piece, task.end, task.seat.depth
    if piece.earlier_seat is not None:
        what = Sentence(
            f"the {end} was machined out before, and only one old seat can be told from the new one: the metal that "
            "the first one took is drawn as if it were there; cast anew, or measure the casting itself"
        )
        task.tell("old seat", what, Place(end, path="choices.mode"))
    if depth < piece.seat.depth - SAME_MM:
        what = Sentence.of(
            f"the {end}'s seat is {{was}} deep already and would have to be {{now}}: metal can't be put back; "
            "let the squeeze take the height, shim the floor, or cast anew",
            was=piece.seat.depth,
            now=depth,
        )
        task.tell("seat floor", what, Place(end, path="choices.mode"))
        depth = piece.seat.depth
    floor = piece.thickness - depth
    if floor > 0.0:
        return depth, floor
    what = Sentence.of(
        f"the {end} is only {{all}} thick; a seat {{depth}} deep goes through", all=piece.thickness, depth=depth
    )
    task.tell("seat floor", what, Place(end, path="choices.height_to"))
    return piece.seat.depth, piece.floor


def _lip_height_left(piece: Piece, floor: float, depth: float) -> float:
    """How high the lip stands over the deepened floor; a floor without a lip is faced right up to the opening [mm]."""
    return min(piece.lip.height + piece.floor - floor, depth) if piece.lip.height > 0.0 else 0.0


def _note_missing_metal(task: Task, new: Curves, old: Curves) -> None:
    """Where the old seat reaches past the new one, the wall that should guide the rim isn't there any more.

    Of the other wall the gap tells, which is measured to the wall that stands: wide alone, it is no reason to give a
    casting up.
    """
    guide = task.choices.guided_by if task.piece.lip.height > 0.0 else Side.OUTER
    is_outer = guide is Side.OUTER
    wanted, there = (new.seat_outer, old.seat_outer) if is_outer else (new.seat_inner, old.seat_inner)
    points = there.points_at(there.length * (_STATIONS / len(_STATIONS)))
    past = (1.0 if is_outer else -1.0) * wanted.signed_distance(points)
    worst = int(past.argmax())
    if past[worst] > 1e-6:
        what = Sentence.of(
            f"the {task.end}'s old seat is {{past}} past the new {guide} wall here: metal can't be put back; "
            "look at the gap there, fill the seat, or cast anew",
            past=float(past[worst]),
        )
        at = (float(points[worst, 0]), float(points[worst, 1]))
        task.tell(f"seat {guide}", what, Place(task.end, at, outline=wanted, path="choices.mode"))
