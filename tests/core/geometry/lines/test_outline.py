from math import cos, hypot, pi, sin, sqrt, tan

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from core.geometry.lines.outline import (
    FloatArray,
    Outline,
    Segments,
    as_circle,
    bulge_through,
    circle_outline,
    polygon_outline,
    rectangle_outline,
    segment_bounds,
)

# Lines, arcs to the left and to the right, one of them more than half a turn; no symmetry at all.
WONKY = Outline(
    [
        (0.0, 0.0, 0.3),
        (40.0, 0.0, 0.0),
        (52.0, 10.0, -0.4),
        (45.0, 35.0, 1.3),
        (20.0, 38.0, 0.0),
        (10.0, 30.0, -0.2),
        (2.0, 24.0, 0.0),
        (-5.0, 12.0, 0.5),
    ]
)
FINE = 1e-6


def polygon(outline: Outline, tolerance: float = FINE) -> shapely.Polygon:
    return shapely.Polygon(outline.chords(tolerance))


@st.composite
def outlines(draw: st.DrawFn) -> Outline:
    """Outlines of flat arcs from corner to corner of a star, none of which reach each other."""
    n = draw(st.integers(4, 12))
    radii = draw(st.lists(st.floats(20.0, 60.0), min_size=n, max_size=n))
    bulges = draw(st.lists(st.floats(-0.2, 0.2), min_size=n, max_size=n))
    phase = draw(st.floats(0.0, 6.0))
    turn = 2 * pi / n
    x = [r * cos(phase + i * turn) + 7 for i, r in enumerate(radii)]
    y = [r * sin(phase + i * turn) - 3 for i, r in enumerate(radii)]
    outline = Outline(np.column_stack((x, y, [0.0 if abs(b) < 1e-3 else b for b in bulges])))
    assume(polygon(outline, 1e-5).is_valid)
    return outline


@pytest.mark.parametrize(
    ("degrees", "bulge"),
    [
        pytest.param(30, 0.13165250, id="30°, tan(included angle / 4), DXF reference, computed"),
        pytest.param(45, 0.19891237, id="45°, tan(included angle / 4), DXF reference, computed"),
        pytest.param(60, 0.26794919, id="60°, tan(included angle / 4), DXF reference, computed"),
        pytest.param(90, 0.41421356, id="90°, tan(included angle / 4), DXF reference, computed"),
        pytest.param(120, 0.57735027, id="120°, tan(included angle / 4), DXF reference, computed"),
        pytest.param(180, 1.0, id="180°, 1 is a semicircle, DXF reference"),
        pytest.param(270, 2.41421356, id="270°, tan(included angle / 4), DXF reference, computed"),
    ],
)
@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_a_bulge_is_the_tangent_of_a_quarter_of_the_sweep(degrees: float, bulge: float, sign: float) -> None:
    chord = 10.0
    s = Segments.of(np.array([[1.0, 2.0]]), np.array([[1.0 + 6.0, 2.0 + 8.0]]), np.array([sign * bulge]))
    assert np.degrees(s.sweep[0]) == pytest.approx(sign * degrees, abs=1e-6)
    # Sagitta |bulge| c / 2 and radius c (1 + bulge²) / (4 |bulge|) of the chord c.
    assert s.radius[0] == pytest.approx(chord * (1 + bulge**2) / (4 * bulge), rel=1e-9)
    middle = s.points(np.array([0]), s.length / 2)[0]
    assert hypot(middle[0] - 4.0, middle[1] - 6.0) == pytest.approx(bulge * chord / 2, rel=1e-9)
    # Positive is counter-clockwise: the arc then lies to the right of its chord.
    assert np.sign(6.0 * (middle[1] - 2.0) - 8.0 * (middle[0] - 1.0)) == -sign


def test_half_discs_have_their_textbook_area_length_and_centroid() -> None:
    half = Outline([(-3.0, 0.0, 0.0), (3.0, 0.0, 1.0)])
    assert half.area == pytest.approx(9 * pi / 2, rel=1e-14)
    assert half.length == pytest.approx(6 + 3 * pi, rel=1e-14)
    # 4 r / 3 pi above the diameter (elementary).
    assert half.centroid == pytest.approx((0.0, 4.0 / pi), abs=1e-13)
    assert half.bounds == pytest.approx((-3.0, 0.0, 3.0, 3.0), abs=1e-13)


