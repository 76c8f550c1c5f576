"""Open area: elementary formulas for circles and strips. Velocity: v = Q / A."""

from __future__ import annotations

from math import acos, pi, sqrt
from typing import TYPE_CHECKING

import pytest
from msgspec.structs import replace

from core.features.badge import Badge
from core.features.crossbar import Crossbar
from core.features.ground import Made
from core.features.hole import Hole
from core.fit.checks.open_area import check
from core.part.project import Choices, HoldInside, Mode
from core.words.lengths import Style, shower
from core.words.verdicts import Unit, Verdict
from tests.support.remedied import done, found, tried

if TYPE_CHECKING:
    from collections.abc import Callable

    from core.features.registry import Feature
    from core.fit.case import Case
    from core.part.project import Project

    CaseOf = Callable[[Project], Case]

MM, INCH = shower(Style.MM), shower(Style.INCH)

R = 50.0 - 10.0 - 0.8 - 6.0
"""Radius of the round project's opening: rim outside, rim, gap, lip."""


def with_features(project: Project, *features: Feature) -> Project:
    base = replace(project.housing.base, features=features)
    return replace(project, housing=replace(project.housing, base=base))


def strip_of_circle(r: float, half: float) -> float:
    """Area of a circle within ``half`` of a line through its centre."""
    return 2.0 * (half * sqrt(r * r - half * half) + r * r * (pi / 2.0 - acos(half / r)))


def test_a_bare_opening_is_open_all_over(round_project: Project, case_of: CaseOf) -> None:
    (finding,) = check(case_of(round_project))
    assert finding.value == pytest.approx(pi * R * R, rel=1e-9)
    assert finding.unit is Unit.AREA
    assert finding.verdict is Verdict.GO


@pytest.mark.parametrize("angle", [0.0, 90.0, 37.0])
def test_a_crossbar_takes_its_strip(round_project: Project, case_of: CaseOf, angle: float) -> None:
    project = with_features(round_project, Crossbar("bar", angle, 0.0, 12.0, 6.0))
    (finding,) = check(case_of(project))
    assert finding.value == pytest.approx(pi * R * R - strip_of_circle(R, 6.0), rel=1e-9)


def test_bars_at_different_heights_and_a_badge_count_once_where_they_cross(
    round_project: Project, case_of: CaseOf
) -> None:
    project = with_features(
        round_project,
        Crossbar("one", 0.0, 0.0, 12.0, 6.0),
        Crossbar("two", 90.0, 0.0, 12.0, 9.0),
        Badge("badge", 30.0, 30.0, 1.0),
    )
    (finding,) = check(case_of(project))
    # The bars share a square of 12; the badge adds its disc less what lies on the bars.
    bars = 2.0 * strip_of_circle(R, 6.0) - 144.0
    badge = pi * 15.0**2 - (2.0 * strip_of_circle(15.0, 6.0) - 144.0)
    assert finding.value == pytest.approx(pi * R * R - bars - badge, rel=1e-9)


def test_an_island_is_metal_and_a_hole_in_it_is_open(round_project: Project, case_of: CaseOf) -> None:
    project = with_features(round_project, Badge("badge", 30.0, 30.0, 1.0), Hole("through", 0.0, 0.0, 10.0))
    case = case_of(project)
    assert case.after.base.open_area == pytest.approx(pi * (R * R - 15.0**2 + 5.0**2), rel=1e-9)


def test_a_hole_in_the_lip_is_not_part_of_the_opening(round_project: Project, case_of: CaseOf) -> None:
    project = with_features(round_project, Hole("drain", R + 3.0, 0.0, 3.0))
    assert case_of(project).after.base.open_area == pytest.approx(pi * R * R, rel=1e-9)


def test_less_than_the_old_area_is_no_go_and_the_lip_is_narrowed_by_enough(
    round_project: Project, case_of: CaseOf
) -> None:
    project = replace(round_project, choices=Choices(lip=8.0))
    (finding,) = check(case_of(project))
    assert finding.verdict is Verdict.NO_GO
    assert finding.low == pytest.approx(pi * R * R, rel=1e-9)
    assert finding.place.path == "choices.lip"
    said = tried(project, finding.name)
    assert "make the lip 2.00 mm narrower" in said.advice.show(MM)  # exact for an opening that nothing crosses
    assert found(done(project, said.remedies[0]), finding.name).verdict is Verdict.GO


def test_where_the_opening_is_held_ending_the_hold_is_the_remedy(round_project: Project) -> None:
    smaller = replace(round_project.new_insert, length=110.0, width=110.0)
    project = replace(round_project, new_insert=smaller, limits=replace(round_project.limits, open_area=1.2))
    project = replace(project, choices=Choices(hold_inside=HoldInside.OPENING))
    said = tried(project, "open area, base's opening")
    assert said.verdict is Verdict.NO_GO
    assert said.remedies[0].text == "let the opening follow the seat"
    assert found(done(project, said.remedies[0]), said.name).verdict is Verdict.GO


