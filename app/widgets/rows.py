"""What the lists beside the drawing have in common: rows of text that open in place when they are chosen."""

from __future__ import annotations

from abc import abstractmethod
from typing import TYPE_CHECKING

from PySide6.QtCore import QAbstractListModel, QModelIndex, QPersistentModelIndex, QRect, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QFont, QFontMetrics, QKeyEvent, QKeySequence, QPainter, QResizeEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QApplication,
    QFrame,
    QListView,
    QStyle,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QWidget,
)

from app.widgets.theme import Ink, ink

if TYPE_CHECKING:
    from collections.abc import Callable, Hashable, Sequence

    from app.widgets.explain import Explanation

Index = QModelIndex | QPersistentModelIndex
WRAP = Qt.TextFlag.TextWordWrap | Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop


class RowsModel(QAbstractListModel):
    """Any objects as rows; ``sentence`` makes of one what is read aloud and copied, only when it is asked for."""

    def __init__(self, parent: QWidget, sentence: Callable[[object], str]) -> None:
        super().__init__(parent)
        self._sentence = sentence
        self._rows: list[tuple[Hashable, object]] = []

    def put(self, rows: Sequence[tuple[Hashable, object]]) -> None:
        """Replace the rows: (key that stays the same from result to result, object)."""
        if [key for key, _ in rows] == [key for key, _ in self._rows]:
            self._rows = list(rows)
            if rows:
                self.dataChanged.emit(self.index(0), self.index(len(rows) - 1))
            return
        self.beginResetModel()
        self._rows = list(rows)
        self.endResetModel()

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: N802, B008 - Qt's name and default
        return 0 if parent.isValid() else len(self._rows)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        if not index.isValid():
            return None
        _, value = self._rows[index.row()]
        if role == Qt.ItemDataRole.UserRole:
            return value
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.AccessibleTextRole, Qt.ItemDataRole.ToolTipRole):
            return self._sentence(value)
        return None

    def value(self, row: int) -> object:
        """The object of a row."""
        return self._rows[row][1]

    def key(self, row: int) -> Hashable:
        """The key of a row."""
        return self._rows[row][0]

    def find(self, key: Hashable) -> int | None:
        """The row of a key."""
        return next((i for i, (k, _) in enumerate(self._rows) if k == key), None)


