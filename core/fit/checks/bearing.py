"""Bearing of the rims on the seat floor: area, and the narrowest width with the insert centred and pushed over.

What counts as bearing, and how the insert is pushed, is told in `core.fit.seat.ring`. Told is the insert within the
spread of the sizes that bears least: its rim is as narrow as may be, and it is as small as may be, or as large.
"""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING

from core.fit.seat.extremes import narrowest
from core.fit.seat.floor import seat_floor
from core.fit.seat.ring import TIE_MM, Push, Ring
from core.fit.ways_out.bearing import bearing_path, bearing_remedies
from core.words.verdicts import Finding, Place, Sentence, Unit, Verdict, judge
from core.words.whereabouts import direction_words, whereabouts

if TYPE_CHECKING:
    from collections.abc import Sequence

    from core.fit.case import Case
    from core.metal.slabs import ResolvedPiece
    from core.part.housing import Piece

KEY = "bearing"


def check(case: Case) -> tuple[Finding, ...]:
    """For each piece: the narrowest bearing pushed over and centred, and the area centred."""
    findings: list[Finding] = []
    for resolved in case.after.pieces:
        piece = case.housing.piece(resolved.end)
        assert piece is not None
        floor = seat_floor(resolved, piece)
        rings = [Ring(case, resolved, floor, other) for other in (None, *narrowest(case.insert))]
        centred = [r.centred() for r in rings]
        findings += [
            _pushed(case, resolved, piece, rings),
            _width(case, resolved, piece, rings, centred, "centred", "with the insert centred"),
            _area(resolved, rings[0]),
        ]
    return tuple(findings)


def _pushed(case: Case, resolved: ResolvedPiece, piece: Piece, rings: Sequence[Ring]) -> Finding:
    pushes = [ring.worst_push() for ring in rings]
    push = pushes[_worst(pushes)]
    where = "any side" if push.is_any else direction_words(push.angle)
    how = f"with the insert pushed {{travel}} to {where}" if push.travel > TIE_MM else "though the insert can't move"
    return _width(case, resolved, piece, rings, pushes, "pushed over", how)


def _worst(pushes: Sequence[Push]) -> int:
    """Which of the inserts within the spread bears least: of equals the one that was typed."""
    return min(range(len(pushes)), key=lambda i: round(pushes[i].width / TIE_MM))


def _width(
    case: Case,
    resolved: ResolvedPiece,
    piece: Piece,
    rings: Sequence[Ring],
    pushes: Sequence[Push],
    name: str,
    how: str,
) -> Finding:
    end, limit, worst = resolved.end, case.limits.bearing_least, _worst(pushes)
    ring, push, typed = rings[worst], pushes[worst], pushes[0].width
    verdict, margin = judge(push.width, low=limit, high=None, marginal_percent=case.limits.marginal)
    where = "all round"
    if push.missing > TIE_MM and (not push.is_any or push.hollow > TIE_MM or not ring.is_even):
        where = f"{whereabouts(push.outer_end, resolved.curves.seat_outer)} of"
    reads = f"bearing {{value}} {where} the {end}'s floor {how}"
    if worst:
        reads += ", with the spread of the sizes; {typed} without"
    ends = {
        Verdict.GO: "at least {limit} is wanted",
        Verdict.MARGINAL: "close to the {limit} wanted",
        Verdict.NO_GO: "at least {limit} is wanted",
    }
    target = limit * (1.0 + case.limits.marginal / 100.0 if verdict is Verdict.MARGINAL else 1.0)
    is_go = verdict is Verdict.GO
    path = bearing_path(case, resolved, piece, ring, push)
    return Finding(
        KEY,
        f"narrowest bearing, {name}, {end}",
        verdict,
        push.width,
        Unit.LENGTH,
        limit,
        None,
        margin,
        Place(end, push.outer_end, push.inner_end, feature="seat floor", path=path),
        Sentence.of(f"{reads}; {ends[verdict]}", value=push.width, travel=push.travel, limit=limit, typed=typed),
        Sentence.of(
            "rim {rim} − past the floor outside {outer} − inside {inner} − over openings {hollow} = {value}; the floor "
            "ends at the corner radius of {fillet}",
            rim=ring.width,
            outer=push.outer,
            inner=push.inner,
            hollow=push.hollow,
            value=push.width,
            fillet=ring.fillet,
        ),
        () if is_go else bearing_remedies(case, resolved, piece, ring, push, target),
    )


def _area(resolved: ResolvedPiece, ring: Ring) -> Finding:
    area = ring.area()
    share = 100.0 * area / ring.rim_area
    return Finding(
        KEY,
        f"bearing area, {resolved.end}",
        Verdict.GO,
        area,
        Unit.AREA,
        None,
        None,
        inf,
        Place(resolved.end, outline=resolved.curves.rim_outer, feature="seat floor"),
        Sentence(f"{share:.1f} % of the rim rests on the {resolved.end}'s floor with the insert centred"),
        Sentence.of(
            "rim area less what lies over corner radius {fillet}, openings and holes; rim {rim} wide, {length} long "
            "outside",
            fillet=ring.fillet,
            rim=ring.width,
            length=resolved.curves.rim_outer.length,
        ),
    )
