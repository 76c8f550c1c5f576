from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import pytest
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtGui import QImage
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QHBoxLayout, QWidget

from app.steps.dialogs import MeasuringDialogs
from app.steps.measure.candidates.state import NEW
from app.steps.measure.candidates.topic import CandidatesTopic
from app.widgets.fields import TextField
from core.files.candidates.file import load_library, save_to_library
from core.geometry.ovals.ovals import Family
from core.measure.candidates.table import LINES, cell_of
from core.part.materials import Material
from core.part.readings import Origin, SizeName
from core.words.lengths import Style
from core.words.verdicts import Verdict

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from pytestqt.qtbot import QtBot

    from app.session.session import Session
    from core.part.insert import Insert


@dataclass
class Files:
    """What the questions for files answer."""

    source: Path | None = None
    target: Path | None = None

    def dialogs(self) -> MeasuringDialogs:
        def nothing(_window: QWidget) -> Path | None:
            return None

        return MeasuringDialogs(nothing, nothing, lambda _window: self.source, lambda _window: self.target)


@pytest.fixture
def files() -> Files:
    return Files()


class Bench(QWidget):
    """The topic's form and board side by side, as the window shows them."""

    def __init__(self, session: Session, files: Files) -> None:
        super().__init__()
        self.topic = CandidatesTopic(session, files.dialogs(), self)
        row = QHBoxLayout(self)
        row.addWidget(self.topic.form)
        row.addWidget(self.topic.board, 1)
        self.resize(1000, 700)


@pytest.fixture
def session(demo_session: Session) -> Session:
    return demo_session


@pytest.fixture
def topic(qtbot: QtBot, session: Session, files: Files) -> Iterator[CandidatesTopic]:
    bench = Bench(session, files)
    qtbot.addWidget(bench)
    with qtbot.waitExposed(bench):
        bench.show()
    bench.activateWindow()
    wait(qtbot, bench.topic)
    yield bench.topic
    bench.topic.close_down()


def wait(qtbot: QtBot, topic: CandidatesTopic) -> None:
    qtbot.waitUntil(lambda: not topic.state.is_stale and not topic.state.is_running, timeout=60_000)


def near(session: Session, name: str = "nearly old") -> Insert:
    """As the old one, half a millimetre higher: the castings need nothing but a thicker spacer."""
    old = session.project.old_insert
    return replace(old, name=name, height=old.height + 0.5)


def click(button: QWidget) -> None:
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)


def names(topic: CandidatesTopic) -> list[str]:
    return [c.insert.name for c in topic.board.table.model_shown.candidates]


def test_the_new_insert_is_judged_at_once_and_the_board_says_what_to_do(topic: CandidatesTopic) -> None:
    assert names(topic) == ["new insert"]
    assert topic.board.alone.isVisible()
    assert not topic.board.take_button.isEnabled()
    assert not topic.form.remove_button.isEnabled()


def test_one_that_is_added_is_a_copy_of_the_new_insert_and_is_named_first(
    qtbot: QtBot, session: Session, topic: CandidatesTopic
) -> None:
    click(topic.form.add_button)
    (made,) = session.project.candidates
    assert made == replace(session.project.new_insert, name="candidate 1")
    assert session.undo_stack.undoText() == "add candidate"
    field = topic.form.focusWidget()
    assert isinstance(field, TextField)
    assert field.path == "candidates[0].name"
    wait(qtbot, topic)
    assert sorted(names(topic)) == ["candidate 1", "new insert"]
    assert not topic.board.alone.isVisible()


def test_what_is_typed_is_an_edit_of_the_project_and_is_compared_anew(
    qtbot: QtBot, session: Session, topic: CandidatesTopic
) -> None:
    topic.state.add([near(session)], "add")
    wait(qtbot, topic)
    field = topic.form.find_field("candidates[0].height")
    assert isinstance(field, TextField)
    field.setFocus(Qt.FocusReason.TabFocusReason)
    field.selectAll()
    QTest.keyClicks(field, "59.25")
    assert session.project.candidates[0].height == 59.25
    assert session.undo_stack.undoText() == "nearly old: free height"
    assert topic.state.is_stale
    before = topic.state.comparison
    assert before is not None  # what was found before stays in sight
    assert names(topic) == [c.insert.name for c in before.ranked]
    wait(qtbot, topic)
    assert topic.state.candidate is not None
    assert topic.state.candidate.insert.height == 59.25
    session.undo_stack.undo()
    assert session.project.candidates[0].height == near(session).height


