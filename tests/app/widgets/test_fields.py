from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QKeySequence, QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QVBoxLayout, QWidget

import app.session.results
from app.widgets.choice_field import ChoiceField
from app.widgets.explain import explain_widget
from app.widgets.forms import Form
from app.widgets.labels import Refusal
from app.widgets.source import OfPage
from app.widgets.switch import SwitchField
from core import edits

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from app.session.session import Session
    from app.widgets.fields import TextField


class Bench(QWidget):
    """A form on a shown window, with another widget that can take the focus."""

    def __init__(self, session: Session) -> None:
        super().__init__()
        self.form = Form(session, self)
        self.length = self.form.field("new_insert.length")
        self.width_field = self.form.field("new_insert.width")
        self.angle = self.form.field("housing.base.features[0].angle")
        self.factor = self.form.field("limits.hole_edge")
        self.wall = self.form.field("choices.wall", when_empty=lambda _: "built 6.00")
        self.family = self.form.choice("new_insert.family")
        self.hold = self.form.switch("choices.hold")
        column = QVBoxLayout(self)
        column.addWidget(self.form)

    def reason_at(self, field: TextField) -> str:
        rows = self.form.findChildren(Refusal)
        return rows[self.form.fields().index(field)].text()


@pytest.fixture
def bench(qtbot: QtBot, session: Session) -> Bench:
    made = Bench(session)
    qtbot.addWidget(made)
    with qtbot.waitExposed(made):
        made.show()
    made.activateWindow()
    made.width_field.setFocus()
    return made


def retype(field: TextField, text: str) -> None:
    field.setFocus(Qt.FocusReason.TabFocusReason)
    field.selectAll()
    QTest.keyClicks(field, text)


def turn_wheel(field: QWidget, notches: int) -> QWheelEvent:
    middle = QPointF(field.rect().center())
    event = QWheelEvent(
        middle,
        QPointF(field.mapToGlobal(middle.toPoint())),
        QPoint(0, 0),
        QPoint(0, 120 * notches),
        Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier,
        Qt.ScrollPhase.NoScrollPhase,
        False,
    )
    QApplication.sendEvent(field, event)
    return event


def test_each_keystroke_that_can_be_read_changes_the_result_and_all_are_one_step(
    session: Session, bench: Bench
) -> None:
    seen: list[float] = []
    session.changed.connect(lambda result: seen.append(result.project.new_insert.length))
    retype(bench.length, "203.25")
    assert seen == [203.0, 203.2, 203.25]
    assert bench.length.text() == "203.25"
    assert session.undo_stack.count() == 1
    assert session.undo_stack.undoText() == "new insert: length"
    session.undo_stack.undo()
    assert session.project.new_insert.length == 200.0
    assert bench.length.text() == "200"


def test_the_text_is_never_rewritten_while_it_is_typed_but_tidied_by_return(session: Session, bench: Bench) -> None:
    retype(bench.length, "8 1/2 in - 2,9")
    assert bench.length.text() == "8 1/2 in - 2,9"
    assert session.project.new_insert.length == pytest.approx(213.0)
    QTest.keyClick(bench.length, Qt.Key.Key_Return)
    assert bench.length.text() == "213"


def test_return_ends_one_step_and_begins_the_next(session: Session, bench: Bench) -> None:
    retype(bench.length, "203")
    QTest.keyClick(bench.length, Qt.Key.Key_Return)
    QTest.keyClicks(bench.length, "204")
    assert session.undo_stack.count() == 2


def test_a_refused_text_stays_with_its_reason_and_the_last_good_result(session: Session, bench: Bench) -> None:
    before = session.result
    retype(bench.length, "x")
    assert bench.length.text() == "x"
    assert session.result is before
    QTest.keyClick(bench.length, Qt.Key.Key_Return)
    assert bench.reason_at(bench.length).startswith("A number is expected at “x”")
    bench.width_field.setFocus(Qt.FocusReason.TabFocusReason)
    assert bench.length.text() == "x"
    assert session.undo_stack.count() == 0


def test_the_reason_only_comes_when_the_typing_rests(qtbot: QtBot, bench: Bench) -> None:
    retype(bench.length, "2")
    assert bench.reason_at(bench.length) == ""
    qtbot.waitUntil(lambda: bench.reason_at(bench.length) != "")
    QTest.keyClicks(bench.length, "03")
    assert bench.reason_at(bench.length) == ""
    assert bench.length.text() == "203"


def test_the_character_that_can_not_be_read_is_pointed_at(bench: Bench) -> None:
    retype(bench.length, "203 mmx")
    assert bench.length._mark == 4
    retype(bench.length, "203")
    assert bench.length._mark == -1


def test_escape_gives_back_what_was_there_when_the_focus_came(session: Session, bench: Bench) -> None:
    start = session.project
    retype(bench.length, "203")
    assert session.project.new_insert.length == 203.0
    QTest.keyClick(bench.length, Qt.Key.Key_Escape)
    assert session.project == start
    assert bench.length.text() == "200"
    assert session.undo_stack.count() == 0


