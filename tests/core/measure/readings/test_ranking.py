from __future__ import annotations

import numpy as np
import pytest

from core.geometry.ovals.ovals import Family, Oval
from core.measure.readings.predict import predicted
from core.measure.readings.quantities import oval_table
from core.measure.readings.ranking import rank
from core.measure.readings.results import Decision, Ranking
from core.part.readings import Instrument, Reading, ReadingKind, Readings
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

F, K = Family, ReadingKind
OBROUND, ELLIPSE = Oval(F.OBROUND, 240.0, 140.0), Oval(F.ELLIPSE, 240.0, 140.0)
SHALLOW = Oval(F.FOUR_ARC, 240.0, 140.0, 45.0)
BASIC = (LENGTH, WIDTH, JAWS_45)
STATIONS = (*BASIC, HALF_WAY, THREE_QUARTERS)


def ranked(readings: Readings) -> Ranking:
    return rank(readings, oval_table(readings))


def plain(mm: float) -> str:
    return f"{mm:.1f} mm"


@pytest.mark.parametrize("samples", [2, 3, 5])
@pytest.mark.parametrize(
    "oval",
    [
        Oval(F.CIRCLE, 200.0, 200.0),
        OBROUND,
        ELLIPSE,
        SHALLOW,
        Oval(F.FOUR_ARC, 240.0, 140.0),
        Oval(F.ROUNDED_RECTANGLE, 240.0, 140.0, 30.0),
        Oval(F.SUPERELLIPSE, 240.0, 140.0, exponent=2.8),
    ],
    ids=lambda o: f"{o.family.value} {o.end_radius or o.exponent or ''}".strip(),
)
def test_widths_at_two_stations_find_the_right_family(oval: Oval, samples: int) -> None:
    rng = np.random.default_rng(2)
    sets = 40
    right = wrong = 0
    for _ in range(sets):
        found = ranked(simulated(oval, STATIONS, samples, rng))
        assert found.best is not None
        right += found.decision is Decision.DECIDED and found.best.family is oval.family
        wrong += found.decision is Decision.DECIDED and found.best.family is not oval.family
    assert right >= 0.9 * sets
    assert wrong <= 1


def test_the_decided_sentence_names_what_the_next_family_would_miss() -> None:
    # At x = a/2 = 60: the ellipse is 2 · 70 √(1 − 1/4) = 121.2 wide, the obround 2 √(70² − 10²) = 138.6.
    rows = (LENGTH, WIDTH, HALF_WAY, JAWS_45)
    found = ranked(exact(OBROUND, rows, samples=3, spread=0.2))
    assert found.decision is Decision.DECIDED
    assert found.next is None
    text = found.sentence.show(plain)
    assert text.startswith("obround: all readings within 0.0 mm; a")
    assert "would miss the" in text


def test_length_and_width_never_decide() -> None:
    found = ranked(simulated(OBROUND, (LENGTH, WIDTH), 3, np.random.default_rng(0)))
    assert found.decision is Decision.TOO_FEW
    assert {fit.family for fit in found.fits if fit.is_possible} == {F.OBROUND, F.ELLIPSE, F.FOUR_ARC}
    assert found.next is not None
    assert found.next.reading.kind in (K.JAWS, K.WIDTH_AT)


def test_a_width_at_a_station_is_asked_for_between_ellipse_and_four_arcs() -> None:
    # At 45° jaws read 2 √((120² + 70²) / 2) = 196.5 on the ellipse, 2 (45 + 75 cos 45°) = 196.1 on the four arcs;
    # at 3a/4 = 90 they are 2 · 70 √(1 − 9/16) = 92.6 and 2 (√(170² − 90²) − 100) = 88.4 wide.
    found = ranked(simulated(ELLIPSE, BASIC, 3, np.random.default_rng(3)))
    assert found.decision is Decision.UNDECIDED
    assert found.best is not None
    assert found.best.family is F.ELLIPSE
    assert found.next is not None
    assert found.next.reading.kind is K.WIDTH_AT
    assert "undecided" in found.sentence.show(plain)


