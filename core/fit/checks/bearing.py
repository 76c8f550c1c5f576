"""Bearing of the rims on the seat floor: area, and the narrowest width with the insert centred and pushed over.

What counts as bearing, and how the insert is pushed, is told in `core.fit.seat.ring`. Told is the insert within the
spread of the sizes that bears least: its rim is as narrow as may be, and it is as small as may be, or as large.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from msgspec import Struct

from core.fit.seat.extremes import narrowest
from core.fit.seat.floor import seat_floor
from core.fit.seat.ring import TIE_MM, Push, Ring
from core.fit.ways_out.bearing import bearing_path, bearing_remedies
from core.words.verdicts import Bound, Place, Sentence, Unit, Verdict
from core.words.whereabouts import direction_words, whereabouts

if TYPE_CHECKING:
    from collections.abc import Sequence

    from core.fit.case import Case
    from core.metal.slabs import ResolvedPiece
    from core.part.housing import Piece
    from core.part.insert import Insert
    from core.words.verdicts import Finding

KEY = "bearing"


def check(case: Case) -> tuple[Finding, ...]:
    """For each piece: the narrowest bearing pushed over and centred, and the area centred."""
    findings: list[Finding] = []
    for resolved in case.after.pieces:
        piece = case.housing.piece(resolved.end)
        assert piece is not None
        lying = _lying(resolved, piece, case.insert)
        seat, pushes = _Seat(case, resolved, piece, lying.rings), lying.pushed
        findings += [
            seat.width(pushes, "pushed over", _pushed_words(pushes[_worst(pushes)])),
            seat.width(lying.centred, "centred", "with the insert centred"),
            _area(resolved, lying),
        ]
    return tuple(findings)


class _Lying(Struct, frozen=True):
    """How rims lie in a seat, first the typed insert's, then those within its spread; ``area`` is the first's [mm²]."""

    rings: tuple[Ring, ...]
    pushed: tuple[Push, ...]
    centred: tuple[Push, ...]
    area: float


@lru_cache(maxsize=8)
def _lying(resolved: ResolvedPiece, piece: Piece, insert: Insert) -> _Lying:
    floor = seat_floor(resolved, piece)
    others = (Ring(other, resolved, floor, is_other=True) for other in narrowest(insert))
    rings = (Ring(insert, resolved, floor), *others)
    pushed, centred = tuple(ring.worst_push() for ring in rings), tuple(ring.centred() for ring in rings)
    return _Lying(rings, pushed, centred, rings[0].area())


def _pushed_words(push: Push) -> str:
    where = "any side" if push.is_any else direction_words(push.angle)
    return f"with the insert pushed {{travel}} to {where}" if push.travel > TIE_MM else "though the insert can't move"


def _worst(pushes: Sequence[Push]) -> int:
    """Which of the inserts within the spread bears least: of equals the one that was typed."""
    return min(range(len(pushes)), key=lambda i: round(pushes[i].width / TIE_MM))


class _Seat(Struct, frozen=True):
    """A piece's seat, and the rims within the spread that lie in it: first the one that was typed."""

    case: Case
    resolved: ResolvedPiece
    piece: Piece
    rings: Sequence[Ring]

    def width(self, pushes: Sequence[Push], name: str, how: str) -> Finding:
        """The narrowest bearing of all rims, each pushed as ``pushes`` say."""
        case, resolved, end, worst = self.case, self.resolved, self.resolved.end, _worst(pushes)
        ring, push, typed = self.rings[worst], pushes[worst], pushes[0].width
        limit = case.limits.bearing_least
        judged = Bound(push.width, low=limit).judged(case.limits.marginal)
        where = "all round"
        if push.missing > TIE_MM and (not push.is_any or push.hollow > TIE_MM or not ring.is_even):
            where = f"{whereabouts(push.outer_end, resolved.curves.seat_outer)} of"
        reads = f"bearing {{value}} {where} the {end}'s floor {how}"
        if worst:
            reads += ", with the spread of the sizes; {typed} without"
        wanted = "close to the {limit} wanted" if judged.verdict is Verdict.MARGINAL else "at least {limit} is wanted"
        path = bearing_path(case, resolved, self.piece, ring, push)
        return judged.finding(
            check=KEY,
            name=f"narrowest bearing, {name}, {end}",
            place=Place(end, push.outer_end, push.inner_end, feature="seat floor", path=path),
            advice=Sentence.of(f"{reads}; {wanted}", value=push.width, travel=push.travel, limit=limit, typed=typed),
            formula=Sentence.of(
                "rim {rim} − past the floor outside {outer} − inside {inner} − over openings {hollow} = {value}; the "
                "floor ends at the corner radius of {fillet}",
                rim=ring.width,
                outer=push.outer,
                inner=push.inner,
                hollow=push.hollow,
                value=push.width,
                fillet=ring.fillet,
            ),
            remedies=() if judged.is_go else bearing_remedies(case, resolved, self.piece, ring, push, judged.aim),
        )


def _area(resolved: ResolvedPiece, lying: _Lying) -> Finding:
    area, ring = lying.area, lying.rings[0]
    share = 100.0 * area / ring.rim_area
    return (
        Bound(area, unit=Unit.AREA)
        .judged()
        .finding(
            check=KEY,
            name=f"bearing area, {resolved.end}",
            place=Place(resolved.end, outline=resolved.curves.rim_outer, feature="seat floor"),
            advice=Sentence(f"{share:.1f} % of the rim rests on the {resolved.end}'s floor with the insert centred"),
            formula=Sentence.of(
                "rim area less what lies over corner radius {fillet}, openings and holes; rim {rim} wide, {length} "
                "long outside",
                fillet=ring.fillet,
                rim=ring.width,
                length=resolved.curves.rim_outer.length,
            ),
        )
    )
