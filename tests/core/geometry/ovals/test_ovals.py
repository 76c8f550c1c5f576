from math import atan2, degrees, hypot, inf, nan, pi, sqrt

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from core.geometry.lines.outline import FloatArray, Outline, as_circle
from core.geometry.ovals.distances import deviation
from core.geometry.ovals.families.four_arc import four_arc_radii
from core.geometry.ovals.ovals import (
    ARC_TOLERANCE,
    SIZED_FAMILIES,
    Family,
    Oval,
    check_oval,
    exact_length,
    exact_points,
    greatest_radius,
    least_radius,
    oval_outline,
)
from core.words.errors import ImpossibleOvalError
from tests.support.ovals import exact_area

F = Family
FITTED = (F.ELLIPSE, F.SUPERELLIPSE)
ALL = [
    Oval(F.CIRCLE, 160.0, 160.0),
    Oval(F.OBROUND, 200.0, 120.0),
    Oval(F.ELLIPSE, 240.0, 150.0),
    Oval(F.ELLIPSE, 300.0, 40.0),
    Oval(F.FOUR_ARC, 200.0, 120.0),
    Oval(F.FOUR_ARC, 230.0, 140.0, 50.0),
    Oval(F.ROUNDED_RECTANGLE, 200.0, 120.0),
    Oval(F.ROUNDED_RECTANGLE, 200.0, 200.0, 12.5),
    Oval(F.SUPERELLIPSE, 240.0, 150.0),
    Oval(F.SUPERELLIPSE, 240.0, 150.0, exponent=10.0),
    Oval(F.SUPERELLIPSE, 180.0, 180.0, exponent=4.0),
    Oval(F.SUPERELLIPSE, 200.0, 120.0, exponent=2.001),
]


def name(oval: Oval) -> str:
    return f"{oval.family.value} {oval.length:g} x {oval.width:g} {oval.end_radius or oval.exponent or ''}".strip()


every_oval = pytest.mark.parametrize("oval", ALL, ids=name)


def kinks(outline: Outline) -> FloatArray:
    """Turns between arriving and leaving directions at the joints [rad]."""
    s = outline.segments
    every = np.arange(len(s))
    arriving, leaving = s.tangents(every, s.length), np.roll(s.tangents(every, np.zeros(len(s))), -1, axis=0)
    turns: FloatArray = np.abs(arriving[:, 0] * leaving[:, 1] - arriving[:, 1] * leaving[:, 0])
    return np.where((arriving * leaving).sum(axis=1) > 0.0, turns, pi)


@st.composite
def ovals(draw: st.DrawFn) -> Oval:
    family = draw(st.sampled_from([f for f in SIZED_FAMILIES if f is not F.CIRCLE]))
    length = draw(st.floats(20.0, 600.0))
    width = length * draw(st.floats(0.1, 1.0))
    end_radius = draw(st.none() | st.floats(0.05, 0.95).map(lambda share: share * width / 2))
    exponent = draw(st.none() | st.floats(2.0, 10.0))
    return Oval(family, length, width, end_radius, exponent)


# Lengths of ellipses.


@pytest.mark.parametrize(
    ("a", "b", "expected"),
    [
        pytest.param(1, 1, 6.283185307, id="1, 1: 2 pi"),
        pytest.param(5, 3, 25.526998863, id="5, 3: computed in reference from 4 a E(k)"),
        pytest.param(2, 1, 9.688448221, id="2, 1: computed in reference from 4 a E(k)"),
        pytest.param(3, 1, 13.364893221, id="3, 1: computed in reference from 4 a E(k)"),
        pytest.param(5, 1, 21.010044540, id="5, 1: computed in reference from 4 a E(k)"),
        pytest.param(10, 1, 40.639741801, id="10, 1: computed in reference from 4 a E(k)"),
        pytest.param(100, 60, 510.539977268, id="100, 60: computed in reference from 4 a E(k)"),
        pytest.param(90, 45, 435.980169925, id="90, 45: computed in reference from 4 a E(k)"),
        pytest.param(150, 75, 726.633616541, id="150, 75: computed in reference from 4 a E(k)"),
        pytest.param(1, sqrt(0.5), 5.402575524, id="4 E(m = 0.5), Abramowitz & Stegun table 17.1 (9 decimals)"),
        pytest.param(1, sqrt(0.75), 4 * 1.467462209, id="4 E(k = 0.5): modulus, not parameter"),
    ],
)
def test_length_of_an_ellipse_against_worked_values(a: float, b: float, expected: float) -> None:
    assert exact_length(Oval(F.ELLIPSE, 2 * a, 2 * b)) == pytest.approx(expected, abs=4e-9)


