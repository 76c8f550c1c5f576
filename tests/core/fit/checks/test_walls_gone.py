"""Walls that are cut away: the named examples in closed form, wild projects by GEOS just behind each wall."""

from __future__ import annotations

from math import asin, pi
from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely
from msgspec.structs import replace

from core.evaluate import evaluate
from core.features.ground import Made
from core.features.hole import Hole
from core.features.kind import Follows
from core.features.pocket import Pocket
from core.fit.gaps import STATIONS, gap_profiles
from core.metal.slabs import resolve
from core.part.housing import Lip
from core.resize.resize import resize
from core.words.ends import Side
from core.words.verdicts import Verdict
from tests.core.metal.test_clearance import round_project, through_the_lip
from tests.support.remedied import done, tried
from tests.support.wild import wild_project

if TYPE_CHECKING:
    from core.metal.slabs import Resolved, ResolvedPiece
    from core.part.project import Project
    from core.words.verdicts import Finding

CHORD_MM = 5e-4


def gap_findings(project: Project) -> list[Finding]:
    return [f for f in evaluate(project).findings if f.check == "gap" and "inner wall" in f.name]


@pytest.mark.parametrize("left", [0.5, 0.1])
def test_a_thin_lip_still_has_a_gap(left: float) -> None:
    assert {f.verdict for f in gap_findings(through_the_lip(left))} == {Verdict.GO}


@pytest.mark.parametrize("left", [0.0, -0.5, -3.0])
def test_of_a_lip_that_a_pocket_has_taken_no_gap_is_go(left: float) -> None:
    found = gap_findings(through_the_lip(left))
    assert {f.verdict for f in found} == {Verdict.NO_GO}
    (gone,) = [f for f in found if f.name.startswith("wall that is gone")]
    assert "gone all round, cut away by relief" in gone.advice.text


def test_where_a_hole_opens_into_the_seat_the_wall_is_gone_as_wide_as_the_hole_cuts_it() -> None:
    wall, radius, at = 50.8, 3.0, 52.0
    result = evaluate(round_project(Hole("drain", at, 0.0, 2.0 * radius, Made.DRILLED), wall=12.0))
    outer = next(g for g in result.gaps if g.side is Side.OUTER)
    assert outer.there is not None
    # Both circles cross where the wall's own angle is acos((R² + d² − r²) / 2 R d).
    half = np.arccos((wall**2 + at**2 - radius**2) / (2.0 * wall * at))
    assert (~outer.there).sum() == pytest.approx(half / pi * STATIONS, abs=2.0)
    assert asin(radius / at) > half  # it is the wall that counts, not the hole's own width
    gone = outer.gap[~outer.there]
    assert gone.max() < 55.0 - 50.0 + 0.01  # the far side of the hole
    assert outer.gap[outer.there].max() == pytest.approx(0.8)


def test_half_a_wall_in_height_is_a_wall() -> None:
    """A pocket whose floor lies higher than the seat's leaves the foot of the lip."""
    project = round_project(Pocket("relief", 6.0, 9.0, Follows.MACHINE))
    rim = replace(project.new_insert.rim, width=17.0)
    project = replace(project, new_insert=replace(project.new_insert, rim=rim))
    assert all(profile.there is None for profile in evaluate(project).gaps)


def test_without_a_lip_no_inner_wall_is_missing() -> None:
    project = round_project()
    base = replace(project.housing.base, lip=Lip(6.0, 0.0))
    result = evaluate(replace(project, housing=replace(project.housing, base=base)))
    assert all(profile.there is None for profile in result.gaps)


@pytest.mark.parametrize(("left", "lip"), [(0.5, 0.5), (0.0, 0.0), (-0.5, 0.0)])
def test_the_changes_tell_the_lip_that_is_left_and_how_far_the_pocket_is_past_it(left: float, lip: float) -> None:
    rows = {(c.feature, c.quantity): c for c in evaluate(through_the_lip(left)).changes}
    row = rows["lip", "size"]
    assert row.was == pytest.approx(6.0)
    assert row.now == pytest.approx(lip, abs=1e-9)
    assert row.why == "what the pocket leaves of it"
    inset = rows["relief", "inset"]
    assert inset.was == pytest.approx(6.0)
    assert inset.now == pytest.approx(left, abs=1e-9)


def test_what_brings_a_lip_back_is_said() -> None:
    project = through_the_lip(-0.5)
    gone = tried(project, "wall that is gone, base's inner wall")
    assert "let relief follow the seat" in {remedy.text for remedy in gone.remedies}
    for remedy in gone.remedies:
        assert all(profile.there is None for profile in evaluate(done(project, remedy)).gaps)


def resized(project: Project) -> Resolved:
    new = resize(project.housing, project.old_insert, project.new_insert, project.choices, project.limits)
    return resolve(new.housing, project.new_insert)


def behind(piece: ResolvedPiece, side: Side, by: float) -> tuple[np.ndarray, bool]:
    """Whether metal lies ``by`` behind each of many places of a wall, and whether there is to be a wall at all."""
    wall = piece.walls[0 if side is Side.OUTER else 1]
    parts = [p for p in piece.parts if p.kind in ("seat", "old seat") and p.is_inner == (side is Side.INNER)]
    spans = [(p.z0, p.z1) for p in parts if p.z1 > p.z0]
    stations = wall.length * np.arange(STATIONS) / STATIONS
    at = wall.points_at(stations) + wall.normals_at(stations) * (by if side is Side.OUTER else -by)
    found = np.zeros(STATIONS, dtype=np.bool_)
    for slab in piece.slabs:
        if any(slab.z0 < z1 and slab.z1 > z0 for z0, z1 in spans) and not slab.region.is_empty:
            found |= shapely.contains_xy(slab.region.polygon(CHORD_MM), at)
    return found, bool(spans)


def check_against_geos(seed: int) -> None:
    after = resized(wild_project(seed))
    for profile in gap_profiles(after, after):
        piece = after.piece(profile.end)
        assert piece is not None
        near, is_wanted = behind(piece, profile.side, 2e-3)
        if not is_wanted:
            assert profile.there is None
            continue
        part = 1.0 if profile.there is None else float(profile.there.mean())
        # Stations of the rim are not those of its wall: where they are longer on one side, parts differ a little.
        assert part == pytest.approx(float(near.mean()), abs=0.02 + 0.15 * min(part, 1.0 - part)), (seed, profile.side)


@pytest.mark.parametrize("block", range(6))
def test_over_wild_projects_geos_finds_metal_behind_as_much_of_each_wall(block: int) -> None:
    for seed in range(10 * block, 10 * block + 10):
        check_against_geos(seed)


@pytest.mark.hard
@pytest.mark.parametrize("block", range(100))
def test_over_many_wild_projects_geos_finds_metal_behind_as_much_of_each_wall(block: int) -> None:
    for seed in range(1000 + 20 * block, 1020 + 20 * block):
        check_against_geos(seed)
