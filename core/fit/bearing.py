"""Bearing of the rims on the seat floor: area, and the narrowest width with the insert centred and pushed over.

What counts as bearing, and how the insert is pushed, is told in `core.fit.ring`.
"""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING

from core.fit.ring import TIE_MM, Push, Ring
from core.fit.words import direction_words, enough, is_rework, lip_path, path_of, whereabouts
from core.verdicts import Finding, Place, Sentence, Unit, Verdict, judge, plain

if TYPE_CHECKING:
    from core.fit.case import Case
    from core.housing import Piece
    from core.metal import Part
    from core.slabs import ResolvedPiece

KEY = "bearing"


def check(case: Case) -> tuple[Finding, ...]:
    """For each piece: the narrowest bearing pushed over and centred, and the area centred."""
    findings: list[Finding] = []
    for resolved in case.after.pieces:
        piece = case.housing.piece(resolved.end)
        assert piece is not None
        ring = Ring(case, resolved, piece)
        findings += [
            _pushed(case, resolved, piece, ring),
            _width(case, resolved, piece, ring, ring.centred(), "centred", "with the insert centred"),
            _area(resolved, ring),
        ]
    return tuple(findings)


def _pushed(case: Case, resolved: ResolvedPiece, piece: Piece, ring: Ring) -> Finding:
    push = ring.worst_push()
    where = "any side" if push.is_any else direction_words(push.angle)
    how = f"with the insert pushed {{travel}} to {where}" if push.travel > TIE_MM else "though the insert can't move"
    return _width(case, resolved, piece, ring, push, "pushed over", how)


def _width(case: Case, resolved: ResolvedPiece, piece: Piece, ring: Ring, push: Push, name: str, how: str) -> Finding:
    end, limit = resolved.end, case.limits.bearing_least
    verdict, margin = judge(push.width, low=limit, high=None, marginal_percent=case.limits.marginal)
    where = "all round"
    if push.missing > TIE_MM and (not push.is_any or push.hollow > TIE_MM or not ring.is_even):
        where = f"{whereabouts(push.outer_end, resolved.curves.seat_outer)} of"
    text = f"bearing {{value}} {where} the {end}'s floor {how}"
    short = limit * (1.0 + case.limits.marginal / 100.0 if verdict is Verdict.MARGINAL else 1.0) - push.width
    remedy, path = _remedy(case, resolved, piece, ring, push)
    # A smaller corner radius gives at both walls, where the rim lies on both fillets.
    both = min(push.outer, push.inner)
    less = short / 2.0 if short <= 2.0 * both else short - both
    if verdict is Verdict.GO:
        text += "; {limit} is wanted"
    else:
        wanted = "{limit} wanted" if verdict is Verdict.NO_GO else "close to the {limit} wanted"
        text += f"; {wanted}: {remedy}"
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
        Sentence.of(
            text,
            value=push.width,
            travel=push.travel,
            limit=limit,
            short=enough(case, short),
            less=enough(case, less),
            rim=ring.width,
        ),
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
    )


def _remedy(case: Case, resolved: ResolvedPiece, piece: Piece, ring: Ring, push: Push) -> tuple[str, str]:
    """What to do about a narrow bearing, and the project's path for it."""
    if ring.width < case.limits.bearing_least - TIE_MM:
        return "the rim itself is only {rim} wide, so accept a narrower bearing", "limits.bearing_least"
    if push.missing <= TIE_MM:
        return "the rim itself is {rim} wide, so accept it or choose a wider rim", "limits.bearing_least"
    if push.hollow >= max(push.outer, push.inner):
        return _hollow_remedy(case, resolved, ring, push)
    side, gap = ("outer", piece.seat.gap_outer) if push.outer >= push.inner else ("inner", piece.seat.gap_inner)
    if gap < 0.0:
        return f"the rim rides up on the wall: make the {side} gap {{short}} wider", f"choices.gap_{side}"
    return "make the seat's corner radius {less} smaller", f"housing.{resolved.end}.seat.corner_radius"


def _hollow_remedy(case: Case, resolved: ResolvedPiece, ring: Ring, push: Push) -> tuple[str, str]:
    if is_rework(case):
        return "the casting is open there and metal can't be put back, so accept it or cast anew", "choices.mode"
    part = _hollow_part(resolved, ring, push)
    if part is None or part.kind == "opening":
        return "make the lip {short} wider", lip_path(case)
    if part.kind == "pocket":
        inset = path_of(case, part, resolved.end, "inset")
        return f"set {plain(part.name)} {{short}} further in from the seat", inset
    action = f"{plain(part.name)} opens the floor there: move it {{short}} away or make it smaller"
    return action, path_of(case, part, resolved.end)


def _hollow_part(resolved: ResolvedPiece, ring: Ring, push: Push) -> Part | None:
    """The smallest part that took the metal under the narrowest bearing away; None where there never was any."""
    at = ring.open_place(push)
    if at is None:
        return None
    took = [p for p in resolved.parts if not p.adds and p.z0 < resolved.floor and p.outline.contains([at])[0]]
    return min(took, key=lambda part: abs(part.outline.area), default=None)


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
