from __future__ import annotations

import re
from itertools import product
from typing import TYPE_CHECKING

import pytest

from core.files.outlines.dxf_write import OLD_SUFFIX
from core.files.outlines.rings import _LEADS, Ring, _layer, outline_key, rings
from core.files.outlines.tidy import SHORTEST_MM, short_ones, tidied
from core.geometry.lines.outline import Outline, circle_outline
from core.geometry.ovals.ovals import ARC_TOLERANCE, SIZED_FAMILIES, Family, Oval
from core.part.curve import HeldCurve
from core.words.ends import End

if TYPE_CHECKING:
    from collections.abc import Callable

    from core.evaluate import Result

FAMILIES = [family for family in SIZED_FAMILIES if family is not Family.CIRCLE]


def _on(layer: str, found: tuple[Ring, ...]) -> list[Ring]:
    return [ring for ring in found if ring.layer == layer]


@pytest.mark.parametrize("family", FAMILIES)
@pytest.mark.parametrize("end", End)
def test_at_every_height_the_rings_enclose_the_metal_of_the_slab(
    result_of: Callable[[Family], Result], family: Family, end: End
) -> None:
    piece = result_of(family).after.piece(end)
    assert piece is not None
    found = rings(result_of(family).after, end)
    for slab in piece.slabs:
        there = [r for r in found if any(z0 <= slab.z0 and slab.z1 <= z1 for z0, z1 in r.spans)]
        moved = sum(r.arc_tolerance * r.outline.length for r in there)  # slivers are drawn in
        assert sum(r.outline.area for r in there) == pytest.approx(slab.region.area, abs=1e-4 + moved)
        assert len(there) == len(slab.region.loops)


@pytest.mark.parametrize("end", End)
def test_no_outline_comes_twice(result: Result, reworked: Result, end: End) -> None:
    for resolved in (result.after, result.before, reworked.after):
        keys = [outline_key(ring.outline) for ring in rings(resolved, end)]
        assert len(keys) == len(set(keys)) > 5


def test_the_key_forgets_direction_and_first_vertex_and_nothing_else() -> None:
    outline = Outline([[0.0, 0.0, 0.5], [10.0, 0.0, 0.0], [10.0, 4.0, -0.1], [0.0, 4.0, 0.0]])
    rolled = Outline([[10.0, 4.0, -0.1], [0.0, 4.0, 0.0], [0.0, 0.0, 0.5], [10.0, 0.0, 0.0]])
    assert outline_key(outline) == outline_key(rolled) == outline_key(rolled.reversed())
    assert outline_key(outline) != outline_key(outline.moved(1e-6, 0.0))


def test_seat_and_lip_are_named_and_run_with_the_metal_on_their_left(result: Result) -> None:
    found = rings(result.after, End.BASE)
    (outer,), (inner,), (opening,) = (_on(f"BASE-{w}", found) for w in ("SEAT-OUTER", "SEAT-INNER", "OPENING"))
    assert (outer.is_hole, inner.is_hole, opening.is_hole) == (True, False, True)
    assert (outer.z0, outer.z1) == (6.0, 33.0)  # floor 6; the base's seat takes the 3 mm of height: 6 + 24 + 3
    assert (inner.z0, inner.z1) == (6.0, 10.0)  # the lip is 4 high
    assert outer.feature == outer.kind == "seat outer"


def test_what_lies_between_the_crossbars_is_told_from_the_opening_over_them(result: Result) -> None:
    found = rings(result.after, End.BASE)
    assert [ring.spans for ring in _on("BASE-OPENING", found)] == [((6.0, 10.0),)]
    between = _on("BASE-OPENING-CROSSBAR", found)
    assert [ring.spans for ring in between] == [((0.0, 6.0),)] * 4
    assert all("long bar" in ring.feature and "cross bar" in ring.feature for ring in between)


def test_drilled_and_cored_holes_have_layers_of_their_own(result: Result) -> None:
    found = rings(result.after, End.BASE)
    named = {ring.feature: ring.layer for ring in found if ring.kind.endswith("hole")}
    assert named["throat"] == named["left lug"] == "BASE-HOLE-CORED"
    assert named["right lug"] == "BASE-HOLE-DRILLED"
    assert named["left stud"] == named["right stud"] == "BASE-HOLE-DRILLED-2"  # deeper, so numbered


def test_raised_edges_have_layers_of_their_own_and_heights_below_nought(result: Result) -> None:
    found = rings(result.after, End.LID)
    assert [ring.spans for ring in _on("LID-BAND", found)] == [((-2.0, 0.0),)] * 2
    assert [ring.spans for ring in _on("LID-RIB", found)] == [((-2.0, 0.0),)]
    # One outline, raised on the face and again over the pocket's floor: written once, with both of its spans.
    (badge,) = _on("LID-BADGE", found)
    assert badge.spans == ((-1.5, 0.0), (4.0, 5.0))
    assert (badge.z0, badge.z1) == (-1.5, 5.0)


