from __future__ import annotations

from math import inf, sqrt
from typing import TYPE_CHECKING

import numpy as np
import pytest

from core.measure.readings.statistics import (
    deviation_of,
    estimate_of,
    estimate_samples,
    grubbs_critical,
    instrument_uncertainty,
    mean_of,
    student,
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
    sets = 4000
    mean = following = 0
    read, instrument, others = rng.normal(0.0, 1.0, (sets, n)), rng.normal(0.0, u, sets), rng.normal(0.0, 1.0, sets)
    for values, off, bought in zip(read.tolist(), instrument.tolist(), others.tolist(), strict=True):
        estimate = estimate_samples(values, u, None)
        assert estimate is not None
        mean += abs(estimate.value + off) <= estimate.expanded
        following += estimate.next_one is not None and abs(estimate.value + off - bought) <= estimate.next_one
    # Where two samples spread by no more than the instrument, Student's t of the spread alone is on the safe side.
    assert 0.93 <= mean / sets <= (0.99 if n == 2 and ratio > 0.1 else 0.97)
    if n > 2:
        assert 0.93 <= following / sets <= 0.97


@pytest.mark.parametrize("n", [3, 4, 5, 12])
def test_the_next_ones_interval_is_the_published_prediction_interval(n: int) -> None:
    from scipy import stats

    # NIST/SEMATECH handbook 4.5.1.2 prints it for regression; for one mean it is t s sqrt(1 + 1/n) (Hahn and Meeker,
    # Statistical Intervals, 4.7, from memory). The difference of mean and next one has the variance s² / n + s².
    values = np.random.default_rng(n).normal(100.0, 0.3, n)
    estimate = estimate_samples(values.tolist(), 0.0, None)
    assert estimate is not None
    assert estimate.next_one == pytest.approx(stats.t.ppf(0.975, n - 1) * values.std(ddof=1) * sqrt(1.0 + 1.0 / n))
    low, high = stats.t.interval(0.95, n - 1, values.mean(), stats.sem(values))
    assert estimate.expanded == pytest.approx((high - low) / 2.0)  # the mean's own
    assert estimate.next_one == pytest.approx(sqrt(n + 1.0) * estimate.expanded)


@pytest.mark.parametrize("n", [2, 3, 5])
@pytest.mark.parametrize("steps", [0.25, 1.0, 4.0])
def test_rounding_to_the_steps_of_an_instrument_never_makes_an_interval_hold_less(n: int, steps: float) -> None:
    rng = np.random.default_rng(8)
    sets = 4000
    true = rng.uniform(0.0, 1.0, sets)
    read = np.round(true[:, None] + rng.normal(0.0, steps, (sets, n)))
    bought = true + rng.normal(0.0, steps, sets)
    mean = following = 0
    for values, size, other in zip(read.tolist(), true.tolist(), bought.tolist(), strict=True):
        estimate = estimate_samples(values, instrument_uncertainty(1.0), None)
        assert estimate is not None
        mean += abs(estimate.value - size) <= estimate.expanded
        following += estimate.next_one is not None and abs(estimate.value - other) <= estimate.next_one
    assert mean / sets >= 0.94
    assert n == 2 or following / sets >= 0.94


def test_two_equal_readings_are_known_no_better_than_step_and_number_allow() -> None:
    # t = 12.71 for one degree of freedom (NIST TN 1297, table B.1); a step of 0.02 hides u = 0.02 / sqrt(12).
    two = estimate_samples((219.2, 219.2), instrument_uncertainty(0.02), None)
    assert two is not None
    assert two.expanded == pytest.approx(12.71 * 0.00577 / sqrt(2.0), rel=0.01)
    assert two.expanded > 0.05
    assert two.next_one is None


@pytest.mark.parametrize("values", [(212.0,), (212.0, 212.3)])
def test_fewer_than_three_samples_say_nothing_of_the_next_one(values: tuple[float, ...]) -> None:
    few = estimate_samples(values, 0.005, None)
    assert few is not None
    assert (few.next_low, few.next_high, few.next_one, few.is_stand_in) == (None, None, None, False)
    assert (few.expanded == inf) == (len(values) == 1)


def test_a_class_stands_in_for_two_samples_and_is_no_narrower_than_they_lie_apart() -> None:
    for apart in (0.0, 1.0, 9.0):
        two = estimate_samples((212.0, 212.0 + apart), 0.0, 1.7)
        assert two is not None
        assert two.is_stand_in
        assert two.next_one == pytest.approx(max(1.9 * 1.7, apart))
    three = estimate_samples((212.0, 212.1, 212.2), 0.0, 1.7)
    assert three is not None
    assert not three.is_stand_in
    assert three.next_one == pytest.approx(4.303 * 0.1 * sqrt(4.0 / 3.0), rel=1e-3)


def test_a_single_sample_stands_on_the_rubber_class() -> None:
    one = estimate_samples((212.0,), 0.005, 1.7)
    assert one is not None
    assert one.is_stand_in
    assert one.count == 1
    # Limits +- T as a rectangular distribution: u = T / sqrt(3) (NIST TN 1297 4.6).
    assert one.standard == pytest.approx(1.7 / sqrt(3.0), rel=1e-4)


@pytest.mark.parametrize("n", [1, 2])
@pytest.mark.parametrize("batch", [0.0, 0.9, 1.0], ids=["each by itself", "mostly in common", "one batch"])
@pytest.mark.parametrize("kind", ["rectangular", "at the limits", "normal"])
def test_where_a_class_stands_in_95_of_100_lie_within(n: int, batch: float, kind: str) -> None:
    # Parts within +- T of their nominal size, the samples of one batch off in common; the next one is of another.
    rng = np.random.default_rng(9)
    sets, limit = 20_000, 1.7

    def off(*shape: int) -> np.ndarray[tuple[int, ...], np.dtype[np.float64]]:
        match kind:
            case "rectangular":
                return rng.uniform(-limit, limit, shape)
            case "normal":
                return np.clip(rng.normal(0.0, limit / 2.0, shape), -limit, limit)
            case _:
                return limit * np.sin(rng.uniform(0.0, 2.0 * np.pi, shape))

    read = batch * off(sets, 1) + (1.0 - batch) * off(sets, n)
    bought = off(sets)
    mean = following = 0
    for values, other in zip((212.0 + read).tolist(), (212.0 + bought).tolist(), strict=True):
        estimate = estimate_samples(values, 0.0, limit)
        assert estimate is not None
        assert estimate.next_one is not None
        mean += abs(estimate.value - 212.0) <= estimate.expanded
        following += abs(estimate.value - other) <= estimate.next_one
    assert following / sets >= 0.95
    assert mean / sets >= 0.95


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
        lambda: grubbs_critical(2),
    ],
    ids=["mean of nothing", "no freedom", "test of two"],
)
def test_what_has_no_answer_is_a_programming_mistake(call: Callable[[], float]) -> None:
    with pytest.raises(ValueError, match=r"\w"):
        call()
