"""The field for the project's notes: several lines of free text."""

from __future__ import annotations

from itertools import count
from typing import TYPE_CHECKING

from PySide6.QtCore import QSize, Signal
from PySide6.QtWidgets import QPlainTextEdit, QWidget

from app.session.words import spoken
from core import edits

if TYPE_CHECKING:
    from PySide6.QtGui import QFocusEvent

    from app.widgets.source import Editable

_keys = count(1_000_000)  # apart from those of the fields: two owners of one key would merge


class NotesField(QPlainTextEdit):
    """Free text at one path; what is typed in one visit is one undo step."""

    told = Signal(str)

    def __init__(self, model: Editable, path: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._model, self.path = model, path
        self._key = next(_keys)
        self.setAccessibleName(spoken(model.project, path))
        self.setAccessibleDescription(edits.field_at(model.project, path).meaning)
        self.setTabChangesFocus(True)
        self.setUndoRedoEnabled(False)  # the project's undo, not the text's
        self.refresh()
        self.textChanged.connect(self._typed)

    def sizeHint(self) -> QSize:
        return QSize(self.fontMetrics().averageCharWidth() * 30, self.fontMetrics().height() * 7)

    def minimumSizeHint(self) -> QSize:
        return QSize(self.fontMetrics().averageCharWidth() * 20, self.fontMetrics().height() * 5)

    def refresh(self) -> None:
        """Show the project's text, unless it is what is being typed."""
        text = str(edits.get_value(self._model.project, self.path))
        if text != self.toPlainText():
            self.blockSignals(True)
            self.setPlainText(text)
            self.blockSignals(False)

    def _typed(self) -> None:
        text = self.toPlainText()
        path = self.path
        self._model.change("notes", lambda p: edits.set_text(p, path, text), merge_key=self._key, path=path)

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self._key = next(_keys)
        self._model.focus(self.path)
