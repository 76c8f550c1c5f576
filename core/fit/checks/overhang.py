"""Metal that hangs over: raised faces past the plate they stand on, walls over a pocket that reaches under them.

A piece is cut from both sides, down to the plane of its outer face. So what is raised on that face lies within the
plate behind it, and from the outer face up no metal lies over air; else no straight cutter and no pattern drawn out of
the sand makes it. Read off the slabs: two neighbours, and the cells that the upper one has and the lower one hasn't.
"""

from __future__ import annotations

from math import hypot
from typing import TYPE_CHECKING

import numpy as np

from core.features.alongside import Alongside
from core.features.kind import Follows
from core.fit.ways_out.moves import owner_of
from core.fit.words import is_rework, path_of
from core.metal.columns import decided_by, place_in, wide_faces
from core.part.project import Hold, HoldInside
from core.words.verdicts import Bound, Edit, Place, Remedy, Sentence, Verdict, plain
from core.words.whereabouts import whereabouts

if TYPE_CHECKING:
    from collections.abc import Iterator

    from core.fit.case import Case
    from core.geometry.lines.outline import FloatArray, Outline, Point
    from core.geometry.regions.region import Region
    from core.metal.order import Part
    from core.metal.slabs import ResolvedPiece
    from core.words.verdicts import Finding

KEY = "overhang"

MOST_FINDINGS = 8
"""For one piece."""

_STEP_MM = 0.25
_GRID = 48


def check(case: Case) -> tuple[Finding, ...]:
    """A finding for each feature that hangs over, or that undercuts what lies over it; none where nothing does."""
    findings: list[Finding] = []
    for piece in case.after.pieces:
        worst: dict[str, Finding] = {}
        for finding in _of_piece(case, piece):
            if finding.name not in worst or finding.value > worst[finding.name].value:
                worst[finding.name] = finding
        findings += list(worst.values())[:MOST_FINDINGS]
    return tuple(findings)


def _of_piece(case: Case, piece: ResolvedPiece) -> Iterator[Finding]:
    for lower, upper in zip(piece.slabs, piece.slabs[1:], strict=False):
        is_raised = upper.z0 <= 0.0
        hangs, stands = (lower, upper) if is_raised else (upper, lower)
        for outer, holes in wide_faces(piece, hangs.cells & ~stands.cells):
            at = place_in(outer, holes)
            by, edge = _reach(outer, holes, stands.region)
            part = decided_by(piece, hangs if is_raised else stands, at)
            if part is not None:
                yield _finding(case, piece, part, (by, edge, outer), is_raised=is_raised)


def _reach(outer: Outline, holes: tuple[Outline, ...], support: Region) -> tuple[float, Point]:
    """How far a face reaches from what should carry it [mm], and where it reaches furthest."""
    x0, y0, x1, y1 = outer.bounds
    if support.is_empty:
        return hypot(x1 - x0, y1 - y0), outer.centroid
    edges = [
        loop.points_at(np.linspace(0.0, loop.length, max(int(loop.length / _STEP_MM), 8), endpoint=False))
        for loop in (outer, *holes)
    ]
    corners = [loop.vertices[:, :2] for loop in (outer, *holes)]
    # A bridge is carried all round: it hangs furthest in its middle.
    x, y = np.meshgrid(np.linspace(x0, x1, _GRID), np.linspace(y0, y1, _GRID))
    inside = np.stack((x.ravel(), y.ravel()), axis=1)
    is_in = outer.contains(inside)
    for hole in holes:
        is_in &= ~hole.contains(inside)
    points: FloatArray = np.concatenate((*edges, *corners, inside[is_in]))
    away = support.distance(points)
    k = int(away.argmax())
    return float(away[k]), (float(points[k, 0]), float(points[k, 1]))


def _finding(
    case: Case, piece: ResolvedPiece, part: Part, found: tuple[float, Point, Outline], *, is_raised: bool
) -> Finding:
    (by, at, outline), end = found, piece.end
    name, where = plain(part.name), f"{whereabouts(at, piece.curves.outside)} of the {end}"
    text = (
        f"{name} hangs over by {{by}} {where}, where there is no metal behind it"
        if is_raised
        else f"{name} reaches {{by}} under the metal over it {where}, where no cutter and no pattern comes out"
    )
    judged = Bound(by, high=0.0).judged().but(Verdict.NO_GO)
    return judged.finding(
        check=KEY,
        name=f"{'overhang' if is_raised else 'undercut'} of {part.name}, {end}",
        place=Place(end, at, outline=outline, feature=part.name, path=path_of(case, part, end)),
        advice=Sentence.of(text, by=by),
        formula=Sentence.of(
            "greatest distance of a raised face from the plate behind it {by}"
            if is_raised
            else "greatest distance from the wall's foot at which metal lies over air {by}",
            by=by,
        ),
        remedies=_remedies(case, piece, part, by),
    )


def _remedies(case: Case, piece: ResolvedPiece, part: Part, by: float) -> tuple[Remedy, ...]:
    feature = owner_of(case, part, piece.end)
    inset = getattr(feature, "inset", None)
    if feature is None or inset is None:
        return ()
    name, path = plain(part.name), f"housing.{piece.end}.{part.path}"
    remedies: list[Remedy] = []
    if isinstance(feature, Alongside) and feature.follows is Follows.MACHINE and not is_rework(case):
        goes_with = feature.may_follow[0]
        edits = Edit(f"{path}.follows", goes_with), Edit(f"{path}.held", None)
        remedies.append(Remedy(f"let {name} follow the {goes_with}", edits))
        remedies.append(
            Remedy("hold the opening", (Edit("choices.hold_inside", HoldInside.OPENING),))
            if goes_with is Follows.SEAT
            else Remedy("hold the outside", (Edit("choices.hold", Hold.OUTSIDE),))
        )
    remedies.append(Remedy(f"set {name} {{by}} further in", (Edit(f"{path}.inset", start=inset, per=1.0),), by))
    return tuple(remedies)
