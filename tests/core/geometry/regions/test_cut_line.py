from math import cos, sin, sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.geometry.lines.outline import circle_outline, polygon_outline, rectangle_outline
from core.geometry.regions.closing import combine
from core.geometry.regions.cut_line import cut_spans
from core.geometry.regions.region import Region, Step

RING = [circle_outline((0, 0), 5.0), circle_outline((0, 0), 3.0)]


@pytest.mark.parametrize(
    ("at", "direction", "expected"),
    [
        pytest.param((0, 0), (1, 0), [[-5, -3], [3, 5]], id="through the vertices"),
        pytest.param((0, 0), (0, 7), [[-5, -3], [3, 5]], id="length of the direction is no matter"),
        pytest.param((1, 0), (-1, 0), [[-4, -2], [4, 6]], id="backwards from elsewhere"),
        pytest.param((0, 4), (1, 0), [[-3, 3]], id="past the hole: 3, 4, 5"),
        pytest.param((0, 3), (1, 0), [[-4, 4]], id="touching the hole"),
        pytest.param((0, 5), (1, 0), [], id="touching the outside"),
        pytest.param((0, 6), (1, 0), [], id="missing it"),
    ],
)
def test_spans_of_a_ring(at: tuple[float, float], direction: tuple[float, float], expected: list[list[float]]) -> None:
    spans = cut_spans(RING, at, direction)
    assert spans.shape == (len(expected), 2)
    assert spans.ravel().tolist() == pytest.approx(np.array(expected).ravel().tolist())


def test_a_line_through_corners_enters_and_leaves_there() -> None:
    square = rectangle_outline(0, 0, 2, 2)
    assert cut_spans([square], (0, 0), (1, 1)).tolist() == [pytest.approx([0.0, 2.0 * sqrt(2.0)])]
    assert len(cut_spans([square], (2, 0), (1, 1))) == 0


def test_running_along_an_edge_is_no_span_unless_there_is_metal_on_both_sides() -> None:
    step = polygon_outline([[0.0, 0.0], [4.0, 0.0], [4.0, 2.0], [2.0, 2.0], [2.0, 1.0], [0.0, 1.0]])
    assert len(cut_spans([step], (0, 0), (1, 0))) == 0
    assert cut_spans([step], (0, 1), (1, 0)).tolist() == [[2.0, 4.0]]


def test_a_zero_direction_is_refused() -> None:
    with pytest.raises(ValueError, match="needs a direction"):
        cut_spans(RING, (0, 0), (0, 0))


def test_nothing_has_no_spans() -> None:
    assert cut_spans(Region((), ()), (0, 0), (1, 0)).shape == (0, 2)
    assert cut_spans([], (0, 0), (1, 0)).shape == (0, 2)


@given(st.floats(-6, 6), st.floats(-6, 6), st.floats(0, 6.3), st.integers(0, 10**6))
@settings(deadline=None, max_examples=150)
def test_a_point_on_the_line_is_in_a_span_when_the_region_holds_it(x: float, y: float, angle: float, seed: int) -> None:
    rng = np.random.default_rng(seed)
    outlines = [circle_outline((a, b), c) for a, b, c in rng.uniform(0.5, 4.0, (3, 3))]
    outlines += [rectangle_outline(a, b, a + c, b + d) for a, b, c, d in rng.uniform(0.5, 4.0, (3, 4))]
    region = combine(outlines, [Step(add=k != 1, inside=(k,)) for k in (0, 3, 1, 2, 4)])
    direction = (cos(angle), sin(angle))
    spans = cut_spans(region, (x, y), direction)
    assert (np.diff(spans.ravel()) > 0).all()
    t = rng.uniform(-12, 12, 300)
    points = np.array([x, y]) + t[:, None] * np.array(direction)
    clear = region.distance(points) > 1e-6 if region.loops else np.ones(300, dtype=np.bool_)
    in_span = ((spans[None, :, 0] <= t[:, None]) & (t[:, None] <= spans[None, :, 1])).any(axis=1)
    assert (in_span == region.contains(points))[clear].all()
    assert np.abs(region.distance(points[:0])).sum() == 0 if region.loops else len(spans) == 0
