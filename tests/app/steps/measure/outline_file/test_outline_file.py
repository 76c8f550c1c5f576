from __future__ import annotations

import threading
from math import cos, pi, sin
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QMimeData, QPoint, QPointF, Qt, QUrl
from PySide6.QtGui import QDragEnterEvent, QDropEvent, QUndoStack
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QHBoxLayout, QWidget

import core.measure.drawing.looked
from app.steps.dialogs import MeasuringDialogs
from app.steps.measure.outline_file.board import DrawingBoard
from app.steps.measure.outline_file.draft import GAP
from app.steps.measure.outline_file.form import DrawingForm
from app.steps.measure.outline_file.part import ONE
from app.steps.measure.outline_file.take import NEW, OLD, RIM
from app.steps.measure.outline_file.topic import DrawingTopic
from app.widgets.column import Column
from app.widgets.fields import TextField
from core.evaluate import evaluate
from core.files.project.demos import FOLDER
from core.geometry.ovals.ovals import Family
from core.measure.drawing.results import DrawingUnit, Fault, Role, Trouble
from core.measure.drawing.words import gathered_remarks, off_words, size_words
from core.part.readings import Origin, SizeName
from core.words.lengths import Style, show_length, shower

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

    from pytestqt.qtbot import QtBot

    from app.session.session import Session
    from core.measure.drawing.progress import Tick
    from core.measure.drawing.results import Drawing
    from core.part.project import Project

PATIENCE_MS = 30_000
# The old part of these tests, written by ezdxf from sizes chosen here: an insert of 212 x 132 with a rim 14 wide, a
# gap of 1 on either side of it, 13 of wall, 6 of lip; turned and away from the origin.
INSERT, GAP_MM = (212.0, 132.0), 1.0
LOOPS = {"outside": (240.0, 160.0), "wall": (214.0, 134.0), "inner": (182.0, 102.0), "opening": (170.0, 90.0)}
TURN, MIDDLE = 0.5, (400.0, 250.0)


def placed(x: float, y: float) -> tuple[float, float]:
    c, s = cos(TURN), sin(TURN)
    return MIDDLE[0] + c * x - s * y, MIDDLE[1] + s * x + c * y


def obround(length: float, width: float) -> list[tuple[float, float, float]]:
    """x, y, bulge as a drawing program writes them: a half circle has the bulge 1 (DXF reference, LWPOLYLINE)."""
    h, r = (length - width) / 2.0, width / 2.0
    return [(*placed(x, y), b) for x, y, b in ((-h, -r, 0.0), (h, -r, 1.0), (h, r, 0.0), (-h, r, 1.0))]


def write_old_part(path: Path, *, unit: int = 4, scale: float = 1.0, with_faults: bool = False) -> Path:
    from ezdxf.filemanagement import new

    doc = new("R2010")
    doc.header["$INSUNITS"] = unit
    space = doc.modelspace()
    for length, width in LOOPS.values():
        rows = [(x * scale, y * scale, b) for x, y, b in obround(length, width)]
        space.add_lwpolyline(rows, format="xyb", close=True)
    for x, y in ((113.5, 0.0), (-113.5, 0.0)):
        px, py = placed(x, y)
        space.add_circle((px * scale, py * scale), 3.0 * scale)
    if with_faults:
        square = [(600.0, 300.0), (640.0, 300.0), (640.0, 340.0), (600.0, 340.0)]
        for i, start in enumerate(square):
            end = square[(i + 1) % 4]
            space.add_line(start, (end[0] + 0.2, end[1]) if i == 3 else end)  # 0.2 short of closing
    doc.saveas(path)
    return path


def retype(field: QWidget, text: str) -> None:
    field.setFocus()
    field.selectAll()  # type: ignore[attr-defined]
    QTest.keyClicks(field, text)


