"""Edges are found where they were drawn, to a small part of a pixel, and nothing else passes for one."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from core.measure.scan.picture.edges import find_edges, threshold
from core.measure.scan.results import Picture, ScanError
from core.words.errors import Cancelled
from tests.core.measure.scan.rendered import (
    DARK,
    ELLIPSE,
    LIGHT,
    OBROUND,
    Shape,
    Sheet,
    boundary,
    drawn,
    placed,
    sampled,
    scanned,
)

SHEET = Sheet(dpi=150.0)
AT = (80.3, 55.2)


def _off(picture: Picture, curve_mm: np.ndarray, level: float | None = None) -> np.ndarray:
    """Distances of an edge's points from the drawn curve, + outside, by GEOS [pixel]."""
    ring = shapely.Polygon(SHEET.pixels(curve_mm))
    points = find_edges(picture, level)[0].points
    sign = np.where(shapely.contains_xy(ring, points), -1.0, 1.0)
    return np.asarray(sign * shapely.distance(ring.exterior, shapely.points(points)))


@pytest.mark.parametrize("blur", [0.0, 1.0, 3.0])
@pytest.mark.parametrize("shape", [OBROUND, ELLIPSE], ids=lambda s: s.family.value)
def test_points_lie_on_the_edge_however_blurred(shape: Shape, blur: float) -> None:
    picture = scanned(sampled(SHEET, shape, AT, 2.0), SHEET, blur=blur)
    off = _off(picture, placed(boundary(shape), AT, 2.0))
    assert abs(off.mean()) < 0.03
    assert np.sqrt((off * off).mean()) < 0.15


@pytest.mark.parametrize("level", [60.0, 200.0])
def test_the_level_of_the_search_does_not_move_the_edge(level: float) -> None:
    picture = scanned(sampled(SHEET, OBROUND, AT, 2.0), SHEET, blur=2.0)
    assert abs(_off(picture, placed(boundary(OBROUND), AT, 2.0), level=level).mean()) < 0.05


def test_uneven_light_does_not_move_the_edge() -> None:
    grey = sampled(SHEET, OBROUND, AT, 2.0).astype(float)
    shade = np.linspace(0.55, 1.0, grey.shape[1])
    picture = scanned((grey * shade).astype(np.uint8), SHEET, blur=2.0)
    assert abs(_off(picture, placed(boundary(OBROUND), AT, 2.0)).mean()) < 0.05


def test_a_reduced_search_is_put_right_on_the_full_picture() -> None:
    sheet = Sheet(dpi=600.0)
    picture = scanned(drawn(sheet, [(placed(boundary(OBROUND), AT, 2.0), DARK)]), sheet, blur=1.5)
    assert max(picture.grey.shape) > 2 * 1500
    ring = shapely.Polygon(sheet.pixels(placed(boundary(OBROUND), AT, 2.0)))
    points = find_edges(picture)[0].points
    assert len(points) > 7000
    off = shapely.distance(ring.exterior, shapely.points(points))
    assert np.sqrt((off * off).mean()) < 0.15


def test_the_largest_edge_comes_first_and_tells_which_side_is_dark() -> None:
    ring = placed(boundary(OBROUND), AT)
    picture = scanned(drawn(SHEET, [(ring, DARK), (0.7 * (ring - AT) + AT, LIGHT)]), SHEET)
    outer, inner = find_edges(picture)
    assert np.ptp(outer.points[:, 0]) > np.ptp(inner.points[:, 0])
    assert (outer.is_dark_inside, inner.is_dark_inside) == (True, False)


def test_specks_are_left_out_and_what_runs_out_of_the_picture_is_named() -> None:
    t = np.linspace(0.0, 2.0 * np.pi, 30)
    specks = [(np.array([x, 8.0]) + 0.3 * np.column_stack((np.cos(t), np.sin(t))), DARK) for x in (20.0, 60.0, 90.0)]
    whole = (placed(boundary(OBROUND), AT), DARK)
    assert len(find_edges(scanned(drawn(SHEET, [whole, *specks]), SHEET))) == 1
    cut = (placed(boundary(OBROUND), (20.0, 55.0)), DARK)
    with pytest.raises(ScanError, match=r"every edge runs out of the picture.*plain background all round"):
        find_edges(scanned(drawn(SHEET, [cut, *specks]), SHEET))
    with pytest.raises(ScanError, match="no closed edge was found"):
        find_edges(Picture(np.full((200, 300), 200, dtype=np.uint8), None, "plain.png"))


def test_the_threshold_parts_the_two_shades_best() -> None:
    rng = np.random.default_rng(4)
    grey = np.where(rng.random((300, 300)) < 0.2, rng.normal(70, 12, (300, 300)), rng.normal(180, 20, (300, 300)))
    picture = Picture(np.clip(grey, 0, 255).astype(np.uint8), None, "two.png")
    # The definition itself: the least variance within the classes, over every level.
    values = picture.grey.ravel().astype(float)
    within = [
        sum(part.size * part.var() for part in (values[values < cut], values[values >= cut]) if part.size)
        for cut in range(1, 256)
    ]
    assert threshold(picture) == pytest.approx(1 + int(np.argmin(within)), abs=1.0)


def test_the_search_can_be_called_off() -> None:
    def tick(part: float) -> None:
        if part >= 0.3:
            raise Cancelled("by the test")

    with pytest.raises(Cancelled, match="by the test"):
        find_edges(scanned(sampled(SHEET, OBROUND, AT, 0.0), SHEET), tick=tick)
