"""A go that stands on one sample says so."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from msgspec.structs import replace

from core import edits
from core.evaluate import evaluate
from core.files.project.demos import load_demo
from core.measure.sources import take, take_readings
from core.part.readings import Origin, Reading, ReadingKind, Readings, SizeName
from core.words.verdicts import Verdict

if TYPE_CHECKING:
    from core.part.insert import Insert
    from core.part.project import Project
    from core.words.verdicts import Finding


@pytest.fixture
def project() -> Project:
    """A demo whose new insert has no ± of its own."""
    made = load_demo("compressor-intake")
    return edits.set_value(made, "new_insert", replace(made.new_insert, plus_minus=type(made.new_insert.plus_minus)()))


def spread(project: Project) -> tuple[Finding, ...]:
    return tuple(finding for finding in evaluate(project).findings if finding.check == "spread")


def read(insert: Insert, count: int) -> Insert:
    values = (insert.height, insert.height + 0.1, insert.height - 0.1)[:count]
    rows = (Reading(ReadingKind.HEIGHT, values),)
    return take_readings(replace(insert, readings=Readings(("a", "b", "c")[:count], rows)))


@pytest.mark.parametrize("count", [1, 2])
def test_a_size_of_fewer_than_three_samples_is_marginal_while_nothing_is_known_of_the_next_one(
    project: Project, count: int
) -> None:
    few = edits.set_value(project, "new_insert", read(project.new_insert, count))
    (found,) = spread(few)
    assert found.verdict is Verdict.MARGINAL
    assert "the new insert's height was measured on fewer than three samples" in found.advice.show(str)
    assert found.place.path == "new_insert.plus_minus.height"
    assert evaluate(few).overall is not Verdict.GO
    assert spread(edits.set_text(few, found.place.path, "0.6")) == ()


def test_three_samples_a_chosen_class_and_what_was_typed_leave_nothing_to_say(project: Project) -> None:
    assert spread(project) == ()
    assert spread(edits.set_value(project, "new_insert", read(project.new_insert, 3))) == ()
    one = edits.set_value(project, "new_insert", read(project.new_insert, 1))
    assert spread(edits.set_text(one, "new_insert.readings.rubber", "M3")) == ()


def test_a_scan_of_one_sample_says_so_too(project: Project) -> None:
    sizes = {SizeName.LENGTH: project.new_insert.length, SizeName.WIDTH: project.new_insert.width}
    scanned = take(project.new_insert, sizes, Origin.SCAN, "rim.png", known_to=dict.fromkeys(sizes, 0.05))
    (found,) = spread(edits.set_value(project, "new_insert", scanned))
    assert "length and width were measured" in found.advice.show(str)
