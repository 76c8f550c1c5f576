"""The true cut: intervals, assembled heights, squeeze, and the sizes that can be measured in it."""

from __future__ import annotations

from math import cos, hypot, pi, sin
from typing import TYPE_CHECKING

import pytest
import shapely
from msgspec.structs import replace

from core.edits import set_text
from core.evaluate import Result, evaluate
from core.files.project.demos import load_demo
from core.metal.section.dimensions import Cell, Measure, PieceCut, SectionDimension
from core.part.housing import Lip
from core.part.materials import Material
from core.part.project import HeightTo
from core.words.ends import End
from tests.support.cuts import cut_of

if TYPE_CHECKING:
    from core.metal.section.section import Section

_AXIS = ((-300.0, 0.0), (300.0, 0.0))
_ACROSS = ((0.0, -200.0), (0.0, 200.0))


@pytest.fixture(scope="module")
def result() -> Result:
    """Base, lid, spacer, pockets, bars, studs and a yielding insert."""
    return evaluate(load_demo("compressor-intake"))


@pytest.fixture(scope="module")
def ring() -> Result:
    """One piece, no lid."""
    return evaluate(load_demo("lens-ring"))


def _of(cut: Section, measure: Measure, end: End | None = None) -> list[SectionDimension]:
    return [d for d in cut.dimensions if d.measure is measure and d.end is end]


def _area(cells: tuple[Cell, ...]) -> float:
    return sum((c.s1 - c.s0) * (c.h1 - c.h0) for c in cells)


@pytest.mark.parametrize("degrees", [0.0, 17.0, 90.0, 143.0])
@pytest.mark.parametrize("off", [0.0, 21.5])
def test_the_metal_is_that_of_shapely_on_fine_chords(result: Result, degrees: float, off: float) -> None:
    c, s = cos(degrees * pi / 180), sin(degrees * pi / 180)
    start, stop = (-300 * c - off * s, -300 * s + off * c), (300 * c - off * s, 300 * s + off * c)
    cut = cut_of(result, start, stop)
    line = shapely.LineString([start, stop])
    for piece, shown in zip(result.after.pieces, cut.pieces, strict=True):
        expected = sum(
            (slab.z1 - slab.z0) * slab.region.polygon(1e-4).intersection(line).length for slab in piece.slabs
        )
        assert expected > 0.0
        assert _area(shown.cells) == pytest.approx(expected, abs=0.5)
        for slab in piece.slabs:
            h = [0.0, 0.0]
            for i, z in enumerate((slab.z0, slab.z1)):
                h[i] = z if piece.end is End.BASE else (cut.stack.lid_face or 0.0) - z
            spans = [cell for cell in shown.cells if (cell.h0, cell.h1) == pytest.approx(sorted(h))]
            parts = shapely.get_parts(slab.region.polygon(1e-4).intersection(line))
            assert sum(cell.s1 - cell.s0 for cell in spans) == pytest.approx(sum(p.length for p in parts), abs=0.02)


@pytest.mark.parametrize("line", [_AXIS, _ACROSS, ((-120.0, -90.0), (130.0, 70.0))])
def test_the_edges_are_the_outline_of_the_cells(
    result: Result, line: tuple[tuple[float, float], tuple[float, float]]
) -> None:
    for piece in cut_of(result, *line).pieces:
        union = shapely.union_all([shapely.box(c.s0, c.h0, c.s1, c.h1) for c in piece.cells])
        drawn = sum(hypot(b[0] - a[0], b[1] - a[1]) for a, b in piece.edges)
        assert drawn == pytest.approx(union.length, abs=1e-5)
        assert union.area == pytest.approx(_area(piece.cells), abs=1e-6)  # no two cells overlap


def test_base_faces_and_lid_add_up(result: Result) -> None:
    cut, housing = cut_of(result, *_AXIS), result.after.housing
    assert housing.lid is not None
    base, lid = result.after.pieces
    assert cut.stack.lid_face == pytest.approx(housing.base.thickness + housing.faces.distance + housing.lid.thickness)
    heights = [[h for c in piece.cells for h in (c.h0, c.h1)] for piece in cut.pieces]
    assert (min(heights[0]), max(heights[0])) == pytest.approx((base.top, base.thickness))
    assert min(heights[1]) == pytest.approx(base.thickness + housing.faces.distance)
    assert max(heights[1]) == pytest.approx((cut.stack.lid_face or 0.0) - lid.top)


def test_the_heights_in_the_cut_are_the_housings_own(result: Result) -> None:
    cut = cut_of(result, *_AXIS)
    for end in End:
        piece = result.after.housing.piece(end)
        assert piece is not None
        (floor,), (depth,) = _of(cut, Measure.FLOOR, end), _of(cut, Measure.DEPTH, end)
        assert (floor.value, depth.value) == (piece.floor, piece.seat.depth)
        for d in (floor, depth):
            assert d.b[1] - d.a[1] == pytest.approx(d.value)
    (faces,) = _of(cut, Measure.FACES)
    assert faces.b[1] - faces.a[1] == pytest.approx(faces.value)
    assert faces.value == result.after.housing.faces.distance


