from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from msgspec.structs import replace

from core.measure.readings.height import disordered, free_height
from core.measure.readings.statistics import instrument_uncertainty
from core.part.readings import Reading, ReadingKind, Readings, RubberClass

if TYPE_CHECKING:
    from collections.abc import Callable

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
    assert words == (
        "carried on in a straight line from 200 g and 500 g, mean of 3 samples; a third weight would show a bend"
    )


def test_a_bend_in_the_load_line_is_followed() -> None:
    weights, heights = (100.0, 300.0, 500.0, 800.0), (59.5, 59.0, 58.6, 58.2)
    found = free_height(table(*((w, (h, h + 0.1, h - 0.1)) for w, h in zip(weights, heights, strict=True))))
    assert found is not None
    parabola, line = (float(np.polyfit(weights, heights, degree)[-1]) for degree in (2, 1))
    assert found[0].value == pytest.approx(parabola)  # numpy's least squares
    assert found[1].startswith("carried on along the bend of the load line from 100 g, 300 g, 500 g and 800 g")
    # Spread 0.1 over three samples alone: t = 4.303 (NIST TN 1297, table B.1).
    assert found[0].expanded > 4.303 * 0.1 / 3**0.5 + abs(parabola - line)


@pytest.mark.parametrize("samples", [1, 3])
@pytest.mark.parametrize("weights", [(100.0, 300.0, 800.0), (100.0, 200.0, 300.0), (200.0, 500.0, 600.0, 1000.0)])
@pytest.mark.parametrize(
    "depth",
    [
        lambda w: 2.0 * (w / 1000.0) ** (2.0 / 3.0),
        lambda w: 2.0 * (w / 1000.0) ** 0.8,
        lambda w: 2.0 * (1.0 - np.exp(-w / 600.0)),
        lambda w: 2.0 * w / 1000.0,
        lambda w: 2.0 * (w / 1000.0) ** 1.2,
    ],
    ids=["Hertz", "power 0.8", "levels off", "straight", "softens"],
)
def test_the_interval_holds_the_true_free_height_whatever_the_load_line(
    depth: Callable[[float], float], weights: tuple[float, ...], samples: int
) -> None:
    # Exact readings but for the steps of the calliper: only the bend is left to be off by.
    rows = ((w, tuple(round((60.0 + 0.02 * k - depth(w)) / 0.02) * 0.02 for k in range(samples))) for w in weights)
    found = free_height(replace(table(*rows), rubber=RubberClass.M1 if samples == 1 else None))
    assert found is not None
    true = 60.0 + 0.02 * (samples - 1) / 2.0
    assert abs(found[0].value - true) <= found[0].expanded
    assert found[0].next_one is not None
    assert abs(found[0].value - true) <= found[0].next_one


@pytest.mark.parametrize("samples", [3, 5])
def test_under_three_weights_the_intervals_hold_at_least_as_often_as_they_say(samples: int) -> None:
    rng = np.random.default_rng(samples)
    weights, sets = (100.0, 300.0, 700.0), 500
    mean = following = 0
    for _ in range(sets):
        own = 60.0 + rng.normal(0.0, 0.2, samples + 1)  # what each sample is by itself, and the next one
        soft = 2.0 * np.exp(rng.normal(0.0, 0.1, samples))
        rows = ((w, tuple(own[:-1] - soft * (w / 1000.0) ** 0.75 + rng.normal(0.0, 0.02, samples))) for w in weights)
        found = free_height(Readings(tuple("abcde"[:samples]), tuple(Reading(H, v, weight=w) for w, v in rows)))
        assert found is not None
        assert found[0].next_one is not None
        mean += abs(found[0].value - 60.0) <= found[0].expanded
        following += abs(found[0].value - own[-1]) <= found[0].next_one
    assert mean / sets >= 0.95
    assert following / sets >= 0.95


def test_weights_in_the_wrong_order_are_pointed_out_and_give_no_height() -> None:
    exchanged = table((200.0, (60.4, 60.4, 60.4)), (500.0, (61.0, 61.0, 61.0)))
    assert free_height(exchanged) is None
    found = disordered(exchanged)
    assert [(one.row, one.sample, one.value, one.others) for one in found] == [(1, k, 61.0, 60.4) for k in range(3)]
    assert found[0].reason.show("{:.2f} mm".format) == (
        "61.00 mm under 500 g is more than 60.40 mm under 200 g: were the weights exchanged?"
    )


def test_a_sample_whose_weights_were_exchanged_is_left_out_of_the_free_height() -> None:
    readings = table((200.0, (61.0, 61.1, 60.3)), (500.0, (60.4, 60.5, 60.9)))
    found = free_height(readings)
    assert found is not None
    assert found[0].count == 2
    assert "1 left out, higher under more weight" in found[1]
    assert [(one.row, one.sample) for one in disordered(readings)] == [(1, 2)]


def test_a_free_height_below_one_under_a_weight_is_pointed_out() -> None:
    found = disordered(table((None, (61.0, 61.4, None)), (200.0, (61.4, 61.0, 61.0))))
    assert [(one.row, one.sample) for one in found] == [(1, 0)]
    assert "without any weight" in found[0].reason.show(str)


def test_one_step_of_the_instrument_is_no_wrong_order() -> None:
    assert disordered(table((200.0, (61.00,)), (500.0, (61.02,)))) == ()
    assert disordered(table((200.0, (61.00,)), (200.0, (61.30,)))) == ()


def test_carrying_on_costs_certainty() -> None:
    # By hand: free = 5/3 h(200) - 2/3 h(500), so the instrument counts sqrt(25 + 4) / 3 times. Three that are alike
    # spread by as much as the instrument hides, over sqrt(3).
    two = free_height(table((200.0, (61.0, 61.0, 61.0)), (500.0, (60.4, 60.4, 60.4))))
    one = free_height(table((None, (61.4, 61.4, 61.4))))
    assert two is not None
    assert one is not None
    assert one[0].standard == pytest.approx(instrument_uncertainty(0.02) * (4.0 / 3.0) ** 0.5)
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
    assert found[0].count == 1  # four places of one sample are no four samples
    assert found[0].next_one is None


def test_a_height_under_one_weight_says_nothing_of_the_free_height() -> None:
    assert free_height(table((200.0, (61.0, 61.0, 61.0)))) is None


@pytest.mark.parametrize("rows", [(), ((None, ()),), ((200.0, (None, None)), (500.0, (None,)))])
def test_nothing_read_is_no_height(rows: tuple[tuple[float | None, tuple[float | None, ...]], ...]) -> None:
    assert free_height(table(*rows)) is None


def test_a_line_that_ends_below_nothing_is_no_height() -> None:
    assert free_height(table((200.0, (10.0,)), (210.0, (60.0,)))) is None