def test_45_degree_jaws_throw_the_obround_out_or_keep_it() -> None:
    rng = np.random.default_rng(4)
    kept = ranked(simulated(OBROUND, BASIC, 3, rng))
    out = ranked(simulated(ELLIPSE, BASIC, 3, rng))
    assert kept.best is not None
    assert kept.best.family is F.OBROUND
    for found, family in ((kept, F.ELLIPSE), (out, F.OBROUND)):
        fit = found.of(family)
        assert fit is not None
        assert not fit.is_possible


def test_coarse_readings_stay_undecided_where_fine_ones_decide() -> None:
    # Ellipse and four arcs of the usual end radius differ by some 2 mm at most on these readings.
    rng = np.random.default_rng(6)
    coarse = [ranked(simulated(ELLIPSE, STATIONS, 2, rng, noise=2.0)).decision for _ in range(20)]
    fine = [ranked(simulated(ELLIPSE, STATIONS, 2, rng, noise=0.05)).decision for _ in range(20)]
    assert coarse.count(Decision.UNDECIDED) >= 15
    assert fine.count(Decision.DECIDED) >= 18


@pytest.mark.parametrize("rows", [(*BASIC, HALF_WAY), STATIONS, (*STATIONS, TAPE)], ids=["four", "five", "six"])
def test_one_sample_alone_tells_no_wrong_family(rows: tuple[Reading, ...]) -> None:
    # Nothing is known of how far its readings scatter but what the best family leaves of them.
    rng = np.random.default_rng(4)
    decided = 0
    for oval in (ELLIPSE, SHALLOW, Oval(F.SUPERELLIPSE, 240.0, 140.0, exponent=2.8), OBROUND):
        for noise in (0.05, 0.3):
            for _ in range(6):
                found = ranked(simulated(oval, rows, 1, rng, noise=noise))
                assert found.decision is not Decision.DECIDED or (found.best and found.best.family is oval.family)
                assert found.decision is not Decision.NONE_FITS
                decided += found.decision is Decision.DECIDED
    assert decided >= (30 if len(rows) == 6 else 0)
    assert len(rows) == 6 or not decided


def test_a_special_case_is_not_doubted_for_the_family_that_contains_it() -> None:
    # An obround is a rounded rectangle whose corners are half the width: that one fits as well, always.
    found = ranked(simulated(OBROUND, (*STATIONS, JAWS_30), 3, np.random.default_rng(1)))
    rectangle = found.of(F.ROUNDED_RECTANGLE)
    assert rectangle is not None
    assert rectangle.is_possible
    assert found.decision is Decision.DECIDED


def test_what_no_family_can_be_is_said() -> None:
    rows = tuple(
        filled(row, [mm + 0.05 * k for k in range(3)])
        for row, mm in ((LENGTH, 240.0), (WIDTH, 140.0), (JAWS_45, 225.0), (HALF_WAY, 100.0), (THREE_QUARTERS, 120.0))
    )
    found = ranked(Readings(("a", "b", "c"), rows))
    assert found.decision is Decision.NONE_FITS
    assert found.next is None
    assert "no family fits" in found.sentence.show(plain)
    assert not any(fit.is_possible for fit in found.fits)


def test_three_readings_that_fit_only_families_of_three_sizes_are_too_few() -> None:
    found = ranked(simulated(Oval(F.SUPERELLIPSE, 240.0, 140.0, exponent=2.6), BASIC, 5, np.random.default_rng(8)))
    assert found.decision is Decision.TOO_FEW
    assert found.next is not None


