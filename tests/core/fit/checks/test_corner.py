"""The corner behind a rounded edge: a 3-4-5 triangle by hand, and distances sampled between edge and hollow."""

from __future__ import annotations

from math import pi
from random import Random
from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely
from msgspec.structs import replace

from core.evaluate import evaluate
from core.features.pocket import Pocket
from core.fit.checks.corner import check, left_in_corner
from core.geometry.ovals.ovals import Family
from core.part.curve import HeldCurve
from core.part.housing import Lip
from core.part.project import Choices, Limits, Mode
from core.remedies import remedied
from core.words.lengths import Style, shower
from core.words.verdicts import Verdict

if TYPE_CHECKING:
    from collections.abc import Callable

    from core.fit.case import Case
    from core.part.project import Project

    CaseOf = Callable[[Project], Case]

MM = shower(Style.MM)
FAR = 400.0
_QUARTER = np.linspace(0.0, pi / 2.0, 601)


def with_base(project: Project, **changes: object) -> Project:
    return replace(project, housing=replace(project.housing, base=replace(project.housing.base, **changes)))


def edged(project: Project, radius: float, floor: float = 5.0, fillet: float = 1.0, **changes: object) -> Project:
    seat = replace(project.housing.base.seat, corner_radius=fillet)
    return with_base(project, edge_radius=radius, floor=floor, seat=seat, **changes)


def sampled(radius: float, wall: float, floor: float, fillet: float) -> float:
    """The least distance between edge and hollow, both as chords of hundreds of points; negative where they cross."""
    arc = radius - radius * np.stack((np.cos(_QUARTER), np.sin(_QUARTER)), axis=1)
    corner = np.array([wall, floor]) + fillet - fillet * np.stack((np.cos(_QUARTER), np.sin(_QUARTER)), axis=1)
    outer = shapely.Polygon([(0.0, FAR), *arc.tolist(), (FAR, 0.0), (FAR, FAR)])
    hollow = shapely.Polygon([(wall, FAR), *corner.tolist(), (FAR, floor), (FAR, FAR)])
    if not outer.contains(shapely.LineString(corner)):
        return -1.0
    edge, surface = shapely.LineString([(0.0, FAR), *arc, (FAR, 0.0)]), shapely.LineString(hollow.exterior.coords[:-2])
    return float(edge.distance(surface))


def test_the_corner_by_hand() -> None:
    assert left_in_corner(10.0, 6.0, 5.0, 1.0) == pytest.approx(10.0 - 5.0 - 1.0)  # 3² + 4² = 5²
    assert left_in_corner(6.9, 6.0, 5.0, 1.0) == 5.0


def test_the_corner_against_sampled_distances() -> None:
    rng, cut_through, eaten = Random(7), 0, 0  # noqa: S311 - invented sizes
    for _ in range(300):
        wall, floor = rng.uniform(0.5, 12.0), rng.uniform(0.5, 12.0)
        radius, fillet = rng.uniform(0.0, 30.0), rng.choice([0.0, rng.uniform(0.0, 5.0)])
        left, seen = left_in_corner(radius, wall, floor, fillet), sampled(radius, wall, floor, fillet)
        if seen < 0.0:
            assert left < 1e-3
            cut_through += 1
        else:
            assert left == pytest.approx(seen, abs=1e-3)
            eaten += left < min(wall, floor) - 1e-3
    assert cut_through > 20
    assert eaten > 50


@pytest.mark.parametrize(
    ("radius", "verdict"), [(8.0, Verdict.GO), (9.5, Verdict.MARGINAL), (10.5, Verdict.NO_GO), (30.0, Verdict.NO_GO)]
)
def test_what_the_edge_leaves_is_held_against_the_limit(
    round_project: Project, case_of: CaseOf, radius: float, verdict: Verdict
) -> None:
    (finding,) = check(case_of(edged(round_project, radius)))
    assert finding.verdict is verdict
    assert finding.value == pytest.approx(left_in_corner(radius, 6.0, 5.0, 1.0))
    assert finding.place.path == "housing.base.edge_radius"
    assert ("cuts through" in finding.advice.show(MM)) == (finding.value <= 0.0)


def test_an_edge_that_does_not_reach_the_corner_is_not_told(round_project: Project, case_of: CaseOf) -> None:
    assert check(case_of(edged(round_project, 6.5))) == ()
    assert check(case_of(round_project)) == ()


def test_the_limit_is_that_of_the_thinner_of_wall_and_floor(round_project: Project, case_of: CaseOf) -> None:
    limits = Limits(web_least=5.5, floor_least=3.5)
    (by_floor,) = check(case_of(replace(edged(round_project, 8.0), limits=limits)))
    assert by_floor.low == 3.5
    (by_wall,) = check(case_of(replace(edged(round_project, 9.0, floor=7.0), limits=limits)))
    assert by_wall.low == 5.5


def test_a_smaller_radius_a_thicker_floor_or_a_thicker_wall_mends_it(round_project: Project) -> None:
    project = edged(round_project, 10.5)
    finding = next(f for f in remedied(evaluate(project)).findings if f.name == "corner of seat, base")
    said = finding.advice.show(MM)
    assert [r.text for r in finding.remedies] == [
        "make the edge radius {by} smaller",
        "make the floor there {by} thicker",
        "make the wall {by} thicker",
    ], said
    assert "make the edge radius 0.50 mm smaller" in said  # 4.00 are left at 10.0


def test_an_old_seat_and_a_pocket_have_corners_too(round_project: Project, case_of: CaseOf) -> None:
    larger = replace(round_project.new_insert, length=102.0, width=102.0)
    project = replace(edged(round_project, 10.0), new_insert=larger, choices=Choices(mode=Mode.REWORK))
    names = {f.name: f.value for f in check(case_of(project))}
    assert names["corner of seat, base"] == pytest.approx(left_in_corner(10.0, 5.0, 5.0, 1.0))
    assert names["corner of old seat, base"] == pytest.approx(left_in_corner(10.0, 6.0, 5.0, 1.0))
    wide = Pocket("relief", 1.0, 3.0, held=HeldCurve(Family.CIRCLE, 106.0, 106.0, 0.0))  # 3.8 from the outside
    pocket = with_base(round_project, edge_radius=6.0, features=(wide,), lip=Lip(6.0, 6.0))
    (finding,) = check(case_of(pocket))
    assert finding.name == "corner of relief, base"
    assert finding.value == pytest.approx(left_in_corner(6.0, 3.8, 3.0, 0.0))
