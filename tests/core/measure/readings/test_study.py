from __future__ import annotations

from math import inf, isfinite, pi
from time import process_time

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.geometry.ovals.ovals import Family, Oval, check_oval, exact_length
from core.measure.readings.results import Decision, Study
from core.measure.readings.study import study
from core.part.readings import Instrument, Reading, ReadingKind, Readings, RubberClass, SizeName
from core.words.ends import End
from tests.core.measure.readings.simulated import (
    HALF_WAY,
    JAWS_30,
    JAWS_45,
    LENGTH,
    TAPE,
    THREE_QUARTERS,
    WIDTH,
    exact,
    filled,
    simulated,
)

F, K, S = Family, ReadingKind, SizeName
OBROUND = Oval(F.OBROUND, 219.2, 139.6)


def words(found: Study, name: SizeName) -> str:
    return next(text for own, _, text in found.sizes if own is name)


def value(found: Study, name: SizeName) -> float:
    estimate = found.size(name)
    assert estimate is not None
    return estimate.value


@pytest.mark.parametrize("family", list(F))
@pytest.mark.parametrize(
    "readings",
    [
        Readings(),
        Readings(("a", "b")),
        Readings((), (LENGTH, WIDTH, JAWS_45, TAPE)),
        Readings(("a",), tuple(Reading(kind) for kind in K)),
        Readings(("a", "b"), tuple(Reading(kind, (None, None)) for kind in K)),
    ],
    ids=["no table", "samples only", "rows only", "empty rows", "gaps"],
)
def test_an_empty_table_says_nothing_and_breaks_nothing(readings: Readings, family: Family) -> None:
    found = study(readings, family)
    assert len(found.rows) == len(readings.rows)
    assert all(row.mean is None and row.estimate is None for row in found.rows)
    assert found.sizes == ()
    assert found.outliers == ()
    assert found.developed is None
    assert found.ranking.decision is Decision.TOO_FEW


@pytest.mark.parametrize("family", list(F))
@pytest.mark.parametrize("kind", list(K))
@pytest.mark.parametrize("values", [(50.0,), (None, 50.0), (50.0, 50.2, 49.9, 50.1)], ids=["one", "second", "four"])
def test_any_single_row_can_be_studied_for_any_family(
    family: Family, kind: ReadingKind, values: tuple[float | None, ...]
) -> None:
    for row in (Reading(kind, values), Reading(kind, values, angle=20.0, along=8.0, turns=2, weight=100.0)):
        found = study(Readings(("a",), (row,)), family)
        assert found.rows[0].mean == pytest.approx(50.0, abs=0.06)


def test_length_and_width_alone_are_means() -> None:
    found = study(
        Readings(("a", "b", "c"), (filled(LENGTH, (219.0, 219.2, 219.4)), filled(WIDTH, (139.5, 139.6, 139.7)))),
        F.OBROUND,
    )
    assert value(found, S.LENGTH) == pytest.approx(219.2)
    assert value(found, S.WIDTH) == pytest.approx(139.6)
    assert words(found, S.LENGTH) == "mean of 3 samples"
    assert found.ranking.decision is Decision.TOO_FEW


def test_all_readings_of_the_oval_work_together_on_its_sizes() -> None:
    rows = (LENGTH, WIDTH, JAWS_45, HALF_WAY, TAPE)
    found = study(exact(OBROUND, rows), F.OBROUND)
    assert value(found, S.LENGTH) == pytest.approx(219.2, abs=1e-3)
    assert words(found, S.LENGTH) == "obround through 5 readings, mean of 3 samples"
    assert [name for name, _, _ in found.sizes] == [S.LENGTH, S.WIDTH]


def test_more_readings_narrow_the_sizes() -> None:
    rng = np.random.default_rng(1)
    narrower = 0
    for _ in range(100):
        whole = simulated(OBROUND, (LENGTH, WIDTH, JAWS_45, JAWS_30, HALF_WAY), 5, rng, growth=0.0)
        two = Readings(whole.samples, whole.rows[:2])
        few, many = (study(readings, F.OBROUND).size(S.LENGTH) for readings in (two, whole))
        assert few is not None
        assert many is not None
        narrower += many.expanded < few.expanded
    assert narrower > 60


