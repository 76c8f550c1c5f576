from math import cos, pi, sin, tan

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.geometry.lines.outline import FloatArray, Outline, polygon_outline, rectangle_outline
from core.geometry.ovals.arcfit import fit_closed, fit_curve

QUARTER = tan(pi / 8)
ROUNDED = Outline(
    [
        (10.0, 0.0, 0.0),
        (90.0, 0.0, QUARTER),
        (100.0, 10.0, 0.0),
        (100.0, 40.0, QUARTER),
        (90.0, 50.0, 0.0),
        (10.0, 50.0, QUARTER),
        (0.0, 40.0, 0.0),
        (0.0, 10.0, QUARTER),
    ]
)


def ellipse_arc(a: float, b: float, t: FloatArray) -> tuple[FloatArray, FloatArray]:
    rates = np.column_stack((-a * np.sin(t), b * np.cos(t)))
    return np.column_stack((a * np.cos(t), b * np.sin(t))), rates / np.hypot(*rates.T)[:, None]


def closed(chain: FloatArray) -> Outline:
    """The chain as an outline, closed by a straight line."""
    return Outline(chain)


def turns(outline: Outline) -> FloatArray:
    s = outline.segments
    every = np.arange(len(s))
    arriving, leaving = np.roll(s.tangents(every, s.length), 1, axis=0), s.tangents(every, np.zeros(len(s)))
    sine = arriving[:, 0] * leaving[:, 1] - arriving[:, 1] * leaving[:, 0]
    size: FloatArray = np.abs(np.arctan2(sine, (arriving * leaving).sum(axis=1)))
    return size


@given(st.floats(5.0, 500.0), st.floats(0.1, 1.0), st.floats(1e-4, 1.0))
@settings(deadline=None, max_examples=50)
def test_a_chain_does_not_exceed_its_tolerance(a: float, ratio: float, tolerance: float) -> None:
    points, directions = ellipse_arc(a, a * ratio, np.linspace(0.0, pi / 2, 1501))
    chain = fit_curve(points, directions, tolerance)
    # A fresh sample, so that the top of the deviation between the fitted points counts too.
    fresh, _ = ellipse_arc(a, a * ratio, np.linspace(0.0, pi / 2, 3333))
    outline = closed(chain)
    s = outline.segments
    assert s.distances(fresh)[:, :-1].min(axis=1).max() <= tolerance
    assert (chain[0, :2] == points[0]).all()
    assert (chain[-1] == [*points[-1], 0.0]).all()
    assert turns(outline)[1:-1].max(initial=0.0) < 1e-9


@pytest.mark.parametrize(
    ("a", "b", "tolerance", "most"),
    [
        pytest.param(120, 75, 0.001, 22, id="88 arcs all round at 1 µm"),
        # Eight times the tolerance halves the arcs: the deviation goes with the cube of their length.
        pytest.param(120, 75, 0.008, 12, id="half of that at 8 µm"),
    ],
)
def test_a_chain_spends_few_arcs(a: float, b: float, tolerance: float, most: int) -> None:
    points, directions = ellipse_arc(a, b, np.linspace(0.0, pi / 2, 2001))
    assert len(fit_curve(points, directions, tolerance)) - 1 <= most


def test_a_circle_takes_one_biarc() -> None:
    chain = fit_curve(*ellipse_arc(50.0, 50.0, np.linspace(0.0, pi / 2, 101)), 1e-6)
    assert len(chain) == 3
    assert chain[:2, 2] == pytest.approx(tan(pi / 16), rel=1e-12)


def test_a_curve_that_bends_both_ways_is_followed_too() -> None:
    x = np.linspace(0.0, 100.0, 2001)
    points = np.column_stack((x, 10 * np.sin(x / 12)))
    directions = np.column_stack((np.ones_like(x), 10 / 12 * np.cos(x / 12)))
    chain = fit_curve(points, directions / np.hypot(*directions.T)[:, None], 0.001)
    assert closed(chain).segments.distances(points)[:, :-1].min(axis=1).max() <= 0.001
    assert chain[:, 2].min() < 0.0 < chain[:, 2].max()


def test_a_flat_start_becomes_a_line_not_an_arc_bent_the_wrong_way() -> None:
    # y = (x / 100)^10 is straight to a nanometre over its first quarter.
    x = np.linspace(0.0, 100.0, 2001)
    points = np.column_stack((x, (x / 100) ** 10))
    directions = np.column_stack((np.ones_like(x), 0.1 * (x / 100) ** 9))
    directions /= np.hypot(*directions.T)[:, None]
    chain = fit_curve(points, directions, 0.0005)
    assert chain[0, 2] == 0.0
    assert (chain[:, 2] >= 0.0).all()
    back = fit_curve(points[::-1], -directions[::-1], 0.0005)
    assert back[-2, 2] == 0.0
    assert (back[:, 2] <= 0.0).all()


