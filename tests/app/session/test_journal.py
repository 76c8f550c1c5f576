"""Nothing lost: edits are on disk soon, and are offered again when the program ended without saving."""

from __future__ import annotations

import subprocess
import sys
import time
from typing import TYPE_CHECKING

from PySide6.QtCore import QSettings, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QPushButton

from app.session.journal import MOST_MS, WAIT_MS, folder, left_behind
from app.shell.start_page import Card
from app.steps.dialogs import Unsaved
from core.files.project.file import load_project, save_project
from core.files.project.journal import SUFFIX, entries, keep, read_entry

if TYPE_CHECKING:
    from pathlib import Path

    import pytest
    from pytestqt.qtbot import QtBot

    from app.shell.window import MainWindow
    from tests.app.conftest import Answers

_LEAVES = """
import os, sys
from pathlib import Path
from PySide6.QtCore import QSettings
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication
QSettings.setPath(QSettings.Format.IniFormat, QSettings.Scope.UserScope, sys.argv[1])
application = QApplication([])
from app.shell.window import MainWindow
from core.files.project.file import load_project
path = Path(sys.argv[2])
window = MainWindow(load_project(path), path)
window.show()
session = window.session
assert session.set_text("new_insert.length", "201.5", "length")
QTest.qWait(2000)
print("edited", flush=True)
os._exit(9)
"""


def test_an_edit_is_kept_within_two_seconds_and_taken_away_when_it_is_saved(
    qtbot: QtBot, window: MainWindow, answers: Answers, tmp_path: Path
) -> None:
    assert WAIT_MS < MOST_MS <= 2000
    session, journal = window.session, window.flow.journal
    assert session is not None
    assert journal is not None
    assert read_entry(journal.place) is None
    for length in ("201", "202", "203"):  # one after the other must not put it off
        assert session.set_text("new_insert.length", length, "length")
    qtbot.waitUntil(lambda: read_entry(journal.place) is not None, timeout=MOST_MS + 500)
    entry = read_entry(journal.place)
    assert entry is not None
    assert entry.project == session.project
    assert left_behind() == ()  # its program is still there
    answers.save = tmp_path / "part.seatwright"
    window.flow.save()
    assert read_entry(journal.place) is None
    session.undo_stack.undo()
    qtbot.waitUntil(lambda: read_entry(journal.place) is not None, timeout=MOST_MS + 500)
    session.undo_stack.redo()  # as it was saved
    qtbot.waitUntil(lambda: read_entry(journal.place) is None, timeout=MOST_MS + 500)


def test_a_window_that_is_closed_leaves_nothing_behind(window: MainWindow, answers: Answers) -> None:
    session, journal = window.session, window.flow.journal
    assert session is not None
    assert journal is not None
    assert session.set_text("new_insert.length", "201", "length")
    journal.keep()
    assert entries(journal.place.parent)
    answers.unsaved = Unsaved.DISCARD
    assert window.close()
    assert not entries(journal.place.parent)


def test_what_a_killed_program_had_not_saved_is_offered_and_gone_on_with(
    window: MainWindow, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("QT_QPA_PLATFORM", "offscreen")
    assert window.session is not None
    path, place = tmp_path / "part.seatwright", tmp_path / "settings"
    save_project(window.session.project, path)
    done = subprocess.run(
        [sys.executable, "-c", _LEAVES, str(place), str(path)], capture_output=True, text=True, timeout=60, check=False
    )
    assert done.stdout.strip() == "edited", done.stderr
    QSettings.setPath(QSettings.Format.IniFormat, QSettings.Scope.UserScope, str(place))
    (entry,) = left_behind()
    assert entry.source == path
    assert entry.project.new_insert.length == 201.5
    assert time.time() - entry.kept < 60.0
    assert load_project(path).new_insert.length != 201.5
    window.show_start()
    page = window.start_page
    assert page is not None
    card = next(
        card for card in page.findChildren(Card) if "Not saved when the program ended" in card.accessibleDescription()
    )
    QTest.mouseClick(card, Qt.MouseButton.LeftButton)
    assert window.session.project.new_insert.length == 201.5
    assert window.session.path == path
    assert window.flow.is_dirty
    assert left_behind() == ()


def test_what_was_left_can_be_given_up(window: MainWindow) -> None:
    assert window.session is not None
    keep(folder() / f"old{SUFFIX}", window.session.project, None, time.time())
    window.show_start()
    assert window.start_page is not None
    buttons = [b for b in window.start_page.findChildren(QPushButton) if b.text() == "Give up" and b.isVisible()]
    assert len(buttons) == 1
    QTest.mouseClick(buttons[0], Qt.MouseButton.LeftButton)
    assert left_behind() == ()
    assert not buttons[0].isVisible()


def test_a_new_part_is_asked_about_before_it_is_lost_and_a_demo_is_not(window: MainWindow, answers: Answers) -> None:
    window.show_start()
    page = window.start_page
    assert page is not None
    page.part_described.emit(page.draft.part())
    assert window.flow.is_dirty
    answers.unsaved = Unsaved.CANCEL
    assert not window.flow.open_demo("lens-ring")
    assert answers.asked[-1] == "unsaved"
    answers.unsaved = Unsaved.DISCARD
    assert window.flow.open_demo("lens-ring")
    assert not window.flow.is_dirty
