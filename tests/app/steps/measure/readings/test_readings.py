"""The readings' page as a caster uses it: table, drawing, sizes, shape.

Figures of ovals of 240 × 140 follow from the families' closed forms: they stand beside the check, or were worked out
once from them, apart from this program.
"""

from __future__ import annotations

import re
from math import cos, hypot, radians, sqrt
from typing import TYPE_CHECKING

import pytest
from msgspec.structs import replace
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QComboBox, QHBoxLayout, QLineEdit, QWidget

import app.session.results
from app.session.session import Session
from app.steps.dialogs import MeasuringDialogs
from app.steps.measure.readings.board import ReadingsBoard
from app.steps.measure.readings.desk import Desk
from app.steps.measure.readings.drawing import InsertDrawing
from app.steps.measure.readings.model import MARK_ROLE
from app.steps.measure.readings.scene import scene
from app.steps.measure.readings.topic import ReadingsForm, ReadingsTopic
from app.widgets.column import Column as FormColumn
from core import edits
from core.files.project.demos import load_demo
from core.geometry.ovals.ovals import Family, Oval, measured_oval, oval_outline
from core.measure.readings.kinds import KIND_WORDS
from core.measure.readings.results import Decision
from core.measure.table.columns import FIRST_SAMPLE, Column
from core.part.insert import Pressed
from core.part.readings import Instrument, Origin, Reading, ReadingKind, Readings, SizeName
from core.words.lengths import Style

if TYPE_CHECKING:
    from collections.abc import Iterator

    from PySide6.QtWidgets import QAbstractButton
    from pytestqt.qtbot import QtBot

    from app.steps.measure.readings.marks import LaidMark

_LEFT = Qt.MouseButton.LeftButton
_NONE = Qt.KeyboardModifier.NoModifier
_K = ReadingKind
# 240 x 140: length, width, jaws at 45°, width 60 mm and 90 mm from the middle.
OBROUND = (240.0, 140.0, 210.7, 138.6, 114.9)
ELLIPSE = (240.0, 140.0, 196.5, 121.2, 92.6)


class Bench(QWidget):
    """Form and board beside each other, as wide as in a window of 1280 × 800."""

    def __init__(self, session: Session) -> None:
        super().__init__()
        self.session = session
        nobody = MeasuringDialogs(lambda _: None, lambda _: None, lambda _: None, lambda _: None)
        self.topic = ReadingsTopic(session, nobody, self)
        assert isinstance(self.topic.board, ReadingsBoard)
        assert isinstance(self.topic.form, ReadingsForm)
        self.board, self.form = self.topic.board, self.topic.form
        self.view, self.drawing = self.board.view, self.board.drawing
        self.before = QLineEdit(self)
        self.column = FormColumn(self.form, self)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        for part, stretch in ((self.before, 0), (self.column, 0), (self.board, 1)):
            row.addWidget(part, stretch)
        self.before.setFixedWidth(20)
        self.column.setFixedWidth(330)
        self.resize(20 + 330 + 560 + 12, 600)

    @property
    def readings(self) -> Readings:
        return self.session.project.new_insert.readings

    def put(self, rows: tuple[Reading, ...], samples: tuple[str, ...] = ("A", "B", "C")) -> None:
        """Another table, as if it had been typed."""
        before = self.session.project.new_insert.readings
        self.session.set_value("new_insert.readings", replace(before, samples=samples, rows=rows), "table")

    def put_insert(self, family: Family, length: float, width: float) -> None:
        insert = replace(self.session.project.new_insert, family=family, length=length, width=width)
        self.session.set_value("new_insert", insert, "insert")

    def go_to(self, row: int, column: int) -> None:
        self.view.setFocus(Qt.FocusReason.TabFocusReason)
        self.view.setCurrentIndex(self.view.table.index(row, column))

    def editor(self) -> QWidget:
        found = QApplication.focusWidget()
        return self.view if found is None else found

    def type(self, text: str, key: Qt.Key = Qt.Key.Key_Return) -> None:
        """Type into the current cell and end with a key."""
        QTest.keyClicks(self.view, text[:1])
        QTest.keyClicks(self.editor(), text[1:])
        QTest.keyClick(self.editor(), key)

    def text(self, row: int, column: Column) -> str:
        numbers = [c for c in range(self.view.table.columnCount()) if self.view.table.column(c) is column]
        return str(self.view.table.index(row, numbers[0]).data())

    @property
    def cell(self) -> tuple[int, int]:
        index = self.view.currentIndex()
        return index.row(), index.column()

    def mark(self, row: int) -> LaidMark:
        return next(mark for mark in self.drawing.laid() if mark.row == row)


@pytest.fixture
def bench(qtbot: QtBot, session: Session) -> Iterator[Bench]:
    made = Bench(session)
    qtbot.addWidget(made)
    with qtbot.waitExposed(made):
        made.show()
    made.activateWindow()
    made.before.setFocus()
    yield made
    made.topic.close_down()


