from __future__ import annotations

from math import inf, sqrt
from typing import TYPE_CHECKING

import numpy as np
import pytest

from core.readings.statistics import (
    deviation_of,
    estimate_of,
    estimate_samples,
    grubbs_critical,
    instrument_uncertainty,
    mean_of,
    student,
    tolerance_factor,
    welch,
)

if TYPE_CHECKING:
    from collections.abc import Callable

FIVE = (251.32, 251.41, 251.28, 251.37, 251.35)


@pytest.mark.parametrize(
    ("n", "at_95", "at_99"),
    [(3, 4.30, 9.92), (4, 3.18, 5.84), (5, 2.78, 4.60), (6, 2.57, 4.03), (8, 2.36, 3.50), (10, 2.26, 3.25)],
)
def test_student_factors_against_the_table_of_nist(n: int, at_95: float, at_99: float) -> None:
    # NIST TN 1297 table B.1, nu = n - 1.
    assert student(n - 1.0) == pytest.approx(at_95, abs=0.005)
    assert student(n - 1.0, 0.99) == pytest.approx(at_99, abs=0.005)


def test_infinite_freedom_is_the_normal_distribution() -> None:
    assert student(inf) == pytest.approx(1.960, abs=0.0005)  # NIST TN 1297 4.3
    assert student(inf, 0.99) == pytest.approx(2.576, abs=0.0005)


@pytest.mark.parametrize(("step", "u"), [(0.01, 0.00289), (0.02, 0.00577), (1.0, 0.2887)])
def test_an_instrument_is_as_uncertain_as_half_its_step_all_alike_likely(step: float, u: float) -> None:
    # a / sqrt(3) for limits +- a: NIST TN 1297 4.6; the figures are that with a = step / 2.
    assert instrument_uncertainty(step) == pytest.approx(u, rel=2e-3)


def test_five_readings_of_a_tape_as_worked_by_hand() -> None:
    # Worked example: mean 251.346, s 0.04930, u 0.02205, U95 = 2.776 u = 0.0612; with a step of 0.02, u 0.02279.
    assert mean_of(FIVE) == pytest.approx(251.346, abs=5e-4)
    assert deviation_of(FIVE) == pytest.approx(0.04930, abs=5e-6)
    alone = estimate_samples(FIVE, 0.0, 1.0)
    assert alone is not None
    assert alone.standard == pytest.approx(0.02205, abs=5e-6)
    assert alone.expanded == pytest.approx(0.0612, abs=5e-5)
    assert alone.freedom == pytest.approx(4.0)
    with_step = estimate_samples(FIVE, instrument_uncertainty(0.02), 1.0)
    assert with_step is not None
    assert with_step.standard == pytest.approx(0.02279, abs=5e-6)
    assert with_step.count == 5
    assert not with_step.is_stand_in


def test_effective_freedom_against_the_example_of_the_guide() -> None:
    # GUM H.1.6: end gauge; u in nm 25, 9.7, 2.9, 16.6 with freedom 18, 25.6, 50, 2 make 16.
    parts = ((25.0, 18.0), (9.7, 25.6), (2.9, 50.0), (16.6, 2.0))
    assert int(welch(parts)) == 16


def test_parts_that_were_not_estimated_have_infinite_freedom() -> None:
    assert welch(((0.1, inf), (0.2, inf))) == inf


@pytest.mark.parametrize(
    ("n", "p90", "p95", "p99"),
    [
        (4, 5.37, 6.34, 8.22), (5, 4.29, 5.08, 6.60), (6, 3.73, 4.42, 5.76), (7, 3.39, 4.02, 5.24),
        (8, 3.16, 3.75, 4.89), (9, 2.99, 3.55, 4.63), (10, 2.86, 3.39, 4.44), (12, 2.67, 3.17, 4.16),
        (20, 2.32, 2.76, 3.62), (60, 1.96, 2.34, 3.07),
    ],
)  # fmt: skip
def test_tolerance_factors_against_the_published_table(n: int, p90: float, p95: float, p99: float) -> None:
    # Statistics for Environmental Engineers, table 21.1, 95 % confidence, two-sided. To its digits.
    for share, k in ((0.90, p90), (0.95, p95), (0.99, p99)):
        assert tolerance_factor(n, share) == pytest.approx(k, abs=0.0051)


@pytest.mark.parametrize("n", [4, 5, 8, 20, 43])
def test_tolerance_factors_are_near_howes_approximation(n: int) -> None:
    from scipy import stats

    # Howe 1969: k = z sqrt((n - 1) (1 + 1/n) / chi2 lower quantile); good to about 1 % from n = 4 on.
    z = stats.norm.ppf(0.975)
    howe = z * sqrt((n - 1) * (1 + 1 / n) / stats.chi2.ppf(0.05, n - 1))
    assert tolerance_factor(n) == pytest.approx(howe, rel=0.01)