@given(st.floats(0.2, 2000.0), st.floats(0.01, 1.0))
@settings(deadline=None)
def test_length_of_an_ellipse_against_the_complete_elliptic_integral(length: float, ratio: float) -> None:
    from scipy.special import ellipe

    width = max(length * ratio, 0.1)
    # scipy's ellipe takes the parameter m = k².
    expected = 2 * length * float(ellipe(1 - (width / length) ** 2))
    assert exact_length(Oval(F.ELLIPSE, length, width)) == pytest.approx(expected, rel=1e-13)


# Areas and lengths of the others.


@pytest.mark.parametrize(
    ("length", "width", "n", "area", "perimeter"),
    [
        pytest.param(20, 20, 4, 370.8149, None, id="10, 10, 4: computed in reference from the gamma function"),
        pytest.param(2, 2, 2.5, 3.380935, 6.546705, id="1, 1, 2.5"),
        pytest.param(2, 2, 4, 3.708149, 7.017698, id="1, 1, 4"),
        pytest.param(200, 120, 2.5, 20285.6122, 529.98723, id="100, 60, 2.5"),
        pytest.param(200, 120, 3, 21199.6650, 544.77683, id="100, 60, 3"),
    ],
)
def test_superellipses_against_worked_values(
    length: float, width: float, n: float, area: float, perimeter: float | None
) -> None:
    oval = Oval(F.SUPERELLIPSE, length, width, exponent=n)
    assert exact_area(oval) == pytest.approx(area, rel=2e-7)
    if perimeter is not None:
        assert exact_length(oval) == pytest.approx(perimeter, rel=1e-7)


@pytest.mark.parametrize(
    ("a", "b", "r", "side", "angle", "perimeter", "area"),
    [
        pytest.param(100, 60, 44.67619, 152.20635, 59.0362, 513.15436, 18950.32, id="100, 60"),
        pytest.param(2, 1, 0.69098, 3.61803, 63.4349, 9.77006, 6.34158, id="2, 1"),
        pytest.param(90, 45, 31.09424, 162.81153, 63.4349, 439.65248, 12841.71, id="90, 45"),
        pytest.param(60, 40, 31.31483, 83.02776, 56.3099, 318.38622, 7565.89, id="60, 40"),
    ],
)
def test_four_arc_ovals_against_the_usual_construction(
    a: float, b: float, r: float, side: float, angle: float, perimeter: float, area: float
) -> None:
    oval = Oval(F.FOUR_ARC, 2 * a, 2 * b)
    radii = four_arc_radii(2 * a, 2 * b, None)
    assert radii == pytest.approx((r, side), abs=5e-6 * max(1.0, a / 10))
    # The same side radius from the tangency condition with the end radius given.
    assert four_arc_radii(2 * a, 2 * b, radii[0]) == pytest.approx(radii, rel=1e-12)
    assert degrees(atan2(radii[1] - b, a - radii[0])) == pytest.approx(angle, abs=5e-5)
    assert exact_length(oval) == pytest.approx(perimeter, abs=5e-6)
    assert exact_area(oval) == pytest.approx(area, abs=5e-3)


def test_the_long_axis_in_thirds_against_its_worked_proportions() -> None:
    # Elementary: ends about the points at L/6 to either side of the middle, of radius L/3, meet flanks of radius 2L/3
    # that turn 60° about the points where the ends' circles cross. Worked out for L = 1.
    size = 1000.0
    oval = Oval(F.FOUR_ARC, size, 0.7559828 * size, size / 3)
    assert four_arc_radii(oval.length, oval.width, oval.end_radius)[1] == pytest.approx(2 * size / 3, rel=2e-5)
    assert exact_length(oval) == pytest.approx(2.792527 * size, rel=2e-6)
    assert exact_area(oval) == pytest.approx(0.601907 * size**2, rel=2e-6)


@given(ovals())
@settings(deadline=None, max_examples=60)
def test_arcs_of_a_four_arc_oval_meet_with_common_tangents(oval: Oval) -> None:
    oval = Oval(F.FOUR_ARC, oval.length, min(oval.width, 0.999 * oval.length), oval.end_radius)
    a, b = oval.length / 2, oval.width / 2
    r, side = four_arc_radii(oval.length, oval.width, oval.end_radius)
    assert hypot(a - r, side - b) == pytest.approx(side - r, rel=1e-9, abs=1e-9)
    s = oval_outline(oval).segments
    assert sorted(set(s.radius.round(6))) == pytest.approx([r, side], abs=1e-6)
    assert kinks(oval_outline(oval)).max() < 1e-9