def rows_of(family: tuple[float, ...], *, spread: float = 0.04) -> tuple[Reading, ...]:
    """The readings of a family on three samples, each a little larger than the one before."""
    length, width, jaws, half, three_quarters = ((v - spread, v, v + spread) for v in family)
    return (
        Reading(_K.LENGTH, length),
        Reading(_K.WIDTH, width),
        Reading(_K.JAWS, jaws, angle=45.0),
        Reading(_K.WIDTH_AT, half, along=60.0),
        Reading(_K.WIDTH_AT, three_quarters, along=90.0),
    )


def click(button: QAbstractButton) -> None:
    assert button.isVisible()
    assert button.isEnabled()
    QTest.mouseClick(button, _LEFT)


# The table


def test_one_click_starts_a_table_of_three_samples_and_the_usual_rows(session: Session, bench: Bench) -> None:
    assert not bench.view.isVisible()
    click(bench.board.start_button)
    assert bench.view.isVisible()
    assert len(bench.readings.samples) == 3
    kinds = [row.kind for row in bench.readings.rows]
    assert kinds == [
        _K.LENGTH, _K.WIDTH, _K.JAWS, _K.WIDTH_AT, _K.RIM_WIDTH, _K.RIM_WIDTH, _K.RIM_THICKNESS, _K.HEIGHT, _K.TAPE,
    ]  # fmt: skip
    assert bench.readings.rows[2].angle == 45.0
    assert bench.readings.rows[3].along == 50.0  # a quarter of the insert's 200 mm
    assert bench.readings.rows[8].along == 0.2
    assert session.undo_stack.count() == 1
    assert bench.cell == (0, FIRST_SAMPLE)


def test_return_goes_down_a_sample_and_then_to_the_top_of_the_next(bench: Bench) -> None:
    click(bench.board.start_button)
    typed = ["240", "140", "210.7", "138.6", "12", "12.1", "10", "55", "640.4"]
    for text in typed:
        bench.type(text)
    assert [row.values for row in bench.readings.rows] == [(float(text),) for text in typed]
    assert bench.cell == (0, FIRST_SAMPLE + 1)
    bench.type("240.2")
    assert bench.readings.rows[0].values == (240.0, 240.2)


def test_the_tabulator_goes_along_the_row_and_past_what_only_follows(bench: Bench) -> None:
    click(bench.board.start_button)
    for text in ("240", "240.1", "240.2"):
        bench.type(text, Qt.Key.Key_Tab)
    assert bench.readings.rows[0].values == (240.0, 240.1, 240.2)
    assert bench.view.table.column(bench.cell[1]) is Column.INSTRUMENT
    QTest.keyClick(bench.view, Qt.Key.Key_Tab)
    assert bench.cell == (1, 2)  # the next row's place: a width has no figure to type
    QTest.keyClick(bench.view, Qt.Key.Key_Backtab)
    assert bench.cell[0] == 0


def test_the_tabulator_leaves_the_table_at_its_ends(bench: Bench) -> None:
    bench.put((Reading(_K.LENGTH),), samples=("A",))
    bench.go_to(0, bench.view.table.columnCount() - 1)
    QTest.keyClick(bench.view, Qt.Key.Key_Tab)
    assert not bench.view.hasFocus()
    bench.go_to(0, 2)
    QTest.keyClick(bench.view, Qt.Key.Key_Backtab)
    assert not bench.view.hasFocus()


def test_arrows_leave_a_cell_and_take_what_was_typed(bench: Bench) -> None:
    click(bench.board.start_button)
    bench.go_to(1, FIRST_SAMPLE)
    bench.type("140", Qt.Key.Key_Up)
    assert bench.cell == (0, FIRST_SAMPLE)
    bench.type("240", Qt.Key.Key_Down)
    assert bench.cell == (1, FIRST_SAMPLE)
    assert [row.values for row in bench.readings.rows[:2]] == [(240.0,), (140.0,)]


@pytest.mark.parametrize(
    ("style", "text", "mm"),
    [
        (Style.MM, "9 1/2 in - 1,3", 240.0),
        (Style.INCH, "9.5", 241.3),
        (Style.FRACTION, "9 1/2", 241.3),
        (Style.FRACTION, "240 mm", 240.0),
    ],
)
def test_a_cell_reads_any_form_of_length(session: Session, bench: Bench, style: Style, text: str, mm: float) -> None:
    click(bench.board.start_button)
    session.set_value("style", str(style), "unit")
    bench.go_to(0, FIRST_SAMPLE)
    bench.type(text)
    assert list(bench.readings.rows[0].values) == pytest.approx([mm])


def test_a_refused_text_stays_in_its_cell_with_the_reason_below_until_it_is_given_up(bench: Bench) -> None:
    click(bench.board.start_button)
    bench.type("24x")
    assert bench.readings.rows[0].values == ()
    assert bench.cell == (0, FIRST_SAMPLE)  # Return did not go on
    assert isinstance(bench.editor(), QLineEdit)
    assert "“x”" in bench.board.remarks.refused.text()
    bench.before.setFocus()  # nor is it forgotten when one looks elsewhere
    index = bench.view.table.index(0, FIRST_SAMPLE)
    assert index.data() == "24x"
    assert index.data(MARK_ROLE).is_refused
    bench.go_to(0, FIRST_SAMPLE)
    QTest.keyClick(bench.view, Qt.Key.Key_Escape)
    assert index.data() == ""
    assert not bench.board.remarks.refused.isVisible()


