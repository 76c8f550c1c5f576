"""The overall verdict: shape, word and colour, and how many conflicts and findings stand behind it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.steps.fit.answers import counts_text
from app.widgets import fonts
from app.widgets.theme import ink, paint_mark
from app.widgets.veil import PENDING
from core.words.verdicts import WORDS, Verdict

if TYPE_CHECKING:
    from app.session.session import Session


class Overall(QWidget):
    """The head of the verdict list."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        session.changed.connect(self._refresh)
        session.judged.connect(self._refresh)
        self._refresh()

    @property
    def verdict(self) -> Verdict:
        """The verdict of the project that is shown."""
        return self._session.result.overall

    @property
    def counts(self) -> str:
        """How many conflicts, and how many checks are not go."""
        return counts_text(self._session.result)

    def _refresh(self) -> None:
        known = self._session.is_judged
        self.setAccessibleName(f"Overall verdict: {WORDS[self.verdict]}" if known else PENDING)
        self.setAccessibleDescription(self.counts if known else "")
        self.update()

    def sizeHint(self) -> QSize:
        return QSize(self.fontMetrics().averageCharWidth() * 30, round(self.fontMetrics().height() * 3.4))

    def paintEvent(self, _event: QPaintEvent) -> None:
        inks = ink(self.palette())
        line = self.fontMetrics().height()
        with QPainter(self) as painter:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            if not self._session.is_judged:
                painter.setPen(inks.quiet)
                painter.drawText(self.rect(), Qt.AlignmentFlag.AlignVCenter, PENDING)
                return
            font = fonts.verdict(self.font())
            tall = QFontMetricsF(font).height()
            top = (self.height() - tall - line) / 2.0
            side = line * 1.7
            paint_mark(painter, QRectF(0, top + (tall + line - side) / 2.0, side, side), self.verdict, inks)
            x = side + line * 0.75
            painter.setFont(font)
            painter.setPen(inks.of(self.verdict))
            painter.drawText(QRectF(x, top, self.width() - x, tall), Qt.AlignmentFlag.AlignVCenter, WORDS[self.verdict])
            painter.setFont(self.font())
            painter.setPen(inks.quiet)
            painter.drawText(QRectF(x, top + tall, self.width() - x, line), Qt.AlignmentFlag.AlignVCenter, self.counts)
