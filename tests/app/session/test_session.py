from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from msgspec.structs import replace

import app.session.results
from app.session.session import Session
from core import edits
from core.evaluate import evaluate
from core.new.item import starting_insert
from core.new.part import single_ring
from core.words.ends import End
from core.words.errors import UserError
from core.words.lengths import Style
from core.words.verdicts import Place

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from core.evaluate import Result
    from core.part.project import Project


def longer(project: Project, mm: float) -> Project:
    return edits.set_value(project, "new_insert.length", mm)


def test_an_edit_changes_project_and_result_and_is_one_named_step(session: Session, qtbot: QtBot) -> None:
    with qtbot.waitSignal(session.changed) as blocker:
        assert session.edit("length", longer(session.project, 203.0))
    assert session.project.new_insert.length == 203.0
    assert blocker.args == [session.result]
    assert session.result.project == session.project
    assert session.undo_stack.undoText() == "length"
    assert session.undo_stack.count() == 1


def test_undo_gives_back_project_and_result_and_redo_makes_the_edit_again(session: Session) -> None:
    before = session.result
    session.edit("length", longer(session.project, 203.0))
    session.undo_stack.undo()
    assert session.result is before
    assert session.project.new_insert.length == 200.0
    session.undo_stack.redo()
    assert session.project.new_insert.length == 203.0


def test_verdicts_and_the_rest_follow_an_edit_a_turn_of_the_event_loop_each(session: Session, qtbot: QtBot) -> None:
    session.settle()
    said: list[str] = []
    session.changed.connect(lambda _result: said.append(f"changed, judged: {session.is_judged}"))
    session.judged.connect(lambda: said.append(f"judged: {session.is_judged}"))
    session.settled.connect(lambda: said.append("settled"))
    with qtbot.waitSignal(session.settled):
        session.edit("length", longer(session.project, 203.0))
        session.edit("length", longer(session.project, 204.0))  # a newer edit begins anew
    assert said == ["changed, judged: False"] * 2 + ["judged: True", "settled"]
    said.clear()
    session.undo_stack.undo()  # never judged: nobody looked at it
    session.undo_stack.redo()  # remembered with its verdicts
    assert said == ["changed, judged: False"] * 2 + ["judged: True"]


def test_whoever_cannot_wait_settles_at_once(session: Session) -> None:
    session.edit("length", longer(session.project, 203.0))
    assert not session.is_judged
    session.settle()
    assert session.is_judged


def test_steps_with_one_key_become_one_and_there_and_back_is_none(session: Session) -> None:
    start = session.project
    for mm in (201.0, 202.0, 203.0):
        session.edit("length", longer(session.project, mm), merge_key=7)
    assert session.undo_stack.count() == 1
    session.edit("length", start, merge_key=7)
    assert session.undo_stack.count() == 0
    assert session.project == start
    assert session.undo_stack.isClean()


def test_steps_with_different_keys_stay_apart(session: Session) -> None:
    session.edit("length", longer(session.project, 201.0), merge_key=7)
    session.edit("length", longer(session.project, 202.0), merge_key=8)
    session.edit("length", longer(session.project, 203.0))
    assert session.undo_stack.count() == 3


def test_what_moved_is_marked_against_the_state_before_the_first_of_merged_steps(session: Session) -> None:
    before = session.result
    for mm in (201.0, 202.0, 203.0):
        session.edit("length", longer(session.project, mm), merge_key=7)
    assert session.previous is before


def test_an_edit_that_changes_nothing_is_no_step(session: Session, qtbot: QtBot) -> None:
    with qtbot.assertNotEmitted(session.changed):
        assert session.edit("nothing", replace(session.project))
    assert session.undo_stack.count() == 0


def test_an_impossible_edit_is_refused_with_its_path_and_changes_nothing(session: Session, qtbot: QtBot) -> None:
    before = session.result
    with qtbot.waitSignal(session.refused) as blocker:
        assert not session.set_text("new_insert.width", "300", "width")
    assert blocker.args is not None
    path, message = blocker.args
    assert path == "new_insert.width"
    assert message.startswith("A width of 300.00 mm is more than the length; go up to the length, 200.00 mm")
    assert session.result is before
    assert session.undo_stack.count() == 0


def test_an_unreadable_text_is_refused_in_the_users_unit_without_the_paths_own_words(
    session: Session, qtbot: QtBot
) -> None:
    session.set_value("style", "in", "unit")
    with qtbot.waitSignal(session.refused) as blocker:
        assert not session.set_text("new_insert.length", "9 3/16 xx", "length")
    assert blocker.args == ["new_insert.length", "“xx” is not a unit. Use mm, cm, m, in or ft, and no powers of ten."]


def test_a_refusal_that_concerns_another_field_names_that_field_as_it_is_said(session: Session, qtbot: QtBot) -> None:
    with qtbot.waitSignal(session.refused) as blocker:
        assert not session.set_text("new_insert.length", "20", "length")
    assert blocker.args is not None
    assert blocker.args[0] == "new_insert.length"
    assert "new_insert" not in blocker.args[1]


def test_opening_replaces_everything_and_leaves_nothing_to_undo(session: Session, qtbot: QtBot) -> None:
    session.edit("length", longer(session.project, 203.0))
    ring = single_ring(starting_insert())
    session.show_end(End.LID)
    with qtbot.waitSignals([session.replaced, session.changed]):
        session.open(ring, Path("ring.seatwright"), evaluate(ring))
    assert session.project == ring
    assert session.path == Path("ring.seatwright")
    assert session.undo_stack.count() == 0
    assert session.previous is None
    assert session.shown_end is End.BASE


def test_a_project_that_makes_no_housing_can_not_be_opened(project: Project) -> None:
    with pytest.raises(UserError, match="is more than the length"):
        Session(edits.set_value(project, "new_insert.width", 300.0))


