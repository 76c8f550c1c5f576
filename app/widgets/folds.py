"""What is rarely needed, behind one line of text."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QPainter
from PySide6.QtWidgets import QSizePolicy, QToolButton, QVBoxLayout, QWidget

from app.widgets.layouts import bare
from app.widgets.plain import off_button
from app.widgets.style.marks import RULE, paint_arrow, paint_outline
from app.widgets.theme import ink

if TYPE_CHECKING:
    from PySide6.QtGui import QPaintEvent

_FOLD_CHARS = 24
"""A line that folds is cut, rather than widen its form, from so many characters on."""
_HIGH, _ARROW = 1.5, 0.95  # the line, and the room of its arrow, in heights of a line of text


class FoldButton(QToolButton):
    """One line of text with an arrow that points down while what it folds away is open."""

    def __init__(self, text: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setText(text)
        self.setAutoRaise(True)
        self.setCheckable(True)

    def sizeHint(self) -> QSize:
        line = self.fontMetrics().height()
        wide = self.fontMetrics().horizontalAdvance(off_button(self.text())) + line * _ARROW + line / 2.0
        return QSize(round(wide), round(line * _HIGH))

    def minimumSizeHint(self) -> QSize:
        hint = self.sizeHint()
        return QSize(min(hint.width(), self.fontMetrics().averageCharWidth() * _FOLD_CHARS), hint.height())

    def paintEvent(self, _event: QPaintEvent) -> None:
        inks, line, room = ink(self.palette()), self.fontMetrics().height(), QRectF(self.rect())
        is_hot = self.isEnabled() and self.underMouse()
        left = line * _ARROW
        text, wide = off_button(self.text()), self.width() - round(left)
        text = self.fontMetrics().elidedText(text, Qt.TextElideMode.ElideRight, wide)
        with QPainter(self) as painter:
            arrow = QRectF(0, 0, left * 0.8, room.height())
            paint_arrow(painter, arrow, inks.text if is_hot else inks.quiet, (0, 1) if self.isChecked() else (1, 0))
            painter.setPen(inks.text if self.isEnabled() else inks.quiet)
            painter.drawText(room.adjusted(left, 0, 0, 0), Qt.AlignmentFlag.AlignVCenter, text)
            if self.hasFocus():
                paint_outline(painter, room, inks.highlight, RULE)


class Fold(QWidget):
    """Rare fields behind one line of text."""

    def __init__(self, text: str, content: QWidget, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.content = content
        self.button = FoldButton(text, self)
        self.button.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        self.button.toggled.connect(self._toggled)
        column = bare(QVBoxLayout(self))
        column.addWidget(self.button)
        column.addWidget(content)
        content.setVisible(False)

    def open(self) -> None:
        """Show the fields."""
        self.button.setChecked(True)

    def _toggled(self, is_open: bool) -> None:  # noqa: FBT001 - Qt's signal carries it
        self.content.setVisible(is_open)
