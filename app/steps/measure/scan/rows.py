"""Rows of the scan's form: a label, an entry and its unit; a choice of an edge; a button that waits for a click."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QComboBox, QGridLayout, QHBoxLayout, QLabel, QPushButton, QSizePolicy, QWidget

from app.steps.measure.scan.entry import Figure, entry_source
from app.widgets.fields import PageField
from app.widgets.forms import QuietLabel, Refusal
from core.words.lengths import unit_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from PySide6.QtGui import QWheelEvent

    from app.session.session import Session
    from app.steps.measure.scan.model import ScanModel
    from core.measure.scan.state import Pick


class Choice(QComboBox):
    """A few words to choose from; the wheel scrolls the form instead.

    Attributes:
        taken: data of the word that the user chose.
    """

    taken = Signal(object)

    def __init__(self, name: str, words: Sequence[tuple[object, str]], parent: QWidget) -> None:
        super().__init__(parent)
        self.setAccessibleName(name)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.setMinimumContentsLength(8)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self._data: list[object] = []
        self.fill(words)
        self.activated.connect(lambda index: self.taken.emit(self._data[index]))

    @property
    def data(self) -> tuple[object, ...]:
        """What each word stands for, in order."""
        return tuple(self._data)

    def fill(self, words: Sequence[tuple[object, str]]) -> None:
        """Put other words in; none of them is chosen."""
        self.clear()
        # Not as Qt's own data, which hands out the bare text of an enumeration.
        self._data = [data for data, _ in words]
        self.addItems([text for _, text in words])
        self.setCurrentIndex(-1)

    def put(self, data: object) -> None:
        """Show a word as chosen, without telling anyone."""
        self.setCurrentIndex(self._data.index(data) if data in self._data else -1)

    def wheelEvent(self, event: QWheelEvent) -> None:
        event.ignore()


class PickButton(QPushButton):
    """A button that stays down while a click in the picture is waited for; pressed again, or Escape, gives up."""

    def __init__(self, text: str, pick: Pick, model: ScanModel, parent: QWidget) -> None:
        super().__init__(text, parent)
        self._pick, self._model = pick, model
        self.setCheckable(True)
        self.setAutoDefault(False)
        self.clicked.connect(self._clicked)

    def show_state(self) -> None:
        """Be down while the picture waits for this."""
        self.setChecked(self._model.state.pick is self._pick)
        self.setEnabled(self._model.state.opened is not None)

    def _clicked(self) -> None:
        self._model.ask_for_pick(self._pick)


class EdgeChoice(Choice):
    """One of the edges found, told by its size in pixels, for those who don't click."""

    def __init__(self, name: str, pick: Pick, model: ScanModel, parent: QWidget) -> None:
        super().__init__(name, (), parent)
        self._pick, self._model = pick, model
        self._shown: object = None
        self.taken.connect(lambda index: model.pick_edge(pick, index))

    def show_state(self) -> None:
        """List the edges there are now."""
        state, choices = self._model.state, self._model.choices(self._pick)
        shown = (state.opened, state.edges, choices)
        if self._shown != shown:
            self._shown = shown
            words: list[tuple[object, str]] = []
            for number, index in enumerate(choices, 1):
                size = np.ptp(state.edges[index].points, axis=0)
                words.append((index, f"{number}: {size[0]:.0f} × {size[1]:.0f} px"))
            self.fill(words)
            self.setPlaceholderText("none yet" if choices or state.opened is None else "none found")
        self.put(state.picked_index(self._pick))
        self.setEnabled(bool(choices))


class Rows(QWidget):
    """Rows one below the other, each with a label; lengths carry the project's unit."""

    def __init__(self, session: Session, parent: QWidget) -> None:
        super().__init__(parent)
        self._session = session
        self._units: list[QLabel] = []
        self._row = 0
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        space = self.fontMetrics().height() // 3
        self._grid.setHorizontalSpacing(space * 2)
        self._grid.setVerticalSpacing(space)
        self._grid.setColumnStretch(3, 1)
        session.changed.connect(self._show_units)

    def line_up(self, labels: Sequence[str]) -> None:
        """Let the fields begin behind the widest of these labels, as those of the rows around do."""
        self._grid.setColumnMinimumWidth(0, max(self.fontMetrics().horizontalAdvance(label) for label in labels))

    def entry(
        self, label: str, meaning: str, figure: Figure, more: QWidget | None = None, *, is_needed: bool = False
    ) -> PageField:
        """A row for a figure, with another widget behind its unit."""
        made = PageField(entry_source(self._session, (label, meaning), figure, self, is_needed=is_needed), self)
        name = QLabel(label, self)
        name.setBuddy(made)
        name.setToolTip(meaning)
        unit = QuietLabel("", self)
        if figure is not Figure.DOTS:
            self._units.append(unit)
            self._show_units()
        self._grid.addWidget(name, self._row, 0)
        self._grid.addWidget(made, self._row, 1)
        self._grid.addWidget(unit, self._row, 2)
        if more is not None:
            self._grid.addWidget(more, self._row, 3, Qt.AlignmentFlag.AlignLeft)
            QWidget.setTabOrder(made, more)
        refusal = Refusal(self)
        made.told.connect(refusal.tell)
        self._grid.addWidget(refusal, self._row + 1, 0, 1, 4)
        self._row += 2
        return made

    def named(self, label: str, *widgets: QWidget) -> None:
        """A row with a label and one or more other widgets."""
        if label:
            name = QLabel(label, self)
            name.setBuddy(widgets[0])
            self._grid.addWidget(name, self._row, 0)
        line = QHBoxLayout()
        line.setContentsMargins(0, 0, 0, 0)
        for widget in widgets:
            line.addWidget(widget)
        if not any(widget.sizePolicy().horizontalPolicy() is QSizePolicy.Policy.Expanding for widget in widgets):
            line.addStretch(1)
        self._grid.addLayout(line, self._row, 1 if label else 0, 1, 3 if label else 4)
        self._row += 1

    def wide(self, widget: QWidget) -> None:
        """A row of its own."""
        self._grid.addWidget(widget, self._row, 0, 1, 4)
        self._row += 1

    def _show_units(self) -> None:
        for unit in self._units:
            unit.setText(str(unit_of(self._session.project.style)))