def test_a_wonky_outline_agrees_with_its_fine_chords() -> None:
    fine = polygon(WONKY)
    assert fine.is_valid
    assert WONKY.area == pytest.approx(fine.area, abs=FINE * WONKY.length)
    assert WONKY.length == pytest.approx(fine.length, abs=1e-4)
    assert WONKY.centroid == pytest.approx((fine.centroid.x, fine.centroid.y), abs=1e-5)
    assert WONKY.bounds == pytest.approx(fine.bounds, abs=2 * FINE)
    assert WONKY.is_ccw


@given(outlines())
@settings(deadline=None, max_examples=40)
def test_any_outline_agrees_with_its_fine_chords(outline: Outline) -> None:
    fine = polygon(outline, 1e-5)
    assert fine.is_valid
    assert outline.area == pytest.approx(fine.area, abs=1e-5 * outline.length)
    assert outline.length == pytest.approx(fine.length, abs=1e-3)
    assert outline.centroid == pytest.approx((fine.centroid.x, fine.centroid.y), abs=1e-4)
    assert outline.bounds == pytest.approx(fine.bounds, abs=2e-5)


@given(outlines(), st.integers(0, 2**32 - 1))
@settings(deadline=None, max_examples=40)
def test_nearest_and_contains_agree_with_shapely(outline: Outline, seed: int) -> None:
    points = np.random.default_rng(seed).uniform(-80.0, 80.0, (60, 2))
    fine = polygon(outline, 1e-5)
    expected = shapely.distance(fine.exterior, shapely.points(points))
    found = outline.nearest(points)
    assert found.distance == pytest.approx(expected, abs=2e-5)
    assert np.hypot(*(found.foot - points).T) == pytest.approx(found.distance, abs=1e-9)
    assert outline.points_at(found.station) == pytest.approx(found.foot, abs=1e-9)
    clear = expected > 1e-4
    inside = shapely.contains_xy(fine, points)
    assert (outline.contains(points) == inside)[clear].all()
    assert outline.signed_distance(points)[clear] == pytest.approx(
        np.where(inside, -expected, expected)[clear], abs=2e-5
    )


def test_contains_holds_on_the_lines_through_vertices_and_along_chords() -> None:
    # Points level with vertices and on the chords of arcs are where ray tests go wrong.
    y = np.concatenate((WONKY.vertices[:, 1], [20.0]))
    x = np.linspace(-20.0, 70.0, 61) + 0.0137
    grid = np.array([(a, b) for b in y for a in x])
    v = WONKY.vertices[:, :2]
    on_chords = np.concatenate([v * (1 - t) + np.roll(v, -1, axis=0) * t for t in (0.25, 0.5)])
    points = np.concatenate((grid, on_chords))
    fine = polygon(WONKY)
    clear = shapely.distance(fine.exterior, shapely.points(points)) > 1e-5
    assert clear.sum() > 500
    assert (WONKY.contains(points) == shapely.contains_xy(fine, points))[clear].all()


def test_many_points_are_handled_in_blocks_with_the_same_answers() -> None:
    points = np.random.default_rng(5).uniform(-20.0, 60.0, (20000, 2))
    found = WONKY.nearest(points)
    assert (found.distance[-50:] == WONKY.nearest(points[-50:]).distance).all()
    assert (WONKY.contains(points)[-50:] == WONKY.contains(points[-50:])).all()
    assert found.distance == pytest.approx(WONKY.segments.distances(points).min(axis=1), abs=0)


@given(st.floats(1e-5, 1.0))
@settings(deadline=None, max_examples=40)
def test_chords_stray_at_most_the_tolerance(tolerance: float) -> None:
    corners = WONKY.chords(tolerance)
    assert WONKY.nearest(corners).distance.max() < 1e-9
    line = shapely.LinearRing(corners)
    stations = np.linspace(0.0, WONKY.length, 3000)
    assert shapely.distance(line, shapely.points(WONKY.points_at(stations))).max() <= tolerance * (1 + 1e-6) + 1e-9


@pytest.mark.parametrize(
    ("radius", "tolerance", "chords"),
    [
        pytest.param(36.0, 0.05, 60, id="R 36 at 0.05, ceil(pi / acos(1 - tolerance / R))"),
        pytest.param(166.667, 0.05, 129, id="R 166.667 at 0.05, ceil(pi / acos(1 - tolerance / R))"),
        pytest.param(36.0, 0.01, 134, id="R 36 at 0.01, ceil(pi / acos(1 - tolerance / R))"),
        pytest.param(166.667, 0.01, 287, id="R 166.667 at 0.01, ceil(pi / acos(1 - tolerance / R))"),
    ],
)
def test_a_circle_takes_as_many_chords_as_the_sagitta_formula_says(
    radius: float, tolerance: float, chords: int
) -> None:
    # Two half circles each round up to a whole number, so one chord more at most.
    assert chords <= len(circle_outline((0.0, 0.0), radius).chords(tolerance)) <= chords + 1


