"""Fields for lengths, numbers, texts and choices: they show text and report text; reading and limits are core's.

A field never rewrites what is being typed. Each keystroke that can be read is tried at once, and what is typed between
two visits, or two presses of Return, is one undo step. A text that is refused stays, with the reason beside it.
"""

from __future__ import annotations

from itertools import count
from typing import TYPE_CHECKING, Final, Protocol

from PySide6.QtCore import QEvent, QPointF, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QFocusEvent, QKeyEvent, QKeySequence, QPainter, QPaintEvent, QPolygonF, QWheelEvent
from PySide6.QtWidgets import QLineEdit, QWidget

from app.session.words import spoken
from app.widgets.theme import ink
from core import edits
from core.part.fields import FieldKind
from core.words.errors import LengthError, UserError
from core.words.lengths import MINUS, Style, edit_text, nudge_step, show_length

if TYPE_CHECKING:
    from collections.abc import Callable

    from PySide6.QtCore import SignalInstance
    from PySide6.QtGui import QContextMenuEvent

    from core.part.project import Project


class Editable(Protocol):
    """What a field needs of its model: the session, or a draft that becomes one."""

    changed: SignalInstance
    refused: SignalInstance
    project: Project
    refusal: UserError | None

    @property
    def wanted(self) -> Project: ...
    def change(
        self, text: str, change: Callable[[Project], Project], *, merge_key: int = -1, path: str = ""
    ) -> bool: ...
    def focus(self, path: str) -> None: ...


_UNDO_KEYS: Final = (QKeySequence.StandardKey.Undo, QKeySequence.StandardKey.Redo)
_MENU_KEYS: Final = (Qt.Key.Key_D, Qt.Key.Key_E)
"""With Ctrl the menu's, though line edits elsewhere delete with the one and go to their end with the other."""
_NUDGES: Final = {FieldKind.PERCENT: 1.0, FieldKind.DEGREES: 1.0, FieldKind.NUMBER: 0.1}
_PATIENCE_MS: Final = 450
"""A half-typed number is often an impossible one: the reason only appears when the typing rests."""
_keys = count(1)


def _is_the_menus(event: QKeyEvent) -> bool:
    return event.modifiers() == Qt.KeyboardModifier.ControlModifier and event.key() in _MENU_KEYS