class Bench:
    """A topic laid out as the window lays it out: the form in its column, the board beside it."""

    def __init__(self, qtbot: QtBot, session: Session | None, style: Style = Style.MM) -> None:
        self.qtbot = qtbot
        self.answer: Path | None = None
        self.made: list[Project] = []
        ask: Callable[[QWidget], Path | None] = lambda _: self.answer  # noqa: E731 - one answer for all
        self.window = QWidget()
        self.topic = DrawingTopic(session, MeasuringDialogs(ask, ask, ask, ask), self.window, style)
        form, board = self.topic.form, self.topic.board
        assert isinstance(form, DrawingForm)
        assert isinstance(board, DrawingBoard)
        self.form, self.board, self.state = form, board, self.topic.state
        self.topic.part_made.connect(self.made.append)
        row = QHBoxLayout(self.window)
        row.addWidget(Column(form, self.window))
        row.addWidget(board, 1)
        qtbot.addWidget(self.window)
        self.window.resize(1000, 760)
        with qtbot.waitExposed(self.window):
            self.window.show()
        self.window.activateWindow()

    def settle(self) -> None:
        self.qtbot.waitUntil(lambda: not self.state.is_busy and not self.topic.draft.is_busy, timeout=PATIENCE_MS)

    def open(self, path: Path) -> None:
        self.answer = path
        QTest.mouseClick(self.form.open_button, Qt.MouseButton.LeftButton)
        self.settle()

    def chosen(self) -> int | None:
        return self.state.chosen

    def count(self) -> int:
        return len(self.state.loops)

    def roles(self) -> list[Role]:
        return [self.state.role(loop.number) for loop in self.state.loops]

    def choose_role(self, role: Role) -> None:
        box = self.form.role
        box.setCurrentIndex(box.findData(role.value))
        box.activated.emit(box.currentIndex())
        self.settle()

    def on_line(self, number: int) -> QPoint:
        """A place of the board on a loop's line."""
        outline = self.state.loops[number - 1].outline
        return self.board.place_to_widget(*outline.points_at([0.3 * outline.length])[0]).toPoint()


@pytest.fixture
def bench(qtbot: QtBot, session: Session) -> Iterator[Bench]:
    made = Bench(qtbot, session)
    yield made
    made.topic.close_down()


@pytest.fixture
def start_bench(qtbot: QtBot) -> Iterator[Bench]:
    """As on the start page: no project yet."""
    made = Bench(qtbot, None)
    yield made
    made.topic.close_down()


@pytest.fixture
def old_part(tmp_path: Path) -> Path:
    return write_old_part(tmp_path / "old base.dxf")


def test_an_opened_file_is_listed_loop_by_loop_with_role_size_and_oval(bench: Bench, old_part: Path) -> None:
    bench.open(old_part)
    assert bench.roles() == [
        Role.OUTSIDE, Role.SEAT_OUTER, Role.SEAT_INNER, Role.OPENING, Role.HOLE, Role.HOLE
    ]  # fmt: skip
    texts = [str(bench.form.loops.rows.index(i).data()) for i in range(6)]
    for text, (length, width) in zip(texts, LOOPS.values(), strict=False):
        assert f"{length:.2f} × {width:.2f} mm" in text
        assert "obround, off by under 0.01 mm" in text
    assert "ø 6.00 mm" in texts[4]
    assert bench.form.file_name.text() == "old base.dxf"
    assert "says millimetres" in bench.form.unit_note.text()
    assert bench.form.fault_count.text() == "They meet everywhere."
    assert not bench.form.faults.isVisible()


def test_a_change_of_mind_at_the_dialog_changes_nothing(bench: Bench) -> None:
    QTest.mouseClick(bench.form.open_button, Qt.MouseButton.LeftButton)
    assert not bench.state.is_busy
    assert bench.state.looked is None
    assert not bench.form.loops.isVisible()


def test_a_file_that_is_refused_is_said_in_place_and_leaves_drawing_and_project(
    bench: Bench, session: Session, old_part: Path, tmp_path: Path
) -> None:
    bench.open(old_part)
    before = bench.state.looked
    broken = tmp_path / "no drawing.dxf"
    broken.write_bytes(b"\x00\x01\x02 no drawing")
    bench.open(broken)
    assert "no drawing.dxf" in bench.form.refusal.text()
    assert bench.form.refusal.isVisible()
    assert bench.state.looked is before
    assert bench.form.file_name.text() == "old base.dxf"
    assert session.undo_stack.count() == 0
    bench.open(old_part)
    assert not bench.form.refusal.isVisible()


