"""Rows that read like a sentence in the shop: label, field, unit; refusals beside their field."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QLabel, QSizePolicy, QWidget

from app.widgets.choice_field import ChoiceField
from app.widgets.fields import TextField
from app.widgets.labels import Heading, QuietLabel, Refusal
from app.widgets.layouts import bare
from app.widgets.notes_field import NotesField
from app.widgets.plain import tip
from app.widgets.switch import SwitchField

if TYPE_CHECKING:
    from collections.abc import Sequence

    from app.widgets.source import Source

FieldWidget = TextField | ChoiceField | SwitchField | NotesField


class Grid(QWidget):
    """Rows one below the other; their fields begin in one column."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._fields: list[FieldWidget] = []
        self._units: list[tuple[QLabel, Source]] = []
        self._row = 0
        self._grid = QGridLayout(self)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Preferred)
        self._grid.setContentsMargins(0, 0, 0, 0)
        space = self.fontMetrics().height() // 3
        self._grid.setHorizontalSpacing(space * 2)
        self._grid.setVerticalSpacing(space)
        self._grid.setColumnStretch(3, 1)

    def heading(self, text: str) -> None:
        """A head over the rows that follow."""
        self.widget(Heading(text, self))

    def note(self, text: str) -> QuietLabel:
        """A quiet sentence."""
        label = QuietLabel(text, self, wrap=True)
        self.widget(label)
        return label

    def row(
        self,
        field: FieldWidget,
        *,
        label: str = "",
        span: int = 1,
        has_unit: bool = True,
        more: QWidget | None = None,
    ) -> None:
        """A row with a field that is made already, over ``span`` columns, and ``more`` behind its unit."""
        self._label(label or field.source.label, field)
        if not isinstance(field, TextField):
            self._grid.addWidget(field, self._row, 1, 1, 3, Qt.AlignmentFlag.AlignLeft)
        else:
            self._grid.addWidget(field, self._row, 1, 1, span)  # so that fields over one another have one edge
            if has_unit:
                self._unit(field.source, 1 + span, 1 if more is not None else 3 - span)
        if more is not None:
            self._grid.addWidget(more, self._row, 3, Qt.AlignmentFlag.AlignLeft)
            QWidget.setTabOrder(field, more)
        self._refusals(field)
        self._keep(field)

    def line(self, label: str, *widgets: QWidget) -> None:
        """A row with a label, or without, and any other widgets."""
        if label:
            self._label(label, widgets[0])
        line = bare(QHBoxLayout())
        for widget in widgets:
            line.addWidget(widget)
        if not any(widget.sizePolicy().horizontalPolicy() is QSizePolicy.Policy.Expanding for widget in widgets):
            line.addStretch(1)
        self._grid.addLayout(line, self._row, 1 if label else 0, 1, 3 if label else 4)
        self._row += 1

    def widget(self, widget: QWidget) -> None:
        """A row of its own for any other widget."""
        self._grid.addWidget(widget, self._row, 0, 1, 4)
        self._row += 1

    def says(self, text: str, meaning: str) -> None:
        """A row without a field: a word, and what is said of it."""
        label, words = QLabel(text, self), QuietLabel(meaning, self, wrap=True)
        label.setAlignment(Qt.AlignmentFlag.AlignTop)
        self._grid.addWidget(label, self._row, 0)
        self._grid.addWidget(words, self._row, 1, 1, 4)
        self._row += 1

    def columns(self, *texts: str) -> None:
        """Quiet heads over the columns of the rows that follow, from the first field on."""
        for i, text in enumerate(texts):
            label = QuietLabel(text, self)
            label.setAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignBottom)
            self._grid.addWidget(label, self._row, 1 + i)
        self._row += 1

    def set_margin(self, left: int) -> None:
        """Indent the rows."""
        self._grid.setContentsMargins(left, 0, 0, 0)

    def line_up(self, labels: Sequence[str]) -> None:
        """Let the fields begin behind the widest of these labels, as those of the rows around do."""
        self._grid.setColumnMinimumWidth(0, max(self.fontMetrics().horizontalAdvance(label) for label in labels))

    def show_units(self) -> None:
        """Show the units anew, of lengths that are shown otherwise."""
        for label, source in self._units:
            label.setText(source.unit())

    # What rows are made of

    def _label(self, text: str, buddy: QWidget) -> QLabel:
        label = QLabel(text, self)
        label.setBuddy(buddy)
        label.setToolTip(tip(buddy.accessibleDescription()))
        self._grid.addWidget(label, self._row, 0)
        return label

    def _unit(self, source: Source, column: int, span: int = 1) -> QLabel:
        label = QuietLabel(source.unit(), self)
        self._units.append((label, source))
        self._grid.addWidget(label, self._row, column, 1, span)
        return label

    def _refusals(self, *fields: FieldWidget) -> None:
        self._row += 1
        for field in fields:
            refusal = Refusal(self)
            field.told.connect(refusal.tell)
            self.widget(refusal)

    def _keep(self, *fields: FieldWidget) -> None:
        self._fields += fields
