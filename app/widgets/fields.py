"""Fields for lengths, numbers, texts and choices: they show text and report text; reading and limits are core's.

A field never rewrites what is being typed. Each keystroke that can be read is tried at once, and what is typed between
two visits, or two presses of Return, is one undo step. A text that is refused stays, with the reason beside it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QEvent, QPointF, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QKeySequence, QPainter, QPaintEvent, QPolygonF, QWheelEvent
from PySide6.QtWidgets import QLineEdit, QWidget

from app.widgets.explain import explain_action
from app.widgets.plain import tip
from app.widgets.source import KEYS, NOTHING
from app.widgets.style.marks import RULE
from app.widgets.theme import ink

if TYPE_CHECKING:
    from PySide6.QtGui import QContextMenuEvent, QMouseEvent

    from app.widgets.explain import Explanation
    from app.widgets.source import Source
    from core.words.lengths import Style

_UNDO_KEYS: Final = (QKeySequence.StandardKey.Undo, QKeySequence.StandardKey.Redo)
_MENU_KEYS: Final = (Qt.Key.Key_D, Qt.Key.Key_E)
"""With Ctrl the menu's, though line edits elsewhere delete with the one and go to their end with the other."""
_PATIENCE_MS: Final = 450
"""A half-typed number is often an impossible one: the reason only appears when the typing rests."""
_UNSENT: Final = object()


def _is_the_menus(event: QKeyEvent) -> bool:
    return event.modifiers() == Qt.KeyboardModifier.ControlModifier and event.key() in _MENU_KEYS