@pytest.mark.parametrize(
    ("oval", "names"),
    [
        (Oval(F.CIRCLE, 240.0, 240.0), [S.LENGTH, S.WIDTH]),
        (Oval(F.FOUR_ARC, 240.0, 140.0, 45.0), [S.LENGTH, S.WIDTH, S.END_RADIUS]),
        (Oval(F.FOUR_ARC, 240.0, 140.0), [S.LENGTH, S.WIDTH, S.END_RADIUS]),
        (Oval(F.ROUNDED_RECTANGLE, 240.0, 140.0, 30.0), [S.LENGTH, S.WIDTH, S.END_RADIUS]),
        (Oval(F.SUPERELLIPSE, 240.0, 140.0, exponent=2.8), [S.LENGTH, S.WIDTH, S.EXPONENT]),
    ],
    ids=lambda x: f"{x.family.value} {x.end_radius or ''}".strip() if isinstance(x, Oval) else "",
)
def test_each_family_is_given_its_own_sizes(oval: Oval, names: list[SizeName]) -> None:
    found = study(exact(oval, (LENGTH, WIDTH, JAWS_45, HALF_WAY, THREE_QUARTERS)), oval.family)
    assert [name for name, _, _ in found.sizes] == names
    if oval.end_radius is not None:
        assert value(found, S.END_RADIUS) == pytest.approx(oval.end_radius, abs=1e-3)


def test_the_usual_four_arc_oval_says_its_end_radius_too() -> None:
    # Reference table: the standard construction of half axes 100, 60 has r = 44.67619.
    oval = Oval(F.FOUR_ARC, 200.0, 120.0)
    found = study(exact(oval, (LENGTH, WIDTH, JAWS_45, Reading(K.WIDTH_AT, along=60.0))), F.FOUR_ARC)
    assert value(found, S.END_RADIUS) == pytest.approx(44.67619, abs=1e-3)


def test_a_family_that_the_readings_contradict_says_so_beside_its_sizes() -> None:
    found = study(exact(Oval(F.ELLIPSE, 240.0, 140.0), (LENGTH, WIDTH, JAWS_45, HALF_WAY)), F.OBROUND)
    assert words(found, S.LENGTH) == "mean of 3 samples; the other readings do not fit this shape"
    # What was read of the size itself, not what a wrong shape makes of all readings.
    assert value(found, S.LENGTH) == pytest.approx(240.0, abs=1e-9)
    assert value(found, S.WIDTH) == pytest.approx(140.0, abs=1e-9)


def test_what_a_family_needs_but_was_not_read_falls_back_to_the_means() -> None:
    rows = (LENGTH, WIDTH, Reading(K.END_RADIUS, instrument=Instrument.GAUGE))
    oval = Oval(F.ROUNDED_RECTANGLE, 240.0, 140.0, 30.0)
    whole = exact(oval, rows)
    found = study(Readings(whole.samples, whole.rows[:2]), F.ROUNDED_RECTANGLE)
    assert [name for name, _, _ in found.sizes] == [S.LENGTH, S.WIDTH]
    assert value(study(whole, F.ROUNDED_RECTANGLE), S.END_RADIUS) == pytest.approx(30.0, abs=1e-3)


def test_a_measured_outline_takes_rims_and_height_only() -> None:
    whole = exact(OBROUND, (LENGTH, WIDTH, JAWS_45))
    rims = (Reading(K.RIM_WIDTH, (15.0, 15.1, 14.9)), Reading(K.HEIGHT, (61.4, 61.5, 61.6)))
    found = study(Readings(whole.samples, (*whole.rows, *rims)), F.MEASURED)
    assert [name for name, _, _ in found.sizes] == [S.HEIGHT, S.RIM_WIDTH]


