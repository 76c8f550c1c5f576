from math import acos, cos, pi, sin, sqrt, tan

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from core.geometry.lines.outline import Outline, circle_outline, polygon_outline, rectangle_outline
from core.geometry.regions.closing import combine
from core.geometry.regions.region import Arrangement, Region, Step

ADD, REMOVE = Step(add=True, inside=(0,)), Step(add=False, inside=(1,))
UNION = (Step(add=True, inside=(0,)), Step(add=True, inside=(1,)))
DIFFERENCE = (ADD, REMOVE)
INTERSECTION = (Step(add=True, inside=(0, 1)),)


def obround(x: float, y: float, half: float, radius: float) -> Outline:
    """Two half circles ``half`` left and right of (x, y), joined by lines."""
    return Outline(
        [
            [x - half, y - radius, 0],
            [x + half, y - radius, 1],
            [x + half, y + radius, 0],
            [x - half, y + radius, 1],
        ]
    )


def segment_shape(radius: float, height: float) -> Outline:
    """A circle cut off by a line, ``height`` above (or below) its centre; the larger part if positive."""
    half, sweep = sqrt(radius * radius - height * height), 2.0 * acos(-height / radius)
    return Outline([[-half, 0, 0], [half, 0, tan(sweep / 4.0)]])


def lens_area(r1: float, r2: float, d: float) -> float:
    """Area common to two circles: the circular segments r² (t - sin t) / 2 on both sides of the common chord."""
    a = (d * d + r1 * r1 - r2 * r2) / (2.0 * d)
    t1, t2 = 2.0 * acos(a / r1), 2.0 * acos((d - a) / r2)
    return (r1 * r1 * (t1 - sin(t1)) + r2 * r2 * (t2 - sin(t2))) / 2.0


@pytest.mark.parametrize(("r1", "r2", "d"), [(5.0, 5.0, 6.0), (5.0, 3.0, 6.0), (80.0, 75.0, 5.001), (5.0, 2.0, 4.5)])
def test_areas_of_two_circles_follow_from_their_lens(r1: float, r2: float, d: float) -> None:
    arrangement = Arrangement([circle_outline((0, 0), r1), circle_outline((d, 0), r2, phase=1.0)])
    lens, a, b = lens_area(r1, r2, d), pi * r1 * r1, pi * r2 * r2
    assert arrangement.fold(INTERSECTION).area == pytest.approx(lens, rel=1e-9)
    assert arrangement.fold(UNION).area == pytest.approx(a + b - lens, rel=1e-12)
    assert arrangement.fold(DIFFERENCE).area == pytest.approx(a - lens, rel=1e-12)


def test_results_run_along_the_lines_and_arcs_they_came_from() -> None:
    region = combine([circle_outline((0, 0), 5.0), rectangle_outline(-9, -1, 9, 1)], UNION)
    (loop,) = region.loops
    assert sorted(set(loop.segments.radius.tolist())) == pytest.approx([5.0, np.inf])
    assert len(loop) == 8
    assert region.sources == (frozenset({0, 1}),)


def test_outlines_that_nothing_cuts_come_back_as_the_same_objects() -> None:
    wall, hole = circle_outline((0, 0), 9.0), rectangle_outline(-1, -1, 1, 1)
    region = combine([wall, hole], DIFFERENCE)
    assert region.loops[0] is wall
    assert region.loops[1] == hole.reversed()
    assert region.sources == (frozenset({0}), frozenset({1}))
    clockwise = hole.reversed()
    assert combine([wall, clockwise], DIFFERENCE).loops[1] is clockwise


def test_reversed_loops_are_the_same_object_every_time() -> None:
    wall, hole = circle_outline((0, 0), 9.0), rectangle_outline(-1, -1, 1, 1)
    assert combine([wall, hole], DIFFERENCE).loops[1] is combine([wall, hole], DIFFERENCE).loops[1]


def test_circles_that_touch_from_outside_stay_two_whole_loops() -> None:
    a, b = circle_outline((0, 0), 5.0, phase=0.4), circle_outline((8, 0), 3.0, phase=1.4)
    region = combine([a, b], UNION)
    assert region.loops[0] is a
    assert region.loops[1] is b
    assert combine([a, b], INTERSECTION).is_empty


def test_a_hole_that_touches_its_outside_from_within_stays_a_whole_loop() -> None:
    a, b = circle_outline((0, 0), 5.0, phase=0.4), circle_outline((2, 0), 3.0, phase=1.4)
    region = combine([a, b], DIFFERENCE)
    assert region.loops[0] is a
    assert region.loops[1] == b.reversed()
    assert region.faces == ((a, (region.loops[1],)),)
    assert region.area == pytest.approx(pi * 16.0)