def test_the_squeeze_is_that_of_the_finding(result: Result) -> None:
    cut = cut_of(result, *_AXIS)
    finding = next(f for f in result.findings if f.name == "squeeze")
    assert cut.stack.squeeze == pytest.approx(dict(finding.formula.lengths)["squeeze"])
    insert = result.after.insert
    soft = insert.rim_at(End.BASE).thickness + insert.rim_at(End.LID).thickness
    assert 100.0 * cut.stack.squeeze / soft == pytest.approx(finding.value)
    (d,) = _of(cut, Measure.SQUEEZE)
    assert d.value == pytest.approx(d.b[1] - d.a[1]) == pytest.approx(cut.stack.squeeze)


def test_the_rims_give_way_by_the_squeeze_and_the_body_does_not(result: Result) -> None:
    cut, insert = cut_of(result, *_AXIS), result.after.insert
    base, lid = cut.rims
    given = [free.h1 - free.h0 - (c.h1 - c.h0) for rim in cut.rims for c, free in zip(rim.cells, rim.free, strict=True)]
    assert sum(given) / len(base.cells) == pytest.approx(cut.stack.squeeze)
    assert base.cells[0].h0 == pytest.approx(cut.stack.base_floor)
    assert lid.cells[0].h1 == pytest.approx(cut.stack.lid_floor)
    body = insert.height - insert.rim_at(End.BASE).thickness - insert.rim_at(End.LID).thickness
    assert all(c.h1 - c.h0 == pytest.approx(body) for c in cut.body)
    assert lid.free[0].h1 - base.free[0].h0 == pytest.approx(insert.height)


def test_an_insert_that_does_not_reach_keeps_its_height_and_shows_the_play(result: Result) -> None:
    project = replace(result.project, new_insert=replace(result.project.new_insert, height=53.0))
    project = replace(project, choices=replace(project.choices, height_to=HeightTo.SQUEEZE))
    low = evaluate(project)
    cut = cut_of(low, *_AXIS)
    assert cut.stack.squeeze < 0.0
    assert cut.rims[1].cells[0].h1 == pytest.approx(cut.stack.base_floor + 53.0)
    assert _of(cut, Measure.SQUEEZE)[0].value == pytest.approx(cut.stack.squeeze)


def test_a_rigid_insert_is_never_drawn_squeezed(result: Result) -> None:
    insert = replace(result.project.new_insert, material=Material.RIGID)
    cut = cut_of(evaluate(replace(result.project, new_insert=insert)), *_AXIS)
    assert cut.stack.squeeze > 0.0
    assert all(rim.cells == pytest.approx(rim.free) for rim in cut.rims[:1])
    assert cut.rims[1].cells[0].h1 == pytest.approx(cut.stack.base_floor + insert.height)


def test_on_the_long_axis_wall_gap_and_lip_are_as_designed(result: Result) -> None:
    cut, piece = cut_of(result, *_AXIS), result.after.housing.base
    for measure, expected in (
        (Measure.WALL, piece.wall),
        (Measure.GAP_OUTER, piece.seat.gap_outer),
        (Measure.GAP_INNER, piece.seat.gap_inner),
        (Measure.LIP, piece.lip.width),
    ):
        found = _of(cut, measure, End.BASE)
        assert [d.value for d in found] == pytest.approx([expected, expected]), measure
        assert all(d.b[0] - d.a[0] == pytest.approx(d.value) for d in found)
        assert found[0].b[0] < 300.0 < found[1].a[0]  # left and right of the centre


def test_interference_is_a_gap_below_nought(result: Result) -> None:
    choices = replace(result.project.choices, gap_outer=-0.4)
    cut = cut_of(evaluate(replace(result.project, choices=choices)), *_AXIS)
    assert [d.value for d in _of(cut, Measure.GAP_OUTER, End.BASE)] == pytest.approx([-0.4, -0.4])


def test_a_cut_at_an_angle_shows_more_than_the_normal_distance(result: Result) -> None:
    across = _of(cut_of(result, (-60.0, -200.0), (60.0, 200.0)), Measure.WALL, End.BASE)
    assert all(d.value > result.after.housing.base.wall for d in across)


def test_without_a_lip_there_is_no_inner_gap_and_no_lip(result: Result) -> None:
    housing = result.project.housing
    base = replace(housing.base, lip=Lip(housing.base.lip.width, 0.0))
    cut = cut_of(evaluate(replace(result.project, housing=replace(housing, base=base))), *_AXIS)
    assert not _of(cut, Measure.GAP_INNER, End.BASE)
    assert not _of(cut, Measure.LIP, End.BASE)
    assert _of(cut, Measure.GAP_INNER, End.LID)


def test_a_single_ring_has_its_inserts_height_and_no_squeeze(ring: Result) -> None:
    cut = cut_of(ring, *_AXIS)
    assert len(cut.pieces) == 1
    assert (cut.stack.lid_floor, cut.stack.squeeze) == (None, 0.0)
    (height,) = _of(cut, Measure.HEIGHT)
    assert (height.value, height.paths) == (ring.after.insert.height, ("new_insert.height",))
    assert not _of(cut, Measure.SQUEEZE)


