"""The one way in: whole results of the demos, and refusals that name the project's path."""

from __future__ import annotations

import json
from concurrent.futures import ThreadPoolExecutor

import pytest
from msgspec.structs import replace

from core.edits import set_text
from core.evaluate import evaluate
from core.files.project.demos import demo_names, load_demo
from core.files.report.summary import as_builtins, as_text
from core.words.errors import UserError
from core.words.lengths import Style
from core.words.verdicts import Verdict, judge, worst


@pytest.mark.parametrize("name", demo_names())
def test_the_demos_are_proved_without_a_no_go(name: str) -> None:
    result = evaluate(load_demo(name))
    assert result.overall is not Verdict.NO_GO
    assert result.conflicts == ()
    assert all(f.advice.text and f.formula.text for f in result.findings)


def test_the_first_demo_grows_as_its_insert_does() -> None:
    """All-round arithmetic by hand: 219.2 and 139.6 plus twice the gap of 0.8, plus twice the wall of 7."""
    result = evaluate(load_demo("compressor-intake"))
    now = {(str(c.end), c.feature, c.quantity): c.now for c in result.changes}
    assert now["base", "seat outer", "length"] == pytest.approx(220.8)
    assert now["base", "seat outer", "width"] == pytest.approx(141.2)
    assert now["lid", "outside", "length"] == pytest.approx(234.8)
    assert now["None", "faces", "distance"] == pytest.approx(37.5)
    squeeze = next(f for f in result.findings if f.name == "squeeze")
    # H - G = 61.5 - (12 + 9 + 37.5) = 3.0 of two rims of 9: 16.7 %.
    assert squeeze.value == pytest.approx(100.0 * 3.0 / 18.0)


def test_what_is_fixed_to_the_machine_is_listed_and_unchanged() -> None:
    result = evaluate(load_demo("compressor-intake"))
    fixed = [c for c in result.changes if "fixed to the machine" in c.why]
    assert {c.feature for c in fixed} >= {"throat left", "throat right", "lug back left", "stud front left"}
    assert not any(c.is_change for c in fixed)


def test_the_new_insert_in_the_old_seat_shows_why_it_does_not_fit() -> None:
    result = evaluate(load_demo("compressor-intake"))
    outer = result.gaps_before[0]
    # It is 3.6 mm longer and 2.8 mm wider a side than the old one, in a gap of 0.8.
    assert outer.gap.min() == pytest.approx(0.8 - 3.6, abs=1e-6)
    assert outer.gap.max() == pytest.approx(0.8 - 2.8, abs=1e-6)


@pytest.mark.parametrize(
    ("path", "text", "said"),
    [
        ("new_insert.width", "300", r"^new_insert\.width: a width of 300\.00 mm is more than the length"),
        ("old_insert.rim.width", "70", r"^old_insert\.rim\.width: an inward move of 70\.00 mm folds the curve over"),
        ("new_insert.rim.width", "75", r"^new_insert\.rim\.width: an inward move of 75\.00 mm folds .* 69\.80 mm"),
        ("choices.gap_outer", "-90", r"folds the curve over"),
        ("limits.gap_outer_least", "3", r"^limits\.gap_outer_least: must not be over limits\.gap_outer_greatest"),
    ],
)
def test_impossible_sizes_are_refused_with_their_place(path: str, text: str, said: str) -> None:
    project = set_text(load_demo("compressor-intake"), path, text)
    with pytest.raises(UserError, match=said):
        evaluate(project)


def test_a_feature_can_only_follow_what_its_kind_can() -> None:
    project = set_text(load_demo("compressor-intake"), "housing.lid.features[outer band].follows", "spread")
    with pytest.raises(UserError, match=r"housing\.lid\.features\[3\]\.follows: a band can follow outside, machine"):
        evaluate(project)


def test_the_same_project_gives_the_same_result() -> None:
    project = load_demo("lens-ring")
    assert json.dumps(as_builtins(evaluate(project))) == json.dumps(as_builtins(evaluate(project)))


def test_the_summary_speaks_the_projects_unit() -> None:
    project = replace(load_demo("compressor-intake"), style=Style.FRACTION)
    text = as_text(evaluate(project))
    assert " in" in text
    assert " mm" not in text


def test_parts_of_a_result_are_computed_when_asked_for_and_stay() -> None:
    result = evaluate(load_demo("lens-ring"))
    assert not result.is_judged
    assert result.findings is result.findings
    assert result.changes is result.changes
    assert not result.is_judged
    assert result.overall is not Verdict.NO_GO
    assert result.is_judged


def test_whoever_asks_a_result_gets_one_and_the_same_answer() -> None:
    """Threads that ask at once, with nobody waiting for anybody: all get the findings that were there first."""
    result = evaluate(load_demo("lens-ring"))
    with ThreadPoolExecutor(max_workers=4) as pool:
        answers = list(pool.map(lambda _: result.findings, range(8)))
    assert all(answer is result.findings for answer in answers)


def test_other_advice_leaves_the_rest_of_a_result_as_it_was() -> None:
    result = evaluate(load_demo("lens-ring")).settle()
    said = result.saying(result.findings[:1])
    assert said.findings == result.findings[:1]
    assert said.is_remedied
    assert said.changes is result.changes
    assert said.conflicts is result.conflicts


@pytest.mark.parametrize(
    ("value", "low", "high", "verdict"),
    [
        (5.0, 5.0, None, Verdict.MARGINAL),
        (5.6, 5.0, None, Verdict.GO),
        (4.999, 5.0, None, Verdict.NO_GO),
        (5.0 - 1e-12, 5.0, None, Verdict.MARGINAL),
        (0.0, 0.0, None, Verdict.GO),
        (24.0, 10.0, 25.0, Verdict.MARGINAL),
        (25.1, 10.0, 25.0, Verdict.NO_GO),
        (1.0, None, None, Verdict.GO),
    ],
)
def test_verdicts_at_and_near_their_limits(
    value: float, low: float | None, high: float | None, verdict: Verdict
) -> None:
    assert judge(value, low=low, high=high, marginal_percent=10.0)[0] is verdict


def test_the_worst_verdict_wins() -> None:
    assert worst([]) is Verdict.GO
    assert worst([Verdict.GO, Verdict.NO_GO, Verdict.MARGINAL]) is Verdict.NO_GO
