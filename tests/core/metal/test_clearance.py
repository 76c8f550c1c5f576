"""Clearances through zero: by circles and parallels in closed form, and by GEOS on fine chords over wild projects.

The second opinion knows nothing of the table: it looks at the metal of each slab just outside each hole, and at how far
the places of one curve lie outside another's polygon.
"""

from __future__ import annotations

from itertools import combinations_with_replacement
from math import hypot
from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely
from msgspec.structs import replace

from core.evaluate import evaluate
from core.features.crossbar import Crossbar
from core.features.ground import Made
from core.features.hole import Hole
from core.features.kind import Follows
from core.features.pocket import Pocket
from core.files.project.demos import load_demo
from core.geometry.lines.outline import Outline, circle_outline
from core.geometry.ovals.ovals import Family, Oval, oval_outline
from core.metal.clearance import RULES, Overlap, clearance_within, overlaps
from core.metal.slabs import resolve
from core.part.curve import HeldCurve
from core.part.housing import Housing, Lip, Metal, Opening, Piece, Seat
from core.part.insert import Insert, Rim
from core.part.project import Choices, Hold, HoldInside, Project
from core.resize.resize import resize
from core.words.verdicts import Finding, Verdict
from tests.support.wild import wild_project

if TYPE_CHECKING:
    from collections.abc import Callable

    from shapely.geometry.base import BaseGeometry

    from core.features.registry import Feature
    from core.geometry.lines.outline import FloatArray
    from core.metal.slabs import Resolved, ResolvedPiece

WALLS = ("hole", "pocket", "opening", "seat", "old seat", "outside")
CHORD_MM = 5e-4


def round_project(*features: Feature, lip: float = 6.0, opening: Opening | None = None, wall: float = 6.0) -> Project:
    """A round insert 100 over a rim 10 wide: the seat's walls have the radii 50.8 and 39.2."""
    insert = Insert("round", Family.CIRCLE, 100.0, 100.0, Rim(width=10.0, thickness=10.0), height=10.0)
    seat = Seat(gap_outer=0.8, gap_inner=0.8, depth=12.0)
    base = Piece(floor=6.0, seat=seat, wall=wall, lip=Lip(lip, 6.0), opening=opening, features=features)
    return Project("round", insert, insert, Housing(base=base, metal=Metal("aluminium", 2.7, 3.0)))


def thinnest(project: Project) -> Finding:
    return next(f for f in evaluate(project).findings if f.name == "thinnest metal, base")


def resized(project: Project) -> Resolved:
    new = resize(project.housing, project.old_insert, project.new_insert, project.choices, project.limits)
    return resolve(new.housing, project.new_insert)


def of_base(project: Project) -> tuple[Overlap, ...]:
    return overlaps(resized(project).base)


def names(project: Project) -> set[tuple[str, str]]:
    return {(o.one.name, o.other.name) for o in of_base(project)}


def test_every_pair_of_walls_has_one_rule() -> None:
    given = sorted(tuple(sorted(pair)) for pair in RULES)
    assert given == sorted(tuple(sorted(pair)) for pair in combinations_with_replacement(WALLS, 2))


def test_every_part_of_a_piece_is_such_a_wall_or_adds_metal() -> None:
    for seed in range(8):
        pieces = resized(wild_project(seed)).pieces
        assert all(part.adds or part.kind in WALLS for piece in pieces for part in piece.parts)


STEPS = [0.5, 0.1, 0.001, 0.0, -0.001, -0.1, -0.5, -2.0]


def through_the_lip(left: float) -> Project:
    """A pocket that stays with the machine while the new rim's inner wall comes inward."""
    project = round_project(Pocket("relief", 6.0, 3.0, Follows.MACHINE))
    rim = replace(project.new_insert.rim, width=10.0 + 6.0 - left)
    return replace(project, new_insert=replace(project.new_insert, rim=rim))


def into_each_other(left: float) -> Project:
    holes = [Hole(f"throat {k}", k * (15.0 + left / 2.0), 0.0, 30.0) for k in (-1, 1)]
    return round_project(*holes, Pocket("relief", 6.0, 5.0))


def out_of_the_wall(left: float) -> Project:
    return round_project(Hole("drain", 59.8 - left, 0.0, 6.0, Made.DRILLED), wall=12.0)


def through_a_bar(left: float) -> Project:
    return round_project(
        Crossbar("bar", 0.0, 0.0, 30.0, 8.0), Hole("throat", 0.0, 4.0 - left, 22.0), opening=Opening(), lip=5.0
    )


