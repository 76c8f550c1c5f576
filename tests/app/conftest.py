"""What the window's tests share: a part of their own, answers to dialogs, and settings that are nobody's."""

from __future__ import annotations

import gc
import threading
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QSettings

import app.session.results
from app.session.session import Session
from app.shell.window import MainWindow
from app.steps.dialogs import Dialogs, MeasuringDialogs, Overtaken, Unsaved
from core.evaluate import evaluate
from core.files.project.demos import load_demo
from core.new.item import starting_insert
from core.new.part import two_piece

if TYPE_CHECKING:
    from collections.abc import Iterator

    from PySide6.QtPrintSupport import QPrinter
    from PySide6.QtWidgets import QApplication, QWidget
    from pytestqt.qtbot import QtBot

    from core.evaluate import Result
    from core.part.project import Project


@dataclass
class Answers:
    """What the dialogs answer, and what they were asked and told."""

    open: Path | None = None
    save: Path | None = None
    folder: Path | None = None
    unsaved: Unsaved = Unsaved.DISCARD
    overtaken: Overtaken = Overtaken.CANCEL
    replace: bool = False
    measure: Path | None = None
    printer: QPrinter | None = None
    asked: list[str] = field(default_factory=list)
    told: list[tuple[str, str]] = field(default_factory=list)
    opened: list[Path] = field(default_factory=list)

    def dialogs(self) -> Dialogs:
        def ask_open(_window: QWidget, _folder: Path) -> Path | None:
            self.asked.append("open")
            return self.open

        def ask_save(_window: QWidget, _suggested: Path) -> Path | None:
            self.asked.append("save")
            return self.save

        def ask_folder(_window: QWidget, _folder: Path) -> Path | None:
            self.asked.append("folder")
            return self.folder

        def ask_unsaved(_window: QWidget, _name: str) -> Unsaved:
            self.asked.append("unsaved")
            return self.unsaved

        def ask_overtaken(_window: QWidget, _path: Path) -> Overtaken:
            self.asked.append("overtaken")
            return self.overtaken

        def ask_replace(_window: QWidget, _what: str) -> bool:
            self.asked.append("replace")
            return self.replace

        def tell(_window: QWidget, title: str, text: str) -> None:
            self.told.append((title, text))

        def open_folder(folder: Path) -> bool:
            self.opened.append(folder)
            return True

        return Dialogs(
            ask_open,
            ask_save,
            ask_folder,
            ask_unsaved,
            ask_overtaken,
            ask_replace,
            tell,
            open_folder,
            lambda _window: self.printer,
            lambda _window, title, text: self.told.append((title, text)),
            self.measuring_dialogs(),
        )

    def measuring_dialogs(self) -> MeasuringDialogs:
        def answer(_window: QWidget) -> Path | None:
            self.asked.append("measure")
            return self.measure

        return MeasuringDialogs(answer, answer, answer, answer)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    here = Path(__file__).parent
    for item in items:
        if item.path.is_relative_to(here):
            # The plug-in without a screen says this of every window; it says nothing about ours.
            cant = r"This plugin does not support (propagateSizeHints|raise|grabbing the keyboard)"
            item.add_marker(pytest.mark.qt_log_ignore(cant))


@pytest.fixture(autouse=True)
def _own_settings(tmp_path: Path) -> None:
    QSettings.setPath(QSettings.Format.IniFormat, QSettings.Scope.UserScope, str(tmp_path / "settings"))


@pytest.fixture(autouse=True)
def _edits_are_made_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """A loaded test machine must not decide which way an edit takes; tests of the slow way ask for it."""
    monkeypatch.setattr(app.session.results, "SLOW_S", float("inf"))


@pytest.fixture(autouse=True)
def _no_thread_is_left() -> Iterator[None]:
    yield
    left = [t.name for t in threading.enumerate() if t.name.startswith("seatwright")]
    assert not left, f"threads outlived their window: {left}"
    assert gc.isenabled()


@pytest.fixture(scope="session")
def project() -> Project:
    """A base and a lid around an obround insert; old and new insert are the same."""
    return two_piece(starting_insert(), name="Test housing")


@pytest.fixture(scope="session")
def result(project: Project) -> Result:
    return evaluate(project)


@pytest.fixture
def session(qapp: QApplication, project: Project, result: Result) -> Iterator[Session]:
    assert qapp is not None
    session = Session(project, result=result)
    yield session
    session.close()


@pytest.fixture
def answers() -> Answers:
    return Answers()


@pytest.fixture
def window(qtbot: QtBot, project: Project, answers: Answers) -> MainWindow:
    """A shown window with the test's project."""
    made = MainWindow(project, dialogs=answers.dialogs())
    qtbot.addWidget(made)
    made.resize(1280, 800)
    with qtbot.waitExposed(made):
        made.show()
    made.activateWindow()
    return made


@pytest.fixture(scope="session")
def demo() -> Result:
    """The first demo, proved once: results are immutable."""
    return evaluate(load_demo("compressor-intake"))


@pytest.fixture
def demo_session(qtbot: QtBot, demo: Result) -> Iterator[Session]:
    """The first demo, open."""
    assert qtbot is not None
    session = Session(demo.project, result=demo)
    yield session
    session.close()