def moved_points(outline: Outline, *, count: int = 400) -> FloatArray:
    return outline.points_at(np.linspace(0.0, outline.length, count))


def test_moving_turning_and_scaling_carry_every_point_along() -> None:
    p = moved_points(WONKY)
    shifted = WONKY.moved(3.0, -4.0)
    assert shifted.nearest(p + np.array([3.0, -4.0])).distance.max() < 1e-12
    assert WONKY.moved(0.0, 0.0) is WONKY
    angle, about = 0.7, (5.0, 6.0)
    turned = WONKY.turned(angle, about)
    c, s = cos(angle), sin(angle)
    q = (p - np.array(about)) @ np.array([[c, s], [-s, c]]) + np.array(about)
    assert turned.nearest(q).distance.max() < 1e-12
    assert turned.area == pytest.approx(WONKY.area, rel=1e-13)
    scaled = WONKY.scaled(1.3, about)
    assert scaled.nearest((p - np.array(about)) * 1.3 + np.array(about)).distance.max() < 1e-12
    assert scaled.area == pytest.approx(WONKY.area * 1.69, rel=1e-13)
    assert scaled.length == pytest.approx(WONKY.length * 1.3, rel=1e-13)


def test_mirroring_keeps_asymmetric_arcs_and_the_sense_of_travel() -> None:
    # Mirrored about y = x + 2: (x, y) becomes (y - 2, x + 2).
    mirrored = WONKY.mirrored((0.0, 2.0), (1.0, 1.0))
    p = moved_points(WONKY)
    assert mirrored.nearest(np.column_stack((p[:, 1] - 2.0, p[:, 0] + 2.0))).distance.max() < 1e-12
    assert mirrored.is_ccw
    assert mirrored.area == pytest.approx(WONKY.area, rel=1e-13)
    # The other way about would put the bulges on the wrong sides.
    assert WONKY.nearest(np.column_stack((p[:, 1] - 2.0, p[:, 0] + 2.0))).distance.max() > 1.0
    back = mirrored.mirrored((0.0, 2.0), (-3.0, -3.0))
    assert back.vertices == pytest.approx(WONKY.vertices, abs=1e-12)


def test_reversing_keeps_the_points_and_negates_the_area() -> None:
    back = WONKY.reversed()
    assert back.nearest(moved_points(WONKY)).distance.max() < 1e-12
    assert back.area == pytest.approx(-WONKY.area, rel=1e-14)
    assert back.centroid == pytest.approx(WONKY.centroid, abs=1e-12)
    assert not back.is_ccw
    assert (back.vertices[0, :2] == WONKY.vertices[0, :2]).all()
    assert back.reversed() == WONKY
    assert back.oriented(ccw=True) == WONKY
    assert WONKY.oriented(ccw=True) is WONKY


@given(st.floats(-300.0, 300.0))
@settings(deadline=None, max_examples=60)
def test_stations_find_their_points_again(station: float) -> None:
    point = WONKY.points_at(station)
    found = WONKY.nearest(point)
    assert found.distance[0] < 1e-9
    gap = abs(found.station[0] - station % WONKY.length)
    assert min(gap, WONKY.length - gap) < 1e-6


def test_tangents_follow_the_travel_and_normals_point_outward() -> None:
    stations = np.linspace(0.0, WONKY.length, 500)[:-1] + 0.013
    step = 1e-5
    travel = (WONKY.points_at(stations + step) - WONKY.points_at(stations - step)) / (2 * step)
    smooth = np.abs(np.hypot(*travel.T) - 1.0) < 1e-6
    assert smooth.sum() > 490
    assert WONKY.tangents_at(stations)[smooth] == pytest.approx(travel[smooth], abs=1e-5)
    outside = WONKY.points_at(stations) + 1e-3 * WONKY.normals_at(stations)
    assert not WONKY.contains(outside).any()


def test_the_axis_station_is_where_the_long_axis_leaves_the_outline() -> None:
    square = rectangle_outline(-2.0, -1.0, 2.0, 1.0)
    assert square.axis_station == pytest.approx(5.0)
    assert square.points_at(square.axis_station)[0] == pytest.approx((2.0, 0.0))


def test_parts_of_segments_lie_on_them_and_add_up() -> None:
    s = WONKY.segments
    every = np.arange(len(s))
    third = s.length / 3
    start, end, bulge = s.split(every, third, s.length - third)
    part = Segments.of(start, end, bulge)
    assert part.length == pytest.approx(third, rel=1e-12)
    middles = part.points(every, part.length / 2)
    assert WONKY.nearest(middles).distance.max() < 1e-12
    assert s.points(every, s.length / 2) == pytest.approx(middles, abs=1e-12)


