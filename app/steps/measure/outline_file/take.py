"""Taking a loop of an old outline file as an insert's oval."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from msgspec import Struct
from msgspec.structs import replace
from PySide6.QtCore import Signal
from PySide6.QtWidgets import QPushButton, QVBoxLayout, QWidget

from app.session.background import Job
from app.session.words import said
from app.steps.measure.outline_file.draft import GAP
from app.widgets.forms import Form
from app.widgets.labels import Heading, QuietLabel, Refusal, Words
from app.widgets.layouts import bare
from app.widgets.switch import Switch
from core.measure.drawing.housing.as_insert import insert_from
from core.measure.drawing.ovals.recover import recover
from core.measure.drawing.results import Role
from core.measure.drawing.words import loop_size, off_words, shape_words
from core.words.errors import UserError

if TYPE_CHECKING:
    from app.session.background import Tick
    from app.session.session import Session
    from app.steps.measure.outline_file.draft import PartDraft
    from app.steps.measure.outline_file.state import OpenDrawing
    from core.measure.drawing.results import Recovered
    from core.part.project import Project

OLD, NEW = "old_insert", "new_insert"
_WORDS: Final = {OLD: "old insert", NEW: "new insert"}
RIM, SEAT = "rim", "seat"


class _Taken(Struct, frozen=True, eq=False):
    which: str
    number: int
    found: Recovered
    gap: float
    note: str


class TakeForm(QWidget):
    """What the chosen loop is to an insert, and the two buttons that take it.

    Attributes:
        taken: ``old_insert`` or ``new_insert`` has another oval now.
    """

    taken = Signal(str)

    def __init__(self, session: Session, state: OpenDrawing, draft: PartDraft, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session, self._state, self._draft = session, state, draft
        self._job = Job(self, self._done, self._failed)
        space = self.fontMetrics().height() // 3
        column = bare(QVBoxLayout(self), space)
        column.addWidget(Heading("Take an outline as an insert's oval", self))
        self.which = Words("", self)
        column.addWidget(self.which)
        self.line = Switch([(RIM, "the rim's edge"), (SEAT, "the seat's wall")], "The outline is", self)
        self.line.chosen.connect(self._line_chosen)
        column.addWidget(self.line)
        self.form = Form(draft, self)
        self.gap = self.form.field(GAP, label="Gap to the rim")
        column.addWidget(self.form)
        self.buttons = {
            OLD: QPushButton("Take as the old insert's oval", self),
            NEW: QPushButton("Take as the new insert's oval", self),
        }
        for key, button in self.buttons.items():
            button.clicked.connect(lambda _checked=False, k=key: self.take(k))
            column.addWidget(button)
        self.refusal = Refusal(self)
        self.told = QuietLabel("", self, wrap=True)
        column.addWidget(self.refusal)
        column.addWidget(self.told)
        state.changed.connect(self._refresh)
        state.chosen_changed.connect(self._chosen)
        session.refused.connect(self._refused)
        self._chosen()

    @property
    def is_wall(self) -> bool:
        """Whether the loop is taken for the seat's wall, a gap outside the rim."""
        return self.line.key == SEAT

    def take(self, which: str) -> None:
        """Take the chosen loop as the oval of an insert, as one undo step."""
        loop, looked = self._state.chosen_loop, self._state.looked
        if loop is None or looked is None:
            return
        gap = self._draft.project.housing.base.seat.gap_outer if self.is_wall else 0.0
        insert = self._session.wanted.old_insert if which == OLD else self._session.wanted.new_insert
        note = f"{looked.path.name}, outline {loop.number}"[:180]
        tolerance, offset = looked.tolerance, gap + insert.rim.outset

        def work(tick: Tick) -> _Taken:
            tick(0.0)
            return _Taken(
                which, loop.number, recover(loop.outline, tolerance, offset=offset).with_off(loop.off), gap, note
            )

        self.refusal.tell("")
        self.told.tell("")
        self._job.submit(work)
        self._enable()

    def close_down(self) -> None:
        """Wait for what is being worked out."""
        self._job.close()

    def _done(self, taken: _Taken) -> None:
        def change(project: Project) -> Project:
            insert = project.old_insert if taken.which == OLD else project.new_insert
            return replace(project, **{taken.which: insert_from(insert, taken.found, taken.note)})

        self._enable()
        name = _WORDS[taken.which]
        if not self._session.change(f"{name}'s oval from the outline file", change, path=taken.which):
            return
        style, show = self._state.style, self._state.show_length
        size = loop_size(self._state.sorted.loops.loop(taken.number), taken.found, show) if self._state.sorted else ""
        less = f", less a gap of {show(taken.gap)}" if taken.gap else ""
        self.told.tell(
            f"The {name} is now {shape_words(taken.found.oval, show)}, {size}: outline {taken.number}{less}, "
            f"off by {off_words(taken.found.worst, style)}."
        )
        self.taken.emit(taken.which)

    def _failed(self, error: Exception) -> None:
        self._enable()
        if isinstance(error, UserError):
            self.refusal.tell(said(error, "", self._session.project))

    def _refused(self, path: str, message: str) -> None:
        if path in _WORDS:
            self.told.tell("")
            self.refusal.tell(message)

    def _chosen(self) -> None:
        """Another loop: a wall of the seat is one by its role, all else is drawn as the rim."""
        loop = self._state.chosen_loop
        is_wall = loop is not None and self._state.role(loop.number) is Role.SEAT_OUTER
        self.line.put(SEAT if is_wall else RIM)
        self.refusal.tell("")
        self.told.tell("")
        self._refresh()

    def _line_chosen(self, key: str) -> None:
        self.line.put(key)
        self._refresh()

    def _refresh(self) -> None:
        loop = self._state.chosen_loop
        self.which.setText("Choose an outline first." if loop is None else f"In the drawing, outline {loop.number} is")
        self.line.setVisible(loop is not None)
        self.form.setVisible(loop is not None and self.is_wall)
        self._enable()

    def _enable(self) -> None:
        can = self._state.chosen_loop is not None and not self._job.is_running
        for button in self.buttons.values():
            button.setEnabled(can)
