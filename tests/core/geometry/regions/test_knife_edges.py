"""Knife edges and thin parts: by elementary geometry, and by GEOS opening the metal with a disc."""

from __future__ import annotations

from math import asin, radians, sin, sqrt, tan

import numpy as np
import pytest
import shapely

from core.geometry.lines.outline import Outline, circle_outline, polygon_outline, rectangle_outline
from core.geometry.regions.closing import combine
from core.geometry.regions.knife_edges import knife_edges, sharp_corners, thin_parts
from core.geometry.regions.region import Region, Step


def less(first: Outline, *others: Outline) -> Region:
    steps = [Step(add=True, inside=(0,)), *(Step(add=False, inside=(k + 1,)) for k in range(len(others)))]
    return combine([first, *others], steps)


def wedge(degrees: float, size: float = 60.0) -> Region:
    half = radians(degrees) / 2.0
    return less(polygon_outline([(0.0, 0.0), (size, -size * tan(half)), (size, size * tan(half))]))


@pytest.mark.parametrize("degrees", [10.0, 25.0, 40.0, 59.0])
def test_the_knife_edge_of_a_wedge_is_as_long_as_the_disc_stays_away(degrees: float) -> None:
    (edge,) = [e for e in knife_edges(wedge(degrees), 4.0) if e.tip == (0.0, 0.0)]
    assert edge.length == pytest.approx(2.0 / sin(radians(degrees) / 2.0) - 2.0)
    assert edge.angle == pytest.approx(radians(degrees))
    assert edge.end == pytest.approx((edge.length, 0.0), abs=1e-9)


@pytest.mark.parametrize("degrees", [60.0, 61.0, 90.0])
def test_a_corner_of_60_degrees_is_no_knife_edge(degrees: float) -> None:
    assert [e for e in knife_edges(wedge(degrees), 4.0) if e.tip == (0.0, 0.0)] == []


def two_holes_run_together(half: float) -> Region:
    """Two holes of the radius 10 whose centres are ``half`` from the middle: the metal has a tip on either side."""
    plate = rectangle_outline(-60.0, -60.0, 60.0, 60.0)
    return less(plate, circle_outline((-half, 0.0), 10.0), circle_outline((half, 0.0), 10.0))


def test_where_two_holes_run_together_the_disc_touches_both() -> None:
    half, disc = 9.8, 2.0
    edges = knife_edges(two_holes_run_together(half), 2.0 * disc)
    tip, centre = sqrt(10.0**2 - half**2), sqrt((10.0 + disc) ** 2 - half**2)
    assert len(edges) == 2
    for edge in edges:
        assert abs(edge.tip[1]) == pytest.approx(tip)
        assert edge.length == pytest.approx(centre - disc - tip)
        assert edge.angle == pytest.approx(2.0 * asin(tip / 10.0))


def test_a_corner_under_60_degrees_that_widens_quickly_is_no_knife_edge() -> None:
    region = two_holes_run_together(9.0)  # 52 degrees, but the disc comes within 1.6 of the tip
    assert len(sharp_corners(region)) == 2
    assert knife_edges(region, 4.0) == ()


def test_the_horn_of_a_crescent_is_followed_round_its_bend() -> None:
    """A disc of 50 less one of 49.5 moved aside by 3: the inner circle hides the first disc that fits from the tip."""
    shift, outer, inner = 3.0, 50.0, 49.5
    region = less(circle_outline((0.0, 0.0), outer), circle_outline((shift, 0.0), inner))
    disc = 1.25  # as wide as the crescent is at its middle: 50 − 49.5 + 3 = 3.5
    edges = knife_edges(region, 2.0 * disc)
    assert len(edges) == 2
    x = (outer**2 - inner**2 + shift**2) / (2.0 * shift)
    tip = np.array((x, sqrt(outer**2 - x**2)))
    # The centre is outer − disc from one centre and inner + disc from the other.
    a, b = outer - disc, inner + disc
    cx = (a * a - b * b + shift**2) / (2.0 * shift)
    centre = np.array((cx, sqrt(a * a - cx * cx)))
    assert edges[0].length == pytest.approx(float(np.hypot(*(tip - centre))) - disc)


def test_a_neighbour_across_a_slot_does_not_fill_a_corner() -> None:
    """The disc must lie in the corner itself: metal 0.2 away, across air, is none of it."""
    sharp = polygon_outline([(0.0, 0.0), (60.0, -10.0), (60.0, 10.0)])
    beside = rectangle_outline(-20.0, -20.0, -0.2, 20.0)
    joined = rectangle_outline(-20.0, -30.0, 70.0, -18.0)
    back = rectangle_outline(55.0, -30.0, 70.0, 10.0)
    shapes = [sharp, beside, joined, back]
    region = combine(shapes, [Step(add=True, inside=(k,)) for k in range(4)])
    (edge,) = knife_edges(region, 4.0)
    assert edge.tip == (0.0, 0.0)
    assert edge.length == pytest.approx(2.0 * sqrt(1.0 + 36.0) - 2.0)


