from __future__ import annotations

import numpy as np
import pytest

from core.geometry.ovals.ovals import Family, Oval
from core.measure.readings.outliers import outliers_of
from core.measure.readings.study import study
from core.part.readings import Reading, ReadingKind, Readings, SizeName
from tests.core.measure.readings.simulated import HALF_WAY, JAWS_45, LENGTH, WIDTH, filled, simulated

K = ReadingKind
NAMES = ("a", "b", "c", "d", "e")


def table(*rows: Reading) -> Readings:
    return Readings(NAMES[: max(len(row.values) for row in rows)], rows)


def plain(mm: float) -> str:
    return f"{mm:.2f} mm"


@pytest.mark.parametrize(
    ("typed", "sample"),
    [((219.2, 219.4, 291.1), 2), ((219.2, 21.94, 219.1), 1), ((291.2, 219.4, 219.1, 219.3), 0)],
    ids=["exchanged", "shifted", "exchanged among four"],
)
def test_a_slipped_digit_is_found_in_few_samples(typed: tuple[float, ...], sample: int) -> None:
    (found,) = outliers_of(table(filled(LENGTH, typed)))
    assert (found.row, found.sample, found.value) == (0, sample, typed[sample])
    assert found.others == pytest.approx(219.3, abs=0.2)
    assert "slipped digit" in found.reason.show(plain)


def test_of_two_that_disagree_both_are_pointed_out() -> None:
    found = outliers_of(table(filled(LENGTH, (219.2, 291.2))))
    assert [outlier.sample for outlier in found] == [0, 1]


def test_another_place_of_the_same_sample_speaks_too() -> None:
    found = outliers_of(table(*(Reading(K.RIM_WIDTH, (mm,), place=str(mm)) for mm in (15.0, 15.1, 51.0))))
    assert [outlier.row for outlier in found] == [2]


def test_grubbs_example_of_the_handbook_is_found() -> None:
    # NIST/SEMATECH handbook 1.3.5.17.1 (from memory): eight mass spectrometer readings; 245.57 has G = 2.4687.
    values = (199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57)
    assert (245.57 - np.mean(values)) / np.std(values, ddof=1) == pytest.approx(2.4687, abs=5e-4)
    (found,) = outliers_of(Readings(tuple("abcdefgh"), (filled(LENGTH, values),)))
    assert found.sample == 7


def test_a_reading_far_from_four_alike_is_found_by_grubbs_test() -> None:
    others = filled(WIDTH, (139.6, 139.7, 139.65, 139.6, 139.7))
    (found,) = outliers_of(table(filled(LENGTH, (219.2, 219.25, 219.15, 219.2, 220.6)), others))
    assert (found.row, found.sample) == (0, 4)
    assert "Grubbs" in found.reason.show(plain)
    assert "1.72" in found.reason.show(plain)  # the published critical value for five, 1.715


def test_rounding_makes_no_outlier() -> None:
    # Two alike and one a step of the instrument off: the test alone would point at it.
    assert outliers_of(table(filled(LENGTH, (219.20, 219.20, 219.22)))) == ()


def test_a_large_sample_is_no_outlier_when_all_vary_as_much() -> None:
    assert outliers_of(table(filled(LENGTH, (219.0, 219.5, 220.0)), filled(WIDTH, (139.0, 139.5, 140.0)))) == ()


def test_good_readings_are_seldom_suspected() -> None:
    rng = np.random.default_rng(3)
    oval = Oval(Family.OBROUND, 219.2, 139.6)
    rows = (LENGTH, WIDTH, JAWS_45, HALF_WAY)
    suspected = sum(len(outliers_of(simulated(oval, rows, 5, rng))) for _ in range(400))
    assert suspected / (400 * len(rows)) < 0.05  # Grubbs' own risk, a row


def test_what_stands_out_still_counts() -> None:
    readings = table(filled(LENGTH, (219.2, 219.4, 291.1)))
    found = study(readings, Family.OBROUND)
    assert found.outliers
    length = found.size(SizeName.LENGTH)
    assert length is not None
    assert length.value == pytest.approx((219.2 + 219.4 + 291.1) / 3.0)


@pytest.mark.parametrize("values", [(), (None,), (219.2,), (None, 219.2, None), (219.2, 219.2, 219.2)])
def test_too_little_to_compare_or_no_spread_is_no_outlier(values: tuple[float | None, ...]) -> None:
    assert outliers_of(Readings(("a", "b", "c"), (filled(LENGTH, values),))) == ()
