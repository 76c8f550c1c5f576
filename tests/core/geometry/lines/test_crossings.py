from math import pi, sqrt, tan

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.geometry.lines.crossings import SNAP, crossings, split
from core.geometry.lines.cycles import cycles
from core.geometry.lines.outline import (
    Outline,
    Segments,
    circle_outline,
    polygon_outline,
    rectangle_outline,
    segment_bounds,
)
from core.geometry.lines.rays import Rays
from core.geometry.lines.segment_sets import box_pairs, closed_segments


def segments(*rows: tuple[float, float, float, float, float]) -> Segments:
    table = np.array(rows)
    return Segments.of(table[:, :2], table[:, 2:4], table[:, 4])


def points_of(a: Segments, b: Segments) -> list[tuple[float, ...]]:
    return sorted(tuple(round(c, 9) + 0.0 for c in p) for p in crossings(a, b).points.tolist())


HALF = 1.0  # the bulge of half a turn
LINE = segments((-10, 0, 10, 0, 0))


def test_two_lines_cross_where_their_equations_say() -> None:
    found = crossings(LINE, segments((3, -4, 3, 8, 0)))
    assert found.points.tolist() == [[3.0, 0.0]]
    assert (found.along_first[0], found.along_second[0]) == (13.0, 4.0)
    assert len(found) == 1


@pytest.mark.parametrize(
    ("other", "expected"),
    [
        pytest.param((0, 1, 5, 3, 0), [], id="apart"),
        pytest.param((0, 1, 5, 1, 0), [], id="parallel"),
        pytest.param((2, 0, 5, 3, 0), [(2, 0)], id="an end on the line"),
        pytest.param((10, 0, 12, 3, 0), [(10, 0)], id="a shared end, once"),
        pytest.param((-3, 0, 4, 0, 0), [(-3, 0), (4, 0)], id="part of the line"),
        pytest.param((4, 0, 14, 0, 0), [(4, 0), (10, 0)], id="overlapping along the line"),
        pytest.param((10, 0, -10, 0, 0), [(-10, 0), (10, 0)], id="the same, backwards"),
        pytest.param((-5, 0, 5, 0, HALF), [(-5, 0), (5, 0)], id="half circle with both ends on it"),
        pytest.param((-5, 4, 5, 4, HALF), [(-3, 0), (3, 0)], id="half circle through it: 3, 4, 5"),
        pytest.param((-5, 5, 5, 5, HALF), [(0, 0)], id="tangent arc"),
        pytest.param((-5, 5 + 5e-8, 5, 5 + 5e-8, HALF), [(0, 0)], id="arc that misses by less than a touch"),
        pytest.param((-5, 5 + 1e-6, 5, 5 + 1e-6, HALF), [], id="arc that misses by more than a touch"),
    ],
)
def test_a_line_meets_what_it_meets(
    other: tuple[float, float, float, float, float], expected: list[tuple[float, float]]
) -> None:
    found, back = points_of(LINE, segments(other)), points_of(segments(other), LINE)
    assert found == back == [pytest.approx(p) for p in expected]


@pytest.mark.parametrize(
    ("x", "radius", "expected"),
    [
        pytest.param(6.0, 5.0, [(3, -4), (3, 4)], id="two points: 3, 4, 5"),
        pytest.param(10.0, 5.0, [(5, 0)], id="touching from outside"),
        pytest.param(2.0, 3.0, [(5, 0)], id="touching from inside"),
        pytest.param(-2.0, 3.0, [(-5, 0)], id="touching from inside, other side"),
        pytest.param(2.0, 7.0, [(-5, 0)], id="touching round the other"),
        pytest.param(10.0 + 5e-8, 5.0, [(5, 0)], id="missing by less than a touch"),
        pytest.param(11.0, 5.0, [], id="apart"),
        pytest.param(1.0, 2.0, [], id="one inside the other"),
        pytest.param(0.0, 2.0, [], id="about one centre"),
        pytest.param(0.0, 5.0, [(-5, 0), (5, 0)], id="the same circle: at its vertices"),
    ],
)
def test_two_circles_meet_where_they_meet(x: float, radius: float, expected: list[tuple[float, float]]) -> None:
    a, b = circle_outline((0, 0), 5.0).segments, circle_outline((x, 0), radius).segments
    distinct = sorted({tuple(np.round(p, 6) + 0.0) for p in crossings(a, b).points.tolist()})
    assert distinct == [pytest.approx(p, abs=1e-6) for p in expected]


