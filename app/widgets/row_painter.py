"""Paints the rows of a list: cut to their lines, and whole where a row is chosen."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QPointF, QRect, QRectF, QSize, Qt
from PySide6.QtGui import QFont, QFontMetrics, QPainter
from PySide6.QtWidgets import QListView, QStyledItemDelegate, QStyleOptionViewItem

from app.widgets.fonts import WRAP, bold, text_height
from app.widgets.row import Line, Row, Text
from app.widgets.theme import ink, paint_mark
from core.words.verdicts import Verdict

if TYPE_CHECKING:
    from collections.abc import Sequence

    from app.widgets.row import Sign
    from app.widgets.theme import Ink

Index = QModelIndex | QPersistentModelIndex
_NOTHING = Text("")


class RowPainter(QStyledItemDelegate):
    """Draws a row, taller when it is the chosen one."""

    def __init__(self, rows: QListView, heads: Sequence[str] = ()) -> None:
        """Of a list; where its rows have columns, these are no narrower than their heads."""
        super().__init__(rows)
        self._rows, self._heads = rows, heads
        self.columns = (0,) * len(heads)
        self._longest, self._count = 0, 0
        self._mark: Verdict | str | Sign | None = None

    # What all rows share

    def measure(self, rows: Sequence[Row]) -> None:
        """Make room for other rows: for their marks, and for the widest text of each column."""
        self._count, self._mark = len(rows), rows[0].mark if rows else None
        if not self._heads:
            return
        metrics, heavy = self._rows.fontMetrics(), QFontMetrics(bold(self._rows.font()))
        columns = [metrics.horizontalAdvance(head) for head in self._heads]
        for row in rows:
            for line in row.lines:
                for i, text in enumerate(line.right if len(line.right) == len(columns) else ()):
                    columns[i] = max(columns[i], (heavy if text.is_bold else metrics).horizontalAdvance(text.words))
        self.columns = tuple(columns)
        self._longest = max((metrics.horizontalAdvance(row.lines[0].left.words) for row in rows), default=0)

    @property
    def space(self) -> int:
        """Between two columns; less where the figures would else be cut."""
        side = self._line // 2
        return min(side, max((self._rows.viewport().width() - 2 * side - sum(self.columns)) // 3, 2))

    def _is_stacked(self, width: int) -> bool:
        """Whether the columns stand below the names, because they would cut them."""
        return bool(self.columns) and self._longest + sum(self.columns) + len(self.columns) * self.space > width

    @property
    def _indent(self) -> int:
        """Where the lines begin, behind the marks."""
        if self._mark is None:
            return 0
        if isinstance(self._mark, Verdict):
            return round(self._line * 1.35)
        if not isinstance(self._mark, str):
            return round(self._line * 1.2)
        widest = f"{max(self._count, 10)}"
        return QFontMetrics(bold(self._rows.font())).horizontalAdvance(widest) + self._line // 2

    # What Qt asks for

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        painter.save()
        inks = ink(option.palette)
        rect: QRect = option.rect
        chosen = self._is_chosen(index)
        bar = max(3, self._line // 5)
        if self._row(index).is_card:
            rect = rect.adjusted(0, 0, 0, -self._line // 2)
            painter.fillRect(rect, inks.paper)
            mark = self._row(index).mark
            painter.fillRect(
                QRect(rect.left(), rect.top(), bar, rect.height()),
                inks.of(mark) if isinstance(mark, Verdict) else inks.neutral,
            )
        if chosen:
            painter.fillRect(rect, inks.lit)
            painter.fillRect(QRect(rect.left(), rect.top(), bar, rect.height()), inks.highlight)
        if not (self._row(index).is_card or self._row(index).is_block):
            painter.fillRect(QRectF(rect.left(), rect.bottom(), rect.width(), 1), inks.neutral)
        inner = self._card(option.rect) if self._row(index).is_card else self._inner(rect)
        self._draw(painter, inner, index, inks)
        painter.restore()

    def sizeHint(self, _option: QStyleOptionViewItem, index: Index) -> QSize:
        width = self._rows.viewport().width()
        whole = QRect(0, 0, width, 10_000)
        inner = self._card(whole) if self._row(index).is_card else self._inner(whole)
        room = self._room(inner)
        lines, is_open = self._lines(index, room.width())
        tall = sum(self._height(line, room.width(), is_open=is_open) for line in lines)
        tall += self._line // 4 if any(line.is_apart for line in lines) else 0
        return QSize(width, tall + whole.height() - inner.height())

    # Which lines, and their room

    @staticmethod
    def _row(index: Index) -> Row:
        row = index.data(Qt.ItemDataRole.UserRole)
        assert isinstance(row, Row)
        return row

    def _is_chosen(self, index: Index) -> bool:
        return self._rows.currentIndex().row() == index.row()

    @property
    def _line(self) -> int:
        return self._rows.fontMetrics().height()

    @property
    def _gap(self) -> int:
        return max(2, self._line // 5)

    def _inner(self, rect: QRect) -> QRect:
        side = self._line // 2
        return rect.adjusted(side, self._gap, -side // 2, -self._gap)

    def _card(self, rect: QRect) -> QRect:
        """What a card's lines have, within its edges."""
        return rect.adjusted(self._line, self._line // 2, -self._line * 3 // 4, -self._line)

    def _room(self, inner: QRect) -> QRect:
        return inner.adjusted(self._indent, 0, -1, 0)

    def _lines(self, index: Index, width: int) -> tuple[tuple[Line, ...], bool]:
        """The lines that are drawn, and whether they are laid out whole."""
        row = self._row(index)
        if row.is_card:
            return row.lines, True
        if row.is_block:
            lines = row.opened() if row.opened is not None and self._is_chosen(index) else row.lines
            return tuple(part for line in lines for part in self._parted(line, width)), True
        is_stacked = self._is_stacked(width)
        lines = _stacked(row.lines, apart=False) if is_stacked else row.lines
        if not self._is_chosen(index):
            return lines, False
        if row.opened is not None:
            return row.opened(), True
        if not any(self._is_cut(line, width) for line in lines):
            return lines, False
        return (_stacked(row.lines, apart=True) if is_stacked else row.lines), True

    def _parted(self, line: Line, width: int) -> tuple[Line, ...]:
        """A line whose figures would cut its words, as two."""
        if len(line.right) < len(self.columns) or not self._is_cut(line, width):
            return (line,)
        return line._replace(right=()), Line(_NOTHING, right=line.right)

    def _font(self, text: Text) -> QFont:
        return bold(self._rows.font()) if text.is_bold else self._rows.font()

    def _wide(self, text: Text) -> int:
        return QFontMetrics(self._font(text)).horizontalAdvance(text.whole)

    def _widths(self, line: Line) -> tuple[int, ...]:
        """Of the texts at the right."""
        return self.columns if len(line.right) > 1 else tuple(self._wide(text) for text in line.right)

    def _lead(self, line: Line) -> int:
        if line.lead is None:
            return 0
        return QFontMetrics(self._font(line.lead)).horizontalAdvance(f"{line.lead.words}  ")

    def _left(self, line: Line, width: int) -> int:
        """How wide the left text may be."""
        widths = self._widths(line)
        space = self.space if len(widths) > 1 else self._line // 2
        return width - self._lead(line) - sum(wide + space for wide in widths if wide)

    def _is_cut(self, line: Line, width: int) -> bool:
        return self._wide(line.left) > self._left(line, width)

    def _height(self, line: Line, width: int, *, is_open: bool) -> int:
        tall = self._line
        if is_open:
            tall = max(tall, text_height(self._font(line.left), self._left(line, width), line.left.whole))
        return tall + (self._line // 4 if line.is_apart else 0)

    # Drawing

    def _draw(self, painter: QPainter, inner: QRect, index: Index, inks: Ink) -> None:
        row = index.data(Qt.ItemDataRole.UserRole)
        self._draw_mark(painter, inner, row, inks)
        room = self._room(inner)
        lines, is_open = self._lines(index, room.width())
        top = room.top()
        for line in lines:
            tall = self._height(line, room.width(), is_open=is_open)
            air = self._line // 4 if line.is_apart else 0
            at = top + max(air - 1, 0)
            self._draw_line(painter, QRect(room.left(), at, room.width(), tall - air), line, inks)
            top += tall

    def _draw_mark(self, painter: QPainter, inner: QRect, row: Row, inks: Ink) -> None:
        line, mark = self._line, row.mark
        if isinstance(mark, Verdict):
            side = line * 0.88
            paint_mark(painter, QRectF(inner.left(), inner.top() + line * 0.06, side, side), mark, inks)
        elif isinstance(mark, str):
            self._put(painter, QRect(inner.left(), inner.top(), inner.width(), line), Text(mark, is_bold=True), inks)
        elif mark is not None:
            painter.save()
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            mark(painter, QPointF(inner.left() + line * 0.4, inner.top() + line * 0.5), line * 0.3, inks)
            painter.restore()

    def _draw_line(self, painter: QPainter, rect: QRect, line: Line, inks: Ink) -> None:
        right = rect.right() + 1
        widths = self._widths(line)
        for text, wide in zip(reversed(line.right), reversed(widths), strict=True):
            cell = QRect(right - wide, rect.top(), wide, self._line)
            self._put(painter, cell, text, inks, Qt.AlignmentFlag.AlignRight)
            right -= wide + self.space
        if line.lead is not None:
            self._put(painter, QRect(rect.topLeft(), QSize(rect.width(), self._line)), line.lead, inks)
        room = QRect(rect.left() + self._lead(line), rect.top(), self._left(line, rect.width()), rect.height())
        if rect.height() > self._line:
            self._put(painter, room, line.left, inks, WRAP)
        else:
            self._put(painter, room, line.left, inks, is_cut=True)

    def _put(
        self,
        painter: QPainter,
        rect: QRect,
        text: Text,
        inks: Ink,
        flags: Qt.AlignmentFlag | Qt.TextFlag = Qt.AlignmentFlag.AlignLeft,
        *,
        is_cut: bool = False,
    ) -> None:
        painter.setFont(self._font(text))
        painter.setPen(getattr(inks, text.tone))
        words = text.whole
        metrics = QFontMetrics(painter.font())
        if is_cut and metrics.horizontalAdvance(words) > rect.width():
            more = text.more[1]
            room = rect.width() - metrics.horizontalAdvance(more)
            words = metrics.elidedText(text.words, Qt.TextElideMode.ElideRight, room) + more
        painter.drawText(rect, int(flags) if flags == WRAP else int(flags | Qt.AlignmentFlag.AlignVCenter), words)


def _stacked(lines: tuple[Line, ...], *, apart: bool) -> tuple[Line, ...]:
    """The columns one line lower, since they would cut names; ``apart`` in a line of their own."""
    first, second, *others = lines
    names = Line(first.left, first.lead)
    if apart:
        return (names, Line(_NOTHING, right=first.right), second, *others)
    return (names, Line(second.left, second.lead, first.right), *others)
