"""A remedy does what it says: the figure that is read, typed where the finding points, puts the finding right.

Figures are rounded to what is shown, so each is checked as shown and not as computed.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from msgspec.structs import replace

from core.edits import get_value, set_text, set_value
from core.evaluate import evaluate
from core.features.ground import Made
from core.features.hole import Hole
from core.features.kind import Follows
from core.files.project.demos import load_demo
from core.part.insert import PlusMinus
from core.part.project import Hold, Mode
from core.words.lengths import Style, show_length, shower
from core.words.verdicts import Finding, Verdict
from tests.support.remedied import tried

if TYPE_CHECKING:
    from core.part.project import Project


@pytest.fixture
def intake() -> Project:
    return load_demo("compressor-intake")


def finding(project: Project, name: str) -> Finding:
    return next(f for f in evaluate(project).findings if f.name == name)


def figure(found: Finding, name: str, style: Style) -> str:
    """A length of the advice as it is shown."""
    return show_length(dict(found.advice.lengths)[name], style).removeprefix("≈ ")


@pytest.mark.parametrize("style", list(Style))
@pytest.mark.parametrize("height", [62.7341, 63.0017, 64.4449])
def test_the_squeeze_is_right_once_the_shown_figure_is_typed(intake: Project, style: Style, height: float) -> None:
    project = replace(intake, style=style, new_insert=replace(intake.new_insert, height=height + 3.0))
    project = set_text(project, "choices.height_to", "squeeze")
    found = tried(project, "squeeze")
    assert found.verdict is Verdict.NO_GO
    amounts = [remedy for remedy in found.remedies if "{by}" in remedy.text]
    assert amounts
    for remedy in amounts:
        (edit,) = remedy.edits
        by = show_length(remedy.by, style).removeprefix("≈ ")
        sign = "+" if edit.per > 0.0 else "-"
        mended = set_text(project, edit.path, f"{get_value(project, edit.path)!r} mm {sign} {by}")
        assert finding(mended, "squeeze").verdict is not Verdict.NO_GO


@pytest.mark.parametrize("style", list(Style))
@pytest.mark.parametrize("gap", [0.2951, 0.1, -0.0049])
def test_a_gap_is_right_once_the_shown_figure_is_typed(intake: Project, style: Style, gap: float) -> None:
    alone = replace(intake.housing, keep_outs=())  # a whole 64th more would reach the bracket
    project = set_value(replace(intake, style=style, housing=alone), "choices.gap_outer", gap)
    found = tried(project, "least gap, base's outer wall")
    assert (found.verdict, found.place.path) == (Verdict.NO_GO, "choices.gap_outer")
    mended = set_text(project, found.place.path, figure(found, "to", style))
    assert finding(mended, "least gap, base's outer wall").verdict is not Verdict.NO_GO


@pytest.mark.parametrize("lip", [2.0049, 3.9951])
def test_a_lip_is_right_once_the_shown_figure_is_typed(intake: Project, lip: float) -> None:
    assert intake.housing.lid is not None
    bare = replace(intake.housing, studs=(), lid=replace(intake.housing.lid, features=()))
    project = set_value(replace(intake, housing=bare), "choices.lip", lip)
    found = finding(project, "thinnest metal, lid")
    assert (found.verdict, found.place.path) == (Verdict.NO_GO, "choices.lip")
    found = tried(project, "thinnest metal, lid")
    mended = set_text(project, "choices.lip", f"{lip!r} mm + {figure(found, 'by', Style.MM)}")
    assert finding(mended, "thinnest metal, lid").verdict is not Verdict.NO_GO


def test_in_rework_the_gap_to_machine_counts_from_the_rim_not_from_the_old_seat(intake: Project) -> None:
    old = intake.old_insert
    # The old seat is 0.05 mm further out than the gap asked for: widening by what is missing there would do nothing.
    smaller = replace(old, length=old.length - 0.1, width=old.width - 0.1, plus_minus=PlusMinus())
    at = get_value(intake, "housing.base.seat.gap_outer")
    assert isinstance(at, float)
    project = replace(
        intake,
        new_insert=smaller,
        choices=replace(intake.choices, mode=Mode.REWORK, gap_outer=at),
        limits=replace(intake.limits, gap_outer_least=at + 0.1),
    )
    found = tried(project, "gap, base's outer wall")
    assert found.value == pytest.approx(at + 0.05)
    mended = set_text(project, "choices.gap_outer", figure(found, "to", Style.MM))
    assert finding(mended, "gap, base's outer wall").verdict is not Verdict.NO_GO


@pytest.mark.parametrize(
    ("follows", "hold", "says_wall", "ends_hold"),
    [
        (Follows.MACHINE, Hold.WALL, True, False),
        (Follows.OUTSIDE, Hold.WALL, False, False),
        # Where the outside is held, a thicker wall does nothing: the hold has to be ended first.
        (Follows.MACHINE, Hold.OUTSIDE, True, True),
    ],
)
def test_a_thicker_wall_is_only_advised_where_it_helps(
    intake: Project, follows: Follows, hold: Hold, *, says_wall: bool, ends_hold: bool
) -> None:
    old, base = intake.old_insert, intake.housing.base
    outside = old.width / 2.0 + base.seat.gap_outer + base.wall
    hole = Hole("sensor", 0.0, outside - 3.5, 3.0, Made.DRILLED, follows=follows)
    housing = replace(intake.housing, base=replace(base, features=(hole,)))
    project = replace(intake, housing=housing, new_insert=old, choices=replace(intake.choices, hold=hold))
    text = tried(project, "thinnest metal, base").advice.text
    assert "sensor" in text
    assert ("make the wall" in text) is says_wall
    assert ("let the outside follow the seat and make the wall" in text) is ends_hold


def test_a_bearing_that_is_narrow_at_one_place_is_not_told_as_all_round(intake: Project) -> None:
    base = intake.housing.base
    hole = Hole("sensor", intake.new_insert.length / 2.0 - 7.0, 0.0, 8.0, Made.CORED)
    housing = replace(intake.housing, base=replace(base, features=(*base.features, hole)))
    found = finding(replace(intake, housing=housing), "narrowest bearing, centred, base")
    assert "all round" not in found.advice.text
    assert "at the right of the base's floor" in found.advice.show(shower(Style.MM))


def test_a_name_with_braces_breaks_no_sentence(intake: Project) -> None:
    studs = tuple(replace(stud, name=f"{{{i}}} stud") for i, stud in enumerate(intake.housing.studs))
    project = replace(intake, housing=replace(intake.housing, studs=studs))
    result = evaluate(set_value(project, "new_insert.length", 250.0))
    assert result.conflicts
    show = shower(Style.MM)
    assert any("{0} stud" in conflict.what.show(show) for conflict in result.conflicts)
