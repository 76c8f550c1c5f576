"""A message at the foot of the window, over what is there, for as long as it has something to say."""

from __future__ import annotations

from PySide6.QtCore import QEvent, QObject, Qt
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QLabel, QWidget

from app.widgets.theme import ink


class Said(QLabel):
    """Words on paper, with a rule over them, as wide as what they lie on."""

    def __init__(self, owner: QWidget) -> None:
        super().__init__(owner)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setWordWrap(True)
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        pad = self.fontMetrics().height() // 2
        self.setContentsMargins(2 * pad, pad, 2 * pad, pad)
        self._owner = owner
        owner.installEventFilter(self)
        self.hide()

    def say(self, text: str) -> None:
        """Show a text; empty, nothing."""
        self.setText(text)
        self.setVisible(bool(text))
        self._settle()
        self.raise_()

    def clear(self) -> None:
        """Say nothing more."""
        self.say("")

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.Resize:
            self._settle()
        return super().eventFilter(watched, event)

    def _settle(self) -> None:
        wide = self._owner.width()
        tall = self.heightForWidth(wide)
        self.setGeometry(0, self._owner.height() - tall, wide, tall)

    def paintEvent(self, event: QPaintEvent) -> None:
        inks = ink(self.palette())
        with QPainter(self) as painter:
            painter.fillRect(self.rect(), inks.paper)
            painter.fillRect(0, 0, self.width(), 1, inks.neutral)
        super().paintEvent(event)
