"""The lists beside the drawing: rows of text that open in place when they are chosen."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from PySide6.QtCore import QAbstractListModel, QModelIndex, QPersistentModelIndex, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QKeySequence, QPalette, QResizeEvent
from PySide6.QtWidgets import QAbstractItemView, QApplication, QFrame, QListView, QSizePolicy, QWidget

from app.widgets.plain import tip
from app.widgets.row_painter import Index, RowPainter

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterable, Sequence

    from app.widgets.explain import Explanation
    from app.widgets.row import Row


class RowsModel(QAbstractListModel):
    """Rows under keys; what is read aloud and copied is only made when it is asked for."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._keys: list[Hashable] = []
        self._rows: tuple[Row, ...] = ()

    def put(self, rows: Iterable[Row]) -> None:
        """Replace the rows; those of one key are told apart by their order."""
        rows = tuple(rows)
        seen: Counter[Hashable] = Counter()
        keys: list[Hashable] = []
        for row in rows:
            keys.append((row.key, seen[row.key]) if seen[row.key] else row.key)
            seen[row.key] += 1
        if keys == self._keys:
            self._rows = rows
            if rows:
                self.dataChanged.emit(self.index(0), self.index(len(rows) - 1))
            return
        self.beginResetModel()
        self._keys, self._rows = keys, rows
        self.endResetModel()

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's name and default
        return 0 if parent.isValid() else len(self._rows)

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        if not index.isValid():
            return None
        row = self._rows[index.row()]
        if role == Qt.ItemDataRole.UserRole:
            return row
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.AccessibleTextRole):
            return row.said()
        if role == Qt.ItemDataRole.ToolTipRole:
            return tip(row.said())
        return None

    @property
    def rows(self) -> tuple[Row, ...]:
        """All rows, in their order."""
        return self._rows

    def row(self, number: int) -> Row:
        """A row."""
        return self._rows[number]

    def key(self, number: int) -> Hashable:
        """The key of a row."""
        return self._keys[number]

    def find(self, key: Hashable) -> int | None:
        """The row of a key."""
        return self._keys.index(key) if key in self._keys else None


class Rows(QListView):
    """A list whose rows are chosen by click or arrow keys; the chosen one opens in place.

    Attributes:
        chosen: the value of the row that the user chose; None when he chose none.
        asked: the value of the row on which Return was pressed, or that was clicked twice.
    """

    chosen = Signal(object)
    asked = Signal(object)

    def __init__(
        self, name: str, parent: QWidget | None = None, *, most_lines: int | None = None, heads: Sequence[str] = ()
    ) -> None:
        """An empty list.

        Args:
            name: as it is read aloud.
            parent: of the list.
            most_lines: so many lines of text it grows to with its rows, then it scrolls; None is any height.
            heads: words over the columns, which are no narrower.
        """
        super().__init__(parent)
        self.rows = RowsModel(self)
        self._most_lines = most_lines
        self._is_refreshing = False
        self.setModel(self.rows)
        self.painter = RowPainter(self, heads)
        self.setItemDelegate(self.painter)
        self.setAccessibleName(name)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.viewport().setBackgroundRole(QPalette.ColorRole.AlternateBase)  # paper
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setResizeMode(QListView.ResizeMode.Adjust)
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        if most_lines is not None:
            self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        self.clicked.connect(self._on_clicked)
        self.doubleClicked.connect(lambda index: self.asked.emit(self.rows.row(index.row()).value))
        self.selectionModel().currentChanged.connect(self._on_current)

    def put(self, rows: Iterable[Row]) -> None:
        """Replace the rows; the chosen one stays chosen where it is still there."""
        key = self.rows.key(self.currentIndex().row()) if self.currentIndex().isValid() else None
        self._is_refreshing = True
        self.rows.put(rows)
        self.painter.measure(self.rows.rows)
        row = None if key is None else self.rows.find(key)
        if row is not None and row != self.currentIndex().row():
            self.setCurrentIndex(self.rows.index(row))
        self._is_refreshing = False
        self._settle()

    def choose(self, row: int) -> None:
        """Choose a row as a click does."""
        self.setCurrentIndex(self.rows.index(row))

    def follow(self, key: Hashable) -> None:
        """Show the row of a key as chosen, or none, without telling anyone."""
        row = self.rows.find(key)
        if row != self.currentIndex().row():
            self._is_refreshing = True
            if row is None:
                self.clearSelection()
            self.setCurrentIndex(QModelIndex() if row is None else self.rows.index(row))
            self._is_refreshing = False
        self._settle()

    @property
    def current(self) -> object | None:
        """The value of the chosen row."""
        return self.rows.row(self.currentIndex().row()).value if self.currentIndex().isValid() else None

    def explanation(self) -> Explanation | None:
        """The sheet for the chosen row."""
        return self.rows.row(self.currentIndex().row()).sheet() if self.currentIndex().isValid() else None

    # Sizes

    def _settle(self) -> None:
        self.scheduleDelayedItemsLayout()
        if self._most_lines is not None:
            self.updateGeometry()

    def sizeHint(self) -> QSize:
        if self._most_lines is None:
            return super().sizeHint()
        line = self.fontMetrics().height()
        most, tall = self._most_lines * line, 2 * self.frameWidth()
        for row in range(self.rows.rowCount()):
            tall += self.sizeHintForRow(row)
            if tall >= most:
                return QSize(20 * line, most)
        return QSize(20 * line, tall)

    def minimumSizeHint(self) -> QSize:
        if self._most_lines is None:
            return super().minimumSizeHint()
        line = self.fontMetrics().height()
        return QSize(12 * line, min(self.sizeHint().height(), 4 * line))

    # What the user does

    def _on_clicked(self, index: QModelIndex) -> None:
        if index == self._told:  # the click that chose it told already
            self._told = None
            return
        self.chosen.emit(self.rows.row(index.row()).value)
        self._settle()

    _told: QPersistentModelIndex | QModelIndex | None = None

    def _on_current(self, index: QModelIndex) -> None:
        if index.isValid() and not self._is_refreshing:
            self._told = index if QApplication.mouseButtons() != Qt.MouseButton.NoButton else None
            self.chosen.emit(self.rows.row(index.row()).value)
        self._settle()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self.currentIndex().isValid():
            self.asked.emit(self.current)
        elif event.matches(QKeySequence.StandardKey.Copy) and self.currentIndex().isValid():
            QApplication.clipboard().setText(str(self.currentIndex().data()))
        elif event.key() == Qt.Key.Key_Escape and self.currentIndex().isValid():
            self.clearSelection()
            self.setCurrentIndex(QModelIndex())
            self.chosen.emit(None)
        else:
            super().keyPressEvent(event)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if self._most_lines is not None and event.size().width() != event.oldSize().width():
            self.updateGeometry()  # another width, another height of what is wrapped
        self.scheduleDelayedItemsLayout()
