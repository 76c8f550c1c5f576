"""Scales come back from pictures drawn at a known one, stretched along one axis."""

from __future__ import annotations

import numpy as np
import pytest

from core.measure.scan.picture.edges import find_edges
from core.measure.scan.picture.scale import Rule, from_disc, from_dpi, from_plate, from_rules, traced_excess
from core.measure.scan.results import Edge, Picture, ScanError
from core.measure.scan.sizes.fit import fit_edge, scan
from core.measure.scan.sizes.uncertainty import Doubt
from tests.core.measure.scan.rendered import CIRCLE, DARK, OBROUND, Shape, Sheet, boundary, drawn, placed, scanned

STRETCHED = Sheet(width=200.0, dpi=150.0, stretch=1.006)
AT = (65.0, 55.0)
X, Y = 25.4 / 150.0 / 1.006, 25.4 / 150.0
PLATE = np.array([[-10.0, -17.5], [10.0, -17.5], [10.0, 17.5], [-10.0, 17.5]])
DISC = Shape(CIRCLE.family, 24.0, 24.0)


def _picture(degrees: float = 14.0) -> Picture:
    things = [
        (placed(boundary(OBROUND), AT, 2.0), DARK),
        (placed(PLATE, (165.0, 75.0), degrees), DARK),
        (placed(boundary(DISC), (165.0, 25.0)), DARK),
    ]
    return scanned(drawn(STRETCHED, things), STRETCHED)


def test_the_files_resolution_is_taken_with_its_doubt() -> None:
    scale = from_dpi(Picture(np.zeros((9, 9), dtype=np.uint8), (300.0, 150.0), "a.png"))
    assert (scale.x, scale.y, scale.relative) == pytest.approx((25.4 / 300.0, 25.4 / 150.0, 0.004))
    assert "not calibrated" in scale.note
    half = from_dpi(Picture(np.zeros((9, 9), dtype=np.uint8), (300.0, 300.0), "a.jpg", reduced=2))
    assert half.x == pytest.approx(25.4 / 150.0)
    with pytest.raises(ScanError, match="says nothing of its resolution"):
        from_dpi(Picture(np.zeros((9, 9), dtype=np.uint8), None, "a.png"))


def test_two_rules_tell_both_axes_even_when_they_lie_askew() -> None:
    ends = np.array([[10.0, 12.0], [150.0, 20.0], [12.0, 10.0], [5.0, 100.0]])
    seen = STRETCHED.pixels(ends)
    rules = [Rule(tuple(seen[i]), tuple(seen[i + 1]), float(np.hypot(*(ends[i + 1] - ends[i])))) for i in (0, 2)]
    scale = from_rules(rules)
    assert (scale.x, scale.y) == pytest.approx((X, Y), rel=1e-9)


def test_the_uncertainty_of_rules_is_that_of_picking_their_ends() -> None:
    ends = np.array([[0.0, 500.0], [900.0, 500.0], [100.0, 0.0], [100.0, 600.0]])
    rng = np.random.default_rng(1)
    found, stated = [], 0.0
    for _ in range(2000):
        p = ends + rng.uniform(-0.5, 0.5, ends.shape)
        scale = from_rules([Rule(tuple(p[0]), tuple(p[1]), 90.0, 0.0), Rule(tuple(p[2]), tuple(p[3]), 60.0, 0.0)])
        found.append(scale.y)
        stated = scale.relative
    assert stated == pytest.approx(float(np.std(found) / np.mean(found)), rel=0.1)


def test_one_rule_keeps_the_doubt_of_a_stretch() -> None:
    rule = Rule((0.0, 0.0), (600.0, 0.0), 50.0, 0.0)
    one = from_rules([rule], (300.0, 150.0))
    assert (one.x, one.y) == pytest.approx((50.0 / 600.0, 2.0 * 50.0 / 600.0))
    assert one.relative > 0.003
    assert "0.6 %" in one.note


@pytest.mark.parametrize(
    ("rules", "words"),
    [
        ([Rule((0, 0), (20, 0), 5.0)], "too close"),
        ([Rule((0, 0), (200, 0), 0.0)], "give their distance"),
        ([Rule((0, 0), (200, 0), 50.0), Rule((0, 9), (200, 30), 50.0)], "one rule across and one down"),
        ([Rule((0, 0), (200, 0), 50.0), Rule((0, 0), (200, 200), 20.0)], "contradict each other"),
    ],
)
def test_rules_that_tell_no_scale_are_refused(rules: list[Rule], words: str) -> None:
    with pytest.raises(ScanError, match=words):
        from_rules(rules)


