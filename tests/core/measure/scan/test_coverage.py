"""The interval that a scan states holds the truth: over drawn ovals that are stretched, shaded, off the plane, blurred.

What is drawn is known; the program is told no more than a user is. The spoiling is written down here once more, from
its own geometry, and drawn by Pillow.
"""

from __future__ import annotations

import numpy as np
import pytest
from msgspec import Struct
from msgspec.structs import replace

from core.geometry.ovals.ovals import SIZED_FAMILIES, Family
from core.measure.scan.picture.edges import find_edges
from core.measure.scan.picture.scale import RULE_MM, Rule, from_disc, from_dpi, from_rules
from core.measure.scan.results import Picture, ScanError, ScanFit
from core.measure.scan.sizes.allowances import NONE, START, Allowances
from core.measure.scan.sizes.fit import fit_edge, scan
from core.measure.scan.sizes.turned import averaged
from core.measure.scan.sizes.uncertainty import Doubt, estimate
from core.part.readings import SizeName
from tests.core.measure.scan.rendered import DARK, SHAPES, Shape, Sheet, boundary, drawn, placed, scanned

DPI = 100.0
REPORTED = 0.006  # the stretch along one axis that a scale by DPI has to hold


class Spoiled(Struct, frozen=True):
    """What is done to a part on its way into the picture."""

    stretch: float
    is_across: bool
    shadow: float
    way: float
    off_plane: float
    blur: float
    seed: int
    is_strip: bool = False

    @classmethod
    def drawn_by(cls, rng: np.random.Generator, limits: Allowances, *, worst: bool) -> Spoiled:
        """At random within the limits; ``worst`` all of them at their limit."""

        def upto(limit: float) -> float:
            return limit if worst else float(rng.uniform(0.0, limit))

        return cls(
            float(rng.choice((-1.0, 1.0))) * upto(REPORTED),
            bool(rng.random() < 0.5),
            upto(limits.shadow),
            float(rng.uniform(0.0, 2.0 * np.pi)),
            float(rng.choice((-1.0, 1.0))) * upto(limits.off_plane),
            float(rng.uniform(0.4, 1.2)),
            int(rng.integers(1 << 30)),
            bool(rng.random() < 0.5),
        )


def _seen(shape: Shape, at: tuple[float, float], degrees: float, by: Spoiled) -> list[tuple[np.ndarray, int]]:
    """The dark things that a part makes: itself, magnified by its height, and its shadow beside it."""
    curve = placed(boundary(shape), (0.0, 0.0), degrees)
    # Similar triangles through the lens: what lies h nearer to it is seen larger by lens / (lens - h).
    curve = curve * START.lens / (START.lens - by.off_plane)
    lamp = np.array([np.cos(by.way), np.sin(by.way)])
    things = [(curve, DARK)]
    if by.is_strip:  # as wide all along the side that faces away, as of a step
        edge = np.roll(curve, -1, axis=0) - np.roll(curve, 1, axis=0)
        normal = np.column_stack((edge[:, 1], -edge[:, 0])) / np.maximum(np.hypot(*edge.T), 1e-12)[:, None]
        things.append((curve + by.shadow * normal * (normal @ lamp > 0.7)[:, None], DARK))
    else:
        things += [(curve + by.shadow * part * lamp, DARK) for part in np.linspace(0.1, 1.0, 4)]
    return [(points + np.array(at), grey) for points, grey in things]


def _picture(things: list[tuple[np.ndarray, int]], by: Spoiled, width: float) -> Picture:
    sheet = Sheet(width=width, height=width, dpi=DPI)
    x, y = (1.0, 1.0 + by.stretch) if by.is_across else (1.0 + by.stretch, 1.0)
    stretched = [(points * np.array([x, y]), grey) for points, grey in things]
    return scanned(drawn(sheet, stretched), sheet, blur=by.blur, seed=by.seed)


def _covered(fit: ScanFit, shape: Shape) -> list[bool]:
    true = {SizeName.LENGTH: shape.length, SizeName.WIDTH: shape.width}
    own = SizeName.EXPONENT if shape.family is Family.SUPERELLIPSE else SizeName.END_RADIUS
    if shape.own and fit.family is shape.family:
        true[own] = shape.own
    return [abs(size.value - true[name]) <= size.expanded for name, size in fit.sizes if name in true]