def test_the_same_outline_twice_is_one_operand_with_two_names() -> None:
    a = circle_outline((0, 0), 5.0)
    region = combine([a, circle_outline((0, 0), 5.0)], UNION)
    assert region.loops[0] is a
    assert region.sources == (frozenset({0, 1}),)
    assert combine([a, a], DIFFERENCE).is_empty


def test_the_same_circle_from_another_vertex_is_still_the_same_area() -> None:
    a, b = circle_outline((0, 0), 5.0), circle_outline((0, 0), 5.0, phase=1.0)
    assert combine([a, b], UNION).loops == (a,)
    assert combine([a, b], DIFFERENCE).is_empty


def test_a_strip_ending_exactly_on_an_outline_merges_into_it() -> None:
    region = combine([rectangle_outline(0, 0, 10, 4), rectangle_outline(10, 1, 15, 3)], UNION)
    assert region.area == 50.0
    assert len(region.loops) == 1


def test_a_strip_through_the_joints_of_an_obround_gives_the_exact_rest() -> None:
    oval, strip = obround(0, 0, 5, 3), rectangle_outline(-5, -10, 5, 10)
    assert combine([oval, strip], DIFFERENCE).area == pytest.approx(pi * 9.0, rel=1e-12)
    left, right = combine([oval, strip], DIFFERENCE).loops
    assert left.area == pytest.approx(right.area, rel=1e-12)
    assert combine([oval, strip], INTERSECTION).area == pytest.approx(60.0, rel=1e-12)


def test_parts_of_one_segment_become_one_again() -> None:
    a, b = rectangle_outline(0, 0, 10, 10), rectangle_outline(4, -3, 6, 3)
    region = combine([a, b], (Step(add=True, inside=(0,)), Step(add=True, inside=(1, 0))))
    assert region.loops == (a,)
    shared = combine([a, rectangle_outline(2, -3, 6, 0)], UNION)
    assert shared.area == 112.0
    assert len(shared.loops[0]) == 8
    flush = combine([a, rectangle_outline(2, 8, 6, 10)], (*UNION, Step(add=False, inside=(0,), outside=(1,))))
    assert flush.area == 8.0


def test_steps_are_taken_in_order_and_may_exclude_operands() -> None:
    outlines = [circle_outline((0, 0), 10.0), circle_outline((0, 0), 6.0), rectangle_outline(-8, -1, 8, 1)]
    ring = Step(add=True, inside=(0,), outside=(1,))
    crossbar = Step(add=True, inside=(2, 1))
    region = combine(outlines, [ring, crossbar])
    assert len(region.loops) == 3
    assert region.contains([[0, 0], [0, 3], [0, 8], [7, 0], [20, 0]]).tolist() == [True, False, True, True, False]
    only = combine(outlines, [ring, crossbar, Step(add=False, inside=(), outside=(1,))])
    assert only.area == pytest.approx(combine(outlines, [crossbar]).area, rel=1e-12)


def test_adding_the_unbounded_outside_is_refused() -> None:
    with pytest.raises(ValueError, match="can't add the unbounded outside of an outline"):
        combine([circle_outline((0, 0), 1.0)], [Step(add=True, inside=(), outside=(0,))])


def test_outlines_that_cross_themselves_are_named_by_the_place() -> None:
    bow = Outline([[0.0, 0.0, 0.0], [4.0, 4.0, 0.0], [4.0, 0.0, 0.0], [0.0, 4.5, 0.0]])
    outcome: Region | str
    try:
        outcome = combine([bow, rectangle_outline(1, 1.5, 3, 2.5)], UNION)
    except ValueError as e:
        outcome = str(e)
    assert isinstance(outcome, Region) or "can't be closed at (" in outcome


def test_slivers_without_area_are_left_out_and_slivers_with_area_kept() -> None:
    a = rectangle_outline(0, 0, 10, 10)
    assert combine([a, rectangle_outline(0, 0, 10, 10 + 1e-8)], DIFFERENCE).is_empty
    thin = combine([a, rectangle_outline(-1, -1, 11, 9.99)], DIFFERENCE)
    assert thin.area == pytest.approx(0.1, rel=1e-9)


def test_blobs_that_touch_in_two_places_are_two_loops() -> None:
    a = polygon_outline([[0, 0], [10, 0], [10, 2], [5, 4], [10, 6], [10, 8], [0, 8]])
    b = polygon_outline([[10, 2], [14, 0], [14, 8], [10, 6], [12, 4]])
    region = combine([a, b], UNION)
    assert len(region.loops) == 2
    assert region.polygon(0.1).is_valid


