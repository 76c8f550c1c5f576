"""The plan of a reworked casting shows the walls that stand: a lip that grows on paper is none."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from app.drawing.base.paths import stroke_paths
from app.drawing.plan.dimensions import further_dimensions
from app.drawing.plan.layers import plan_scene
from core.evaluate import Result, evaluate
from core.files.project.demos import load_demo
from core.part.project import Choices, Mode
from core.words.ends import End


@pytest.fixture(scope="module")
def narrower() -> Result:
    """The castings of demo 1 for rims 1.8 mm narrower: the new inner wall lies outward of the old one."""
    project = load_demo("compressor-intake")
    rim = replace(project.old_insert.rim, width=project.old_insert.rim.width - 1.8)
    new = replace(project.old_insert, rim=rim)
    return evaluate(replace(project, new_insert=new, choices=Choices(mode=Mode.REWORK)))


def test_the_plan_of_a_rework_gives_the_lip_that_is_left(narrower: Result) -> None:
    figures = {d.name: d.figure for d in further_dimensions(narrower, End.LID, lambda mm: f"{mm:.2f}")}
    assert figures["lip"] == "6.00"


def test_the_plan_of_a_rework_draws_the_seat_that_is_there(narrower: Result) -> None:
    before = narrower.before.lid
    assert before is not None
    assert plan_scene(narrower, End.LID).seat == stroke_paths(before.walls)
    assert narrower.after.lid is not None
    cut = narrower.after.lid.curves
    assert plan_scene(narrower, End.LID).seat != stroke_paths((cut.seat_outer, cut.seat_inner))
