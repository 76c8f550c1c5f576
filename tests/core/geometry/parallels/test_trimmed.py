from math import asin, pi, sqrt, tan

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon

from core.geometry.lines.outline import Outline, circle_outline, polygon_outline, rectangle_outline
from core.geometry.parallels.trimmed import trimmed_parallel
from core.geometry.regions.closing import combine
from core.geometry.regions.region import Step


@pytest.mark.parametrize("distance", [0.001, 1.0, 3.2, 250.0])
def test_area_and_length_outside_a_rectangle_follow_steiner(distance: float) -> None:
    (loop,) = trimmed_parallel(rectangle_outline(0, 0, 10, 4), distance)
    assert loop.area == pytest.approx(40.0 + 28.0 * distance + pi * distance**2, rel=1e-12)
    assert loop.length == pytest.approx(28.0 + 2.0 * pi * distance, rel=1e-12)
    assert len(loop) == 8


def test_inside_a_rectangle_the_corners_stay_sharp() -> None:
    (loop,) = trimmed_parallel(rectangle_outline(0, 0, 10, 4), -1.0)
    assert loop.vertices.tolist() == [[1, 1, 0], [9, 1, 0], [9, 3, 0], [1, 3, 0]]


@pytest.mark.parametrize("distance", [-2.0, -2.5, -100.0])
def test_nothing_is_left_where_the_outline_is_no_wider(distance: float) -> None:
    assert trimmed_parallel(rectangle_outline(0, 0, 10, 4), distance) == ()
    assert trimmed_parallel(circle_outline((0, 0), 2.0), distance) == ()


def test_no_distance_is_the_outline_itself() -> None:
    outline = rectangle_outline(0, 0, 10, 4)
    assert trimmed_parallel(outline, 0.0)[0] is outline


def test_the_way_round_makes_no_difference() -> None:
    outline = rectangle_outline(0, 0, 10, 4)
    area = trimmed_parallel(outline, 1.0)[0].area
    assert trimmed_parallel(outline.reversed(), 1.0)[0].area == pytest.approx(area)


def test_a_rounded_corner_of_just_the_distance_becomes_sharp() -> None:
    b = sqrt(2.0) - 1.0  # quarter turn
    rounded = Outline(
        np.array([[1, 0, 0], [9, 0, b], [10, 1, 0], [10, 5, b], [9, 6, 0], [1, 6, b], [0, 5, 0], [0, 1, b]])
    )
    (loop,) = trimmed_parallel(rounded, -1.0)
    assert loop.area == pytest.approx(32.0)
    assert len(loop) == 4


def dumbbell(neck: float) -> Outline:
    outlines = [
        rectangle_outline(0, 0, 10, 10),
        rectangle_outline(20, 0, 28, 10),
        rectangle_outline(9, 4, 21, 4 + neck),
    ]
    (loop,) = combine(outlines, [Step(add=True, inside=(k,)) for k in range(3)]).loops
    return loop


@pytest.mark.parametrize("neck", [1.5, 2.0])
def test_an_inward_move_parts_a_dumbbell_at_its_neck_largest_first(neck: float) -> None:
    parts = trimmed_parallel(dumbbell(neck), -1.0)
    # Arcs about the corners of the neck's mouth bulge into it, and each leaves h - (h sqrt(1 - h²) + asin h) / 2.
    h = neck / 2.0
    mouth = 2.0 * h - h * sqrt(1.0 - h * h) - asin(h)
    assert [p.area for p in parts] == pytest.approx([64.0 + mouth, 48.0 + mouth])


def test_an_outward_move_closes_a_mouth_round_what_is_left_of_the_inside() -> None:
    ring = combine(
        [rectangle_outline(0, 0, 20, 20), rectangle_outline(4, 4, 16, 16), rectangle_outline(15, 9.5, 21, 10.5)],
        [Step(add=True, inside=(0,), outside=(1,)), Step(add=False, inside=(2,))],
    )
    outer, inner = trimmed_parallel(ring.loops[0], 1.0)
    assert inner.area == pytest.approx(-100.0, rel=1e-3)
    assert outer.area > 480.0


