"""Looking at the part: zoom, alone, print, copy, keys, and files that are dropped on the window."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QMimeData, QPointF, Qt, QUrl
from PySide6.QtGui import QDropEvent, QGuiApplication, QImage
from PySide6.QtPrintSupport import QPrinter
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.session import settings
from app.shell.dropped import Dropped, dropped
from app.shell.looking import KEYS
from app.shell.window import MainWindow
from core.files.project.file import save_project
from core.files.publish import PREFIX

if TYPE_CHECKING:
    from pathlib import Path

    from pytestqt.qtbot import QtBot

    from app.shell.workspace import Workspace
    from tests.app.conftest import Answers


@pytest.fixture
def board(window: MainWindow) -> Workspace:
    assert window.workspace is not None
    window.workspace.go_to(0)
    return window.workspace


def _drop(window: MainWindow, *paths: Path) -> None:
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(path)) for path in paths])
    where = QPointF(window.rect().center())
    left, none = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    window.dropEvent(QDropEvent(where, Qt.DropAction.CopyAction, data, left, none))


def test_zoom_and_whole_part_act_on_the_plan(window: MainWindow, board: Workspace) -> None:
    before = board.plan.camera.scale
    window.looking.zoom_in()
    assert board.plan.camera.scale > before
    window.looking.zoom_out()
    assert board.plan.camera.scale == pytest.approx(before)
    window.looking.zoom_in()
    window.looking.whole()
    assert board.plan.is_fitted


def test_a_view_is_seen_alone_on_a_double_click_and_escape_leads_back(qtbot: QtBot, board: Workspace) -> None:
    parts = (board.rail, board.forms, board.parts.verdicts)
    wide = board.plan.width()
    QTest.mouseDClick(board.plan, Qt.MouseButton.LeftButton, pos=board.plan.rect().topLeft())
    assert not any(part.isVisible() for part in parts)
    qtbot.waitUntil(lambda: board.plan.width() > wide + 400)
    board.plan.setFocus()
    QTest.keyClick(board.plan, Qt.Key.Key_Escape)
    assert all(part.isVisible() for part in parts)
    qtbot.waitUntil(lambda: board.plan.width() == wide)


def test_f6_goes_round_rail_form_sheet_and_list_and_back(window: MainWindow, board: Workspace) -> None:
    board.go_to(0)
    places = board.places()
    places[0].setFocus()
    for step in (1, 1, 1, 1, -1, -1):
        now = next(i for i, part in enumerate(places) if _has_focus(part))
        window.looking.next_part(step)
        assert _has_focus(places[(now + step) % len(places)])


def _has_focus(part: object) -> bool:
    focus = QApplication.focusWidget()
    return focus is part or (focus is not None and part.isAncestorOf(focus))  # type: ignore[attr-defined]


def test_the_picture_is_copied_dark_on_light(window: MainWindow, board: Workspace) -> None:
    before = board.plan.grab().toImage()
    assert window.looking.copy()
    image = QGuiApplication.clipboard().image()
    assert image.width() == 2 * board.plan.width()
    assert image.pixelColor(3, 3).lightness() > 250
    assert board.plan.grab().toImage() == before  # the screen keeps its own colours


def test_what_is_seen_is_printed_with_its_name(window: MainWindow, answers: Answers, tmp_path: Path) -> None:
    printer = QPrinter(QPrinter.PrinterMode.HighResolution)
    printer.setOutputFormat(QPrinter.OutputFormat.PdfFormat)
    printer.setOutputFileName(str(tmp_path / "seen.pdf"))
    answers.printer = printer
    window.print_action.trigger()
    assert (tmp_path / "seen.pdf").read_bytes().startswith(b"%PDF")
    assert window.hint.text() == "Printed."


def test_the_sheet_of_keys_tells_every_key_once(window: MainWindow, answers: Answers) -> None:
    keys = next(action for action in window.menuBar().actions() if action.text() == "&Help").menu()
    next(action for action in keys.actions() if action.text() == "&Keys").trigger()  # type: ignore[attr-defined]
    title, text = answers.told[-1]
    assert title == "Keys"
    assert all(text.count(f"{key}: ") == 1 for key, _ in KEYS)


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("part.seatwright", Dropped.PROJECT),
        ("PART.JSON", Dropped.PROJECT),
        ("old.DXF", Dropped.OUTLINES),
        ("points.csv", Dropped.OUTLINES),
        ("scan.TIFF", Dropped.PICTURE),
        ("letter.pdf", None),
    ],
)
def test_a_file_is_known_by_its_ending(tmp_path: Path, name: str, kind: Dropped | None) -> None:
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(tmp_path / name))])
    assert dropped(data) == (None if kind is None else (kind, tmp_path / name))
    data.setUrls([QUrl.fromLocalFile(str(tmp_path / name))] * 2)
    assert dropped(data) is None


def test_a_project_that_is_dropped_is_opened_and_anything_else_is_told(
    window: MainWindow, board: Workspace, tmp_path: Path
) -> None:
    path = tmp_path / "other.seatwright"
    save_project(board.session.project, path)
    _drop(window, path)
    assert board.session.path == path
    _drop(window, tmp_path / "letter.pdf")
    assert "can be dropped" in window.hint.text()
    _drop(window, path, path)
    assert "one at a time" in window.hint.text()


def test_a_picture_that_is_dropped_is_opened_as_a_scan(qtbot: QtBot, window: MainWindow, tmp_path: Path) -> None:
    path = tmp_path / "scan.png"
    image = QImage(300, 200, QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.white)
    assert image.save(str(path))
    _drop(window, path)
    assert window.workspace is not None
    measure = window.workspace.measure
    assert measure.ways.key == "scan"
    model = measure.topic("scan").model  # type: ignore[attr-defined]
    qtbot.waitUntil(lambda: model.state.opened is not None or bool(model.state.refusals), timeout=10_000)


def test_an_outline_file_that_is_dropped_on_the_open_part_is_read_there(window: MainWindow, tmp_path: Path) -> None:
    path = tmp_path / "points.csv"
    path.write_text("x,y\n0,0\n100,0\n100,60\n0,60\n", encoding="utf-8")
    _drop(window, path)
    assert window.workspace is not None
    assert window.workspace.measure.ways.key == "drawing"
    window.workspace.measure.close_down()


def test_a_window_finishes_what_a_killed_export_left(qtbot: QtBot, tmp_path: Path) -> None:
    (tmp_path / f"{PREFIX}abc").mkdir()
    settings.EXPORT_FOLDER.put(str(tmp_path))
    window = MainWindow()
    qtbot.addWidget(window)
    assert "cut off" in window.hint.text()
    assert not list(tmp_path.glob(f"{PREFIX}*"))