def test_reading_shows_how_far_it_is_and_can_be_stopped(
    bench: Bench, old_part: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    release = threading.Event()

    def slowly(_path: Path, tick: Tick) -> Drawing:
        tick(0.5)
        while not release.wait(0.01):
            tick(0.5)
        raise AssertionError("it was not called off")

    monkeypatch.setattr(core.measure.drawing.looked, "read_drawing", slowly)
    bench.answer = old_part
    QTest.mouseClick(bench.form.open_button, Qt.MouseButton.LeftButton)
    bench.qtbot.waitUntil(lambda: bench.form.progress.value() == 30)  # half of the reading, which is 0.6 of it all
    assert bench.form.progress.isVisible()
    assert not bench.form.open_button.isEnabled()
    QTest.mouseClick(bench.form.stop_button, Qt.MouseButton.LeftButton)
    assert not bench.state.is_busy
    assert not bench.form.progress.isVisible()
    assert bench.form.open_button.isEnabled()
    assert bench.state.looked is None


def test_a_file_without_a_unit_is_guessed_said_so_and_read_at_once_in_another(bench: Bench, tmp_path: Path) -> None:
    bench.open(write_old_part(tmp_path / "unitless.dxf", unit=0, scale=1.0 / 25.4))
    assert bench.form.unit.key == DrawingUnit.INCH.value  # as millimetres it would be 9 mm long
    assert "states no unit" in bench.form.unit_note.text()
    looked = bench.state.looked
    assert looked is not None
    as_inches = looked.size[0]
    QTest.mouseClick(bench.form.unit.button(DrawingUnit.CM.value), Qt.MouseButton.LeftButton)
    bench.settle()
    looked = bench.state.looked
    assert looked is not None
    assert looked.unit is DrawingUnit.CM
    assert looked.size[0] == pytest.approx(as_inches * 10.0 / 25.4)
    assert show_length(looked.size[1], Style.MM) in bench.form.overall.text()
    assert "centimetres are taken" in bench.form.unit_note.text()


def test_list_board_and_keys_choose_the_same_loop(bench: Bench, old_part: Path) -> None:
    bench.open(old_part)
    assert bench.chosen() == 2  # the seat's outer wall, which is what is asked about most
    QTest.mouseClick(bench.board, Qt.MouseButton.LeftButton, pos=bench.on_line(1))
    assert bench.chosen() == 1
    assert bench.form.loops.currentIndex().row() == 0
    QTest.keyClick(bench.form.loops, Qt.Key.Key_Down)
    QTest.keyClick(bench.form.loops, Qt.Key.Key_Down)
    assert bench.chosen() == 3
    QTest.keyClick(bench.board, Qt.Key.Key_BracketRight)
    assert bench.form.loops.currentIndex().row() == 3
    QTest.keyClick(bench.board, Qt.Key.Key_Escape)
    assert bench.chosen() is None
    assert not bench.form.loops.currentIndex().isValid()


def test_a_click_away_from_all_lines_chooses_the_loop_round_it(bench: Bench, old_part: Path) -> None:
    bench.open(old_part)
    middle = bench.board.place_to_widget(*MIDDLE).toPoint()
    QTest.mouseClick(bench.board, Qt.MouseButton.LeftButton, pos=middle)
    assert bench.chosen() == 4
    QTest.mouseClick(bench.board, Qt.MouseButton.LeftButton, pos=QPoint(4, 4))
    assert bench.chosen() is None


def test_dragging_moves_the_sheet_and_chooses_nothing(bench: Bench, old_part: Path) -> None:
    bench.open(old_part)
    chosen, before = bench.state.chosen, bench.board.place_to_widget(*MIDDLE)
    start = bench.on_line(1)
    QTest.mousePress(bench.board, Qt.MouseButton.LeftButton, pos=start)
    QTest.mouseMove(bench.board, start + QPoint(30, 10))
    QTest.mouseRelease(bench.board, Qt.MouseButton.LeftButton, pos=start + QPoint(30, 10))
    assert bench.chosen() == chosen
    moved = bench.board.place_to_widget(*MIDDLE) - before
    assert (moved.x(), moved.y()) == pytest.approx((30.0, 10.0))


def test_what_the_user_says_of_a_loop_counts_and_the_other_gives_its_role_up(bench: Bench, old_part: Path) -> None:
    bench.open(old_part)
    QTest.mouseClick(bench.board, Qt.MouseButton.LeftButton, pos=bench.on_line(3))
    bench.choose_role(Role.SEAT_OUTER)
    assert bench.roles()[1:3] == [Role.IGNORED, Role.SEAT_OUTER]
    assert "As you said" in str(bench.form.loops.rows.index(2).data())
    found = bench.state.recovered(3)
    assert found is not None
    assert found.oval.family is Family.OBROUND
    assert found.oval.length == pytest.approx(182.0)
    retype(bench.form.shape, "0.1")
    QTest.keyClick(bench.form.shape, Qt.Key.Key_Return)
    bench.settle()
    assert bench.roles()[1:3] == [Role.IGNORED, Role.SEAT_OUTER]  # and outlives another tolerance


def test_return_in_the_list_goes_to_the_role(bench: Bench, old_part: Path) -> None:
    bench.open(old_part)
    bench.form.loops.setFocus()
    QTest.keyClick(bench.form.loops, Qt.Key.Key_Return)
    assert bench.form.role.hasFocus()


def test_faults_are_counted_listed_and_brought_into_view(bench: Bench, tmp_path: Path) -> None:
    bench.open(write_old_part(tmp_path / "faulty.dxf", with_faults=True))
    ends = [t for t in bench.state.troubles if t.fault is Fault.OPEN_END]
    assert len(ends) == 2
    assert "2 open ends" in bench.form.fault_count.text()
    assert bench.form.faults.isVisible()
    bench.board.zoom(40.0, bench.board.place_to_widget(*MIDDLE))
    row = bench.form.faults.rows.find((0, Fault.OPEN_END, ends[0].at))
    QTest.mouseClick(
        bench.form.faults.viewport(),
        Qt.MouseButton.LeftButton,
        pos=bench.form.faults.visualRect(bench.form.faults.rows.index(row or 0)).center(),
    )
    lit = bench.board._lit
    assert lit is not None
    assert bench.board.rect().contains(bench.board.place_to_widget(*lit.at).toPoint())


def test_ends_that_lie_further_apart_are_joined_on_request(bench: Bench, tmp_path: Path) -> None:
    bench.open(write_old_part(tmp_path / "faulty.dxf", with_faults=True))
    assert bench.count() == 6
    retype(bench.form.join, "0.3")
    QTest.keyClick(bench.form.join, Qt.Key.Key_Return)
    bench.settle()
    assert bench.count() == 7
    assert "1 gap closed" in bench.form.fault_count.text()


def write_by_hand(path: Path, *pairs: tuple[int, object]) -> Path:
    """A DXF file, group code by group code."""
    path.write_text("".join(f"{code}\n{value}\n" for code, value in pairs), encoding="ascii")
    return path


def test_what_is_not_seen_is_said_in_the_fold_and_a_unit_that_can_not_be_beside_its_choice(
    bench: Bench, tmp_path: Path
) -> None:
    layer = ((0, "SECTION"), (2, "TABLES"), (0, "TABLE"), (2, "LAYER"), (0, "LAYER"), (2, "COLD"), (70, 1), (62, 7))
    circles = [
        (0, "CIRCLE"),
        (8, "0"),
        (10, 0),
        (20, 0),
        (40, 75),
        (0, "CIRCLE"),
        (8, "COLD"),
        (10, 0),
        (20, 0),
        (40, 9),
    ]
    entities = ((0, "SECTION"), (2, "ENTITIES"), *circles, (0, "ENDSEC"), (0, "EOF"))
    bench.open(write_by_hand(tmp_path / "old.dxf", *layer, (0, "ENDTAB"), (0, "ENDSEC"), *entities))
    assert bench.count() == 1
    assert "the layer COLD, which is frozen (1)" in bench.form.remarks.text()
    assert bench.form.remarks_fold.isVisible()
    assert "hardly a housing" not in bench.form.unit_note.text()
    QTest.mouseClick(bench.form.unit.button(DrawingUnit.INCH.value), Qt.MouseButton.LeftButton)
    bench.settle()
    assert "Inches were chosen as the file's unit, but then the part is 3810.00 mm" in bench.form.unit_note.text()
    assert "hardly a housing" not in bench.form.remarks.text()


@pytest.mark.parametrize("style", ["mm", "in", "fraction"])
def test_a_gap_that_was_closed_is_never_shown_as_nothing(bench: Bench, session: Session, style: str) -> None:
    session.set_text("style", style, "style")
    bench.open(FOLDER / "pump-strainer.dxf")
    gaps = [
        row.lines[0].right[0].words
        for row in bench.form.faults.rows.rows
        if isinstance(row.value, Trouble) and row.value.fault is Fault.GAP
    ]
    assert gaps
    assert all(float("".join(c for c in gap if c.isdigit() or c == ".")) > 0.0 for gap in gaps), gaps


def test_a_tolerance_that_makes_no_sense_is_refused_beside_its_field_and_escape_gives_back(
    bench: Bench, old_part: Path
) -> None:
    bench.open(old_part)
    told: list[str] = []
    bench.form.join.told.connect(told.append)
    for text in ("-1", "90", "wide"):
        retype(bench.form.join, text)
        QTest.keyClick(bench.form.join, Qt.Key.Key_Return)
        assert told[-1]
        assert not bench.state.is_busy
    QTest.keyClick(bench.form.join, Qt.Key.Key_Escape)
    assert told.pop() == ""
    assert bench.form.join.text() == "0.01"


def take(bench: Bench, which: str) -> None:
    assert bench.form.take is not None
    with bench.qtbot.waitSignal(bench.form.take.taken, timeout=PATIENCE_MS):
        QTest.mouseClick(bench.form.take.buttons[which], Qt.MouseButton.LeftButton)


def test_the_seats_wall_less_its_gap_is_the_old_inserts_oval_in_one_undo_step(
    bench: Bench, session: Session, old_part: Path
) -> None:
    before = session.project
    bench.open(old_part)
    form = bench.form.take
    assert form is not None
    assert form.is_wall
    retype(form.gap, str(GAP_MM))
    bench.settle()
    take(bench, OLD)
    old = session.project.old_insert
    assert old.family is Family.OBROUND
    assert (old.length, old.width) == pytest.approx(INSERT)
    assert (old.rim, old.height) == (before.old_insert.rim, before.old_insert.height)
    assert session.project.new_insert == before.new_insert
    source = old.source(SizeName.LENGTH)
    assert source is not None
    assert (source.origin, source.note) == (Origin.DRAWING, "old base.dxf, outline 2")
    assert "less a gap of 1.00 mm" in form.told.text()
    stack: QUndoStack = session.undo_stack
    assert stack.count() == 1
    assert "outline file" in stack.text(0)
    session.undo()
    assert session.project == before


def test_a_loop_drawn_as_the_rims_edge_is_taken_as_it_is(bench: Bench, session: Session, old_part: Path) -> None:
    bench.open(old_part)
    form = bench.form.take
    assert form is not None
    QTest.mouseClick(form.line.button(RIM), Qt.MouseButton.LeftButton)
    assert not form.form.isVisible()
    take(bench, NEW)
    new = session.project.new_insert
    assert (new.length, new.width) == pytest.approx(LOOPS["wall"])


def test_a_loop_that_no_rim_fits_in_is_refused_in_place(bench: Bench, session: Session, old_part: Path) -> None:
    before = session.project
    bench.open(old_part)
    QTest.mouseClick(bench.board, Qt.MouseButton.LeftButton, pos=bench.on_line(5))
    assert bench.chosen() == 5
    form = bench.form.take
    assert form is not None
    QTest.mouseClick(form.buttons[OLD], Qt.MouseButton.LeftButton)
    bench.qtbot.waitUntil(lambda: bool(form.refusal.text()), timeout=PATIENCE_MS)
    assert form.refusal.isVisible()
    assert session.project == before
    assert form.buttons[OLD].isEnabled()


def test_the_part_that_is_made_has_the_drawings_sizes_and_the_answers(bench: Bench, old_part: Path) -> None:
    bench.open(old_part)
    for path, text in ((GAP, "1"), ("housing.base.seat.gap_inner", "1"), ("old_insert.height", "61.5")):
        field = bench.form.part.form.find_field(path)
        assert isinstance(field, TextField)
        retype(field, text)
    bench.settle()
    assert bench.form.part.remarks.isVisible()
    QTest.mouseClick(bench.form.part.button, Qt.MouseButton.LeftButton)
    (project,) = bench.made
    assert project.name == "old base"
    assert (project.old_insert.length, project.old_insert.width) == pytest.approx(INSERT)
    assert project.old_insert.rim.width == pytest.approx(14.0)
    assert project.old_insert.height == 61.5
    base = project.housing.base
    assert (base.wall, base.lip.width) == pytest.approx((13.0, 6.0))
    assert evaluate(project).after.lid is not None


def test_one_ring_on_request_has_no_lid(bench: Bench, old_part: Path) -> None:
    bench.open(old_part)
    QTest.mouseClick(bench.form.part.kind.button(ONE), Qt.MouseButton.LeftButton)
    assert bench.form.part.kind.key == ONE  # already while it is worked out
    bench.settle()
    QTest.mouseClick(bench.form.part.button, Qt.MouseButton.LeftButton)
    assert bench.made[0].housing.lid is None


def test_an_answer_that_can_not_be_is_refused_beside_its_field(bench: Bench, old_part: Path) -> None:
    bench.open(old_part)
    field = bench.form.part.form.find_field("old_insert.height")
    assert isinstance(field, TextField)
    told: list[str] = []
    field.told.connect(told.append)
    retype(field, "-5")
    QTest.keyClick(field, Qt.Key.Key_Return)
    assert told[-1]
    bench.settle()
    assert bench.topic.draft.part is not None
    assert bench.topic.draft.part.project.old_insert.height > 0.0


def test_without_a_seat_no_part_is_made_and_the_form_says_what_is_missing(bench: Bench, old_part: Path) -> None:
    bench.open(old_part)
    bench.choose_role(Role.IGNORED)
    part = bench.form.part
    assert "seat's outer wall" in part.remarks.text()
    assert not part.button.isEnabled()
    assert not part.form.isVisible()
    bench.choose_role(Role.SEAT_OUTER)
    assert part.button.isEnabled()
    assert part.form.isVisible()


def test_without_a_project_only_a_new_part_is_offered_in_the_style_that_is_chosen(
    start_bench: Bench, old_part: Path
) -> None:
    bench = start_bench
    bench.open(old_part)
    assert bench.form.take is None
    assert bench.form.overall.text().endswith("mm")
    style = bench.form.part.form.find_field("style")
    assert style is not None
    QTest.mouseClick(style.button(Style.INCH.value), Qt.MouseButton.LeftButton)  # type: ignore[union-attr]
    bench.settle()
    assert bench.form.overall.text().endswith("in")
    assert "8.425 × 5.276 in" in str(bench.form.loops.rows.index(1).data())  # 214 x 134 mm
    QTest.mouseClick(bench.form.part.button, Qt.MouseButton.LeftButton)
    assert bench.made[0].style is Style.INCH


def test_lengths_follow_the_projects_style(bench: Bench, session: Session, old_part: Path) -> None:
    bench.open(old_part)
    session.set_text("style", "fraction", "style")
    bench.settle()
    assert bench.form.overall.text().endswith("in")
    assert bench.form.join.text() == "0.000394"  # 0.01 mm
    assert bench.topic.draft.part is not None
    assert bench.topic.draft.part.project.style is Style.FRACTION


@pytest.fixture
def traced(tmp_path: Path) -> Path:
    """Points on no oval: an ellipse of 220 x 140 that swells by 0.8 to one side."""
    rows = [(2.0 * pi * i / 240) for i in range(240)]
    lines = [f"{110.0 * cos(t) + 0.8 * cos(2.0 * t):.4f},{70.0 * sin(t):.4f}" for t in rows]
    path = tmp_path / "traced.csv"
    path.write_text("x [mm],y [mm]\n" + "\n".join(lines) + "\n", encoding="utf-8")
    return path


def test_how_far_a_loop_is_off_its_oval_is_drawn_larger_on_request(bench: Bench, traced: Path) -> None:
    bench.open(traced)
    assert bench.chosen() == 1  # the only one
    bench.choose_role(Role.SEAT_OUTER)
    assert bench.board.factor == 0.0
    plain = bench.board.grab().toImage()
    QTest.mouseClick(
        bench.form.exaggerate, Qt.MouseButton.LeftButton, pos=QPoint(8, bench.form.exaggerate.height() // 2)
    )
    assert bench.form.exaggerate.isChecked()
    assert bench.board.factor > 1.0
    off = bench.board.off
    assert off is not None
    found, far = off
    worst = abs(float(far.off[far.worst]))
    assert worst == pytest.approx(found.worst, rel=0.05)
    # The band is as wide as the factor says, and large enough to be seen.
    assert 12.0 < worst * bench.board.factor * bench.board.camera.scale < 3.0 * bench.board.line_height
    assert off_words(worst, Style.MM) in bench.board.worst_words()
    assert bench.board.grab().toImage() != plain


def test_a_loop_that_keeps_to_its_oval_has_nothing_to_draw_larger(bench: Bench, old_part: Path) -> None:
    bench.open(old_part)
    QTest.mouseClick(
        bench.form.exaggerate, Qt.MouseButton.LeftButton, pos=QPoint(8, bench.form.exaggerate.height() // 2)
    )
    assert bench.state.is_exaggerated
    assert bench.board.factor == 0.0


def test_numbers_on_the_board_stay_clear_of_each_other(bench: Bench, old_part: Path) -> None:
    bench.open(old_part)
    labels = bench.board.labels
    assert [label.text.split()[0] for label in labels] == ["1", "2", "3", "4", "5", "6"]
    boxes = [label.spot.box for label in labels]
    assert not any(a.intersects(b) for i, a in enumerate(boxes) for b in boxes[:i])


def test_a_file_dropped_on_the_board_is_opened(bench: Bench, old_part: Path) -> None:
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(old_part))])
    place, copy = QPointF(50.0, 50.0), Qt.DropAction.CopyAction
    buttons, keys = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    entering = QDragEnterEvent(place.toPoint(), copy, data, buttons, keys)
    QApplication.sendEvent(bench.board, entering)
    assert entering.isAccepted()
    QApplication.sendEvent(bench.board, QDropEvent(place, copy, data, buttons, keys))
    bench.settle()
    assert bench.count() == 6


