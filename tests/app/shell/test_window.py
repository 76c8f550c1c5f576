from __future__ import annotations

import subprocess
import sys
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QColor, QFontInfo, QPalette
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QApplication, QComboBox, QLineEdit, QListView

from app.shell.workspace import _FORM_CHARS
from app.steps.fit.step import FitStep
from app.steps.measure.step import _WORDS
from app.steps.resize.step import ResizeStep
from app.widgets.explain import of_field
from app.widgets.fields import TextField
from app.widgets.theme import ink
from app.widgets.veil import Veil
from core.evaluate import evaluate
from core.fit.checks.concerns import standings
from core.new.item import starting_insert
from core.new.part import single_ring
from core.words.ends import End
from core.words.lengths import Style
from core.words.verdicts import Verdict

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from app.session.session import Session
    from app.shell.window import MainWindow
    from app.shell.workspace import Workspace


@pytest.fixture
def board(window: MainWindow) -> Workspace:
    assert window.workspace is not None
    return window.workspace


@pytest.fixture
def session(board: Workspace) -> Session:
    return board.session


def field(board: Workspace, path: str) -> TextField:
    assert board.reach(path)
    found = QApplication.focusWidget()
    assert isinstance(found, TextField)
    assert found.path == path
    return found


def retype(field: TextField, text: str) -> None:
    field.selectAll()
    QTest.keyClicks(field, text)


def test_only_the_form_that_is_shown_is_built_at_first(board: Workspace) -> None:
    assert not board.findChildren(ResizeStep)
    assert not board.findChildren(FitStep)
    wide = board.forms.width()
    board.go_to(2)
    assert len(board.findChildren(FitStep)) == 1
    board.go_to(1)
    QApplication.processEvents()
    assert len(board.findChildren(ResizeStep)) == 1
    assert board.forms.width() == wide  # the drawing keeps its place


def test_typing_a_new_length_changes_drawing_checks_and_changes_and_undo_takes_it_all_back(
    window: MainWindow, board: Workspace, session: Session
) -> None:
    assert board.parts.changes.list.changes() == ()
    retype(field(board, "new_insert.length"), "204")
    names = [(c.feature, c.quantity, round(c.by, 6)) for c in board.parts.changes.list.changes()]
    assert ("seat outer", "length", 4.0) in names
    assert window.undo_action.text() == "&Undo new insert: length"
    window.undo_action.trigger()
    assert session.project.new_insert.length == 200.0
    assert board.parts.changes.list.changes() == ()
    assert window.redo_action.text() == "&Redo new insert: length"


def test_a_rim_that_no_longer_fits_its_limits_turns_the_overall_verdict(board: Workspace, session: Session) -> None:
    before = board.parts.verdicts.overall.verdict
    retype(field(board, "limits.gap_outer_least"), "1.2")
    assert board.parts.verdicts.overall.verdict is Verdict.NO_GO
    session.settle()
    assert board.rail.buttons[2].verdict is Verdict.NO_GO
    first = board.parts.verdicts.listed()[0]
    assert first.place.path
    assert board.parts.verdicts.overall.accessibleName() == "Overall verdict: No-go"
    session.undo_stack.undo()
    assert board.parts.verdicts.overall.verdict is before
    assert before.rank < Verdict.NO_GO.rank


def test_between_an_edit_and_its_verdicts_no_verdict_is_shown(qtbot: QtBot, board: Workspace, session: Session) -> None:
    session.settle()
    veil = board.parts.verdicts.findChild(Veil)
    assert veil is not None
    assert not veil.isVisible()
    with qtbot.waitSignal(session.judged):
        assert session.set_text("limits.gap_outer_least", "1.2", "gap")
        assert board.rail.buttons[2].accessibleDescription() == ""
        assert board.parts.verdicts.overall.accessibleName() == "Checking …"
        assert veil.isVisible()
        assert veil.geometry() == veil.parentWidget().rect()  # type: ignore[union-attr]
    assert board.rail.buttons[2].verdict is Verdict.NO_GO
    assert not veil.isVisible()


