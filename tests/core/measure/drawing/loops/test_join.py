"""Strokes brought together to loops: closed forms, and GEOS as the second opinion."""

from __future__ import annotations

from itertools import pairwise
from math import cos, hypot, pi, sin, tan

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from core.measure.drawing.loops.nest import find_loops
from core.measure.drawing.results import Drawing, DrawingUnit, Fault, Loops, Stroke
from core.words.errors import Cancelled

MM = DrawingUnit.MM
Vertex = tuple[float, float, float]


def _open(*vertices: Vertex, layer: str = "") -> Stroke:
    return Stroke(np.array(vertices, dtype=np.float64), is_closed=False, layer=layer)


def _line(x0: float, y0: float, x1: float, y1: float, layer: str = "") -> Stroke:
    return _open((x0, y0, 0.0), (x1, y1, 0.0), layer=layer)


def _closed(*vertices: Vertex, layer: str = "") -> Stroke:
    return Stroke(np.array(vertices, dtype=np.float64), is_closed=True, layer=layer)


def _circle(x: float, y: float, r: float, phase: float = 0.0) -> Stroke:
    dx, dy = r * cos(phase), r * sin(phase)
    return _closed((x + dx, y + dy, 1.0), (x - dx, y - dy, 1.0))


def _square(x: float, y: float, side: float) -> Stroke:
    return _closed((x, y, 0), (x + side, y, 0), (x + side, y + side, 0), (x, y + side, 0))


def _loops(*strokes: Stroke, join: float = 0.01) -> Loops:
    return find_loops(Drawing(strokes, None, MM), MM, join)


def _faults(found: Loops) -> list[Fault]:
    return [trouble.fault for trouble in found.troubles]


def _areas(found: Loops) -> list[float]:
    return [one.outline.area for one in found.loops]


def _three_sides(gap: float) -> list[Stroke]:
    """A square of 10, whose last side begins ``gap`` short of where the one before ends."""
    return [_line(0, 0, 10, 0), _line(10, 10, 10, 0), _line(10, 10, 0, 10), _line(0, 10 - gap, 0, 0)]


def test_lines_and_arcs_in_any_order_and_direction_make_one_loop() -> None:
    # An obround of 120 x 40, each arc of its own: area 80 x 40 + 400 pi.
    parts = [
        _open((40, -20, 1.0), (40, 20, 0.0)), _line(-40, -20, 40, -20), _open((-40, -20, -1.0), (-40, 20, 0.0)),
        _line(40, 20, -40, 20),
    ]  # fmt: skip
    found = _loops(*parts)
    assert _areas(found) == [pytest.approx(80.0 * 40.0 + 400.0 * pi, rel=1e-12)]
    assert found.loops[0].outline.is_ccw
    assert not found.troubles


def test_a_gap_is_closed_where_the_lines_meet_and_told_with_size_and_place() -> None:
    found = _loops(*_three_sides(0.006))
    assert _faults(found) == [Fault.GAP]
    assert found.troubles[0].size == pytest.approx(0.006)
    assert found.troubles[0].at == pytest.approx((0.0, 10.0))
    # The side that stops short is lengthened: the square is whole.
    assert _areas(found) == [pytest.approx(100.0, abs=1e-12)]
    assert found.loops[0].off == 0.0


def test_a_gap_below_a_micrometre_is_closed_without_a_word() -> None:
    found = _loops(*_three_sides(0.0009))
    assert len(found.loops) == 1
    assert not found.troubles


def test_a_gap_wider_than_the_tolerance_stays_open_and_its_width_is_told() -> None:
    found = _loops(*_three_sides(0.5))
    assert not found.loops
    assert _faults(found) == [Fault.OPEN_END, Fault.OPEN_END]
    assert [t.size for t in found.troubles] == pytest.approx([0.5, 0.5])
    assert sorted(t.at for t in found.troubles) == [(0.0, 9.5), (0.0, 10.0)]
    assert len(_loops(*_three_sides(0.5), join=0.5).loops) == 1