def test_pointing_at_a_place_in_the_lid_shows_the_lid(session: Session, qtbot: QtBot) -> None:
    place = Place(End.LID, (1.0, 2.0))
    with qtbot.waitSignals([session.shown_end_changed, session.pointed]):
        session.point_at(place)
    assert session.shown_end is End.LID


def test_a_ring_has_no_lid_to_show(session: Session) -> None:
    ring = single_ring(starting_insert())
    session.open(ring, None, evaluate(ring))
    session.show_end(End.LID)
    assert session.shown_end is End.BASE


def test_lengths_are_shown_in_the_projects_style(session: Session) -> None:
    assert session.show_length(25.4) == "25.40 mm"
    session.set_value("style", str(Style.FRACTION), "unit")
    assert session.show_length(25.4) == "1 in"
    assert session.show_length(12.7, signed=True) == "+1/2 in"


def test_the_first_section_runs_along_the_long_axis_past_the_outside(session: Session) -> None:
    x0, _, x1, _ = session.result.after.base.curves.outside.bounds
    (ax, ay), (bx, by) = session.cut
    assert ay == by == 0.0
    assert ax < x0 < x1 < bx


def test_only_a_new_section_line_is_told(session: Session, qtbot: QtBot) -> None:
    with qtbot.waitSignal(session.cut_changed):
        session.set_cut((0.0, -50.0), (0.0, 50.0))
    with qtbot.assertNotEmitted(session.cut_changed):
        session.set_cut((0.0, -50.0), (0.0, 50.0))


@pytest.fixture
def slow(session: Session, monkeypatch: pytest.MonkeyPatch) -> Session:
    """A session whose model counts as slow."""
    monkeypatch.setattr(app.session.results, "SLOW_S", -1.0)
    session._results.seconds.append(1.0)
    return session


def test_a_slow_model_is_computed_beside_the_window_and_the_edit_follows(slow: Session, qtbot: QtBot) -> None:
    with qtbot.waitSignal(slow.changed):
        assert slow.edit("length", longer(slow.project, 203.0))
        assert slow.project.new_insert.length == 200.0
        assert slow.wanted.new_insert.length == 203.0
        assert slow.is_busy
    assert slow.project.new_insert.length == 203.0
    assert slow.undo_stack.undoText() == "length"
    assert not slow.is_busy


def test_edits_that_pile_up_on_a_slow_model_all_become_steps(slow: Session, qtbot: QtBot) -> None:
    with qtbot.waitSignal(slow.changed):
        slow.set_text("new_insert.length", "203", "length")
        slow.set_text("new_insert.width", "121", "width")
    qtbot.waitUntil(lambda: not slow.is_busy)
    assert slow.project.new_insert.length == 203.0
    assert slow.project.new_insert.width == 121.0
    assert [slow.undo_stack.text(i) for i in range(slow.undo_stack.count())] == ["length", "width"]


def test_a_slow_edit_that_turns_out_impossible_is_refused_and_the_ones_before_it_are_made(
    slow: Session, qtbot: QtBot
) -> None:
    with qtbot.waitSignals([slow.refused, slow.changed]):
        slow.set_text("new_insert.length", "203", "length")
        slow.edit("width", edits.set_value(slow.wanted, "new_insert.width", 300.0), path="new_insert.width")
    assert slow.project.new_insert.length == 203.0
    assert slow.project.new_insert.width == 120.0


def test_undo_on_a_slow_model_brings_back_what_was_there(slow: Session, qtbot: QtBot) -> None:
    before = slow.project
    with qtbot.waitSignal(slow.changed):
        slow.edit("length", longer(slow.project, 203.0))
    slow._results.clear()
    with qtbot.waitSignal(slow.changed):
        slow.undo_stack.undo()
    assert slow.project == before


def test_an_edit_during_a_slow_one_starts_from_it(slow: Session, qtbot: QtBot, result: Result) -> None:
    with qtbot.waitSignal(slow.changed):
        slow.edit("length", longer(slow.project, 203.0))
        slow.edit("length", longer(slow.wanted, 204.0))
    qtbot.waitUntil(lambda: not slow.is_busy)
    assert slow.project.new_insert.length == 204.0
    assert slow.result is not result


def test_an_earlier_step_that_turns_out_impossible_is_left_out_of_the_stack(slow: Session, qtbot: QtBot) -> None:
    with qtbot.waitSignal(slow.changed):
        slow.set_text("new_insert.length", "20", "too short", merge_key=1)
        slow.set_text("new_insert.length", "203", "length", merge_key=2)
    assert [slow.undo_stack.text(i) for i in range(slow.undo_stack.count())] == ["length"]
    slow.undo_stack.undo()
    qtbot.waitUntil(lambda: slow.project.new_insert.length == 200.0)


def test_undo_takes_back_an_edit_that_still_waits(slow: Session, qtbot: QtBot) -> None:
    slow.set_text("new_insert.length", "203", "length")
    assert slow.is_busy
    with qtbot.waitSignals([slow.changed, slow.busy_changed]):
        slow.undo()
    assert slow.wanted.new_insert.length == slow.project.new_insert.length == 200.0
    assert slow.undo_stack.count() == 0


def test_a_length_that_can_not_be_says_what_it_was_read_as(session: Session) -> None:
    said: list[tuple[str, str]] = []
    session.refused.connect(lambda path, text: said.append((path, text)))
    assert not session.set_text("new_insert.length", "8 5/8", "length")
    ((path, text),) = said
    assert path == "new_insert.length"
    assert text.endswith('New insert: length was read as 8.63 mm; inches need ".')
    assert not session.set_text("new_insert.length", "8 mm", "length")
    assert "read as" not in said[-1][1]