def test_circles_meet_at_the_vertices_of_each_other_when_they_run_along_each_other() -> None:
    a, b = circle_outline((0, 0), 5.0).segments, circle_outline((0, 0), 5.0, phase=pi / 2).segments
    assert len({tuple(np.round(p, 9) + 0.0) for p in crossings(a, b).points.tolist()}) == 4


coordinate = st.floats(-5.0, 5.0)
bulges = st.one_of(st.just(0.0), st.floats(-3.0, 3.0).filter(lambda b: abs(b) > 1e-3))
rows = st.tuples(coordinate, coordinate, coordinate, coordinate, bulges).filter(
    lambda r: abs(r[0] - r[2]) + abs(r[1] - r[3]) > 1e-2
)


@given(st.lists(rows, min_size=1, max_size=6), st.lists(rows, min_size=1, max_size=6))
@settings(deadline=None, max_examples=150)
def test_every_crossing_lies_on_both_segments_where_it_says(
    a: list[tuple[float, float, float, float, float]], b: list[tuple[float, float, float, float, float]]
) -> None:
    one, two = segments(*a), segments(*b)
    found = crossings(one, two)
    scale = 1e-9 * max(1.0, float(np.where(np.isfinite(one.radius), one.radius, 1.0).max()))
    for s, index, along in ((one, found.first, found.along_first), (two, found.second, found.along_second)):
        assert np.hypot(*(s.points(index, along) - found.points).T).max(initial=0.0) <= 3e-7 + scale
        assert (along >= 0).all()
        assert (along <= s.length[index]).all()


def test_chains_of_many_chords_find_no_crossing_of_two_segments_that_is_missed() -> None:
    # Chords of two segments cross an odd number of times exactly when the segments do.
    rng = np.random.default_rng(7)
    for _ in range(60):
        table = np.column_stack((rng.uniform(-5, 5, (2, 4)), rng.uniform(-2, 2, 2)))
        one, two = segments(tuple(table[0])), segments(tuple(table[1]))
        fine = []
        for s in (one, two):
            n = 4000
            points = s.points(np.zeros(n, dtype=np.int64), np.linspace(0, s.length[0], n))
            fine.append(Segments.of(points[:-1], points[1:], np.zeros(n - 1)))
        assert len(crossings(fine[0], fine[1])) == len(crossings(one, two))


def test_box_pairs_are_all_pairs_that_overlap() -> None:
    rng = np.random.default_rng(3)
    low = rng.uniform(0, 10, (80, 2))
    high = low + rng.uniform(0, 2, (80, 2))
    i, j = box_pairs(low, high, 0.1)
    found = {(min(p), max(p)) for p in zip(i.tolist(), j.tolist(), strict=True)}
    expected = {
        (a, b)
        for a in range(80)
        for b in range(a + 1, 80)
        if (low[a] <= high[b] + 0.1).all() and (low[b] <= high[a] + 0.1).all()
    }
    assert found == expected
    assert len(i) == len(found)


def test_nothing_is_cut_where_nothing_meets() -> None:
    pieces = split([circle_outline((0, 0), 1.0), rectangle_outline(5, 5, 6, 7)])
    assert len(pieces) == 6
    assert not pieces.is_cut.any()
    assert pieces.bulge.tolist() == [1, 1, 0, 0, 0, 0]


