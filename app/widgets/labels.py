"""Texts in a form: quiet ones, refusals, and heads."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QRectF, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPalette
from PySide6.QtWidgets import QLabel, QWidget

from app.widgets.fonts import small, title
from app.widgets.theme import ink

if TYPE_CHECKING:
    from PySide6.QtGui import QColor

    from app.widgets.theme import Ink


class Words(QLabel):
    """A text that may take more than a line."""

    def __init__(self, text: str = "", parent: QWidget | None = None, *, wrap: bool = True) -> None:
        super().__init__(text, parent)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setWordWrap(wrap)
        self.setForegroundRole(QPalette.ColorRole.WindowText)  # else a menu bar would lend it its own

    def tell(self, text: str) -> None:
        """Show a text; without one it takes no room."""
        self.setText(text)
        self.setVisible(bool(text))


class _Tinted(Words):
    """A text in one of the theme's inks, by the palette that surrounds it."""

    def __init__(self, text: str, parent: QWidget | None, *, wrap: bool) -> None:
        super().__init__(text, parent, wrap=wrap)
        self._tint()

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange:
            self._tint()

    def _color(self, inks: Ink) -> QColor:
        raise NotImplementedError

    def _tint(self) -> None:
        owner = self.parentWidget()
        wanted = self._color(ink(self.palette() if owner is None else owner.palette()))
        palette = self.palette()
        if palette.color(self.foregroundRole()) != wanted:  # setting it tells of a change of palette again
            palette.setColor(self.foregroundRole(), wanted)
            self.setPalette(palette)


class QuietLabel(_Tinted):
    """A text that only accompanies: a word of the reading size, or smaller sentences, which wrap."""

    def __init__(self, text: str = "", parent: QWidget | None = None, *, wrap: bool = False) -> None:
        super().__init__(text, parent, wrap=wrap)
        if wrap:
            self.setFont(small(self.font()))

    def _color(self, inks: Ink) -> QColor:
        return inks.quiet


class Refusal(_Tinted):
    """Why a field's text is refused; takes no room while there is no reason."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__("", parent, wrap=True)
        self.hide()

    def _color(self, inks: Ink) -> QColor:
        return inks.no_go


class Heading(QLabel):
    """The head of a group of fields: its words over a thin rule."""

    def __init__(self, text: str, parent: QWidget | None = None) -> None:
        super().__init__(text, parent)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setFont(title(self.font()))
        gap = self.fontMetrics().height() // 3
        self.setContentsMargins(0, gap * 2, 0, gap)
        self.setAccessibleName(text)

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        with QPainter(self) as painter:
            painter.fillRect(QRectF(0, self.height() - 2, self.width(), 1), ink(self.palette()).neutral)
