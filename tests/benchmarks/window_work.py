"""Benchmarks of the window: an edit to its painted frame, and start to usable window."""

from __future__ import annotations

import subprocess
import sys
from time import perf_counter

from tests.benchmarks.timing import Ratio, compare

_BARE = """
from PySide6.QtWidgets import QApplication, QMainWindow
a = QApplication([]); w = QMainWindow(); w.resize(1280, 800); w.show()
while not w.isVisible(): a.processEvents()
a.processEvents(); w.grab()
"""
_OURS = """
from PySide6.QtWidgets import QApplication
from app.shell.window import MainWindow
from core.files.project.demos import load_demo
a = QApplication([]); w = MainWindow(load_demo("compressor-intake")); w.resize(1280, 800); w.show()
while not w.isVisible(): a.processEvents()
a.processEvents(); w.grab()
w.close()
"""


def edit_to_frame() -> Ratio:
    """(b) a new length typed, to the painted frame of the plan."""
    from PySide6.QtWidgets import QApplication

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

    try:
        return compare("one edit to the painted plan", work, rounds=40)
    finally:
        session.undo_stack.setClean()
        window.close()


def _run(program: str) -> float:
    start = perf_counter()
    subprocess.run([sys.executable, "-c", program], check=True, capture_output=True)
    return perf_counter() - start


def start_to_window() -> Ratio:
    """(c) start to the first full frame; a bare PySide6 window is the yardstick."""
    return compare(
        "start to usable window",
        lambda _: _run(_OURS),
        rounds=5,
        yardstick=lambda: _run(_BARE),
        yardstick_name="bare PySide6 window",
    )
