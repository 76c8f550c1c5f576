from __future__ import annotations

import pytest

from core import edits
from core.evaluate import evaluate
from core.features.registry import FEATURES
from core.features.stud.kinds import STANDARD_LENGTHS_MM
from core.geometry.ovals.ovals import Family
from core.new.item import new_feature, new_keep_out, new_stud, starting_insert
from core.new.part import single_ring, two_piece
from core.part.insert import Insert, Rim
from core.part.materials import MATERIALS, Material
from core.words.ends import End
from core.words.verdicts import Verdict

PROJECT = two_piece(starting_insert())


@pytest.mark.parametrize("end", list(End))
@pytest.mark.parametrize("kind", FEATURES)
def test_each_kind_of_feature_makes_a_housing_that_can_be_evaluated(kind: str, end: End) -> None:
    feature = new_feature(PROJECT, end, kind)
    assert str(feature.__struct_config__.tag) == kind
    result = evaluate(edits.add_item(PROJECT, f"housing.{end}.features", feature))
    assert result.after.housing.piece(end) is not None


def test_a_second_one_has_another_name() -> None:
    first = new_feature(PROJECT, End.BASE, "hole")
    second = new_feature(edits.add_item(PROJECT, "housing.base.features", first), End.BASE, "hole")
    assert (first.name, second.name) == ("hole", "hole 2")


def test_a_ring_has_no_lid_to_add_to() -> None:
    with pytest.raises(ValueError, match="there is no lid"):
        new_feature(single_ring(starting_insert()), End.LID, "hole")


def test_an_unknown_kind_lists_the_known_ones() -> None:
    with pytest.raises(ValueError, match="no feature of kind spire; choose one of crossbar, hole"):
        new_feature(PROJECT, End.BASE, "spire")


def test_a_new_stud_has_a_standard_length() -> None:
    assert new_stud(PROJECT).length in STANDARD_LENGTHS_MM


def test_a_new_keep_out_lies_clear_of_the_outside() -> None:
    result = evaluate(edits.add_item(PROJECT, "housing.keep_outs", new_keep_out(PROJECT)))
    found = [f for f in result.findings if f.place.path.startswith("housing.keep_outs") or "keep-out" in f.name]
    assert found
    assert all(f.margin > 0.0 for f in found)


@pytest.mark.parametrize("material", list(Material))
@pytest.mark.parametrize(("length", "width", "rim"), [(212.0, 134.0, 14.0), (90.0, 60.0, 6.0), (300.0, 180.0, 18.0)])
def test_a_new_part_is_go_once_it_is_said_what_the_rims_are_made_of(
    material: Material, length: float, width: float, rim: float
) -> None:
    """Not stated, it may be overfull, which is a thing to choose; solid rubber has a gap to swell into."""
    insert = Insert("old", Family.OBROUND, length, width, Rim(rim, 10.0), 55.0, material)
    project = two_piece(insert)
    result = evaluate(project)
    bad = [f for f in result.findings if f.verdict is not Verdict.GO]
    if material is Material.NOT_STATED:
        assert {f.check for f in bad} == {"fill"}
        assert {f.verdict for f in bad} == {Verdict.MARGINAL}
        assert all(f.place.path == "new_insert.material" for f in bad)
        return
    assert result.overall is Verdict.GO, [f.name for f in bad]
    if MATERIALS[material].is_solid_rubber:
        # Room by plain arithmetic: the squeezed rim is as large as the free one, in at most 95 % of the seat.
        seat = project.housing.base.seat
        closed = project.housing.base.seat.depth * 2.0 + project.housing.faces.distance
        left = 10.0 - (insert.height - closed) / 2.0
        assert rim * 10.0 <= 0.95 * (rim + seat.gap_outer + seat.gap_inner) * left
