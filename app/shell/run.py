"""Starts Qt and shows the window."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QFileOpenEvent, QIcon
from PySide6.QtWidgets import QApplication, QMessageBox

from app.shell.window import MainWindow
from app.widgets.style.appearance import follow
from core.files.project.demos import FOLDER
from core.files.project.file import load_project

if TYPE_CHECKING:
    from collections.abc import Sequence

    from core.part.project import Project

_EXIT_FAILED = 2


class Application(QApplication):
    """The program on a desktop, which hands over files by an event: on some a double click does not start it anew."""

    def __init__(self) -> None:
        super().__init__(sys.argv[:1])
        self.window: MainWindow | None = None
        self.setApplicationName("Seatwright")
        self.setOrganizationName("Seatwright")
        self.setDesktopFileName("seatwright")
        self.setWindowIcon(QIcon(str(FOLDER.parent / "seatwright.svg")))
        follow(self)

    def event(self, event: QEvent) -> bool:
        if isinstance(event, QFileOpenEvent) and event.file() and self.window is not None:
            self.window.flow.open(Path(event.file()))
            return True
        return super().event(event)

    def run(self, window: MainWindow) -> int:
        """Show the window until it is closed; returns Qt's exit status."""
        self.window = window
        window.show()
        return self.exec()


def run_window(*, project: Project | None = None, path: Path | None = None) -> int:
    """Show the window until it is closed; returns Qt's exit status.

    Raises:
        FileError: the project at ``path`` can't be read.
    """
    if path is not None:
        project = load_project(path)
    application = Application()
    return application.run(MainWindow(project, path))


def run_from_desktop(files: Sequence[Path]) -> int:
    """Show the window with the first of ``files``; what goes wrong is told in a box. Returns the exit status."""
    application = Application()
    try:
        window = MainWindow()
        if files:
            window.show()  # a refused file is told over it
            window.flow.open(files[0])
        return application.run(window)
    except Exception as error:  # noqa: BLE001 - there is no console that a traceback could be seen on
        box = QMessageBox(QMessageBox.Icon.Critical, "Seatwright", "Seatwright could not start.")
        box.setTextFormat(Qt.TextFormat.PlainText)
        box.setInformativeText(f"{type(error).__name__}: {error}")
        box.exec()
        return _EXIT_FAILED