def test_the_best_stands_at_the_left_and_an_impossible_one_at_the_right_with_its_reason(
    qtbot: QtBot, session: Session, topic: CandidatesTopic
) -> None:
    topic.state.add([replace(near(session, "too wide"), width=300.0), near(session)], "add")
    wait(qtbot, topic)
    assert names(topic) == ["nearly old", "new insert", "too wide"]
    topic.state.choose(1)
    assert "a width of 300.00 mm is more than the length" in topic.board.words.text()
    assert not topic.board.take_button.isEnabled()
    last = topic.board.table.model_shown.candidates[-1]
    assert cell_of(session.project.style, LINES[0], last).verdict is Verdict.NO_GO
    lengths = [cell_of(session.project.style, line, last).text for line in LINES if line.label == "Length"]
    assert lengths == ["212.00"]


def test_arrow_keys_go_from_candidate_to_candidate_and_the_form_follows(
    qtbot: QtBot, session: Session, topic: CandidatesTopic
) -> None:
    topic.state.add([near(session, "a"), near(session, "b")], "add")
    wait(qtbot, topic)
    table = topic.board.table
    table.setFocus()
    topic.state.choose(1)
    QTest.keyClick(table, Qt.Key.Key_Right)
    assert topic.state.chosen == 2
    assert topic.form.chooser.currentText() == "b"
    assert topic.form.find_field("candidates[1].name") is not None
    QTest.keyClick(table, Qt.Key.Key_Left)
    assert topic.form.chooser.currentText() == "a"
    assert "level with" in topic.board.words.text() or "ahead of" in topic.board.words.text()


def test_return_on_a_candidate_asks_for_its_fields(qtbot: QtBot, session: Session, topic: CandidatesTopic) -> None:
    topic.state.add([near(session)], "add")
    wait(qtbot, topic)
    topic.board.table.setFocus()
    with qtbot.waitSignal(session.asked_for) as asked:
        QTest.keyClick(topic.board.table, Qt.Key.Key_Return)
    assert asked.args == ["candidates[0].length"]
    assert topic.form.find_field("candidates[0].length") is not None


def test_one_click_makes_a_candidate_the_new_insert_and_keeps_the_one_before(
    qtbot: QtBot, session: Session, topic: CandidatesTopic
) -> None:
    start = session.project
    topic.state.add([near(session)], "add")
    wait(qtbot, topic)
    click(topic.board.take_button)
    new = session.project.new_insert
    assert (new.name, new.height) == ("nearly old", near(session).height)
    source = new.source(SizeName.HEIGHT)
    assert source is not None
    assert (source.origin, source.note) == (Origin.CANDIDATE, "nearly old")
    assert session.project.candidates == (start.new_insert,)
    assert session.undo_stack.undoText() == "nearly old as the new insert"
    assert topic.state.chosen == NEW
    session.undo_stack.undo()
    session.undo_stack.undo()
    assert session.project == start


def test_a_candidate_of_another_shape_can_be_taken_pressed(
    qtbot: QtBot, session: Session, topic: CandidatesTopic
) -> None:
    topic.state.add([replace(session.project.new_insert, name="other")], "add")
    wait(qtbot, topic)
    assert topic.board.press_button.isEnabled()
    click(topic.board.press_button)
    assert session.project.new_insert.pressed is not None
    assert session.project.new_insert.oval.family is session.project.old_insert.family


def test_a_rigid_candidate_can_not_be_taken_pressed(qtbot: QtBot, session: Session, topic: CandidatesTopic) -> None:
    topic.state.add([replace(session.project.new_insert, name="glass", material=Material.RIGID)], "add")
    wait(qtbot, topic)
    assert topic.board.take_button.isEnabled()
    assert not topic.board.press_button.isEnabled()


def test_removing_leaves_the_others_and_can_be_undone(qtbot: QtBot, session: Session, topic: CandidatesTopic) -> None:
    topic.state.add([near(session, "a"), near(session, "b")], "add")
    wait(qtbot, topic)
    click(topic.form.remove_button)
    assert [c.name for c in session.project.candidates] == ["b"]
    assert session.undo_stack.undoText() == "remove a"
    wait(qtbot, topic)
    click(topic.form.remove_button)
    assert topic.form.chooser.count() == 0
    assert not topic.form.save_button.isEnabled()
    session.undo_stack.undo()
    assert topic.form.chooser.currentText() == "b"
    wait(qtbot, topic)