def test_a_refused_entry_keeps_text_and_drawing(board: Workspace, session: Session) -> None:
    before = session.result
    entry = field(board, "new_insert.width")
    retype(entry, "999")
    assert entry.text() == "999"
    assert session.result.project.new_insert.width == 99.0  # the last text that made a housing
    assert before.project.new_insert.width == 120.0
    board.reach("new_insert.length")
    assert entry.text() == "999"


def test_units_switch_live_as_an_edit_that_can_be_undone(
    window: MainWindow, board: Workspace, session: Session
) -> None:
    length = board.steps[0].find_field("new_insert.length")
    assert isinstance(length, TextField)
    assert length.text() == "200.00"
    QTest.mouseClick(window.units.button("fraction"), Qt.MouseButton.LeftButton)
    assert session.project.style is Style.FRACTION
    assert length.text() == "≈ 7 7/8"
    assert window.unit_actions[Style.FRACTION].isChecked()
    window.undo_action.trigger()
    assert length.text() == "200.00"
    assert window.units.key == "mm"


def test_a_bare_number_is_read_in_the_unit_that_is_shown(
    window: MainWindow, board: Workspace, session: Session
) -> None:
    window.set_style(Style.INCH)
    retype(field(board, "new_insert.length"), "8 1/4")
    assert session.project.new_insert.length == pytest.approx(8.25 * 25.4)


def test_steps_are_reached_by_keys_and_by_the_rail(window: MainWindow, board: Workspace) -> None:
    for number, action in enumerate(window.step_actions):
        assert action.shortcut().toString() == f"Ctrl+{number + 1}"
        action.trigger()
        assert board.step_number == number
        assert board.rail.buttons[number].isChecked()
    QTest.mouseClick(board.rail.buttons[1], Qt.MouseButton.LeftButton)
    assert board.step_number == 1
    assert window.step_actions[1].isChecked()


@pytest.mark.parametrize(
    ("path", "step"),
    [
        ("new_insert.height", 0),
        ("new_insert.squeeze.least", 0),
        ("old_insert.lid_rim.width", 0),
        ("choices.gap_outer", 1),
        ("housing.lid.seat.depth", 1),
        ("housing.base.features[1].x", 1),
        ("housing.lid.features[0].width", 1),
        ("housing.studs[0].length", 1),
        ("housing.faces.distance", 1),
        ("housing.lid.seat.depth_plus_minus", 1),
        ("limits.face_velocity", 0),
        ("limits.gap_inner_greatest", 0),
        ("limits.fill", 0),
    ],
)
def test_any_field_is_reached_by_its_path_wherever_it_is_folded(
    qtbot: QtBot, board: Workspace, session: Session, path: str, step: int
) -> None:
    session.ask_for(path)
    entry = QApplication.focusWidget()
    assert isinstance(entry, TextField)
    assert entry.path == path
    assert board.step_number == step
    qtbot.waitUntil(lambda: not entry.visibleRegion().isEmpty())


def test_the_tab_key_goes_as_one_reads(window: MainWindow, board: Workspace) -> None:
    board.rail.buttons[2].setFocus()
    visited: list[object] = []
    for _ in range(60):
        QTest.keyClick(window, Qt.Key.Key_Tab)
        visited.append(QApplication.focusWidget())
    paths = [getattr(widget, "path", "") for widget in visited]
    assert paths[0] == ""  # the way to measure
    assert paths[1:6] == ["name", "old_insert.name", "new_insert.name", "old_insert.family", "new_insert.family"]
    assert paths.index("old_insert.length") + 1 == paths.index("new_insert.length")
    parts = [board.plan, board.sheet.cut_line, board.sheet.gap_line, board.parts.verdicts.concerns[0].head]
    assert [widget for widget in visited if widget in parts][:4] == parts


def test_a_path_without_a_field_leads_to_what_holds_it(board: Workspace) -> None:
    assert board.reach("housing.base.opening.held.length")
    assert not board.reach("no.such.thing")


