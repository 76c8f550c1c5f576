"""Knife edges in plan: corners of the metal, at any height, that run out thinner than the limit; parts thin throughout.

What counts as either is told in `core.geometry.regions.knife_edges`; the limit is that of the thinnest metal. Both are
no-go: a web would be, which is no thinner than they are. A part is only told when no web in it is thinner than the
limit, since that is told already. What is raised on the outer face stands on the plate and can run out as it likes.
"""

from __future__ import annotations

from math import degrees
from typing import TYPE_CHECKING

from core.fit.checks.web import KEY as THINNEST
from core.fit.checks.web import limit_of
from core.fit.ways_out.web import edges_of, remedies_of
from core.fit.words import part_words, parts_at, path_of
from core.geometry.regions.knife_edges import knife_edges, sharp_corners, thin_parts, without_easy_room
from core.geometry.regions.region import Region
from core.geometry.regions.webs import webs
from core.metal.clearance import overlaps
from core.metal.laid import side_by_side
from core.words.verdicts import Bound, Place, Sentence, Verdict
from core.words.whereabouts import whereabouts

if TYPE_CHECKING:
    from collections.abc import Iterator

    from core.fit.case import Case
    from core.geometry.regions.knife_edges import KnifeEdge, ThinPart
    from core.metal.slabs import ResolvedPiece
    from core.words.verdicts import Finding, Remedy

KEY = "knife edge"

MOST_FINDINGS = 8
"""Knife edges, and thin parts, told for one piece."""

_SAME_MM = 1e-3


def check(case: Case) -> tuple[Finding, ...]:
    """The longest knife edges of each piece, and its parts that are thin throughout; nothing where there are none."""
    return tuple(finding for piece in case.after.pieces for finding in _of_piece(case, piece))


def _of_piece(case: Case, piece: ResolvedPiece) -> Iterator[Finding]:
    laid, limit = side_by_side(tuple(slab for slab in piece.slabs if slab.z1 > 0.0)), limit_of(case)
    if laid is None:
        return
    if len(sharp_corners(laid)):
        edges = [(edge, region) for region in laid.regions for edge in knife_edges(region, limit)]
        edges.sort(key=lambda found: -found[0].length)
        told: dict[tuple[int, int], tuple[KnifeEdge, Region]] = {}
        for edge, region in edges:
            told.setdefault((round(edge.tip[0] / _SAME_MM), round(edge.tip[1] / _SAME_MM)), (edge, region))
        for edge, region in list(told.values())[:MOST_FINDINGS]:
            yield _knife_edge(case, piece, region, edge, limit)
    if not without_easy_room(laid, limit):
        return
    thin = {part.face: (part, region) for region in laid.regions for part in thin_parts(region, limit)}
    for part, region in sorted(thin.values(), key=lambda found: found[0].thickness)[:MOST_FINDINGS]:
        if not webs(Region(part.face, (frozenset(),) * len(part.face)), limit):
            yield _thin_part(case, piece, region, part, limit)


def _knife_edge(case: Case, piece: ResolvedPiece, region: Region, edge: KnifeEdge, limit: float) -> Finding:
    parts = parts_at(piece, edge.tip, region.sources[edge.loop])
    words = list(dict.fromkeys(part_words(part) for part in parts))
    between = f"between {words[0]} and {words[1]}" if len(words) > 1 else f"at {words[0]}"
    names = list(dict.fromkeys(part.name for part in parts))
    of = next((part for part in parts if part.path.startswith(("features", "studs"))), parts[0])
    where = whereabouts(edge.tip, piece.curves.outside)
    judged = Bound(edge.length, high=limit / 2.0).judged()
    return judged.finding(
        check=KEY,
        name=f"knife edge at {' and '.join(names[:2])}, {piece.end}",
        place=Place(piece.end, edge.tip, edge.end, feature=of.name, path=path_of(case, of, piece.end)),
        advice=Sentence.of(
            f"knife edge {{length}} long {between} {where} of the {piece.end}: the metal runs out in a corner of "
            f"{degrees(edge.angle):.0f}° and is thinner than {{limit}} all that way",
            length=edge.length,
            limit=limit,
        ),
        formula=Sentence.of(
            "from the tip of the corner to a disc of {limit} pushed into it: {length}; a corner under 60° from which "
            "it stays farther away than half of that, {half}, is a knife edge",
            limit=limit,
            length=edge.length,
            half=limit / 2.0,
        ),
        remedies=_remedies(case, piece, {part.path for part in parts}, limit),
    )


def _remedies(case: Case, piece: ResolvedPiece, paths: set[str], limit: float) -> tuple[Remedy, ...]:
    """What brings the two walls apart that run into each other at the corner, where that is what makes it."""
    for overlap in overlaps(piece):
        if {overlap.one.path, overlap.other.path} <= paths:
            c = overlap.clearance
            sides = edges_of(overlap.one, overlap.other, c.a, c.b, c.value)
            return remedies_of(case, piece.end, sides, limit - c.value)
    return ()


def _thin_part(case: Case, piece: ResolvedPiece, region: Region, part: ThinPart, limit: float) -> Finding:
    parts = [piece.parts[k] for k in sorted(region.sources[part.loop])]
    of = next((p for p in parts if p.path.startswith(("features", "studs"))), parts[0])
    words = " and ".join(list(dict.fromkeys(part_words(p) for p in parts))[:2])
    judged = Bound(part.thickness, low=limit).judged().but(Verdict.NO_GO)
    return judged.finding(
        check=THINNEST,
        name=f"metal at {of.name}, {piece.end}",
        place=Place(piece.end, part.at, outline=part.face[0], feature=of.name, path=path_of(case, of, piece.end)),
        advice=Sentence.of(
            f"the metal at {words} {whereabouts(part.at, piece.curves.outside)} of the {piece.end} is too thin "
            "throughout: {value} at most; {limit} wanted",
            value=part.thickness,
            limit=limit,
        ),
        formula=Sentence.of(
            "diameter of the largest disc that fits into this part in plan: {value}; one of {limit} is wanted",
            value=part.thickness,
            limit=limit,
        ),
    )
