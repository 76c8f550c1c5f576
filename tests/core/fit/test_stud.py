"""Thread sizes: nut heights ISO 4032 (m max), washers ISO 7089, coarse pitches, all as in reference-values 9."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from msgspec.structs import replace

from core.fit.stud import check
from core.housing import Stop, Stud, Thread
from core.lengths import Style, shower
from core.project import HeightTo
from core.verdicts import Verdict

if TYPE_CHECKING:
    from collections.abc import Callable

    from core.fit.case import Case
    from core.project import Project

    CaseOf = Callable[[Project], Case]

MM, INCH = shower(Style.MM), shower(Style.INCH)


def with_stud(project: Project, thread: Thread, length: float, count: int = 1) -> Project:
    studs = tuple(Stud(f"stud {i + 1}", -20.0 + 40.0 * i, 0.0, thread, length, 12.0) for i in range(count))
    return replace(project, housing=replace(project.housing, studs=studs))


@pytest.mark.parametrize(
    ("thread", "needed"),
    [
        # 2 d + faces 12.5 + lid 18 + washer + nut + one pitch
        pytest.param(Thread.M4, 8.0 + 30.5 + 0.8 + 3.2 + 0.7, id="M4: ISO 7089 0.8, ISO 4032 3.2, pitch 0.7"),
        pytest.param(Thread.M6, 12.0 + 30.5 + 1.6 + 5.2 + 1.0, id="M6: ISO 7089 1.6, ISO 4032 5.2, pitch 1.0"),
        pytest.param(Thread.M8, 16.0 + 30.5 + 1.6 + 6.8 + 1.25, id="M8: ISO 7089 1.6, ISO 4032 6.8, pitch 1.25"),
        pytest.param(Thread.M12, 24.0 + 30.5 + 2.5 + 10.8 + 1.75, id="M12: ISO 7089 2.5, ISO 4032 10.8, pitch 1.75"),
    ],
)
def test_the_needed_length_is_the_stack(round_project: Project, case_of: CaseOf, thread: Thread, needed: float) -> None:
    length, _ = check(case_of(with_stud(round_project, thread, 70.0)))
    assert length.low == pytest.approx(needed)


@pytest.mark.parametrize(
    ("length", "verdict", "words"),
    [  # M6 needs 50.3: the next standard is 55, two more are 60 and 65
        (50.0, Verdict.NO_GO, "0.30 mm too short for the stack of 50.30 mm: fit 55.00 mm"),
        (50.3, Verdict.GO, "50.30 mm covers the stack"),
        (55.0, Verdict.GO, "55.00 mm covers the stack of 50.30 mm; it stays as it was"),
        (65.0, Verdict.GO, "covers"),
        (70.0, Verdict.MARGINAL, "70.00 mm long where 55.00 mm does"),
    ],
)
def test_verdict_by_the_stud_in_use(
    round_project: Project, case_of: CaseOf, length: float, verdict: Verdict, words: str
) -> None:
    finding, _ = check(case_of(with_stud(round_project, Thread.M6, length)))
    assert finding.verdict is verdict
    assert words in finding.advice.show(MM)
    assert finding.place.path == "housing.studs[0].length"
    assert "mm" not in finding.advice.show(INCH) + finding.formula.show(INCH)


def test_the_stud_grows_with_its_stack_and_both_lengths_are_told(round_project: Project, case_of: CaseOf) -> None:
    project = with_stud(round_project, Thread.M6, 55.0)
    taller = replace(project.new_insert, height=46.0)
    choices = replace(project.choices, height_to=HeightTo.SPACER)
    assert project.housing.faces.stop is Stop.SPACER
    finding, _ = check(case_of(replace(project, new_insert=taller, choices=choices)))
    assert finding.value == 60.0
    assert finding.verdict is Verdict.GO
    assert finding.advice.show(MM) == "stud 1: 60.00 mm covers the stack of 56.30 mm; it was 55.00 mm"


def test_studs_that_are_alike_share_a_finding(round_project: Project, case_of: CaseOf) -> None:
    findings = check(case_of(with_stud(round_project, Thread.M6, 55.0, count=2)))
    assert [f.name for f in findings] == ["stud length, M6 ×2", "thread in the base, M6 ×2"]
    assert "stud 1 and 1 more" in findings[0].advice.show(MM)


@pytest.mark.parametrize(
    ("thread", "verdict"),
    [  # the base is 18 thick; engagement 2 d
        (Thread.M8, Verdict.GO),
        (Thread.M10, Verdict.NO_GO),
    ],
)
def test_engagement_against_the_base(round_project: Project, case_of: CaseOf, thread: Thread, verdict: Verdict) -> None:
    _, finding = check(case_of(with_stud(round_project, thread, 80.0)))
    assert finding.value == 18.0
    assert finding.verdict is verdict
    if verdict is Verdict.NO_GO:
        assert "make the base's floor 2.00 mm thicker" in finding.advice.show(MM)
        assert finding.place.path == "housing.base.floor"


def test_just_enough_base_is_marginal(round_project: Project, case_of: CaseOf) -> None:
    limits = replace(round_project.limits, engagement=1.7)
    _, finding = check(case_of(replace(with_stud(round_project, Thread.M10, 80.0), limits=limits)))
    assert finding.low == pytest.approx(17.0)
    assert finding.verdict is Verdict.MARGINAL


def test_no_stud_no_finding(round_project: Project, case_of: CaseOf) -> None:
    assert check(case_of(round_project)) == ()