def test_rims_are_told_apart_by_their_end() -> None:
    rows = (
        Reading(K.RIM_WIDTH, (15.0, 15.2), end=End.BASE),
        Reading(K.RIM_WIDTH, (15.2, 15.4), place="left end"),
        Reading(K.RIM_WIDTH, (16.0, 16.2), end=End.LID),
        Reading(K.RIM_THICKNESS, (10.4, 10.6)),
        Reading(K.RIM_THICKNESS, (11.0, None), end=End.LID),
    )
    found = study(Readings(("a", "b"), rows), F.OBROUND)
    assert value(found, S.RIM_WIDTH) == pytest.approx(15.2)
    assert value(found, S.LID_RIM_WIDTH) == pytest.approx(16.1)
    assert value(found, S.RIM_THICKNESS) == pytest.approx(10.5)
    assert value(found, S.LID_RIM_THICKNESS) == pytest.approx(11.0)
    assert words(found, S.LID_RIM_THICKNESS) == "1 sample"


def test_several_places_of_one_sample_are_one_sample() -> None:
    rows = tuple(Reading(K.RIM_WIDTH, (mm,), place=f"at {mm}") for mm in (15.0, 15.1, 15.3))
    found = study(Readings(("a",), rows, rubber=RubberClass.M3), F.OBROUND).size(S.RIM_WIDTH)
    assert found is not None
    assert found.is_stand_in
    # ISO 3302-1, M3, 10 to 16, fixed: +- 0.40, as a rectangular distribution.
    assert found.standard == pytest.approx(0.40 / 3.0**0.5, rel=1e-3)


def test_heights_and_thicknesses_take_the_tolerance_across_the_parting() -> None:
    rows = (Reading(K.RIM_THICKNESS, (14.0,)), Reading(K.HEIGHT, (61.5,)))
    found = study(Readings(("a",), rows, rubber=RubberClass.M3), F.OBROUND)
    # ISO 3302-1, M3, closure: +- 0.60 from 10 to 16, +- 1.30 from 40 to 63.
    for name, tolerance in ((S.RIM_THICKNESS, 0.60), (S.HEIGHT, 1.30)):
        estimate = found.size(name)
        assert estimate is not None
        assert estimate.standard == pytest.approx(tolerance / 3.0**0.5, rel=1e-3)


def test_rows_show_what_they_stand_for_with_tape_and_turns_taken_out() -> None:
    rows = (
        Reading(K.TAPE, (571.0, 571.0), along=0.5, instrument=Instrument.TAPE),
        Reading(K.ROLL, (1707.0, 1707.6), turns=3),
        Reading(K.CORNER_GAP, (28.0, 28.2)),
        Reading(K.END_HEIGHT, (8.0, 8.2), along=60.0),
        Reading(K.JAWS, (190.0, 190.2)),
    )
    found = study(Readings(("a", "b"), rows), F.OBROUND)
    values = [row.estimate.value if row.estimate else None for row in found.rows]
    assert values[0] == pytest.approx(571.0 - pi * 0.5)
    assert values[1] == pytest.approx(1707.3 / 3.0)
    # Trigonometry: in a right angle a circle of radius R leaves R (√2 − 1) to the corner, so R = gap × 2.414;
    # over a chord c a sagitta q gives R = c² / 8q + q / 2.
    assert values[2] == pytest.approx(28.1 * 2.414, abs=0.01)
    assert values[3] == pytest.approx((60.0**2 / 64.0 + 4.0 + 60.0**2 / 65.6 + 4.1) / 2.0)
    assert values[4] is None
    assert found.rows[4].lacks == "angle"
    assert found.rows[4].mean == pytest.approx(190.1)
    assert found.rows[1].mean == pytest.approx(1707.3)  # as it was read


def test_a_rolled_insert_is_known_better_than_a_single_turn_of_the_same_rule() -> None:
    once, thrice = (
        study(Readings(("a",), (Reading(K.ROLL, (569.0 * n,), turns=n),)), F.OBROUND).developed for n in (1, 3)
    )
    assert once is not None
    assert thrice is not None
    assert once.value == pytest.approx(thrice.value)
    assert thrice.standard < once.standard


