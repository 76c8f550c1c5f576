from __future__ import annotations

from math import cos, pi, radians, sin, sqrt

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.affinity import rotate

from core.geometry.ovals.families.kind import arc_radius
from core.geometry.ovals.ovals import Family, Oval, exact_length, exact_points, least_radius
from core.measure.readings.predict import CORNER, lacks, predicted
from core.part.readings import Instrument, Reading, ReadingKind

F, K = Family, ReadingKind
OVALS = [
    Oval(F.CIRCLE, 160.0, 160.0),
    Oval(F.OBROUND, 240.0, 140.0),
    Oval(F.ELLIPSE, 240.0, 140.0),
    Oval(F.ELLIPSE, 300.0, 60.0),
    Oval(F.FOUR_ARC, 240.0, 140.0),
    Oval(F.FOUR_ARC, 240.0, 140.0, 45.0),
    Oval(F.FOUR_ARC, 240.0, 140.0, 68.0),
    Oval(F.ROUNDED_RECTANGLE, 240.0, 140.0),
    Oval(F.ROUNDED_RECTANGLE, 200.0, 120.0, 12.0),
    Oval(F.SUPERELLIPSE, 240.0, 140.0),
    Oval(F.SUPERELLIPSE, 200.0, 120.0, exponent=5.0),
]
every_oval = pytest.mark.parametrize(
    "oval",
    OVALS,
    ids=lambda o: f"{o.family.value} {o.length:g} x {o.width:g} {o.end_radius or o.exponent or ''}".strip(),
)


def drawn(oval: Oval) -> shapely.Polygon:
    """The oval as GEOS sees it, by some ten thousand chords."""
    return shapely.Polygon(exact_points(oval, 12_000)[0])


def extent(shape: shapely.Polygon, angle: float) -> float:
    """Width between two parallel jaws square to a direction [degrees], by turning the shape."""
    x0, _, x1, _ = rotate(shape, -angle, origin=(0.0, 0.0)).bounds
    return float(x1 - x0)


# The table for 240 x 140 in the shop's practice: jaws at 45°, widths at a/2 and 3a/4, developed length.
@pytest.mark.parametrize(
    ("oval", "jaws", "half_way", "three_quarters", "developed"),
    [
        (Oval(F.OBROUND, 240.0, 140.0), 210.7, 138.6, 114.9, 639.8),
        (Oval(F.ELLIPSE, 240.0, 140.0), 196.5, 121.2, 92.6, 607.3),
        (Oval(F.FOUR_ARC, 240.0, 140.0, 45.0), 196.1, 118.1, 88.4, 604.5),
    ],
    ids=["obround", "ellipse", "four-arc"],
)
def test_the_shops_table_of_240_by_140(
    oval: Oval, jaws: float, half_way: float, three_quarters: float, developed: float
) -> None:
    assert predicted(oval, Reading(K.JAWS, angle=45.0)) == pytest.approx(jaws, abs=0.051)
    assert predicted(oval, Reading(K.WIDTH_AT, along=60.0)) == pytest.approx(half_way, abs=0.051)
    assert predicted(oval, Reading(K.WIDTH_AT, along=90.0)) == pytest.approx(three_quarters, abs=0.051)
    assert predicted(oval, Reading(K.ROLL, turns=1)) == pytest.approx(developed, abs=0.051)


@every_oval
@pytest.mark.parametrize("angle", [0.0, 10.0, 30.0, 45.0, 60.0, 85.0, 90.0, 120.0, -45.0])
def test_jaws_read_the_shapes_extent_in_their_direction(oval: Oval, angle: float) -> None:
    assert predicted(oval, Reading(K.JAWS, angle=angle)) == pytest.approx(extent(drawn(oval), angle), abs=2e-4)


