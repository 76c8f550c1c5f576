"""The old outline file while it is looked at: what was read, in which unit, what each loop is, and which is chosen.

Reading, joining and sorting run beside the window. A file that is refused leaves what was there before.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from app.session.background import Job, failure_text
from core.measure.drawing.results import Role
from core.words.lengths import Style, show_length, shower

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from app.session.background import Tick
    from app.session.session import Session
    from core.measure.drawing.looked import Looked
    from core.measure.drawing.results import DrawingUnit, Loop, Recovered, Sorted, Trouble


class OpenDrawing(QObject):
    """The one owner of what is known of the file; form and board show it and send it edits.

    Attributes:
        changed: another look was taken, or lengths are shown otherwise.
        chosen_changed: another loop was chosen, or none.
        pointed: a `Trouble` to go to, or None.
        busy_changed: whether a look is being taken.
        progressed: how far it is, 0 to 1.
        refused: why a file, a unit or a tolerance can't be used; empty when all is well.
        exaggerated: whether the board draws how far the chosen loop is off its oval.
    """

    changed = Signal()
    chosen_changed = Signal()
    pointed = Signal(object)
    busy_changed = Signal(bool)
    progressed = Signal(float)
    refused = Signal(str)
    exaggerated = Signal(bool)

    def __init__(self, session: Session | None, parent: QObject | None = None, *, style: Style = Style.MM) -> None:
        """Nothing open yet; without a session lengths are shown in ``style``."""
        super().__init__(parent)
        self._session = session
        self._own_style = style
        self._shown_style = self.style
        self.looked: Looked | None = None
        self.chosen: int | None = None
        self.is_exaggerated = False
        self._own_roles: dict[int, Role] = {}
        self._wanted_roles: dict[int, Role] = {}
        self._job = Job(self, self._done, self._failed)
        self._job.progressed.connect(self.progressed)
        self._job.busy_changed.connect(self.busy_changed)
        if session is not None:
            session.changed.connect(self._session_changed)

    # What is shown

    @property
    def style(self) -> Style:
        """How lengths are shown."""
        return self._own_style if self._session is None else self._session.project.style

    @property
    def is_busy(self) -> bool:
        """Whether a look is being taken."""
        return self._job.is_running

    @property
    def sorted(self) -> Sorted | None:
        """Loops with their roles; None when there are none."""
        return None if self.looked is None else self.looked.sorted

    @property
    def loops(self) -> tuple[Loop, ...]:
        """All loops, largest first."""
        return () if self.sorted is None else self.sorted.loops.loops

    @property
    def troubles(self) -> tuple[Trouble, ...]:
        """Where the strokes did not meet."""
        return () if self.sorted is None else self.sorted.loops.troubles

    @property
    def chosen_loop(self) -> Loop | None:
        """The loop that was chosen."""
        return next((loop for loop in self.loops if loop.number == self.chosen), None)

    def role(self, number: int) -> Role:
        """What a loop is taken for."""
        return Role.IGNORED if self.sorted is None else self.sorted.roles.get(number, Role.IGNORED)

    def recovered(self, number: int | None) -> Recovered | None:
        """What a loop was recovered as."""
        return None if self.sorted is None or number is None else self.sorted.recovered.get(number)

    def is_own(self, number: int) -> bool:
        """Whether the user said what a loop is."""
        return number in self._own_roles

    def show_length(self, mm: float) -> str:
        """A length to read."""
        return show_length(mm, self.style)

    # Looking

    def open(self, path: Path) -> None:
        """Read a file beside the window; until it is read, and if it is refused, what was open stays."""

        def work(tick: Tick) -> Looked:
            from core.measure.drawing.looked import open_drawing  # noqa: PLC0415 - only when something is read

            return open_drawing(path, tick)

        self._submit(work)

    def stop(self) -> None:
        """Call off what is being read; what was open stays."""
        if self.is_busy:
            self._job.cancel()
            self.changed.emit()  # choices that were on their way show again what there is

    def set_unit(self, unit: DrawingUnit) -> None:
        """Take one unit of the file for another one."""
        if self.looked is not None and unit is not self.looked.unit:
            self._look_again(unit=unit, roles=self._own_roles)

    def set_join(self, mm: float) -> None:
        """Join ends within another distance; loops may come and go, so what was said of them is asked anew."""
        if self.looked is not None and mm != self.looked.join:
            self._look_again(join=mm, roles={})

    def set_tolerance(self, mm: float) -> None:
        """Take loops for ovals within another distance."""
        if self.looked is not None and mm != self.looked.tolerance:
            self._look_again(tolerance=mm, roles=self._own_roles)

    def set_role(self, number: int, role: Role) -> None:
        """Say what a loop is."""
        if self.looked is not None and role is not self.role(number):
            others = {n: own for n, own in self._own_roles.items() if n != number}
            self._look_again(roles={**others, number: role})  # the newest last: of some roles there is only one

    def _look_again(
        self,
        *,
        roles: dict[int, Role],
        unit: DrawingUnit | None = None,
        join: float | None = None,
        tolerance: float | None = None,
    ) -> None:
        looked = self.looked
        assert looked is not None
        wanted = (unit or looked.unit, join or looked.join, tolerance or looked.tolerance)

        def work(tick: Tick) -> Looked:
            from core.measure.drawing.looked import look  # noqa: PLC0415 - as above

            return look(looked.path, looked.drawing, *wanted, roles, tick)

        self._wanted_roles = roles
        self._submit(work)

    def _submit(self, work: Callable[[Tick], Looked]) -> None:
        self.refused.emit("")
        self._job.submit(work)

    def _done(self, looked: Looked) -> None:
        is_other = self.looked is None or looked.drawing is not self.looked.drawing
        self._own_roles = {} if is_other else self._wanted_roles
        self.looked = looked
        if is_other or self.chosen_loop is None:
            seats = [loop.number for loop in self.loops if self.role(loop.number) is Role.SEAT_OUTER]
            numbers = seats or [loop.number for loop in self.loops]
            self.chosen = numbers[0] if len(numbers) == 1 else None
        self.refused.emit("" if looked.trouble is None else looked.trouble.message(shower(self.style)))
        self.changed.emit()
        self.chosen_changed.emit()

    def _failed(self, error: Exception) -> None:
        self.changed.emit()
        self.refused.emit(failure_text(error, shower(self.style)))

    # What form and board tell each other

    def choose(self, number: int | None) -> None:
        """Choose a loop."""
        if number != self.chosen:
            self.chosen = number
            self.chosen_changed.emit()

    def point_at(self, trouble: Trouble | None) -> None:
        """Go to where strokes did not meet."""
        self.pointed.emit(trouble)

    def exaggerate(self, is_wanted: bool) -> None:  # noqa: FBT001 - a check box's signal carries it
        """Draw how far the chosen loop is off its oval."""
        self.is_exaggerated = is_wanted
        self.exaggerated.emit(is_wanted)

    def set_style(self, style: Style) -> None:
        """Show lengths otherwise, where no session says how."""
        self._own_style = style
        self._session_changed()

    def _session_changed(self) -> None:
        if self.style is not self._shown_style:
            self._shown_style = self.style
            self.changed.emit()

    def close_down(self) -> None:
        """Wait for what is being read."""
        self._job.close()