@pytest.mark.parametrize("unit", DrawingUnit)
def test_the_tolerance_is_in_millimetres_whatever_the_unit(unit: DrawingUnit) -> None:
    per = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "inch": 25.4, "foot": 304.8}[unit]  # the inch is exactly 25.4 mm
    strokes = [Stroke(s.vertices / [per, per, 1.0], s.is_closed) for s in _three_sides(0.006)]
    found = find_loops(Drawing(tuple(strokes), unit, unit), unit)
    assert _areas(found) == [pytest.approx(100.0, abs=1e-6)]
    assert found.troubles[0].size == pytest.approx(0.006, abs=1e-9)


def test_the_nearest_ends_are_joined_first() -> None:
    # Beside the corner at (10, 0) a third end lies 9 µm off; the two that are 4 µm apart belong together.
    strokes = [*_three_sides(0.0)[2:], _line(0, 0, 10, 0), _line(10, 10, 10.004, 0), _line(10.009, 0, 30, -5)]
    found = _loops(*strokes)
    assert len(found.loops) == 1
    gap = next(t for t in found.troubles if t.fault is Fault.GAP)
    assert gap.size == pytest.approx(0.004)
    assert _faults(found).count(Fault.OPEN_END) == 2  # the third line's


def test_a_half_circle_keeps_its_middle_when_its_end_is_moved() -> None:
    # With its chord shortened and its radius kept, the sagitta r - sqrt(r² - (c / 2)²) would lose some 0.7 mm.
    found = _loops(_open((50, 0, 1.0), (-50.0, 0, 0.0)), _line(-50.0, 0.0, 49.99, 0.0))
    assert len(found.loops) == 1
    outline = found.loops[0].outline
    assert outline.bounds[3] == pytest.approx(50.0, abs=0.005)


def test_a_polyline_whose_own_ends_nearly_meet_is_closed() -> None:
    found = _loops(_open((0, 0, 0), (10, 0, 0), (10, 10, 0), (0, 0.005, 0)))
    assert len(found.loops) == 1
    assert _faults(found) == [Fault.GAP]


def test_a_copy_a_few_micrometres_off_does_not_cost_the_loop() -> None:
    found = _loops(*_three_sides(0.0), _line(0.003, 0.002, 10.004, -0.002))
    assert _areas(found) == [pytest.approx(100.0)]
    assert set(_faults(found)) <= {Fault.DOUBLE, Fault.OPEN_END}


def test_a_line_that_is_there_twice_counts_once_in_either_direction() -> None:
    found = _loops(*_three_sides(0.0), _line(0, 0, 10, 0), _line(10, 0, 0, 0))
    assert _areas(found) == [pytest.approx(100.0)]
    assert _faults(found) == [Fault.DOUBLE, Fault.DOUBLE]
    assert [t.size for t in found.troubles] == pytest.approx([10.0, 10.0])
    assert found.troubles[0].at == pytest.approx((5.0, 0.0))


def test_lines_that_overlap_in_part_count_once() -> None:
    found = _loops(*_three_sides(0.0), _line(2, 0, 7, 0), _line(10, -3, 10, 4), _line(0, 10, 0, 12))
    assert _areas(found) == [pytest.approx(100.0)]
    doubles = sorted(t.size for t in found.troubles if t.fault is Fault.DOUBLE)
    assert doubles == pytest.approx([4.0, 5.0])
    # What stands out beyond the corners leads nowhere; its ends are the nearest to each other.
    ends = [t for t in found.troubles if t.fault is Fault.OPEN_END]
    assert sorted(t.at for t in ends) == [(0.0, 12.0), (10.0, -3.0)]
    assert [t.size for t in ends] == pytest.approx([hypot(10.0, 15.0)] * 2)


def test_a_circle_drawn_again_from_another_point_or_in_arcs_counts_once() -> None:
    quarter = tan(pi / 8.0)
    arcs = [_open((20 * cos(t), 20 * sin(t), quarter), (20 * cos(t + pi / 2), 20 * sin(t + pi / 2), 0)) for t in (1, 2)]
    found = _loops(_circle(0, 0, 20), _circle(0, 0, 20, phase=0.7), *arcs)
    assert _areas(found) == [pytest.approx(400.0 * pi, rel=1e-9)]
    assert set(_faults(found)) == {Fault.DOUBLE}


def test_arcs_that_share_their_ends_only_are_no_doubles() -> None:
    found = _loops(_open((-10, 0, 0.5), (10, 0, 0)), _open((-10, 0, 0.2), (10, 0, 0)))
    assert len(found.loops) == 1
    assert not found.troubles