def test_choosing_an_answer_points_at_its_place_and_shows_what_to_do(
    qtbot: QtBot, board: Workspace, session: Session
) -> None:
    assert session.set_text("limits.gap_outer_least", "1.2", "gap")
    with qtbot.waitSignal(session.remedied, timeout=30_000):
        pass
    answers = board.parts.verdicts.answers
    answer = board.parts.verdicts.listed()[0]
    rect = answers.visualRect(answers.rows.index(0))
    with qtbot.waitSignal(session.pointed) as blocker:
        QTest.mouseClick(answers.viewport(), Qt.MouseButton.LeftButton, pos=rect.center())
    assert blocker.args == [answer.place]
    assert any("→" in (line.lead or line.left).words for line in answers.rows.row(0).lines)


def test_choosing_the_same_answer_again_points_once_more(board: Workspace, session: Session) -> None:
    answers = board.parts.verdicts.answers
    told: list[object] = []
    session.pointed.connect(told.append)
    for _ in range(2):
        where = answers.visualRect(answers.rows.index(0)).center()
        QTest.mouseClick(answers.viewport(), Qt.MouseButton.LeftButton, pos=where)
    assert len(told) == 2


def test_return_on_an_answer_goes_to_the_field_that_changes_it(board: Workspace, session: Session) -> None:
    assert session.set_text("limits.gap_outer_least", "1.2", "gap")
    answers, listed = board.parts.verdicts.answers, board.parts.verdicts.listed()
    answers.choose(next(i for i, answer in enumerate(listed) if answer.place.path == "choices.gap_outer"))
    QTest.keyClick(answers, Qt.Key.Key_Return)
    focus = QApplication.focusWidget()
    assert isinstance(focus, TextField)
    assert focus.path == "choices.gap_outer"


def test_the_worst_answers_stand_first_and_the_choice_stays_on_its_answer(board: Workspace, session: Session) -> None:
    answers = board.parts.verdicts.answers
    assert session.set_text("limits.bearing_least", "30", "bearing")
    answers.choose(len(board.parts.verdicts.listed()) - 1)
    chosen = answers.current
    assert session.set_text("limits.gap_outer_least", "1.2", "gap")
    ranks = [getattr(a, "verdict", Verdict.NO_GO).rank for a in board.parts.verdicts.listed()]
    assert ranks == sorted(ranks, reverse=True)
    assert getattr(answers.current, "name", "") == getattr(chosen, "name", None)


def test_a_concern_opens_with_its_limits_and_what_goes_and_shuts_the_others(board: Workspace, session: Session) -> None:
    rows = [row for row in board.parts.verdicts.concerns if row.isVisible()]
    standing = {s.concern.title: s for s in standings(session.result.findings)}
    assert [row.concern.title for row in rows] == list(standing)
    for row in rows[:3]:
        QTest.mouseClick(row.head, Qt.MouseButton.LeftButton)
        assert [other.is_open for other in rows] == [other is row for other in rows]
        assert row.form is not None
        assert {f.path for f in row.form.fields()} == {
            f"limits.{name}" for names in row.concern.limits for name in names
        }
        assert row.values is not None
        told = " ".join(shown.said() for shown in row.values.rows.rows)
        assert all(finding.name in told for finding in standing[row.concern.title].well)


def test_in_resize_the_changes_stand_under_one_line_for_what_goes(board: Workspace) -> None:
    panel = board.parts.verdicts
    for number, is_resize in ((0, False), (1, True), (2, False)):
        board.go_to(number)
        assert panel.changes.isVisible() is is_resize
        assert panel.concerns[0].isVisible() is not is_resize
        assert panel.write_button.isVisible() is (number == 2)


def test_a_change_points_at_its_place_and_what_stayed_is_shown_on_request(
    qtbot: QtBot, board: Workspace, session: Session
) -> None:
    session.set_text("new_insert.length", "204", "length")
    changes = board.parts.changes
    count = len(changes.list.changes())
    with qtbot.waitSignal(session.pointed) as blocker:
        changes.list.choose(1)
    assert blocker.args == [changes.list.rows.row(1).value.lines[0].first.place]  # type: ignore[attr-defined]
    QTest.mouseClick(changes.kept, Qt.MouseButton.LeftButton)
    assert len(changes.list.changes()) == len(session.result.changes) > count
    assert any(not c.is_change for c in changes.list.changes())