def test_escape_after_an_undo_gives_back_what_the_undo_left(session: Session, bench: Bench) -> None:
    retype(bench.length, "203")
    QTest.keyClick(bench.length, Qt.Key.Key_Return)
    session.undo_stack.undo()
    assert session.project.new_insert.length == 200.0
    retype(bench.length, "20x")
    QTest.keyClick(bench.length, Qt.Key.Key_Escape)
    assert session.project.new_insert.length == 200.0
    assert bench.length.text() == "200"


def test_escape_gives_back_after_a_refused_text_too(session: Session, bench: Bench) -> None:
    retype(bench.length, "203 x")
    QTest.keyClick(bench.length, Qt.Key.Key_Escape)
    assert session.project.new_insert.length == 200.0
    assert bench.length.text() == "200"
    assert bench.reason_at(bench.length) == ""


def test_arrow_keys_nudge_by_the_units_step_and_shift_makes_it_ten(session: Session, bench: Bench) -> None:
    bench.length.setFocus()
    QTest.keyClick(bench.length, Qt.Key.Key_Up)
    assert session.project.new_insert.length == pytest.approx(200.1)
    QTest.keyClick(bench.length, Qt.Key.Key_Down, Qt.KeyboardModifier.ShiftModifier)
    assert session.project.new_insert.length == pytest.approx(199.1)
    assert bench.length.text() == "199.1"
    assert session.undo_stack.count() == 1


def test_angles_and_plain_numbers_are_nudged_by_steps_of_their_own(session: Session, bench: Bench) -> None:
    bench.angle.setFocus()
    QTest.keyClick(bench.angle, Qt.Key.Key_Down)
    assert edits.get_value(session.project, bench.angle.path) == 89.0
    bench.factor.setFocus()
    for _ in range(3):
        QTest.keyClick(bench.factor, Qt.Key.Key_Up)
    assert session.project.limits.hole_edge == 1.8
    assert bench.factor.text() == "1.8"


def test_a_scroll_without_the_focus_changes_nothing_and_is_left_to_the_form(session: Session, bench: Bench) -> None:
    before = session.project
    for field in (bench.length, bench.family, bench.hold):
        event = turn_wheel(field, 1)
        assert not event.isAccepted()
    assert session.project == before
    assert not bench.length.hasFocus()


def test_a_scroll_with_the_focus_nudges(session: Session, bench: Bench) -> None:
    bench.length.setFocus()
    event = turn_wheel(bench.length, -1)
    assert event.isAccepted()
    assert session.project.new_insert.length == pytest.approx(199.9)


def test_the_focus_tells_the_path_whose_dimension_lights_up(session: Session, bench: Bench) -> None:
    told: list[str] = []
    session.focused.connect(told.append)
    bench.length.setFocus()
    bench.hold.setFocus()
    bench.width_field.setFocus()
    assert [t for t in told if t] == ["new_insert.length", "choices.hold", "new_insert.width"]


