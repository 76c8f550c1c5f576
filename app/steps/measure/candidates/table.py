"""The candidates side by side: a column for each, the best at the left; a line for each quantity."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from PySide6.QtCore import (
    QAbstractTableModel,
    QEvent,
    QModelIndex,
    QObject,
    QPersistentModelIndex,
    QRect,
    QRectF,
    QSize,
    Qt,
    Signal,
)
from PySide6.QtGui import QColor, QFontMetrics, QKeyEvent, QPainter, QPalette
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QFrame,
    QHeaderView,
    QSizePolicy,
    QStyledItemDelegate,
    QStyleOptionViewItem,
    QTableView,
    QWidget,
)

from app.steps.measure.candidates.state import NEW
from app.widgets.explain import Explanation
from app.widgets.fonts import bold
from app.widgets.plain import tip
from app.widgets.style.marks import RULE, paint_outline
from app.widgets.theme import ink, paint_mark
from core.measure.candidates.table import LINES, Cell, cell_of

if TYPE_CHECKING:
    from app.steps.measure.candidates.state import CandidatesState
    from core.measure.candidates.results import Candidate

    Index = QModelIndex | QPersistentModelIndex

_NAME_CHARS: Final = 20
_LINE: Final = 1.28  # height of a line, in heights of its text
_LINES_TO_SPARE: Final = 6
_MARK: Final = 0.72


class _Model(QAbstractTableModel):
    """Cells by line and rank."""

    def __init__(self, state: CandidatesState, parent: QWidget) -> None:
        super().__init__(parent)
        self._state = state
        self.candidates: tuple[Candidate, ...] = ()

    def put(self, candidates: tuple[Candidate, ...]) -> None:
        """Show other candidates, or the same ones in another unit."""
        self.beginResetModel()
        self.candidates = candidates
        self.endResetModel()

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's name and default
        return 0 if parent.isValid() else len(LINES)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's name and default
        return 0 if parent.isValid() else len(self.candidates)

    def cell(self, row: int, column: int) -> Cell:
        """What stands there."""
        return cell_of(self._state.session.project.style, LINES[row], self.candidates[column])

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        if not index.isValid():
            return None
        if role == Qt.ItemDataRole.UserRole:
            return self.cell(index.row(), index.column())
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.AccessibleTextRole):
            cell = self.cell(index.row(), index.column())
            return cell.text if cell.verdict is None else f"{cell.verdict}: {cell.text}"
        return None

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        if role == Qt.ItemDataRole.TextAlignmentRole:
            return Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignLeft
        if orientation == Qt.Orientation.Vertical:
            words = {
                Qt.ItemDataRole.DisplayRole: LINES[section].label,
                Qt.ItemDataRole.ToolTipRole: LINES[section].meaning,
            }
            return words.get(Qt.ItemDataRole(role))
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.ToolTipRole):
            candidate = self.candidates[section]
            text = f"{section + 1}  {'now: ' if candidate.index == NEW else ''}{candidate.insert.name}"
            return tip(text) if role == Qt.ItemDataRole.ToolTipRole else text
        return None


class _Head(QHeaderView):
    """Ranks with names, or the labels of the lines: words on the paper, over a thin rule."""

    def __init__(self, orientation: Qt.Orientation, table: CandidatesTable) -> None:
        super().__init__(orientation, table)
        self._table = table
        self.setSectionResizeMode(QHeaderView.ResizeMode.Fixed)
        self.setHighlightSections(False)
        self.setSectionsClickable(True)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)

    def paintSection(self, painter: QPainter, rect: QRect, section: int) -> None:
        inks = ink(self.palette())
        painter.save()
        painter.fillRect(rect, inks.paper)
        space = self._table.space
        is_name = self.orientation() == Qt.Orientation.Horizontal
        if is_name and section == self._table.chosen_column:
            painter.fillRect(rect, self._table.tint())
        text = str(self.model().headerData(section, self.orientation()))
        painter.setFont(bold(self.font()) if is_name else self.font())
        stale = self._table.is_stale
        painter.setPen(inks.ghost if stale and is_name else inks.text if is_name else inks.quiet)
        room = rect.adjusted(space, 0, -space, 0)
        if is_name:
            text = QFontMetrics(painter.font()).elidedText(text, Qt.TextElideMode.ElideRight, room.width())
        along = Qt.AlignmentFlag.AlignRight if is_name else Qt.AlignmentFlag.AlignLeft
        painter.drawText(room, along | Qt.AlignmentFlag.AlignVCenter, text)
        painter.fillRect(QRectF(rect.left(), rect.bottom(), rect.width(), 1), inks.neutral)
        painter.restore()

    def sectionSizeFromContents(self, section: int) -> QSize:
        text = str(self.model().headerData(section, self.orientation()))
        return QSize(self.fontMetrics().horizontalAdvance(text) + 2 * self._table.space, self._table.head_height)


class _Painter(QStyledItemDelegate):
    """A mark and a figure, on the right; the chosen candidate's column is tinted."""

    def __init__(self, table: CandidatesTable) -> None:
        super().__init__(table)
        self._table = table

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        cell = index.data(Qt.ItemDataRole.UserRole)
        assert isinstance(cell, Cell)
        inks = ink(self._table.palette())
        rect: QRect = option.rect
        painter.save()
        if index.column() == self._table.chosen_column:
            painter.fillRect(rect, self._table.tint())
        painter.fillRect(QRectF(rect.left(), rect.bottom(), rect.width(), 1), inks.neutral)
        space = self._table.space
        room = rect.adjusted(space, 0, -space, 0)
        painter.setFont(self._table.font())
        painter.setPen(inks.ghost if self._table.is_stale else inks.text)
        painter.drawText(room, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, cell.text)
        if cell.verdict is not None:
            metrics = self._table.fontMetrics()
            side = metrics.height() * _MARK
            left = room.right() - metrics.horizontalAdvance(cell.text) - side - metrics.height() * 0.35
            if self._table.is_stale:
                painter.setOpacity(0.4)
            paint_mark(painter, QRectF(left, room.center().y() - side / 2.0, side, side), cell.verdict, inks)
            painter.setOpacity(1.0)
        if index == self._table.currentIndex() and self._table.hasFocus():
            paint_outline(painter, QRectF(rect), inks.highlight, RULE)
        painter.restore()

    def sizeHint(self, _option: QStyleOptionViewItem, index: Index) -> QSize:
        cell = index.data(Qt.ItemDataRole.UserRole)
        assert isinstance(cell, Cell)
        metrics = self._table.fontMetrics()
        mark = 0.0 if cell.verdict is None else metrics.height() * (_MARK + 0.35)
        wide = metrics.horizontalAdvance(cell.text) + mark + 2 * self._table.space
        return QSize(round(wide) + 1, round(metrics.height() * _LINE))


