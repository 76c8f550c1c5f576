"""Ovals drawn by other means come back within half a pixel, whatever lies on the edge besides."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from core.geometry.ovals.ovals import Family, oval_outline
from core.measure.scan.picture.edges import find_edges
from core.measure.scan.picture.scale import from_dpi
from core.measure.scan.results import Edge, Picture, ScanError, ScanFit
from core.measure.scan.sizes.fit import fit_edge, scan
from core.measure.scan.sizes.turned import averaged
from core.measure.scan.sizes.uncertainty import Doubt, effective_count
from core.part.readings import SizeName
from core.words.errors import Cancelled
from tests.core.measure.scan.rendered import (
    DARK,
    ELLIPSE,
    FOUR_ARC,
    LIGHT,
    OBROUND,
    ROUNDED,
    SHAPES,
    SUPERELLIPSE,
    Shape,
    Sheet,
    boundary,
    drawn,
    placed,
    sampled,
    scanned,
)

SHEET = Sheet(dpi=150.0)
PIXEL = 25.4 / 150.0
AT = (80.3, 55.2)


def _fitted(picture: Picture, *families: Family) -> ScanFit:
    edge = find_edges(picture)[0]
    return scan(picture, from_dpi(picture), edge, families) if families else scan(picture, from_dpi(picture), edge)


def _check(fit: ScanFit, shape: Shape, pixel: float = PIXEL) -> None:
    assert fit.family is shape.family
    assert (fit.oval.length, fit.oval.width) == pytest.approx((shape.length, shape.width), abs=0.5 * pixel)
    if shape.family is Family.SUPERELLIPSE:
        assert fit.oval.exponent == pytest.approx(shape.own, abs=0.02)
    elif shape.own:
        assert fit.oval.end_radius == pytest.approx(shape.own, abs=0.5 * pixel)


@pytest.mark.parametrize("dpi", [150.0, 300.0])
@pytest.mark.parametrize("shape", SHAPES, ids=lambda s: s.family.value)
def test_each_family_is_told_with_its_sizes_within_half_a_pixel(shape: Shape, dpi: float) -> None:
    sheet = Sheet(dpi=dpi)
    fit = _fitted(scanned(drawn(sheet, [(placed(boundary(shape), AT, 2.0), DARK)]), sheet))
    pixel = 25.4 / dpi
    _check(fit, shape, pixel)
    # Pillow's polygons lie an eighth of a pixel off at most: the fine pixel that their corners are rounded to.
    assert fit.centre == pytest.approx(AT, abs=0.2 * pixel)
    if shape.family is not Family.CIRCLE:
        assert np.degrees(fit.angle) == pytest.approx(2.0, abs=0.02)
    assert fit.used.mean() > 0.99
    assert fit.rms < 0.1 * pixel
    names = [family for family, _ in fit.tried]
    assert len(names) == 5
    assert [rms for _, rms in fit.tried] == sorted(rms for _, rms in fit.tried)


@pytest.mark.parametrize("shape", [OBROUND, ELLIPSE, SUPERELLIPSE], ids=lambda s: s.family.value)
def test_a_second_way_of_drawing_says_the_same(shape: Shape) -> None:
    _check(_fitted(scanned(sampled(SHEET, shape, AT, -31.0), SHEET, blur=1.5, noise=8.0)), shape)


def test_a_small_part_at_600_dpi_is_fitted_within_half_of_its_pixels() -> None:
    sheet = Sheet(width=70.0, height=50.0, dpi=600.0)
    small = Shape(Family.FOUR_ARC, 48.0, 30.0, 10.0)
    picture = scanned(drawn(sheet, [(placed(boundary(small), (35.0, 25.0), 2.0), DARK)]), sheet, blur=2.0, noise=8.0)
    _check(_fitted(picture), small, 25.4 / 600.0)


def _shadow(shape: Shape, start: float, part: float, out: float) -> np.ndarray:
    """A strip along a part of the curve that bulges ``out`` millimetres beyond it."""
    ring = shapely.LinearRing(boundary(shape))
    at = ring.length * ((start + part * np.linspace(0.0, 1.0, 300)) % 1.0)
    p = shapely.get_coordinates(shapely.line_interpolate_point(ring, at))
    t = np.gradient(p, axis=0)
    normal = np.column_stack((t[:, 1], -t[:, 0])) / np.hypot(*t.T)[:, None]
    return np.concatenate((p - 2.0 * normal, (p + out * normal)[::-1]))


@pytest.mark.parametrize("start", [0.06, 0.93])
@pytest.mark.parametrize("shape", [s for s in SHAPES if s is not ROUNDED], ids=lambda s: s.family.value)
def test_a_shadow_along_a_quarter_of_the_edge_does_not_move_the_oval(shape: Shape, start: float) -> None:
    things = [(placed(boundary(shape), AT, 2.0), DARK), (placed(_shadow(shape, start, 0.25, 1.5), AT, 2.0), DARK)]
    fit = _fitted(scanned(drawn(SHEET, things), SHEET))
    _check(fit, shape)
    assert 0.70 < fit.used.mean() < 0.78


@pytest.mark.parametrize("shape", [OBROUND, ROUNDED], ids=lambda s: s.family.value)
def test_a_shadow_along_half_of_a_straight_side_does_not_move_the_oval(shape: Shape) -> None:
    # Along the whole of one, it would be the side of a wider rectangle, which more of the edge lies on.
    things = [(placed(boundary(shape), AT, 2.0), DARK), (placed(_shadow(shape, 0.19, 0.1, 1.5), AT, 2.0), DARK)]
    _check(_fitted(scanned(drawn(SHEET, things), SHEET)), shape)


@pytest.mark.parametrize("shape", [OBROUND, FOUR_ARC, SUPERELLIPSE], ids=lambda s: s.family.value)
def test_stray_spots_and_a_cut_off_corner_do_not_move_the_oval(shape: Shape) -> None:
    curve = boundary(shape)
    across = curve.sum(axis=1)
    things = [(placed(curve[across < 0.9 * across.max()], AT, 2.0), DARK)]
    rng, t = np.random.default_rng(0), np.linspace(0.0, 2.0 * np.pi, 40)
    for _ in range(12):
        middle = placed(curve[rng.integers(len(curve))][None], AT, 2.0) + rng.normal(0.0, 1.0, 2)
        spot = middle + rng.uniform(0.4, 1.5) * np.column_stack((np.cos(t), np.sin(t)))
        things.append((spot, DARK if rng.random() < 0.5 else LIGHT))
    fit = _fitted(scanned(drawn(SHEET, things), SHEET))
    _check(fit, shape)
    assert fit.used.mean() < 0.9


def test_the_edge_is_given_as_it_lies_round_the_oval() -> None:
    fit = _fitted(scanned(drawn(SHEET, [(placed(boundary(FOUR_ARC), AT, 2.0), DARK)]), SHEET))
    outline = oval_outline(fit.oval)
    assert outline.signed_distance(fit.points) == pytest.approx(fit.off, abs=1e-6)


def test_the_stated_uncertainty_holds_over_many_noisy_edges() -> None:
    # Noise tied over neighbours, as blur and smoothing tie it.
    curve = boundary(FOUR_ARC)[::4]
    rng = np.random.default_rng(11)
    errors, stated = [], []
    for _ in range(25):
        noise = np.fft.irfft(
            np.fft.rfft(rng.normal(0.0, 1.0, len(curve))) * np.exp(-((np.arange(len(curve) // 2 + 1) / 40.0) ** 2)),
            len(curve),
        )
        normal = curve / np.hypot(*curve.T)[:, None]
        fit = fit_edge(curve + 0.2 * noise[:, None] * normal, (Family.FOUR_ARC,))
        length = dict(fit.sizes)[SizeName.LENGTH]
        errors.append(length.value - FOUR_ARC.length)
        stated.append(length.expanded)
    inside = np.mean(np.abs(errors) <= np.array(stated))
    assert inside >= 0.85  # 95 % of 25, less two standard deviations of that count
    assert np.mean(stated) < 6.0 * np.std(errors)


def test_tied_neighbours_count_once() -> None:
    # A first-order autoregression with the factor f is worth n (1 - f) / (1 + f) readings (any text on time series).
    rng, f, n = np.random.default_rng(5), 0.8, 40_000
    steps, r = rng.normal(0.0, 1.0, n), np.zeros(n)
    for i in range(1, n):
        r[i] = f * r[i - 1] + steps[i]
    assert effective_count(r) == pytest.approx(n * (1.0 - f) / (1.0 + f), rel=0.15)


def test_the_scale_and_the_edge_are_part_of_the_uncertainty() -> None:
    p = boundary(ELLIPSE)
    exact = dict(fit_edge(p, (Family.ELLIPSE,)).sizes)[SizeName.LENGTH]
    doubted = dict(fit_edge(p, (Family.ELLIPSE,), doubt=Doubt(relative=0.003, pixel=0.1)).sizes)[SizeName.LENGTH]
    assert exact.standard < 1e-4
    assert doubted.standard == pytest.approx(np.hypot(0.003 * 120.0, 2.0 * 0.2 * 0.1), rel=1e-3)
    assert doubted.expanded == pytest.approx(1.96 * doubted.standard, rel=1e-3)


def test_a_measured_outline_follows_what_no_family_does() -> None:
    t = np.linspace(0.0, 2.0 * np.pi, 2500, endpoint=False)
    egg = np.column_stack((60.0 * np.cos(t), (35.0 + 4.0 * np.cos(t)) * np.sin(t)))
    spot = (np.array([62.0, 0.0]) + 0.3 * np.column_stack((np.cos(t[::60]), np.sin(t[::60]))), DARK)
    picture = scanned(drawn(SHEET, [(placed(egg, AT, 10.0), DARK), (placed(spot[0], AT, 10.0), DARK)]), SHEET)
    fit = _fitted(picture, Family.MEASURED)
    assert fit.family is Family.MEASURED
    outline = oval_outline(fit.oval)
    true = shapely.Polygon(egg)
    assert (fit.oval.length, fit.oval.width) == pytest.approx(
        (true.bounds[2] - true.bounds[0], true.bounds[3] - true.bounds[1]), abs=1.5 * PIXEL
    )
    assert outline.area == pytest.approx(true.area, rel=0.003)
    assert len(outline) < 80
    # Back in the picture, it lies on what was drawn.
    back = placed(outline.chords(0.01), fit.centre, float(np.degrees(fit.angle)))
    ring = shapely.LinearRing(placed(egg, AT, 10.0))
    assert shapely.distance(ring, shapely.points(back)).max() < 1.5 * PIXEL
    assert {name for name, _ in fit.sizes} == {SizeName.LENGTH, SizeName.WIDTH}


def test_a_measured_outline_traced_outside_is_moved_in() -> None:
    ring = shapely.Polygon(boundary(FOUR_ARC)).buffer(0.8, quad_segs=400).exterior
    p = shapely.get_coordinates(shapely.line_interpolate_point(ring, np.linspace(0.0, ring.length, 2000)[:-1]))
    fit = fit_edge(p, (Family.MEASURED,), outside=0.8)
    assert (fit.oval.length, fit.oval.width) == pytest.approx((120.0, 70.0), abs=0.05)
    assert np.abs(oval_outline(fit.oval).signed_distance(fit.points)).max() < 0.05


def test_two_scans_half_a_turn_apart_average_what_the_scanner_does_unevenly() -> None:
    def uneven(p: np.ndarray) -> np.ndarray:
        return np.column_stack((p[:, 0] + 4e-6 * p[:, 0] ** 2, p[:, 1]))

    first, second = (
        _fitted(scanned(drawn(SHEET, [(placed(boundary(OBROUND), at, turn), DARK)], uneven), SHEET, seed=seed))
        for at, turn, seed in ((AT, 2.0, 1), ((76.0, 53.0), 181.0, 2))
    )
    both = averaged(first, second)
    name, difference = both.differences[0]
    assert name is SizeName.LENGTH
    assert difference == pytest.approx(second.oval.length - first.oval.length)
    length = both.fit.oval.length
    assert length == pytest.approx((first.oval.length + second.oval.length) / 2.0, abs=0.1 * PIXEL)
    assert dict(both.fit.sizes)[SizeName.LENGTH].value == length
    assert dict(both.fit.sizes)[SizeName.LENGTH].standard >= abs(difference) / 2.0


def test_the_second_scan_is_turned_back_before_it_is_averaged() -> None:
    # A dent at one end: turned back, both edges have it at the same place and it stays where it was.
    curve = boundary(OBROUND)
    dented = curve[curve[:, 0] < 55.0]
    fits = [fit_edge(placed(dented, AT, turn), (Family.OBROUND,)) for turn in (88.0, 88.0 + 183.0)]
    assert np.sign(fits[0].angle) != np.sign(fits[1].angle)
    both = averaged(fits[0], fits[1])
    assert both.fit.points[:, 0].max() < 55.5
    assert both.fit.points[:, 0].min() < -59.5


def test_scans_of_two_parts_are_not_averaged() -> None:
    one, other = fit_edge(boundary(OBROUND)), fit_edge(boundary(ELLIPSE))
    with pytest.raises(ScanError, match="two families, obround and ellipse"):
        averaged(one, other)
    with pytest.raises(ScanError, match="not those of the same part"):
        averaged(one, fit_edge(1.1 * boundary(OBROUND)))


@pytest.mark.parametrize(
    ("points", "words"),
    [
        (boundary(OBROUND)[:20], "20 points are too few"),
        (np.column_stack((np.linspace(0.0, 90.0, 100), np.zeros(100))), "goes round no area"),
        (np.tile([[3.0, 4.0]], (100, 1)), "goes round no area"),
    ],
)
def test_edges_that_make_no_oval_are_refused(points: np.ndarray, words: str) -> None:
    with pytest.raises(ScanError, match=words):
        fit_edge(points)


def test_a_clockwise_edge_makes_the_same_oval() -> None:
    assert fit_edge(boundary(FOUR_ARC)[::-1]).oval.length == pytest.approx(120.0, abs=0.01)


def test_a_fit_can_be_called_off() -> None:
    def tick(part: float) -> None:
        if part > 0.1:
            raise Cancelled("by the test")

    picture = scanned(sampled(SHEET, OBROUND, AT, 0.0), SHEET)
    edge = Edge(SHEET.pixels(placed(boundary(OBROUND), AT)), is_dark_inside=True)
    with pytest.raises(Cancelled, match="by the test"):
        scan(picture, from_dpi(picture), edge, tick=tick)


def test_scans_that_differ_by_more_than_their_noise_are_averaged_all_the_same() -> None:
    # A scanner that drifts: the second edge is 0.6 % larger.
    curve = boundary(OBROUND)
    first, second = fit_edge(placed(curve, AT, 2.0)), fit_edge(placed(1.006 * curve, AT, 182.0))
    both = averaged(first, second)
    assert both.fit.oval.length == pytest.approx((first.oval.length + second.oval.length) / 2.0, abs=1e-9)
    assert both.fit.rms == pytest.approx(np.sqrt(np.mean(both.fit.off**2)))
    # Half of the difference lies on either side: 0.3 % of half the length at the ends.
    assert np.abs(both.fit.off).max() == pytest.approx(0.003 * first.oval.length / 2.0, rel=0.05)
