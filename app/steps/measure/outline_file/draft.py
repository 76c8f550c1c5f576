"""The part that an outline file would become, while it is described: a project to look at, checked by nothing yet.

What the user types is kept as an answer; all else is what core makes of the drawing, worked out beside the window after
every change, so that a field that nobody touched shows what would be taken.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from msgspec.structs import replace
from PySide6.QtCore import QObject, Signal

from app.session.background import Job
from app.session.words import said
from core import edits
from core.features.ground import Made
from core.measure.drawing.results import Role
from core.new.item import starting_insert
from core.new.part import two_piece
from core.words.errors import UserError

if TYPE_CHECKING:
    from collections.abc import Callable

    from app.session.background import Tick
    from app.steps.measure.outline_file.state import OpenDrawing
    from core.measure.drawing.housing.part import Part, PartAnswers
    from core.measure.drawing.results import Sorted
    from core.part.project import Project

GAP: Final = "housing.base.seat.gap_outer"
"""The gap between the rim and the seat's outer wall: it also tells the insert's oval from a seat wall's loop."""
ANSWERS: Final = {
    "name": "name",
    "style": "style",
    "old_insert.material": "material",
    "old_insert.rim.width": "rim_width",
    "old_insert.rim.thickness": "rim_thickness",
    "old_insert.height": "height",
    GAP: "gap_outer",
    "housing.base.seat.gap_inner": "gap_inner",
    "housing.base.seat.depth": "depth",
    "housing.base.floor": "floor",
    "housing.base.lip.height": "lip_height",
}
"""The answer that each field gives, by the field's path."""

_NAME: Final = 60  # as long as a project's name may be


class PartDraft(QObject):
    """A model for the fields of a part that is not there yet.

    Attributes:
        changed: the project as it would be.
        refused: path of the field, and why it can't hold what was typed.
        previewed: what the drawing becomes was worked out, or can't be: see ``part`` and ``trouble``.
        part: what the drawing becomes, with remarks; None while it becomes nothing.
        trouble: why it becomes nothing.
    """

    changed = Signal(object)
    refused = Signal(str, str)
    previewed = Signal()

    def __init__(self, state: OpenDrawing, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._state = state
        self.project: Project = two_piece(starting_insert(), style=state.style)
        self.refusal: UserError | None = None
        self.part: Part | None = None
        self.trouble: UserError | None = None
        self._answers: dict[str, object] = {}
        self._sorted: Sorted | None = None
        self._file: object = None
        self._job = Job(self, self._done, self._failed)
        state.changed.connect(self._state_changed)

    # What fields need

    @property
    def wanted(self) -> Project:
        """The project, as typed."""
        return self.project

    @property
    def is_busy(self) -> bool:
        """Whether what the drawing becomes is being worked out."""
        return self._job.is_running

    def change(self, text: str, change: Callable[[Project], Project], *, merge_key: int = -1, path: str = "") -> bool:
        """Take what ``change`` makes as the answer of the field at ``path``."""
        del text, merge_key  # there is no undo before there is a part
        try:
            project = change(self.project)
            value = edits.get_value(project, path)
        except UserError as error:
            self.refusal = error
            self.refused.emit(path, said(error, path, self.project))
            return False
        self.project = project
        if path == "style":
            self._state.set_style(project.style)
        else:
            self._answers[ANSWERS[path]] = value
        self.changed.emit(project)
        self._preview()
        return True

    def focus(self, path: str) -> None:
        """Nothing is drawn that could light up."""

    # What has no field of its own

    @property
    def is_two_piece(self) -> bool:
        """Whether it becomes a base and a lid."""
        own = self._answers.get("two_piece")
        return self.project.housing.lid is not None if own is None else own is True

    def set_two_piece(self, is_wanted: bool) -> None:  # noqa: FBT001 - as an answer
        """A base and a lid, or one ring."""
        self._answer("two_piece", is_wanted)

    @property
    def made(self) -> Made:
        """How the holes are made."""
        return Made(str(self._answers.get("made", Made.DRILLED)))

    def set_made(self, made: Made) -> None:
        """How the holes are made."""
        self._answer("made", made)

    def _answer(self, name: str, value: object) -> None:
        self._answers[name] = value
        self._preview()

    # Working it out

    def answers(self, found: Sorted) -> PartAnswers:
        """All answers: those that were typed, and the usual ones."""
        from core.measure.drawing.housing.part import answers_for  # noqa: PLC0415 - only when there is a drawing

        looked = self._state.looked
        answers = answers_for(found, style=self._state.style)
        name = "" if looked is None else looked.path.stem.strip()[:_NAME].strip()
        own: dict[str, Any] = {"name": name or answers.name, **self._answers}  # as typed as the fields they come from
        return replace(answers, **own)

    def _state_changed(self) -> None:
        is_restyled = self.project.style is not self._state.style
        if is_restyled:
            self.project = edits.set_value(self.project, "style", self._state.style)
            self.changed.emit(self.project)
        looked = self._state.looked
        if looked is not None and looked.path != self._file:
            self._answers.clear()  # another file, another part
            self._file = looked.path
        if is_restyled or self._state.sorted is not self._sorted:
            self._sorted = self._state.sorted
            self._preview()

    def _preview(self) -> None:
        found, looked = self._sorted, self._state.looked
        if found is None or looked is None or not self.has_seat:
            self.part = self.trouble = None
            self._job.cancel()
            self.previewed.emit()
            return
        answers = self.answers(found)

        def work(tick: Tick) -> Part:
            from core.measure.drawing.housing.part import part_from  # noqa: PLC0415 - only when there is a drawing

            tick(0.0)
            return part_from(found, answers, looked.path.name)

        self._job.submit(work)
        self.previewed.emit()

    def _done(self, part: Part) -> None:
        self.part, self.trouble = part, None
        self.project = part.project
        self.changed.emit(self.project)
        self.previewed.emit()

    def _failed(self, error: Exception) -> None:
        self.part = None
        self.trouble = error if isinstance(error, UserError) else None
        self.previewed.emit()

    @property
    def has_seat(self) -> bool:
        """Whether a loop is the seat's outer wall, without which there is nothing to ask about."""
        return self._sorted is not None and Role.SEAT_OUTER in self._sorted.roles.values()

    def why_not(self) -> str:
        """Why the drawing becomes no part; empty when it does, or when it has no seat to build one round."""
        return "" if self.trouble is None or not self.has_seat else self.trouble.message(self.show_length)

    def show_length(self, mm: float) -> str:
        """A length to read."""
        return self._state.show_length(mm)

    def close_down(self) -> None:
        """Wait for what is being worked out."""
        self._job.close()