def a_throat_over_the_lip(left: float) -> Project:
    """A throat about the same centre as the seat: it never crosses the lip, it swallows it."""
    return round_project(Hole("throat", 0.0, 0.0, 2.0 * (39.2 - left)))


def an_opening_over_the_lip(left: float) -> Project:
    held = HeldCurve(Family.CIRCLE, 2.0 * (39.2 - left), 2.0 * (39.2 - left), 0.0)
    project = round_project(opening=Opening(held))
    return replace(project, choices=Choices(hold_inside=HoldInside.OPENING))


def a_seat_over_the_wall(left: float) -> Project:
    held = HeldCurve(Family.CIRCLE, 2.0 * (50.8 + left), 2.0 * (50.8 + left), 0.0)
    project = round_project()
    base = replace(project.housing.base, held_outside=held)
    return replace(project, housing=replace(project.housing, base=base), choices=Choices(hold=Hold.OUTSIDE))


@pytest.mark.parametrize(
    "project",
    [
        through_the_lip,
        into_each_other,
        out_of_the_wall,
        through_a_bar,
        a_throat_over_the_lip,
        an_opening_over_the_lip,
        a_seat_over_the_wall,
    ],
)
def test_through_zero_the_thinnest_metal_goes_on_and_gets_no_better(project: Callable[[float], Project]) -> None:
    for left in STEPS:
        found = thinnest(project(left))
        assert found.value == pytest.approx(left, abs=3e-6)
        assert found.verdict is Verdict.NO_GO
        assert found.place.point is not None
        assert found.place.other is not None
        (ax, ay), (bx, by) = found.place.point, found.place.other
        assert hypot(ax - bx, ay - by) == pytest.approx(abs(left), abs=3e-6)


@pytest.mark.parametrize(
    "features",
    [
        pytest.param((Crossbar("bar", 0.0, 0.0, 12.0, 8.0),), id="a bar over the opening"),
        pytest.param((Crossbar("bar", 90.0, 0.0, 12.0, 8.0), Hole("bolt", 0.0, 0.0, 6.0, boss=26.0)), id="on a bar"),
        pytest.param((Hole("throat", 0.0, 0.0, 40.0),), id="a throat in the opening"),
        pytest.param((Hole("screw", 33.2, 0.0, 6.0, Made.DRILLED, boss=22.0),), id="a boss over the opening's edge"),
        pytest.param((Pocket("step", 3.0, 3.0),), id="a pocket that is a step round the opening"),
        pytest.param((Hole("drain", 45.0, 0.0, 4.0),), id="a hole in the seat's floor"),
    ],
)
def test_what_is_meant_to_meet_is_no_overlap(features: tuple[Feature, ...]) -> None:
    assert names(round_project(*features, opening=Opening(), lip=6.0)) == set()


def test_a_throat_in_a_pocket_is_no_overlap_until_it_runs_through_the_pockets_edge() -> None:
    pocket = Pocket("relief", 6.0, 3.0)  # its radius is 33.2
    assert names(round_project(pocket, Hole("throat", 10.0, 0.0, 30.0))) == set()
    assert names(round_project(pocket, Hole("throat", 20.0, 0.0, 30.0))) == {("throat", "relief")}
    # A boss of the pocket's height closes it all round.
    assert names(round_project(pocket, Hole("throat", 20.0, 0.0, 30.0, boss=36.0))) == set()
    # A lower one doesn't, further up.
    low = Hole("throat", 20.0, 0.0, 30.0, boss=36.0, boss_height=8.0)
    (overlap,) = of_base(round_project(pocket, low))
    assert overlap.clearance.value == pytest.approx(33.2 - 20.0 - 15.0)


def test_two_holes_about_one_centre_are_one_unless_a_studs_thread_is_lost() -> None:
    assert names(round_project(Hole("a", 0.0, 0.0, 30.0), Hole("b", 0.0, 0.0, 8.0))) == set()
    project = load_demo("compressor-intake")
    stud, base = project.housing.studs[0], project.housing.base
    drilled = replace(base, features=(*base.features, Hole("again", stud.x, stud.y, 8.0, Made.DRILLED)))
    found = {
        (o.one.name, o.other.name) for o in of_base(replace(project, housing=replace(project.housing, base=drilled)))
    }
    assert ("again", stud.name) in found or (stud.name, "again") in found


