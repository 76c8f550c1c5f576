"""The field for a choice from a list of words."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QPalette
from PySide6.QtWidgets import QComboBox, QSizePolicy, QStyle, QStyleOptionComboBox, QStylePainter, QWidget

from app.widgets.plain import tip
from app.widgets.silhouette import silhouette_icon
from app.widgets.source import NOTHING
from core.geometry.ovals.ovals import Family

if TYPE_CHECKING:
    from collections.abc import Sequence

    from PySide6.QtGui import QFocusEvent, QPaintEvent, QWheelEvent

    from app.widgets.explain import Explanation
    from app.widgets.source import Source

_SHAPES: Final[dict[object, Family]] = {family.value: family for family in Family}


class ChoiceField(QComboBox):
    """One of a few words, of the project or of a page.

    Attributes:
        told: why a word is refused; empty when it isn't.
    """

    told = Signal(str)

    def __init__(
        self, source: Source, words: Sequence[tuple[object, str]], parent: QWidget | None = None, *, chars: int = 0
    ) -> None:
        """A field for ``source``, as wide as the longest of its words, or from ``chars`` letters on."""
        super().__init__(parent)
        self.source, self.path = source, source.path
        self.setAccessibleName(source.name)
        self.setAccessibleDescription(source.meaning)
        self.setToolTip(tip(source.meaning))
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)  # the wheel must not bring the focus
        self.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToContents)
        if chars:
            self.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
            self.setMinimumContentsLength(chars)
        self._choices: list[object] = []
        self._has_shapes = source.path.endswith(".family")  # they are seen, in a narrow field instead of their words
        self._is_narrow = bool(chars)
        line = self.fontMetrics().height()
        self.setIconSize(QSize(round(line * 1.35), round(line * 0.9)))
        self.fill(words)
        self.activated.connect(self._chosen)
        source.refused.connect(self._on_refused)
        source.moved.connect(self.refresh)

    @property
    def choices(self) -> tuple[object, ...]:
        """What each word stands for, in order."""
        return tuple(self._choices)

    def fill(self, words: Sequence[tuple[object, str]]) -> None:
        """Put other words in."""
        self.clear()
        self._choices = [choice for choice, _ in words]  # Qt's own data hand out the bare text of an enumeration
        for choice, text in words:
            self.addItem(text, choice)
            if self._has_shapes and choice in _SHAPES:
                self.setItemIcon(self.count() - 1, silhouette_icon(_SHAPES[choice]))
        self.refresh()

    def take_room(self) -> None:
        """Be as wide as the row."""
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)

    def explanation(self) -> Explanation | None:
        """What F1 says of it."""
        return self.source.explanation()

    def refresh(self) -> None:
        """Show the value."""
        choice = self.source.chosen()
        if choice is not NOTHING:
            self.setCurrentIndex(self._choices.index(choice) if choice in self._choices else -1)

    def _chosen(self, index: int) -> None:
        self.told.emit("")
        if not self.source.choose(self._choices[index]):
            self.refresh()

    def _on_refused(self, message: str) -> None:
        self.told.emit(message)
        self.refresh()

    def paintEvent(self, _event: QPaintEvent) -> None:
        painter = QStylePainter(self)
        option = QStyleOptionComboBox()
        self.initStyleOption(option)
        painter.drawComplexControl(QStyle.ComplexControl.CC_ComboBox, option)
        if self.currentIndex() < 0 and self.placeholderText():  # as Qt's own
            option.palette.setBrush(QPalette.ColorRole.ButtonText, option.palette.placeholderText())
            option.currentText = self.placeholderText()
        text, field = option.currentText, QStyle.SubControl.SC_ComboBoxEditField
        room = self.style().subControlRect(QStyle.ComplexControl.CC_ComboBox, option, field, self)
        if self._is_narrow and not option.currentIcon.isNull():
            size = self.iconSize()
            option.currentIcon.paint(painter, room.left(), room.top(), size.width() + 4, room.height())
            self.setToolTip(text)
            return
        # Qt cuts a word that is too long in the middle of a letter.
        beside = 0 if option.currentIcon.isNull() else self.iconSize().width() + 4
        option.currentText = self.fontMetrics().elidedText(text, Qt.TextElideMode.ElideRight, room.width() - beside)
        painter.drawControl(QStyle.ControlElement.CE_ComboBoxLabel, option)
        self.setToolTip(tip(text if option.currentText != text else self.source.meaning))

    def wheelEvent(self, event: QWheelEvent) -> None:
        event.ignore()  # a choice is made by hand; the form scrolls instead

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self.source.focus(is_here=True)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.source.focus(is_here=False)