class TextField(QLineEdit):
    """A length, a number or a text, of the project or of a page.

    Attributes:
        told: why the text is refused; empty when it isn't.
    """

    told = Signal(str)

    def __init__(self, source: Source, parent: QWidget | None = None, *, chars: int = 8) -> None:
        """A field for ``source``, in which so many digits are seen at once."""
        super().__init__(parent)
        self.source, self.path, self._chars = source, source.path, chars
        self._key = next(KEYS)
        self._sent: object = _UNSENT
        self._before: object = NOTHING
        self._before_refusal: object = NOTHING
        self._shown: tuple[object, Style, str] | None = None  # what `refresh` showed last: value, style and text
        self._is_trying = self._is_unsaid = False
        self._refused_text: str | None = None
        self._reason, self._mark = "", -1
        self._is_first_click = False
        self._rest = QTimer(self, singleShot=True, interval=_PATIENCE_MS)
        self._rest.timeout.connect(self._tell)
        self.setAccessibleName(source.name)
        self.setAccessibleDescription(source.meaning)
        self.setToolTip(tip(source.meaning))
        if source.is_number:
            self.setAlignment(Qt.AlignmentFlag.AlignRight)
        self.textEdited.connect(self._edited)
        source.refused.connect(self._on_refused)
        source.moved.connect(self.refresh)
        self.refresh()

    def explanation(self) -> Explanation | None:
        """What F1 says of it."""
        return self.source.explanation()

    # What is shown

    def refresh(self) -> None:
        """Show the project's value, unless it is the one that is being typed."""
        value, style = self.source.value(), self.source.style
        self.setPlaceholderText(self.source.placeholder())
        if self._is_trying or self._is_unsaid:
            return
        is_at_rest = self._sent is _UNSENT and self._refused_text is None and not self.hasFocus()
        if is_at_rest and self._shown == (value, style, self.text()):
            return  # as for nearly all fields after nearly all edits
        is_pending = self._sent is not _UNSENT and self._now == self._sent
        if self.hasFocus() and self._sent is not _UNSENT and (value == self._sent or is_pending):
            return
        if self._refused_text is not None and value == self._before_refusal:
            return
        self._settle()
        if self.hasFocus():
            self._begin()  # an undo came between: Escape gives back what it left, not what it took
        self._put(self.source.typed(value) if self.hasFocus() else self.source.shown(value))
        self._shown = None if self.hasFocus() else (value, style, self.text())

    def sizeHint(self) -> QSize:
        hint = super().sizeHint()
        return QSize(self._wide(), hint.height())

    def minimumSizeHint(self) -> QSize:
        hint = super().minimumSizeHint()
        return QSize(self._wide(), hint.height())

    def _wide(self) -> int:
        return self.fontMetrics().horizontalAdvance("0") * self._chars + self.fontMetrics().height()

    @property
    def _now(self) -> object:
        """The newest value."""
        return self.source.value(newest=True)

    def _put(self, text: str) -> None:
        if text != self.text():
            self.setText(text)
            self.setCursorPosition(0)

    # What is typed

    def _edited(self, text: str) -> None:
        self._is_unsaid = not self.source.is_live
        if self.source.is_live:
            self._typed(text)

    def _typed(self, text: str) -> None:
        self._rest.stop()
        self._refused_text, self._reason, self._mark = None, "", -1
        self._is_unsaid = False
        self._is_trying = True  # the model tells of the change before it returns
        taken = self.source.put(text, self._key)
        self._is_trying = False
        if taken:
            self._sent = self._now
            self._tell()
        self.update()

    def _on_refused(self, message: str) -> None:
        self._refused_text = self.text()
        self._before_refusal = self.source.value()
        if not self._is_trying:  # a slow model's answer: Return may have taken the text for made in the meantime
            self._before = self._before_refusal
        self._sent = _UNSENT
        self._reason, self._mark = message, self.source.mark
        self.update()
        if self.path:
            self._rest.start()
        else:
            self._tell()

    def _tell(self) -> None:
        self._rest.stop()
        self.told.emit(self._reason)

    def nudge(self, steps: float, *, big: bool = False) -> None:
        """Add so many steps to the value, as an arrow key does."""
        value = self._now
        step = self.source.step(big=big)
        if not isinstance(value, float) or not step or self._refused_text is not None:
            return
        text = self.source.typed(round(value + steps * step, 10))  # 0.1 three times is 0.3 on screen too
        self._put(text)
        self._typed(text)

    def give_back(self) -> bool:
        """Bring back what was there when the focus came; whether anything was different."""
        self._rest.stop()
        was_open, before = self._is_open, self._before
        self._settle()
        changed = before != self._now
        if changed:
            self._is_trying = True
            self.source.give_back(before, self._key)
            self._is_trying = False
        self._put(self.source.typed(self._now))
        self.selectAll()
        return changed or was_open

    @property
    def is_refused(self) -> bool:
        """Whether its text does not count: the style's rule under it says so."""
        return self._refused_text is not None

    @property
    def _is_open(self) -> bool:
        """Whether a text stands here that does not count."""
        return self._refused_text is not None or self._is_unsaid

    def _settle(self) -> None:
        self._sent, self._refused_text, self._reason, self._mark = _UNSENT, None, "", -1
        self._is_unsaid = False
        self._tell()
        self.update()

    def _begin(self) -> None:
        """A new visit: a new undo step, and a new thing to give back."""
        self._key = next(KEYS)
        self._before = self._now
        self._sent = _UNSENT

    # Qt's events

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self.source.focus(is_here=True)
        if event.reason() in (Qt.FocusReason.PopupFocusReason, Qt.FocusReason.ActiveWindowFocusReason):
            return  # a menu or another window came between: the same visit goes on
        self._begin()
        if self._refused_text is None:
            self._put(self.source.typed(self._now))
            self.selectAll()
            # A click that brings the focus must not set the caret: what is typed would stand within the old number.
            self._is_first_click = event.reason() is Qt.FocusReason.MouseFocusReason

    def mousePressEvent(self, event: QMouseEvent) -> None:
        if self._is_first_click:
            event.accept()
        else:
            super().mousePressEvent(event)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        if not self._is_first_click:
            super().mouseMoveEvent(event)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if self._is_first_click:
            self._is_first_click = False
        else:
            super().mouseReleaseEvent(event)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        if self.source.is_number:  # half a number is no word
            self.selectAll()
        else:
            super().mouseDoubleClickEvent(event)

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        if event.reason() in (Qt.FocusReason.PopupFocusReason, Qt.FocusReason.ActiveWindowFocusReason):
            return
        self.source.focus(is_here=False)
        self._say()
        self._tell()
        if self._refused_text is None:
            self._sent = _UNSENT
            self._put(self.source.shown(self._now))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key = event.key()
        if self.path and any(event.matches(k) for k in _UNDO_KEYS):
            event.ignore()  # the project's undo, not the text's
        elif key == Qt.Key.Key_Escape:
            event.setAccepted(self.give_back())
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._commit()
        elif key in (Qt.Key.Key_Up, Qt.Key.Key_Down) and self.source.step(big=False):
            big = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
            self.nudge(1.0 if key == Qt.Key.Key_Up else -1.0, big=big)
        else:
            super().keyPressEvent(event)

    def _say(self) -> None:
        """Send what only counts when the typing is over."""
        if self._is_unsaid:
            self._typed(self.text())

    def _commit(self) -> None:
        self._say()
        self._tell()
        if self._refused_text is not None:
            return
        value = self._now
        # The text is only made tidy when the typing is over.
        self._put(self.source.typed(value))
        self._begin()
        self.selectAll()

    def event(self, event: QEvent) -> bool:
        if event.type() == QEvent.Type.ShortcutOverride and isinstance(event, QKeyEvent):
            if self.path and (any(event.matches(k) for k in _UNDO_KEYS) or _is_the_menus(event)):
                event.ignore()  # else the line edit claims them before the menu sees them
                return False
            if not self.path and event.key() == Qt.Key.Key_Escape and (self._is_open or self._before != self._now):
                event.accept()  # what was typed is given back before anything else hears of Escape
                return True
        return super().event(event)

    def wheelEvent(self, event: QWheelEvent) -> None:
        turns = event.angleDelta().y() / 120.0
        if self.hasFocus() and turns and self.source.step(big=False):
            self.nudge(1.0 if turns > 0 else -1.0)
            event.accept()
        else:
            event.ignore()  # the form scrolls instead

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        if not self.is_refused or not 0 <= self._mark <= len(self.text()):
            return
        with QPainter(self) as painter:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(ink(self.palette()).no_go)
            painter.drawPolygon(self._pointer())

    def _pointer(self) -> QPolygonF:
        """A small wedge under the character that can't be read."""
        # The cursor's rectangle is the only public way to a character's place; moving it would move the caret.
        shift = self.fontMetrics().horizontalAdvance(self.text()[: self.cursorPosition()])
        to_mark = self.fontMetrics().horizontalAdvance(self.text()[: self._mark])
        half = self.fontMetrics().horizontalAdvance("0") / 2.0
        x = self.cursorRect().center().x() - shift + to_mark + half
        bottom = self.height() - RULE
        return QPolygonF([QPointF(x - half, bottom), QPointF(x + half, bottom), QPointF(x, bottom - 2.0 * RULE)])

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:
        menu = self.createStandardContextMenu()
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        action = explain_action(self, menu)
        first = menu.actions()[0]  # Qt's own menu of a line edit is never empty
        menu.insertAction(first, action)
        menu.insertSeparator(first)
        menu.popup(event.globalPos())
