"""Places are put right from an aslant view; a pinhole camera, written down here, is what the views are made with."""

from __future__ import annotations

from itertools import permutations

import numpy as np
import pytest

from core.measure.scan.picture.edges import find_edges
from core.measure.scan.picture.perspective import ordered_corners, rectified, relative_uncertainty
from core.measure.scan.results import ScanError
from core.measure.scan.sizes.fit import fit_edge
from core.measure.scan.sizes.uncertainty import Doubt
from tests.core.measure.scan.rendered import DARK, OBROUND, Sheet, boundary, drawn, placed, scanned

SHEET = Sheet(dpi=150.0)
CORNERS = np.array([[10.0, 10.0], [150.0, 10.0], [150.0, 100.0], [10.0, 100.0]])


def _camera(points: np.ndarray) -> np.ndarray:
    """Pixels of the sheet (y down) as a camera sees them that is tilted 12° back and turned 5°."""
    w, h = SHEET.size
    x, y = points[:, 0] - w / 2.0, points[:, 1] - h / 2.0
    t, s = np.radians(12.0), np.radians(5.0)
    x, y = np.cos(s) * x - np.sin(s) * y, np.sin(s) * x + np.cos(s) * y
    away = 1400.0 + np.sin(t) * y
    return np.column_stack((1200.0 * x / away + w / 2.0, 1200.0 * np.cos(t) * y / away + h / 2.0))


def test_places_come_back_as_they_lay() -> None:
    seen = _camera(SHEET.pixels(CORNERS))
    inner = np.random.default_rng(1).uniform(0.0, 100.0, (50, 2))
    back = rectified(_camera(SHEET.pixels(inner)), [tuple(c) for c in seen], 140.0, 90.0)
    assert np.abs(back + np.array([10.0, 10.0]) - inner).max() < 1e-9


def test_corners_may_be_picked_in_any_order() -> None:
    seen = _camera(SHEET.pixels(CORNERS))
    for order in permutations(range(4)):
        assert np.array_equal(ordered_corners([tuple(seen[i]) for i in order]), seen)


def test_an_oval_photographed_aslant_has_its_sizes() -> None:
    oval = placed(boundary(OBROUND), (80.0, 55.0), 2.0)
    picture = scanned(drawn(SHEET, [(oval, DARK)], _camera), SHEET)
    corners = [tuple(c) for c in _camera(SHEET.pixels(CORNERS))]
    edge = find_edges(picture)[0]
    pixel = 25.4 / 150.0 * 1400.0 / 1200.0
    fit = fit_edge(rectified(edge.points, corners, 140.0, 90.0), doubt=Doubt(relative_uncertainty(corners), pixel))
    assert fit.family is OBROUND.family
    assert (fit.oval.length, fit.oval.width) == pytest.approx((OBROUND.length, OBROUND.width), abs=0.5 * pixel)
    assert fit.centre == pytest.approx((70.0, 45.0), abs=0.5 * pixel)
    assert np.degrees(fit.angle) == pytest.approx(2.0, abs=0.05)


@pytest.mark.parametrize(
    "corners",
    [
        [(0, 0), (100, 0), (100, 100), (50, 40)],  # one between the others
        [(0, 0), (50, 0), (100, 0), (50, 80)],  # three in line
        [(0, 0), (0, 0), (100, 0), (100, 80)],  # one picked twice
    ],
)
def test_corners_of_no_rectangle_are_refused(corners: list[tuple[float, float]]) -> None:
    with pytest.raises(ScanError, match=r"don't make a rectangle.*Pick the four corners again"):
        rectified(np.zeros((1, 2)), corners, 100.0, 80.0)


def test_what_lies_beyond_the_horizon_is_refused() -> None:
    corners = [(0.0, 100.0), (100.0, 100.0), (70.0, 0.0), (30.0, 0.0)]
    with pytest.raises(ScanError, match="beyond the horizon"):
        rectified(np.array([[50.0, -200.0]]), corners, 100.0, 100.0)


def test_picking_corners_within_half_a_pixel_is_part_of_the_uncertainty() -> None:
    corners = [(0.0, 300.0), (400.0, 300.0), (400.0, 0.0), (0.0, 0.0)]
    ends = np.random.default_rng(2).uniform(-0.5, 0.5, (100_000, 2))
    drawn_at_random = float(np.std(ends[:, 0] - ends[:, 1])) / 300.0
    assert relative_uncertainty(corners) == pytest.approx(drawn_at_random, rel=0.01)
