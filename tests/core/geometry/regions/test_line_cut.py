"""One line through many loops: the same spans as one area at a time."""

from __future__ import annotations

from math import cos, pi, sin

import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.evaluate import evaluate
from core.files.project.demos import load_demo
from core.geometry.ovals.ovals import Family, Oval, oval_outline
from core.geometry.regions.cut_line import cut_spans
from core.geometry.regions.line_cut import LineCut

_DEMO = evaluate(load_demo("compressor-intake"))
_REGIONS = [slab.region for piece in (*_DEMO.after.pieces, *_DEMO.before.pieces) for slab in piece.slabs]


@given(st.floats(-1.0, 1.0), st.floats(-160.0, 160.0))
def test_any_line_through_a_housing_is_cut_as_its_regions_are(turns: float, off: float) -> None:
    _agree(turns * pi, off)


@pytest.mark.parametrize("degrees", [0, 30, 45, 90, 180, 270])
@pytest.mark.parametrize("off", [0.0, 10.0, 33.5, -67.0])
def test_lines_through_vertices_and_along_edges_too(degrees: int, off: float) -> None:
    _agree(degrees * pi / 180.0, off)


def _agree(angle: float, off: float) -> None:
    along = (cos(angle), sin(angle))
    at = (-off * along[1], off * along[0])
    line = LineCut(at, along, [loop for region in _REGIONS for loop in region.loops])
    for region in _REGIONS:
        found = [s for span in line.spans(region.loops) for s in span]
        expected: list[float] = []
        for s0, s1 in cut_spans(region, at, along).tolist():
            if expected and s0 - expected[-1] <= 1e-7:
                expected[-1] = s1
            else:
                expected += [s0, s1]
        assert found == pytest.approx(expected, abs=1e-6)


def test_an_arc_that_rises_and_falls_again_is_crossed_twice() -> None:
    circle = oval_outline(Oval(Family.CIRCLE, 100.0, 100.0))
    for off in (0.0, 30.0, -49.9):
        half = (50.0**2 - off * off) ** 0.5
        assert LineCut((0.0, off), (1.0, 0.0)).spans((circle,)) == [pytest.approx((-half, half))]
    assert LineCut((0.0, 50.5), (1.0, 0.0)).spans((circle,)) == []


def test_a_line_that_only_touches_has_no_span() -> None:
    shape = oval_outline(Oval(Family.OBROUND, 100.0, 60.0))
    assert LineCut((0.0, 30.0), (1.0, 0.0)).spans((shape,)) == []
    assert LineCut((50.0, 0.0), (0.0, 1.0)).spans((shape,)) == []