def test_an_obround_against_worked_values() -> None:
    # 200 x 120, elementary: length 2 (200 - 120) + 120 pi, area (200 - 120) 120 + 60² pi.
    oval = Oval(F.OBROUND, 200.0, 120.0)
    assert exact_length(oval) == pytest.approx(536.991118, abs=5e-7)
    assert exact_area(oval) == pytest.approx(20909.733553, abs=5e-7)
    assert np.sort(oval_outline(oval).vertices[:, 2]).tolist() == [0, 0, 1, 1]


def test_a_rounded_rectangle_against_elementary_formulas() -> None:
    oval = Oval(F.ROUNDED_RECTANGLE, 200.0, 120.0, 20.0)
    assert exact_area(oval) == pytest.approx(200 * 120 - (4 - pi) * 400, rel=1e-14)
    assert exact_length(oval) == pytest.approx(2 * (160 + 80) + 40 * pi, rel=1e-14)
    assert least_radius(Oval(F.ROUNDED_RECTANGLE, 200.0, 120.0)) == pytest.approx(30.0)


@every_oval
def test_exact_areas_and_lengths_against_fine_chords(oval: Oval) -> None:
    points, _ = exact_points(oval, 20000)
    fine = shapely.Polygon(points)
    assert exact_area(oval) == pytest.approx(fine.area, rel=2e-7)
    assert exact_length(oval) == pytest.approx(fine.length, rel=2e-7)


@every_oval
def test_exact_normals_are_unit_and_square_to_the_curve(oval: Oval) -> None:
    points, normals = exact_points(oval, 4000)
    assert np.hypot(*normals.T) == pytest.approx(1.0, abs=1e-14)
    chord = np.roll(points, -1, axis=0) - np.roll(points, 1, axis=0)
    skew = (chord * normals).sum(axis=1) / np.hypot(*chord.T)
    # A chord over both neighbours leans from the tangent by a little of their distance over the radius.
    assert np.abs(skew).max() < np.hypot(*chord.T).max() / least_radius(oval)
    assert (points * normals).sum(axis=1).min() > 0.0


# Outlines.


@every_oval
def test_outlines_have_their_sizes_and_both_symmetries(oval: Oval) -> None:
    outline = oval_outline(oval)
    assert outline.is_ccw
    a, b = oval.length / 2, oval.width / 2
    assert outline.bounds == pytest.approx((-a, -b, a, b), abs=1e-11)
    corners = {tuple(v) for v in outline.vertices[:, :2].tolist()}
    assert as_circle(outline) or corners == {(-x, y) for x, y in corners} == {(x, -y) for x, y in corners}
    for direction in ((1.0, 0.0), (0.0, 1.0)):
        mirrored = outline.mirrored((0.0, 0.0), direction)
        stations = np.linspace(0.0, outline.length, 1000)
        assert outline.nearest(mirrored.points_at(stations)).distance.max() < 1e-11


@every_oval
def test_outlines_stay_within_half_a_micrometre(oval: Oval) -> None:
    outline = oval_outline(oval)
    bound = ARC_TOLERANCE if oval.family in FITTED else 1e-11
    assert deviation(oval, 0.0, outline) <= bound
    assert outline.length == pytest.approx(exact_length(oval), abs=10 * bound)
    assert outline.area == pytest.approx(exact_area(oval), abs=bound * outline.length + 1e-9)


@given(ovals(), st.floats(1e-4, 0.5))
@settings(deadline=None, max_examples=60)
def test_fits_do_not_exceed_any_tolerance_and_stay_convex(oval: Oval, tolerance: float) -> None:
    outline = oval_outline(oval, tolerance)
    assert deviation(oval, 0.0, outline) <= tolerance
    assert (outline.vertices[:, 2] >= 0.0).all()


def test_the_design_ellipse_takes_88_arcs_for_a_micrometre() -> None:
    outline = oval_outline(Oval(F.ELLIPSE, 240.0, 150.0), 0.001)
    assert len(outline) == 88
    assert (outline.vertices[0] == [120.0, 0.0, outline.vertices[0, 2]]).all()
    # Chords would cost about 690 (computed in the design for the ellipse moved 3.2 mm).
    assert len(outline.chords(0.001)) > 600


@every_oval
def test_joints_are_smooth(oval: Oval) -> None:
    assert kinks(oval_outline(oval)).max() < 1e-8


