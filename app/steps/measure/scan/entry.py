"""Fields for figures that belong to the scan and not to the project: a true distance, a diameter, dots per inch."""

from __future__ import annotations

from enum import Enum
from math import isfinite
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QEvent, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QLineEdit, QWidget

from app.widgets.explain import Explanation
from app.widgets.theme import ink
from core.words.errors import UserError
from core.words.lengths import Style, edit_text, parse_length, show_length, unit_of

if TYPE_CHECKING:
    from app.session.session import Session

_CHARS: Final = 7
_MOST: Final = 10_000.0  # mm or dots per inch: beyond is a typing mistake


class Figure(Enum):
    """What is typed into an entry."""

    LENGTH = "length"
    ALLOWANCE = "allowance"
    DOTS = "dots per inch"


class Entry(QLineEdit):
    """A figure above 0 (an allowance may be 0), or nothing. What can be read counts at once; Escape gives it back.

    Attributes:
        taken: the new value, a float [mm or dots per inch] or None.
        told: why the text is refused; empty when it isn't.
        origin: where the value comes from, a whole sentence.
        is_needed: whether the field may not be empty.
    """

    taken = Signal(object)
    told = Signal(str)

    def __init__(self, session: Session, name: str, meaning: str, figure: Figure, parent: QWidget) -> None:
        super().__init__(parent)
        self._session, self._name, self._meaning, self._figure = session, name, meaning, figure
        self._value: float | None = None
        self._before: float | None = None
        self._is_refused = False
        self.origin = "Typed here."
        self.is_needed = False
        self.setAccessibleName(name)
        self.setAccessibleDescription(meaning)
        self.setAlignment(Qt.AlignmentFlag.AlignRight)
        self.textEdited.connect(self._typed)
        session.changed.connect(self._refresh)

    @property
    def value(self) -> float | None:
        """What counts."""
        return self._value

    def put(self, value: float | None) -> None:
        """Show a value, unless another one is just being typed."""
        if value != self._value:
            self._value = value
            self._refresh()

    def explanation(self) -> Explanation:
        """What F1 says of it."""
        shown = self._shown(with_unit=True)
        return Explanation(f"{self._name} = {shown}" if shown else f"{self._name}: empty", self._meaning, self.origin)

    def sizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        return QSize(self._wide(), super().sizeHint().height())

    def minimumSizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        return QSize(self._wide(), super().minimumSizeHint().height())

    def _wide(self) -> int:
        return self.fontMetrics().horizontalAdvance("0") * _CHARS + self.fontMetrics().height()

    def _refresh(self) -> None:
        if self._is_refused:
            return
        text = self._edit() if self.hasFocus() else self._shown(with_unit=False)
        if text != self.text() and not (self.hasFocus() and self._read(self.text()) == self._value):
            self.setText(text)

    def _shown(self, *, with_unit: bool) -> str:
        if self._value is None:
            return ""
        if self._figure is Figure.DOTS:
            return f"{self._value:.6g}" + (" dots per inch" if with_unit else "")
        style = self._session.project.style
        if self._figure is Figure.ALLOWANCE and style is Style.FRACTION:
            style = Style.INCH  # a part of a 64th
        return show_length(self._value, style, with_unit=with_unit)

    def _edit(self) -> str:
        if self._value is None or self._figure is Figure.DOTS:
            return self._shown(with_unit=False)
        return edit_text(self._value, self._session.project.style)

    def _read(self, text: str) -> float | None:
        """The value of a text; None where it is none."""
        try:
            return self._parsed(text)
        except UserError:
            return None

    def _parsed(self, text: str) -> float | None:
        if not text.strip():
            if self.is_needed:
                raise UserError(self._name, "this needs a figure", hint="Escape gives back the one before.")
            return None
        if self._figure is not Figure.DOTS:
            value = parse_length(text, unit_of(self._session.project.style))
        else:
            try:
                value = float(text.replace(",", "."))
            except ValueError:
                raise UserError(self._name, f"“{text}” is not a number", hint="Write one such as 300.") from None
        if self._figure is Figure.ALLOWANCE and value == 0.0:
            return value
        if not isfinite(value) or value <= 0.0:
            raise UserError(self._name, "this must be more than 0", hint="Measure it, or leave the field empty.")
        if value > _MOST:
            raise UserError(self._name, "this is too large", hint="Look for a slip of the decimal mark.")
        return value

    def _typed(self, text: str) -> None:
        try:
            value = self._parsed(text)
        except UserError as error:
            self._is_refused = True
            self.told.emit(_said(error))
            self.update()
            return
        self._settle()
        if value != self._value:
            self._value = value
            self.taken.emit(value)

    def _settle(self) -> None:
        self._is_refused = False
        self.told.emit("")
        self.update()

    def focusInEvent(self, event: QFocusEvent) -> None:  # noqa: N802 - Qt's name
        super().focusInEvent(event)
        if event.reason() in (Qt.FocusReason.PopupFocusReason, Qt.FocusReason.ActiveWindowFocusReason):
            return
        self._before = self._value
        if not self._is_refused:
            self.setText(self._edit())
            if event.reason() is not Qt.FocusReason.MouseFocusReason:
                self.selectAll()

    def focusOutEvent(self, event: QFocusEvent) -> None:  # noqa: N802 - Qt's name
        super().focusOutEvent(event)
        if not self._is_refused:
            self.setText(self._shown(with_unit=False))

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802 - Qt's name
        if event.key() == Qt.Key.Key_Escape and (self._is_refused or self._value != self._before):
            self._settle()
            changed, self._value = self._value != self._before, self._before
            self.setText(self._edit())
            self.selectAll()
            if changed:
                self.taken.emit(self._value)
        elif event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._before = self._value
            self.selectAll()
        else:
            super().keyPressEvent(event)

    def event(self, event: QEvent) -> bool:
        if (
            event.type() == QEvent.Type.ShortcutOverride
            and isinstance(event, QKeyEvent)
            and event.key() == Qt.Key.Key_Escape
            and (self._is_refused or self._value != self._before)
        ):
            event.accept()  # what was typed is given back before anything else hears of Escape
            return True
        return super().event(event)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        super().paintEvent(event)
        if self._is_refused:
            with QPainter(self) as painter:
                thick = max(2.0, self.fontMetrics().height() / 9.0)
                bar = QRectF(0.0, self.height() - thick, self.width(), thick)
                painter.fillRect(bar, ink(self.palette()).no_go)


def _said(error: UserError) -> str:
    text = f"{error.what}. {error.hint}" if error.hint else f"{error.what}."
    return text[:1].upper() + text[1:]