def test_developed_length_is_that_of_tape_and_roll_alone() -> None:
    rows = (TAPE, Reading(K.ROLL, turns=3), LENGTH)
    found = study(exact(OBROUND, rows), F.OBROUND)
    assert found.developed is not None
    assert found.developed.value == pytest.approx(exact_length(OBROUND), abs=1e-6)
    assert study(exact(OBROUND, (LENGTH, WIDTH)), F.OBROUND).developed is None


def test_a_tape_thicker_than_what_it_measures_is_no_length() -> None:
    found = study(Readings(("a",), (Reading(K.TAPE, (10.0,), along=8.0),)), F.OBROUND)
    assert found.developed is None
    assert found.rows[0].estimate is None


_LENGTHS = st.floats(0.01, 2000.0)


@st.composite
def _rows(draw: st.DrawFn) -> Reading:
    """Any row that a project file can hold, sense or nonsense."""
    return Reading(
        draw(st.sampled_from(list(K))),
        tuple(draw(st.lists(st.none() | _LENGTHS | st.sampled_from([140.0, 140.02, 240.0]), max_size=4))),
        instrument=draw(st.sampled_from(list(Instrument))),
        angle=draw(st.none() | st.floats(-360.0, 360.0)),
        along=draw(st.none() | st.floats(0.0, 2000.0)),
        turns=draw(st.none() | st.integers(1, 100)),
        weight=draw(st.none() | st.floats(0.0, 50_000.0)),
        end=draw(st.none() | st.sampled_from(list(End))),
    )


@given(st.lists(_rows(), max_size=8), st.sampled_from(list(F)))
@settings(deadline=None, max_examples=80)
def test_nonsense_gives_finite_sizes_of_possible_ovals_and_no_error(rows: list[Reading], family: Family) -> None:
    found = study(Readings(("a", "b", "c"), tuple(rows)), family)
    for _, estimate, _ in found.sizes:
        assert all(isfinite(number) for number in (estimate.value, estimate.standard))
        # What a single sample says nothing of is known to within anything.
        assert estimate.expanded >= 0.0
        assert isfinite(estimate.expanded) or (estimate.count == 1 and estimate.next_one is None)
        assert estimate.next_one is None or 0.0 <= estimate.next_one < inf
    for fit in found.ranking.fits:
        check_oval(fit.oval)
    assert found.ranking.sentence.show(str)


def test_a_full_table_is_studied_while_one_types() -> None:
    rows = (
        LENGTH, WIDTH, JAWS_45, JAWS_30, Reading(K.JAWS, angle=60.0), HALF_WAY, THREE_QUARTERS,
        Reading(K.WIDTH_AT, along=30.0), Reading(K.END_HEIGHT, along=70.0), Reading(K.CORNER_GAP), TAPE,
        Reading(K.ROLL, turns=3),
    )  # fmt: skip
    rng = np.random.default_rng(2)
    ovals = (Oval(F.OBROUND, 240.0, 140.0), Oval(F.ELLIPSE, 240.0, 140.0), Oval(F.FOUR_ARC, 240.0, 140.0, 45.0))
    tables = [simulated(oval, rows, 5, rng) for oval in ovals for _ in range(3)]
    study(tables[0], F.OBROUND)  # libraries loaded
    begin = process_time()
    for table in tables[1:]:
        study(table, F.OBROUND)
    # The limit is 150 ms on a slow machine; some 50 ms here.
    assert (process_time() - begin) / (len(tables) - 1) < 0.15


@pytest.mark.parametrize("rows", [
    ((K.LENGTH, 1.0), (K.ROLL, 1.0)),
    ((K.CORNER_GAP, 0.01), (K.TAPE, 1537.8), (K.LENGTH, 1.0)),
])  # fmt: skip
def test_readings_of_next_to_nothing_give_possible_ovals(rows: tuple[tuple[ReadingKind, float], ...]) -> None:
    table = tuple(Reading(kind, (value,), along=0.0, turns=1) for kind, value in rows)
    for fit in study(Readings(("a",), table), F.CIRCLE).ranking.fits:
        check_oval(fit.oval)
