"""The middle of the readings' page: whose readings, the insert with what was read off it, and the table."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QAction
from PySide6.QtWidgets import (
    QHBoxLayout,
    QMenu,
    QPushButton,
    QSizePolicy,
    QSplitter,
    QStackedWidget,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.steps.measure.readings.desk import OWNERS
from app.steps.measure.readings.drawing import InsertDrawing
from app.steps.measure.readings.remarks import Remarks
from app.steps.measure.readings.table import ReadingsView
from app.widgets.labels import QuietLabel, Words
from app.widgets.layouts import bare
from app.widgets.plain import tip
from app.widgets.switch import Switch
from core.aim import aimed
from core.measure.readings.kinds import KIND_WORDS
from core.measure.table import edits as readings_edits

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.steps.measure.readings.desk import Desk
    from core.part.project import Project
    from core.part.readings import ReadingKind

EMPTY: Final = (
    "Nothing is read off the {insert} yet. A table of three samples and the usual readings is a good start: length, "
    "width, jaws at 45°, a width away from the middle, the rim, the free height, and a tape round the outside."
)
_PARTS: Final = (1, 1)


class _Word(QToolButton):
    """A word that does something."""

    def __init__(self, text: str, name: str, parent: QWidget, done: Callable[[], object] | None = None) -> None:
        super().__init__(parent)
        self.setText(text)
        self.setAutoRaise(True)
        self.setAccessibleName(name)
        self.setToolTip(tip(name))
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        if done is not None:
            self.clicked.connect(lambda _checked=False: done())


class ReadingsBoard(QWidget):
    """Drawing and table of one insert's readings, or the offer to start them."""

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self.owners = Switch(OWNERS, "Whose readings", self)
        self.owners.chosen.connect(desk.turn_to)
        self.owners.put(desk.owner)
        self.drawing = InsertDrawing(desk, self)
        self.view = ReadingsView(desk, self)
        self.remarks = Remarks(self.view.table, desk, self)
        self.pages = QStackedWidget(self)
        self._start_page = self._made_start_page()
        self._table_page = self._made_table_page()
        for page in (self._start_page, self._table_page):
            self.pages.addWidget(page)
        self.down = QSplitter(Qt.Orientation.Vertical, self)
        self.down.setChildrenCollapsible(False)
        for part, stretch in zip((self.drawing, self.pages), _PARTS, strict=True):
            self.down.addWidget(part)
            self.down.setStretchFactor(self.down.count() - 1, stretch)
        column = bare(QVBoxLayout(self), 0)
        head = QHBoxLayout()
        side = self.fontMetrics().height() // 2
        head.setContentsMargins(side, side // 2, side, side // 2)
        head.addWidget(self.owners)
        head.addStretch(1)
        column.addLayout(head)
        column.addWidget(self.down, 1)
        desk.session.changed.connect(self._refresh)
        desk.turned.connect(self._refresh)
        self.view.selectionModel().currentChanged.connect(self._tend)
        self._refresh()

    def minimumSizeHint(self) -> QSize:
        line = self.fontMetrics().height()
        return QSize(22 * line, super().minimumSizeHint().height())

    # Its two pages

    def _made_start_page(self) -> QWidget:
        page = QWidget(self)
        self.offer = Words("", page)
        self.start_button = QPushButton("Start a table", page)
        self.start_button.clicked.connect(lambda _checked=False: self._start())
        self.start_button.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        note = QuietLabel(
            "All of it can be changed: rows and samples are added and removed as you like.", page, wrap=True
        )
        column = QVBoxLayout(page)
        space = self.fontMetrics().height()
        column.setContentsMargins(space, space, space, space)
        for widget in (self.offer, self.start_button, note):
            column.addWidget(widget)
        column.addStretch(1)
        return page

    def _made_table_page(self) -> QWidget:
        page = QWidget(self)
        self.add_button = _Word("Add a reading", "Add a reading", page)
        self.add_button.setPopupMode(QToolButton.ToolButtonPopupMode.InstantPopup)
        self.kinds = QMenu(self.add_button)
        for kind, known in KIND_WORDS.items():
            action = QAction(known.menu, self.kinds)
            action.setToolTip(known.how)
            action.triggered.connect(lambda _checked=False, k=kind: self.add(k))
            self.kinds.addAction(action)
        self.kinds.setToolTipsVisible(True)
        self.add_button.setMenu(self.kinds)
        self.remove_button = _Word("Remove", "Remove the reading of the current row", page, self._remove)
        self.add_sample = _Word("Add", "Add a sample", page, self._add_sample)
        self.rename_sample = _Word("Rename", "Rename the current sample", page, self._rename)
        self.remove_sample = _Word("Remove", "Remove the current sample and its readings", page, self._remove_sample)
        words = QHBoxLayout()
        side = self.fontMetrics().height() // 4
        words.setContentsMargins(side, side // 2, side, 0)
        words.setSpacing(0)
        words.addWidget(self.add_button)
        words.addWidget(self.remove_button)
        words.addStretch(1)
        head = QuietLabel("Sample:", page)
        head.setContentsMargins(0, 0, side, 0)
        for widget in (head, self.add_sample, self.rename_sample, self.remove_sample):
            words.addWidget(widget)
        column = bare(QVBoxLayout(page), 0)
        column.addWidget(self.view, 1)
        column.addWidget(self.remarks)
        column.addLayout(words)
        return page

    # What its words do

    def add(self, kind: ReadingKind) -> None:
        """Add a row of a kind and go to its first cell that has to be filled in."""
        owner, row = self._desk.owner, readings_edits.new_row(kind)
        name = KIND_WORDS[kind].menu
        if self._desk.change(f"reading added, {name.lower()}", lambda p: readings_edits.with_row(p, owner, row)):
            self.view.reach(self._desk.rows_wanted - 1)

    def _start(self) -> None:
        owner = self._desk.owner
        if self._desk.change("table of readings", lambda p: readings_edits.started(p, owner)):
            self.view.reach(0)

    def _remove(self) -> None:
        owner, row, seen = self._desk.owner, self.view.currentIndex().row(), self._desk.session.project

        def removed(project: Project) -> Project:
            path = aimed(f"{owner}.readings.rows[{row}]", seen, project)
            return readings_edits.without_row(project, owner, int(path[path.rindex("[") + 1 : -1]))

        self._desk.change("reading removed", removed)

    def _add_sample(self) -> None:
        owner = self._desk.owner
        self._desk.change("sample added", lambda p: readings_edits.with_sample(p, owner))

    def _rename(self) -> None:
        self.view.rename(self.view.currentIndex().column())

    def _remove_sample(self) -> None:
        owner, sample = self._desk.owner, self.view.current_sample
        assert sample is not None
        self._desk.change("sample removed", lambda p: readings_edits.without_sample(p, owner, sample))

    # What it shows

    def _refresh(self) -> None:
        readings = self._desk.readings
        is_empty = not readings.rows and not readings.samples
        self.offer.setText(EMPTY.format(insert=self._desk.spoken))
        self.pages.setCurrentWidget(self._start_page if is_empty else self._table_page)
        self.owners.put(self._desk.owner)
        self._tend()

    def _tend(self) -> None:
        """Words that have nothing to work on are grey."""
        has_row, has_sample = self.view.currentIndex().isValid(), self.view.current_sample is not None
        self.remove_button.setEnabled(has_row)
        self.rename_sample.setEnabled(has_sample)
        self.remove_sample.setEnabled(has_sample)
