"""Reworked castings: the walls that stand, against polygons of fine chords and samples of the metal.

Second opinion: GEOS (by shapely) on chords within a micrometre knows nothing of how the walls were found.
"""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely
from msgspec.structs import replace
from shapely.geometry import Point, Polygon

from core.evaluate import evaluate
from core.files.project.demos import load_demo
from core.fit.gaps import STATIONS, gap_profiles
from core.metal.section.dimensions import Measure
from core.metal.slabs import resolve
from core.part.insert import PlusMinus
from core.part.project import Choices, Mode
from core.resize.changes import changes
from core.resize.resize import resize
from core.words.ends import End, Side
from tests.support.cuts import cut_of
from tests.support.wild import wild_project

if TYPE_CHECKING:
    from core.geometry.lines.outline import Outline
    from core.metal.slabs import Resolved, ResolvedPiece
    from core.part.project import Project

CHORD = 5e-4  # [mm] that a chord strays; distances and lengths are then right to that, gaps by length to a fraction


def polygon(outline: Outline) -> Polygon:
    return Polygon(outline.chords(CHORD))


def reworked(project: Project) -> tuple[Resolved, Resolved]:
    """The housing before and after."""
    before = resolve(project.housing, project.old_insert)
    resized = resize(project.housing, project.old_insert, project.new_insert, project.choices, project.limits)
    return before, resolve(resized.housing, project.new_insert)


def seats(piece: ResolvedPiece) -> list[tuple[Polygon, Polygon]]:
    """Outer and inner wall of each seat that was ever cut into the piece, as polygons."""
    c = piece.curves
    earlier = [part.outline for part in piece.parts if part.kind == "old seat"]
    both = [(c.seat_outer, c.seat_inner), *([(earlier[0], earlier[1])] if earlier else [])]
    return [(polygon(outer), polygon(inner)) for outer, inner in both]


def check_gaps(after: Resolved) -> None:
    """Developed and local gaps, against the union (inner: intersection) of the seats' polygons."""
    for profile in gap_profiles(after, after):
        piece = after.piece(profile.end)
        assert piece is not None
        cut = seats(piece)
        if profile.side is Side.OUTER:
            wall = shapely.union_all([outer for outer, _ in cut])
            longer = wall.length - piece.curves.rim_outer.length
        else:
            wall = shapely.intersection_all([inner for _, inner in cut])
            longer = piece.curves.rim_inner.length - wall.length
        # Where a hole or a pocket has cut the wall away, the gap is that to the next metal: see test_walls_gone.
        there = np.ones(len(profile.gap), dtype=np.bool_) if profile.there is None else profile.there
        if profile.there is None:
            assert profile.developed_mean == pytest.approx(longer / (2.0 * pi), abs=2e-3)
        points = shapely.points(profile.rim)
        away = shapely.distance(points, wall.exterior)
        clear = shapely.contains(wall, points) == (profile.side is Side.OUTER)
        np.testing.assert_allclose(profile.gap[there], np.where(clear, away, -away)[there], atol=1e-3)
        np.testing.assert_allclose(np.hypot(*(profile.wall - profile.rim).T)[there], away[there], atol=1e-3)


def check_metal_is_not_put_back(before: Resolved, after: Resolved, seed: int) -> None:
    """Wherever a casting had no metal, as deep as it had none, it has none after it was machined."""
    rng = np.random.default_rng(seed)
    for old in before.pieces:
        new = after.piece(old.end)
        assert new is not None
        x0, y0, x1, y1 = old.curves.outside.bounds
        points = rng.uniform((x0, y0), (x1, y1), (400, 2))
        for z in rng.uniform(0.0, old.thickness, 4):
            was, now = old.region_at(z), new.region_at(z)
            if now is None or was is None:
                continue
            grown = now.contains(points) & ~was.contains(points)
            near = shapely.distance(shapely.points(points), was.polygon(CHORD).boundary) < 1e-3
            assert not (grown & ~near).any()


def check_lip(before: Resolved, after: Resolved) -> None:
    """The lip is what is left of it between opening and the inner walls; it never grows, nor does the wall."""
    for new in after.pieces:
        own, was = after.housing.piece(new.end), before.housing.piece(new.end)
        assert own is not None
        assert was is not None
        if own.earlier_seat is None or was.earlier_seat is not None:
            continue
        left = shapely.intersection_all([inner for _, inner in seats(new)])
        opening = new.curves.opening
        if opening is not None:
            hole = polygon(opening)
            width = left.exterior.distance(hole.exterior) if left.contains(hole) else 0.0
            assert own.lip.width == pytest.approx(width, abs=1e-3)
            if was.opening is not None and was.opening.held is None:
                assert own.lip.width <= was.lip.width + 1e-6
        outside, cut = polygon(new.curves.outside), shapely.union_all([outer for outer, _ in seats(new)])
        wall = outside.exterior.distance(cut.exterior) if outside.contains(cut) else 0.0
        assert own.wall == pytest.approx(wall, abs=1e-3)


