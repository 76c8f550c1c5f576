"""What the rounded edge of the outer face leaves of the corner between wall and floor.

Seen across the wall, the edge's radius R takes metal away round a centre that lies R behind the outside and R over the
outer face. The seat's wall w, its floor f and the fillet r between them come nearest to that arc where the line from
its centre through the fillet's leaves the fillet: R − (hypot(R − w − r, R − f − r) + r) is left there. Where R reaches
past only one of w + r and f + r, or none, the arc is nowhere nearer than wall and floor are to the flat faces. Plane
geometry, held against sampled distances in the tests.
"""

from __future__ import annotations

from math import hypot
from typing import TYPE_CHECKING

from msgspec import Struct

from core.fit.checks.web import KEY
from core.fit.words import is_rework, wanted_words
from core.geometry.regions.webs import closest
from core.part.project import HeightTo
from core.words.verdicts import Bound, Edit, Place, Remedy, Sentence, plain
from core.words.whereabouts import whereabouts

if TYPE_CHECKING:
    from collections.abc import Iterator

    from core.fit.case import Case
    from core.geometry.lines.outline import Point
    from core.metal.order import Part
    from core.metal.slabs import ResolvedPiece
    from core.part.housing import Piece
    from core.words.verdicts import Finding

_HALVINGS = 40


def left_in_corner(radius: float, wall: float, floor: float, fillet: float) -> float:
    """Least metal between the rounded edge and the hollow behind it [mm]; below 0 the edge cuts through.

    Args:
        radius: of the outer face's edge [mm].
        wall: metal beside the hollow [mm].
        floor: metal under it [mm].
        fillet: radius between the hollow's wall and its floor [mm].
    """
    aside, up = radius - wall - fillet, radius - floor - fillet
    if aside <= 0.0 or up <= 0.0:
        return min(wall, floor)
    return radius - (hypot(aside, up) + fillet)


def check(case: Case) -> tuple[Finding, ...]:
    """For each hollow behind a rounded edge that eats into its corner, what is left there."""
    return tuple(finding for piece in case.after.pieces for finding in _of_piece(case, piece))


class _Corner(Struct, frozen=True):
    """A hollow's corner behind the edge: the metal beside it and under it, its fillet, and what is left [mm]."""

    name: str
    wall: float
    floor: float
    fillet: float
    left: float
    at: Point
    feature: str
    floor_path: str


def _of_piece(case: Case, piece: ResolvedPiece) -> Iterator[Finding]:
    own = case.housing.piece(piece.end)
    assert own is not None
    radius = own.edge_radius
    earlier = piece.named("old seat")
    for part in piece.parts:
        fillet = _fillet(own, part)
        # Of an old seat the outer wall comes first; the inner one is no hollow of its own.
        if fillet is None or radius <= part.z0 + fillet or part in earlier[1:] or not _lies_in(part, piece):
            continue
        across = closest(part.outline, piece.curves.outside)
        if radius <= across.width_mm + fillet:
            continue
        left = left_in_corner(radius, across.width_mm, part.z0, fillet)
        is_own = part.path.startswith("features")
        hollow = plain(part.name) if is_own else "old seat" if part.kind == "old seat" else "seat"
        floor_path = f"housing.{piece.end}.{part.path}.floor" if is_own else f"housing.{piece.end}.floor"
        corner = _Corner(hollow, across.width_mm, part.z0, fillet, left, across.a, part.name, floor_path)
        yield _finding(case, piece, corner, radius)


def _fillet(own: Piece, part: Part) -> float | None:
    """The fillet of a hollow at its outer wall [mm]; None for what is no hollow's outer wall."""
    if part.name == "seat outer" or part.kind == "old seat":
        return own.seat.corner_radius
    return 0.0 if part.kind == "pocket" else None


def _lies_in(part: Part, piece: ResolvedPiece) -> bool:
    """Whether a hollow lies in the outside altogether; where it breaks out, other checks say so."""
    return bool(piece.curves.outside.contains(part.outline.vertices[:, :2]).all())


def _finding(case: Case, piece: ResolvedPiece, corner: _Corner, radius: float) -> Finding:
    limits, end = case.limits, piece.end
    # The edge eats from the thinner of the two, so what that one must be is wanted here as well.
    of_wall = limits.web_least if corner.wall <= corner.floor else 0.0
    of_floor = limits.floor_least if corner.floor <= corner.wall else 0.0
    limit = max(of_wall, of_floor, case.housing.metal.least_section)
    judged = Bound(corner.left, low=limit).judged(limits.marginal)
    where = f"{whereabouts(corner.at, piece.curves.outside)} of the {end}"
    text = f"the edge radius {{radius}} leaves {{value}} in the corner of {corner.name} and outer face {where}"
    if corner.left <= 0.0:
        text = f"the edge radius {{radius}} cuts through into the {corner.name} {where}"
    return judged.finding(
        check=KEY,
        name=f"corner of {corner.feature if corner.floor_path.count('features') else corner.name}, {end}",
        place=Place(end, corner.at, feature=corner.feature, path=f"housing.{end}.edge_radius"),
        advice=Sentence.of(f"{text}; {wanted_words(judged.verdict)}", radius=radius, value=corner.left, limit=limit),
        formula=Sentence.of(
            "{radius} − (hypot({radius} − wall {wall} − fillet {fillet}, {radius} − floor {floor} − fillet) + fillet) "
            "is {value}",
            radius=radius,
            wall=corner.wall,
            floor=corner.floor,
            fillet=corner.fillet,
            value=corner.left,
        ),
        remedies=() if judged.is_go else _remedies(case, piece, corner, radius, judged.aim),
    )


def _remedies(case: Case, piece: ResolvedPiece, corner: _Corner, radius: float, target: float) -> tuple[Remedy, ...]:
    if is_rework(case):
        squeeze = Remedy("let the squeeze take the height", (Edit("choices.height_to", HeightTo.SQUEEZE),))
        return squeeze, Remedy("cast anew")
    path, short = f"housing.{piece.end}.edge_radius", target - corner.left
    smaller = radius - _radius_that_leaves(target, corner, radius)
    own = case.housing.piece(piece.end)
    assert own is not None
    return (
        Remedy("make the edge radius {by} smaller", (Edit(path, start=radius, per=-1.0),), smaller),
        Remedy(
            "make the floor there {by} thicker", (Edit(corner.floor_path, start=corner.floor, per=1.0),), 1.5 * short
        ),
        Remedy("make the wall {by} thicker", (Edit("choices.wall", start=own.wall, per=1.0),), 1.5 * short),
    )


def _radius_that_leaves(target: float, corner: _Corner, radius: float) -> float:
    """The greatest edge radius [mm] that leaves ``target`` in a corner, or none of the corner eaten."""
    low, high = max(corner.wall, corner.floor) + corner.fillet, radius
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        if left_in_corner(middle, corner.wall, corner.floor, corner.fillet) >= target:
            low = middle
        else:
            high = middle
    return low
