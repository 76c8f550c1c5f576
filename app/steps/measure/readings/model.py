"""The readings as a table for Qt: a row a reading, a column a sample, and what follows from them at the right."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QAbstractTableModel, QModelIndex, QPersistentModelIndex, Qt

from app.widgets.plain import tip
from core.measure.readings.kinds import (
    INSTRUMENT_WORDS,
    KIND_WORDS,
    choices_of,
    figure_edit_text,
    figure_text,
    lack_word,
    row_name,
)
from core.measure.table import edits as readings_edits
from core.measure.table.columns import (
    AFTER,
    BEFORE,
    FIRST_SAMPLE,
    HEAD_TIPS,
    HEADS,
    TYPED,
    CellChange,
    Column,
    Mark,
)
from core.part.readings import ReadingKind, Readings
from core.words.lengths import edit_text

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.steps.measure.readings.desk import Desk
    from core.measure.readings.results import RowStudy
    from core.part.readings import Reading

Index = QModelIndex | QPersistentModelIndex
MARK_ROLE: Final = Qt.ItemDataRole.UserRole
CHOICES_ROLE: Final = Qt.ItemDataRole.UserRole + 1


class ReadingsModel(QAbstractTableModel):
    """The owner's readings, edited through the session; a refused text stays in its cell with its reason."""

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._desk = desk
        self._readings = desk.readings
        self._style = desk.session.project.style
        self._told = desk.study
        self._typed: dict[str, str] = {}  # by path, until it is made: a slow model is computed beside the window
        self._refused: dict[str, tuple[str, str]] = {}  # by path: text and reason
        desk.session.changed.connect(self._changed)
        desk.session.refused.connect(self._on_refused)
        desk.turned.connect(self._turn)
        desk.compared.connect(self._tell_all)

    # What is shown

    @property
    def readings(self) -> Readings:
        """The readings as they are shown."""
        return self._readings

    def rowCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's name and default
        return 0 if parent.isValid() else len(self._readings.rows)

    def columnCount(self, parent: Index = QModelIndex()) -> int:  # noqa: B008 - Qt's name and default
        return 0 if parent.isValid() else len(BEFORE) + len(self._readings.samples) + len(AFTER)

    def column(self, number: int) -> Column:
        """What a column holds."""
        if number < FIRST_SAMPLE:
            return BEFORE[number]
        past = number - FIRST_SAMPLE - len(self._readings.samples)
        return Column.SAMPLE if past < 0 else AFTER[past]

    def sample(self, number: int) -> int | None:
        """The sample of a column."""
        return number - FIRST_SAMPLE if self.column(number) is Column.SAMPLE else None

    def headerData(self, section: int, orientation: Qt.Orientation, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        is_level = orientation is Qt.Orientation.Horizontal
        if role == Qt.ItemDataRole.DisplayRole:
            return self._head(section) if is_level else str(section + 1)
        if role == Qt.ItemDataRole.TextAlignmentRole and is_level:
            return alignment(self.column(section))
        if role == Qt.ItemDataRole.ToolTipRole and is_level:
            column = self.column(section)
            if column is Column.SAMPLE:
                return tip(f"Sample {self._readings.samples[section - FIRST_SAMPLE]}: double-click to rename it.")
            if column is Column.OFF:
                return "Mean as read, less what the chosen shape would read there."
            return HEAD_TIPS.get(column)
        return None

    def data(self, index: Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        if not index.isValid() or index.row() >= len(self._readings.rows):
            return None
        row, column = self._readings.rows[index.row()], self.column(index.column())
        answers: dict[int, Callable[[], object]] = {
            Qt.ItemDataRole.DisplayRole: lambda: self._shown(index, row, column),
            Qt.ItemDataRole.EditRole: lambda: self._edited(index, row, column),
            Qt.ItemDataRole.ToolTipRole: lambda: tip(self._tip(index, row, column)),
            Qt.ItemDataRole.AccessibleTextRole: lambda: self._aloud(index, row, column),
            Qt.ItemDataRole.TextAlignmentRole: lambda: alignment(column),
            MARK_ROLE: lambda: self._mark(index, column),
            CHOICES_ROLE: lambda: choices_of(self._field(row, column)),
        }
        answer = answers.get(role)
        return None if answer is None else answer()

    def flags(self, index: Index) -> Qt.ItemFlag:
        if not index.isValid():
            return Qt.ItemFlag.NoItemFlags
        flags = Qt.ItemFlag.ItemIsEnabled | Qt.ItemFlag.ItemIsSelectable
        return flags | Qt.ItemFlag.ItemIsEditable if self.is_typed(index.row(), index.column()) else flags

    def is_typed(self, row: int, column: int) -> bool:
        """Whether a cell is filled in by the user."""
        kind = self.column(column)
        return kind in TYPED and (kind is not Column.FIGURE or bool(KIND_WORDS[self._readings.rows[row].kind].field))

    def study(self, row: int) -> RowStudy | None:
        """What follows from a row."""
        return next((r for r in self._desk.study.rows if r.row == row), None)

    def off(self, row: int) -> float | None:
        """How far a row's mean lies from what the chosen shape reads there [mm]."""
        fit = self._desk.fit
        return None if fit is None else next((r.off for r in fit.residuals if r.row == row), None)

    def is_far_off(self, row: int, times: float) -> bool:
        """Whether a row's mean lies further off the chosen shape than so many standard uncertainties."""
        fit = self._desk.fit
        found = None if fit is None else next((r for r in fit.residuals if r.row == row), None)
        return found is not None and abs(found.off) > times * found.standard

    def reasons(self) -> tuple[str, ...]:
        """Why texts were refused, each with its row."""
        return tuple(
            f"{row_name(row, self._style).capitalize()}: {self._refused[path][1]}"
            for number, row in enumerate(self._readings.rows)
            for path in self._paths(number)
            if path in self._refused
        )

    def path(self, index: Index) -> str:
        """The project's path of a cell; empty for what only follows."""
        column = self.column(index.column())
        row = readings_edits.row_path(self._desk.owner, index.row())
        if column is Column.SAMPLE:
            return readings_edits.value_path(self._desk.owner, index.row(), index.column() - FIRST_SAMPLE)
        field = self._field(self._readings.rows[index.row()], column)
        return f"{row}.{field}" if field else ""

    def _paths(self, number: int) -> list[str]:
        return [self.path(self.index(number, column)) for column in range(self.columnCount())]

    @staticmethod
    def _field(row: Reading, column: Column) -> str:
        fields = {Column.PLACE: "place", Column.INSTRUMENT: "instrument", Column.FIGURE: KIND_WORDS[row.kind].field}
        return fields.get(column, "")

    def _head(self, section: int) -> str:
        sample = self.sample(section)
        return HEADS[self.column(section)] if sample is None else self._readings.samples[sample]

    def _value(self, index: Index, row: Reading) -> float | None:
        sample = index.column() - FIRST_SAMPLE
        return row.values[sample] if sample < len(row.values) else None

    def _shown(self, index: Index, row: Reading, column: Column) -> str:
        path = self.path(index)
        if refused := self._refused.get(path):
            return refused[0]
        if path in self._typed:
            return self._typed[path]
        if column is Column.SAMPLE:
            value = self._value(index, row)
            return "" if value is None else self._desk.session.show_figure(value)
        study = self.study(index.row())
        if column in AFTER and column is not Column.INSTRUMENT:
            return "" if study is None else self._following(column, index.row(), study)
        is_free = row.kind is ReadingKind.HEIGHT and not row.weight
        lack = "" if study is None else study.lacks
        return {
            Column.WHAT: "Free height" if is_free else KIND_WORDS[row.kind].name,
            Column.FIGURE: lack_word(row, lack) if lack else figure_text(row, self._style),
            Column.PLACE: row.place,
            Column.INSTRUMENT: INSTRUMENT_WORDS[row.instrument],
        }[column]

    def _following(self, column: Column, number: int, study: RowStudy) -> str:
        """What follows from a row: mean, half width, how far it is off the shape."""
        if column is Column.OFF:
            off = self.off(number)
            return "" if off is None else self._signed(off)
        if column is Column.MEAN:
            return "" if study.mean is None else self._desk.session.show_figure(study.mean)
        half = None if study.estimate is None else study.estimate.next_one
        return "" if half is None else self._desk.show_spread(half, with_unit=False)

    def _aloud(self, index: Index, row: Reading, column: Column) -> str:
        name, head = row_name(row, self._style), self._head(index.column())
        return f"{name}, {head}: {self._shown(index, row, column) or 'empty'}"

    def _signed(self, mm: float) -> str:
        text = self._desk.show_spread(mm, with_unit=False)
        return f"+{text}" if mm > 0.0 and text.strip("0.") else text

    def _edited(self, index: Index, row: Reading, column: Column) -> str:
        if refused := self._refused.get(self.path(index)):
            return refused[0]
        match column:
            case Column.FIGURE:
                return figure_edit_text(row, self._style)
            case Column.PLACE:
                return row.place
            case Column.INSTRUMENT:
                return str(row.instrument)
            case Column.SAMPLE:
                value = self._value(index, row)
                return "" if value is None else edit_text(value, self._style)
        return ""

    def _mark(self, index: Index, column: Column) -> Mark:
        study = self._desk.study
        sample = self.sample(index.column())
        outlier = next((o for o in study.outliers if o.row == index.row() and o.sample == sample), None)
        own = self.study(index.row()) if column is Column.FIGURE else None
        return Mark(self.path(index) in self._refused, own is not None and bool(own.lacks), outlier)

    def _tip(self, index: Index, row: Reading, column: Column) -> str:
        mark = self._mark(index, column)
        if refused := self._refused.get(self.path(index)):
            return refused[1]
        if mark.outlier is not None:
            return mark.outlier.reason.show(self._desk.session.show_length)
        if column in (Column.WHAT, Column.FIGURE):
            return KIND_WORDS[row.kind].how
        return row.place if column is Column.PLACE else ""

    # What is typed

    def setData(self, index: Index, value: object, role: int = Qt.ItemDataRole.EditRole) -> bool:
        if role != Qt.ItemDataRole.EditRole or not index.isValid():
            return False
        path, text = self.path(index), str(value)
        was_refused = self._refused.pop(path, None)
        row, column = self._readings.rows[index.row()], self.column(index.column())
        if text == self._edited(index, row, column):
            self._tell_all()
            return True
        self._typed[path] = text
        what = f"{row_name(row, self._style)}, {self._head(index.column())}"
        taken = self._desk.change(what, self._change(index, column, text), path=path)
        if not self._desk.session.is_busy:
            self._typed.pop(path, None)
        if taken or was_refused:
            self._tell_all()
        return taken

    def give_back(self, index: Index) -> bool:
        """Forget a refused text; whether there was one."""
        found = self._refused.pop(self.path(index), None) is not None
        if found:
            self._tell_all()
        return found

    def _change(self, index: Index, column: Column, text: str) -> CellChange:
        owner, row = self._desk.owner, index.row()
        return CellChange(owner, row, column, index.column() - FIRST_SAMPLE, text)

    def _on_refused(self, path: str, message: str) -> None:
        text = self._typed.pop(path, None)
        if text is not None:
            self._refused[path] = (text, message)
            self._tell_all()

    # What the session says

    def _changed(self) -> None:
        now, style = self._desk.readings, self._desk.session.project.style
        was_waiting = bool(self._typed)
        self._typed.clear()  # those that still wait are in the newest project, which is shown next
        is_same = (len(now.rows), now.samples) == (len(self._readings.rows), self._readings.samples)
        if now == self._readings and style is self._style:
            if was_waiting or self._desk.study is not self._told:  # another family, as typed in elsewhere
                self._tell_all()
        elif is_same and [r.kind for r in now.rows] == [r.kind for r in self._readings.rows]:
            self._readings, self._style = now, style
            self._tell_all()
        else:
            self._reset()

    def _turn(self) -> None:
        self._reset()

    def _reset(self) -> None:
        self.beginResetModel()
        self._readings, self._style = self._desk.readings, self._desk.session.project.style
        self._told = self._desk.study
        self._typed.clear()
        self._refused.clear()
        self.endResetModel()

    def _tell_all(self) -> None:
        self._told = self._desk.study
        if self._readings.rows:
            self.dataChanged.emit(self.index(0, 0), self.index(self.rowCount() - 1, self.columnCount() - 1))


def alignment(column: Column) -> Qt.AlignmentFlag:
    """Words to the left, figures to the right."""
    is_text = column in (Column.WHAT, Column.PLACE, Column.INSTRUMENT)
    side = Qt.AlignmentFlag.AlignLeft if is_text else Qt.AlignmentFlag.AlignRight
    return side | Qt.AlignmentFlag.AlignVCenter