def test_a_circle_takes_one_size_for_both_and_the_fields_follow_the_shape(
    qtbot: QtBot, session: Session, topic: CandidatesTopic
) -> None:
    topic.state.add([near(session)], "add")
    chooser = topic.form.find_field("candidates[0].family")
    assert topic.form.find_field("candidates[0].end_radius") is None
    chooser.setCurrentIndex(chooser.findData("four_arc"))  # type: ignore[union-attr]
    chooser.activated.emit(chooser.currentIndex())  # type: ignore[union-attr]
    assert topic.form.find_field("candidates[0].end_radius") is not None
    chooser = topic.form.find_field("candidates[0].family")
    chooser.setCurrentIndex(chooser.findData("circle"))  # type: ignore[union-attr]
    chooser.activated.emit(chooser.currentIndex())  # type: ignore[union-attr]
    made = session.project.candidates[0]
    assert made.family is Family.CIRCLE
    assert made.width == made.length
    field = topic.form.find_field("candidates[0].width")
    assert isinstance(field, TextField)
    field.setFocus(Qt.FocusReason.TabFocusReason)
    field.selectAll()
    QTest.keyClicks(field, "150")
    assert session.project.candidates[0].length == 150.0
    wait(qtbot, topic)


def test_a_table_adds_its_candidates_and_says_what_it_took_from_elsewhere(
    qtbot: QtBot, session: Session, topic: CandidatesTopic, files: Files, tmp_path: Path
) -> None:
    files.source = tmp_path / "catalogue.csv"
    files.source.write_text('name;length;width [mm]\nA;8 5/8";134\nB;214;136\n', "utf-8")
    click(topic.form.table_button)
    assert [c.name for c in session.project.candidates] == ["A", "B"]
    assert session.project.candidates[0].length == pytest.approx(219.075)  # 1 in = 25.4 mm exactly
    assert session.undo_stack.count() == 1
    said = topic.form.remarks.text()
    assert said.startswith("2 candidates from catalogue.csv; no column, so taken from “new insert”: shape obround")
    assert "lengths without a unit were read in mm" in said
    assert topic.form.chooser.currentText() == "A"
    wait(qtbot, topic)


def test_a_bad_row_is_named_in_the_form_and_the_others_are_added(
    qtbot: QtBot, session: Session, topic: CandidatesTopic, files: Files, tmp_path: Path
) -> None:
    files.source = tmp_path / "catalogue.csv"
    files.source.write_bytes("sep=;\nname;shape;length\nHülse;round;90\nB;egg;214\nC;obround;215\n".encode("latin-1"))
    click(topic.form.table_button)
    assert [c.name for c in session.project.candidates] == ["Hülse", "C"]
    assert session.project.candidates[0].width == 90.0
    said = topic.form.remarks.text()
    assert "left out: line 4, column 2 (“shape”): expected one of circle" in said
    assert "not UTF-8" in said
    wait(qtbot, topic)


def test_a_file_that_can_not_be_read_is_told_in_the_form_and_changes_nothing(
    session: Session, topic: CandidatesTopic, files: Files, tmp_path: Path
) -> None:
    start = session.project
    files.source = tmp_path / "wrong.csv"
    files.source.write_text("length;shape\n212;egg\n", "utf-8")
    click(topic.form.table_button)
    assert "line 2, column 2" in topic.form.refusal.text()
    assert topic.form.refusal.isVisible()
    assert session.project == start


def test_a_library_is_written_and_read_again(
    qtbot: QtBot, session: Session, topic: CandidatesTopic, files: Files, tmp_path: Path
) -> None:
    files.target = files.source = tmp_path / "mine.json"
    save_to_library((near(session, "held already"),), files.target)
    topic.state.add([near(session)], "add")
    click(topic.form.save_button)
    assert [i.name for i in load_library(files.target)] == ["held already", "nearly old"]
    assert topic.form.remarks.text() == "1 saved to mine.json beside the 1 that it held; the version before is kept."
    click(topic.form.library_button)
    assert [c.name for c in session.project.candidates] == ["nearly old", "held already", "nearly old 2"]
    wait(qtbot, topic)


def test_a_change_of_mind_about_a_file_changes_nothing(session: Session, topic: CandidatesTopic) -> None:
    start = session.project
    for button in (topic.form.table_button, topic.form.library_button):
        click(button)
    assert session.project == start
    assert not topic.form.refusal.isVisible()