def test_neighbours_that_share_an_edge_both_stay() -> None:
    found = _loops(_square(0, 0, 10), _square(10, 0, 10), _square(10, 10, 5))
    assert _areas(found) == pytest.approx([100.0, 100.0, 25.0])
    assert not found.troubles


def test_a_closed_outline_that_is_there_twice_counts_once() -> None:
    other_way = _closed((0, 0, 0), (0, 10, 0), (10, 10, 0), (10, 0, 0))
    found = _loops(_square(0, 0, 10), other_way)
    assert _areas(found) == [pytest.approx(100.0)]
    assert [t.size for t in found.troubles] == [pytest.approx(40.0)]


def test_short_bits_are_named_and_do_no_harm() -> None:
    found = _loops(_square(0, 0, 100), _line(30, 30, 30.5, 30), _line(50, 50, 50.005, 50))
    assert len(found.loops) == 1
    assert _faults(found) == [Fault.STRAY, Fault.STRAY]
    assert sorted(t.size for t in found.troubles) == pytest.approx([0.005, 0.5])


def test_a_tail_at_a_corner_does_not_cost_the_loop() -> None:
    # The tail goes on straight from a side: the straightest way on would lead out of the square.
    found = _loops(*_three_sides(0.0), _line(10, 0, 40, 0))
    assert _areas(found) == [pytest.approx(100.0)]
    assert Fault.OPEN_END in _faults(found)


def test_at_a_branch_the_straightest_way_is_taken_and_told() -> None:
    # A circle in two arcs with a line across, from joint to joint.
    found = _loops(_open((20, 0, 1.0), (-20, 0, 0.0)), _open((-20, 0, 1.0), (20, 0, 0.0)), _line(-20, 0, 20, 0))
    assert _areas(found) == [pytest.approx(400.0 * pi, rel=1e-12)]
    assert sorted(_faults(found)) == sorted([Fault.BRANCH, Fault.BRANCH, Fault.STRAY])
    assert sorted(t.at for t in found.troubles if t.fault is Fault.BRANCH) == [(-20.0, 0.0), (20.0, 0.0)]
    assert next(t.size for t in found.troubles if t.fault is Fault.STRAY) == pytest.approx(40.0)


def test_lines_that_end_on_a_circle_leave_it_whole() -> None:
    found = _loops(_circle(0, 0, 20), _line(0, -20, 0, 20), _line(3, -hypot(20, 0) + 0.2264, 3, 19.7737))
    assert len(found.loops) == 1
    assert found.loops[0].outline.area == pytest.approx(400.0 * pi, rel=1e-12)


def test_squares_that_touch_in_a_corner_stay_two() -> None:
    found = _loops(_square(0, 0, 10), _square(10, 10, 8))
    assert _areas(found) == pytest.approx([100.0, 64.0])
    assert not found.troubles


def test_an_outline_that_crosses_itself_is_told_with_the_place() -> None:
    # A bow tie with one larger half, so that it has an area.
    found = _loops(_closed((0, 0, 0), (10, 10, 0), (10, 0, 0), (0, 14, 0)))
    assert len(found.loops) == 1
    assert _faults(found) == [Fault.CROSSING]
    # y = x meets y = 14 - 1.4 x at 14 / 2.4.
    assert found.troubles[0].at == pytest.approx((14.0 / 2.4, 14.0 / 2.4))


def test_a_loop_without_width_is_no_loop() -> None:
    found = _loops(_square(0, 0, 50), _closed((5, 5, 0), (25, 5, 0), (25, 5.004, 0)))
    assert len(found.loops) == 1
    assert _faults(found) == [Fault.STRAY]


def test_a_loop_is_on_the_layer_that_most_of_it_lies_on() -> None:
    sides = [_line(0, 0, 9, 0, "A"), _line(9, 0, 9, 9, "B"), _line(9, 9, 0, 9, "B"), _line(0, 9, 0, 0, "B")]
    assert _loops(*sides).loops[0].layer == "B"


def test_a_fitted_stroke_makes_a_fitted_loop() -> None:
    fitted = Stroke(np.array([[20.0, 0, 1], [-20, 0, 0]]), is_closed=False, is_fitted=True)
    assert _loops(fitted, _line(-20, 0, 20, 0)).loops[0].is_fitted
    assert not _loops(_circle(0, 0, 5)).loops[0].is_fitted