def test_for_less_velocity_what_crosses_the_opening_is_made_smaller_by_enough(round_project: Project) -> None:
    bar, badge = Crossbar("bar", 0.0, 0.0, 12.0, 6.0), Badge("badge", 40.0, 30.0, 1.0)
    limits = replace(round_project.limits, flow=100.0, face_velocity=13.0)
    project = replace(with_features(round_project, bar, badge), limits=limits)
    said = tried(project, "face velocity, base's opening")
    assert said.verdict is Verdict.NO_GO
    assert any("make bar {by} narrower" in remedy.text for remedy in said.remedies)
    for remedy in said.remedies:
        if remedy.edits:
            assert found(done(project, remedy), said.name).verdict is not Verdict.NO_GO


def test_as_much_as_before_is_go_without_a_band(round_project: Project, case_of: CaseOf) -> None:
    limits = replace(round_project.limits, open_area=0.9)
    (finding,) = check(case_of(replace(round_project, limits=limits, choices=Choices(lip=7.0))))
    assert finding.value / finding.low * 0.9 == pytest.approx(((R - 1.0) / R) ** 2, rel=1e-9) if finding.low else False
    assert finding.verdict is Verdict.GO


def test_rework_can_not_change_the_opening(round_project: Project, case_of: CaseOf) -> None:
    limits = replace(round_project.limits, open_area=1.2)
    project = replace(round_project, limits=limits, choices=Choices(mode=Mode.REWORK))
    (finding,) = check(case_of(project))
    assert finding.verdict is Verdict.NO_GO
    assert finding.place.path == "choices.mode"


@pytest.mark.parametrize(("limit", "verdict"), [(30.0, Verdict.GO), (25.0, Verdict.MARGINAL), (20.0, Verdict.NO_GO)])
def test_velocity_is_flow_over_area(round_project: Project, case_of: CaseOf, limit: float, verdict: Verdict) -> None:
    limits = replace(round_project.limits, flow=300.0, face_velocity=limit)
    _, finding = check(case_of(replace(round_project, limits=limits)))
    assert finding.unit is Unit.VELOCITY
    assert finding.value == pytest.approx(300.0 / 3600.0 / (pi * 0.0332**2), rel=1e-9)  # 24.07 m/s
    assert finding.verdict is verdict


def test_throats_are_told_and_small_or_drilled_holes_are_not(intake_project: Project, case_of: CaseOf) -> None:
    case = case_of(intake_project)
    assert case.after.lid is not None
    assert [f.name for f in check(case)] == ["open area, base's opening"]  # the lid has throats but no opening
    throats = with_features(
        intake_project, Hole("a", -30.0, 0.0, 24.0), Hole("b", 30.0, 0.0, 6.0), Hole("c", 0.0, 0.0, 24.0, Made.DRILLED)
    )
    finding = check(case_of(throats))[-1]
    assert finding.name == "throat of the base"
    assert finding.value == pytest.approx(pi * 144.0)
    assert "mm" not in finding.formula.show(INCH)


def test_no_opening_no_finding(round_project: Project, case_of: CaseOf) -> None:
    base = replace(round_project.housing.base, opening=None)
    case = case_of(replace(round_project, housing=replace(round_project.housing, base=base)))
    assert check(case) == ()
    assert case.after.base.open_area == 0.0


def lens(r: float, s: float, apart: float) -> float:
    """Area that two circles of the radii r and s share, their centres ``apart``: two circular segments (elementary)."""
    a, b = (apart**2 + r**2 - s**2) / (2.0 * apart), (apart**2 + s**2 - r**2) / (2.0 * apart)
    return r * r * acos(a / r) - a * sqrt(r * r - a * a) + s * s * acos(b / s) - b * sqrt(s * s - b * b)


def test_a_hole_through_the_openings_edge_adds_nothing_to_it(round_project: Project, case_of: CaseOf) -> None:
    project = with_features(round_project, Hole("through", R, 0.0, 10.0))
    assert case_of(project).after.base.open_area == pytest.approx(pi * R * R, rel=1e-9)


def test_a_hole_in_a_bar_that_runs_out_into_the_lip_opens_what_it_takes_of_the_bar(
    round_project: Project, case_of: CaseOf
) -> None:
    bar = Crossbar("bar", 0.0, 0.0, 12.0, 6.0)
    project = with_features(round_project, bar, Hole("through", R, 0.0, 10.0))
    opened = lens(R, 5.0, R)  # the bar is wider than the hole, so all of the hole within the opening was bar
    assert case_of(project).after.base.open_area == pytest.approx(
        pi * R * R - strip_of_circle(R, 6.0) + opened, rel=1e-9
    )


def test_an_opening_that_a_huge_hole_swallows_is_open_and_no_more(round_project: Project, case_of: CaseOf) -> None:
    project = with_features(round_project, Crossbar("bar", 0.0, 0.0, 12.0, 6.0), Hole("huge", 0.0, 0.0, 90.0))
    assert case_of(project).after.base.open_area == pytest.approx(pi * R * R, rel=1e-9)
