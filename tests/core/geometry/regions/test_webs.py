from math import hypot, pi, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.geometry.lines.outline import Outline, circle_outline, polygon_outline, rectangle_outline
from core.geometry.regions.closing import combine
from core.geometry.regions.region import Region, Step
from core.geometry.regions.webs import closest, thinnest, webs


def union(*outlines: Outline) -> Region:
    return combine(outlines, [Step(add=True, inside=(k,)) for k in range(len(outlines))])


def drilled(plate: Outline, *holes: Outline) -> Region:
    steps = [Step(add=True, inside=(0,)), *(Step(add=False, inside=(k + 1,)) for k in range(len(holes)))]
    return combine([plate, *holes], steps)


def width(region: Region) -> float:
    web = thinnest(region)
    assert web is not None
    return web.width_mm


def test_the_web_of_circles_about_one_centre_is_the_difference_of_their_radii() -> None:
    assert width(drilled(circle_outline((0, 0), 10.0), circle_outline((0, 0), 7.0, phase=1.0))) == pytest.approx(3.0)


def test_the_web_of_a_hole_off_centre_lies_on_the_line_of_centres() -> None:
    web = thinnest(drilled(circle_outline((0, 0), 10.0, phase=1.0), circle_outline((1.5, 2.0), 7.0)))
    assert web is not None
    assert web.width_mm == pytest.approx(0.5)
    assert web.a == pytest.approx((6.0, 8.0))
    assert web.b == pytest.approx((5.7, 7.6))
    assert web.loops == (0, 1)


def test_webs_of_a_row_of_holes_come_sorted_one_for_each_pair_below_the_bound() -> None:
    holes = [circle_outline((x, 10.0), 2.0) for x in (5.0, 10.0, 16.0)]
    region = drilled(rectangle_outline(0, 0, 30, 20), *holes)
    found = webs(region, 3.5)
    assert [w.width_mm for w in found] == pytest.approx([1.0, 2.0, 3.0])
    assert [0 in w.loops for w in found] == [False, False, True]
    assert thinnest(region) == found[0]
    assert webs(region, 0.5) == ()


def test_between_two_outer_loops_and_between_an_island_and_its_hole_there_is_no_metal() -> None:
    apart = union(rectangle_outline(0, 0, 10, 10), rectangle_outline(10.5, 0, 20, 10))
    assert width(apart) == pytest.approx(9.5)
    island = combine(
        [circle_outline((0, 0), r) for r in (10.0, 7.0, 6.9)], [Step(add=k != 1, inside=(k,)) for k in range(3)]
    )
    assert width(island) == pytest.approx(3.0)


def test_a_web_is_not_measured_across_another_hole() -> None:
    region = drilled(rectangle_outline(0, 0, 30, 20), *(circle_outline((x, 10.0), 1.0) for x in (10.0, 13.0, 16.0)))
    found = webs(region, 5.0)
    assert [w.width_mm for w in found] == pytest.approx([1.0, 1.0])
    assert max(abs(w.a[0] - w.b[0]) for w in found) == pytest.approx(1.0)


def test_the_neck_of_a_dumbbell_is_its_thinnest_metal() -> None:
    region = union(rectangle_outline(0, 0, 10, 10), rectangle_outline(20, 0, 30, 10), rectangle_outline(9, 4, 21, 5.5))
    web = thinnest(region)
    assert web is not None
    assert web.width_mm == pytest.approx(1.5)
    assert web.loops == (0, 0)


def test_a_neck_between_two_round_notches_lies_on_their_line_of_centres() -> None:
    region = drilled(rectangle_outline(0, 0, 30, 10), circle_outline((15, 0), 4.0), circle_outline((16, 10), 4.5))
    assert width(region) == pytest.approx(sqrt(101.0) - 8.5)


def test_a_neck_between_an_edge_and_a_notch_is_square_to_the_edge() -> None:
    assert width(drilled(rectangle_outline(0, 0, 30, 10), circle_outline((15, 10), 4.0))) == pytest.approx(6.0)


def test_a_neck_between_the_points_of_two_notches_joins_them() -> None:
    notches = [
        polygon_outline([[13.0, 0.0], [17.0, 0.0], [15.0, 4.0]]),
        polygon_outline([[13.5, 10.0], [15.5, 7.0], [17.0, 10.0]]),
    ]
    assert width(drilled(rectangle_outline(0, 0, 30, 10), *notches)) == pytest.approx(hypot(0.5, 3.0))


