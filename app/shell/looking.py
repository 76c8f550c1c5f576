"""How the open part is looked at: larger, smaller, whole, alone; printed, copied; and the keys that lead about."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QGuiApplication, QPainter
from PySide6.QtWidgets import QApplication, QWidget

from app.drawing.base.board import KEY_ZOOM, Board

if TYPE_CHECKING:
    from collections.abc import Callable

    from PySide6.QtPrintSupport import QPrinter

    from app.shell.workspace import Workspace

KEYS: Final = (
    ("Ctrl+1, 2, 3", "the steps"),
    ("F6, Shift+F6", "to the next part of the window: rail, form, sheet, list"),
    ("Tab", "to the next field"),
    ("up, down, Enter, Esc", "in a list: along, to the field, back"),
    ("Alt+B, Alt+L", "base, lid"),
    ("+, −, arrows, F", "in a drawing: larger, smaller, along, whole part"),
    ("double click, Esc", "this view alone, and back"),
    ("R, [ and ]", "in the plan: turn and shift the cut"),
    ("Ctrl+Z, Ctrl+Shift+Z", "undo, redo"),
    ("F1", "what is this?"),
)
"""What the sheet of keys says."""
_PRINT_DPI: Final = 300.0
_SCREEN_DPI: Final = 96.0


def keys_text() -> str:
    """The keys, one in a line."""
    return "\n".join(f"{keys}: {what}" for keys, what in KEYS)


class Looking:
    """Actions of the View menu on what is in sight; ``board`` gives the open part's board, None on a start page."""

    def __init__(self, board: Callable[[], Workspace | None]) -> None:
        self._board = board

    @property
    def seen(self) -> Board | None:
        """The drawing with the focus, or the plan."""
        focus, workspace = QApplication.focusWidget(), self._board()
        if isinstance(focus, Board) and focus.isVisible():
            return focus
        return None if workspace is None else workspace.plan

    def zoom_in(self) -> None:
        """Larger, about the middle."""
        if self.seen is not None:
            self.seen.zoom(KEY_ZOOM)

    def zoom_out(self) -> None:
        """Smaller, about the middle."""
        if self.seen is not None:
            self.seen.zoom(1.0 / KEY_ZOOM)

    def whole(self) -> None:
        """All of the part."""
        if self.seen is not None:
            self.seen.fit()

    def alone(self) -> None:
        """The sheet without the columns beside it, or with them again."""
        workspace = self._board()
        if workspace is not None:
            workspace.show_alone(is_alone=not workspace.is_alone)

    def next_part(self, step: int = 1) -> None:
        """Bring the focus to the next part of the window that can have it: rail, form, sheet, list."""
        workspace = self._board()
        if workspace is None:
            return
        parts = [part for part in workspace.places() if part.isVisible()]
        focus = QApplication.focusWidget()
        now = next((i for i, part in enumerate(parts) if focus is not None and _holds(part, focus)), -step)
        for i in range(1, len(parts) + 1):
            if _take_focus(parts[(now + i * step) % len(parts)]):
                return

    def copy(self) -> bool:
        """Put the drawing that is seen on the clipboard; whether there is one."""
        seen = self.seen
        if seen is None:
            return False
        QGuiApplication.clipboard().setPixmap(seen.picture(2.0))
        return True

    def print_on(self, printer: QPrinter, title: str) -> None:
        """Print the drawing that is seen, as large as the paper allows, with what it is over it."""
        seen = self.seen
        assert seen is not None
        picture = seen.picture(_PRINT_DPI / _SCREEN_DPI)
        with QPainter(printer) as painter:
            page = QRectF(painter.viewport())
            line = painter.fontMetrics().height()
            painter.drawText(page, Qt.AlignmentFlag.AlignTop | Qt.AlignmentFlag.AlignLeft, title)
            room = page.adjusted(0.0, 1.5 * line, 0.0, 0.0)
            size = picture.deviceIndependentSize()
            scale = min(room.width() / size.width(), room.height() / size.height())
            target = QRectF(room.left(), room.top(), size.width() * scale, size.height() * scale)
            painter.drawPixmap(target, picture, QRectF(picture.rect()))


def _holds(part: QWidget, focus: QWidget) -> bool:
    return part is focus or part.isAncestorOf(focus)


def _take_focus(part: QWidget) -> bool:
    """Give the focus to a part, or to the first in it that takes it by Tab."""
    for widget in (part, *part.findChildren(QWidget)):
        if widget.focusPolicy() & Qt.FocusPolicy.TabFocus and widget.isVisible() and widget.isEnabled():
            widget.setFocus(Qt.FocusReason.ShortcutFocusReason)
            return True
    return False
