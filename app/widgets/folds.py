"""What is rarely needed, behind one line of text."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import (
    QSizePolicy,
    QStyle,
    QStyleOptionToolButton,
    QStylePainter,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.widgets.layouts import bare

if TYPE_CHECKING:
    from PySide6.QtGui import QPaintEvent

_FOLD_CHARS = 24
"""A line that folds is cut, rather than widen its form, from so many characters on."""


class FoldButton(QToolButton):
    """One line of text with an arrow that points down while what it folds away is open."""

    def __init__(self, text: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setText(text)
        self.setAutoRaise(True)
        self.setCheckable(True)
        self.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        self.setArrowType(Qt.ArrowType.RightArrow)
        self.toggled.connect(self._turn)

    def minimumSizeHint(self) -> QSize:
        hint = self.sizeHint()
        return QSize(min(hint.width(), self.fontMetrics().averageCharWidth() * _FOLD_CHARS), hint.height())

    def _turn(self, is_open: bool) -> None:  # noqa: FBT001 - Qt's signal carries it
        self.setArrowType(Qt.ArrowType.DownArrow if is_open else Qt.ArrowType.RightArrow)

    def paintEvent(self, _event: QPaintEvent) -> None:
        option = QStyleOptionToolButton()
        self.initStyleOption(option)
        # The arrow says that it is open; sunken, it would look like something that is being pressed.
        option.state &= ~(QStyle.StateFlag.State_On | QStyle.StateFlag.State_Sunken)
        room = self.width() - 2 * self.fontMetrics().height()  # without the arrow, and air at both ends
        option.text = self.fontMetrics().elidedText(self.text(), Qt.TextElideMode.ElideRight, room)
        painter = QStylePainter(self)
        painter.drawComplexControl(QStyle.ComplexControl.CC_ToolButton, option)


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
