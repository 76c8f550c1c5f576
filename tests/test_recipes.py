"""The recipes of DEVELOPERS.md, done in a copy of the tree."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

from tests.support.tree import copied_tree, follow_recipe, run

if TYPE_CHECKING:
    from pathlib import Path


@pytest.fixture
def tree(tmp_path: Path) -> Path:
    return copied_tree(tmp_path / "tree")


def test_a_check_is_told_once_it_is_registered(tree: Path) -> None:
    demo = "assets/demos/lens-ring.json"
    before = json.loads(run(tree, "-m", "app", "check", demo, "--json"))["verdicts"]
    assert follow_recipe(tree, "A check")[0] == "core/fit/checks/plate.py"
    after = json.loads(run(tree, "-m", "app", "check", demo, "--json"))["verdicts"]
    added = [verdict for verdict in after if verdict not in before]
    assert [(verdict["check"], verdict["name"]) for verdict in added] == [("plate", "plate, base")]
    assert [verdict for verdict in after if verdict in before] == before


def test_a_file_of_the_version_before_is_brought_along(tree: Path) -> None:
    follow_recipe(tree, "A file version")
    lines = (
        "from core.files.project.demos import load_demo",
        "project = load_demo('lens-ring')",
        "print(project.format, project.notes.endswith('(from format 3)'))",
    )
    assert run(tree, "-c", "\n".join(lines)).split() == ["4", "True"]
