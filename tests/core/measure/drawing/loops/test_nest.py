"""Which loop lies in which: known nests, and GEOS as the second opinion."""

from __future__ import annotations

from math import pi, sqrt
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.evaluate import evaluate
from core.files.outlines.dxf_write import DxfVersion, write_dxf
from core.files.outlines.rings import rings
from core.files.project.demos import load_demo
from core.measure.drawing.loops.nest import find_loops
from core.measure.drawing.reading.read import read_drawing
from core.measure.drawing.results import Drawing, DrawingUnit, Loops, Stroke
from core.words.ends import End

if TYPE_CHECKING:
    from pathlib import Path

MM = DrawingUnit.MM


def _circle(x: float, y: float, r: float) -> Stroke:
    return Stroke(np.array([[x + r, y, 1.0], [x - r, y, 1.0]]), is_closed=True)


def _box(x0: float, y0: float, x1: float, y1: float) -> Stroke:
    return Stroke(np.array([[x0, y0, 0.0], [x1, y0, 0.0], [x1, y1, 0.0], [x0, y1, 0.0]]), is_closed=True)


def _loops(*strokes: Stroke) -> Loops:
    return find_loops(Drawing(strokes, MM, MM), MM)


def _nest(found: Loops) -> list[tuple[int, int, int]]:
    return [(one.number, one.parent, one.depth) for one in found.loops]


def test_loops_are_numbered_by_area_and_know_their_parent_and_depth() -> None:
    found = _loops(_circle(0, 0, 5), _box(-50, -40, 50, 40), _circle(0, 0, 30), _circle(200, 0, 20), _circle(200, 0, 2))
    assert [round(one.outline.area) for one in found.loops] == [8000, round(900 * pi), 1257, 79, 13]
    assert _nest(found) == [(1, 0, 0), (2, 1, 1), (3, 0, 0), (4, 2, 2), (5, 3, 1)]
    assert found.loop(4).outline.area == pytest.approx(25.0 * pi)


def test_a_loop_lies_inside_an_arc_that_its_chord_leaves_out() -> None:
    # A lens of two arcs: the small circle lies between the chord and the upper arc.
    lens = Stroke(np.array([[-50.0, 0, 0.5], [50.0, 0, 0.5]]), is_closed=True)
    assert _nest(_loops(lens, _circle(0, 18, 5), _circle(0, 40, 5))) == [(1, 0, 0), (2, 1, 1), (3, 0, 0)]


def test_loops_that_touch_from_inside_lie_inside_and_from_outside_beside() -> None:
    inside = _loops(_circle(0, 0, 30), _circle(20, 0, 10), _box(-5, -5, 5, 5))
    assert _nest(inside) == [(1, 0, 0), (2, 1, 1), (3, 1, 1)]
    beside = _loops(_circle(0, 0, 30), _circle(40, 0, 10))
    assert _nest(beside) == [(1, 0, 0), (2, 0, 0)]


def test_loops_that_share_an_edge_lie_inside_or_beside_each_other() -> None:
    inside = _loops(_box(0, 0, 100, 100), _box(0, 20, 30, 50))
    assert _nest(inside) == [(1, 0, 0), (2, 1, 1)]
    beside = _loops(_box(0, 0, 100, 100), _box(100, 20, 130, 50))
    assert _nest(beside) == [(1, 0, 0), (2, 0, 0)]


def test_a_loop_in_the_notch_of_another_lies_beside_it() -> None:
    notched = Stroke(
        np.array(
            [[0, 0, 0], [90, 0, 0], [90, 90, 0], [60, 90, 0], [60, 30, 0], [30, 30, 0], [30, 90, 0], [0, 90, 0.0]]
        ),
        is_closed=True,
    )
    assert _nest(_loops(notched, _box(35, 50, 55, 70))) == [(1, 0, 0), (2, 0, 0)]


def test_no_strokes_that_close_make_no_loops() -> None:
    assert _loops(Stroke(np.array([[0.0, 0, 0], [9, 0, 0]]), is_closed=False)).loops == ()


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10**6), st.integers(2, 40))
def test_random_circles_nest_as_geos_nests_their_chords(seed: int, count: int) -> None:
    import shapely

    rng = np.random.default_rng(seed)
    kept: list[tuple[float, float, float]] = []
    while len(kept) < count:  # none crosses another
        x, y = rng.uniform(-100.0, 100.0, 2)
        r = float(10.0 ** rng.uniform(-0.5, 2.0))
        apart = [(sqrt((x - a) ** 2 + (y - b) ** 2), c) for a, b, c in kept]
        if all(d > r + c + 0.05 or d < abs(r - c) - 0.05 for d, c in apart):
            kept.append((x, y, r))
        else:
            count -= 1
    found = _loops(*(_circle(*one) for one in kept))
    shapes = [shapely.Point(x, y).buffer(r, quad_segs=500) for x, y, r in sorted(kept, key=lambda one: -one[2])]
    for i, one in enumerate(found.loops):
        around = [k for k, shape in enumerate(shapes) if k != i and shape.contains(shapes[i].representative_point())]
        around = [k for k in around if shapes[k].area > shapes[i].area]
        assert one.depth == len(around)
        assert one.parent == (max(around) + 1 if around else 0)


def test_five_thousand_holes_in_a_plate_all_lie_in_it() -> None:
    holes = [_circle(4.0 * i, 4.0 * k, 1.0) for i in range(100) for k in range(50)]
    found = _loops(*holes, _box(-10, -10, 410, 210))
    assert len(found.loops) == 5001
    assert all(one.parent == 1 and one.depth == 1 for one in found.loops[1:])


@pytest.mark.parametrize("version", DxfVersion)
def test_the_files_written_here_come_back_as_the_outlines_they_were_meant_to_hold(
    tmp_path: Path, version: DxfVersion
) -> None:
    result = evaluate(load_demo("compressor-intake"))
    written = write_dxf(tmp_path / "a.dxf", rings(result.after, End.BASE), version=version)
    drawing = read_drawing(written.path)
    found = find_loops(drawing, MM)
    assert not drawing.remarks
    assert not found.troubles
    wanted = sorted((abs(outline.area) for _, outline in written.expected), reverse=True)
    assert [one.outline.area for one in found.loops] == pytest.approx(wanted, abs=1e-5)
