"""The field for the project's notes: several lines of free text."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QSize, Signal
from PySide6.QtWidgets import QPlainTextEdit, QWidget

from app.widgets.plain import tip
from app.widgets.source import KEYS

if TYPE_CHECKING:
    from PySide6.QtGui import QFocusEvent

    from app.widgets.explain import Explanation
    from app.widgets.source import Source


class NotesField(QPlainTextEdit):
    """Free text; what is typed in one visit is one undo step."""

    told = Signal(str)

    def __init__(self, source: Source, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.source, self.path = source, source.path
        self._key = next(KEYS)
        self.setAccessibleName(source.name)
        self.setAccessibleDescription(source.meaning)
        self.setToolTip(tip(source.meaning))
        self.setTabChangesFocus(True)
        self.setUndoRedoEnabled(False)  # the project's undo, not the text's
        self.refresh()
        self.textChanged.connect(lambda: source.put(self.toPlainText(), self._key))
        source.refused.connect(self.told)

    def explanation(self) -> Explanation | None:
        """What F1 says of it."""
        return self.source.explanation()

    def sizeHint(self) -> QSize:
        return QSize(self.fontMetrics().averageCharWidth() * 30, self.fontMetrics().height() * 7)

    def minimumSizeHint(self) -> QSize:
        return QSize(self.fontMetrics().averageCharWidth() * 20, self.fontMetrics().height() * 5)

    def refresh(self) -> None:
        """Show the text, unless it is what is being typed."""
        text = self.source.typed(self.source.value())
        if text != self.toPlainText():
            self.blockSignals(True)
            self.setPlainText(text)
            self.blockSignals(False)

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self._key = next(KEYS)
        self.source.focus(is_here=True)
