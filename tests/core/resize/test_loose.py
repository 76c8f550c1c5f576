"""Metal that is joined to nothing is a conflict; metal that hangs together is none."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from msgspec.structs import replace
from shapely.geometry import Polygon

from core.evaluate import evaluate
from core.features.badge import Badge
from core.features.band import Band
from core.features.crossbar import Crossbar
from core.features.rib import Rib
from core.files.project.demos import demo_names, load_demo
from core.metal.slabs import ResolvedPiece, resolve
from core.new.item import starting_insert
from core.new.part import two_piece
from core.resize.loose import _loose, loose_metal
from core.resize.resize import resize
from core.words.verdicts import Verdict
from tests.support.parts import projects
from tests.support.wild import wild_project

if TYPE_CHECKING:
    from core.features.registry import Feature
    from core.part.project import Project

_CHORD_MM = 1e-3
_LEAST_MM2 = 0.01  # chords can't tell less


def with_base_features(project: Project, *features: Feature) -> Project:
    return replace(project, housing=replace(project.housing, base=replace(project.housing.base, features=features)))


def test_a_stud_whose_crossbar_is_taken_away_stands_loose_in_the_opening() -> None:
    project = two_piece(starting_insert())
    assert evaluate(project).conflicts == ()
    rest = [f for f in project.housing.base.features if not isinstance(f, Crossbar)]
    result = evaluate(with_base_features(project, *rest))
    (conflict,) = result.conflicts
    assert (conflict.feature, conflict.place.path) == ("clamp stud", "housing.studs[0]")
    assert conflict.place.point == (0.0, 0.0)
    assert "stands loose in the base" in conflict.what.text
    assert result.overall is Verdict.NO_GO


@pytest.mark.parametrize(
    ("feature", "says"),
    [
        (Badge("badge", 30.0, 12.0, 2.0), "stands loose"),
        (Band("band", 40.0, 4.0, 2.0), "nothing is left of band"),
        (Rib("rib", 0.0, 0.0, 4.0, 2.0, 30.0), "nothing is left of rib"),
    ],
    ids=["badge", "band", "rib"],
)
def test_what_lies_over_the_opening_alone_is_named(feature: Feature, says: str) -> None:
    project = two_piece(starting_insert())
    bare = with_base_features(replace(project, housing=replace(project.housing, studs=())), feature)
    (conflict,) = evaluate(bare).conflicts
    assert conflict.feature == feature.name
    assert says in conflict.what.text


@pytest.mark.parametrize("name", demo_names())
def test_the_demos_hang_together(name: str) -> None:
    assert evaluate(load_demo(name)).conflicts == ()


def loose_by_shapely(piece: ResolvedPiece) -> int:
    """Faces of all slabs that no chain of overlaps joins to the greatest part."""
    layers: list[list[Polygon]] = []
    heights = []
    for slab in piece.slabs:
        metal = Polygon()
        for loop in sorted(slab.region.loops, key=lambda one: -abs(one.area)):
            ring = Polygon(loop.chords(_CHORD_MM))
            metal = metal.union(ring) if loop.area > 0.0 else metal.difference(ring)
        layers.append([p for p in getattr(metal, "geoms", [metal]) if p.area > _LEAST_MM2])
        heights.append(slab.z1 - slab.z0)
    group = {id(face): i for i, face in enumerate(f for layer in layers for f in layer)}
    for below, above in pairwise(layers):
        for one in below:
            for other in above:
                if one.intersection(other).area > _LEAST_MM2:
                    old, new = group[id(one)], group[id(other)]
                    group = {k: new if g == old else g for k, g in group.items()}
    volume: dict[int, float] = {}
    for layer, height in zip(layers, heights, strict=True):
        for face in layer:
            volume[group[id(face)]] = volume.get(group[id(face)], 0.0) + face.area * height
    main = max(volume, key=lambda g: volume[g])
    return sum(g != main for g in group.values())


@settings(max_examples=12, deadline=None)
@given(projects())
def test_shapely_finds_the_same_pieces_loose(project: Project) -> None:
    resolved = resolve(project.housing, project.old_insert)
    told = {c.place.end for c in loose_metal(resolved)}
    assert told == {piece.end for piece in resolved.pieces if loose_by_shapely(piece)}


@pytest.mark.parametrize("seed", [23, 39, 43, 55, 107])
def test_a_rib_on_the_plate_is_joined_to_it_whatever_else_is_joined(seed: int) -> None:
    project = wild_project(seed)
    resized = resize(project.housing, project.old_insert, project.new_insert, project.choices, project.limits)
    for piece in resolve(resized.housing, project.new_insert).pieces:
        assert len(_loose(piece.slabs)) == loose_by_shapely(piece)