def test_a_cross_of_two_rectangles_is_cut_into_sixteen_pieces_between_shared_nodes() -> None:
    pieces = split([rectangle_outline(-3, -1, 3, 1), rectangle_outline(-1, -3, 1, 3)])
    assert len(pieces) == 16
    assert sorted(pieces.nodes[pieces.is_cut].tolist()) == [[-1, -1], [-1, 1], [1, -1], [1, 1]]


def test_an_outline_is_cut_where_it_crosses_itself() -> None:
    pieces = split([polygon_outline([[0, 0], [4, 4], [4, 0], [0, 4]])])
    assert pieces.nodes[pieces.is_cut].tolist() == [[2, 2]]
    assert len(pieces) == 6


def test_nodes_closer_than_a_snap_become_the_vertex_that_was_there_first() -> None:
    near = 0.4 * SNAP
    slant = polygon_outline([[0.5, 0.5 - near], [1.5, 1.5 - near], [3.0, 0.0]])
    pieces = split([rectangle_outline(0, 0, 1, 1), slant])
    assert [1.0, 1.0] in pieces.nodes[pieces.is_cut].tolist()
    assert len(pieces) == 4 + 3 + 2 + 1  # both sides of the corner stay whole, the slant and two others are parted


def test_pieces_add_up_to_the_area_of_their_outlines() -> None:
    outlines = [circle_outline((0, 0), 3.0), circle_outline((1, 1), 2.5, phase=0.3), rectangle_outline(-4, -1, 4, 2)]
    pieces = split(outlines)
    assert pieces.areas.sum() == pytest.approx(sum(o.area for o in outlines), rel=1e-12)


def test_cycles_that_touch_in_a_node_come_apart_there() -> None:
    start, end = [0, 1, 2, 0, 3, 4], [1, 2, 0, 3, 4, 0]
    found = cycles(start, end, lambda _arrived, choices: choices[-1])
    assert sorted(sorted(loop) for loop in found) == [[0, 1, 2], [3, 4, 5]]


def test_a_chain_with_a_loose_end_says_where_it_ends() -> None:
    with pytest.raises(LookupError, match=r"^2$"):
        cycles([0, 1], [1, 2], lambda _arrived, choices: choices[0])


@given(
    st.floats(-2.0, 2.0),
    st.floats(0.05, 6.2),
    st.floats(0.0, 6.3),
    st.booleans(),
)
@settings(deadline=None, max_examples=200)
def test_rays_agree_with_the_outline_about_circular_segments(
    height: float,
    sweep: float,
    phase: float,
    reverse: bool,  # noqa: FBT001 - drawn by hypothesis
) -> None:
    outline = Outline([[-1.0, height, tan(sweep / 4.0)], [1.0, height, 0.0]]).turned(phase)
    outline = outline.reversed() if reverse else outline
    s, owner, _ = closed_segments([outline])
    points = np.random.default_rng(5).uniform(-1.5, 1.5, (300, 2)) * outline.segments.radius.min() + outline.centroid
    points = points[outline.nearest(points).distance > 1e-6]
    assert (Rays(s, owner, 1).inside(points)[:, 0] == outline.contains(points)).all()


def test_rays_count_each_owner_by_itself() -> None:
    outlines = [circle_outline((0, 0), 2.0), rectangle_outline(0, -1, 5, 1)]
    s, owner, _ = closed_segments(outlines)
    inside = Rays(s, owner, 2).inside(np.array([[-1.0, 0.0], [1.0, 0.0], [4.0, 0.0], [9.0, 0.0]]))
    assert inside.tolist() == [[True, False], [True, True], [False, True], [False, False]]


def test_the_box_of_a_segment_holds_its_crossings() -> None:
    s = circle_outline((0, 0), sqrt(2.0), phase=pi / 4).segments
    low, high = segment_bounds(s)
    assert low.min() == pytest.approx(-sqrt(2.0))
    assert high.max() == pytest.approx(sqrt(2.0))
