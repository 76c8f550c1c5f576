"""Another shape for an insert, through the door that the window's fields and the command line go through."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from msgspec.structs import replace

from core.edits import get_value, set_text
from core.evaluate import evaluate
from core.geometry.ovals.ovals import SIZED_FAMILIES, Family, check_oval, measured_oval, oval_outline
from core.part.insert import Insert
from core.part.readings import Origin, SizeName, Source
from core.words.errors import ImpossibleOvalError

if TYPE_CHECKING:
    from core.part.project import Project

OWNERS = ("old_insert", "new_insert", "candidates[0]")


def insert_at(project: Project, owner: str) -> Insert:
    found = get_value(project, owner)
    assert isinstance(found, Insert)
    return found


def of_family(project: Project, family: Family, **sizes: object) -> Project:
    """The project with all inserts of a family; a measured one has the outline of its oval."""
    insert = replace(project.new_insert, family=family, **sizes)
    if family.kind.is_round:
        insert = replace(insert, width=insert.length)
    if not family.kind.is_sized:
        oval = measured_oval(oval_outline(project.new_insert.oval))
        insert = replace(insert, length=oval.length, width=oval.width, outline=oval.vertices)
    return replace(project, old_insert=insert, new_insert=insert, candidates=(replace(insert, name="another"),))


@pytest.mark.parametrize("owner", OWNERS)
@pytest.mark.parametrize("to", SIZED_FAMILIES)
@pytest.mark.parametrize("start", list(Family))
def test_any_shape_becomes_any_other(small_project: Project, start: Family, to: Family, owner: str) -> None:
    before = of_family(small_project, start, end_radius=0.45 * small_project.new_insert.width, exponent=3.0)
    after = set_text(before, f"{owner}.family", to.value.replace("_", " "))
    insert = insert_at(after, owner)
    check_oval(insert.oval)
    assert insert.family is to
    assert insert.length == insert_at(before, owner).length
    assert insert.width == (insert.length if to.kind.is_round else insert_at(before, owner).width)
    assert (insert.end_radius, insert.exponent) == (0.45 * small_project.new_insert.width, 3.0)


def test_the_whole_project_follows_the_shape_that_is_set(small_project: Project) -> None:
    for family in SIZED_FAMILIES:
        changed = set_text(set_text(small_project, "old_insert.family", family), "new_insert.family", family)
        assert evaluate(changed).findings


@pytest.mark.parametrize("owner", OWNERS)
def test_a_radius_that_the_other_shape_cannot_have_is_left_to_be_the_usual_one(
    small_project: Project, owner: str
) -> None:
    width = small_project.new_insert.width
    square = of_family(small_project, Family.ROUNDED_RECTANGLE, end_radius=width / 2.0)
    with pytest.raises(ImpossibleOvalError, match="reaches half the width"):
        check_oval(replace(insert_at(square, owner), family=Family.FOUR_ARC).oval)
    assert insert_at(set_text(square, f"{owner}.family", "four_arc"), owner).end_radius is None


@pytest.mark.parametrize("owner", OWNERS)
@pytest.mark.parametrize("name", ["length", "width"])
def test_a_circle_takes_one_size_for_both(small_project: Project, owner: str, name: str) -> None:
    ring = of_family(small_project, Family.CIRCLE)
    insert = insert_at(set_text(ring, f"{owner}.{name}", "150"), owner)
    assert (insert.length, insert.width) == (150.0, 150.0)


@pytest.mark.parametrize("owner", OWNERS)
def test_a_measured_outline_brings_its_own_length_and_width_again(small_project: Project, owner: str) -> None:
    measured = of_family(small_project, Family.MEASURED)
    other = set_text(set_text(measured, f"{owner}.family", "circle"), f"{owner}.length", "150")
    assert insert_at(other, owner).width == 150.0
    assert set_text(other, f"{owner}.family", "measured") == measured


@pytest.mark.parametrize("owner", OWNERS[:2])
def test_a_measured_outline_that_there_is_not_is_refused_by_name(small_project: Project, owner: str) -> None:
    changed = set_text(small_project, f"{owner}.family", "measured")
    with pytest.raises(ImpossibleOvalError, match=rf"{owner}\.family: there is no measured outline yet"):
        evaluate(changed)


def test_what_follows_the_shape_was_not_measured_any_more(small_project: Project) -> None:
    sources = tuple(Source(size, Origin.DRAWING, "a drawing") for size in (SizeName.LENGTH, SizeName.WIDTH))
    before = replace(small_project, new_insert=replace(small_project.new_insert, sources=sources))
    after = set_text(before, "new_insert.family", "circle")
    assert [source.size for source in after.new_insert.sources] == [SizeName.LENGTH]
