"""What can't stay or can't follow is named, at its place."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from core.evaluate import Result, evaluate
from core.features.crossbar import Crossbar
from core.features.ground import Made
from core.features.hole import Hole
from core.features.kind import Follows
from core.files.project.demos import load_demo
from core.geometry.ovals.ovals import Family
from core.new.part import two_piece
from core.part.insert import Insert, Rim
from core.part.materials import Material
from core.part.project import Choices, Hold, Project
from core.words.lengths import Style, shower
from core.words.verdicts import Verdict


@pytest.fixture
def intake() -> Project:
    return load_demo("compressor-intake")


def grown(project: Project, by: float) -> Project:
    old = project.old_insert
    return replace(project, new_insert=replace(old, length=old.length + 2 * by, width=old.width + 2 * by))


def named(result: Result) -> set[str]:
    return {c.feature for c in result.conflicts}


def test_a_seat_that_grows_into_the_studs_names_each_of_them(intake: Project) -> None:
    result = evaluate(grown(intake, 12.0))
    assert {s.name for s in intake.housing.studs} <= named(result)
    assert result.overall is Verdict.NO_GO
    for conflict in result.conflicts:
        assert conflict.place.point is not None
        assert conflict.place.path


def test_a_machine_hole_that_the_new_wall_runs_through_is_named_with_how_deep(intake: Project) -> None:
    hole = Hole("sensor", 0.0, 75.0, 5.0, Made.DRILLED)
    base = replace(intake.housing.base, features=(*intake.housing.base.features, hole))
    project = replace(intake, housing=replace(intake.housing, base=base))
    result = evaluate(grown(project, 6.0))
    conflict = next(c for c in result.conflicts if c.feature == "sensor")
    # The seat's wall moves from 67.8 to 73.8 mm; the hole reaches down to 72.5 mm: 1.3 mm deep.
    assert "runs through it" in conflict.what.text
    assert dict(conflict.what.lengths)["deep"] == pytest.approx(1.3)
    assert "move it 1.30 mm or more towards the top (90°)" in conflict.what.show(shower(Style.MM))


def test_a_hole_that_the_wall_has_passed_over_is_named(intake: Project) -> None:
    hole = Hole("sensor", 0.0, 71.0, 3.0, Made.DRILLED)
    base = replace(intake.housing.base, features=(hole,))
    project = replace(intake, housing=replace(intake.housing, base=base, studs=()))
    result = evaluate(grown(project, 8.0))
    conflict = next(c for c in result.conflicts if c.feature == "sensor")
    assert "it was outside and is now inside" in conflict.what.text
    # The wall moves from 67.8 to 75.8 mm: 4.8 mm from its centre, and half its diameter of 3 mm more.
    assert "move it 6.30 mm or more towards the top (90°)" in conflict.what.show(shower(Style.MM))


def test_a_bar_that_stays_with_the_machine_can_lose_its_opening(intake: Project) -> None:
    lid = intake.housing.lid
    assert lid is not None
    bar = Crossbar("edge bar", 0.0, 40.0, 8.0, 9.0, Follows.MACHINE)
    project = replace(intake, housing=replace(intake.housing, lid=replace(lid, features=(bar,))))
    assert "edge bar" in named(evaluate(grown(project, -7.0)))


def test_a_held_outside_that_the_seat_breaks_through_is_named(intake: Project) -> None:
    project = replace(grown(intake, 8.0), choices=Choices(hold=Hold.OUTSIDE))
    result = evaluate(project)
    conflict = next(c for c in result.conflicts if c.feature == "seat's outer wall")
    assert dict(conflict.what.lengths)["past"] == pytest.approx(1.0, abs=1e-6)


def test_no_change_is_no_conflict(intake: Project) -> None:
    assert evaluate(replace(intake, new_insert=intake.old_insert)).conflicts == ()


@pytest.mark.parametrize(("y", "is_named"), [(52.0, True), (0.0, False)])
def test_a_stud_through_the_seat_is_named_for_the_rim_is_there(y: float, is_named: bool) -> None:  # noqa: FBT001
    """A rim 30 wide has room for a stud and its boss between the walls: from 36.2 to 67.8 across the middle."""
    insert = Insert("broad", Family.OBROUND, 212.0, 134.0, Rim(30.0, 10.0), 58.0, Material.FOAM)
    project = two_piece(insert)
    stud = replace(project.housing.studs[0], y=y)
    result = evaluate(replace(project, housing=replace(project.housing, studs=(stud,))))
    assert ("clamp stud" in named(result)) is is_named
    assert (result.overall is Verdict.NO_GO) is is_named