def test_escape_in_the_answers_takes_the_light_away(qtbot: QtBot, board: Workspace, session: Session) -> None:
    board.parts.verdicts.answers.choose(0)
    with qtbot.waitSignal(session.pointed) as blocker:
        QTest.keyClick(board.parts.verdicts.answers, Qt.Key.Key_Escape)
    assert blocker.args == [None]


def test_the_piece_is_switched_over_the_drawing_and_in_the_menu(
    window: MainWindow, board: Workspace, session: Session
) -> None:
    QTest.mouseClick(board.sheet.ends.button("lid"), Qt.MouseButton.LeftButton)
    assert session.shown_end is End.LID
    assert window.end_actions[End.LID].isChecked()
    window.end_actions[End.BASE].trigger()
    assert board.sheet.ends.key == "base"


def test_opening_a_ring_leaves_no_trace_of_a_lid(board: Workspace, window: MainWindow, session: Session) -> None:
    board.go_to(1)
    ring = single_ring(starting_insert())
    session.open(ring, None, evaluate(ring))
    assert board.step_number == 1
    assert not board.sheet.ends.isVisible()
    assert not window.end_actions[End.LID].isEnabled()
    assert board.steps[1].find_field("housing.lid.wall") is None
    assert board.steps[1].find_field("housing.base.wall") is not None


def test_the_drawing_has_the_most_room_and_keeps_its_place_in_every_step(board: Workspace) -> None:
    assert board.window().width() == 1280
    assert board.window().height() == 800
    places = []
    for number in range(3):
        board.go_to(number)
        QApplication.processEvents()
        places.append(board.plan.rect().translated(board.plan.mapTo(board, board.plan.rect().topLeft())))
    assert places[0] == places[1] == places[2]
    assert board.plan.width() > 560
    assert board.plan.height() > 620


@pytest.mark.parametrize("size", [(960, 540), (1100, 800), (1280, 800), (1920, 1080)])
def test_the_verdict_with_its_worst_entry_is_in_sight_at_every_size(
    qtbot: QtBot, window: MainWindow, board: Workspace, session: Session, size: tuple[int, int]
) -> None:
    assert session.set_text("limits.gap_outer_least", "1.2", "gap")
    session.settle()
    window.resize(*size)
    qtbot.waitUntil(lambda: board.width() == window.width())
    QApplication.processEvents()
    panel, band = board.parts.verdicts, board.parts.band
    assert band.isVisible() is (size[0] < 1180 * QFontInfo(board.font()).pixelSize() / 13)
    if band.isVisible():
        assert "No-go" in band.accessibleName()
        assert not panel.isVisible()
        QTest.mouseClick(band, Qt.MouseButton.LeftButton)
    assert panel.isVisible()
    qtbot.waitUntil(lambda: not panel.answers.viewport().visibleRegion().isEmpty())
    assert board.plan.width() > board.forms.width()


def test_everything_that_takes_the_focus_has_a_name(board: Workspace) -> None:
    for number in range(3):
        board.go_to(number)
        for kind in (QAbstractButton, QLineEdit, QComboBox, QListView):
            for widget in board.findChildren(kind):
                if widget.isVisible() and widget.focusPolicy() is not Qt.FocusPolicy.NoFocus:
                    named = widget.accessibleName() or (widget.text() if isinstance(widget, QAbstractButton) else "")
                    assert named, widget


def test_f1_on_a_field_says_what_it_is_where_it_comes_from_and_its_figures(
    window: MainWindow, board: Workspace
) -> None:
    field(board, "limits.gap_outer_least")
    window.explain()
    sheet = QApplication.activePopupWidget()
    assert sheet is not None
    assert sheet.accessibleName() == "Limit: outer gap, least = 0.30 mm"
    assert "default" in sheet.explanation_shown.origin  # type: ignore[attr-defined]
    QTest.keyClick(sheet, Qt.Key.Key_Escape)
    assert QApplication.activePopupWidget() is None


