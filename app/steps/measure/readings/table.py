"""The table of readings: cells that are typed in as a caster with a calliper goes, down a sample or along a row."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QModelIndex, QRect, QSize, Qt
from PySide6.QtGui import QFontMetrics, QKeyEvent, QPalette, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QAbstractItemView, QFrame, QHeaderView, QLineEdit, QTableView, QWidget

from app.steps.measure.readings.cells import STEPS, CellPainter
from app.steps.measure.readings.explain import of_cell
from app.steps.measure.readings.model import ReadingsModel
from app.widgets.fonts import bold
from core.measure.table import edits as readings_edits
from core.measure.table.columns import FIRST_SAMPLE, Column

if TYPE_CHECKING:
    from PySide6.QtCore import QEvent

    from app.steps.measure.readings.desk import Desk
    from app.steps.measure.readings.model import Index
    from app.widgets.explain import Explanation

_ROW: Final = 1.6  # height of a row, in heights of the text
_LEAST_CHARS: Final = {Column.PLACE: 6, Column.SAMPLE: 6, Column.MEAN: 6}


class ReadingsView(QTableView):
    """The readings of the desk's insert."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self.table = ReadingsModel(desk)
        self.setModel(self.table)
        self.cells = CellPainter(self.table, self)
        self.setItemDelegate(self.cells)
        self.cells.went.connect(self.go)
        self.setAccessibleName("Readings")
        self.setAccessibleDescription(
            "A row a reading, a column a sample. Return goes down, the tabulator along the row, F2 edits a cell."
        )
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.viewport().setBackgroundRole(QPalette.ColorRole.AlternateBase)  # paper
        self.setShowGrid(False)
        self.setWordWrap(False)
        self.setTabKeyNavigation(False)  # the tabulator leaves at the ends
        self.setSelectionMode(QAbstractItemView.SelectionMode.SingleSelection)
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        triggers = QAbstractItemView.EditTrigger
        self.setEditTriggers(
            triggers.AnyKeyPressed | triggers.EditKeyPressed | triggers.DoubleClicked | triggers.SelectedClicked
        )
        self._heads()
        self._kept = (-1, -1)
        self._awaited = -1
        self.table.modelAboutToBeReset.connect(self._keep)
        self.table.modelReset.connect(self._restore)
        self.table.dataChanged.connect(self._refresh)
        desk.asked.connect(self.reach)
        desk.turned.connect(self._leave)

    def _heads(self) -> None:
        level, upright = self.horizontalHeader(), self.verticalHeader()
        level.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        level.setMinimumSectionSize(1)
        level.setHighlightSections(False)
        level.setSectionsClickable(True)
        level.sectionDoubleClicked.connect(self.rename)
        upright.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        upright.setHighlightSections(False)
        self._scale()

    def _scale(self) -> None:
        tall = round(self.fontMetrics().height() * _ROW)
        self.verticalHeader().setMinimumSectionSize(1)
        self.verticalHeader().setDefaultSectionSize(tall)

    # Going from cell to cell

    def currentChanged(self, current: Index, previous: Index) -> None:
        super().currentChanged(current, previous)
        self._desk.light(current.row() if current.isValid() else -1)
        self.viewport().update()

    def go(self, down: int, right: int) -> bool:
        """Go on by rows or columns to the next cell that is typed in; whether there was one.

        Down from the last row is the first row of the next sample; right of a row's last cell is the next row's first.
        """
        if not down and not right:
            return True
        index = self.currentIndex()
        if not index.isValid():
            return self._go_first()
        order = _down_columns if down else _along_rows
        rows, columns = range(self.table.rowCount()), range(self.table.columnCount())
        cells = sorted(((r, c) for r in rows for c in columns if self.table.is_typed(r, c)), key=order)
        at = order((index.row(), index.column()))
        if (down or right) > 0:
            found = next((cell for cell in cells if order(cell) > at), None)
        else:
            found = next((cell for cell in reversed(cells) if order(cell) < at), None)
        if found is None:
            return False
        self.setCurrentIndex(self.table.index(*found))
        return True

    def _go_first(self) -> bool:
        if not self.table.rowCount():
            return False
        self.setCurrentIndex(self.table.index(0, min(FIRST_SAMPLE, self.table.columnCount() - 1)))
        return True

    def reach(self, row: int) -> None:
        """Bring the focus to a row, as soon as it is there: to its first value that is missing, or its first."""
        if row >= self.table.rowCount():
            self._awaited = row  # a slow model is computed beside the window
            return
        self._awaited = -1
        values = self.table.readings.rows[row].values
        count = len(self.table.readings.samples)
        empty = next((i for i in range(count) if i >= len(values) or values[i] is None), 0)
        self.setCurrentIndex(self.table.index(row, FIRST_SAMPLE + empty if count else 1))
        self.scrollTo(self.currentIndex())
        self.setFocus(Qt.FocusReason.OtherFocusReason)

    def focusNextPrevChild(self, is_next: bool) -> bool:  # noqa: FBT001 - Qt's name
        if self.table.rowCount() and self.go(0, 1 if is_next else -1):
            return True
        return super().focusNextPrevChild(is_next)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key, index = Qt.Key(event.key()), self.currentIndex()
        is_typed = index.isValid() and self.table.is_typed(index.row(), index.column())
        if key in (Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self.go(*STEPS[key])
        elif key in (Qt.Key.Key_Delete, Qt.Key.Key_Backspace) and is_typed:
            self._empty(index)
        elif key == Qt.Key.Key_Space and is_typed:
            self.edit(index)
        elif key == Qt.Key.Key_Escape:
            event.setAccepted(index.isValid() and self.table.give_back(index))
        else:
            super().keyPressEvent(event)

    def _empty(self, index: QModelIndex) -> None:
        if self.table.column(index.column()) is not Column.INSTRUMENT:
            self.table.setData(index, "")

    def put_away(self) -> None:
        """Close an open cell without taking what is typed in it."""
        editor = self.indexWidget(self.currentIndex())
        if editor is not None:
            self.cells.closeEditor.emit(editor, CellPainter.EndEditHint.RevertModelCache)

    # Samples

    @property
    def current_sample(self) -> int | None:
        """The sample of the column that is current."""
        index = self.currentIndex()
        return self.table.sample(index.column()) if index.isValid() else None

    def rename(self, section: int) -> None:
        """Type another name over a sample's head."""
        sample = self.table.sample(section)
        if sample is not None:
            self.scrollTo(self.table.index(max(self.currentIndex().row(), 0), section))
            _NameEditor(self, self._desk, section, sample)

    def explanation(self) -> Explanation | None:
        """The sheet for the current cell."""
        index = self.currentIndex()
        return of_cell(self._desk, index.row(), self.table.column(index.column())) if index.isValid() else None

    # Sizes

    def sizeHint(self) -> QSize:
        line = self.fontMetrics().height()
        return QSize(line * 36, round(line * (2 + _ROW * 9)))

    def minimumSizeHint(self) -> QSize:
        line = self.fontMetrics().height()
        return QSize(line * 18, round(line * (2 + _ROW * 3)))

    def fit_columns(self) -> None:
        """Make every column as wide as its texts; what room is left goes to the user's own words."""
        wide = [self._wide(column) for column in range(self.table.columnCount())]
        room = self.viewport().width() - sum(wide)
        for i, width in enumerate(wide):
            column = self.table.column(i)
            self.setColumnWidth(i, width + (max(room, 0) if column is Column.PLACE else 0))

    def _wide(self, number: int) -> int:
        column = self.table.column(number)
        metrics = QFontMetrics(bold(self.font())) if column is Column.MEAN else self.fontMetrics()
        texts = [str(self.table.headerData(number, Qt.Orientation.Horizontal) or "")]
        texts += [str(self.table.index(row, number).data() or "") for row in range(self.table.rowCount())]
        widest = max(metrics.horizontalAdvance(text) for text in texts)
        least = metrics.horizontalAdvance("0") * _LEAST_CHARS.get(column, 0)
        return max(widest, least) + 2 * self.cells.pad + 1

    def _refresh(self) -> None:
        self.fit_columns()
        self.viewport().update()

    def _keep(self) -> None:
        self._kept = (self.currentIndex().row(), self.currentIndex().column())

    def _restore(self) -> None:
        self.fit_columns()
        row, column = self._kept
        if 0 <= self._awaited < self.table.rowCount():
            self.reach(self._awaited)
        elif row >= 0 and self.table.rowCount():
            at = self.table.index(min(row, self.table.rowCount() - 1), min(column, self.table.columnCount() - 1))
            self.setCurrentIndex(at)
        else:
            self._desk.light(-1)

    def _leave(self) -> None:
        self.setCurrentIndex(QModelIndex())

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self.fit_columns()

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self.fit_columns()

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() == event.Type.FontChange and hasattr(self, "table"):
            self._scale()
            self.fit_columns()


class _NameEditor(QLineEdit):
    """A field over the head of a sample's column, for its name; Escape leaves the name as it is."""

    def __init__(self, view: ReadingsView, desk: Desk, section: int, sample: int) -> None:
        header = view.horizontalHeader()
        super().__init__(desk.readings.samples[sample], header.viewport())
        self._view, self._desk, self._sample = view, desk, sample
        self._is_over = False
        self.setAccessibleName("Name of the sample")
        left, wide = header.sectionViewportPosition(section), header.sectionSize(section)
        self.setGeometry(QRect(left, 0, max(wide, self.fontMetrics().height() * 5), header.height()))
        self.editingFinished.connect(self._take)
        self.selectAll()
        self.show()
        self.setFocus(Qt.FocusReason.OtherFocusReason)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape:
            self._end()
        else:
            super().keyPressEvent(event)

    def _take(self) -> None:
        if self._is_over:
            return
        owner, sample, text = self._desk.owner, self._sample, self.text()
        self._end()
        path = f"{owner}.readings.samples[{sample}]"
        self._desk.change("sample's name", lambda p: readings_edits.with_sample_name(p, owner, sample, text), path=path)

    def _end(self) -> None:
        self._is_over = True
        self.hide()
        self.deleteLater()
        self._view.setFocus(Qt.FocusReason.OtherFocusReason)


def _along_rows(cell: tuple[int, int]) -> tuple[int, int]:
    return cell


def _down_columns(cell: tuple[int, int]) -> tuple[int, int]:
    return cell[1], cell[0]