def _shape(rng: np.random.Generator) -> Shape:
    shape = SHAPES[rng.integers(len(SHAPES))]
    k = rng.uniform(0.6, 1.1)
    own = shape.own if shape.family is Family.SUPERELLIPSE else k * shape.own
    return Shape(shape.family, k * shape.length, k * shape.width, own)


LARGE = Allowances(shadow=1.0, off_plane=4.0, lens=START.lens, pencil=0.0)
DISC = Shape(Family.CIRCLE, 40.0, 40.0)


def _scanned(rng: np.random.Generator, limits: Allowances, scale_by: str, *, worst: bool) -> list[bool]:
    """One part drawn, scanned and fitted: which of its sizes lie inside their intervals."""
    shape = _shape(rng)
    by = Spoiled.drawn_by(rng, limits, worst=worst)
    things = _seen(shape, (85.0, 110.0), float(rng.uniform(0.0, 180.0)), by)
    if scale_by == "disc":  # it lies in the plane itself, under the same lamp
        things += _seen(DISC, (160.0, 28.0), 0.0, replace(by, off_plane=0.0))
    picture = _picture(things, by, 190.0)
    edges = find_edges(picture)
    scale = from_disc(edges[1], DISC.length) if scale_by == "disc" else from_dpi(picture)
    if scale_by == "rules":
        scale = from_rules([_rule(rng, by, ends) for ends in (((5.0, 5.0), (155.0, 5.0)), ((5.0, 5.0), (5.0, 155.0)))])
    families = (shape.family,) if rng.random() < 0.7 else SIZED_FAMILIES
    return _covered(scan(picture, scale, edges[0], families, allowances=limits), shape)


def _rule(rng: np.random.Generator, by: Spoiled, ends: tuple[tuple[float, float], tuple[float, float]]) -> Rule:
    """Two lines of a rule, picked within half a pixel; the rule itself is off by what rules are."""
    x, y = (1.0, 1.0 + by.stretch) if by.is_across else (1.0 + by.stretch, 1.0)
    p, q = (np.array(end) * np.array([x, y]) * DPI / 25.4 + rng.uniform(-0.5, 0.5, 2) for end in ends)
    return Rule((p[0], p[1]), (q[0], q[1]), float(np.hypot(*np.subtract(*ends)) + rng.normal(0.0, RULE_MM)))


@pytest.mark.parametrize("worst", [False, True], ids=["within", "at the limit"])
@pytest.mark.parametrize("limits", [START, LARGE], ids=["start", "large"])
@pytest.mark.parametrize("scale_by", ["dpi", "rules", "disc"])
def test_the_stated_interval_holds_the_truth_of_spoiled_scans(
    scale_by: str, limits: Allowances, *, worst: bool
) -> None:
    rng = np.random.default_rng(2026)
    inside = [hit for _ in range(4) for hit in _scanned(rng, limits, scale_by, worst=worst)]
    assert np.mean(inside) >= 0.95


@pytest.mark.hard
@pytest.mark.parametrize("worst", [False, True], ids=["within", "at the limit"])
@pytest.mark.parametrize("limits", [START, LARGE], ids=["start", "large"])
@pytest.mark.parametrize("scale_by", ["dpi", "rules", "disc"])
def test_the_stated_interval_holds_the_truth_of_many_spoiled_scans(
    scale_by: str, limits: Allowances, *, worst: bool
) -> None:
    rng = np.random.default_rng(7)
    inside = [hit for _ in range(170) for hit in _scanned(rng, limits, scale_by, worst=worst)]
    assert np.mean(inside) >= 0.95


def test_without_the_allowances_the_truth_would_be_missed() -> None:
    rng = np.random.default_rng(3)
    inside: list[bool] = []
    for _ in range(8):
        shape = _shape(rng)
        by = replace(Spoiled.drawn_by(rng, LARGE, worst=True), stretch=0.0)
        picture = _picture(_seen(shape, (80.0, 80.0), 30.0, by), by, 160.0)
        scale = replace(from_dpi(picture), relative=0.0005)  # as of good rules
        edge = find_edges(picture)[0]
        inside += _covered(scan(picture, scale, edge, (shape.family,)), shape)
    assert np.mean(inside) < 0.6


