"""The slabs are the metal: checked against GEOS on fine chords and against volumes worked by hand."""

from __future__ import annotations

from math import pi

import pytest
import shapely
from msgspec.structs import replace

from core.features.badge import Badge
from core.features.crossbar import Crossbar
from core.features.ground import Made
from core.features.hole import Hole
from core.features.pocket import Pocket
from core.files.project.demos import load_demo
from core.geometry.ovals.ovals import Family
from core.metal.slabs import ResolvedPiece, resolve
from core.new.part import ALUMINIUM
from core.part.housing import Housing, Lip, Opening, Piece, Seat
from core.part.insert import Insert, Rim

CHORD = 1e-4
ROUND = Insert("round", Family.CIRCLE, 100.0, 100.0, Rim(10.0, 8.0), 40.0)
# Seat 51..39 mm, outside 56, lip to 34: round numbers that can be added by hand.
PLAIN = Piece(floor=5.0, seat=Seat(1.0, 1.0, 10.0), wall=5.0, lip=Lip(5.0, 4.0))


def metal(piece: Piece, insert: Insert = ROUND) -> ResolvedPiece:
    return resolve(Housing(piece, ALUMINIUM), insert).base


def test_a_round_piece_has_the_volume_of_its_rings() -> None:
    """Disc of 56 mm to the floor, wall ring 56/51 above it, the lip's disc of 39 mm for 4 mm (elementary)."""
    by_hand = pi * (56.0**2 * 5.0 + (56.0**2 - 51.0**2) * 10.0 + 39.0**2 * 4.0)
    assert metal(PLAIN).volume == pytest.approx(by_hand, rel=1e-12)


def test_an_opening_with_a_bar_leaves_the_bar() -> None:
    bar = Crossbar("bar", 0.0, 0.0, 8.0, 6.0)
    open_piece = metal(replace(PLAIN, opening=Opening()))
    barred = metal(replace(PLAIN, opening=Opening(), features=(bar,)))
    # A strip of 8 mm through a circle of 34 mm, by integration of the chord (elementary).
    y, r = 4.0, 34.0
    from math import asin, sqrt

    strip = 2.0 * (y * sqrt(r * r - y * y) + r * r * asin(y / r))
    assert barred.volume - open_piece.volume == pytest.approx(strip * 6.0, rel=1e-9)


def test_a_pocket_takes_what_lies_inside_its_inset() -> None:
    pocketed = metal(replace(PLAIN, features=(Pocket("relief", 5.0, 2.0),)))
    assert metal(PLAIN).volume - pocketed.volume == pytest.approx(pi * 34.0**2 * (9.0 - 2.0), rel=1e-12)


def test_a_boss_stands_in_a_pocket_and_its_hole_goes_through() -> None:
    hole = Hole("throat", 3.0, -2.0, 10.0, Made.CORED, boss=18.0, boss_height=7.0)
    pocketed = metal(replace(PLAIN, features=(Pocket("relief", 5.0, 2.0),)))
    bossed = metal(replace(PLAIN, features=(Pocket("relief", 5.0, 2.0), hole)))
    assert bossed.volume - pocketed.volume == pytest.approx(pi * 9.0**2 * 5.0 - pi * 5.0**2 * 7.0, rel=1e-9)


def test_a_badge_is_raised_over_the_opening_as_thick_as_its_bars() -> None:
    features = (Crossbar("bar", 90.0, 0.0, 6.0, 7.0), Badge("badge", 20.0, 20.0, 1.5))
    piece = metal(replace(PLAIN, opening=Opening(), features=features))
    assert piece.top == -1.5
    assert piece.slabs[0].region.area == pytest.approx(pi * 10.0**2)
    over = piece.region_at(6.9)
    assert over is not None
    assert over.contains([[0.0, 9.0], [9.0, 0.0]]).all()


def test_slabs_follow_each_other_without_gaps() -> None:
    for name in ("compressor-intake", "lens-ring"):
        project = load_demo(name)
        for piece in resolve(project.housing, project.old_insert).pieces:
            for below, above in zip(piece.slabs, piece.slabs[1:], strict=False):
                assert below.z1 == above.z0
            assert piece.slabs[-1].z1 == piece.thickness


def test_every_slab_of_the_demos_against_geos() -> None:
    """GEOS unions and differences of the same outlines on chords of 0.1 µm, in the order of the shop."""
    project = load_demo("compressor-intake")
    lid = resolve(project.housing, project.old_insert).lid
    assert lid is not None

    def polygon(name: str, kind: str) -> shapely.Geometry:
        parts = [shapely.Polygon(p.outline.chords(CHORD)) for p in lid.parts if p.name == name and p.kind == kind]
        return shapely.union_all(parts)

    names = [f.name for f in project.housing.lid.features] if project.housing.lid else []
    body = shapely.union_all([polygon("outside", "outside"), polygon("lifting lug", "lug")])
    opening = polygon("opening", "opening")
    bars = shapely.union_all([polygon(n, "crossbar") for n in names]).intersection(opening)
    studs = shapely.union_all([polygon(s.name, "boss") for s in project.housing.studs])
    holes = shapely.union_all([polygon(n, "hole") for n in [*names, *(s.name for s in project.housing.studs)]])
    metal_ = shapely.union_all([body.difference(opening), bars, polygon("badge", "badge"), studs]).difference(holes)
    region = lid.region_at(3.0)
    assert region is not None
    assert metal_.area == pytest.approx(region.area, abs=CHORD * region.length)
    assert metal_.symmetric_difference(region.polygon(CHORD)).area < 2.0 * CHORD * region.length


def test_a_bar_without_an_opening_is_reported_not_dropped() -> None:
    piece = metal(replace(PLAIN, features=(Crossbar("bar", 0.0, 0.0, 8.0, 6.0),)))
    assert [t.feature for t in piece.troubles] == ["bar"]
    assert "no opening to cross" in piece.troubles[0].what.text


def test_a_bar_that_misses_the_opening_is_reported() -> None:
    bar = Crossbar("bar", 0.0, 33.0, 8.0, 6.0)
    piece = metal(replace(PLAIN, opening=Opening(), features=(bar,)))
    assert "no longer reaches across the opening" in piece.troubles[0].what.text


def test_a_lip_too_wide_for_its_oval_is_reported_with_the_limit() -> None:
    piece = metal(replace(PLAIN, opening=Opening(), lip=Lip(60.0, 4.0)))
    assert piece.curves.opening is None
    assert piece.troubles[0].what.show(lambda mm: f"{mm:.1f}").endswith("the tightest radius is 39.0")
