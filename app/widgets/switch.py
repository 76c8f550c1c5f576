"""A few words in a row, one of them underlined: a choice that is made at a glance."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QObject, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFontMetrics, QPainter, QPaintEvent
from PySide6.QtWidgets import QAbstractButton, QButtonGroup, QHBoxLayout, QSizePolicy, QWidget

from app.widgets.fonts import bold
from app.widgets.layouts import bare
from app.widgets.plain import tip
from app.widgets.style.marks import RULE, paint_outline
from app.widgets.theme import ink

if TYPE_CHECKING:
    from collections.abc import Sequence

    from app.widgets.explain import Explanation
    from app.widgets.source import Source


class _Word(QAbstractButton):
    """One word of a switch."""

    def __init__(self, text: str, parent: QWidget) -> None:
        super().__init__(parent)
        self.setText(text)
        self.setCheckable(True)
        self.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        self.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        self.setAttribute(Qt.WidgetAttribute.WA_Hover)

    def sizeHint(self) -> QSize:
        m = QFontMetrics(bold(self.font()))  # as wide when it isn't chosen, so that nothing moves
        return QSize(m.horizontalAdvance(self.text()) + m.height() // 2, round(m.height() * 1.55))

    def paintEvent(self, _event: QPaintEvent) -> None:
        inks = ink(self.palette())
        with QPainter(self) as painter:
            # The room between two words is at the right of each, so that the first begins where its column does.
            r = QRectF(self.rect()).adjusted(0, 0, 2 * RULE - self.fontMetrics().height() // 2, 0)
            is_hot = self.isEnabled() and (self.isChecked() or self.underMouse())
            painter.setPen(inks.text if is_hot else inks.quiet)
            painter.setFont(bold(self.font()) if self.isChecked() else self.font())
            painter.drawText(r.adjusted(RULE, 0, 0, -RULE), Qt.AlignmentFlag.AlignVCenter, self.text())
            if self.isChecked():
                rule = QRectF(r.left(), r.bottom() - RULE, r.width(), RULE)
                painter.fillRect(rule, inks.highlight if self.isEnabled() else inks.ghost)
            if self.hasFocus():
                paint_outline(painter, r, inks.highlight, RULE)


class Switch(QWidget):
    """Words in a row, exactly one chosen; arrow keys go from one to the next.

    Attributes:
        chosen: key of the word that the user chose.
        visited: whether the focus is in it.
    """

    chosen = Signal(str)
    visited = Signal(bool)

    def __init__(self, words: Sequence[tuple[str, str]], name: str, parent: QWidget | None = None) -> None:
        """A switch of (key, word) pairs; ``name`` is for those who can't see it."""
        super().__init__(parent)
        self.setAccessibleName(name)
        row = bare(QHBoxLayout(self), 0)
        self._group = QButtonGroup(self)
        self._words: dict[str, _Word] = {}
        for key, text in words:
            button = _Word(text, self)
            button.setAccessibleName(f"{name}: {text}")
            button.clicked.connect(lambda _checked=False, k=key: self.chosen.emit(k))
            button.installEventFilter(self)
            self._group.addButton(button)
            self._words[key] = button
            row.addWidget(button)
        row.addStretch(1)

    @property
    def key(self) -> str:
        """The word that is chosen; empty when there is none yet."""
        return next((k for k, b in self._words.items() if b.isChecked()), "")

    def put(self, key: str) -> None:
        """Show a word as chosen, without telling anyone."""
        if key in self._words:
            self._words[key].setChecked(True)
            self.setFocusProxy(self._words[key])
            for k, b in self._words.items():
                b.setFocusPolicy(Qt.FocusPolicy.TabFocus if k == key else Qt.FocusPolicy.ClickFocus)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() in (QEvent.Type.FocusIn, QEvent.Type.FocusOut):
            self.visited.emit(event.type() == QEvent.Type.FocusIn)
        return super().eventFilter(watched, event)

    def button(self, key: str) -> QAbstractButton:
        """The word of a key."""
        return self._words[key]


class SwitchField(Switch):
    """A switch for one choice, of the project or of a page.

    Attributes:
        told: why a word is refused; empty when it isn't.
    """

    told = Signal(str)

    def __init__(self, source: Source, words: Sequence[tuple[str, str]], parent: QWidget | None = None) -> None:
        super().__init__(words, source.name, parent)
        self.source, self.path = source, source.path
        self.setAccessibleDescription(source.meaning)
        self.setToolTip(tip(source.meaning))
        self.chosen.connect(self._choose)
        self.visited.connect(lambda here: source.focus(is_here=here))
        source.refused.connect(self._on_refused)
        source.moved.connect(self.refresh)
        self.refresh()

    def explanation(self) -> Explanation | None:
        """What F1 says of it."""
        return self.source.explanation()

    def refresh(self) -> None:
        """Show the value."""
        choice = self.source.chosen()
        if isinstance(choice, str):
            self.put(choice)

    def _choose(self, key: str) -> None:
        self.told.emit("")
        if not self.source.choose(key):
            self.refresh()

    def _on_refused(self, message: str) -> None:
        self.told.emit(message)
        self.refresh()
