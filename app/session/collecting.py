"""Reference cycles are collected in the window's thread alone, while there are threads that work beside it.

Python collects in whichever thread allocates. A cycle may hold a closed session with its undo stack and timers, and an
object of Qt's must not be destroyed in another thread than its own (Qt's manual, "Threads and QObjects").
"""

from __future__ import annotations

import gc
from typing import ClassVar, Final

from PySide6.QtCore import QObject, QTimer

EVERY_MS: Final = 1000


class Collector(QTimer):
    """Between `begin` and `end` it collects in its own thread, and Python itself in none."""

    _begun: ClassVar[int] = 0

    def __init__(self, parent: QObject) -> None:
        super().__init__(parent)
        self.setInterval(EVERY_MS)
        self.timeout.connect(collect)

    def begin(self) -> None:
        """Take over; once for every `end`."""
        Collector._begun += 1
        gc.disable()
        self.start()

    def end(self) -> None:
        """Hand back to Python, when no other collector is at work."""
        self.stop()
        Collector._begun -= 1
        if Collector._begun == 0:
            gc.enable()


def collect() -> None:
    """Collect the oldest generation that is due, with those younger than it, as Python itself would."""
    due = [count > threshold for count, threshold in zip(gc.get_count(), gc.get_threshold(), strict=True)]
    if due[0]:
        gc.collect(2 if due[1] and due[2] else int(due[1]))