def test_an_empty_region_has_no_bounds_and_no_boundary() -> None:
    region = Region((), ())
    assert region.is_empty
    assert (region.area, region.length) == (0, 0)
    assert not region.contains([[0.0, 0.0]]).any()
    assert region.polygon(0.1).is_empty
    with pytest.raises(ValueError, match="an empty region has no bounds"):
        _ = region.bounds
    with pytest.raises(ValueError, match="an empty region has no boundary"):
        region.nearest([[0.0, 0.0]])
    assert combine([], []).is_empty


def test_a_region_measures_itself() -> None:
    region = combine([rectangle_outline(0, 0, 10, 8), circle_outline((4, 4), 2.0)], DIFFERENCE)
    assert region.length == pytest.approx(36.0 + 4.0 * pi)
    assert region.bounds == (0.0, 0.0, 10.0, 8.0)
    assert region.loop_of_segment.tolist() == [0, 0, 0, 0, 1, 1]
    assert len(region.segments) == 6
    found = region.nearest([[4.0, 4.5], [9.0, 4.0]])
    assert found.distance.tolist() == pytest.approx([1.5, 1.0])
    assert found.foot.tolist() == [pytest.approx([4.0, 6.0]), pytest.approx([10.0, 4.0])]
    assert found.loop.tolist() == [1, 0]
    assert region.loops[1].points_at(found.station[:1])[0].tolist() == pytest.approx([4.0, 6.0])
    assert found.station[1] == pytest.approx(14.0)
    assert region.distance([[5.0, 9.0]]).tolist() == [1.0]


def test_islands_in_holes_are_faces_of_their_own() -> None:
    outlines = [circle_outline((0, 0), r) for r in (10.0, 8.0, 5.0, 2.0)]
    region = combine(outlines, [Step(add=k % 2 == 0, inside=(k,)) for k in range(4)])
    assert [(o.area > 0, len(h)) for o, h in region.faces] == [(True, 1), (True, 1)]
    assert region.area == pytest.approx(pi * (100 - 64 + 25 - 4))
    assert region.polygon(1e-3).area == pytest.approx(region.area, rel=1e-3)


def test_five_hundred_features_are_cut_out_of_a_plate() -> None:
    rng = np.random.default_rng(1)
    plate = rectangle_outline(-10, -10, 510, 510)
    holes = [
        circle_outline((x, y), r) if k % 2 else rectangle_outline(x - r, y - r, x + r, y + r)
        for k, (x, y, r) in enumerate(zip(*rng.uniform(2, 490, (2, 500)), rng.uniform(1, 9, 500), strict=True))
    ]
    region = combine([plate, *holes], [ADD, *(Step(add=False, inside=(k + 1,)) for k in range(500))])
    points = rng.uniform(-10, 510, (2000, 2))
    metal = ~np.any([hole.contains(points) for hole in holes], axis=0)
    assert (region.contains(points) == metal).all()


SIZES = st.sampled_from([0.5, 1.0, 1.5, 2.0, 3.0])
PLACES = st.integers(-4, 4).map(float)
ANGLES = st.sampled_from([0.0, pi / 4, pi / 2, pi, 1.0])


@st.composite
def shapes(
    draw: st.DrawFn, places: st.SearchStrategy[float] = PLACES, sizes: st.SearchStrategy[float] = SIZES
) -> Outline:
    kind = draw(st.sampled_from(["circle", "rectangle", "obround", "segment", "triangle", "moon"]))
    x, y, a, b = draw(places), draw(places), draw(sizes), draw(sizes)
    angle = draw(ANGLES)
    if kind == "circle":
        outline = circle_outline((x, y), a, phase=angle)
    elif kind == "rectangle":
        outline = rectangle_outline(x, y, x + a, y + b)
    elif kind == "obround":
        outline = obround(0, 0, a, b).turned(angle).moved(x, y)
    elif kind == "segment":
        outline = segment_shape(a, a * draw(st.sampled_from([0.0, 0.5, -0.5, 0.9999]))).turned(angle).moved(x, y)
    elif kind == "triangle":
        outline = polygon_outline([[x, y], [x + a, y], [x, y + b]])
    else:
        outline = Outline([[x + a, y, 1], [x - a, y, draw(st.sampled_from([-0.5, 0.5, 0.1]))]])
    return outline.reversed() if draw(st.booleans()) else outline


@st.composite
def scenes(draw: st.DrawFn, shape: st.SearchStrategy[Outline]) -> tuple[list[Outline], list[Step]]:
    outlines = draw(st.lists(shape, min_size=2, max_size=6))
    if draw(st.booleans()):
        outlines.append(draw(st.sampled_from(outlines)))
    index = st.integers(0, len(outlines) - 1)
    steps = draw(
        st.lists(
            st.builds(
                Step,
                add=st.sampled_from([True, True, False]),
                inside=st.lists(index, min_size=1, max_size=2, unique=True).map(tuple),
                outside=st.lists(index, max_size=2, unique=True).map(tuple),
            ),
            min_size=1,
            max_size=6,
        )
    )
    return outlines, steps


