"""The slim rail of steps, in the order of the job: a number, a word, and for the fit its verdict at the corner."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFontMetrics, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton, QButtonGroup, QSizePolicy, QVBoxLayout, QWidget

from app.widgets.fonts import bold
from app.widgets.theme import ink, paint_mark

if TYPE_CHECKING:
    from core.words.verdicts import Verdict

TITLES: Final = ("Measure", "Resize", "Fit")
"""The steps, here and in the menu."""


class StepButton(QAbstractButton):
    """One step: its number in a ring, its word below."""

    def __init__(self, number: int, title: str, parent: QWidget, *, is_first: bool, is_last: bool) -> None:
        super().__init__(parent)
        self._number, self._is_first, self._is_last = number, is_first, is_last
        self.verdict: Verdict | None = None
        self.setText(title)
        self.setAccessibleName(f"Step {number}: {title}")
        self.setToolTip(f"{title} (Ctrl+{number})")
        self.setCheckable(True)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAttribute(Qt.WidgetAttribute.WA_Hover)

    def sizeHint(self) -> QSize:
        m = self.fontMetrics()
        return QSize(QFontMetrics(bold(self.font())).horizontalAdvance("Measure") + m.height(), round(m.height() * 4.4))

    def paintEvent(self, _event: QPaintEvent) -> None:
        inks = ink(self.palette())
        line = self.fontMetrics().height()
        middle = self.width() / 2.0
        disc = QRectF(middle - line * 0.95, line * 0.55, line * 1.9, line * 1.9)
        is_current = self.isChecked()
        with QPainter(self) as painter:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.setPen(QPen(inks.ghost, max(1.0, line / 14)))
            if not self._is_first:
                painter.drawLine(QPointF(middle, 0), QPointF(middle, disc.top() - line * 0.15))
            if not self._is_last:
                painter.drawLine(QPointF(middle, line * 4.1), QPointF(middle, self.height()))
            if is_current:
                painter.fillRect(QRectF(0, 0, max(3.0, line / 5), self.height()), inks.highlight)
            painter.setPen(QPen(inks.text if is_current else inks.quiet, max(1.0, line / 10)))
            painter.setBrush(inks.text if is_current else Qt.BrushStyle.NoBrush)
            painter.drawEllipse(disc)
            painter.setFont(bold(self.font()))
            painter.setPen(inks.paper if is_current else inks.text)
            painter.drawText(disc, Qt.AlignmentFlag.AlignCenter, str(self._number))
            if self.verdict is not None:
                side = line * 0.85
                corner = QRectF(disc.right() - side * 0.55, disc.bottom() - side * 0.75, side, side)
                painter.setPen(Qt.PenStyle.NoPen)
                painter.setBrush(self.palette().window())
                painter.drawEllipse(corner.adjusted(-line * 0.12, -line * 0.12, line * 0.12, line * 0.12))
                paint_mark(painter, corner, self.verdict, inks)
            painter.setPen(inks.text if is_current or self.underMouse() else inks.quiet)
            painter.setFont(bold(self.font()) if is_current else self.font())
            words = QRectF(0, disc.bottom() + line * 0.1, self.width(), line * 1.5)
            painter.drawText(words, Qt.AlignmentFlag.AlignCenter, self.text())
            if self.hasFocus():
                painter.setPen(QPen(inks.highlight, max(2.0, line / 8)))
                painter.setBrush(Qt.BrushStyle.NoBrush)
                painter.drawEllipse(disc.adjusted(-3, -3, 3, 3))


class Rail(QWidget):
    """The steps, one of them chosen.

    Attributes:
        chosen: number of the step that the user chose, from 0.
    """

    chosen = Signal(int)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName("Steps of the job")
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Expanding)
        self._group = QButtonGroup(self)
        self.buttons: list[StepButton] = []
        column = QVBoxLayout(self)
        column.setContentsMargins(0, self.fontMetrics().height() // 2, 0, 0)
        column.setSpacing(0)
        for i, title in enumerate(TITLES):
            button = StepButton(i + 1, title, self, is_first=i == 0, is_last=i == len(TITLES) - 1)
            button.clicked.connect(lambda _checked=False, n=i: self.chosen.emit(n))
            self._group.addButton(button, i)
            self.buttons.append(button)
            column.addWidget(button)
        column.addStretch(1)

    def put(self, number: int) -> None:
        """Show a step as the chosen one."""
        self.buttons[number].setChecked(True)

    def show_verdict(self, number: int, verdict: Verdict | None) -> None:
        """Show a step's verdict in place of its number; None while it is not known."""
        self.buttons[number].verdict = verdict
        self.buttons[number].setAccessibleDescription("" if verdict is None else f"verdict: {verdict}")
        self.buttons[number].update()