def test_tolerance_factor_of_the_handbooks_example() -> None:
    # NIST/SEMATECH handbook 7.2.6.3: n 43, 90 % at 99 %, k2 2.2173 by Howe's approximation; the exact one is 2.2228.
    assert tolerance_factor(43, 0.90, 0.99) == pytest.approx(2.2173, rel=3e-3)
    assert tolerance_factor(43, 0.90, 0.99) == pytest.approx(2.22283, abs=5e-5)


@pytest.mark.parametrize("n", [2, 3, 5])
def test_tolerance_intervals_hold_their_share_as_often_as_they_say(n: int) -> None:
    from scipy import stats

    rng = np.random.default_rng(20)
    x = rng.normal(0.0, 1.0, (40_000, n))
    reach = tolerance_factor(n) * x.std(axis=1, ddof=1)
    held = stats.norm.cdf(x.mean(axis=1) + reach) - stats.norm.cdf(x.mean(axis=1) - reach)
    assert float((held >= 0.95).mean()) == pytest.approx(0.95, abs=0.005)  # 4.6 standard errors


@pytest.mark.parametrize(
    ("n", "at_5", "at_1"),
    [
        (3, 1.155, 1.155), (4, 1.481, 1.496), (5, 1.715, 1.764), (6, 1.887, 1.973), (8, 2.126, 2.274),
        (9, 2.215, 2.387), (10, 2.290, 2.482), (12, 2.412, 2.636),
    ],
)  # fmt: skip
def test_grubbs_critical_values_against_the_published_table(n: int, at_5: float, at_1: float) -> None:
    # LibreTexts Chemistry, Analytic References, appendix 7 (its value for n = 7 has two digits exchanged).
    assert grubbs_critical(n) == pytest.approx(at_5, abs=0.001)
    assert grubbs_critical(n, 0.01) == pytest.approx(at_1, abs=0.001)


@pytest.mark.parametrize("n", [2, 3, 5])
@pytest.mark.parametrize("ratio", [0.05, 0.4, 1.0])
def test_intervals_cover_the_truth_in_95_of_100_cases_with_any_share_of_the_instrument(n: int, ratio: float) -> None:
    rng = np.random.default_rng(4)
    u = ratio / sqrt(n)
    hits = 0
    sets = 4000
    for values, off in zip(rng.normal(0.0, 1.0, (sets, n)).tolist(), rng.normal(0.0, u, sets).tolist(), strict=True):
        estimate = estimate_samples(values, u, 1.0)
        assert estimate is not None
        hits += abs(estimate.value + off) <= estimate.expanded
    assert 0.93 <= hits / sets <= (0.98 if n == 2 else 0.97)


def test_a_single_sample_stands_on_the_rubber_class() -> None:
    one = estimate_samples((212.0,), 0.005, 1.7)
    assert one is not None
    assert one.is_stand_in
    assert one.count == 1
    # Limits +- T as a rectangular distribution: u = T / sqrt(3) (NIST TN 1297 4.6).
    assert one.standard == pytest.approx(1.7 / sqrt(3.0), rel=1e-4)


def test_the_next_one_lies_within_the_stand_ins_reach_when_the_part_is_within_its_tolerance() -> None:
    rng = np.random.default_rng(9)
    reading, following = rng.uniform(-1.7, 1.7, (2, 20_000))
    reach = estimate_samples((212.0,), 0.0, 1.7)
    assert reach is not None
    assert reach.next_low is not None
    assert reach.next_high is not None
    inside = np.abs(following - reading) <= (reach.next_high - reach.next_low) / 2.0
    assert inside.mean() > 0.95


def test_the_instrument_never_narrows_an_interval() -> None:
    for spread in (0.001, 0.01, 0.1):
        alone, together = (estimate_of(100.0, spread, u, 2).expanded for u in (0.0, 0.006))
        assert together >= alone


def test_no_samples_no_estimate() -> None:
    assert estimate_samples((), 0.1, 1.0) is None
    assert deviation_of((3.0,)) is None


@pytest.mark.parametrize(
    "call",
    [
        lambda: mean_of(()),
        lambda: student(0.0),
        lambda: tolerance_factor(1),
        lambda: grubbs_critical(2),
    ],
    ids=["mean of nothing", "no freedom", "interval of one", "test of two"],
)
def test_what_has_no_answer_is_a_programming_mistake(call: Callable[[], float]) -> None:
    with pytest.raises(ValueError, match=r"\w"):
        call()