@pytest.mark.parametrize("join", [-0.1, float("nan"), float("inf")])
def test_a_tolerance_that_is_no_length_is_a_mistake(join: float) -> None:
    with pytest.raises(ValueError, match="join must be"):
        _loops(_circle(0, 0, 1), join=join)


def _pieces(rng: np.random.Generator, corners: np.ndarray, noise: float) -> list[Stroke]:
    """A polygon's sides in pieces: cut, turned about, moved a little at their ends."""
    n = len(corners)
    cuts = sorted({0, *rng.integers(0, n, 3).tolist()})
    bounds = [*cuts, n]
    strokes = []
    for a, b in pairwise(bounds):
        run = corners[np.arange(a, b + 1) % n].copy()
        run[[0, -1]] += rng.uniform(-noise, noise, (2, 2))
        run = run if rng.random() < 0.5 else run[::-1]
        strokes.append(Stroke(np.column_stack((run, np.zeros(len(run)))), is_closed=False))
    return strokes


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10**6), st.integers(1, 6))
def test_rings_in_pieces_are_the_rings_that_geos_makes_of_them(seed: int, rings: int) -> None:
    import shapely

    rng = np.random.default_rng(seed)
    strokes: list[Stroke] = []
    exact: list[float] = []
    for k in range(rings):
        n = int(rng.integers(4, 30))
        t = np.sort(rng.uniform(0, 2 * np.pi, n)) + np.arange(n) * 1e-3
        r = 20.0 + rng.uniform(0, 5, n)
        corners = np.column_stack((60.0 * k + r * np.cos(t), r * np.sin(t)))
        assume(shapely.LinearRing(corners).is_simple)  # GEOS makes no ring of one that crosses itself
        strokes += _pieces(rng, corners, 0.0)
        exact += [p.area for p in shapely.get_parts(shapely.polygonize([shapely.LinearRing(corners)]))]
    found = _loops(*(strokes[i] for i in rng.permutation(len(strokes))))
    assert _areas(found) == pytest.approx(sorted(exact, reverse=True))
    moved = [s for k in range(rings) for s in _pieces(rng, _far_apart(k), 0.003)]
    noisy = _loops(*moved)
    assert len(noisy.loops) == rings
    assert _areas(noisy) == pytest.approx([900.0] * rings, abs=0.5)


def _far_apart(k: int) -> np.ndarray:
    return np.array([[100.0 * k, 0.0], [100.0 * k + 30.0, 0.0], [100.0 * k + 30.0, 30.0], [100.0 * k, 30.0]])


def test_thousands_of_ends_in_one_point_end_in_bounded_work() -> None:
    t = np.linspace(0.0, 2.0 * np.pi, 4000, endpoint=False)
    star = [_line(0.0, 0.0, 50.0 * cos(a), 50.0 * sin(a)) for a in t]
    found = _loops(*star, _square(-100, -100, 200))
    assert _areas(found) == [pytest.approx(40_000.0)]
    rng = np.random.default_rng(1)
    thicket = [_line(*rng.uniform(0, 0.01, 2), *rng.uniform(50, 60, 2)) for _ in range(2000)]
    assert {Fault.GAP, Fault.OPEN_END} <= set(_faults(_loops(*thicket)))


def test_a_drawing_in_the_wrong_unit_comes_to_nothing_quietly() -> None:
    square = [Stroke(s.vertices * [1e-6, 1e-6, 1.0], s.is_closed) for s in _three_sides(0.0)]
    assert not find_loops(Drawing(tuple(square), None, MM), MM).loops


def test_joining_can_be_called_off_and_tells_its_way() -> None:
    strokes = tuple(_circle(10.0 * i, 0.0, 4.0) for i in range(2000))
    drawing = Drawing(strokes, MM, MM)
    seen: list[float] = []
    find_loops(drawing, MM, tick=seen.append)
    assert seen == sorted(seen)
    assert seen[-1] == 1.0

    def tick(fraction: float) -> None:
        if fraction > 0.75:
            raise Cancelled("by the test")

    with pytest.raises(Cancelled, match="by the test"):
        find_loops(drawing, MM, tick=tick)