def test_escape_in_a_cell_gives_back_what_was_there(session: Session, bench: Bench) -> None:
    bench.put((Reading(_K.LENGTH, (240.0,)),))
    steps = session.undo_stack.count()
    bench.go_to(0, FIRST_SAMPLE)
    bench.type("99", Qt.Key.Key_Escape)
    assert bench.readings.rows[0].values == (240.0,)
    assert session.undo_stack.count() == steps


def test_typed_and_emptied_again_is_the_project_that_there_was(session: Session, bench: Bench) -> None:
    click(bench.board.start_button)
    before = session.project
    bench.go_to(0, FIRST_SAMPLE + 2)
    bench.type("240")
    assert bench.readings.rows[0].values == (None, None, 240.0)
    bench.go_to(0, FIRST_SAMPLE + 2)
    QTest.keyClick(bench.view, Qt.Key.Key_Delete)
    assert session.project == before


def test_each_value_is_one_step_named_after_its_cell(session: Session, bench: Bench) -> None:
    click(bench.board.start_button)
    bench.go_to(2, FIRST_SAMPLE)
    bench.type("210.7")
    assert session.undo_stack.undoText() == "new insert: across jaws, 45°, A"
    session.undo_stack.undo()
    assert bench.readings.rows[2].values == ()
    assert bench.text(2, Column.SAMPLE) == ""


def test_undo_keys_while_typing_undo_the_project(session: Session, bench: Bench) -> None:
    click(bench.board.start_button)
    bench.type("240")
    QTest.keyClicks(bench.view, "1")
    editor = bench.editor()
    assert isinstance(editor, QLineEdit)
    QTest.keyClick(editor, Qt.Key.Key_Z, Qt.KeyboardModifier.ControlModifier)
    session.undo_stack.undo()  # the menu's, which the key is left to
    assert bench.readings.rows[0].values == ()
    assert bench.readings.rows[1].values == ()


def test_what_is_typed_is_taken_before_it_is_saved(bench: Bench) -> None:
    click(bench.board.start_button)
    QTest.keyClicks(bench.view, "2")
    QTest.keyClicks(bench.editor(), "40")
    QTest.keyClick(bench.editor(), Qt.Key.Key_S, Qt.KeyboardModifier.ControlModifier)
    assert bench.readings.rows[0].values == (240.0,)


def test_closing_down_puts_an_open_cell_away_and_changes_nothing(session: Session, bench: Bench) -> None:
    click(bench.board.start_button)
    before = session.project
    QTest.keyClicks(bench.view, "2")
    assert isinstance(bench.editor(), QLineEdit)
    bench.topic.close_down()
    bench.before.setFocus()
    assert session.project == before


@pytest.mark.parametrize(
    ("row", "text", "field", "value"),
    [
        (Reading(_K.JAWS, angle=45.0), "30°", "angle", 30.0),
        (Reading(_K.JAWS, angle=45.0), "22,5 deg", "angle", 22.5),
        (Reading(_K.WIDTH_AT), "2 in", "along", 50.8),
        (Reading(_K.HEIGHT), "200 g", "weight", 200.0),
        (Reading(_K.HEIGHT, weight=200.0), "free", "weight", None),
        (Reading(_K.ROLL), "3 turns", "turns", 3),
    ],
)
def test_a_rows_figure_is_typed_with_or_without_its_unit(
    bench: Bench, row: Reading, text: str, field: str, value: object
) -> None:
    bench.put((row,))
    bench.go_to(0, 1)
    bench.type(text)
    assert getattr(bench.readings.rows[0], field) == value