@pytest.mark.parametrize("degrees", [0.0, 14.0, 45.0, 90.0])
def test_a_stretch_of_six_in_a_thousand_is_found_by_a_plate_and_taken_out(degrees: float) -> None:
    picture = _picture(degrees)
    oval, plate, _ = find_edges(picture)
    scale = from_plate(plate, 35.0, 20.0)
    assert (scale.x, scale.y) == pytest.approx((X, Y), rel=2.0 * scale.relative)
    assert scale.y / scale.x == pytest.approx(1.006, abs=0.0015)
    assert scale.relative < 0.004
    # What is wrong on a plate of 118 pixels grows with the oval: the stated uncertainty has to cover it.
    fit = scan(picture, scale, oval)
    assert fit.family is OBROUND.family
    for (_, size), true in zip(fit.sizes, (120.0, 70.0), strict=True):
        assert abs(size.value - true) < size.expanded < 0.9


def test_the_same_stretch_is_found_by_a_disc() -> None:
    picture = _picture()
    *_, disc = find_edges(picture)
    scale = from_disc(disc, 24.0)
    assert scale.y / scale.x == pytest.approx(1.006, abs=0.0015)
    assert (scale.x, scale.y) == pytest.approx((X, Y), rel=2.0 * scale.relative)


def test_without_calibration_the_stretch_stays_within_the_stated_uncertainty() -> None:
    picture = _picture()
    fit = scan(picture, from_dpi(picture), find_edges(picture)[0], (OBROUND.family,))
    length = dict(fit.sizes)[next(name for name, _ in fit.sizes)]
    assert fit.oval.length - 120.0 == pytest.approx(0.72, abs=0.05)
    assert length.expanded > 0.7


def test_an_edge_of_another_shape_is_no_disc_and_no_plate() -> None:
    picture = _picture()
    oval, plate, disc = find_edges(picture)
    with pytest.raises(ScanError, match="not that of a disc"):
        from_disc(oval, 24.0)
    with pytest.raises(ScanError, match="not that of a disc"):
        from_disc(plate, 24.0)
    with pytest.raises(ScanError, match="not that of a plate"):
        from_plate(disc, 35.0, 20.0)
    with pytest.raises(ScanError, match="not that of a plate"):
        from_plate(Edge(oval.points, is_dark_inside=True), 35.0, 20.0)


def test_a_pencil_line_is_put_back_by_a_disc_traced_with_the_same_pencil() -> None:
    sheet = Sheet(dpi=300.0)
    # A line of 0.5 mm with its inner edge 0.35 mm outside the part: drawn as rings, by GEOS's own buffers elsewhere.
    import shapely

    things = []
    for curve, at in ((boundary(OBROUND), AT), (boundary(DISC), (145.0, 25.0))):
        part = shapely.Polygon(placed(curve, at, 2.0))
        for away, grey in ((0.85, DARK), (0.35, 255)):
            things.append((np.asarray(part.buffer(away, quad_segs=200).exterior.coords), grey))
    picture = scanned(drawn(sheet, things), sheet)
    edges = find_edges(picture)
    oval, disc = edges[0], edges[2]
    scale = from_dpi(picture)
    excess = traced_excess(scan(picture, scale, disc, (CIRCLE.family,)), 24.0)
    assert excess.value == pytest.approx(0.85, abs=0.05)
    # Two edges of 0.2 pixel, the scale's 0.4 %, the disc's calliper: halved for the radius.
    assert excess.standard == pytest.approx(np.hypot(0.4 * 25.4 / 300.0, np.hypot(0.004 * 25.7, 0.02)) / 2.0, rel=0.02)
    doubt = Doubt(excess=excess.standard)
    sizes = [dict(fit_edge(boundary(OBROUND), (OBROUND.family,), doubt=d).sizes) for d in (Doubt(), doubt)]
    for name in sizes[0]:
        assert sizes[1][name].standard == pytest.approx(2.0 * excess.standard, rel=0.01)
    fit = scan(picture, scale, oval, outside=excess.value)
    pixel = 25.4 / 300.0
    assert fit.family is OBROUND.family
    assert (fit.oval.length, fit.oval.width) == pytest.approx((120.0, 70.0), abs=0.5 * pixel)
    with pytest.raises(ScanError, match="farther from its edge than any pencil"):
        traced_excess(scan(picture, scale, disc, (CIRCLE.family,)), 15.0)