def test_undo_keys_in_a_field_undo_the_project_not_the_text(session: Session, bench: Bench) -> None:
    retype(bench.length, "203")
    undo = QKeySequence(QKeySequence.StandardKey.Undo)
    assert undo == QKeySequence("Ctrl+Z")
    QTest.keyClick(bench.length, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    assert bench.length.text() == "203"  # the field leaves the key to the window's menu
    session.undo_stack.undo()
    assert bench.length.text() == "200"


def test_an_optional_field_is_empty_with_what_counts_in_grey_and_can_be_emptied_again(
    session: Session, bench: Bench
) -> None:
    assert bench.wall.text() == ""
    assert bench.wall.placeholderText() == "built 6.00"
    retype(bench.wall, "7")
    assert session.project.choices.wall == 7.0
    bench.wall.selectAll()
    QTest.keyClick(bench.wall, Qt.Key.Key_Delete)
    assert session.project.choices.wall is None


def test_lengths_are_shown_with_the_decimals_of_their_unit_and_edited_whole(session: Session, bench: Bench) -> None:
    session.set_value("new_insert.length", 203.123456, "length")
    assert bench.length.text() == "≈ 203.12"
    bench.length.setFocus()
    assert bench.length.text() == "203.123456"
    bench.width_field.setFocus()
    assert session.project.new_insert.length == 203.123456
    session.set_value("style", "in", "unit")
    assert bench.length.text() == "≈ 7.997"
    session.set_value("new_insert.length", 203.2, "length")
    assert bench.length.text() == "8.000"
    session.set_value("style", "fraction", "unit")
    assert bench.length.text() == "8"


def test_a_choice_is_made_as_one_step_and_a_refused_one_goes_back(session: Session, bench: Bench) -> None:
    bench.family.setCurrentIndex(bench.family.findData("ellipse"))
    bench.family.activated.emit(bench.family.currentIndex())
    assert str(session.project.new_insert.family) == "ellipse"
    assert session.undo_stack.undoText() == "new insert: shape"
    bench.family.setCurrentIndex(bench.family.findData("measured"))
    bench.family.activated.emit(bench.family.currentIndex())
    assert str(session.project.new_insert.family) == "ellipse"
    assert bench.family.currentData() == "ellipse"
    assert (
        "there is no measured outline yet"
        in bench.form.findChildren(Refusal)[bench.form.fields().index(bench.family)].text().lower()
    )


def test_a_switch_is_clicked_and_reached_by_arrow_keys(session: Session, bench: Bench) -> None:
    QTest.mouseClick(bench.hold.button("outside"), Qt.MouseButton.LeftButton)
    assert str(session.project.choices.hold) == "outside"
    session.undo_stack.undo()
    assert bench.hold.key == "wall"
    bench.hold.setFocus()
    QTest.keyClick(bench.hold.button("wall"), Qt.Key.Key_Right)
    assert str(session.project.choices.hold) == "outside"


def test_every_field_has_a_name_for_those_who_can_not_see_it(bench: Bench) -> None:
    for field in bench.form.fields():
        assert field.accessibleName()
        assert field.accessibleDescription()
    assert bench.length.accessibleName() == "new insert: length"


def test_a_field_is_found_by_its_path_or_by_what_holds_it(bench: Bench) -> None:
    assert bench.form.find_field("new_insert.width") is bench.width_field
    assert bench.form.find_field("new_insert") is bench.length
    assert bench.form.find_field("old_insert.width") is None
    assert isinstance(bench.form.find_field("choices.hold"), SwitchField)
    assert isinstance(bench.form.find_field("new_insert.family"), ChoiceField)


def test_on_a_slow_model_typing_never_waits_and_is_still_one_step(
    qtbot: QtBot, session: Session, bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(app.session.results, "SLOW_S", -1.0)
    session._results.seconds.append(1.0)
    retype(bench.length, "203.25")
    assert bench.length.text() == "203.25"
    assert session.project.new_insert.length == 200.0
    qtbot.waitUntil(lambda: session.project.new_insert.length == 203.25)
    assert bench.length.text() == "203.25"
    assert session.undo_stack.count() == 1


def test_on_a_slow_model_a_refusal_comes_late_and_keeps_the_text(
    qtbot: QtBot, session: Session, bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(app.session.results, "SLOW_S", -1.0)
    session._results.seconds.append(1.0)
    retype(bench.length, "20")
    QTest.keyClick(bench.length, Qt.Key.Key_Return)
    qtbot.waitUntil(lambda: bench.reason_at(bench.length) != "")
    assert bench.length.text() == "20"
    assert session.project.new_insert.length == 200.0
    QTest.keyClick(bench.length, Qt.Key.Key_Escape)
    assert bench.length.text() == "200"


def test_a_word_of_a_switch_has_the_fields_sheet_and_a_pages_choice_has_none(session: Session, bench: Bench) -> None:
    sheet = explain_widget(bench.hold.button(str(session.project.choices.hold)))
    assert sheet is not None
    assert sheet.explanation_shown.meaning == edits.field_at(session.project, "choices.hold").meaning
    sheet.close()
    choice = ChoiceField(OfPage(("Shape", ""), bench), [(None, "best fit"), (1, "circle")], bench)
    assert explain_widget(choice) is None


def test_a_pages_choice_shows_what_the_page_sets_and_tells_what_is_chosen(bench: Bench) -> None:
    source = OfPage(("Shape", ""), bench)
    taken: list[object] = []
    source.taken.connect(taken.append)
    choice = ChoiceField(source, [(None, "best fit"), (1, "circle")], bench)
    assert choice.currentText() == "best fit"
    source.set(1)
    assert choice.currentText() == "circle"
    source.set(2)  # none of the words
    assert choice.currentIndex() == -1
    assert taken == []
    QTest.keyClick(choice, Qt.Key.Key_Down)
    assert (choice.currentText(), taken, source.value()) == ("best fit", [None], None)


def test_a_click_selects_the_value_a_second_sets_the_caret_and_a_double_click_takes_all(
    session: Session, bench: Bench
) -> None:
    field = bench.length
    left, right = Qt.MouseButton.LeftButton, QPoint(bench.length.width() - 4, bench.length.height() // 2)
    QTest.mouseClick(field, left, pos=right)
    assert field.hasFocus()
    assert field.selectedText() == field.text()
    QTest.keyClicks(field, "203")  # no 141.3142: what is typed takes the place of what was there
    assert session.project.new_insert.length == 203.0
    QTest.mouseClick(field, left, pos=right)
    assert not field.hasSelectedText()
    QTest.mouseDClick(field, left, pos=right)
    assert field.selectedText() == field.text()
    bench.width_field.setFocus()
    QTest.mouseClick(field, left, pos=right)  # a new visit
    assert field.selectedText() == field.text()


def test_a_refused_text_keeps_its_caret_under_a_click(bench: Bench) -> None:
    field = bench.length
    retype(field, "9 3/")
    bench.width_field.setFocus()
    QTest.mouseClick(field, Qt.MouseButton.LeftButton, pos=QPoint(field.width() - 4, field.height() // 2))
    assert field.text() == "9 3/"
    assert not field.hasSelectedText()


def test_every_field_says_what_it_is(bench: Bench) -> None:
    assert all(field.toolTip() for field in bench.form.fields() if hasattr(field, "source"))
