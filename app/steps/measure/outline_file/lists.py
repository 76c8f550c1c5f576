"""The lists beside an outline file: its loops, and the places where its strokes did not meet."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QModelIndex, QPointF, QRect, QSize, Qt
from PySide6.QtGui import QFont, QFontMetrics, QPainter
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.drawing.base.pens import Pencil
from app.steps.measure.outline_file.marks import draw_fault
from app.steps.measure.outline_file.words import ROLES, fault_word, loop_size, off_words, recovered_words, tried_words
from app.widgets.explain import Explanation
from app.widgets.rows import WRAP, RowPainter, Rows, bold, text_height
from core.measure.drawing.results import Fault, Loop, Role, Trouble

if TYPE_CHECKING:
    from app.steps.measure.outline_file.state import OpenDrawing
    from app.widgets.theme import Ink

_LOOP_LINES, _FAULT_LINES = 19, 9
_UNNAMED_LAYER = "0"  # where everything lies that was put on no layer
_SIZED = (Fault.STRAY, Fault.DOUBLE)


class _ShortRows(Rows):
    """A list that is as tall as its rows, up to so many lines of text, then scrolls."""

    def __init__(self, lines: int, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._lines = lines
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        self.chosen.connect(lambda _: self.updateGeometry())

    def sizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        line = self.fontMetrics().height()
        most = self._lines * line
        tall = 2 * self.frameWidth()
        for row in range(self.rows.rowCount()):
            tall += self.sizeHintForRow(row)
            if tall >= most:
                return QSize(20 * line, most)
        return QSize(20 * line, tall)

    def minimumSizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        return QSize(12 * self.fontMetrics().height(), min(self.sizeHint().height(), 4 * self.fontMetrics().height()))

    def settle(self) -> None:
        """Ask for as much room as the rows need now."""
        self.scheduleDelayedItemsLayout()
        self.updateGeometry()


class _LoopPainter(RowPainter):
    """Number, role and size in one line; below, what it was recovered as; in the chosen row, why it is that."""

    def __init__(self, parent: LoopList) -> None:
        super().__init__(parent)
        self._list = parent

    def draw(self, painter: QPainter, rect: QRect, value: object, inks: Ink, *, is_open: bool) -> None:
        assert isinstance(value, Loop)
        font = self._list.font()
        metrics = QFontMetrics(font)
        line, left = metrics.height(), self._list.indent
        number, role, size = self._list.head(value)
        painter.setPen(inks.text)
        painter.setFont(bold(font))
        top = QRect(rect.left(), rect.top(), rect.width(), line)
        painter.drawText(top, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, number)
        painter.setFont(font)
        painter.drawText(top, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, size)
        painter.setPen(inks.quiet if self._list.is_left_out(value) else inks.text)
        room = top.adjusted(left, 0, -metrics.horizontalAdvance(size) - line // 2, 0)
        shown = metrics.elidedText(role, Qt.TextElideMode.ElideRight, room.width())
        painter.drawText(room, Qt.AlignmentFlag.AlignVCenter, shown)
        painter.setPen(inks.quiet)
        below = rect.adjusted(left, line, 0, 0)
        if is_open:
            painter.drawText(below, int(WRAP), self._list.below(value, is_open=True))
        else:
            below.setHeight(line)
            text = self._list.below(value, is_open=False)
            shown = metrics.elidedText(text, Qt.TextElideMode.ElideRight, below.width())
            painter.drawText(below, Qt.AlignmentFlag.AlignVCenter, shown)

    def height(self, font: QFont, width: int, value: object, *, is_open: bool) -> int:
        assert isinstance(value, Loop)
        line = QFontMetrics(font).height()
        if is_open:
            return line + text_height(font, width - self._list.indent, self._list.below(value, is_open=True))
        return line * (2 if self._list.below(value, is_open=False) else 1)


class LoopList(_ShortRows):
    """All loops, largest first; choosing one lights it up on the board."""

    def __init__(self, state: OpenDrawing, parent: QWidget | None = None) -> None:
        super().__init__(_LOOP_LINES, parent)
        self._state = state
        self.setItemDelegate(_LoopPainter(self))
        self.setAccessibleName("Outlines")
        self.chosen.connect(lambda loop: state.choose(loop.number if isinstance(loop, Loop) else None))
        state.changed.connect(self.refresh)
        state.chosen_changed.connect(self._follow)

    @property
    def indent(self) -> int:
        """Where the words begin, behind the longest number."""
        metrics = QFontMetrics(bold(self.font()))
        return metrics.horizontalAdvance(f"{max(self.rows.rowCount(), 10)}") + metrics.height() // 2

    def refresh(self) -> None:
        """List the loops of the file."""
        self.put([(loop.number, loop) for loop in self._state.loops])
        self._follow()
        self.settle()

    def head(self, loop: Loop) -> tuple[str, str, str]:
        """Number, role and size."""
        number = loop.number
        size = loop_size(loop, self._state.recovered(number), self._state.show_length)
        return str(number), ROLES[self._state.role(number)], size

    def is_left_out(self, loop: Loop) -> bool:
        """Whether nothing is made of it."""
        return self._state.role(loop.number) is Role.IGNORED

    def below(self, loop: Loop, *, is_open: bool) -> str:
        """What it was recovered as; in the chosen row also why it has its role, and its layer."""
        state = self._state
        found = state.recovered(loop.number)
        is_hole = state.role(loop.number) is Role.HOLE
        words = recovered_words(found, state.style, state.show_length, is_short=not is_open)
        text = "" if is_hole and not is_open else words
        why = self.why(loop)
        if not is_open:
            return text or ("" if is_hole else why)
        layer = f"Layer {loop.layer}." if loop.layer not in ("", _UNNAMED_LAYER) else ""
        return "\n".join(part for part in (text, f"{why[:1].upper()}{why[1:]}.", layer) if part)

    def why(self, loop: Loop) -> str:
        """Where its role comes from."""
        if self._state.is_own(loop.number):
            return "as you said"
        found = self._state.sorted
        guess = None if found is None else found.guessed.get(loop.number)
        if guess is None:
            return "not guessed"
        role, reason = guess
        return f"guessed: {reason}" if role is self._state.role(loop.number) else "another outline is that now"

    def sentence(self, value: object) -> str:
        assert isinstance(value, Loop)
        number, role, size = self.head(value)
        below = self.below(value, is_open=True).replace("\n", "; ")
        return f"Outline {number}, {role}, {size}; {below}"

    def explain(self, value: object) -> Explanation | None:
        if not isinstance(value, Loop):
            return None
        number, role, size = self.head(value)
        found = self._state.recovered(value.number)
        meaning = "The simplest kind of oval that the outline keeps to within the tolerance stands for it."
        figures = () if found is None else tried_words(found, self._state.style, self._state.show_length)
        return Explanation(
            f"Outline {number}: {role}, {size}", meaning, f"Read from the file; {self.why(value)}.", figures
        )

    def _follow(self) -> None:
        row = None if self._state.chosen is None else self.rows.find(self._state.chosen)
        if row is None:
            self._is_refreshing = True
            self.clearSelection()
            self.setCurrentIndex(QModelIndex())
            self._is_refreshing = False
        elif row != self.currentIndex().row():
            self._is_refreshing = True
            self.choose(row)
            self._is_refreshing = False
        self.settle()


class _FaultPainter(RowPainter):
    """The sign of the drawing, what it is, and how large."""

    def __init__(self, parent: FaultList) -> None:
        super().__init__(parent)
        self._list = parent

    def draw(self, painter: QPainter, rect: QRect, value: object, inks: Ink, *, is_open: bool) -> None:
        assert isinstance(value, Trouble)
        font = self._list.font()
        metrics = QFontMetrics(font)
        line = metrics.height()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        at = QPointF(rect.left() + line * 0.4, rect.top() + line * 0.5)
        draw_fault(painter, Pencil(inks, painter.device().devicePixelRatioF()), at, value.fault, line * 0.3)
        name, size = self._list.head(value)
        top = QRect(rect.left() + self._list.indent, rect.top(), rect.width() - self._list.indent, line)
        painter.setPen(inks.text)
        painter.drawText(top, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, name)
        painter.drawText(top, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, size)
        if is_open:
            painter.setPen(inks.quiet)
            painter.drawText(rect.adjusted(self._list.indent, line, 0, 0), int(WRAP), self._list.below(value))

    def height(self, font: QFont, width: int, value: object, *, is_open: bool) -> int:
        assert isinstance(value, Trouble)
        line = QFontMetrics(font).height()
        return line + (text_height(font, width - self._list.indent, self._list.below(value)) if is_open else 0)


class FaultList(_ShortRows):
    """Where strokes did not meet; choosing one goes to its place."""

    def __init__(self, state: OpenDrawing, parent: QWidget | None = None) -> None:
        super().__init__(_FAULT_LINES, parent)
        self._state = state
        self.setItemDelegate(_FaultPainter(self))
        self.setAccessibleName("Faults")
        self.chosen.connect(lambda trouble: state.point_at(trouble if isinstance(trouble, Trouble) else None))
        state.changed.connect(self.refresh)

    @property
    def indent(self) -> int:
        """Where the words begin, behind the sign."""
        return round(self.fontMetrics().height() * 1.2)

    def refresh(self) -> None:
        """List the faults, those that need a hand first."""
        order = (Fault.OPEN_END, Fault.CROSSING, Fault.BRANCH, Fault.GAP, Fault.STRAY, Fault.DOUBLE)
        listed = sorted(self._state.troubles, key=lambda t: (order.index(t.fault), -t.size))
        self.put([((i, t.fault, t.at), t) for i, t in enumerate(listed)])
        self.settle()

    def head(self, trouble: Trouble) -> tuple[str, str]:
        """What it is, and how large where a size says something."""
        size = ""
        if trouble.fault is Fault.GAP:  # mostly far under a sixty-fourth
            size = off_words(trouble.size, self._state.style)
        elif trouble.fault in _SIZED:
            size = self._state.show_length(trouble.size)
        return fault_word(trouble.fault), size

    def below(self, trouble: Trouble) -> str:
        """What was done, and where it is."""
        show = self._state.show_length
        words = f"{trouble.words[:1].upper()}{trouble.words[1:]}".rstrip(".")
        if trouble.off > 0.0:
            words += f", by {off_words(trouble.off, self._state.style)}"
        return f"{words}. At x {show(trouble.at[0])}, y {show(trouble.at[1])}."

    def sentence(self, value: object) -> str:
        assert isinstance(value, Trouble)
        return ", ".join(part for part in (*self.head(value), self.below(value)) if part)

    def explain(self, value: object) -> Explanation | None:
        if not isinstance(value, Trouble):
            return None
        meaning = "A place where the file's lines and arcs do not make one clean outline."
        return Explanation(
            ", ".join(p for p in self.head(value) if p), meaning, "Read from the file.", (self.below(value),)
        )