@pytest.mark.parametrize("is_across", [False, True])
@pytest.mark.parametrize("stretch", [-REPORTED, REPORTED])
def test_a_scale_by_dpi_alone_holds_the_reported_stretch_with_room(stretch: float, *, is_across: bool) -> None:
    shape = Shape(Family.OBROUND, 140.0, 80.0)
    by = Spoiled(stretch, is_across, 0.0, 0.0, 0.0, 0.8, 1)
    picture = _picture(_seen(shape, (80.0, 80.0), 0.0, by), by, 160.0)
    fit = scan(picture, from_dpi(picture), find_edges(picture)[0], (shape.family,))
    for (_, size), true in zip(fit.sizes, (shape.length, shape.width), strict=True):
        assert abs(size.value - true) < 0.85 * size.expanded


def test_two_scans_half_a_turn_apart_hold_the_truth_as_well() -> None:
    rng = np.random.default_rng(5)
    inside: list[bool] = []
    for _ in range(5):
        shape, by, turn = _shape(rng), Spoiled.drawn_by(rng, START, worst=True), float(rng.uniform(0.0, 180.0))
        fits = []
        for degrees in (turn, turn + 180.0):
            picture = _picture(_seen(shape, (80.0, 80.0), degrees, by), by, 160.0)
            edge = find_edges(picture)[0]
            fits.append(scan(picture, from_dpi(picture), edge, (shape.family,), allowances=START))
        inside += _covered(averaged(*fits).fit, shape)
    assert np.mean(inside) >= 0.95


@pytest.mark.parametrize("shape", [s for s in SHAPES if s.family is not Family.CIRCLE], ids=lambda s: s.family.value)
def test_a_limit_moves_each_size_as_far_as_a_fit_to_the_moved_edge_says(shape: Shape) -> None:
    # Brute force: the edge is moved, fitted anew, and the sizes are compared.
    curve, plain = placed(boundary(shape), (0.0, 0.0), 25.0)[::4], Doubt(pixel=0.15)
    clean = dict(fit_edge(curve, (shape.family,), doubt=plain).sizes)

    def limited(allowed: Allowances) -> dict[SizeName, float]:
        sizes = fit_edge(curve, (shape.family,), doubt=replace(plain, allowances=allowed)).sizes
        return {name: size.expanded - clean[name].expanded for name, size in sizes}

    parallax = limited(Allowances(shadow=0.0, off_plane=1.0, lens=201.0, pencil=0.0))  # 1 part in 200
    for stretch in ((1.005, 1.005), (1.005, 1.0), (1.0, 1.005)):
        for name, size in fit_edge(curve * np.array(stretch), (shape.family,), doubt=plain).sizes:
            assert abs(size.value - clean[name].value) <= 1.02 * parallax[name] + 0.005, name
    pencil = limited(replace(NONE, pencil=0.5))
    for name in (SizeName.LENGTH, SizeName.WIDTH):
        assert parallax[name] == pytest.approx(0.005 * clean[name].value, rel=0.02)
        assert pencil[name] == pytest.approx(1.0, rel=0.05)  # half a millimetre at both ends


def test_limits_add_up_beside_the_spread() -> None:
    # JCGM 100:2008, F.2.4.5 and 4.3.7: bounds are added to k u; as a standard uncertainty a bound a is a / √3.
    size = estimate(100.0, 0.0, 1.0, 0.1, (0.3, 0.2))
    assert size.expanded == pytest.approx(1.959964 * 0.1 + 0.5)
    assert size.standard == pytest.approx(np.sqrt(0.01 + (0.09 + 0.04) / 3.0))


def test_an_edge_can_not_be_as_far_off_the_plane_as_the_lens() -> None:
    with pytest.raises(ScanError, match="as far off the plane as the lens"):
        _ = Allowances(0.0, 300.0, 300.0, 0.0).parallax
