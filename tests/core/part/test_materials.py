"""Materials of the rims: what follows from each, in the project and in old files."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from msgspec.structs import replace

from core import edits
from core.files.project.file import load_project
from core.part.check import check_project
from core.part.insert import SqueezeLimits
from core.part.materials import MATERIALS, Material
from core.words.errors import FileError

if TYPE_CHECKING:
    from core.part.project import Project

DATA = Path(__file__).parents[2] / "data"


def test_each_material_has_a_row() -> None:
    assert set(MATERIALS) == set(Material)


def test_only_solid_rubber_is_known_to_keep_its_volume_while_it_gives_way() -> None:
    # ISO 3302-1 is about solid rubber; foam, cork and what nobody stated lie outside its scope.
    assert {m for m, row in MATERIALS.items() if row.is_solid_rubber} == {Material.SOFT_RUBBER, Material.HARD_RUBBER}


def test_every_band_is_a_band_and_says_where_it_comes_from() -> None:
    for row in MATERIALS.values():
        assert row.origin
        if row.squeeze is not None:
            least, greatest = row.squeeze
            assert 0.0 < least < greatest <= 50.0  # suppliers' guides ask for 50 % at most
    # Suppliers' guides: sponge works between 25 and 50 % (common practice, no source).
    assert MATERIALS[Material.SPONGE].squeeze == (25.0, 50.0)


def test_squeeze_starts_from_the_material_and_stays_the_users(small_project: Project) -> None:
    project = edits.set_text(small_project, "new_insert.material", "soft rubber")
    assert project.new_insert.squeeze_wanted == (15.0, 30.0)
    project = edits.set_text(project, "new_insert.squeeze.least", "18 %")
    assert project.new_insert.squeeze_wanted == (18.0, 30.0)
    project = edits.set_text(project, "new_insert.material", "foam")
    assert project.new_insert.squeeze_wanted == (18.0, 25.0)
    project = edits.set_text(project, "new_insert.squeeze.least", "")
    assert project.new_insert.squeeze_wanted == (10.0, 25.0)


def test_squeeze_that_no_rim_can_have_is_refused_with_its_field(small_project: Project) -> None:
    insert = replace(small_project.new_insert, material=Material.HARD_RUBBER, squeeze=SqueezeLimits(20.0))
    with pytest.raises(FileError, match=r"new_insert\.squeeze\.least: squeeze of at least 20 % and at most 15 %"):
        check_project(replace(small_project, new_insert=insert))
    check_project(replace(small_project, new_insert=replace(insert, material=Material.RIGID)))  # it has no squeeze


def test_a_soft_rim_of_an_old_file_is_of_a_material_that_is_not_stated() -> None:
    project = load_project(DATA / "compressor-intake.format-1.json")
    for insert in (project.old_insert, project.new_insert):
        assert insert.material is Material.NOT_STATED
        assert insert.squeeze_wanted == (10.0, 25.0)


def test_a_rigid_rim_of_an_old_file_is_rigid() -> None:
    project = load_project(DATA / "lens-ring.format-1.json")
    assert {project.old_insert.material, project.new_insert.material} == {Material.RIGID}


def test_candidates_of_an_old_file_are_brought_along() -> None:
    project = load_project(DATA / "pump-strainer.format-2.json")
    assert {candidate.material for candidate in project.candidates} == {Material.NOT_STATED}