def test_a_slow_model_keeps_what_is_typed_in_sight_and_goes_to_the_row_that_is_made_later(
    qtbot: QtBot, session: Session, bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    bench.put((Reading(_K.LENGTH, (240.0,)), Reading(_K.WIDTH)))
    monkeypatch.setattr(app.session.results, "SLOW_S", -1.0)
    session._results.seconds.append(1.0)
    bench.go_to(0, FIRST_SAMPLE)
    bench.type("241")
    assert session.is_busy
    assert bench.text(0, Column.SAMPLE) == "241"
    assert bench.cell == (1, FIRST_SAMPLE)
    bench.type("140")
    bench.board.add(_K.JAWS)
    qtbot.waitUntil(lambda: not session.is_busy, timeout=60_000)
    assert [row.values for row in bench.readings.rows] == [(241.0,), (140.0,), ()]
    assert bench.text(0, Column.SAMPLE) == "241.00"
    assert bench.cell[0] == 2


def test_a_slow_model_that_refuses_a_value_says_so_at_its_cell(
    qtbot: QtBot, session: Session, bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    bench.put((Reading(_K.WIDTH, (120.0,)),))
    click(bench.form.sizes.rows[SizeName.WIDTH].button)
    monkeypatch.setattr(app.session.results, "SLOW_S", -1.0)
    session._results.seconds.append(1.0)
    bench.go_to(0, FIRST_SAMPLE)
    bench.type("220")  # the insert uses the reading, and would be wider than its 200 mm
    qtbot.waitUntil(lambda: not session.is_busy, timeout=60_000)
    assert bench.readings.rows[0].values == (120.0,)
    assert bench.text(0, Column.SAMPLE) == "220"
    assert "220.00 mm is more than the length" in bench.board.remarks.refused.text()


def test_rims_and_instruments_are_chosen_from_a_list(bench: Bench) -> None:
    bench.put((Reading(_K.RIM_WIDTH),))
    for column, word in ((1, "lid"), (bench.view.table.columnCount() - 1, "rule")):
        bench.go_to(0, column)
        QTest.keyClick(bench.view, Qt.Key.Key_F2)
        box = bench.editor()
        assert isinstance(box, QComboBox)
        box.setCurrentIndex(box.findText(word))
        QTest.keyClick(box, Qt.Key.Key_Return)
    assert str(bench.readings.rows[0].end) == "lid"
    assert bench.readings.rows[0].instrument is Instrument.RULE


def test_what_a_row_lacks_is_said_in_its_cell_and_below(bench: Bench) -> None:
    bench.put((Reading(_K.JAWS, (210.7, 210.8)),))
    assert bench.text(0, Column.FIGURE) == "angle?"
    assert "angle missing" in bench.board.remarks.quiet.text()
    bench.go_to(0, 1)
    bench.type("45")
    assert bench.text(0, Column.FIGURE) == "45°"
    assert "missing" not in bench.board.remarks.quiet.text()


def test_a_height_under_one_weight_says_what_else_it_needs(bench: Bench) -> None:
    bench.put((Reading(_K.HEIGHT, (61.4, 61.5), weight=200.0),))
    assert "under one weight give no free height" in bench.board.remarks.quiet.text()
    bench.put((Reading(_K.HEIGHT, (61.4, 61.5), weight=200.0), Reading(_K.HEIGHT, (61.0, 61.1), weight=500.0)))
    assert "one weight" not in bench.board.remarks.quiet.text()


def test_a_value_that_stands_out_is_marked_at_its_cell_with_the_reason_below(bench: Bench) -> None:
    # A slipped digit: 18.9 for 15.9.
    bench.put((Reading(_K.RIM_WIDTH, (15.9, 15.8, 18.9)),))
    marks = [bench.view.table.index(0, FIRST_SAMPLE + i).data(MARK_ROLE).outlier for i in range(3)]
    assert marks[:2] == [None, None]
    assert marks[2].value == 18.9
    assert bench.board.remarks.outliers.isVisible()
    assert bench.board.remarks.outliers.text().startswith("▲ Row 1, C: 18.90 mm is")
    bench.go_to(0, FIRST_SAMPLE + 2)
    bench.type("15.85")
    assert not bench.board.remarks.outliers.isVisible()


def test_mean_and_its_interval_follow_each_value(bench: Bench) -> None:
    # Student's t for 2 degrees of freedom is 4.303 (published tables); s = 0.1, n = 3; a calliper of 0.02 mm adds
    # hardly anything: 4.303 × 0.1 × √(1 + 1/3) = 0.497 for the next one bought, half as much for the mean.
    bench.put((Reading(_K.LENGTH, (239.9, 240.0, 240.1)),))
    assert bench.text(0, Column.MEAN) == "240.00"
    assert float(bench.text(0, Column.PLUS_MINUS)) == pytest.approx(0.497, abs=0.01)
    sheet = bench.form.sizes.rows[SizeName.LENGTH]
    assert sheet.value.text() == "240.00 mm ± 0.50 mm"
    assert sheet.words.text() == ("± for the next one bought; the mean is known to within 0.25 mm; mean of 3 samples.")
    bench.go_to(0, FIRST_SAMPLE)
    bench.view.setFocus()
    explained = bench.view.explanation()
    assert explained is not None
    assert any("(239.90 + 240.00 + 240.10) / 3 = 240.00" in line for line in explained.figures)


def test_every_kind_of_reading_can_be_added_and_removed(session: Session, bench: Bench) -> None:
    click(bench.board.start_button)
    before = session.project
    for action, kind in zip(bench.board.kinds.actions(), KIND_WORDS, strict=True):
        action.trigger()
        assert bench.readings.rows[-1].kind is kind
        assert bench.cell[0] == len(bench.readings.rows) - 1
    for _ in KIND_WORDS:
        click(bench.board.remove_button)
    assert session.project == before


def test_samples_are_added_renamed_and_removed_with_their_values(bench: Bench) -> None:
    def names() -> list[str]:
        return list(bench.readings.samples)

    bench.put((Reading(_K.LENGTH, (240.0, 241.0, 242.0)),))
    click(bench.board.add_sample)
    assert names() == ["A", "B", "C", "D"]
    bench.go_to(0, FIRST_SAMPLE + 1)
    click(bench.board.rename_sample)
    editor = bench.editor()
    assert isinstance(editor, QLineEdit)
    QTest.keyClicks(editor, "box 2")
    QTest.keyClick(editor, Qt.Key.Key_Return)
    assert names() == ["A", "box 2", "C", "D"]
    bench.go_to(0, FIRST_SAMPLE + 1)
    click(bench.board.remove_sample)
    assert names() == ["A", "C", "D"]
    assert bench.readings.rows[0].values == (240.0, 242.0)


def test_a_sample_without_a_name_is_refused_below_the_table(bench: Bench) -> None:
    bench.put((Reading(_K.LENGTH),))
    bench.go_to(0, FIRST_SAMPLE)
    click(bench.board.rename_sample)
    editor = bench.editor()
    assert isinstance(editor, QLineEdit)
    editor.clear()
    QTest.keyClick(editor, Qt.Key.Key_Return)
    assert bench.readings.samples == ("A", "B", "C")
    assert bench.board.remarks.refused.text().startswith("Sample's name: ")


def test_a_table_of_three_samples_needs_no_scrolling_sideways(bench: Bench) -> None:
    click(bench.board.start_button)
    for text in ("240", "140", "210.7", "138.6", "12", "12.1", "10", "55", "640.4"):
        bench.type(text)
    assert bench.view.horizontalScrollBar().maximum() == 0


def test_the_switch_turns_to_the_readings_of_the_old_insert(session: Session, bench: Bench) -> None:
    click(bench.board.start_button)
    bench.type("240")
    click(bench.board.owners.button("old_insert"))
    assert not bench.view.isVisible()
    click(bench.board.start_button)
    bench.type("212")
    assert session.project.old_insert.readings.rows[0].values == (212.0,)
    assert bench.readings.rows[0].values == (240.0,)
    assert "old insert" in bench.form.sizes_head.text()


# The drawing


def size_of(bench: Bench, row: int) -> float:
    """Length of the longest line that a row is drawn with [mm]."""
    return max(line.length() for line in bench.mark(row).lines) / bench.drawing.camera.scale


def test_dimensions_are_drawn_as_long_as_the_insert_reads_there(bench: Bench) -> None:
    bench.put_insert(Family.OBROUND, 240.0, 140.0)
    bench.put(rows_of(OBROUND))
    for row, published in enumerate(OBROUND):
        assert size_of(bench, row) == pytest.approx(published, abs=0.15)
    bench.put_insert(Family.ELLIPSE, 240.0, 140.0)
    bench.put(rows_of(ELLIPSE))
    for row, published in enumerate(ELLIPSE):
        assert size_of(bench, row) == pytest.approx(published, abs=0.15)


def test_jaws_are_drawn_along_the_direction_that_they_measure(bench: Bench) -> None:
    bench.put((Reading(_K.JAWS, (180.0,), angle=30.0),))
    line = max(bench.mark(0).lines, key=lambda line: line.length())
    assert line.angle() % 180.0 == pytest.approx(30.0, abs=1e-6)  # Qt's angles run counter-clockwise too
    # Obround: (L - W) cos 30° + W.
    assert line.length() / bench.drawing.camera.scale == pytest.approx(80.0 * cos(radians(30.0)) + 120.0, abs=0.05)


@pytest.mark.parametrize("family", [f for f in Family if f is not Family.MEASURED])
def test_every_kind_of_row_is_drawn_within_the_board_for_every_family(bench: Bench, family: Family) -> None:
    wide = 200.0 if family is Family.CIRCLE else 120.0
    bench.put_insert(family, 200.0, wide)
    given = {"angle": 45.0, "along": 40.0, "turns": 3, "weight": 200.0}
    rows = []
    for kind, words in KIND_WORDS.items():
        figure = {words.field: given[words.field]} if words.field in given else {}
        rows.append(replace(Reading(kind, (50.0, 50.1)), **figure))
    bench.put(tuple(rows))
    laid = bench.drawing.laid()
    assert [mark.row for mark in laid] == list(range(len(KIND_WORDS)))
    room = bench.drawing.rect().toRectF()
    for mark in laid:
        assert mark.lines or mark.paths
        assert room.contains(mark.box), KIND_WORDS[rows[mark.row].kind].name
    for i, mark in enumerate(laid):
        overlapped = [other.row for other in laid[i + 1 :] if other.box.intersects(mark.box)]
        assert not overlapped, f"figure {mark.row + 1} covers those of rows {overlapped}"


@pytest.mark.parametrize("style", ["mm", "in", "fraction"])
@pytest.mark.parametrize(
    ("size", "has_figures"), [((360, 300), False), ((498, 347), None), ((600, 347), None), ((1150, 480), True)]
)
def test_the_demos_figures_never_cover_each_other_and_give_way_to_bare_numbers(
    qtbot: QtBot, style: str, size: tuple[int, int], *, has_figures: bool | None
) -> None:
    session = Session(edits.set_text(load_demo("pump-strainer"), "style", style))
    desk = Desk(session)
    drawing = InsertDrawing(desk)
    qtbot.addWidget(drawing)
    drawing.resize(*size)
    drawing.fit()
    laid = drawing.laid()
    session.close()
    assert len(laid) == len(session.project.new_insert.readings.rows)
    if has_figures is not None:  # between the two it depends on the font
        assert all(bool(mark.figure) is has_figures for mark in laid)
    for i, mark in enumerate(laid):
        assert not [other.row for other in laid[i + 1 :] if other.box.intersects(mark.box)], mark.row


def test_a_measured_outline_is_drawn_with_its_readings_and_gives_rims_and_height(bench: Bench) -> None:
    ellipse = measured_oval(oval_outline(Oval(Family.ELLIPSE, 240.0, 140.0)))
    insert = replace(
        bench.session.project.new_insert,
        family=Family.MEASURED,
        length=ellipse.length,
        width=ellipse.width,
        outline=ellipse.vertices,
    )
    bench.session.set_value("new_insert", insert, "insert")
    bench.put((*rows_of(ELLIPSE), Reading(_K.HEIGHT, (55.0, 55.1)), Reading(_K.RIM_WIDTH, (12.0, 12.1))))
    for row, published in enumerate(ELLIPSE):
        assert size_of(bench, row) == pytest.approx(published, abs=0.15)
    shown = [name for name, size in bench.form.sizes.rows.items() if size.isVisible()]
    assert shown == [SizeName.HEIGHT, SizeName.RIM_WIDTH]


def test_a_pressed_rim_too_tight_for_its_free_oval_is_drawn_without_its_inner_edge(bench: Bench) -> None:
    # The tightest radius of the ellipse, b² / a, is 15 mm: less than the rim is wide. Pressed to an obround it is 42.
    insert = bench.session.project.new_insert
    free = replace(insert, family=Family.ELLIPSE, length=240.0, width=84.85, rim=replace(insert.rim, width=18.0))
    free = replace(free, pressed=Pressed(Family.OBROUND, 84.0))
    assert len(scene(free).rims) == 1


def test_a_row_without_its_figure_is_not_drawn_anywhere(bench: Bench) -> None:
    bench.put((Reading(_K.JAWS, (210.7,)), Reading(_K.LENGTH, (240.0,))))
    assert [mark.row for mark in bench.drawing.laid()] == [1]


def test_the_row_that_is_typed_in_is_lit(bench: Bench) -> None:
    click(bench.board.start_button)
    assert bench.drawing.lit_rows() == (0,)
    bench.type("240")
    assert bench.drawing.lit_rows() == (1,)


def test_a_click_on_a_dimension_goes_to_its_rows_first_missing_value(bench: Bench) -> None:
    bench.put_insert(Family.OBROUND, 240.0, 140.0)
    bench.put((*rows_of(OBROUND)[:2], Reading(_K.JAWS, (210.7,), angle=45.0)))
    QTest.mouseClick(bench.drawing, _LEFT, _NONE, bench.mark(2).box.center().toPoint())
    assert bench.cell == (2, FIRST_SAMPLE + 1)
    assert bench.view.hasFocus()
    line = bench.mark(0).lines[0]
    QTest.mouseClick(bench.drawing, _LEFT, _NONE, (line.p1() * 0.8 + line.p2() * 0.2).toPoint())
    assert bench.cell[0] == 0


def test_the_rims_places_go_round_from_the_left_end(bench: Bench) -> None:
    bench.put((Reading(_K.RIM_WIDTH, place="left end"), Reading(_K.RIM_WIDTH, place="top side")))
    to_mm = bench.drawing.camera.to_mm
    left, top = (bench.mark(row).lines[0] for row in (0, 1))
    # The middle of a rim of 12 mm of an obround 200 × 120 lies 94 mm left of the centre, and 54 mm above it.
    for line, place in ((left, (-94.0, 0.0)), (top, (0.0, 54.0))):
        x, y = to_mm((line.p1() + line.p2()) / 2.0)
        assert hypot(x - place[0], y - place[1]) < 0.5


# What follows


def test_a_size_says_whether_the_insert_uses_it_and_one_click_takes_it(session: Session, bench: Bench) -> None:
    bench.put_insert(Family.OBROUND, 240.5, 140.0)
    bench.put(rows_of(OBROUND))
    row = bench.form.sizes.rows[SizeName.LENGTH]
    assert row.is_overruled
    assert row.use.text().startswith("△ Typed: 240.50 counts, readings say 240.0")
    click(row.button)
    insert = session.project.new_insert
    assert insert.length == pytest.approx(240.0, abs=0.06)
    source = insert.source(SizeName.LENGTH)
    assert source is not None
    assert source.origin is Origin.READINGS
    assert row.name.text() == "Length, used"
    assert not row.button.isVisible()
    assert session.undo_stack.undoText() == "new insert: length from readings"
    session.set_text("new_insert.length", "241", "length")
    assert row.use.text().startswith("△ Typed: 241.00 counts")


def test_a_used_size_follows_the_readings(session: Session, bench: Bench) -> None:
    bench.put((Reading(_K.HEIGHT, (55.0, 55.2, 55.4)),))
    click(bench.form.sizes.rows[SizeName.HEIGHT].button)
    assert session.project.new_insert.height == pytest.approx(55.2)
    bench.go_to(0, FIRST_SAMPLE)
    bench.type("55.6")
    assert session.project.new_insert.height == pytest.approx(55.4)


def test_one_button_takes_all_sizes(session: Session, bench: Bench) -> None:
    bench.put((*rows_of(OBROUND), Reading(_K.RIM_WIDTH, (13.0, 13.1, 13.2)), Reading(_K.HEIGHT, (58.0, 58.1, 58.2))))
    click(bench.form.sizes.use_all)
    insert = session.project.new_insert
    assert [insert.length, insert.width] == pytest.approx([240.0, 140.0], abs=0.06)
    assert [insert.rim.width, insert.height] == pytest.approx([13.1, 58.1])
    assert not bench.form.sizes.use_all.isEnabled()
    session.undo_stack.undo()
    assert session.project.new_insert.length == 200.0


def test_a_decided_shape_is_said_with_its_worst_reading_and_taken_with_its_sizes(
    session: Session, bench: Bench
) -> None:
    # The page's closed forms: jaws 2 √(a² cos² + b² sin²), width at x W √(1 - (x / a)²).
    jaws = 2.0 * hypot(120.0 * cos(radians(45.0)), 70.0 * cos(radians(45.0)))
    widths = [140.0 * sqrt(1.0 - (x / 120.0) ** 2) for x in (60.0, 90.0)]
    bench.put(rows_of((240.0, 140.0, jaws, *widths)))
    shapes = bench.form.shapes
    assert shapes.decision.decision is Decision.DECIDED
    assert shapes.sentence.text().startswith("Ellipse: all readings within")
    assert "contradict an obround" in bench.form.sizes.contradicted.text()
    click(shapes.use_button)
    insert = session.project.new_insert
    assert insert.family is Family.ELLIPSE
    assert insert.length == pytest.approx(240.0, abs=0.2)
    assert insert.source(SizeName.FAMILY) is not None
    assert not shapes.use_button.isEnabled()
    assert not bench.form.sizes.contradicted.isVisible()


def test_undecided_is_said_loudly_and_the_next_reading_is_added_by_one_click(bench: Bench) -> None:
    # Length, width and 45° jaws of an ellipse: a four-arc oval of a suitable end radius passes through them too.
    bench.put(
        (
            Reading(_K.LENGTH, (240.0, 240.6, 239.5)),
            Reading(_K.WIDTH, (140.0, 140.5, 139.6)),
            Reading(_K.JAWS, (196.5, 196.9, 195.9), angle=45.0),
        )
    )
    shapes = bench.form.shapes
    assert shapes.decision.decision is Decision.UNDECIDED
    assert shapes.decision.accessibleName() == "Undecided"
    assert shapes.use_button.text() == "Use this shape all the same: ellipse"
    assert "four-arc oval" in shapes.sentence.text()
    # The table of the page: 90 mm from the middle an ellipse is 92.6 wide, a four-arc oval near 88.4.
    read = re.fullmatch(r"Read the width 90.00 mm .* next: (.*) mm for an ellipse, (.*) mm for a four-arc oval\.",
                        shapes.next_words.text())  # fmt: skip
    assert read is not None
    assert float(read[1]) == pytest.approx(92.6, abs=0.3)
    assert float(read[2]) == pytest.approx(88.4, abs=1.0)
    click(shapes.next_button)
    assert len(bench.readings.rows) == 4
    assert bench.readings.rows[3].values == ()
    assert bench.cell == (3, FIRST_SAMPLE)


def test_the_column_off_shape_shows_the_family_that_was_chosen(bench: Bench) -> None:
    bench.put(rows_of(OBROUND))
    assert abs(float(bench.text(3, Column.OFF).replace("−", "-"))) < 0.1
    shapes = bench.form.shapes.list
    families = [shapes.rows.key(i) for i in range(shapes.rows.rowCount())]
    shapes.choose(families.index(Family.ELLIPSE))
    offs = [float(bench.text(row, Column.OFF).replace("−", "-")) for row in range(5)]
    # 240 × 140: an ellipse reads 14.2 mm less than an obround across 45° jaws; spread over five readings that is
    # several millimetres somewhere.
    assert max(abs(off) for off in offs) > 3.0
    assert "an ellipse" in bench.board.remarks.quiet.text()


def test_sizes_and_shapes_explain_themselves(bench: Bench) -> None:
    bench.put(rows_of(OBROUND))
    sheet = bench.form.sizes.rows[SizeName.LENGTH].explanation()
    assert "next one bought" in sheet.figures[0]
    assert "t × s × √(1 + 1/3)" in sheet.figures[0]
    assert "the mean is known to within" in sheet.figures[1]
    assert "t × u" in sheet.figures[1]
    bench.form.shapes.list.choose(0)
    fit = bench.form.shapes.list.explanation()
    assert fit is not None
    assert fit.title.startswith("Obround: worst reading")


def test_the_developed_length_is_given_without_the_tapes_thickness(bench: Bench) -> None:
    # 639.8 for the obround; the tape reads pi times its 0.2 mm more.
    read = 639.8 + 3.14159 * 0.2
    bench.put((Reading(_K.TAPE, (read, read, read), along=0.2, instrument=Instrument.TAPE),))
    assert bench.form.sizes.developed.text().startswith("Developed length 639.80 mm ±")


def test_in_fractions_spreads_are_decimals_because_a_sixty_fourth_is_too_coarse(session: Session, bench: Bench) -> None:
    bench.put((Reading(_K.LENGTH, (239.9, 240.0, 240.1)),))
    session.set_value("style", "fraction", "unit")
    assert float(bench.text(0, Column.PLUS_MINUS)) == pytest.approx(0.497 / 25.4, abs=0.001)


@pytest.mark.parametrize("values", [(240.0,), (240.0, 240.0)])
def test_fewer_than_three_samples_have_no_plus_minus_and_the_form_says_what_to_do(
    bench: Bench, values: tuple[float, ...]
) -> None:
    bench.session.set_value("new_insert.material", "foam", "material")
    bench.put((Reading(_K.LENGTH, values),))
    assert bench.text(0, Column.PLUS_MINUS) == ""
    sheet, panel = bench.form.sizes.rows[SizeName.LENGTH], bench.form.sizes
    assert sheet.value.text() == "240.00 mm"
    assert sheet.words.text().startswith("No ± for the next one bought; ")
    assert panel.spreadless.isVisible()
    assert "the rims are of moulded foam. Read three samples" in panel.spreadless.text()
    bench.session.set_value("new_insert.material", "soft_rubber", "material")
    # ISO 3302-1, M3, over 160: ± 0.8 %; 1.9 times that, as sample and next one may both be off.
    assert sheet.value.text() == "240.00 mm ± 3.65 mm"
    assert "class M3 of ISO 3302-1 stands in" in sheet.words.text()
    assert not panel.spreadless.isVisible()


def test_a_class_can_be_chosen_and_left_to_the_material_again(bench: Bench) -> None:
    bench.session.set_value("new_insert.material", "foam", "material")
    bench.put((Reading(_K.LENGTH, (240.0,)),))
    field = bench.form.find_field("new_insert.readings.rubber")
    assert isinstance(field, QComboBox)
    assert field.currentText() == "as the material"
    for index, text in ((field.findData("M2"), "240.00 mm ± 2.28 mm"), (0, "240.00 mm")):  # ISO 3302-1, M2: ± 0.5 %
        field.setCurrentIndex(index)
        field.activated.emit(index)
        assert bench.form.sizes.rows[SizeName.LENGTH].value.text() == text
    assert bench.readings.rubber is None


def test_weights_in_the_wrong_order_are_pointed_out_below_the_table(bench: Bench) -> None:
    bench.put((
        Reading(_K.HEIGHT, (60.4, 61.0, 61.1), weight=200.0), Reading(_K.HEIGHT, (61.0, 60.4, 60.5), weight=500.0),
    ))  # fmt: skip
    assert bench.board.remarks.outliers.text() == (
        "▲ Row 2, A: 61.00 mm under 500 g is more than 60.40 mm under 200 g: were the weights exchanged?"
    )
    assert "height" not in bench.board.remarks.quiet.text()  # two samples give one
    bench.put((
        Reading(_K.HEIGHT, (60.4, 60.4), weight=200.0), Reading(_K.HEIGHT, (61.0, 61.1), weight=500.0),
    ), ("A", "B"))  # fmt: skip
    assert "put the weights right" in bench.board.remarks.quiet.text()


def test_a_plus_minus_that_was_typed_over_is_marked_until_the_readings_count_again(bench: Bench) -> None:
    bench.put((Reading(_K.LENGTH, (219.1, 219.2, 219.3)),))
    sheet = bench.form.sizes.rows[SizeName.LENGTH]
    click(sheet.button)
    assert bench.session.project.new_insert.plus_minus.length == pytest.approx(0.497, abs=0.002)
    bench.session.set_value("new_insert.plus_minus.length", 0.2, "plus minus")
    assert sheet.use.text() == "△ Typed: ± 0.20 mm counts."
    click(sheet.button)
    assert bench.session.project.new_insert.plus_minus.length == pytest.approx(0.497, abs=0.002)
    assert not sheet.use.isVisible()


def test_an_empty_table_says_so_everywhere(bench: Bench) -> None:
    bench.put(())
    assert bench.form.sizes.nothing.isVisible()
    assert bench.form.shapes.decision.decision is Decision.TOO_FEW
    assert not bench.form.shapes.use_button.isVisible()
    assert bench.drawing.laid() == []


def test_the_form_fits_the_narrow_column(bench: Bench) -> None:
    bench.put(rows_of(OBROUND))
    assert bench.form.find_field("new_insert.readings.rubber") is not None  # which opens its fold
    assert bench.column.minimumSizeHint().width() <= 330


def test_instruments_steps_count_in_the_interval(session: Session, bench: Bench) -> None:
    bench.put((Reading(_K.LENGTH, (240.0, 240.0, 240.0)),))
    fine = float(bench.text(0, Column.PLUS_MINUS))
    assert session.set_text("new_insert.readings.resolution.calliper", "0.5", "calliper")
    # Half a step as a rectangular distribution: u = 0.5 / (2 √3) = 0.144 (GUM, 4.3.7), and 1.96 of it at least.
    assert float(bench.text(0, Column.PLUS_MINUS)) > max(fine, 0.14 * 1.9)