def test_cusps_of_either_kind_are_rounded_only_outside() -> None:
    b = sqrt(2.0) - 1.0
    spike = Outline(np.array([[0, 0, 0], [4, 0, 0], [4, 4, -b], [3, 3, 0], [0, 3, 0]]))  # up and straight back down
    (loop,) = trimmed_parallel(spike, 0.25)
    assert loop.bounds == pytest.approx((-0.25, -0.25, 4.25, 4.25))
    groove = Outline(np.array([[0, 0, 0], [6, 0, 0], [6, 6, 0], [3, 6, 0], [3, 3, b], [2, 4, 0], [0, 4, 0]]))
    for part in trimmed_parallel(groove, -0.25):
        assert groove.nearest(part.vertices[:, :2]).distance == pytest.approx(0.25)


def test_an_outline_that_crosses_itself_gives_no_curve_or_says_where_it_fails() -> None:
    bow = polygon_outline([[0.0, 0.0], [9.0, 6.0], [9.0, 0.0], [0.0, 5.0]])
    try:
        loops = trimmed_parallel(bow, 0.5)
    except ValueError as e:
        assert "the parallel curve can't be closed at (" in str(e)  # noqa: PT017 - either is right
    else:
        assert loops


PLACES = st.integers(-3, 3).map(float)
SIZES = st.sampled_from([0.5, 1.0, 2.0, 3.0])


@st.composite
def blobs(draw: st.DrawFn) -> Outline:
    places, sizes = draw(st.sampled_from([(PLACES, SIZES), (st.floats(-3, 3), st.floats(0.3, 3.0))]))
    outlines = []
    for _ in range(draw(st.integers(1, 4))):
        x, y, a, b = draw(places), draw(places), draw(sizes), draw(sizes)
        outlines.append(circle_outline((x, y), a) if draw(st.booleans()) else rectangle_outline(x, y, x + a, y + b))
    steps = [Step(add=k % 3 != 1, inside=(k,)) for k in range(len(outlines))]
    region = combine(outlines, steps)
    return region.loops[0] if region.loops else outlines[0]


@given(blobs(), st.one_of(st.sampled_from([-1.0, -0.5, 0.5, 1.0]), st.floats(-2.0, 2.0)))
@settings(deadline=None, max_examples=200)
def test_every_point_is_at_its_distance_and_the_area_agrees_with_shapely(outline: Outline, distance: float) -> None:
    if abs(distance) < 1e-3:
        return
    loops = trimmed_parallel(outline, distance)
    for loop in loops:
        away = outline.nearest(loop.points_at(np.linspace(0.0, loop.length, 60))).distance
        assert away == pytest.approx(abs(distance), abs=3e-6)
    polygon = Polygon(outline.chords(1e-4))
    if polygon.is_valid:
        expected = polygon.buffer(distance, quad_segs=200).area
        # GEOS leaves out of what it buffers whatever lies within a hundredth of the distance: see the next test.
        allowed = 3e-4 * (outline.length + 20.0) + 0.01 * abs(distance)
        assert sum(loop.area for loop in loops) == pytest.approx(expected, abs=allowed)


def test_of_a_disc_on_a_squares_corner_the_area_is_what_is_counted_where_geos_is_off() -> None:
    outline = Outline(
        np.array([[0, 0.5, tan(pi / 8)], [-0.5, 0, 1], [0.5, 0, 0], [1, 0, 0], [1, 1, 0], [0, 1, 0]], dtype=np.float64)
    )
    (loop,) = trimmed_parallel(outline, 2.0)
    # All that is within 2 of the square, or within 2.5 of its corner, counted on a grid.
    x, y = np.meshgrid(*[(np.arange(6000) + 0.5) / 6000 * 6.0 - 3.0] * 2)
    square = np.hypot(np.maximum(np.abs(x - 0.5) - 0.5, 0.0), np.maximum(np.abs(y - 0.5) - 0.5, 0.0)) < 2.0
    counted = np.count_nonzero(square | (np.hypot(x, y) < 2.5)) * (6.0 / 6000) ** 2
    assert loop.area == pytest.approx(counted, abs=2e-3)
    assert Polygon(outline.chords(1e-6)).buffer(2.0, quad_segs=1024).area - loop.area > 0.01
