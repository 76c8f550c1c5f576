"""What the list says of an outline, found again by drilling straight down beside it through polygons of the slabs."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from msgspec.structs import replace
from shapely import Polygon, points, unary_union
from shapely.prepared import prep

from core.evaluate import evaluate
from core.features.ground import Made
from core.features.hole import Hole
from core.files.outlines.contents import FileKind, as_planned, contents
from core.files.outlines.instructions import Face, instructions
from core.files.project.demos import load_demo
from core.geometry.lines.outline import as_circle
from tests.support.wild import wild_project

if TYPE_CHECKING:
    from core.files.outlines.rings import Ring
    from core.metal.slabs import ResolvedPiece, Slab

CHORD_MM = 0.002
ASIDE_MM = 0.05
SEEDS = 12


def _polygon(slab: Slab) -> object:
    loops = [Polygon(loop.chords(CHORD_MM)).buffer(0) for loop in slab.region.loops]
    outer = unary_union([p for p, loop in zip(loops, slab.region.loops, strict=True) if loop.area > 0.0])
    return outer.difference(
        unary_union([p for p, loop in zip(loops, slab.region.loops, strict=True) if loop.area < 0.0])
    )


def _open_faces(ring: Ring, slabs: tuple[Slab, ...]) -> tuple[float, float]:
    """The part of an outline beside which nothing lies above it, and the part where nothing lies below it."""
    stations = ring.outline.length * (np.arange(40) + 0.5) / 40
    beside = ring.outline.points_at(stations) + ASIDE_MM * ring.outline.normals_at(stations)
    free = []
    for some in ([s for s in slabs if s.z0 >= ring.z0 - 1e-9], [s for s in slabs if s.z1 <= ring.z1 + 1e-9]):
        metal = prep(unary_union([_polygon(slab) for slab in some])) if some else None
        free.append(float(np.mean([metal is None or not metal.contains(p) for p in points(beside)])))
    return free[0], free[1]


def _check(seed: int) -> int:
    result = evaluate(wild_project(seed))
    told = 0
    for file in contents(result):
        piece = result.after.piece(file.end)
        assert piece is not None
        slabs = piece.slabs if file.kind is FileKind.REWORK else piece.as_cast
        planned = [*map(as_planned, file.rings)]
        for ring, one in zip(planned, instructions(planned, piece, file.kind), strict=True):
            assert one.is_cut is (file.kind is not FileKind.DRILLING)
            if file.kind is FileKind.DRILLING:
                continue
            joint, outer = _open_faces(ring, slabs)
            told += 1
            if one.face in (Face.JOINT, Face.EITHER):
                assert joint > 0.8
            if one.face in (Face.OUTER, Face.EITHER):
                assert outer > 0.8
            if one.face is Face.NEITHER:
                assert min(joint, outer) < 1.0
            _depth_reaches(ring, piece, one.face, one.depth_mm)
    return told


def _depth_reaches(ring: Ring, piece: ResolvedPiece, face: Face, depth: tuple[float, float]) -> None:
    """From the face, the depths lead to the heights that the outline bounds metal at."""
    origin, way = (piece.top, 1.0) if face is Face.OUTER else (piece.thickness, -1.0)
    heights = sorted(origin + way * mm for mm in depth)
    assert heights == pytest.approx([ring.z0, ring.z1], abs=1e-9)
    assert depth[0] >= -1e-9


def test_what_is_cut_from_a_face_can_be_reached_from_it() -> None:
    assert sum(_check(seed) for seed in range(SEEDS)) > 10 * SEEDS


@pytest.mark.hard
def test_what_is_cut_from_a_face_can_be_reached_from_it_in_many_projects() -> None:
    assert sum(_check(seed) for seed in range(SEEDS, 1000)) > 0


def test_no_file_but_that_of_the_drill_has_a_drilled_hole_and_that_one_has_them_all() -> None:
    drilled = 0
    for seed in range(SEEDS):
        result = evaluate(wild_project(seed))
        if result.project.choices.mode != "new_pattern":
            continue
        for end in result.after.housing.ends:
            piece = result.after.piece(end)
            assert piece is not None
            holes = [part for part in piece.parts if part.made is Made.DRILLED]
            mine = [file for file in contents(result) if file.end is end]
            assert {len(f.rings) for f in mine if f.kind is FileKind.DRILLING} == ({len(holes)} if holes else set())
            metal = [ring for f in mine if f.kind is FileKind.PATTERN for ring in f.rings]
            # The middle of a drilled hole lies in metal in the pattern, or in what another feature takes away.
            assert not any("drilled" in ring.kind for ring in metal)
            drilled += len(holes)
    assert drilled > SEEDS


def test_the_lid_is_drawn_with_its_joint_face_up() -> None:
    project = load_demo("compressor-intake")
    assert project.housing.lid is not None
    # A hole off both axes: seen from the base's joint side at the upper right, so from the lid's at the lower right.
    hole = Hole("sensor", 30.0, 20.0, 5.0, Made.DRILLED)
    lid = replace(project.housing.lid, features=(*project.housing.lid.features, hole))
    result = evaluate(replace(project, housing=replace(project.housing, lid=lid)))
    (ring,) = (r for file in contents(result) for r in file.rings if r.feature == "sensor")
    for outline, y in ((ring.outline, -20.0), (as_planned(ring).outline, 20.0)):
        circle = as_circle(outline)
        assert circle is not None
        assert (*circle[0], circle[1]) == pytest.approx((30.0, y, 2.5))
