"""Developed gaps: Steiner's formula, length(d) = P + 2πd. Single gaps: the designed normal distance."""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING

import numpy as np
import pytest
from msgspec.structs import replace

from core.fit.checks.gap import check
from core.fit.gaps import GapProfile
from core.geometry.ovals.ovals import Family
from core.part.materials import Material
from core.part.project import Choices, Mode
from core.words.ends import End, Side
from core.words.lengths import Style, shower
from core.words.verdicts import Finding, Verdict
from tests.support.remedied import done, found, tried

if TYPE_CHECKING:
    from collections.abc import Callable

    from core.fit.case import Case
    from core.part.project import Project

    CaseOf = Callable[[Project], Case]

OUTER = "gap, base's outer wall"

MM, INCH = shower(Style.MM), shower(Style.INCH)


def named(findings: tuple[Finding, ...], name: str) -> Finding:
    return next(f for f in findings if f.name == name)


def with_gaps(project: Project, **choices: float) -> Project:
    return replace(project, choices=replace(project.choices, **choices))


def bent(case: Case, gap: np.ndarray, wall_length: float | None = None) -> Case:
    """The case with other gaps along the base's outer wall, and nothing else."""
    p = case.gap(End.BASE, Side.OUTER)
    profile = GapProfile(p.end, p.side, p.stations, gap, p.rim, p.wall, p.rim_length, wall_length or p.wall_length)
    return replace(case, gaps=(profile,))


def test_a_parallel_wall_gives_one_finding_with_the_designed_gap(round_project: Project, case_of: CaseOf) -> None:
    findings = check(case_of(round_project))
    assert [f.name for f in findings if not f.name.startswith("developed")] == [
        "gap, base's outer wall",
        "gap, base's inner wall",
        "gap, lid's outer wall",
        "gap, lid's inner wall",
    ]
    assert {f.verdict for f in findings} == {Verdict.GO}
    assert [f.value for f in findings] == pytest.approx([0.8] * 8, abs=1e-9)
    assert findings[0].margin == pytest.approx(0.5)


@pytest.mark.parametrize("family", [Family.OBROUND, Family.ELLIPSE, Family.FOUR_ARC, Family.ROUNDED_RECTANGLE])
def test_the_developed_gap_of_a_parallel_wall_is_the_gap_by_steiner(
    round_project: Project, case_of: CaseOf, family: Family
) -> None:
    insert = replace(round_project.new_insert, family=family, length=160.0)
    project = with_gaps(replace(round_project, old_insert=insert, new_insert=insert), gap_outer=0.7, gap_inner=0.9)
    findings = check(case_of(project))
    assert named(findings, "developed gap, base's outer wall").value == pytest.approx(0.7, abs=1e-6)
    assert named(findings, "developed gap, base's inner wall").value == pytest.approx(0.9, abs=1e-6)


def test_a_rigid_rim_has_no_developed_gap(round_project: Project, case_of: CaseOf) -> None:
    insert = replace(round_project.new_insert, material=Material.RIGID)
    findings = check(case_of(replace(round_project, new_insert=insert)))
    assert len(findings) == 4
    assert not any("developed" in f.name for f in findings)


@pytest.mark.parametrize(
    ("gap", "verdict"),
    [
        (0.29, Verdict.NO_GO),
        (0.3, Verdict.MARGINAL),
        (0.329, Verdict.MARGINAL),
        (0.331, Verdict.GO),
        (1.34, Verdict.GO),
        (1.36, Verdict.MARGINAL),
        (1.51, Verdict.NO_GO),
    ],
)
def test_verdicts_at_the_limits(round_project: Project, case_of: CaseOf, gap: float, verdict: Verdict) -> None:
    findings = check(case_of(with_gaps(round_project, gap_outer=gap)))
    assert named(findings, "gap, lid's outer wall").verdict is verdict
    assert named(findings, "developed gap, lid's outer wall").verdict is verdict


def test_the_advice_says_how_much_wider_and_the_place_which_field(round_project: Project) -> None:
    finding = tried(with_gaps(round_project, gap_inner=0.1), "gap, base's inner wall")
    assert finding.verdict is Verdict.NO_GO
    assert finding.advice.show(MM) == (
        "gap 0.10 mm all round the base's inner wall; at least 0.30 mm is wanted: make the seat's inner gap 0.20 mm "
        "wider, 0.30 mm"
    )
    assert finding.place.path == "choices.gap_inner"
    assert "mm" not in finding.advice.show(INCH) + finding.formula.show(INCH)


@pytest.mark.parametrize("gap", [0.1, 0.31, 1.48, 1.9])
def test_doing_what_the_advice_says_is_enough(round_project: Project, gap: float) -> None:
    project = with_gaps(round_project, gap_outer=gap)
    finding = tried(project, OUTER)
    assert finding.verdict is not Verdict.GO
    (remedy,) = finding.remedies
    assert found(done(project, remedy), OUTER).verdict.rank < finding.verdict.rank


