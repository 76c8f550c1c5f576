from __future__ import annotations

import numpy as np
import pytest

from core.readings.height import free_height
from core.readings.statistics import instrument_uncertainty
from core.readings.values import Reading, ReadingKind, Readings

H = ReadingKind.HEIGHT


def table(*rows: tuple[float | None, tuple[float | None, ...]]) -> Readings:
    return Readings(("a", "b", "c"), tuple(Reading(H, values, weight=weight) for weight, values in rows))


def test_heights_under_two_weights_are_carried_on_to_none() -> None:
    # By hand: 61.0 at 200 g and 60.4 at 500 g fall 0.2 per 100 g, so 61.4 at none.
    found = free_height(table((200.0, (61.0, 61.1, 60.9)), (500.0, (60.4, 60.5, 60.3))))
    assert found is not None
    estimate, words = found
    assert estimate.value == pytest.approx(61.4)
    assert estimate.count == 3
    assert words == "extrapolated from 200 g and 500 g, mean of 3 samples"


def test_three_weights_are_carried_on_along_the_best_line() -> None:
    weights, heights = (100.0, 300.0, 800.0), (61.2, 60.9, 59.8)
    found = free_height(table(*((w, (h,)) for w, h in zip(weights, heights, strict=True))))
    assert found is not None
    assert found[0].value == pytest.approx(np.polyfit(weights, heights, 1)[1])  # numpy's least squares


def test_carrying_on_costs_certainty() -> None:
    # By hand: free = 5/3 h(200) - 2/3 h(500), so the instrument counts sqrt(25 + 4) / 3 times.
    two = free_height(table((200.0, (61.0, 61.0, 61.0)), (500.0, (60.4, 60.4, 60.4))))
    one = free_height(table((None, (61.4, 61.4, 61.4))))
    assert two is not None
    assert one is not None
    assert one[0].standard == pytest.approx(instrument_uncertainty(0.02))
    assert two[0].standard == pytest.approx(one[0].standard * 29**0.5 / 3.0)


@pytest.mark.parametrize("weight", [None, 0.0])
def test_a_height_without_weight_counts_as_read(weight: float | None) -> None:
    found = free_height(table((weight, (61.5, 61.3, 61.4)), (200.0, (60.0, 60.0, 60.0)), (500.0, (59.0, 59.0, 59.0))))
    assert found is not None
    assert found[0].value == pytest.approx(61.4)
    assert found[1] == "mean of 3 samples"


def test_each_sample_has_its_own_line() -> None:
    # A stiffer second sample; the third lacks a weight and stays out.
    found = free_height(table((200.0, (61.0, 61.2, 61.9)), (500.0, (60.4, 61.2, None))))
    assert found is not None
    assert found[0].value == pytest.approx((61.4 + 61.2) / 2.0)
    assert found[0].count == 2


def test_heights_at_several_places_are_averaged_first() -> None:
    readings = Readings(("a",), tuple(Reading(H, (mm,), place=f"place {mm}") for mm in (61.2, 61.4, 61.6, 61.4)))
    found = free_height(readings)
    assert found is not None
    assert found[0].value == pytest.approx(61.4)
    assert found[0].is_stand_in  # four places of one sample are no four samples


def test_a_height_under_one_weight_says_nothing_of_the_free_height() -> None:
    assert free_height(table((200.0, (61.0, 61.0, 61.0)))) is None


@pytest.mark.parametrize("rows", [(), ((None, ()),), ((200.0, (None, None)), (500.0, (None,)))])
def test_nothing_read_is_no_height(rows: tuple[tuple[float | None, tuple[float | None, ...]], ...]) -> None:
    assert free_height(table(*rows)) is None


def test_a_line_that_ends_below_nothing_is_no_height() -> None:
    assert free_height(table((200.0, (10.0,)), (210.0, (60.0,)))) is None
