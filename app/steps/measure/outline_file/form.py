"""The form of the outline file: open it, say in which unit and how closely it is looked at, and what each loop is."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QHBoxLayout,
    QLabel,
    QProgressBar,
    QPushButton,
    QSizePolicy,
    QWidget,
)

from app.steps.measure.outline_file.lists import FaultList, LoopList
from app.steps.measure.outline_file.part import PartForm
from app.steps.measure.outline_file.take import TakeForm
from app.steps.step import Page
from app.widgets.choice_field import ChoiceField
from app.widgets.fields import TextField
from app.widgets.folds import Fold
from app.widgets.grid import Grid
from app.widgets.labels import Heading, QuietLabel, Refusal
from app.widgets.plain import tip
from app.widgets.source import FigureOfPage, OfPage
from app.widgets.switch import SwitchField
from core.measure.drawing.remarks import RemarkKind
from core.measure.drawing.results import JOIN_MM, SHAPE_MM, DrawingUnit, Fault, Role
from core.measure.drawing.words import ROLES, UNITS, fault_counts, size_words, unit_words
from core.words.errors import UserError
from core.words.lengths import parse_length, unit_of

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.session.session import Session
    from app.steps.measure.outline_file.draft import PartDraft
    from app.steps.measure.outline_file.state import OpenDrawing
    from core.words.lengths import Style

MOST_JOIN_MM: Final = 5.0
"""Farther apart, ends belong to different things. Common practice, no source."""
MOST_SHAPE_MM: Final = 2.0
"""Farther off, a loop is no such oval in any shop. Common practice, no source."""
_DIGITS: Final = 3
_JOIN: Final = "Ends no further apart are joined: lines and arcs are lengthened to where they meet."
_SHAPE: Final = "This says how far an outline may be off an oval that stands for it."
LEAST_MM: Final = 1e-4
"""Closer than this, every file's own rounding counts. Common practice, no source."""