def is_machined_before(before: Resolved, end: End) -> bool:
    piece = before.housing.piece(end)
    return piece is not None and piece.earlier_seat is not None


def check(seed: int) -> None:
    project = wild_project(seed, reworked=True)
    before, after = reworked(project)
    check_gaps(after)
    check_lip(before, after)
    twice = [end for end in before.housing.ends if is_machined_before(before, end)]
    if not twice:
        check_metal_is_not_put_back(before, after, seed)
    elif before.housing != after.housing:
        found = {c.place.end for c in evaluate(project).conflicts if c.feature == "old seat"}
        assert found <= set(twice)
        assert all(end in found or before.housing.piece(end) == after.housing.piece(end) for end in twice)


@pytest.mark.parametrize("part", range(6))
def test_of_random_reworks_gaps_lip_and_wall_are_those_of_the_walls_that_stand(part: int) -> None:
    for seed in range(10 * part, 10 * part + 10):
        check(seed)


@pytest.mark.hard
@pytest.mark.parametrize("part", range(100))
def test_of_many_random_reworks_gaps_lip_and_wall_are_those_of_the_walls_that_stand(part: int) -> None:
    for seed in range(1000 + 20 * part, 1000 + 20 * part + 20):
        check(seed)


def with_rim_wider_by(by: float) -> Project:
    """Castings of demo 1, machined for an insert that differs in the width of its rims alone."""
    project = load_demo("compressor-intake")
    rim = replace(project.old_insert.rim, width=project.old_insert.rim.width + by)
    return replace(project, new_insert=replace(project.old_insert, rim=rim), choices=Choices(mode=Mode.REWORK))


def test_a_lip_does_not_grow_where_metal_can_not_be_put_back() -> None:
    project = with_rim_wider_by(-1.8)  # the new inner wall lies outward of the old one
    before, after = reworked(project)
    rows = [row for row in changes(before, after, project.choices) if row.feature in ("lip", "seat inner")]
    assert len(rows) == 6
    assert not any(row.is_change for row in rows)
    assert {row.why for row in rows if row.feature == "seat inner"} == {"metal can't be put back: the old wall stays"}
    for old, new in zip(before.pieces, after.pieces, strict=True):
        assert new.walls[1] == old.curves.seat_inner
    result = evaluate(project)
    shown = cut_of(result, (10.0, -200.0), (10.0, 200.0)).dimensions
    lips = [size.value for size in shown if size.measure is Measure.LIP]
    assert lips == pytest.approx([6.0] * len(lips), abs=1e-9)
    assert lips


def test_a_lip_gets_narrower_where_the_new_seat_takes_of_it() -> None:
    before, after = reworked(with_rim_wider_by(1.5))
    assert before.housing.lid is not None
    assert after.housing.lid is not None
    assert after.housing.lid.lip.width == pytest.approx(before.housing.lid.lip.width - 1.5, abs=1e-9)


def test_a_rim_that_the_deeper_cut_presses_at_its_foot_is_not_called_free() -> None:
    """The old seat is 2 mm wider than the new cut, but its floor lies 3 mm higher: at the floor the cut is alone."""
    project = load_demo("compressor-intake")
    old = project.old_insert
    smaller = replace(old, length=old.length - 4.0, width=old.width - 4.0, height=old.height + 3.0)
    smaller = replace(smaller, plus_minus=PlusMinus())
    project = replace(project, new_insert=smaller, choices=Choices(mode=Mode.REWORK, gap_outer=-0.4))
    result = evaluate(project)
    base = next(f for f in result.findings if f.check == "gap" and f.name.startswith("least") and "base" in f.name)
    assert base.value == pytest.approx(-0.4, abs=1e-9)
    profile = result.gap(base.place.end, Side.OUTER) if base.place.end else None
    assert profile is not None
    assert len(profile.gap) == STATIONS
    assert float(profile.gap.min()) == pytest.approx(2.0 + project.housing.base.seat.gap_outer, abs=1e-9)
    assert Point(*profile.rim[0]).distance(Point(*profile.wall[0])) == pytest.approx(float(profile.gap[0]), abs=1e-9)
