from __future__ import annotations

import pytest

from core import edits
from core.evaluate import evaluate
from core.insert_end import End
from core.new_item import FEATURE_KINDS, new_feature, new_keep_out, new_stud, starting_insert
from core.new_part import single_ring, two_piece
from core.stud_kinds import STANDARD_LENGTHS_MM

PROJECT = two_piece(starting_insert())


@pytest.mark.parametrize("end", list(End))
@pytest.mark.parametrize("kind", FEATURE_KINDS)
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