class DrawingForm(Page):
    """The narrow column beside the outline file.

    Attributes:
        open_asked: the user wants to look for a file.
        part_wanted: the user wants the part that the drawing becomes.
    """

    title = "Outline file"
    open_asked = Signal()
    part_wanted = Signal()

    def __init__(
        self, session: Session | None, state: OpenDrawing, draft: PartDraft, parent: QWidget | None = None
    ) -> None:
        """The form; without a session, as on the start page, only a new part can be made."""
        super().__init__(parent)
        self._state = state
        self._file_part()
        self._look_part()
        self._fault_part()
        self._loop_part()
        self.take = None if session is None else TakeForm(session, state, draft, self)
        if self.take is not None:
            self.column.addWidget(self.take)
        self.part = PartForm(draft, self, has_style=session is None)
        self.part.wanted.connect(self.part_wanted)
        self.column.addWidget(self.part)
        self.column.addStretch(1)
        state.changed.connect(self._refresh)
        state.chosen_changed.connect(self._refresh_chosen)
        state.busy_changed.connect(self._refresh_busy)
        state.progressed.connect(lambda part: self.progress.setValue(round(100 * part)))
        state.refused.connect(self.refusal.tell)
        self._refresh()
        self._refresh_busy()

    def minimumSizeHint(self) -> QSize:
        # As wide from the start as it becomes with a file, so that the board beside it does not jump.
        hint = super().minimumSizeHint()
        return QSize(max(hint.width(), self._look.minimumSizeHint().width()), hint.height())

    # Building

    def _file_part(self) -> None:
        self.column.addWidget(Heading("An old outline, from its file", self))
        self.about = QuietLabel(
            "DXF, or a text file with one point x, y a line. What is drawn there becomes the insert's oval, or a whole "
            "new part.",
            self,
            wrap=True,
        )
        self.column.addWidget(self.about)
        self.open_button = QPushButton("Open an outline file …", self)
        self.open_button.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
        self.open_button.clicked.connect(self.open_asked)
        self.stop_button = QPushButton("Stop", self)
        self.stop_button.setSizePolicy(QSizePolicy.Policy.Maximum, QSizePolicy.Policy.Fixed)
        self.stop_button.clicked.connect(self._state.stop)
        row = QHBoxLayout()
        row.setContentsMargins(0, self._gap, 0, self._gap)
        row.addWidget(self.open_button)
        row.addWidget(self.stop_button)
        row.addStretch(1)
        self.column.addLayout(row)
        self.progress = QProgressBar(self)
        self.progress.setRange(0, 100)
        self.progress.setAccessibleName("How far the file is read")
        self.column.addWidget(self.progress)
        self.refusal = Refusal(self)
        self.column.addWidget(self.refusal)

    @property
    def _gap(self) -> int:
        return self.fontMetrics().height() // 3

    def _look_part(self) -> None:
        look = self._look = Grid(self)
        self.file_name = QLabel("", look)
        self.file_name.setTextFormat(Qt.TextFormat.PlainText)
        self.file_name.setWordWrap(True)
        self.file_name.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        self.overall = QLabel("", look)
        self._unit = OfPage(("One unit of the file is", ""), look)
        self._unit.taken.connect(lambda key: self._state.set_unit(DrawingUnit(key)))
        self.unit = SwitchField(self._unit, list(UNITS.items()), look)
        look.line("File", self.file_name)
        look.line("Its unit", self.unit)
        self.unit_note = look.note("")
        look.line("Overall", self.overall)
        self._join, self.join = self._tolerance("Join ends within", _JOIN, self._check_join, self._state.set_join)
        self._shape, self.shape = self._tolerance(
            "An oval when within", _SHAPE, self._check_shape, self._state.set_tolerance
        )
        self.remarks = QuietLabel("", self, wrap=True)
        self.remarks.setTextFormat(Qt.TextFormat.PlainText)
        self.remarks_fold = Fold("What was left out, or read otherwise", self.remarks, self)
        self.column.addWidget(self._look)
        self.column.addWidget(self.remarks_fold)

    def _fault_part(self) -> None:
        self._fault_head = Heading("Where lines do not meet", self)
        self.fault_count = QuietLabel("", self, wrap=True)
        self.faults = FaultList(self._state, self)
        for widget in (self._fault_head, self.fault_count, self.faults):
            self.column.addWidget(widget)

    def _loop_part(self) -> None:
        self._loop_head = Heading("What each outline is", self)
        self.loops = LoopList(self._state, self)
        self._role_row = QWidget(self)
        row = QHBoxLayout(self._role_row)
        row.setContentsMargins(0, self._gap, 0, 0)
        self._role_label = QLabel("", self._role_row)
        self._role = OfPage(("Outline", ""), self)
        self._role.taken.connect(self._role_chosen)
        self.role = ChoiceField(self._role, list(ROLES.items()), self._role_row)
        self._role_label.setBuddy(self.role)
        self.loops.asked.connect(lambda _: self.role.setFocus(Qt.FocusReason.OtherFocusReason))
        row.addWidget(self._role_label)
        row.addWidget(self.role, 1)
        self.exaggerate = QCheckBox("Draw larger how far it is off", self)
        self.exaggerate.toggled.connect(self._state.exaggerate)
        for widget in (self._loop_head, self.loops, self._role_row, self.exaggerate):
            self.column.addWidget(widget)

    # Showing

    def _refresh(self) -> None:
        state, looked = self._state, self._state.looked
        self.about.setVisible(looked is None)
        self._look.setVisible(looked is not None)
        self.remarks_fold.setVisible(False)
        has_loops = bool(state.loops)
        for part in (self._loop_head, self.loops):
            part.setVisible(has_loops)
        if self.take is not None:
            self.take.setVisible(has_loops)
        self.part.setVisible(has_loops)
        if looked is not None:
            self._refresh_look()
        counts = fault_counts(state.troubles)
        self._fault_head.setVisible(looked is not None and looked.sorted is not None)
        self.fault_count.setVisible(looked is not None and looked.sorted is not None)
        self.fault_count.setText(f"{counts}." if counts else "They meet everywhere.")
        self.faults.setVisible(bool(state.troubles))
        if looked is not None and looked.sorted is not None and not has_loops:
            ends = any(t.fault is Fault.OPEN_END for t in state.troubles)
            self.refusal.tell(
                "No line of this file closes to an outline. "
                + ("Join ends that lie further apart, above." if ends else "Choose another file.")
            )
        self._refresh_chosen()

    def _refresh_look(self) -> None:
        state, looked = self._state, self._state.looked
        assert looked is not None
        self.file_name.setText(looked.path.name)
        self.file_name.setToolTip(tip(str(looked.path)))
        self._unit.set(looked.unit.value)
        said: dict[bool, list[str]] = {True: [], False: []}
        for remark in looked.remarks:
            said[remark.kind == RemarkKind.UNIT].append(remark.words.show(state.show_length))
        self.unit_note.setText(" ".join((unit_words(looked.drawing.unit, looked.unit), *said[True])))
        self.overall.setText(size_words(*looked.size, state.show_length))
        self._join.set(looked.join)
        self._shape.set(looked.tolerance)
        self._look.show_units()
        self.remarks.setText("\n".join(said[False]))
        self.remarks_fold.setVisible(bool(said[False]))

    def _refresh_chosen(self) -> None:
        loop = self._state.chosen_loop
        self._role_row.setVisible(loop is not None)
        self.exaggerate.setVisible(loop is not None and self._state.recovered(loop.number) is not None)
        if loop is not None:
            self._role_label.setText(f"Outline {loop.number} is")
            self.role.setAccessibleName(f"Outline {loop.number} is")
            self._role.set(self._state.role(loop.number))

    def _refresh_busy(self, *_: object) -> None:
        is_busy = self._state.is_busy
        self.open_button.setEnabled(not is_busy)
        self.stop_button.setVisible(is_busy)
        self.progress.setVisible(is_busy)
        if not is_busy:
            self.progress.setValue(0)

    def _role_chosen(self, role: Role) -> None:
        if self._state.chosen is not None:
            self._state.set_role(self._state.chosen, role)

    def _check_join(self, mm: float) -> None:
        self._checked(mm, MOST_JOIN_MM, f"what rounding leaves is about {self._state.show_length(JOIN_MM)}")

    def _check_shape(self, mm: float) -> None:
        self._checked(mm, MOST_SHAPE_MM, f"{self._state.show_length(SHAPE_MM)} is usual")

    def _checked(self, mm: float, most: float, usual: str) -> None:
        if not LEAST_MM <= mm <= most:
            show = self._state.show_length
            raise UserError("length", f"give a length over 0, up to {show(most)}; {usual}")

    def _tolerance(
        self, name: str, meaning: str, check: Callable[[float], None], put: Callable[[float], None]
    ) -> tuple[FigureOfPage, TextField]:
        """A length that counts when its typing is over: what follows from it takes its time."""

        def read(text: str, style: Style) -> float:
            mm = parse_length(text, unit_of(style))
            check(mm)
            return mm

        source = FigureOfPage((name, meaning), lambda: self._state.style, read, _shown, self._look)
        source.is_live = False
        source.taken.connect(put)
        field = TextField(source, self._look)
        self._look.row(field)
        return source, field


def _shown(mm: float, style: Style, with_unit: bool) -> str:  # noqa: FBT001 - as `FigureOfPage` calls it
    """Tolerances are small: rounded as sizes are, they would be read as nothing."""
    unit = unit_of(style)
    text = np.format_float_positional(mm / parse_length("1", unit), precision=_DIGITS, fractional=False, trim="-")
    return f"{text} {unit}" if with_unit else text