class TextField(QLineEdit):
    """A length, a number or a text of the project at one path.

    Attributes:
        told: why the text is refused; empty when it isn't.
    """

    told = Signal(str)

    def __init__(
        self,
        model: Editable,
        path: str,
        parent: QWidget | None = None,
        *,
        chars: int = 8,
        write: Callable[[Project, str, str], Project] = edits.set_text,
        when_empty: Callable[[Project], str] | None = None,
    ) -> None:
        """A field for ``path``.

        Args:
            model: whose project it shows and edits.
            path: of the field.
            parent: owner.
            chars: so many digits are seen at once.
            write: how a text at a path makes a new project.
            when_empty: what stands greyed in an empty field, for what counts then.
        """
        super().__init__(parent)
        self._model, self.path, self._chars, self._write = model, path, chars, write
        self._when_empty = when_empty
        field = edits.field_at(model.project, path)
        self._kind = field.kind
        self._key = next(_keys)
        self._sent: object = _UNSENT
        self._before: object = _NOTHING
        self._before_refusal: object = _NOTHING
        self._shown: tuple[object, Style, str] | None = None  # what `refresh` showed last: value, style and text
        self._is_trying = False
        self._refused_text: str | None = None
        self._reason, self._mark = "", -1
        self._rest = QTimer(self, singleShot=True, interval=_PATIENCE_MS)
        self._rest.timeout.connect(self._tell)
        self.setAccessibleName(spoken(model.project, path))
        self.setAccessibleDescription(field.meaning)
        if self._kind is not FieldKind.TEXT:
            self.setAlignment(Qt.AlignmentFlag.AlignRight)
        self.textEdited.connect(self._typed)
        model.refused.connect(self._on_refused)
        self.refresh()

    # What is shown

    def refresh(self) -> None:
        """Show the project's value, unless it is the one that is being typed."""
        value, style = self._value(self._model.project), self._model.project.style
        self._show_placeholder()
        if self._is_trying:
            return
        is_at_rest = self._sent is _UNSENT and self._refused_text is None and not self.hasFocus()
        if is_at_rest and self._shown == (value, style, self.text()):
            return  # as for nearly all fields after nearly all edits
        is_pending = self._sent is not _UNSENT and self._value(self._model.wanted) == self._sent
        if self.hasFocus() and self._sent is not _UNSENT and (value == self._sent or is_pending):
            return
        if self._refused_text is not None and value == self._before_refusal:
            return
        self._settle()
        if self.hasFocus():
            self._begin()  # an undo came between: Escape gives back what it left, not what it took
        self._put(self._edit_text(value) if self.hasFocus() else self._shown_text(value))
        self._shown = None if self.hasFocus() else (value, style, self.text())

    def sizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        hint = super().sizeHint()
        return QSize(self._wide(), hint.height())

    def minimumSizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        hint = super().minimumSizeHint()
        return QSize(self._wide(), hint.height())

    def _wide(self) -> int:
        return self.fontMetrics().horizontalAdvance("0") * self._chars + self.fontMetrics().height()

    def _value(self, project: Project) -> object:
        try:
            return edits.get_value(project, self.path)
        except UserError:  # the group is empty, or the item is gone and this field with it in a moment
            return _NOTHING

    def _shown_text(self, value: object) -> str:
        if self._kind is FieldKind.LENGTH and isinstance(value, float):
            style = self._model.project.style
            exact = edit_text(value, style).replace("-", MINUS)
            shown = show_length(value, style, with_unit=False)
            if style is Style.FRACTION:
                return shown
            # As many decimals as elsewhere, so that columns can be compared; one or two more where they were typed.
            if len(exact) <= len(shown) or len(exact) > len(shown) + 2:
                is_same = exact.rstrip("0") in shown
                return shown if is_same else f"≈ {shown}"
            return exact
        return self._edit_text(value)

    def _edit_text(self, value: object) -> str:
        if value is None or value is _NOTHING:
            return ""
        if isinstance(value, float):
            if self._kind is FieldKind.LENGTH:
                return edit_text(value, self._model.project.style)
            return f"{value:.12g}"
        return str(value)

    def _put(self, text: str) -> None:
        if text != self.text():
            self.setText(text)
            self.setCursorPosition(0)

    def _show_placeholder(self) -> None:
        if self._when_empty is not None:
            self.setPlaceholderText(self._when_empty(self._model.project))

    @property
    def refused_at(self) -> int:
        """Index of the character that can't be read; -1 when there is none."""
        return self._mark

    # What is typed

    def _typed(self, text: str) -> None:
        self._rest.stop()
        self._refused_text, self._reason, self._mark = None, "", -1
        self._is_trying = True  # the session tells of the change before it returns
        taken = self._model.change(
            spoken(self._model.wanted, self.path),
            lambda p: self._write(p, self.path, text),
            merge_key=self._key,
            path=self.path,
        )
        self._is_trying = False
        if taken:
            self._sent = self._value(self._model.wanted)
            self._tell()
        self.update()

    def _on_refused(self, path: str, message: str) -> None:
        if path != self.path:
            return
        self._refused_text = self.text()
        self._before_refusal = self._value(self._model.project)
        if not self._is_trying:  # a slow model's answer: Return may have taken the text for made in the meantime
            self._before = self._before_refusal
        self._sent = _UNSENT
        self._reason = message
        error = self._model.refusal
        self._mark = error.position if isinstance(error, LengthError) else -1
        self.update()
        self._rest.start()

    def _tell(self) -> None:
        self._rest.stop()
        self.told.emit(self._reason)

    def nudge(self, steps: float, *, big: bool = False) -> None:
        """Add so many steps to the value, as an arrow key does."""
        value = self._value(self._model.wanted)
        if not isinstance(value, float) or self._refused_text is not None:
            return
        if self._kind is FieldKind.LENGTH:
            step = nudge_step(self._model.project.style, big=big)
        else:
            step = _NUDGES[self._kind] * (10.0 if big else 1.0)
        now = round(value + steps * step, 10)  # 0.1 three times is 0.3 on screen too
        text = edit_text(now, self._model.project.style) if self._kind is FieldKind.LENGTH else f"{now:.12g}"
        self._put(text)
        self._typed(text)

    def give_back(self) -> bool:
        """Bring back what was there when the focus came; whether anything was different."""
        self._rest.stop()
        was_refused, before = self._refused_text is not None, self._before
        self._settle()
        changed = before != self._value(self._model.wanted)
        if changed:
            self._model.change(
                spoken(self._model.wanted, self.path),
                lambda p: self._restored(p, before),
                merge_key=self._key,
                path=self.path,
            )
        self._put(self._edit_text(self._value(self._model.wanted)))
        self.selectAll()
        return changed or was_refused

    def _restored(self, project: Project, before: object) -> Project:
        if before is _NOTHING:  # the typing had made the group that the field is in
            return edits.set_value(project, self.path.rpartition(".")[0], None)
        # Through `write`, for what it sets besides (a circle's width).
        return self._write(project, self.path, self._edit_text(before))

    def _settle(self) -> None:
        self._sent, self._refused_text, self._reason, self._mark = _UNSENT, None, "", -1
        self._tell()
        self.update()

    def _begin(self) -> None:
        """A new visit: a new undo step, and a new thing to give back."""
        self._key = next(_keys)
        self._before = self._value(self._model.wanted)
        self._sent = _UNSENT

    # Qt's events

    def focusInEvent(self, event: QFocusEvent) -> None:  # noqa: N802 - Qt's name
        super().focusInEvent(event)
        self._model.focus(self.path)
        if event.reason() in (Qt.FocusReason.PopupFocusReason, Qt.FocusReason.ActiveWindowFocusReason):
            return  # a menu or another window came between: the same visit goes on
        self._begin()
        if self._refused_text is None:
            self._put(self._edit_text(self._value(self._model.wanted)))
            if event.reason() is not Qt.FocusReason.MouseFocusReason:
                self.selectAll()

    def focusOutEvent(self, event: QFocusEvent) -> None:  # noqa: N802 - Qt's name
        super().focusOutEvent(event)
        if event.reason() in (Qt.FocusReason.PopupFocusReason, Qt.FocusReason.ActiveWindowFocusReason):
            return
        self._model.focus("")
        self._tell()
        if self._refused_text is None:
            self._sent = _UNSENT
            self._put(self._shown_text(self._value(self._model.wanted)))

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802 - Qt's name
        key = event.key()
        if any(event.matches(k) for k in _UNDO_KEYS):
            event.ignore()  # the project's undo, not the text's
        elif key == Qt.Key.Key_Escape:
            event.setAccepted(self.give_back())
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._commit()
        elif key in (Qt.Key.Key_Up, Qt.Key.Key_Down) and self._kind in (FieldKind.LENGTH, *_NUDGES):
            big = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
            self.nudge(1.0 if key == Qt.Key.Key_Up else -1.0, big=big)
        else:
            super().keyPressEvent(event)

    def _commit(self) -> None:
        self._tell()
        if self._refused_text is not None:
            return
        value = self._value(self._model.wanted)
        # The text is only made tidy when the typing is over.
        self._put(self._edit_text(value))
        self._begin()
        self.selectAll()

    def event(self, event: QEvent) -> bool:
        if (
            event.type() == QEvent.Type.ShortcutOverride
            and isinstance(event, QKeyEvent)
            and (any(event.matches(k) for k in _UNDO_KEYS) or _is_the_menus(event))
        ):
            event.ignore()  # else the line edit claims them before the menu sees them
            return False
        return super().event(event)

    def wheelEvent(self, event: QWheelEvent) -> None:  # noqa: N802 - Qt's name
        turns = event.angleDelta().y() / 120.0
        if self.hasFocus() and turns and self._kind in (FieldKind.LENGTH, *_NUDGES):
            self.nudge(1.0 if turns > 0 else -1.0)
            event.accept()
        else:
            event.ignore()  # the form scrolls instead

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802 - Qt's name
        super().paintEvent(event)
        if self._refused_text is None:
            return
        with QPainter(self) as painter:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(ink(self.palette()).no_go)
            thick = max(2.0, self.fontMetrics().height() / 9.0)
            painter.drawRect(0, round(self.height() - thick), self.width(), round(thick))
            if 0 <= self._mark <= len(self.text()):
                painter.drawPolygon(self._pointer(thick))

    def _pointer(self, thick: float) -> QPolygonF:
        """A small wedge under the character that can't be read."""
        # The cursor's rectangle is the only public way to a character's place; moving it would move the caret.
        shift = self.fontMetrics().horizontalAdvance(self.text()[: self.cursorPosition()])
        to_mark = self.fontMetrics().horizontalAdvance(self.text()[: self._mark])
        half = self.fontMetrics().horizontalAdvance("0") / 2.0
        x = self.cursorRect().center().x() - shift + to_mark + half
        bottom = self.height() - thick
        return QPolygonF([QPointF(x - half, bottom), QPointF(x + half, bottom), QPointF(x, bottom - 2.0 * thick)])

    def contextMenuEvent(self, event: QContextMenuEvent) -> None:  # noqa: N802 - Qt's name
        menu = self.createStandardContextMenu()
        menu.setAttribute(Qt.WidgetAttribute.WA_DeleteOnClose)
        from app.widgets.explain import explain_action  # noqa: PLC0415 - explain reads fields' paths: a cycle at import

        action = explain_action(self, menu)
        first = menu.actions()[0]  # Qt's own menu of a line edit is never empty
        menu.insertAction(first, action)
        menu.insertSeparator(first)
        menu.popup(event.globalPos())


class _Nothing:
    """Stands for a value that isn't there, since None is one that a field may have."""


_NOTHING: Final = _Nothing()
_UNSENT: Final = _Nothing()