@pytest.mark.parametrize(
    "rows",
    [(), (LENGTH,), (WIDTH,), (TAPE,), (JAWS_45,), (Reading(K.JAWS),), (HALF_WAY,), (Reading(K.CORNER_GAP), WIDTH)],
    ids=lambda rows: " ".join(row.kind for row in rows) or "none",
)
@pytest.mark.parametrize("samples", [0, 1, 3])
def test_hardly_anything_read_is_too_few_and_no_error(rows: tuple[Reading, ...], samples: int) -> None:
    oval = OBROUND
    table = [
        filled(row, [predicted(oval, row) if row.kind is not K.JAWS or row.angle else 200.0] * samples) for row in rows
    ]
    found = ranked(Readings(("a", "b", "c")[:samples], tuple(table)))
    assert found.decision is Decision.TOO_FEW
    assert found.sentence.show(plain)


def test_the_next_reading_is_the_one_with_the_greatest_difference_in_its_own_uncertainty() -> None:
    readings = simulated(ELLIPSE, BASIC, 3, np.random.default_rng(3))
    found = ranked(readings)
    assert found.next is not None
    best = found.fits[0].oval
    second = next(
        fit.oval for fit in found.fits[1:] if abs(predicted(fit.oval, found.next.reading) - found.next.second) < 1e-9
    )
    assert found.next.best == pytest.approx(predicted(best, found.next.reading))
    apart = abs(found.next.best - found.next.second)
    # All of these are read with the same callipers, so the greatest difference is the clearest.
    others = [
        *(Reading(K.JAWS, angle=angle) for angle in (30.0, 60.0)),
        *(Reading(K.WIDTH_AT, along=float(along)) for along in (30, 60, 90)),
        Reading(K.END_HEIGHT, along=70.0),
    ]
    assert apart >= max(abs(predicted(best, row) - predicted(second, row)) for row in others) - 0.05


def test_a_reading_that_was_taken_is_not_asked_for_again() -> None:
    for row in (HALF_WAY, THREE_QUARTERS, Reading(K.WIDTH_AT, along=30.0), JAWS_45, Reading(K.JAWS, angle=-45.0)):
        found = ranked(simulated(ELLIPSE, (LENGTH, row), 3, np.random.default_rng(3)))
        assert found.next is not None
        assert (found.next.reading.kind, found.next.reading.along) != (row.kind, row.along) or (
            row.kind is K.JAWS and found.next.reading.angle != 45.0
        )


def test_a_family_that_can_not_reach_the_readings_is_thrown_out_though_it_has_as_many_sizes() -> None:
    # A rounded rectangle reads no less than the obround's 210.7 at 45°; an ellipse reads 196.5.
    found = ranked(simulated(ELLIPSE, BASIC, 3, np.random.default_rng(3)))
    rectangle, four_arc = found.of(F.ROUNDED_RECTANGLE), found.of(F.FOUR_ARC)
    assert rectangle is not None
    assert four_arc is not None
    assert not rectangle.is_possible
    assert four_arc.is_possible


def test_taking_the_next_reading_decides() -> None:
    rng = np.random.default_rng(12)
    decided = 0
    for _ in range(30):
        readings = simulated(OBROUND, (LENGTH, WIDTH), 3, rng)
        found = ranked(readings)
        taken = 0
        while found.next is not None and taken < 3:
            row = found.next.reading
            if row.kind is K.TAPE:
                row = Reading(K.TAPE, along=0.2, instrument=Instrument.TAPE)
            more = simulated(OBROUND, (row,), 3, rng)
            readings = Readings(readings.samples, (*readings.rows, *more.rows))
            found = ranked(readings)
            taken += 1
        decided += found.decision is Decision.DECIDED and found.best is not None and found.best.family is F.OBROUND
    assert decided >= 27


def test_sentences_show_lengths_in_whatever_unit_is_asked_for() -> None:
    found = ranked(simulated(ELLIPSE, BASIC, 3, np.random.default_rng(3)))
    assert found.next is not None
    for sentence in (found.sentence, found.next.words):
        text = sentence.show(lambda mm: f"{mm / 25.4:.3f} in")
        assert " in" in text
        assert "mm" not in text
