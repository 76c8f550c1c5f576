"""Concerns: every check and every limit belongs to one, and nothing is lost when findings are put together."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import msgspec
import pytest
from msgspec.structs import replace

from core.evaluate import evaluate
from core.fit.checks.concerns import CONCERNS, Standing, concern_of, gauge, standings, together
from core.part.project import Limits
from core.words.findings import found_text, value_text
from core.words.lengths import Style
from core.words.verdicts import Bound, Finding, Place, Sentence, Unit, Verdict
from tests.support.wild import wild_project

if TYPE_CHECKING:
    from core.part.project import Project


def finding(value: float, low: float | None, high: float | None, unit: Unit = Unit.LENGTH) -> Finding:
    told = Sentence("")
    return Bound(value, low, high, unit).judged().finding(
        check="gap", name="gap", place=Place(), advice=told, formula=told
    )  # fmt: skip


def test_every_limit_stands_in_one_concern_but_the_margin_that_all_share() -> None:
    named = [name for concern in CONCERNS for row in concern.limits for name in row]
    assert len(named) == len(set(named))
    assert {*named, "marginal"} == {f.name for f in msgspec.structs.fields(Limits)}


@pytest.mark.parametrize("seed", range(25))
def test_every_finding_stands_in_one_concern_and_once(seed: int) -> None:
    result = evaluate(wild_project(seed))
    found = standings(result.findings)
    assert sorted(id(f) for s in found for f in s.findings) == sorted(map(id, result.findings))
    for standing in found:
        assert all(concern_of(f) is standing.concern for f in standing.findings)
        joined = together(standing.findings, Style.MM)
        assert sorted(id(f) for group in joined for f in group.findings) == sorted(map(id, standing.findings))
        for group in joined:
            assert len({(f.verdict, found_text(f, Style.MM)) for f in group.findings}) == 1
            assert all(group.name.startswith(f.name.split()[0].rstrip(",")) for f in group.findings)


def test_base_and_lid_that_read_the_same_are_told_once(intake_project: Project) -> None:
    gaps = standings(evaluate(intake_project).findings)[0]
    assert gaps.concern.title == "Gap"
    names = [group.name for group in together(gaps.findings, Style.MM)]
    assert len(names) == len(set(names)) <= len(gaps.findings) // 2
    assert all(name.endswith(", base and lid") for name in names)


def test_the_tightest_is_the_least_margin_of_one_unit_and_the_least_part_of_a_limit_of_several() -> None:
    far, near = finding(2.0, 1.0, None), finding(30.0, 29.5, None)
    air = finding(101.0, 100.0, None, Unit.AREA)
    assert Standing(CONCERNS[0], (far, near)).tightest is near
    assert Standing(CONCERNS[0], (far, finding(1.9, None, 4.0), air)).tightest is air
    assert Standing(CONCERNS[0], (finding(1.0, None, None), finding(0.0, None, 0.0, Unit.NONE))).tightest is None
    assert Standing(CONCERNS[0], (replace(near, verdict=Verdict.MARGINAL),)).tightest is None


@pytest.mark.parametrize(("low", "high"), [(1.0, None), (None, 5.0), (0.0, None), (-0.2, 1.5), (0.3, 1.5)])
def test_a_gauge_runs_with_the_value_from_end_to_end(low: float | None, high: float | None) -> None:
    inside = [
        v / 10.0 for v in range(-5, 90) if (low is None or v / 10.0 >= low) and (high is None or v / 10.0 <= high)
    ]
    places = [gauge(finding(value, low, high)) for value in inside]
    assert all(place is not None and 0.0 <= place <= 1.0 for place in places)
    assert all(a < b for a, b in pairwise(p for p in places if p is not None))
    if low is not None:
        assert gauge(finding(low, low, high)) == pytest.approx(0.0)
    if high is not None:
        assert gauge(finding(high, low, high)) == pytest.approx(1.0)


def test_no_limit_has_no_gauge_and_two_equal_ones_have_the_middle() -> None:
    assert gauge(finding(1.0, None, None)) is None
    assert gauge(finding(1.0, 1.0, 1.0)) == 0.5


@pytest.mark.parametrize(
    ("mm", "shown"),
    [(0.2, "0.008 in"), (-0.067, "−0.003 in"), (25.4 / 16.0, "1/16 in"), (3.1, "0.122 in"), (3.3, "≈ 1/8 in")],
)
def test_what_is_small_and_no_fraction_is_read_in_thousandths(mm: float, shown: str) -> None:
    """1 in = 25.4 mm exactly (international yard and pound agreement, 1959; NIST SP 811, appendix B.8)."""
    assert value_text(mm, Unit.LENGTH, Style.FRACTION) == shown