def test_equal_sizes_make_true_circles() -> None:
    for oval in (
        Oval(F.CIRCLE, 80.0, 80.0),
        Oval(F.OBROUND, 80.0, 80.0),
        Oval(F.ELLIPSE, 80.0, 80.0),
        Oval(F.FOUR_ARC, 80.0, 80.0),
        Oval(F.FOUR_ARC, 80.0, 80.0, 40.0),
        Oval(F.FOUR_ARC, 80.0, 80.0, 30.0),
        Oval(F.ROUNDED_RECTANGLE, 80.0, 80.0, 40.0),
        Oval(F.SUPERELLIPSE, 80.0, 80.0, exponent=2.0),
    ):
        assert len(oval_outline(oval)) == 2
        assert as_circle(oval_outline(oval)) == ((0.0, 0.0), 40.0)
        assert least_radius(oval) == greatest_radius(oval) == 40.0
        assert exact_area(oval) == pytest.approx(1600 * pi)
        assert exact_length(oval) == pytest.approx(80 * pi)


def test_a_circle_as_a_four_arc_oval_has_one_radius() -> None:
    assert four_arc_radii(80.0, 80.0, 40.0) == (40.0, 40.0)
    assert four_arc_radii(80.0, 80.0, None) == pytest.approx((40.0, 40.0), rel=1e-14)


def test_a_corner_radius_of_half_the_width_makes_an_obround() -> None:
    assert oval_outline(Oval(F.ROUNDED_RECTANGLE, 200.0, 120.0, 60.0)) == oval_outline(Oval(F.OBROUND, 200.0, 120.0))


def test_the_same_oval_gives_the_same_object() -> None:
    oval = Oval(F.ELLIPSE, 240.0, 150.0)
    assert oval_outline(oval) is oval_outline(Oval(F.ELLIPSE, 240.0, 150.0), ARC_TOLERANCE)


# Radii of curvature.


@pytest.mark.parametrize(
    ("a", "b", "least", "greatest"),
    [
        pytest.param(5, 3, 1.8, 8.33333, id="5, 3: b²/a and a²/b"),
        pytest.param(100, 60, 36, 166.667, id="100, 60: b²/a and a²/b"),
        pytest.param(150, 75, 37.5, 300, id="150, 75: b²/a and a²/b"),
    ],
)
def test_radii_of_curvature_of_ellipses(a: float, b: float, least: float, greatest: float) -> None:
    oval = Oval(F.ELLIPSE, 2 * a, 2 * b)
    assert least_radius(oval) == pytest.approx(least, rel=1e-12)
    assert greatest_radius(oval) == pytest.approx(greatest, rel=4e-6)


def test_radii_of_curvature_of_the_others() -> None:
    assert least_radius(Oval(F.OBROUND, 200.0, 120.0)) == pytest.approx(60.0)
    assert greatest_radius(Oval(F.OBROUND, 200.0, 120.0)) == inf
    assert greatest_radius(Oval(F.SUPERELLIPSE, 200.0, 120.0)) == inf
    oval = Oval(F.FOUR_ARC, 200.0, 120.0)
    assert (least_radius(oval), greatest_radius(oval)) == pytest.approx(four_arc_radii(200.0, 120.0, None))


@pytest.mark.parametrize("n", [2.001, 2.5, 4.0, 10.0])
def test_the_least_radius_of_a_superellipse_against_circles_through_three_points(n: float) -> None:
    oval = Oval(F.SUPERELLIPSE, 200.0, 120.0, exponent=n)
    p, _ = exact_points(oval, 40000)
    q, r = np.roll(p, -20, axis=0), np.roll(p, -40, axis=0)
    u, v, w = q - p, r - q, r - p
    # Radius of the circle round a triangle: product of the sides over four times its area.
    area = np.abs(u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]) / 2
    curvature = 4 * area / (np.hypot(*u.T) * np.hypot(*v.T) * np.hypot(*w.T))
    assert least_radius(oval) == pytest.approx(1 / curvature.max(), rel=1e-3)


def test_the_least_radius_of_a_superellipse_goes_over_into_the_ellipse() -> None:
    oval = Oval(F.SUPERELLIPSE, 200.0, 120.0, exponent=2.0)
    assert least_radius(oval) == 36.0
    assert least_radius(Oval(F.SUPERELLIPSE, 200.0, 120.0, exponent=2 + 1e-6)) == pytest.approx(36.0, rel=1e-4)


# Deviations.


