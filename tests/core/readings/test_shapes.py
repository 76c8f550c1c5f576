from __future__ import annotations

from math import pi, sqrt
from typing import TYPE_CHECKING

import numpy as np
import pytest

from core.ovals import Family, Oval
from core.readings.noise import noise_of
from core.readings.quantities import oval_table
from core.readings.shapes import MODELS, fit_model
from core.readings.values import Instrument, Reading, ReadingKind, Readings, RubberClass, SizeName
from tests.core.readings.simulated import (
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

if TYPE_CHECKING:
    from core.readings.results import ShapeFit

F, K = Family, ReadingKind
BASIC = (LENGTH, WIDTH, JAWS_45, HALF_WAY)
FULL = (*BASIC, THREE_QUARTERS, TAPE)
OVALS = [
    Oval(F.CIRCLE, 200.0, 200.0),
    Oval(F.OBROUND, 240.0, 140.0),
    Oval(F.ELLIPSE, 240.0, 140.0),
    Oval(F.FOUR_ARC, 240.0, 140.0),
    Oval(F.FOUR_ARC, 240.0, 140.0, 45.0),
    Oval(F.ROUNDED_RECTANGLE, 240.0, 140.0, 30.0),
    Oval(F.SUPERELLIPSE, 240.0, 140.0, exponent=2.8),
]


def model_of(oval: Oval) -> int:
    """Number of the model that an oval belongs to."""
    return next(
        i
        for i, model in enumerate(MODELS)
        if model.family is oval.family
        and (model.third is not None) == (oval.end_radius is not None or oval.exponent is not None)
    )


def fit(readings: Readings, model: int) -> ShapeFit | None:
    table = oval_table(readings)
    return fit_model(table, noise_of(table, readings.rubber), MODELS[model])


def true_sizes(oval: Oval) -> dict[SizeName, float]:
    sizes = {SizeName.LENGTH: oval.length, SizeName.WIDTH: oval.width}
    if oval.end_radius is not None:
        sizes[SizeName.END_RADIUS] = oval.end_radius
    if oval.exponent is not None:
        sizes[SizeName.EXPONENT] = oval.exponent
    return sizes


@pytest.mark.parametrize("oval", OVALS, ids=lambda o: f"{o.family.value} {o.end_radius or o.exponent or ''}".strip())
@pytest.mark.parametrize("samples", [1, 3])
def test_a_family_finds_its_own_sizes_again_from_exact_readings(oval: Oval, samples: int) -> None:
    found = fit(exact(oval, FULL, samples, spread=0.01), model_of(oval))
    assert found is not None
    assert found.worst < 1e-4
    assert found.is_possible
    assert found.freedom == len(FULL) - MODELS[model_of(oval)].sizes
    for name, size in true_sizes(oval).items():
        assert dict(found.sizes)[name].value == pytest.approx(size, abs=2e-3 if name is SizeName.EXPONENT else 2e-4)


@pytest.mark.parametrize(
    "rows",
    [
        (TAPE, JAWS_30, JAWS_45),
        (Reading(K.ROLL, turns=3), WIDTH, HALF_WAY),
        (Reading(K.JAWS, angle=10.0), Reading(K.JAWS, angle=80.0), Reading(K.JAWS, angle=45.0)),
        (LENGTH, Reading(K.END_RADIUS, instrument=Instrument.GAUGE)),
        (LENGTH, Reading(K.CORNER_GAP), JAWS_45),
        (LENGTH, Reading(K.END_HEIGHT, along=60.0)),
    ],
    ids=["tape and jaws", "roll", "jaws only", "radius gauge", "corner", "end height"],
)
def test_length_and_width_need_not_be_read_themselves(rows: tuple[Reading, ...]) -> None:
    oval = Oval(F.OBROUND, 240.0, 140.0)
    found = fit(exact(oval, rows), 1)
    assert found is not None
    assert found.oval.length == pytest.approx(240.0, abs=1e-3)
    assert found.oval.width == pytest.approx(140.0, abs=1e-3)


def test_a_size_that_no_reading_sees_is_not_made_up() -> None:
    # The flanks of an obround say nothing of its length.
    flanks = (WIDTH, Reading(K.WIDTH_AT, along=10.0), Reading(K.WIDTH_AT, along=20.0))
    assert fit(exact(Oval(F.OBROUND, 240.0, 140.0), flanks), 1) is None


def test_fewer_readings_than_sizes_fit_nothing() -> None:
    assert fit(exact(Oval(F.ROUNDED_RECTANGLE, 240.0, 140.0, 30.0), (LENGTH, WIDTH)), 5) is None


@pytest.mark.parametrize(
    ("oval", "rows", "samples", "growth"),
    [
        pytest.param(OVALS[1], BASIC, 3, 0.3, id="obround, three that grew together"),
        pytest.param(OVALS[1], FULL, 5, 0.3, id="obround with a tape, five that grew together"),
        pytest.param(OVALS[2], FULL, 3, 0.0, id="ellipse with a tape, three"),
        pytest.param(OVALS[4], BASIC, 5, 0.0, id="four arcs, five"),
        pytest.param(OVALS[4], FULL, 3, 0.3, id="four arcs with a tape, three that grew together"),
        pytest.param(OVALS[6], BASIC, 3, 0.0, id="superellipse, three"),
    ],
)
def test_stated_intervals_cover_the_true_sizes(
    oval: Oval, rows: tuple[Reading, ...], samples: int, growth: float
) -> None:
    rng = np.random.default_rng(samples)
    sets = 2000
    hits: dict[SizeName, int] = dict.fromkeys(true_sizes(oval), 0)
    for _ in range(sets):
        found = fit(simulated(oval, rows, samples, rng, noise=0.15, growth=growth), model_of(oval))
        assert found is not None
        for name, estimate in found.sizes:
            hits[name] += abs(estimate.value - true_sizes(oval)[name]) <= estimate.expanded
    for name, count in hits.items():
        assert 0.93 <= count / sets <= 0.97, name


@pytest.mark.parametrize("samples", [2, 3, 5])
def test_the_right_family_is_thrown_out_no_oftener_than_one_time_in_a_hundred(samples: int) -> None:
    rng = np.random.default_rng(5)
    sets = 1500
    out = 0
    for _ in range(sets):
        found = fit(simulated(OVALS[1], FULL, samples, rng), 1)
        assert found is not None
        out += not found.is_possible
    assert out / sets <= 0.018  # three standard errors over 1 %


def test_a_wrong_family_has_wider_intervals_than_its_readings_alone_give() -> None:
    # Birge 1932: where the misfit is greater than the variances explain, they are widened by sqrt(misfit / freedom).
    readings = simulated(OVALS[2], BASIC, 5, np.random.default_rng(1))
    wrong, right = fit(readings, 1), fit(readings, 2)
    assert wrong is not None
    assert right is not None
    assert not wrong.is_possible
    assert right.is_possible
    for (_, wide), (_, narrow) in zip(wrong.sizes, right.sizes, strict=True):
        assert wide.expanded > 10.0 * narrow.expanded
        # So wide that the truth is inside all the same.
        assert abs(wide.value - {True: 240.0, False: 140.0}[wide.value > 180.0]) < wide.expanded


def test_noise_is_told_from_the_samples_common_growth() -> None:
    rng = np.random.default_rng(7)
    found = []
    for _ in range(200):
        table = oval_table(simulated(OVALS[1], BASIC, 5, rng, noise=0.05, growth=0.5, instruments=False))
        noise = noise_of(table, RubberClass.M3)
        found.append((float(noise.single.mean()), noise.growth**2))
    single, growth = np.mean(found, axis=0)
    assert sqrt(single) == pytest.approx(0.05, rel=0.06)
    assert sqrt(growth) == pytest.approx(0.5, rel=0.1)


def test_tape_grows_by_two_pi_where_jaws_grow_by_two() -> None:
    # Shop practice: all-round growth d gives 2d on length and width, 2 pi d on the developed length.
    values = {
        K.LENGTH: (240.0, 241.0, 242.0),
        K.WIDTH: (140.0, 141.0, 142.0),
        K.TAPE: (640.0, 640.0 + pi, 640 + 2 * pi),
    }
    rows = tuple(filled(row, values[row.kind]) for row in (LENGTH, WIDTH, TAPE))
    noise = noise_of(oval_table(Readings(("a", "b", "c"), rows)), RubberClass.M3)
    assert float(noise.single.max()) < 1e-20
    assert noise.growth == pytest.approx(0.5)


@pytest.mark.parametrize("gone", [((0, 0),), ((1, 2), (2, 0)), ((0, 1), (3, 1), (4, 2))])
def test_missing_readings_leave_the_fit_and_its_intervals_sound(gone: tuple[tuple[int, int], ...]) -> None:
    rng = np.random.default_rng(11)
    oval, sets, hits = OVALS[1], 600, 0
    for _ in range(sets):
        whole = simulated(oval, FULL, 4, rng)
        rows = [list(row.values) for row in whole.rows]
        for row, sample in gone:
            rows[row][sample] = None
        holed = Readings(
            whole.samples, tuple(filled(row, values) for row, values in zip(whole.rows, rows, strict=True))
        )
        found = fit(holed, 1)
        assert found is not None
        hits += abs(found.oval.length - oval.length) <= dict(found.sizes)[SizeName.LENGTH].expanded
    assert 0.92 <= hits / sets <= 0.995  # pooled noise takes the samples' place, on the safe side


def test_several_places_are_repeats_of_one_reading() -> None:
    rows = (
        filled(LENGTH, (240.0, 240.4)), filled(WIDTH, (140.0, 140.2)), filled(JAWS_45, (210.6, 210.9)),
        filled(Reading(K.JAWS, angle=135.0, place="the other way"), (210.8, 211.1)),
        filled(Reading(K.JAWS, angle=-90.0), (140.2, 140.4)),
    )  # fmt: skip
    table = oval_table(Readings(("a", "b"), rows))
    assert [quantity.rows for quantity in table.quantities] == [(0,), (1, 4), (2, 3)]
    assert table.means == pytest.approx([240.2, 140.2, 210.85])


def test_another_instrument_is_another_reading() -> None:
    rows = (filled(LENGTH, (240.0,)), Reading(K.LENGTH, (240.5,), instrument=Instrument.RULE))
    assert len(oval_table(Readings(("a",), rows)).quantities) == 2


def test_incomplete_and_empty_rows_are_left_out() -> None:
    rows = (LENGTH, filled(WIDTH, (None, None)), Reading(K.JAWS, (210.0,)), Reading(K.RIM_WIDTH, (15.0,)))
    assert not oval_table(Readings(("a", "b"), rows)).quantities