def test_a_stud_in_the_cut_stands_in_the_base_by_its_engagement_and_has_its_own_length(result: Result) -> None:
    stud = result.after.housing.studs[0]
    cut = cut_of(result, (stud.x - 1.0, stud.y - 1.0), (stud.x + 1.0, stud.y + 1.0))
    shown = next(s for s in cut.studs if s.index == 0)
    diameter = float(stud.thread[1:])
    assert shown.s == pytest.approx(2.0**0.5)
    assert shown.half == pytest.approx(diameter / 2.0)
    assert shown.h0 == pytest.approx(cut.stack.base_joint - 2.0 * diameter)  # aluminium
    assert shown.h1 - shown.h0 == pytest.approx(stud.length)
    found = next(d for d in _of(cut, Measure.STUD) if d.paths == ("housing.studs[0].length",))
    assert found.value == pytest.approx(stud.length)


def test_a_stud_beside_the_line_is_not_in_the_cut(result: Result) -> None:
    stud = result.after.housing.studs[0]
    aside = float(stud.thread[1:]) / 2.0 + 0.01
    cut = cut_of(result, (stud.x - 100.0, stud.y + aside), (stud.x + 100.0, stud.y + aside))
    assert all(s.index != 0 for s in cut.studs)


def test_a_depth_that_took_the_height_change_asks_for_that_choice_first(result: Result) -> None:
    project = replace(result.project, choices=replace(result.project.choices, height_to=HeightTo.BASE))
    taken = _of(cut_of(evaluate(project), *_AXIS), Measure.DEPTH, End.BASE)[0]
    assert taken.paths == ("choices.height_to", "housing.base.seat.depth")
    kept = _of(cut_of(evaluate(project), *_AXIS), Measure.DEPTH, End.LID)[0]
    assert kept.paths == ("housing.lid.seat.depth",)
    faces = _of(cut_of(evaluate(project), *_AXIS), Measure.FACES)[0]
    assert faces.paths == ("housing.faces.distance",)
    spaced = replace(result.project, choices=replace(result.project.choices, height_to=HeightTo.SPACER))
    faces = _of(cut_of(evaluate(spaced), *_AXIS), Measure.FACES)[0]
    assert faces.paths == ("choices.height_to", "housing.faces.distance")


def test_the_cut_as_built_is_that_of_the_old_housing(result: Result) -> None:
    cut = cut_of(result, *_AXIS)
    old = result.before.housing
    assert [piece.end for piece in cut.before] == list(End)
    assert old.lid is not None
    highest = max(c.h1 for piece in cut.before for c in piece.cells)
    top = old.base.thickness + old.faces.distance + old.lid.thickness - result.before.pieces[1].top
    assert highest == pytest.approx(top)


def test_turned_about_the_cut_is_mirrored(result: Result) -> None:
    there, back = cut_of(result, *_ACROSS), cut_of(result, _ACROSS[1], _ACROSS[0])

    def spans(piece: PieceCut, *, mirror: bool) -> list[tuple[float, ...]]:
        rows = [(400.0 - c.s1, 400.0 - c.s0) if mirror else (c.s0, c.s1) for c in piece.cells]
        return sorted(tuple(round(s, 6) for s in row) for row in rows)

    for a, b in zip(there.pieces, back.pieces, strict=True):
        assert spans(a, mirror=False) == spans(b, mirror=True)


def test_a_line_beside_the_part_shows_nothing(result: Result) -> None:
    cut = cut_of(result, (-10.0, 900.0), (10.0, 900.0))
    assert cut.is_empty
    assert cut.dimensions == ()
    assert cut.bounds == (0.0, 0.0, 1.0, 1.0)


def test_the_bounds_hold_everything_that_is_cut(result: Result) -> None:
    cut = cut_of(result, *_AXIS)
    x0, y0, x1, y1 = cut.bounds
    cells = [c for piece in (*cut.pieces, *cut.before) for c in piece.cells]
    assert all(x0 <= c.s0 and c.s1 <= x1 and y0 <= c.h0 and c.h1 <= y1 for c in cells)


def test_a_line_needs_two_points(result: Result) -> None:
    with pytest.raises(ValueError, match="two different points"):
        cut_of(result, (1.0, 1.0), (1.0, 1.0))


def test_a_piece_without_metal_has_no_sizes_in_the_cut_and_the_other_keeps_its_own(result: Result) -> None:
    project = set_text(load_demo("compressor-intake"), "housing.base.features[1].diameter", "420 mm")
    swallowed = cut_of(evaluate(project), *_AXIS)
    base, _lid = swallowed.pieces
    assert base.cells == ()
    assert not [d for d in swallowed.dimensions if d.end is End.BASE and d.measure is not Measure.RIM]
    whole = cut_of(result, *_AXIS)
    for measure in (Measure.WALL, Measure.GAP_OUTER, Measure.DEPTH):
        assert len(_of(swallowed, measure, End.LID)) == len(_of(whole, measure, End.LID)) > 0