def test_a_tolerance_beyond_the_points_ends_with_a_biarc_for_each_step() -> None:
    points, directions = ellipse_arc(10.0, 5.0, np.linspace(0.0, pi / 2, 9))
    chain = fit_curve(points, directions, 1e-13)
    assert len(chain) == 17
    assert chain[::2, :2] == pytest.approx(points, abs=0)


def test_a_chain_needs_a_positive_tolerance() -> None:
    points, directions = ellipse_arc(10.0, 5.0, np.linspace(0.0, pi / 2, 9))
    with pytest.raises(ValueError, match="tolerance must be positive, not 0"):
        fit_curve(points, directions, 0.0)
    with pytest.raises(ValueError, match="tolerance must be positive, not nan"):
        fit_closed(points, float("nan"))


@pytest.mark.parametrize(
    ("points", "directions"),
    [
        ([(0.0, 0.0), (1.0, 0.0)], [(1.0, 0.0)] * 2),
        ([(0.0, 0.0), (1.0, 0.0), (1.0, 0.0)], [(1.0, 0.0)] * 3),
        ([(0.0, 0.0), (float("nan"), 0.0), (1.0, 0.0)], [(1.0, 0.0)] * 3),
        ([(0.0, 0.0), (0.5, 0.0), (1.0, 0.0)], [(float("nan"), 0.0)] * 3),
    ],
)
def test_a_chain_needs_a_curve(points: list[tuple[float, float]], directions: list[tuple[float, float]]) -> None:
    with pytest.raises(ValueError, match="at least 3 points, all finite and none repeated"):
        fit_curve(np.array(points), np.array(directions), 0.01)


@pytest.mark.parametrize("count", [200, 2000])
@pytest.mark.parametrize("noise", [0.0, 0.01])
def test_a_measured_ellipse_becomes_few_arcs_within_the_tolerance(count: int, noise: float) -> None:
    tolerance = 0.06 if noise else 0.01
    t = np.linspace(0.0, 2 * pi, count, endpoint=False)
    exact, _ = ellipse_arc(120.0, 75.0, t)
    points = exact + np.random.default_rng(1).normal(0.0, 1.0, exact.shape) * noise
    outline = fit_closed(points, tolerance)
    assert outline.nearest(points).distance.max() <= tolerance
    assert len(outline) <= 60
    assert turns(outline).max() <= 2e-3
    assert outline.area == pytest.approx(120 * 75 * pi, abs=tolerance * outline.length / 4)


def test_a_measured_circle_takes_four_arcs() -> None:
    points, _ = ellipse_arc(80.0, 80.0, np.linspace(0.0, 2 * pi, 2000, endpoint=False))
    outline = fit_closed(points, 0.01)
    assert len(outline) == 4
    assert outline.segments.radius == pytest.approx(80.0, abs=1e-3)


def test_the_sense_and_a_repeated_point_do_not_matter() -> None:
    points, _ = ellipse_arc(40.0, 25.0, np.linspace(0.0, 2 * pi, 300, endpoint=False))
    outline = fit_closed(points, 0.01)
    assert outline.is_ccw
    assert fit_closed(np.concatenate((points, points[:1])), 0.01) == outline
    backward = fit_closed(points[::-1], 0.01)
    assert backward.is_ccw
    assert backward.nearest(points).distance.max() <= 0.01


def test_corners_are_kept_and_straight_sides_become_lines() -> None:
    corners = [(0.0, 0.0), (60.0, 0.0), (60.0, 20.0), (25.0, 45.0)]
    polygon = polygon_outline(corners)
    assert fit_closed(corners, 0.01) == polygon
    dense = np.concatenate(
        [np.linspace(p, q, 50, endpoint=False) for p, q in zip(corners, corners[1:] + corners[:1], strict=True)]
    )
    assert fit_closed(dense, 0.01) == polygon
    # The first point need not be a corner.
    found = fit_closed(np.roll(dense, 20, axis=0), 0.01)
    assert {tuple(v) for v in found.vertices.tolist()} == {(*c, 0.0) for c in corners}