def test_boxes_round_segments_hold_their_arcs_tightly() -> None:
    s = WONKY.segments
    low, high = segment_bounds(s)
    t = np.linspace(0.0, 1.0, 4001)
    for i in range(len(s)):
        p = s.points(np.full(len(t), i), t * s.length[i])
        assert p.min(axis=0) == pytest.approx(low[i], abs=1e-5)
        assert p.max(axis=0) == pytest.approx(high[i], abs=1e-5)


def test_equal_means_equal_values() -> None:
    same = Outline(WONKY.vertices.tolist())
    assert same == WONKY
    assert hash(same) == hash(WONKY)
    plus, minus = Outline([(0.0, 0.0, 0.0), (1.0, 0.0, 1.0)]), Outline([(0.0, -0.0, -0.0), (1.0, 0.0, 1.0)])
    assert plus == minus
    assert hash(plus) == hash(minus)
    assert WONKY.moved(1.0, 0.0) != WONKY
    assert WONKY != "wonky"
    assert len(WONKY) == 8
    assert "8 segments" in repr(WONKY)


def test_an_outline_cannot_be_changed() -> None:
    own = np.array([[0.0, 0, 0], [1, 0, 0], [0, 1, 0]])
    outline = Outline(own)
    own[0, 0] = 9.0
    assert outline.vertices[0, 0] == 0.0
    with pytest.raises(ValueError, match="read-only"):
        outline.vertices[0, 0] = 1.0
    with pytest.raises(AttributeError, match="immutable; make a new one instead of setting vertices"):
        outline.vertices = own


@pytest.mark.parametrize(
    ("vertices", "text"),
    [
        ([[0, 0, 0]], r"shape \(n >= 2, 3\), not \(1, 3\)"),
        ([[0, 0], [1, 1]], r"shape \(n >= 2, 3\), not \(2, 2\)"),
        ([0, 0, 0], r"shape \(n >= 2, 3\), not \(3,\)"),
        ([[0, 0, 0], [1, float("nan"), 0]], "finite"),
    ],
)
def test_impossible_vertices_are_refused(vertices: list[list[float]], text: str) -> None:
    with pytest.raises(ValueError, match=text):
        Outline(vertices)


def test_impossible_arguments_are_refused() -> None:
    with pytest.raises(ValueError, match="factor must be positive, not 0"):
        WONKY.scaled(0.0)
    with pytest.raises(ValueError, match="needs a direction"):
        WONKY.mirrored((0.0, 0.0), (0.0, 0.0))
    with pytest.raises(ValueError, match="tolerance must be positive, not 0"):
        WONKY.chords(0.0)
    with pytest.raises(ValueError, match="radius must be positive and finite, not inf"):
        circle_outline((0.0, 0.0), float("inf"))


def test_circles_are_recognised_and_others_are_not() -> None:
    circle = circle_outline((3.0, -2.0), 7.5, phase=0.4)
    assert circle.length == pytest.approx(15 * pi, rel=1e-14)
    assert circle.area == pytest.approx(56.25 * pi, rel=1e-14)
    found = as_circle(circle)
    assert found is not None
    assert found[0] == pytest.approx((3.0, -2.0))
    assert found[1] == pytest.approx(7.5)
    assert as_circle(WONKY) is None
    assert as_circle(Outline([(-3.0, 0.0, 1.0), (3.0, 0.0, 0.5)])) is None
    lens = Outline([(-3.0, 0.0, 0.5), (3.0, 0.0, 0.5)])
    assert as_circle(lens) is None


def test_polygons_and_rectangles_are_straight_sided() -> None:
    assert rectangle_outline(0.0, 0.0, 4.0, 3.0) == polygon_outline([[0, 0], [4, 0], [4, 3], [0, 3]])
    assert rectangle_outline(0.0, 0.0, 4.0, 3.0).area == 12.0


def test_the_bulge_through_two_points_follows_the_sense() -> None:
    quarter = bulge_through((1.0, 0.0), (0.0, 1.0), (0.0, 0.0), ccw=True)
    assert quarter == pytest.approx(sqrt(2.0) - 1.0, rel=1e-14)
    rest = bulge_through((1.0, 0.0), (0.0, 1.0), (0.0, 0.0), ccw=False)
    assert rest == pytest.approx(-tan(3 * pi / 8), rel=1e-14)