@every_oval
def test_length_and_width_are_the_jaws_along_the_axes(oval: Oval) -> None:
    assert predicted(oval, Reading(K.LENGTH)) == pytest.approx(extent(drawn(oval), 0.0), abs=2e-4)
    assert predicted(oval, Reading(K.WIDTH)) == pytest.approx(extent(drawn(oval), 90.0), abs=2e-4)


@every_oval
@pytest.mark.parametrize("share", [0.0, 0.25, 0.5, 0.75, 0.95])
def test_width_at_a_station_is_the_chord_across_the_shape(oval: Oval, share: float) -> None:
    x = share * oval.length / 2.0
    across = drawn(oval).intersection(shapely.LineString([(x, -1e3), (x, 1e3)]))
    assert predicted(oval, Reading(K.WIDTH_AT, along=x)) == pytest.approx(across.length, abs=2e-3)


@every_oval
@pytest.mark.parametrize("share", [0.1, 0.3, 0.6, 0.9])
def test_end_height_is_from_the_chord_to_the_end(oval: Oval, share: float) -> None:
    y = share * oval.width / 2.0
    along = drawn(oval).intersection(shapely.LineString([(0.0, y), (1e3, y)]))
    expected = oval.length / 2.0 - along.length
    assert predicted(oval, Reading(K.END_HEIGHT, along=2.0 * y)) == pytest.approx(expected, abs=2e-3)


@every_oval
def test_beyond_the_end_nothing_is_wide(oval: Oval) -> None:
    assert predicted(oval, Reading(K.WIDTH_AT, along=oval.length)) == 0.0


@every_oval
def test_tape_and_roll_against_the_length_of_the_exact_curve(oval: Oval) -> None:
    # A tape's middle runs half its thickness outside: Steiner, length + 2 pi t / 2.
    length = drawn(oval).length
    assert predicted(oval, Reading(K.TAPE, along=0.0)) == pytest.approx(length, abs=2e-3)
    around = drawn(oval).buffer(0.4, quad_segs=400).length
    assert predicted(oval, Reading(K.TAPE, along=0.8)) == pytest.approx(around, abs=0.02)
    assert predicted(oval, Reading(K.ROLL, turns=3)) == pytest.approx(3.0 * exact_length(oval), rel=1e-12)


@every_oval
def test_corner_gap_is_from_the_corners_apex_to_the_nested_end(oval: Oval) -> None:
    # Two walls at +-45° pushed against the dense points meet on the long axis.
    points = exact_points(oval, 12_000)[0]
    apex = max(x * cos(t) + y * sin(t) for x, y in points.tolist() for t in (radians(45.0),)) * sqrt(2.0)
    expected = apex - oval.length / 2.0
    assert predicted(oval, Reading(K.CORNER_GAP)) == pytest.approx(expected, abs=2e-4)


def test_an_end_arc_nested_in_a_corner_has_2_414_times_the_gap_as_radius() -> None:
    # Rule of the trade, common practice: R = gap x 2.414.
    gap = predicted(Oval(F.OBROUND, 240.0, 140.0), Reading(K.CORNER_GAP))
    assert gap * 2.414 == pytest.approx(70.0, abs=0.01)
    assert gap * CORNER == pytest.approx(70.0, abs=1e-9)


def test_chord_and_height_give_back_the_end_arcs_radius() -> None:
    oval = Oval(F.FOUR_ARC, 240.0, 140.0, 45.0)
    assert arc_radius(40.0, predicted(oval, Reading(K.END_HEIGHT, along=40.0))) == pytest.approx(45.0, abs=1e-9)


@pytest.mark.parametrize("oval", [o for o in OVALS if o.family is not F.SUPERELLIPSE and o.end_radius != 12.0])
def test_end_radius_is_that_of_the_curve_at_its_tightest(oval: Oval) -> None:
    # On all of these the ends (a rectangle's corners) are the tightest places of the exact curve.
    assert predicted(oval, Reading(K.END_RADIUS)) == pytest.approx(least_radius(oval), rel=1e-6)