def test_a_corner_between_a_line_and_an_arc_is_kept() -> None:
    half = Outline([(0.0, 0.0, 0.0), (20.0, 0.0, 1.0)])
    points = half.points_at(half.length * np.arange(600) / 600)
    outline = fit_closed(points, 0.01)
    assert outline.nearest(points).distance.max() <= 0.01
    assert (outline.vertices[:, 2] == 0.0).sum() >= 1
    assert len(outline) <= 8
    assert outline.nearest([[0.0, 0.0]]).distance[0] < 1e-9
    assert outline.area == pytest.approx(half.area, rel=1e-3)


def test_one_corner_alone_is_enough() -> None:
    # A drop: a point where two lines touch a circle at right angles to each other.
    drop = Outline([(0.0, 0.0, 0.0), (10.0, 10.0, tan(3 * pi / 8)), (-10.0, 10.0, 0.0)])
    points = drop.points_at(drop.length * np.arange(500) / 500)
    outline = fit_closed(points, 0.01)
    assert outline.nearest(points).distance.max() <= 0.01
    assert (turns(outline) > 1.0).sum() == 1
    assert turns(outline).max() == pytest.approx(pi / 2, abs=0.05)


@pytest.mark.parametrize("noise", [0.0, 0.01])
def test_a_measured_rounded_rectangle_keeps_straight_sides(noise: float) -> None:
    points = ROUNDED.points_at(np.arange(0.0, ROUNDED.length, 0.5))
    points = points + np.random.default_rng(2).normal(0.0, 1.0, points.shape) * noise
    tolerance = 0.05 if noise else 0.01
    outline = fit_closed(points, tolerance)
    assert outline.nearest(points).distance.max() <= tolerance
    s = outline.segments
    assert s.length[outline.vertices[:, 2] == 0.0].sum() > 100.0
    assert turns(outline).max() <= 2e-3
    stations = np.linspace(0.0, outline.length, 2000)
    assert ROUNDED.nearest(outline.points_at(stations)).distance.max() <= 2 * tolerance


@given(st.lists(st.floats(0.85, 1.15), min_size=5, max_size=8), st.floats(0.005, 0.2), st.integers(0, 2**32 - 1))
@settings(deadline=None, max_examples=25)
def test_no_measured_point_is_further_off_than_the_tolerance(waves: list[float], tolerance: float, seed: int) -> None:
    t = np.linspace(0.0, 2 * pi, 400, endpoint=False)
    radius = 60.0 * (1 + sum((w - 1) / (i + 2) * np.cos((i + 1) * t + i) for i, w in enumerate(waves)))
    noise = np.random.default_rng(seed).normal(0.0, tolerance / 6, (400, 2))
    points = np.column_stack((radius * np.cos(t), radius * np.sin(t))) + noise
    outline = fit_closed(points, tolerance)
    assert outline.nearest(points).distance.max() <= tolerance * (1 + 1e-9)
    assert outline.area == pytest.approx(polygon_outline(points).area, rel=1e-2)


def test_coarse_points_on_a_small_circle_are_no_corners_within_the_tolerance() -> None:
    # 12 points turn by 30° each, but an arc through them leaves the chords by only 0.03 mm.
    t = 2 * pi * np.arange(12) / 12
    outline = fit_closed(np.column_stack((np.cos(t), np.sin(t))), 0.1)
    assert outline.segments.radius == pytest.approx(1.0, abs=0.1)


@pytest.mark.parametrize(
    ("points", "text"),
    [
        ([[0.0, 0.0], [1.0, 0.0]], "at least 3 different points"),
        ([[0.0, 0.0], [1.0, 0.0], [1.0, 0.0], [0.0, 0.0]], "at least 3 different points"),
        ([[0.0, 0.0], [1.0, 0.0], [2.0, 0.0]], "round an area"),
        ([[0.0, 0.0, 0.0], [1.0, 0.0, 0.0]], r"finite with shape \(n, 2\), not \(2, 3\)"),
        ([[0.0, 0.0], [1.0, float("nan")], [0.0, 1.0]], "finite"),
    ],
)
def test_points_that_enclose_nothing_are_refused(points: list[list[float]], text: str) -> None:
    with pytest.raises(ValueError, match=text):
        fit_closed(points, 0.01)


def test_a_turned_measurement_gives_the_turned_outline() -> None:
    side = rectangle_outline(-30.0, -10.0, 30.0, 10.0)
    points = side.points_at(np.arange(0.0, 160.0, 0.8))
    c, s = cos(0.3), sin(0.3)
    outline = fit_closed(points @ np.array([[c, s], [-s, c]]), 0.005)
    assert len(outline) == 4
    assert outline.turned(-0.3).area == pytest.approx(1200.0, abs=1e-6)
