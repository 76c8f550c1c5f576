"""The field for a choice from a list of words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QComboBox, QStyle, QStyleOptionComboBox, QStylePainter, QWidget

from app.session.words import spoken
from core import edits
from core.words.errors import UserError

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from PySide6.QtGui import QFocusEvent, QPaintEvent, QWheelEvent

    from app.widgets.source import Editable
    from core.part.project import Project


class ChoiceField(QComboBox):
    """One of a few words of the project at one path."""

    told = Signal(str)

    def __init__(
        self,
        model: Editable,
        path: str,
        parent: QWidget | None = None,
        *,
        choices: Sequence[str] = (),
        write: Callable[[Project, str, str], Project] = edits.set_text,
    ) -> None:
        """A field for ``path``; ``choices`` are fewer than the schema allows, where not all make sense."""
        super().__init__(parent)
        self._model, self.path, self._write = model, path, write
        self.setAccessibleName(spoken(model.project, path))
        field = edits.field_at(model.project, path)
        self.setAccessibleDescription(field.meaning)
        self.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)  # the wheel must not bring the focus
        for choice in choices or field.choices:
            self.addItem(field.word(choice), choice)
        if not choices and field.is_optional:
            self.insertItem(0, field.word(""), "")
        self.activated.connect(self._chosen)
        model.refused.connect(self._on_refused)
        self.refresh()

    def refresh(self) -> None:
        """Show the project's value."""
        try:
            value = edits.get_value(self._model.project, self.path)
        except UserError:
            return
        self.setCurrentIndex(self.findData("" if value is None else str(value)))

    def _chosen(self, index: int) -> None:
        self.told.emit("")
        value = str(self.itemData(index))
        text = spoken(self._model.wanted, self.path)
        if not self._model.change(text, lambda p: self._write(p, self.path, value), path=self.path):
            self.refresh()

    def _on_refused(self, path: str, message: str) -> None:
        if path == self.path:
            self.told.emit(message)
            self.refresh()

    def paintEvent(self, _event: QPaintEvent) -> None:
        painter = QStylePainter(self)
        option = QStyleOptionComboBox()
        self.initStyleOption(option)
        painter.drawComplexControl(QStyle.ComplexControl.CC_ComboBox, option)
        # Qt cuts a word that is too long in the middle of a letter.
        field = QStyle.SubControl.SC_ComboBoxEditField
        room = self.style().subControlRect(QStyle.ComplexControl.CC_ComboBox, option, field, self).width()
        option.currentText = self.fontMetrics().elidedText(option.currentText, Qt.TextElideMode.ElideRight, room)
        painter.drawControl(QStyle.ControlElement.CE_ComboBoxLabel, option)
        self.setToolTip(self.currentText() if option.currentText != self.currentText() else "")

    def wheelEvent(self, event: QWheelEvent) -> None:
        event.ignore()  # a choice is made by hand; the form scrolls instead

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self._model.focus(self.path)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self._model.focus("")