def test_a_superellipses_end_reads_as_the_arc_over_half_its_width() -> None:
    oval = Oval(F.SUPERELLIPSE, 240.0, 140.0, exponent=2.5)
    height = predicted(oval, Reading(K.END_HEIGHT, along=70.0))
    assert predicted(oval, Reading(K.END_RADIUS)) == pytest.approx(35.0**2 / (2 * height) + height / 2, rel=1e-12)


@given(st.floats(0.0, 90.0), st.floats(0.5, 6.0))
@settings(deadline=None, max_examples=60)
def test_growth_all_round_adds_its_double_to_every_jaw_reading(angle: float, by: float) -> None:
    # Steiner, for convex outlines: growth d all round gives +2d on every jaw reading and 2 pi d on the length.
    row = Reading(K.JAWS, angle=angle)
    once = Reading(K.ROLL, turns=1)
    for oval, larger in (
        (Oval(F.OBROUND, 240.0, 140.0), Oval(F.OBROUND, 240.0 + 2 * by, 140.0 + 2 * by)),
        (Oval(F.FOUR_ARC, 240.0, 140.0, 45.0), Oval(F.FOUR_ARC, 240.0 + 2 * by, 140.0 + 2 * by, 45.0 + by)),
        (Oval(F.ROUNDED_RECTANGLE, 240.0, 140.0, 20.0), Oval(F.ROUNDED_RECTANGLE, 240 + 2 * by, 140 + 2 * by, 20 + by)),
    ):
        assert predicted(larger, row) - predicted(oval, row) == pytest.approx(2.0 * by, abs=1e-9)
        assert predicted(larger, once) - predicted(oval, once) == pytest.approx(2.0 * pi * by, abs=1e-9)


@pytest.mark.parametrize(
    ("row", "field"),
    [
        (Reading(K.JAWS), "angle"),
        (Reading(K.WIDTH_AT), "along"),
        (Reading(K.END_HEIGHT), "along"),
        (Reading(K.END_HEIGHT, along=0.0), "along"),
        (Reading(K.TAPE, instrument=Instrument.TAPE), "along"),
        (Reading(K.ROLL), "turns"),
        (Reading(K.LENGTH), ""),
        (Reading(K.HEIGHT), ""),
        (Reading(K.WIDTH_AT, along=0.0), ""),
    ],
)
def test_a_row_says_which_figure_it_lacks(row: Reading, field: str) -> None:
    assert lacks(row) == field


@pytest.mark.parametrize(
    ("oval", "row"),
    [
        (OVALS[1], Reading(K.JAWS)),
        (OVALS[1], Reading(K.RIM_WIDTH)),
        (Oval(F.MEASURED, 240.0, 140.0), Reading(K.LENGTH)),
    ],
    ids=["no angle", "not of the oval", "measured outline"],
)
def test_what_an_oval_cannot_read_is_a_programming_mistake(oval: Oval, row: Reading) -> None:
    with pytest.raises(ValueError, match=r"angle|not of the oval|closed form"):
        predicted(oval, row)


def test_obround_is_the_limit_of_the_rounded_rectangle_and_of_four_arcs() -> None:
    obround = Oval(F.OBROUND, 240.0, 140.0)
    for row in (Reading(K.JAWS, angle=37.0), Reading(K.WIDTH_AT, along=80.0), Reading(K.ROLL, turns=2)):
        expected = predicted(obround, row)
        assert predicted(Oval(F.ROUNDED_RECTANGLE, 240.0, 140.0, 70.0), row) == pytest.approx(expected, abs=1e-9)
        assert predicted(Oval(F.FOUR_ARC, 240.0, 140.0, 69.99), row) == pytest.approx(expected, abs=0.05)
    assert np.isclose(predicted(Oval(F.SUPERELLIPSE, 240.0, 140.0, exponent=2.0), Reading(K.JAWS, angle=37.0)),
                      predicted(Oval(F.ELLIPSE, 240.0, 140.0), Reading(K.JAWS, angle=37.0)))  # fmt: skip