class CandidatesTable(QTableView):
    """The comparison; a column is chosen by click or arrow keys.

    Attributes:
        asked: the entry on which Return was pressed, or that was clicked twice.
    """

    asked = Signal(int)

    def __init__(self, state: CandidatesState, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._state = state
        self._is_refreshing = False
        self.space = self.fontMetrics().height() // 2
        self.model_shown = _Model(state, self)
        self.setModel(self.model_shown)
        corner = self.findChild(QAbstractButton)
        assert isinstance(corner, QAbstractButton)
        corner.installEventFilter(self)
        self.setHorizontalHeader(_Head(Qt.Orientation.Horizontal, self))
        self.setVerticalHeader(_Head(Qt.Orientation.Vertical, self))
        self.setItemDelegate(_Painter(self))
        self.setAccessibleName("Candidates side by side")
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.viewport().setBackgroundRole(QPalette.ColorRole.AlternateBase)  # paper
        self.setShowGrid(False)
        self.setCornerButtonEnabled(False)
        self.setTabKeyNavigation(False)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setSelectionMode(QAbstractItemView.SelectionMode.NoSelection)  # the current cell says it all
        self.setHorizontalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        self.horizontalHeader().sectionClicked.connect(self._pick)
        self.selectionModel().currentChanged.connect(self._on_current)
        self.doubleClicked.connect(lambda index: self.asked.emit(self._entry(index.column())))
        state.changed.connect(self.refresh)
        state.chose.connect(self._follow)
        self.refresh()

    @property
    def is_stale(self) -> bool:
        """Whether what is shown is of an earlier project."""
        return self._state.is_stale

    @property
    def chosen_column(self) -> int:
        """The column of the chosen entry; -1 when it is not shown yet."""
        ranked = self.model_shown.candidates
        return next((i for i, c in enumerate(ranked) if c.index == self._state.chosen), -1)

    def tint(self) -> QColor:
        """The colour behind the chosen candidate."""
        return ink(self.palette()).lit

    def refresh(self) -> None:
        """Show the state's comparison; the cell that has the focus stays the one it was."""
        row = max(self.currentIndex().row(), 0)
        ranked = () if self._state.comparison is None else self._state.comparison.ranked
        self._is_refreshing = True
        self.model_shown.put(ranked)
        line = round(self.fontMetrics().height() * _LINE)
        self.verticalHeader().setMinimumSectionSize(1)  # else the style's own decides
        self.verticalHeader().setDefaultSectionSize(line)
        heads, heavy = self.horizontalHeader(), QFontMetrics(bold(self.font()))
        most = self.fontMetrics().averageCharWidth() * _NAME_CHARS
        for i in range(len(ranked)):
            name = str(self.model_shown.headerData(i, Qt.Orientation.Horizontal))
            wide = min(heavy.horizontalAdvance(name) + 1, most) + 2 * self.space
            heads.resizeSection(i, max(wide, self.sizeHintForColumn(i)))
        if self.chosen_column >= 0:
            self.setCurrentIndex(self.model_shown.index(row, self.chosen_column))
        self._is_refreshing = False
        self.updateGeometry()
        self._bring_in_sight()

    def explanation(self) -> Explanation | None:
        """The sheet for the current cell."""
        index = self.currentIndex()
        if not index.isValid():
            return None
        line, candidate = LINES[index.row()], self.model_shown.candidates[index.column()]
        cell = self.model_shown.cell(index.row(), index.column())
        origin = "Typed, or read from a file." if line.is_size else "Computed with this candidate as the new insert."
        title = f"{candidate.insert.name}: {line.label.lower()} = {cell.text}"
        return Explanation(title, line.meaning, origin, (cell.figures,) if cell.figures else ())

    def sizeHint(self) -> QSize:
        return QSize(self.fontMetrics().averageCharWidth() * 60, self._tall())

    def minimumSizeHint(self) -> QSize:
        # No line is out of sight unless the window is very low: then the table scrolls.
        least = self._tall() - round(self.fontMetrics().height() * _LINE) * _LINES_TO_SPARE
        return QSize(self.fontMetrics().averageCharWidth() * 40, least)

    @property
    def head_height(self) -> int:
        """Height of the line with the names."""
        return round(self.fontMetrics().height() * _LINE) + 2

    def _tall(self) -> int:
        lines = round(self.fontMetrics().height() * _LINE) * len(LINES)
        return self.head_height + lines + self.horizontalScrollBar().sizeHint().height() + 2

    def _entry(self, column: int) -> int:
        return self.model_shown.candidates[column].index

    def _pick(self, column: int) -> None:
        self.setCurrentIndex(self.model_shown.index(max(self.currentIndex().row(), 0), column))
        self.setFocus(Qt.FocusReason.MouseFocusReason)

    def _on_current(self, index: QModelIndex) -> None:
        if index.isValid() and not self._is_refreshing:
            self._state.choose(self._entry(index.column()))
        self.viewport().update()

    def _follow(self, _entry: int) -> None:
        column = self.chosen_column
        if column >= 0 and column != self.currentIndex().column():
            self.setCurrentIndex(self.model_shown.index(max(self.currentIndex().row(), 0), column))
        self._bring_in_sight()

    def _bring_in_sight(self) -> None:
        self.updateGeometries()  # else the scroll bars end where the columns ended before
        if self.currentIndex().isValid():
            self.scrollTo(self.currentIndex())
        self.viewport().update()
        self.horizontalHeader().viewport().update()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.Paint and isinstance(watched, QAbstractButton):
            with QPainter(watched) as painter:  # the corner is paper, not the style's button
                inks = ink(self.palette())
                painter.fillRect(watched.rect(), inks.paper)
                painter.fillRect(0, watched.height() - 1, watched.width(), 1, inks.neutral)
            return True
        return super().eventFilter(watched, event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() in (Qt.Key.Key_Return, Qt.Key.Key_Enter) and self.currentIndex().isValid():
            self.asked.emit(self._entry(self.currentIndex().column()))
        else:
            super().keyPressEvent(event)