@every_oval
def test_the_deviation_sees_a_shift_in_either_direction(oval: Oval) -> None:
    outline = oval_outline(oval)
    assert deviation(oval, 0.0, outline.moved(0.02, 0.0)) == pytest.approx(0.02, abs=6e-4)
    assert deviation(oval, 0.0, outline.moved(0.0, 0.02)) == pytest.approx(0.02, abs=6e-4)
    assert deviation(oval, 0.5, outline) == pytest.approx(0.5, abs=6e-4)


def test_the_deviation_sees_a_bump_and_a_missing_part() -> None:
    oval = Oval(F.ELLIPSE, 240.0, 150.0)
    v = oval_outline(oval).vertices
    bump = np.concatenate((v[:5], [[90.0, 90.0, 0.0]], v[5:]))
    assert deviation(oval, 0.0, Outline(bump)) > 10.0
    assert deviation(oval, 0.0, Outline(v[:-20])) > 1.0


# Impossible ovals.


@pytest.mark.parametrize(
    ("oval", "where", "text"),
    [
        (
            Oval(F.ELLIPSE, 100.0, 120.0),
            "width",
            r"a width of 120\.00 mm is more than the length; go up to the length, 100\.00 mm",
        ),
        (
            Oval(F.CIRCLE, 100.0, 90.0),
            "width",
            r"a circle is 90\.00 mm wide but as long as 100\.00 mm; make both the same",
        ),
        (Oval(F.ELLIPSE, nan, 90.0), "length", "the length is not a number; give a length"),
        (Oval(F.ELLIPSE, 100.0, inf), "width", "the width is not a number"),
        (Oval(F.OBROUND, 0.0, 0.0), "length", r"a length of 0\.00 mm is not positive; give more than 0\.00 mm"),
        (Oval(F.OBROUND, 100.0, -5.0), "width", r"a width of -5\.00 mm is not positive"),
        (Oval(F.OBROUND, 100.0, 0.02), "width", r"a width of 0\.02 mm is too small; give at least 0\.10 mm"),
        (Oval(F.OBROUND, 1e6, 20.0), "length", r"a length of 1000000\.00 mm is too large; give at most 2000\.00 mm"),
        (
            Oval(F.FOUR_ARC, 200.0, 120.0, 60.0),
            "end_radius",
            r"an end radius of 60\.00 mm reaches half the width, .*; stay below 60\.00 mm, or choose an obround",
        ),
        (Oval(F.FOUR_ARC, 120.0, 120.0, 70.0), "end_radius", r"reaches half the width"),
        (Oval(F.FOUR_ARC, 200.0, 120.0, nan), "end_radius", "the end radius is not a number"),
        (Oval(F.FOUR_ARC, 200.0, 120.0, 0.0), "end_radius", r"an end radius of 0\.00 mm is too small; give at least"),
        (
            Oval(F.ROUNDED_RECTANGLE, 200.0, 120.0, 61.0),
            "end_radius",
            r"a corner radius of 61\.00 mm is more than half the width; go up to 60\.00 mm",
        ),
        (Oval(F.ROUNDED_RECTANGLE, 200.0, 120.0, -1.0), "end_radius", r"a corner radius of -1\.00 mm is too small"),
        (
            Oval(F.SUPERELLIPSE, 200.0, 120.0, exponent=1.5),
            "exponent",
            r"an exponent of 1\.5 makes no usable oval; choose one from 2 \(an ellipse\) to 10",
        ),
        (Oval(F.SUPERELLIPSE, 200.0, 120.0, exponent=nan), "exponent", "an exponent of nan"),
    ],
    ids=lambda value: name(value) if isinstance(value, Oval) else None,
)
def test_impossible_ovals_say_which_field_and_what_would_be_possible(oval: Oval, where: str, text: str) -> None:
    with pytest.raises(ImpossibleOvalError, match=rf"^new_insert\.{where}: .*{text}") as caught:
        check_oval(oval, "new_insert.")
    assert caught.value.where == f"new_insert.{where}"
    for function in (oval_outline, exact_length, least_radius, greatest_radius):
        with pytest.raises(ImpossibleOvalError, match=text):
            function(oval)
    with pytest.raises(ImpossibleOvalError, match=text):
        exact_points(oval, 10)


@every_oval
def test_possible_ovals_pass(oval: Oval) -> None:
    check_oval(oval)


def test_a_size_that_a_family_does_not_use_is_not_checked() -> None:
    check_oval(Oval(F.ELLIPSE, 200.0, 120.0, 500.0, 99.0))


def test_the_tolerance_must_be_positive() -> None:
    with pytest.raises(ValueError, match="tolerance must be positive, not 0"):
        oval_outline(Oval(F.OBROUND, 200.0, 120.0), 0.0)