def test_comparing_can_be_stopped_and_begun_again(qtbot: QtBot, session: Session, topic: CandidatesTopic) -> None:
    topic.state.add([near(session, f"n{i}") for i in range(30)], "add")
    assert topic.board.stop_button.text() == "Stop"
    click(topic.board.stop_button)
    assert not topic.state.is_running
    assert topic.board.status.text() == "not up to date"
    assert topic.board.stop_button.text() == "Compare"
    session.change("remove all", lambda p: replace(p, candidates=p.candidates[:1]))
    wait(qtbot, topic)
    assert not topic.board.stop_button.isVisible()


def test_nothing_is_compared_while_nobody_looks(qtbot: QtBot, session: Session, topic: CandidatesTopic) -> None:
    topic.board.hide()
    topic.state.add([near(session)], "add")
    assert (topic.state.is_running, topic.state.is_stale) == (False, True)
    topic.board.show()
    assert (topic.state.is_running, topic.state.is_stale) == (True, True)
    wait(qtbot, topic)


def test_another_unit_shows_the_same_comparison_in_it(session: Session, topic: CandidatesTopic) -> None:
    found = topic.state.comparison
    session.set_value("style", Style.INCH, "inches")
    assert not topic.state.is_running
    assert topic.state.comparison is found
    assert topic.board.status.text() == "lengths in inches"
    row = next(i for i, line in enumerate(LINES) if line.label == "Length")
    assert topic.board.table.model_shown.cell(row, 0).text == "8.630"
    assert " mm" not in topic.board.words.text()


def test_every_figure_of_the_table_can_be_asked(qtbot: QtBot, session: Session, topic: CandidatesTopic) -> None:
    topic.state.add([near(session)], "add")
    wait(qtbot, topic)
    table = topic.board.table
    for row, line in enumerate(LINES):
        for column in range(2):
            table.setCurrentIndex(table.model_shown.index(row, column))
            sheet = table.explanation()
            assert sheet is not None
            assert sheet.meaning == line.meaning
            assert table.model_shown.cell(row, column).text in sheet.title


def test_the_drawing_tells_how_far_the_rim_reaches_past_the_old_one(session: Session, topic: CandidatesTopic) -> None:
    old, new = session.project.old_insert, session.project.new_insert
    texts = [words for _, words in topic.board.drawing.notes()]
    # Half the growth of length and width at the ends of the axes.
    assert texts == [
        f"greatest +{(new.length - old.length) / 2.0:.2f} mm",
        f"least +{(new.width - old.width) / 2.0:.2f} mm",
    ]


def test_what_is_out_of_date_is_drawn_pale(qtbot: QtBot, session: Session, topic: CandidatesTopic) -> None:
    def darkness(image: QImage) -> int:
        small = image.convertToFormat(QImage.Format.Format_Grayscale8)
        return sum(255 - v for v in bytes(small.constBits()))

    viewport = topic.board.table.viewport()
    fresh = darkness(viewport.grab().toImage())
    topic.board.hide()  # nobody looks, so nothing is compared
    session.set_value("new_insert.height", 61.0, "height")
    assert topic.state.is_stale
    assert darkness(viewport.grab().toImage()) < 0.95 * fresh
    topic.board.show()
    wait(qtbot, topic)
    assert darkness(viewport.grab().toImage()) > 0.95 * fresh


def test_an_impossible_candidate_is_refused_on_the_board_not_in_a_dialog(
    qtbot: QtBot, session: Session, topic: CandidatesTopic
) -> None:
    topic.state.add([replace(near(session), width=300.0)], "add")
    wait(qtbot, topic)
    start = session.project
    assert not topic.state.make_new(0)
    assert session.project == start
    assert topic.board.refusal.isVisible()
    assert "300.00 mm is more than the length" in topic.board.refusal.text()


def test_the_tab_key_goes_from_the_buttons_through_the_fields_to_the_files(
    qtbot: QtBot, session: Session, topic: CandidatesTopic
) -> None:
    topic.state.add([near(session, "a"), near(session, "b")], "add")
    wait(qtbot, topic)
    topic.state.choose(2)  # its fields are made anew
    topic.form.remove_button.setFocus()
    paths: list[str] = []
    while topic.form.focusWidget() is not topic.form.table_button:
        QTest.keyClick(topic.form.focusWidget(), Qt.Key.Key_Tab)
        paths.append(getattr(topic.form.focusWidget(), "path", ""))
        assert len(paths) < 20
    assert paths[:3] == [f"candidates[1].{name}" for name in ("name", "family", "length")]
    assert all(path.startswith("candidates[1].") for path in paths if path)
