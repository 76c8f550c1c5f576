"""A kind of feature is one file and its line in the registry: shown with that of the recipe."""

from __future__ import annotations

from pathlib import Path

import pytest

from core.features.registry import FEATURES
from core.features.stud.stud import Stud
from core.part.fields import fields_of
from tests.support.tree import copied_tree, follow_recipe, run


def test_a_kind_of_its_own_is_one_file_and_its_line_for_all_that_is_done_with_it(tmp_path: Path) -> None:
    tree = copied_tree(tmp_path / "tree")
    follow_recipe(tree, "A kind of feature")
    script = Path(__file__).parent / "everything_on.py"
    assert run(tree, "-W", "error", str(script), "spigot", str(tmp_path)).endswith("done\n")


@pytest.mark.parametrize("kind", [*FEATURES.values(), Stud])
def test_the_fields_that_a_kind_speaks_of_are_its_own(kind: type[Stud]) -> None:
    fields = fields_of(kind)
    assert {"name", "follows"} <= set(fields)
    assert {name for name in (kind.hole_field, kind.ring_field, *kind.strip_fields) if name} <= set(fields)
    assert kind.may_follow
    for name, answer in vars(kind).items():
        assert not getattr(answer, "__isabstractmethod__", False), name