def expected_inside(outlines: list[Outline], steps: list[Step], points: np.ndarray) -> np.ndarray:
    inside = [o.contains(points) for o in outlines]
    state = np.zeros(len(points), dtype=np.bool_)
    for step in steps:
        chosen = np.ones(len(points), dtype=np.bool_)
        for k in step.inside:
            chosen &= inside[k]
        for k in step.outside:
            chosen &= ~inside[k]
        state = state | chosen if step.add else state & ~chosen
    return state


def check_points(outlines: list[Outline], steps: list[Step], region: Region) -> None:
    points = np.random.default_rng(2).uniform(-9, 9, (250, 2))
    away = np.min([o.nearest(points).distance for o in outlines], axis=0)
    points = points[away > 1e-4]
    expected = expected_inside(outlines, steps, points)
    assert (region.contains(points) == expected).all()
    # Outer loops count one, holes minus one: nothing lies in two outer loops, or in a hole of nothing.
    winding = np.zeros(len(points), dtype=np.int64)
    for loop in region.loops:
        winding += loop.contains(points) * (1 if loop.area > 0 else -1)
    assert (winding == expected).all()
    assert len(region.sources) == len(region.loops)


@given(scenes(shapes()))
@settings(deadline=None, max_examples=300)
def test_snapped_shapes_combine_point_by_point_as_logic_says(scene: tuple[list[Outline], list[Step]]) -> None:
    outlines, steps = scene
    check_points(outlines, steps, combine(outlines, steps))


@given(scenes(shapes(st.floats(-4.0, 4.0), st.floats(0.1, 3.0))))
@settings(deadline=None, max_examples=100)
def test_shapes_anywhere_combine_point_by_point_as_logic_says(scene: tuple[list[Outline], list[Step]]) -> None:
    outlines, steps = scene
    check_points(outlines, steps, combine(outlines, steps))


@given(scenes(shapes()), st.sampled_from([1e-9, 1e-8, 1e-7, 3e-7, 1e-6]), st.integers(0, 1000))
@settings(deadline=None, max_examples=130)
def test_shapes_moved_by_next_to_nothing_still_close(
    scene: tuple[list[Outline], list[Step]], size: float, seed: int
) -> None:
    outlines, steps = scene
    moves = np.random.default_rng(seed).integers(-1, 2, (len(outlines), 2)) * size
    outlines = [o.moved(float(dx), float(dy)) for o, (dx, dy) in zip(outlines, moves, strict=True)]
    check_points(outlines, steps, combine(outlines, steps))


def _areas(shape: BaseGeometry) -> BaseGeometry:
    """Without the points and lines in which shapes only touch."""
    return MultiPolygon([part for part in shapely.get_parts(shape) if part.geom_type == "Polygon"])


@given(scenes(shapes()))
@settings(deadline=None, max_examples=80)
def test_areas_agree_with_shapely_on_fine_chords(scene: tuple[list[Outline], list[Step]]) -> None:
    outlines, steps = scene
    tolerance, grid = 1e-4, 1e-9  # without a grid GEOS fails, or is wrong, where chords of two shapes nearly coincide
    polygons = [Polygon(o.chords(tolerance)) for o in outlines]
    state: BaseGeometry = Polygon()
    for step in steps:
        chosen: BaseGeometry = polygons[step.inside[0]]
        for k in step.inside[1:]:
            chosen = _areas(chosen.intersection(polygons[k], grid_size=grid))
        for k in step.outside:
            chosen = _areas(chosen.difference(polygons[k], grid_size=grid))
        together = state.union if step.add else state.difference
        state = _areas(together(chosen, grid_size=grid))
    region = combine(outlines, steps)
    assert region.area == pytest.approx(state.area, abs=tolerance * sum(o.length for o in outlines) + 1e-6)


@given(st.integers(3, 24), st.floats(0.5, 4.0), st.floats(0.0, 6.28))
@settings(deadline=None, max_examples=80)
def test_a_ring_of_circles_adds_up_by_inclusion_and_exclusion(count: int, radius: float, phase: float) -> None:
    centres = [(20.0 * cos(2 * pi * k / count + phase), 20.0 * sin(2 * pi * k / count + phase)) for k in range(count)]
    circles = [circle_outline(c, radius, phase=phase) for c in centres]
    apart = 40.0 * sin(pi / count)
    if not 2.01 * radius < 2 * 40.0 * sin(2 * pi / count) / 2 or abs(apart - 2 * radius) < 1e-3:
        return
    lens = lens_area(radius, radius, apart) if apart < 2 * radius else 0.0
    region = combine(circles, [Step(add=True, inside=(k,)) for k in range(count)])
    assert region.area == pytest.approx(count * (pi * radius**2 - lens), rel=1e-9)