def test_a_length_below_zero_has_its_sign_and_is_no_about_when_it_is_exact(board: Workspace, session: Session) -> None:
    for text, shown in (("-0.2", "−0.20"), ("-0.123", "−0.123"), ("0.2", "0.20")):
        assert session.set_text("limits.gap_inner_least", text, "inner gap")
        found = board.parts.verdicts.find_field("limits.gap_inner_least")
        assert isinstance(found, TextField)
        assert found.text() == shown


def test_f1_says_words_alone_of_every_field(board: Workspace, session: Session) -> None:
    for concern in board.parts.verdicts.concerns:
        concern.head.setChecked(True)
    limits = [f for concern in board.parts.verdicts.concerns if concern.form is not None for f in concern.form.fields()]
    assert len(limits) > 12
    for fields in (limits, *(board.step(number).fields() for number in range(3))):
        for each in fields:
            sheet = of_field(session.project, each.path, session.result)
            said = " ".join((sheet.title, sheet.meaning, sheet.origin, *sheet.figures))
            assert not set("{}_") & set(said), said
            assert "Sentence(" not in said


def test_f1_on_an_answer_gives_its_formula(window: MainWindow, board: Workspace) -> None:
    board.parts.verdicts.answers.choose(0)
    board.parts.verdicts.answers.setFocus()
    window.explain()
    sheet = QApplication.activePopupWidget()
    assert sheet is not None
    assert sheet.explanation_shown.figures  # type: ignore[attr-defined]
    sheet.close()


def test_f1_on_nothing_says_how_to_ask(window: MainWindow, board: Workspace) -> None:
    board.setFocus()
    window.explain()
    assert "F1" in window.hint.text()


def test_the_labels_follow_the_palette_from_light_to_dark(window: MainWindow, board: Workspace) -> None:
    application = QApplication.instance()
    assert isinstance(application, QApplication)
    light = application.palette()
    dark = QPalette(light)
    for role, colour in (("Window", "#2b2c2e"), ("WindowText", "#eeeeee"), ("Base", "#1e1f21"), ("Text", "#eeeeee")):
        dark.setColor(getattr(QPalette.ColorRole, role), QColor(colour))
    try:
        application.setPalette(dark)
        QApplication.sendPostedEvents(None, QEvent.Type.ApplicationPaletteChange)
        label = window.busy
        assert label.palette().color(label.foregroundRole()) == ink(dark).quiet
        assert ink(board.plan.palette()).paper == ink(dark).paper
    finally:
        application.setPalette(light)


def test_the_window_starts_without_the_heavy_modules() -> None:
    code = (
        "import sys; from PySide6.QtWidgets import QApplication; a = QApplication([]);"
        "from app.shell.window import MainWindow; w = MainWindow(); w.show(); a.processEvents();"
        "heavy = {'scipy', 'ezdxf', 'pyqtgraph'} & set(sys.modules); print(sorted(heavy))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=True)
    assert done.stdout.strip() == "[]"


@pytest.mark.parametrize("points", [0, 14])
def test_no_form_is_wider_than_its_column(board: Workspace, points: int) -> None:
    application = QApplication.instance()
    assert isinstance(application, QApplication)
    own = application.font()
    font = application.font()
    if points:
        font.setPointSize(points)
    try:
        application.setFont(font)
        QApplication.processEvents()
        most = board.fontMetrics().averageCharWidth() * _FORM_CHARS
        for way, _ in _WORDS:
            board.measure.choose(way)
            QApplication.processEvents()
            assert board._forms[0].minimumSizeHint().width() <= most, way
        board.measure.choose("sizes")
        for column in (*board._forms[1:], board.parts.export_column):
            assert column.minimumSizeHint().width() <= most
    finally:
        application.setFont(own)