@pytest.mark.parametrize(("width", "is_thin"), [(3.9, True), (4.0, False), (4.1, False)])
def test_a_part_without_room_for_the_disc_is_thin_throughout(width: float, *, is_thin: bool) -> None:
    plate, far = rectangle_outline(0.0, 0.0, 30.0, 30.0), rectangle_outline(40.0, 0.0, 40.0 + width, 30.0)
    region = combine([plate, far], [Step(add=True, inside=(k,)) for k in range(2)])
    parts = thin_parts(region, 4.0)
    assert len(parts) == is_thin
    for part in parts:
        assert part.thickness == pytest.approx(width, rel=1e-3)
        assert 40.0 < part.at[0] < 40.0 + width


def test_a_triangle_is_thin_by_its_inscribed_circle_though_it_has_no_web() -> None:
    region = wedge(20.0, 12.0)
    (part,) = thin_parts(region, 4.0)
    (outline,) = region.loops
    assert part.thickness == pytest.approx(4.0 * outline.area / outline.length, rel=1e-3)  # r = 2 A / P


def test_a_full_disc_just_fits() -> None:
    assert thin_parts(less(circle_outline((3.0, 1.0), 2.0)), 4.0) == ()
    assert len(thin_parts(less(circle_outline((3.0, 1.0), 1.99)), 4.0)) == 1


def by_opening(region: Region, limit: float) -> tuple[dict[int, list[float]], int]:
    """How far the tip of each sharp corner is from what a disc can sweep, and the number of parts without any, by GEOS.

    What is left over round a tip may border on the swept metal at several places: the distances to all of them.
    """
    lengths: dict[int, list[float]] = {}
    thin = 0
    for part in region.polygon(1e-4).geoms:
        swept = part.buffer(-limit / 2.0, quad_segs=256).buffer(limit / 2.0, quad_segs=256)
        if swept.is_empty:
            thin += 1
            continue
        rest = part.difference(swept.buffer(1e-3))
        for k in sharp_corners(region).tolist():
            tip = shapely.Point(region.segments.end[k])
            left_over = [g for g in getattr(rest, "geoms", [rest]) if g.distance(tip) < 1e-3]
            if left_over and part.distance(tip) < 1e-3:
                reached = swept.intersection(left_over[0].buffer(5e-3))
                lengths[k] = [tip.distance(g) for g in getattr(reached, "geoms", [reached])]
    return lengths, thin


def random_metal(seed: int) -> Region:
    """A disc of 80 less some circles and rectangles."""
    rng = np.random.default_rng(seed)
    shapes = [circle_outline((0.0, 0.0), 40.0)]
    for _ in range(int(rng.integers(2, 6))):
        at, r = rng.uniform(-38.0, 38.0, 2), rng.uniform(2.0, 25.0)
        if rng.random() < 0.6:
            shapes.append(circle_outline((float(at[0]), float(at[1])), float(r)))
        else:
            shapes.append(rectangle_outline(-r, -r / 2, r, r / 2).turned(rng.uniform(0.0, 3.0)).moved(*at.tolist()))
    return less(*shapes)


def check_against_geos(seed: int, limit: float) -> None:
    """Whatever the limit, the same corners are told; their lengths where what is left over is one corner's own."""
    region = random_metal(seed)
    if region.is_empty:
        return
    lengths, thin = by_opening(region, limit)
    assert len(thin_parts(region, limit)) == thin
    found = {edge.tip: edge.length for edge in knife_edges(region, limit)}
    for k, expected in lengths.items():
        x, y = region.segments.end[k].tolist()
        length = found.pop((x, y), None)
        if length is None:  # but for rounding the disc comes near enough
            assert min(expected) < limit / 2.0 * (1.0 if limit < 5.0 else 1.1) + 0.02
        else:
            assert min(expected) > limit / 2.0 - 0.02
            if limit < 5.0:  # a disc of 9 leaves whole arms of a piece of 80 over, whose ways wind
                is_found = any(length == pytest.approx(other, rel=0.01, abs=0.03) for other in expected)
                assert is_found or length < min(expected), (seed, limit)
    assert all(length < limit / 2.0 + 0.02 for length in found.values())


@pytest.mark.parametrize("limit", [1.5, 4.0, 9.0])
def test_geos_leaves_the_same_corners_over_when_it_opens_random_metal(limit: float) -> None:
    for seed in range(60):
        check_against_geos(seed, limit)


@pytest.mark.hard
@pytest.mark.parametrize("limit", [1.5, 4.0, 9.0])
@pytest.mark.parametrize("block", range(20))
def test_geos_leaves_the_same_corners_over_of_much_random_metal(block: int, limit: float) -> None:
    for seed in range(100 * block + 100, 100 * block + 200):
        check_against_geos(seed, limit)
