"""Open area over random wild projects, against GEOS (by shapely) on chords."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from shapely.geometry import Polygon

from core.metal.slabs import ResolvedPiece, resolve
from core.resize.resize import resize
from tests.support.wild import wild_project

if TYPE_CHECKING:
    from core.geometry.lines.outline import Outline
    from core.part.project import Project

CHORD = 1e-3


def polygon(outline: Outline) -> Polygon:
    return Polygon(outline.chords(CHORD)).buffer(0.0)


def seen_through(piece: ResolvedPiece) -> float:
    """The opening's polygon less every slab's, each by even and odd: no nesting of loops is relied upon [mm²]."""
    if piece.curves.opening is None:
        return 0.0
    left = polygon(piece.curves.opening)
    for slab in piece.slabs:
        metal = Polygon()
        for loop in slab.region.loops:
            metal = metal.symmetric_difference(polygon(loop))
        left = left.difference(metal)
    return float(left.area)


def check(project: Project) -> int:
    """How many openings there were."""
    resized = resize(project.housing, project.old_insert, project.new_insert, project.choices, project.limits)
    found = 0
    for resolved in (
        resolve(project.housing, project.old_insert),
        resolve(resized.housing, project.new_insert),
    ):
        for piece in resolved.pieces:
            opening = piece.curves.opening
            edges = 0.0 if opening is None else opening.length + sum(s.region.length for s in piece.slabs)
            assert piece.open_area == pytest.approx(seen_through(piece), abs=1e-4 + CHORD * edges)
            assert piece.open_area >= 0.0
            found += opening is not None
    return found


@pytest.mark.parametrize("part", range(6))
def test_open_area_of_random_projects_is_what_one_sees_through(part: int) -> None:
    assert sum(check(wild_project(seed)) for seed in range(10 * part, 10 * part + 10))


@pytest.mark.hard
@pytest.mark.parametrize("part", range(100))
def test_open_area_of_many_random_projects_is_what_one_sees_through(part: int) -> None:
    assert sum(check(wild_project(seed)) for seed in range(10_000 + 20 * part, 10_000 + 20 * part + 20))
