"""A new part from an old outline file: the way to measure by a drawing, before there is a project."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QSplitter, QVBoxLayout, QWidget

from app.steps.measure.outline_file.topic import DrawingTopic
from app.widgets.column import Column
from app.widgets.layouts import bare

if TYPE_CHECKING:
    from pathlib import Path

    from app.steps.dialogs import MeasuringDialogs
    from core.words.lengths import Style


class DrawingPage(QWidget):
    """The drawing's form and board, and the way back.

    Attributes:
        part_made: a new `Project`.
        back_asked: the user goes back to the start page.
    """

    part_made = Signal(object)
    back_asked = Signal()

    def __init__(self, dialogs: MeasuringDialogs, style: Style, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.topic = DrawingTopic(None, dialogs, self, style=style)
        self.topic.part_made.connect(self.part_made)
        self.back_button = QPushButton("Back to the start page", self)
        self.back_button.clicked.connect(self.back_asked)
        left = QWidget(self)
        column = QVBoxLayout(left)
        space = self.fontMetrics().height() // 2
        column.setContentsMargins(space, space, space, space)
        column.addWidget(self.back_button, 0, Qt.AlignmentFlag.AlignLeft)
        column.addWidget(Column(self.topic.form, left), 1)
        across = QSplitter(Qt.Orientation.Horizontal, self)
        across.setChildrenCollapsible(False)
        for i, part in enumerate((left, self.topic.board)):
            across.addWidget(part)
            across.setStretchFactor(i, i)
        row = bare(QHBoxLayout(self))
        row.addWidget(across)

    def open(self, path: Path) -> None:
        """Read an outline file beside the window."""
        self.topic.open(path)

    def close_down(self) -> None:
        """Wait for whatever runs beside the window."""
        self.topic.close_down()
