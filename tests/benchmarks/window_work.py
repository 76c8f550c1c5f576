"""Benchmarks of the window: an edit to its painted frame, and start to usable window."""

from __future__ import annotations

import os
import subprocess
import sys
from tempfile import TemporaryDirectory
from unittest.mock import patch

from tests.benchmarks.timing import Ratio, compare

_BARE = """
from PySide6.QtWidgets import QApplication, QMainWindow
a = QApplication([]); w = QMainWindow(); w.resize(1280, 800); w.show()
while not w.isVisible(): a.processEvents()
a.sendPostedEvents(); w.grab()
"""
_OURS = """
from PySide6.QtWidgets import QApplication
from app.shell.window import MainWindow
from core.files.project.demos import load_demo
a = QApplication([]); w = MainWindow(load_demo("compressor-intake")); w.resize(1280, 800); w.show()
while not w.isVisible(): a.processEvents()
a.sendPostedEvents(); w.grab()  # its first frame; timers bring the verdicts after it
w.close()
"""


def edit_to_frame() -> Ratio:
    """(b) a new length typed, to the painted frame of the plan."""
    from PySide6.QtWidgets import QApplication

    import app.session.results
    from app.shell.window import MainWindow
    from core.files.project.demos import load_demo

    application = QApplication.instance() or QApplication([])
    window = MainWindow(load_demo("compressor-intake"))
    window.resize(1280, 800)
    window.show()
    application.processEvents()
    board = window.workspace
    assert board is not None
    session = board.session

    def work(i: int) -> None:
        session.set_text("new_insert.length", f"{219.3 + 0.01 * i:.2f}", "length")
        while session.is_busy:
            application.processEvents()
        board.plan.repaint()

    def rest() -> None:
        """The turns of the event loop after it: verdicts, cut, chart and lists."""
        session.settle()
        application.processEvents()

    try:
        # A loaded machine must not send the model beside the window.
        with patch.object(app.session.results, "SLOW_S", float("inf")):
            return compare("one edit to the painted plan", work, rounds=40, between=rest)
    finally:
        session.undo_stack.setClean()
        window.close()


def _run(program: str, bytecode: str) -> None:
    """Run a program as an installed one is: with its bytecode kept in a folder."""
    environment = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    environment["PYTHONPYCACHEPREFIX"] = bytecode
    subprocess.run([sys.executable, "-c", program], check=True, capture_output=True, env=environment)


def _children_s() -> float:
    """The processor's time of all processes that were run and waited for [s]."""
    times = os.times()
    return times.children_user + times.children_system


def start_to_window() -> Ratio:
    """(c) start to the first full frame; a bare PySide6 window is the yardstick."""
    with TemporaryDirectory() as bytecode:
        return compare(
            "start to usable window",
            lambda _: _run(_OURS, bytecode),
            rounds=5,
            yardstick=lambda: _run(_BARE, bytecode),
            yardstick_name="bare PySide6 window",
            clock=_children_s,
        )
