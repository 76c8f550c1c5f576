"""Corners found by their edge lie where Pillow drew them; what is no rectangle is refused."""

from __future__ import annotations

import numpy as np
import pytest

from core.measure.scan.picture.corners import corners_of, edge_with_corners, found_corners
from core.measure.scan.picture.edges import find_edges
from core.measure.scan.results import Edge, ScanError
from tests.core.measure.scan.rendered import (
    CIRCLE,
    DARK,
    LIGHT,
    OBROUND,
    ROUNDED,
    SUPERELLIPSE,
    Shape,
    Sheet,
    boundary,
    drawn,
    placed,
    scanned,
)

SHEET = Sheet(width=180.0, height=180.0, dpi=110.0)


def _aslant(rng: np.random.Generator) -> np.ndarray:
    """A rectangle as a camera sees it, each corner moved [mm]."""
    flat = np.array([[-55.0, -38.0], [55.0, -38.0], [55.0, 38.0], [-55.0, 38.0]])
    return placed(flat + rng.uniform(-9.0, 9.0, flat.shape), (90.0, 90.0), float(rng.uniform(0.0, 360.0)))


def test_corners_are_found_within_a_third_of_a_pixel_however_the_rectangle_lies() -> None:
    rng = np.random.default_rng(4)
    for seed in range(8):
        corners = _aslant(rng)
        edges = find_edges(scanned(drawn(SHEET, [(corners, DARK)]), SHEET, seed=seed))
        found, true = np.array(corners_of(edges[0])), SHEET.pixels(corners)
        away = np.hypot(*(found[:, None] - true).transpose(2, 0, 1)).min(axis=1)
        assert away.max() < 0.35


def test_torn_corners_are_where_the_sides_would_meet() -> None:
    corners = np.array([[30.0, 25.0], [140.0, 25.0], [140.0, 105.0], [30.0, 105.0]])
    torn = np.array([*corners[:2], [140.0, 99.0], [135.0, 105.0], corners[3]])
    edges = find_edges(scanned(drawn(SHEET, [(torn, DARK)]), SHEET))
    found, true = np.array(corners_of(edges[0])), SHEET.pixels(corners)
    assert np.hypot(*(found[:, None] - true).transpose(2, 0, 1)).min(axis=1).max() < 0.5


def test_the_largest_rectangle_is_found_among_ovals_and_by_its_places() -> None:
    sheet = np.array([[35.0, 45.0], [140.0, 47.0], [138.0, 125.0], [37.0, 123.0]])
    part = placed(boundary(Shape(OBROUND.family, 60.0, 40.0)), (88.0, 85.0), 20.0)
    ground = placed(boundary(Shape(CIRCLE.family, 164.0, 164.0)), (88.0, 86.0))
    edges = find_edges(scanned(drawn(SHEET, [(ground, DARK), (sheet, LIGHT), (part, DARK)]), SHEET))
    number, corners = found_corners(edges)
    assert number == 1
    assert edge_with_corners(edges, corners[::-1]) == 1
    assert edge_with_corners(edges, [(x + 60.0, y) for x, y in corners]) is None


@pytest.mark.parametrize("shape", [CIRCLE, OBROUND, ROUNDED, SUPERELLIPSE], ids=lambda s: s.family.value)
def test_an_oval_has_no_corners(shape: Shape) -> None:
    edge = Edge(SHEET.pixels(placed(boundary(shape), (85.0, 65.0), 12.0)), is_dark_inside=True)
    with pytest.raises(ScanError, match="no four straight sides"):
        corners_of(edge)
    with pytest.raises(ScanError, match="four straight sides"):
        found_corners([edge])


@pytest.mark.parametrize("sides", [3, 5, 6])
def test_another_polygon_is_no_rectangle(sides: int) -> None:
    turn = 2.0 * np.pi * np.arange(sides) / sides
    polygon = np.column_stack((85.0 + 50.0 * np.cos(turn), 65.0 + 50.0 * np.sin(turn)))
    edges = find_edges(scanned(drawn(SHEET, [(polygon, DARK)]), SHEET))
    with pytest.raises(ScanError, match="the edge has no four straight sides"):
        corners_of(edges[0])