def test_a_horseshoe_is_as_thick_as_its_radii_differ() -> None:
    region = combine(
        [circle_outline((0, 0), 10.0), circle_outline((0, 0), 8.0), rectangle_outline(0, -3, 11, 3)],
        [Step(add=True, inside=(0,), outside=(1, 2))],
    )
    assert len(region.loops) == 1
    assert width(region) == pytest.approx(2.0)


def test_a_convex_corner_is_no_neck() -> None:
    assert thinnest(union(polygon_outline([[0, 0], [10, 0], [0, 10]]))) is None
    assert width(union(rectangle_outline(0, 0, 10, 4))) == pytest.approx(4.0)
    assert width(union(circle_outline((0, 0), 3.0))) == pytest.approx(6.0)


def test_loops_that_touch_have_a_web_of_nothing_unless_that_is_ignored() -> None:
    region = drilled(circle_outline((0, 0), 10.0), circle_outline((7, 0), 3.0), circle_outline((-5, 0), 3.0))
    assert width(region) == pytest.approx(0.0, abs=1e-9)
    web = thinnest(region, ignore_below=0.01)
    assert web is not None
    assert web.width_mm == pytest.approx(2.0)


def test_an_empty_region_has_no_webs() -> None:
    assert thinnest(Region((), ())) is None
    assert webs(Region((), ()), 5.0) == ()


def test_the_shortest_line_between_outlines_that_cross_is_nothing() -> None:
    web = closest(circle_outline((0, 0), 3.0), rectangle_outline(-9, -1, 9, 1))
    assert web.width_mm == 0.0
    assert web.a == web.b


def test_the_shortest_line_runs_from_the_first_outline_to_the_second() -> None:
    a, b = circle_outline((0, 0), 3.0), rectangle_outline(5, -1, 9, 1)
    web = closest(a, b)
    assert web.width_mm == pytest.approx(2.0)
    assert web.loops == (0, 1)
    assert web.a == pytest.approx((3.0, 0.0))
    assert web.b == pytest.approx((5.0, 0.0))
    assert closest(b, a).a == pytest.approx((5.0, 0.0))


@given(st.integers(0, 10**6))
@settings(deadline=None, max_examples=120)
def test_no_two_sampled_points_are_nearer_than_the_shortest_line(seed: int) -> None:
    rng = np.random.default_rng(seed)

    def shape() -> Outline:
        x, y, a, b, angle = (float(v) for v in rng.uniform(0.3, 4.0, 5))
        kinds = (
            circle_outline((x, y), a),
            rectangle_outline(x, y, x + a, y + b),
            Outline([[x - a, y, 1.0], [x + a, y, float(rng.uniform(-0.7, 0.7))]]),
        )
        return kinds[int(rng.integers(3))].turned(angle)

    one, two = shape(), shape().moved(*(float(v) for v in rng.uniform(-9, 9, 2)))
    web = closest(one, two)
    n = 800
    sampled = min(
        float(b.nearest(a.points_at(np.linspace(0, a.length, n))).distance.min()) for a, b in ((one, two), (two, one))
    )
    assert web.width_mm <= sampled + 1e-9
    assert sampled - web.width_mm <= max(one.length, two.length) / n
    if web.width_mm > 0:
        assert hypot(web.b[0] - web.a[0], web.b[1] - web.a[1]) == pytest.approx(web.width_mm)
        assert one.nearest([web.a]).distance[0] == pytest.approx(0.0, abs=1e-9)
        assert two.nearest([web.b]).distance[0] == pytest.approx(0.0, abs=1e-9)


@given(st.integers(0, 10**6))
@settings(deadline=None, max_examples=60)
def test_webs_of_drilled_plates_are_distances_of_centres_less_radii(seed: int) -> None:
    rng = np.random.default_rng(seed)
    circles: list[tuple[float, float, float]] = []
    while len(circles) < 6:
        x, y, r = (float(v) for v in (*rng.uniform(5, 55, 2), rng.uniform(1, 4)))
        if all(hypot(x - a, y - b) > r + c + 0.1 for a, b, c in circles):
            circles.append((x, y, r))
    region = drilled(rectangle_outline(0, 0, 60, 60), *(circle_outline((x, y), r, phase=x) for x, y, r in circles))
    pairs = [hypot(a[0] - b[0], a[1] - b[1]) - a[2] - b[2] for k, a in enumerate(circles) for b in circles[:k]]
    edges = [min(x, y, 60 - x, 60 - y) - r for x, y, r in circles]
    assert width(region) == pytest.approx(min(*pairs, *edges))
    assert pi * sum(r * r for _, _, r in circles) == pytest.approx(3600.0 - region.area)