class RowPainter(QStyledItemDelegate):
    """Draws a row, taller when it is the chosen one."""

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        painter.save()
        inks = ink(option.palette)
        rect: QRect = option.rect
        chosen = self._is_chosen(option, index)
        bar = max(3, QFontMetrics(painter.font()).height() // 5)
        if chosen:
            tint = inks.highlight.lighter(100)
            tint.setAlphaF(0.10)
            painter.fillRect(rect, tint)
            painter.fillRect(QRect(rect.left(), rect.top(), bar, rect.height()), inks.highlight)
        painter.fillRect(QRectF(rect.left(), rect.bottom(), rect.width(), 1), inks.neutral)
        self.draw(painter, self._inner(rect), index.data(Qt.ItemDataRole.UserRole), inks, is_open=chosen)
        painter.restore()

    def sizeHint(self, option: QStyleOptionViewItem, index: Index) -> QSize:  # noqa: N802 - Qt's name
        view = self.parent()
        assert isinstance(view, Rows)
        width = view.viewport().width()
        inner = self._inner(QRect(0, 0, width, 10_000))
        value = index.data(Qt.ItemDataRole.UserRole)
        tall = self.height(view.font(), inner.width(), value, is_open=self._is_chosen(option, index))
        return QSize(width, tall + 2 * self._gap(view.font()))

    @abstractmethod
    def draw(self, painter: QPainter, rect: QRect, value: object, inks: Ink, *, is_open: bool) -> None:
        """Draw a row's object inside ``rect``."""

    @abstractmethod
    def height(self, font: QFont, width: int, value: object, *, is_open: bool) -> int:
        """How tall a row of that width has to be."""

    def _is_chosen(self, _option: QStyleOptionViewItem, index: Index) -> bool:
        view = self.parent()
        assert isinstance(view, QListView)
        return view.currentIndex().row() == index.row()

    def _inner(self, rect: QRect) -> QRect:
        view = self.parent()
        assert isinstance(view, QWidget)
        side = view.fontMetrics().height() // 2
        gap = self._gap(view.font())
        return rect.adjusted(side, gap, -side // 2, -gap)

    @staticmethod
    def _gap(font: QFont) -> int:
        return max(2, QFontMetrics(font).height() // 5)


class Rows(QListView):
    """A list whose rows are chosen by click or arrow keys; the chosen one opens in place.

    Attributes:
        chosen: the object of the row that the user chose.
        asked: the object of the row on which Return was pressed, or that was clicked twice.
    """

    chosen = Signal(object)
    asked = Signal(object)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.rows = RowsModel(self, self.sentence)
        self._is_refreshing = False
        self.setModel(self.rows)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setResizeMode(QListView.ResizeMode.Adjust)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.clicked.connect(self._on_clicked)
        self.doubleClicked.connect(lambda index: self.asked.emit(self.rows.value(index.row())))
        self.selectionModel().currentChanged.connect(self._on_current)

    def put(self, rows: Sequence[tuple[Hashable, object]]) -> None:
        """Replace the rows; the chosen one stays chosen where it is still there."""
        key = self.rows.key(self.currentIndex().row()) if self.currentIndex().isValid() else None
        self._is_refreshing = True
        self.rows.put(rows)
        row = None if key is None else self.rows.find(key)
        if row is not None and row != self.currentIndex().row():
            self.setCurrentIndex(self.rows.index(row))
        self._is_refreshing = False
        self.scheduleDelayedItemsLayout()

    def choose(self, row: int) -> None:
        """Choose a row as a click does."""
        self.setCurrentIndex(self.rows.index(row))

    @property
    def current(self) -> object | None:
        """The object of the chosen row."""
        return self.rows.value(self.currentIndex().row()) if self.currentIndex().isValid() else None

    def sentence(self, value: object) -> str:
        """A row's object as one text, to be read aloud or copied."""
        raise NotImplementedError

    def explain(self, value: object) -> Explanation | None:
        """The sheet for a row's object."""
        raise NotImplementedError

    def explanation(self) -> Explanation | None:
        """The sheet for the chosen row."""
        return None if self.current is None else self.explain(self.current)

    def _on_clicked(self, index: QModelIndex) -> None:
        if index == self._told:  # the click that chose it told already
            self._told = None
            return
        self.chosen.emit(self.rows.value(index.row()))

    _told: QPersistentModelIndex | QModelIndex | None = None

    def _on_current(self, index: QModelIndex) -> None:
        self.scheduleDelayedItemsLayout()
        if index.isValid() and not self._is_refreshing:
            self._told = index if QApplication.mouseButtons() != Qt.MouseButton.NoButton else None
            self.chosen.emit(self.rows.value(index.row()))

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802 - Qt's name
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self.current is not None:
            self.asked.emit(self.current)
        elif event.matches(QKeySequence.StandardKey.Copy) and self.currentIndex().isValid():
            QApplication.clipboard().setText(str(self.currentIndex().data()))
        elif event.key() == Qt.Key.Key_Escape and self.currentIndex().isValid():
            self.clearSelection()
            self.setCurrentIndex(QModelIndex())
            self.chosen.emit(None)
        else:
            super().keyPressEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802 - Qt's name
        super().resizeEvent(event)
        self.scheduleDelayedItemsLayout()


def text_height(font: QFont, width: int, text: str) -> int:
    """How tall a text is when it is wrapped at a width."""
    return QFontMetrics(font).boundingRect(QRect(0, 0, width, 100_000), int(WRAP), text).height() if text else 0


def bold(font: QFont) -> QFont:
    """The same font, bold."""
    made = QFont(font)
    made.setBold(True)
    return made


def style_margin(widget: QWidget) -> int:
    """The style's own margin round a group."""
    return widget.style().pixelMetric(QStyle.PixelMetric.PM_LayoutLeftMargin)