def test_nothing_in_the_column_needs_more_width_than_the_column_has(bench: Bench, old_part: Path) -> None:
    empty = bench.form.minimumSizeHint().width()
    bench.open(old_part)
    assert bench.form.minimumSizeHint().width() == empty  # the board does not jump when a file is opened
    assert bench.form.width() >= empty


def test_a_residual_too_small_to_be_shown_is_not_shown_as_nothing() -> None:
    assert off_words(1e-9, Style.MM) == "under 0.01 mm"
    assert off_words(0.31, Style.MM) == "0.31 mm"
    assert off_words(0.31, Style.FRACTION) == "0.012 in"  # a sixty-fourth is 0.40 mm


def test_sizes_carry_their_unit_once() -> None:
    assert size_words(212.0, 134.0, shower(Style.MM)) == "212.00 × 134.00 mm"
    assert size_words(100.0, 50.0, shower(Style.FRACTION)) == "≈ 3 15/16 × 1 31/32 in"


def test_what_is_said_of_several_loops_is_said_once() -> None:
    said = ("Outline 3: it is odd.", "The rest is well.", "Outline 5: it is odd.", "Outline 6: it is even.")
    assert gathered_remarks(said) == ("Outlines 3 and 5: it is odd.", "The rest is well.", "Outline 6: it is even.")