def excursion(inner: Outline, outer: Outline) -> float:
    """How far ``inner`` stands out of ``outer`` [mm], or, below 0, how far it stays inside: by GEOS on fine chords."""
    area = shapely.Polygon(outer.chords(CHORD_MM))
    shapely.prepare(area)

    def past(stations: FloatArray) -> FloatArray:
        points = shapely.points(inner.points_at(stations))
        outside = shapely.distance(area, points)
        found: FloatArray = np.where(outside > 0.0, outside, -shapely.distance(area.exterior, points))
        return found

    even = inner.length * np.arange(3000) / 3000
    # Round a tight bend a step of a tenth of a millimetre is too long: it misses the farthest place by microns.
    beside = even[past(even).argmax()] + even[1] * np.linspace(-1.0, 1.0, 201)
    return float(past(beside).max())


@pytest.mark.parametrize(("turn", "aside"), [(0.0, 0.0), (0.3, 4.0), (0.0, 9.0), (1.2, 21.0)])
def test_the_clearance_of_one_oval_in_another_is_that_of_geos(turn: float, aside: float) -> None:
    inner = oval_outline(Oval(Family.ELLIPSE, 150.0, 100.0)).turned(turn).moved(aside, 0.0)
    for outer in (oval_outline(Oval(Family.OBROUND, 170.0, 112.0)), circle_outline((0.0, 0.0), 76.0)):
        found = clearance_within(inner, outer)
        assert found.value == pytest.approx(-excursion(inner, outer), abs=1e-3)


def shares(metals: list[BaseGeometry], hole: Outline) -> list[tuple[float, float]]:
    """For each slab how much of a ring just outside a hole's wall is metal, 0.002 and 0.05 away from it."""
    (x, y), radius = hole.centroid, hole.bounds[2] - hole.centroid[0]
    angles = np.linspace(0.0, 2.0 * np.pi, 720, endpoint=False)
    way = np.stack((np.cos(angles), np.sin(angles)), axis=1)

    def share(metal: BaseGeometry, by: float) -> float:
        return float(shapely.contains_xy(metal, (x, y) + (radius + by) * way).mean())

    return [(share(metal, 0.002), share(metal, 0.05)) for metal in metals]


def metals_of(piece: ResolvedPiece) -> list[BaseGeometry]:
    found = [s.region.polygon(CHORD_MM) for s in piece.slabs if s.z1 > 0.0 and not s.region.is_empty]
    for metal in found:
        shapely.prepare(metal)
    return found


def check_against_geos(seed: int) -> None:
    for piece in resized(wild_project(seed)).pieces:
        found, metals = overlaps(piece), metals_of(piece)
        told = {id(part) for o in found for part in (o.one, o.other)}
        for part in piece.parts:
            if part.kind != "hole":
                continue
            deep = min((o.clearance.value for o in found if part in (o.one, o.other)), default=1.0)
            rings = shares(metals, part.outline)
            # Less than a thirtieth of a ring is left to the places where circles nearly touch.
            if any(0.03 < near < 0.97 and 0.03 < far < 0.97 for near, far in rings):
                assert id(part) in told, (seed, piece.end, part.name)
            elif deep < -0.2 and all(near in (0.0, 1.0) for near, _ in rings):
                # A hole that is swallowed, or swallows, has no edge to look at.
                others = [o for o in found if part in (o.one, o.other) and o.clearance.value < -0.2]
                assert all(map(_is_swallowed, others)), (seed, piece.end, part.name)
        inner_wall = next(part for part in piece.parts if part.kind == "seat" and part.is_inner)
        for part in piece.parts:
            if part.kind not in ("pocket", "opening") or min(part.z1, inner_wall.z1) <= max(part.z0, inner_wall.z0):
                continue
            past = excursion(part.outline, inner_wall.outline)
            pairs = [o for o in found if o.one is part and o.other is inner_wall]
            if pairs:
                assert pairs[0].clearance.value == pytest.approx(-past, abs=2e-3)
            else:
                assert past < 1e-3, (seed, piece.end, part.name)


def _is_swallowed(overlap: Overlap) -> bool:
    one, other = (shapely.Polygon(part.outline.chords(CHORD_MM)) for part in (overlap.one, overlap.other))
    return bool(one.covers(other.buffer(-0.2)) or other.covers(one.buffer(-0.2)))


@pytest.mark.parametrize("block", range(6))
def test_over_wild_projects_geos_finds_the_same_walls_broken_through(block: int) -> None:
    for seed in range(10 * block, 10 * block + 10):
        check_against_geos(seed)


@pytest.mark.hard
@pytest.mark.parametrize("block", range(200))
def test_over_many_wild_projects_geos_finds_the_same(block: int) -> None:
    for seed in range(100 + 10 * block, 110 + 10 * block):
        check_against_geos(seed)
