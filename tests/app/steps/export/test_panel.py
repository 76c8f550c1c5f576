from __future__ import annotations

import threading
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

import core.files.outlines.export
from app.session import settings
from core.words.errors import FileError

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from pytestqt.qtbot import QtBot

    from app.shell.window import MainWindow
    from app.steps.export.panel import ExportPanel
    from tests.app.conftest import Answers


@pytest.fixture
def panel(window: MainWindow) -> ExportPanel:
    window.export_action.trigger()
    assert window.workspace is not None
    return window.workspace.parts.export


def test_it_is_reached_from_the_menu_and_from_the_fit_and_left_again(window: MainWindow, panel: ExportPanel) -> None:
    board = window.workspace
    assert board is not None
    assert panel.isVisible()
    panel.left.emit()
    assert not panel.isVisible()
    assert board.step_number == 2
    QTest.mouseClick(board.parts.verdicts.write_button, Qt.MouseButton.LeftButton)
    assert panel.isVisible()


def test_the_outlines_are_written_checked_and_listed(
    qtbot: QtBot, panel: ExportPanel, answers: Answers, tmp_path: Path
) -> None:
    answers.folder = tmp_path
    QTest.mouseClick(panel.choose_button, Qt.MouseButton.LeftButton)
    assert panel.folder.text() == str(tmp_path)
    with qtbot.waitSignal(panel.written, timeout=30_000) as blocker:
        QTest.mouseClick(panel.write_button, Qt.MouseButton.LeftButton)
    assert blocker.args is not None
    report = blocker.args[0]
    listed = [panel.files.item(i).text() for i in range(panel.files.count())]
    assert listed == list(report.files)
    assert all((tmp_path / name).is_file() for name in listed)
    assert {p.suffix for p in tmp_path.glob("*.dxf")} == {".dxf"}
    assert "read back and compared" in panel.summary.text()
    assert panel.summary.isVisible()
    QTest.mouseClick(panel.open_button, Qt.MouseButton.LeftButton)
    assert answers.opened == [tmp_path]
    assert settings.EXPORT_FOLDER.get() == str(tmp_path)


def test_a_folder_that_is_not_there_is_made(qtbot: QtBot, panel: ExportPanel, tmp_path: Path) -> None:
    panel.folder.setText("  ")
    QTest.mouseClick(panel.write_button, Qt.MouseButton.LeftButton)
    assert panel.trouble.text() == "No folder is named yet. Choose one, or type its name."
    assert not panel.is_writing
    panel.folder.setText(str(tmp_path / "new"))
    with qtbot.waitSignal(panel.written, timeout=30_000):
        panel.write()
    assert list((tmp_path / "new").glob("*.dxf"))


def test_files_that_are_there_are_replaced_only_when_the_user_says_so(
    qtbot: QtBot, panel: ExportPanel, answers: Answers, tmp_path: Path
) -> None:
    panel.folder.setText(str(tmp_path))
    with qtbot.waitSignal(panel.written, timeout=30_000):
        panel.write()
    mine = next(tmp_path.glob("*.txt"))
    mine.write_text("mine")
    panel.write()
    qtbot.waitUntil(lambda: "there already" in panel.trouble.text(), timeout=30_000)
    assert answers.asked == ["replace"]
    assert mine.read_text() == "mine"
    answers.replace = True
    with qtbot.waitSignal(panel.written, timeout=30_000):
        panel.write()
    assert mine.read_text() != "mine"


def test_what_is_shown_as_written_is_taken_back_when_the_design_changes(
    qtbot: QtBot, window: MainWindow, panel: ExportPanel, tmp_path: Path
) -> None:
    panel.folder.setText(str(tmp_path))
    with qtbot.waitSignal(panel.written, timeout=30_000):
        panel.write()
    assert panel.summary.isVisible()
    assert window.session is not None
    window.session.set_text("new_insert.length", "204", "length")
    qtbot.waitUntil(lambda: not panel.summary.isVisible())
    assert "write them again" in panel.trouble.text()


def test_what_goes_wrong_is_said_and_nothing_is_claimed(
    qtbot: QtBot, panel: ExportPanel, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_args: object, **_more: object) -> None:
        raise FileError("housing-base.dxf", "can't be written: the disk is full", hint="Make room on it.")

    monkeypatch.setattr(core.files.outlines.export, "export", fail)
    panel.folder.setText(str(tmp_path))
    QTest.mouseClick(panel.write_button, Qt.MouseButton.LeftButton)
    qtbot.waitUntil(lambda: "disk is full" in panel.trouble.text())
    assert panel.trouble.text().startswith("Nothing was written.")
    assert not panel.summary.isVisible()
    assert panel.write_button.isEnabled()


def test_writing_can_be_called_off(
    qtbot: QtBot, panel: ExportPanel, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    started, go_on = threading.Event(), threading.Event()

    def endless(*_args: object, tick: Callable[[float], None], **_more: object) -> None:
        started.set()
        go_on.wait(10)
        tick(0.5)
        raise AssertionError("it was called off")

    monkeypatch.setattr(core.files.outlines.export, "export", endless)
    panel.folder.setText(str(tmp_path))
    with qtbot.assertNotEmitted(panel.written):
        QTest.mouseClick(panel.write_button, Qt.MouseButton.LeftButton)
        assert started.wait(10)
        assert panel.cancel_button.isVisible()
        QTest.mouseClick(panel.cancel_button, Qt.MouseButton.LeftButton)
        go_on.set()
    assert panel.trouble.text() == "Called off: nothing was written."
    assert not panel.is_writing


def test_the_options_are_passed_on_and_remembered(
    qtbot: QtBot, window: MainWindow, panel: ExportPanel, tmp_path: Path
) -> None:
    assert window.session is not None
    window.session.set_text("new_insert.length", "204", "length")
    panel.folder.setText(str(tmp_path))
    panel.older.setChecked(True)
    panel.old_outlines.setChecked(True)
    with qtbot.waitSignal(panel.written, timeout=30_000) as blocker:
        panel.write()
    assert blocker.args is not None
    assert any(not ring.is_cut for ring in blocker.args[0].rings)
    assert sum(name.endswith(".dxf") for name in blocker.args[0].files) == 8
    assert settings.EXPORT_OLD_FORM.get() is True


def test_closing_the_window_waits_for_the_writer(window: MainWindow, panel: ExportPanel, tmp_path: Path) -> None:
    panel.folder.setText(str(tmp_path))
    panel.write()
    assert window.close()
    assert not panel.is_writing
    assert not [t for t in threading.enumerate() if t.name.startswith("seatwright")]
