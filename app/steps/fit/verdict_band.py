"""The verdict in one line over the sheet, where the window is too narrow for a column of its own."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPaintEvent, QPolygonF
from PySide6.QtWidgets import QAbstractButton, QSizePolicy, QWidget

from app.steps.fit.answers import cards, counts_text
from app.widgets.fonts import bold, title
from app.widgets.theme import ink, paint_mark
from app.widgets.veil import PENDING
from core.words.verdicts import WORDS

if TYPE_CHECKING:
    from app.session.session import Session


class VerdictBand(QAbstractButton):
    """Shape, word, and the worst entry with its value and margin; pressed, it opens the list over the form."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self.setCheckable(True)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        session.changed.connect(self._refresh)
        session.judged.connect(self._refresh)
        session.remedied.connect(self._refresh)
        self._refresh()

    def sizeHint(self) -> QSize:
        return QSize(self.fontMetrics().averageCharWidth() * 40, round(self.fontMetrics().height() * 2.4))

    def _refresh(self) -> None:
        self._words = self._said()
        self.setAccessibleName(" ".join(self._words).strip())
        self.setToolTip("The whole list")
        self.update()

    def _said(self) -> tuple[str, str, str]:
        """Verdict, worst entry, and its margin or how many checks there are."""
        if not self._session.is_judged:
            return "", "", PENDING
        result = self._session.result
        word = WORDS[result.overall]
        rows = cards(result)
        if not rows:
            return word, "", counts_text(result)
        first, second = rows[0].lines[0], rows[0].lines[1]
        value = " ".join(text.words for text in first.right)
        more = f"; {len(rows) - 1} more" if len(rows) > 1 else ""
        return word, f"{first.left.words} {value}".strip(), f"{second.left.words}{more}"

    def paintEvent(self, _event: QPaintEvent) -> None:
        inks, line = ink(self.palette()), self.fontMetrics().height()
        word, entry, more = self._words
        with QPainter(self) as painter:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            x, room = float(line), QRectF(self.rect())
            if word:
                side = line * 1.3
                paint_mark(
                    painter, QRectF(x, (room.height() - side) / 2, side, side), self._session.result.overall, inks
                )
                x += side + line * 0.7
            large = title(self.font())
            right = room.right() - line * 2.2
            for text, font, color in (
                (word, large, inks.of(self._session.result.overall) if word else inks.quiet),
                (entry, bold(self.font()), inks.text),
                (more, self.font(), inks.quiet),
            ):
                metrics = QFontMetricsF(font)
                wide = metrics.horizontalAdvance(text)
                if not text or x + wide > right:
                    continue
                painter.setFont(font)
                painter.setPen(color)
                painter.drawText(QRectF(x, 0, wide + 1, room.height()), Qt.AlignmentFlag.AlignVCenter, text)
                x += wide + line * 0.7
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(inks.quiet)
            tip, middle = line * 0.3, room.height() / 2
            arrow = [
                (right + tip, middle - tip / 2),
                (right + 3 * tip, middle - tip / 2),
                (right + 2 * tip, middle + tip),
            ]
            painter.drawPolygon(QPolygonF([QRectF(a, b, 0, 0).topLeft() for a, b in arrow]))
            painter.fillRect(QRectF(0, room.bottom() - 1, room.width(), 1), inks.neutral)
            if self.hasFocus():
                painter.fillRect(QRectF(0, room.bottom() - 2, room.width(), 2), inks.highlight)