def test_interference_is_called_that(round_project: Project, case_of: CaseOf) -> None:
    insert = replace(round_project.new_insert, material=Material.RIGID)
    project = with_gaps(replace(round_project, new_insert=insert), gap_outer=-0.25)
    finding = named(check(case_of(project)), "gap, base's outer wall")
    assert finding.verdict is Verdict.NO_GO
    assert finding.value == pytest.approx(-0.25)
    assert finding.advice.show(MM).startswith(
        "interference 0.25 mm all round the base's outer wall, so the rim doesn't go in; at least 0.30 mm is wanted"
    )


def test_interference_that_the_limits_allow_is_go(round_project: Project, case_of: CaseOf) -> None:
    limits = replace(round_project.limits, gap_outer_least=-0.5)
    finding = named(check(case_of(with_gaps(replace(round_project, limits=limits), gap_outer=-0.2))), OUTER)
    assert finding.verdict is Verdict.GO
    assert finding.advice.show(MM) == (
        "interference 0.20 mm all round the base's outer wall, within −0.50 mm to 1.50 mm"
    )


def test_the_place_is_the_worst_station_and_its_foot_on_the_wall(round_project: Project, case_of: CaseOf) -> None:
    case = case_of(round_project)
    gap = np.full(720, 0.8)
    gap[180], gap[540] = 0.2, 1.6  # top and bottom of the round insert
    findings = check(bent(case, gap))
    least, greatest = findings[0], findings[1]
    assert least.name == "least gap, base's outer wall"
    assert least.place.point == pytest.approx((0.0, 50.0), abs=1e-9)
    assert least.place.other == pytest.approx((0.0, 50.8), abs=1e-9)
    assert "at the top of the base's outer wall" in least.advice.show(MM)
    assert greatest.place.point == pytest.approx((0.0, -50.0), abs=1e-9)
    assert (least.low, least.high, greatest.low, greatest.high) == (0.3, None, None, 1.5)


def test_a_yielding_rim_that_settles_is_marginal_and_says_why(round_project: Project, case_of: CaseOf) -> None:
    case = case_of(round_project)
    gap = 0.8 + 1.2 * np.cos(np.arange(720) * pi / 90.0)  # out of shape, 0.4 mm into the wall, same length
    least, greatest, developed = check(bent(case, gap))
    assert (least.verdict, greatest.verdict, developed.verdict) == (Verdict.MARGINAL, Verdict.MARGINAL, Verdict.GO)
    assert least.margin == pytest.approx(-0.7)
    text = least.advice.show(MM)
    assert text.startswith("interference 0.40 mm")
    assert "pressed by 4.0 % of its width" in text  # 0.4 of 10
    assert "its developed gap of 0.80 mm serves" in text


def test_a_yielding_rim_is_no_go_when_it_is_too_long_or_pressed_too_hard(
    round_project: Project, case_of: CaseOf
) -> None:
    case = case_of(round_project)
    gap = 0.8 + 1.2 * np.cos(np.arange(720) * pi / 90.0)
    rim = case.gap(End.BASE, Side.OUTER).rim_length
    too_long = check(bent(case, gap, wall_length=rim + 2.0 * pi * 0.1))
    assert [f.verdict for f in too_long] == [Verdict.NO_GO] * 3
    assert too_long[2].value == pytest.approx(0.1)
    hard = gap.copy()
    hard[0] = -2.6  # 26 % of the rim's width; its insert takes 25 %
    assert check(bent(case, hard))[0].verdict is Verdict.NO_GO


def test_a_rigid_rim_out_of_shape_is_no_go(round_project: Project, case_of: CaseOf) -> None:
    insert = replace(round_project.new_insert, material=Material.RIGID)
    case = case_of(replace(round_project, new_insert=insert))
    gap = 0.8 + 1.2 * np.cos(np.arange(720) * pi / 90.0)
    assert [f.verdict for f in check(bent(case, gap))] == [Verdict.NO_GO, Verdict.NO_GO]


def test_a_single_ring_speaks_of_bedding_and_has_no_inner_wall_without_a_lip(
    ring_project: Project, case_of: CaseOf
) -> None:
    findings = check(case_of(ring_project))
    assert [f.name for f in findings] == ["bedding gap, outer wall"]
    assert findings[0].value == pytest.approx(0.6, abs=1e-6)


def test_metal_that_is_gone_is_not_asked_back(round_project: Project) -> None:
    smaller = replace(round_project.new_insert, length=98.0, width=98.0)
    project = replace(round_project, new_insert=smaller, choices=Choices(mode=Mode.REWORK))
    for name in (OUTER, f"developed {OUTER}"):
        finding = tried(project, name)
        assert finding.value == pytest.approx(1.8)  # half of 100 − 98, and the gap there was
        assert finding.verdict is Verdict.NO_GO
        assert finding.advice.show(MM).endswith("at most 1.50 mm is wanted: fill the old seat there, or cast anew")