def test_rings_of_one_layer_have_one_depth(result: Result, reworked: Result) -> None:
    for resolved, end in product((result.after, reworked.after), End):
        depths: dict[str, set[object]] = {}
        for ring in rings(resolved, end):
            depths.setdefault(ring.layer, set()).add(ring.spans)
        assert all(len(spans) == 1 for spans in depths.values())


def test_any_layer_name_keeps_to_what_r12_allows() -> None:
    # Names, R12-R14: at most 31 characters, A-Z 0-9 $ _ -: DXF reference of R12, names of symbols.
    kinds = list(_LEADS)
    for end, lead, other in product(End, kinds, kinds):
        of_kind = [lead] if lead == other else [lead, other]
        name = f"{_layer(end, of_kind)}-99{OLD_SUFFIX}"
        assert re.fullmatch(r"[A-Z0-9$_-]+", name)
        assert len(name) <= 31


def test_whole_parallels_know_their_exact_curves(result_of: Callable[[Family], Result]) -> None:
    found = {r.layer: r.exact for r in rings(result_of(Family.ELLIPSE).after, End.BASE)}
    oval = Oval(Family.ELLIPSE, 219.2, 139.6)
    # Rim 15 wide, gaps 0.8 and 0.9, wall 8, lip 6.
    for layer, offset in (("OUTSIDE", 8.8), ("SEAT-OUTER", 0.8), ("SEAT-INNER", -15.9), ("OPENING", -21.9)):
        exact = found[f"BASE-{layer}"]
        assert exact is not None
        assert exact == HeldCurve.of(oval, exact.offset)
        assert exact.offset == pytest.approx(offset, abs=1e-12)
    assert found["BASE-OUTSIDE-LUG"] is None
    lid = [r.exact for r in rings(result_of(Family.ELLIPSE).after, End.LID) if r.layer in ("LID-BAND", "LID-POCKET")]
    assert [exact and round(exact.offset, 9) for exact in lid] == [5.8, -0.2, -27.9]  # 8.8 - 3, - 6; -15.9 - 12


def test_an_arc_tolerance_is_owned_by_what_an_ellipse_shapes(result_of: Callable[[Family], Result]) -> None:
    ellipse = {r.layer: r.arc_tolerance for r in rings(result_of(Family.ELLIPSE).after, End.BASE)}
    assert ellipse["BASE-SEAT-OUTER"] == ellipse["BASE-OUTSIDE-LUG"] == ARC_TOLERANCE
    assert ellipse["BASE-HOLE-DRILLED"] == ellipse["BASE-BOSS"] == 0.0
    assert {r.arc_tolerance for r in rings(result_of(Family.FOUR_ARC).after, End.BASE)} == {0.0}


def test_a_piece_that_is_not_there_has_no_rings(lens_ring: Result) -> None:
    assert rings(lens_ring.after, End.LID) == ()
    assert len(rings(lens_ring.after, End.BASE)) == 5  # outside, two seat walls, opening, dowel


def test_a_reworked_casting_keeps_its_outside_and_shows_what_is_left_of_its_seat(reworked: Result) -> None:
    new = {r.layer: r.outline for r in rings(reworked.after, End.BASE)}
    old = {r.layer: r.outline for r in rings(reworked.before, End.BASE)}
    assert outline_key(new["BASE-OUTSIDE"]) == outline_key(old["BASE-OUTSIDE"])
    assert outline_key(new["BASE-SEAT-OUTER"]) != outline_key(old["BASE-SEAT-OUTER"])


def test_circles_on_one_place_differ_by_their_size() -> None:
    assert outline_key(circle_outline((1.0, 2.0), 3.0)) != outline_key(circle_outline((1.0, 2.0), 3.5))


@pytest.mark.parametrize("family", FAMILIES)
def test_short_segments_stay_only_where_the_design_has_them(
    result_of: Callable[[Family], Result], family: Family
) -> None:
    for resolved, end in product((result_of(family).before, result_of(family).after), End):
        for ring in rings(resolved, end):
            shortest = float(ring.outline.segments.length.min())
            assert shortest >= SHORTEST_MM or (family is Family.SUPERELLIPSE and shortest > 0.05)
            piece = resolved.piece(end)
            assert piece is not None
            assert tidied(ring.outline, short_ones([part.outline for part in piece.parts])) == (ring.outline, 0.0)
