"""Starts Qt and shows the window."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QApplication

from app.shell.window import MainWindow
from app.widgets.style.appearance import follow
from core.files.project.file import load_project

if TYPE_CHECKING:
    from pathlib import Path

    from core.part.project import Project


def run_window(*, project: Project | None = None, path: Path | None = None) -> int:
    """Show the window until it is closed; returns Qt's exit status.

    Raises:
        FileError: the project at ``path`` can't be read.
    """
    if path is not None:
        project = load_project(path)
    application = QApplication.instance() or QApplication(sys.argv[:1])
    assert isinstance(application, QApplication)
    application.setApplicationName("Seatwright")
    application.setOrganizationName("Seatwright")
    follow(application)
    window = MainWindow(project, path)
    window.show()
    return application.exec()
