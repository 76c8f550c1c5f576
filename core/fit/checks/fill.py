"""Room for the rim: solid rubber keeps its volume, so what the lid squeezes out must find room beside the rim.

The rim's section, width × free thickness, over the closed seat's, wall to wall × what the rims have left in height when
the lid is down, each rim its share by thickness. Foam and sponge give way by their pores, cork nearly so; of a rim
whose material is not stated nothing worse is said than that it may be overfull.
"""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING, Final

from core.fit.checks.squeeze import closings
from core.fit.ways_out.depth import depth_remedies
from core.part.materials import MATERIALS, Material
from core.words.ends import Side
from core.words.verdicts import Bound, Edit, Place, Remedy, Sentence, Unit, Verdict

if TYPE_CHECKING:
    from core.fit.case import Case
    from core.fit.checks.squeeze import Closing
    from core.words.ends import End
    from core.words.verdicts import Finding

KEY = "fill"

_MOST: Final = 1000.0
"""Per cent from which on a figure says no more than that there is no room at all."""


def check(case: Case) -> tuple[Finding, ...]:
    """How full each closed seat is, with a rim that solid rubber makes or may make; none where no wall holds it in."""
    row = MATERIALS[case.insert.material]
    may_be_solid = row.is_yielding and row.keeps_volume is not False
    if case.housing.lid is None or not may_be_solid:
        return ()
    ends = [end for end in case.housing.ends if (piece := case.housing.piece(end)) and piece.lip.height > 0.0]
    return tuple(_filled(case, end) for end in ends)


def _filled(case: Case, end: End) -> Finding:
    rim, spread, limit = case.insert.rim_at(end), case.insert.plus_minus, case.limits.fill
    # Steiner: two walls that stand the distance d apart all the way round differ by 2πd in length.
    width = (case.gap(end, Side.OUTER).wall_length - case.gap(end, Side.INNER).wall_length) / (2.0 * pi)
    every = closings(case)
    nominal = _fill(rim.width, width, every[0])
    value = _fill(rim.width + spread.rim_width, width, every[-1])
    judged = Bound(value, high=limit, unit=Unit.PERCENT).judged(case.limits.marginal)
    reads = f"the rim fills {nominal:.0f} % of the {end}'s closed seat"
    if nominal >= _MOST:
        reads = f"the {end}'s closed seat leaves the rim no room at all"
    elif value - nominal > 0.05:
        reads += f", {value:.0f} % at the ends of the sizes' spread"
    is_stated = case.insert.material is not Material.NOT_STATED
    remedies: tuple[Remedy, ...] = ()
    if judged.is_go:
        text = f"{reads}, at most {limit:g} % is wanted of solid rubber"
    elif not is_stated:
        judged = judged.but(Verdict.MARGINAL)
        text = f"{reads}; at most {limit:g} % is wanted, should it be of solid rubber, which keeps its volume"
        remedies = (Remedy("choose what the rims are made of, with the insert's sizes"),)
    else:
        near = "at most" if judged.verdict is Verdict.NO_GO else "close to the most of"
        text = f"{reads}; {near} {limit:g} % is wanted, since solid rubber keeps its volume and must have room to swell"
        remedies = _roomier(case, end, value / (limit * (1.0 - judged.band)), width)
    path = "choices.gap_inner" if is_stated else "new_insert.material"
    left = _left(every[0]) * rim.thickness
    formula = Sentence.of(
        "fill = rim {rim} × {thickness} over closed seat {width} × {left}" + f" = {nominal:.1f} %",
        rim=rim.width,
        thickness=rim.thickness,
        width=width,
        left=left,
    )
    piece = case.after.piece(end)
    assert piece is not None
    place = Place(end, outline=piece.curves.seat_outer, feature="seat", path=path)
    name = f"room for the rim, {end}"
    return judged.finding(check=KEY, name=name, place=place, advice=Sentence(text), formula=formula, remedies=remedies)


def _left(closing: Closing) -> float:
    """The part of its free thickness that each rim has left when the lid is down."""
    return (closing.soft - closing.squeeze) / closing.soft if closing.soft > 0.0 else 0.0


def _fill(rim: float, width: float, closing: Closing) -> float:
    """How full the seat is [%]."""
    room = width * _left(closing)
    return min(100.0 * rim / room, _MOST) if room > 0.0 else _MOST


def _roomier(case: Case, end: End, times: float, width: float) -> tuple[Remedy, ...]:
    """A wider seat, less squeeze, or another rim; ``times`` is how much more room is wanted."""
    piece = case.housing.piece(end)
    assert piece is not None
    by = (times - 1.0) * width
    wider = tuple(
        Remedy(
            f"make the seat's {side} gap {{by}} wider, {{to}}", (Edit(f"choices.gap_{side}", start=gap, per=1.0),), by
        )
        for side, gap in ((Side.INNER, piece.seat.gap_inner), (Side.OUTER, piece.seat.gap_outer))
    )
    closing = closings(case)[-1]
    higher = (times - 1.0) * max(closing.soft - closing.squeeze, 0.0)
    deeper = depth_remedies(case, higher, deeper=True) if higher > 0.0 else ()
    return (*wider, *deeper, Remedy("take an insert with a narrower rim, or one of foam"))
