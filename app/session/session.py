"""The open project: the one owner of state. Views read ``result`` and call ``edit``; they hold no copy.

Words used below:
    current: the project that the undo stack stands on.
    shown: the project and result that the views read; the current one, except while a slow model is computed.
    waiting: an edit that is not made yet, because a slow model has to be computed first.

What follows an edit is asked for in the order in which it is looked at, a turn of the event loop each: the metal at
once (``changed``), then the verdicts (``judged``), then the rest (``settled``). A newer edit begins anew. Whoever asks
``result`` for a part gets it at once, and it belongs to that result; nothing may show verdicts between ``changed`` and
``judged``, as what it shows would be the project's before.
"""

from __future__ import annotations

from contextlib import suppress
from time import perf_counter
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QObject, QTimer, Signal
from PySide6.QtGui import QUndoStack

from app.session.background import Job
from app.session.replacing import Replacing
from app.session.results import Results
from app.session.waiting import Computed, Waiting, steps_of
from app.session.words import said
from core import edits
from core.aim import aimed
from core.evaluate import Result, evaluate
from core.words.ends import End
from core.words.errors import UserError
from core.words.lengths import show_length
from core.words.verdicts import Verdict

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from app.session.background import Tick
    from core.geometry.lines.outline import Point
    from core.part.project import Project
    from core.words.ends import Side
    from core.words.verdicts import Place

PAUSE_MS: Final = 250
"""After the last edit, until remedies are tried."""


class Session(QObject):
    """The open project, its result, its undo stack, and what the parts of the window tell each other.

    Attributes:
        changed: the new `Result`, after every accepted edit, undo and opening.
        judged: its verdicts are known; follows every ``changed``, in the same turn where they are remembered.
        settled: and nothing was edited for another turn: what is looked at last may draw itself anew.
        refused: project path of the field, and why the edit was not made, in the user's unit.
        pointed: a `Place` to go to and light up, or None.
        stationed: (End, Side, index into the gap profile) under the pointer, or None.
        shown_end_changed: the piece that the plan shows.
        focused: project path of the field that has the focus; empty for none.
        asked_for: project path of the field that should get the focus.
        cut_changed: the section's line in plan, ((x0, y0), (x1, y1)) [mm].
        busy_changed: whether a result is being computed beside the window.
        replaced: another project was opened: forms build themselves anew.
        remedied: ``result`` now says what to do about what is not go; nothing else of it has changed.
        is_judged: whether ``judged`` has followed the last ``changed``.
        refusal: the error behind the last ``refused``.
        previous: the result before the last edit, to mark what moved; None after opening.
    """

    changed = Signal(object)
    judged = Signal()
    settled = Signal()
    refused = Signal(str, str)
    pointed = Signal(object)
    stationed = Signal(object)
    shown_end_changed = Signal(object)
    focused = Signal(str)
    asked_for = Signal(str)
    cut_changed = Signal(object)
    busy_changed = Signal(bool)
    replaced = Signal()
    remedied = Signal()

    def __init__(
        self, project: Project, parent: QObject | None = None, *, path: Path | None = None, result: Result | None = None
    ) -> None:
        """Open a project; ``result`` saves computing it again.

        Raises:
            UserError: its sizes make no housing.
        """
        super().__init__(parent)
        self.undo_stack = QUndoStack(self)
        self._results = Results()
        self._queue: list[Waiting] = []
        self._job = Job(self, self._computed, self._failed)
        self._job.busy_changed.connect(self.busy_changed)
        self._remedies = Job(self, self._remedied)
        self._pause = QTimer(self, singleShot=True, interval=PAUSE_MS)
        self._pause.timeout.connect(self._try_remedies)
        # Of the event loop: whatever is to be painted is painted before it.
        self._turn = QTimer(self, singleShot=True, interval=0)
        self._turn.timeout.connect(self._look_further)
        self.is_judged = False
        self._last_key = -1
        self._is_catching_up = False
        self._typed = "", ""
        self.refusal: UserError | None = None
        self.previous: Result | None = None
        self.result = self._results.of(project) if result is None else self._results.keep(project, result)
        self.project = self._current = project
        self.path = path
        self.shown_end = End.BASE
        self.cut = _long_axis(self.result)
        self._turn.start()

    # What the views read

    @property
    def wanted(self) -> Project:
        """The newest project, with the edits that still wait: what the next edit starts from."""
        return self._queue[-1].project if self._queue else self._current

    @property
    def is_busy(self) -> bool:
        """Whether a result is being computed beside the window."""
        return self._job.is_running

    def show_length(self, mm: float, *, signed: bool = False) -> str:
        """A length to read, in the project's own style."""
        return show_length(mm, self.project.style, signed=signed)

    def show_figure(self, mm: float) -> str:
        """A length to read where its unit is stated once for all."""
        return show_length(mm, self.project.style, with_unit=False)

    # What the window tells its parts

    def point_at(self, place: Place | None) -> None:
        """Go to a place in the drawing and light it up."""
        if place is not None and place.end is not None:
            self.show_end(place.end)
        self.pointed.emit(place)

    def hover(self, station: tuple[End, Side, int] | None) -> None:
        """Link a station between the plan and the gap chart."""
        self.stationed.emit(station)

    def show_end(self, end: End) -> None:
        """Show the base or the lid in the plan; without a lid it stays the base."""
        if end is not self.shown_end and end in self.project.housing.ends:
            self.shown_end = end
            self.shown_end_changed.emit(end)

    def focus(self, path: str) -> None:
        """Light up the dimension of a field."""
        self.focused.emit(path)

    def ask_for(self, path: str) -> None:
        """Bring the focus to a field, where there is one."""
        if path:
            self.asked_for.emit(path)

    def set_cut(self, a: Point, b: Point) -> None:
        """Lay the section through another line."""
        if (a, b) != self.cut:
            self.cut = (a, b)
            self.cut_changed.emit(self.cut)

    # Edits

    def edit(self, text: str, project: Project, *, merge_key: int = -1, path: str = "") -> bool:
        """Make ``project`` current as one undo step; steps with one key in a row become one.

        Args:
            text: the step's name in the menu.
            project: the new one.
            merge_key: -1 never merges.
            path: of the field, for ``refused``.

        Returns:
            False when the project is impossible. While a slow model is computed the answer is True, and a refusal
            follows by signal.
        """
        if project == self.wanted:
            return True
        if project not in self._results and (self._results.is_slow or self.is_busy):
            self._queue.append(Waiting(text, project, merge_key, path))
            self._compute(steps_of(self._queue))
            return True
        try:
            self._results.of(project)
        except UserError as error:
            self._refuse(path, error)
            return False
        self._give_up_waiting()
        self._push(text, project, merge_key)
        return True

    def change(self, text: str, change: Callable[[Project], Project], *, merge_key: int = -1, path: str = "") -> bool:
        """`edit` with what ``change`` makes of the newest project; an error of its own is a refusal too."""
        try:
            project = change(self.wanted)
        except UserError as error:
            self._refuse(path, error)
            return False
        return self.edit(text, project, merge_key=merge_key, path=path)

    def set_text(self, path: str, text: str, label: str, *, merge_key: int = -1) -> bool:
        """Set the field at a path from what was typed; refused texts are signalled, and nothing changes."""
        self._typed = path, text
        seen = self.project
        return self.change(
            label, lambda p: edits.set_text(p, aimed(path, seen, p), text), merge_key=merge_key, path=path
        )  # fmt: skip

    def set_value(self, path: str, value: object, label: str, *, merge_key: int = -1) -> bool:
        """Set the field at a path to a value."""
        seen = self.project
        return self.change(
            label, lambda p: edits.set_value(p, aimed(path, seen, p), value), merge_key=merge_key, path=path
        )  # fmt: skip

    def open(self, project: Project, path: Path | None, result: Result) -> None:
        """Put another project in place of this one, with an empty undo stack."""
        self._give_up_waiting()
        self.undo_stack.clear()
        self._results.clear()
        self.previous, self._last_key = None, -1
        self.result = self._results.keep(project, result)
        self.project = self._current = project
        self.path = path
        self.cut = _long_axis(result)
        self.shown_end = End.BASE
        self.is_judged = False
        self.replaced.emit()
        self.shown_end_changed.emit(self.shown_end)
        self.cut_changed.emit(self.cut)
        self._tell()

    def undo(self) -> None:
        """Take back the newest edit, also one that still waits."""
        if self._queue:
            self._give_up_waiting()
            self._tell()  # fields show again what there is
        else:
            self.undo_stack.undo()

    def close(self) -> None:
        """Wait for whatever is computed beside the window: for the window's end."""
        self._queue.clear()
        self._pause.stop()
        self._turn.stop()
        self._job.close()
        self._remedies.close()

    # Computing

    def _compute(self, steps: list[Waiting]) -> None:
        """Compute steps beside the window; all but the newest may turn out impossible and are left out."""

        def work(tick: Tick) -> Computed:
            *earlier, newest = steps
            possible: list[Waiting] = []
            for step in earlier:
                tick(0.0)
                with suppress(UserError):
                    evaluate(step.project)
                    possible.append(step)
            start = perf_counter()
            result = evaluate(newest.project).settle()
            return Computed(possible, newest, result, perf_counter() - start)

        self._job.submit(work)

    def _computed(self, answer: Computed) -> None:
        self._results.seconds.append(answer.seconds)
        self._results.keep(answer.newest.project, answer.result)
        if not self._queue:  # an undo or redo that had to be computed
            self._show(answer.newest.project)
            return
        self._queue.clear()
        self._is_catching_up = True
        for step in answer.possible:
            self._push(step.text, step.project, step.merge_key)
        self._is_catching_up = False
        self._push(answer.newest.text, answer.newest.project, answer.newest.merge_key)

    def _failed(self, error: Exception) -> None:
        refused = self._queue.pop() if self._queue else None
        if not isinstance(error, UserError):
            self._give_up_waiting()
            return
        self._refuse("" if refused is None else refused.path, error)
        if self._queue:
            self._compute(steps_of(self._queue))

    def _give_up_waiting(self) -> None:
        self._queue.clear()
        self._job.cancel()

    def _refuse(self, path: str, error: UserError) -> None:
        self.refusal = error
        typed, text = self._typed
        note = edits.read_as(self.project, path, text) if path and path == typed else ""
        self.refused.emit(path, said(error, path, self.project, note))

    # The undo stack

    def _push(self, text: str, project: Project, merge_key: int) -> None:
        # A merged step is marked against what was there before its first keystroke, not before its last.
        merges = merge_key != -1 and merge_key == self._last_key and self.previous is not None
        base = self.previous if merges else self.result
        self._last_key = merge_key
        self.undo_stack.push(Replacing(self._go_to, text, self._current, project, merge_key=merge_key, base=base))

    def _go_to(self, project: Project, base: Result | None) -> None:
        self._remedies.cancel()
        self._current = project
        if self._is_catching_up:
            return
        self._give_up_waiting()
        if base is None:
            self._last_key = -1
        self.previous = self.result if base is None else base
        if project not in self._results and self._results.is_slow:
            self._compute([Waiting("", project, -1, "")])
        else:
            self._show(project)

    def _show(self, project: Project) -> None:
        self.result = self._results.of(project)
        self.project = project
        if self.shown_end not in project.housing.ends:
            self.show_end(End.BASE)
        self._tell()

    # In the order of looking

    def _tell(self) -> None:
        """There is another result; its verdicts follow, at once where they are known."""
        self.is_judged = False
        self._pause.stop()
        self.changed.emit(self.result)
        if self.result.is_judged:
            self._judge()
        self._turn.start()

    def _look_further(self) -> None:
        if not self.is_judged:
            self._judge()
            self._turn.start()
        else:
            self._pause.start()
            self.settled.emit()

    def _judge(self) -> None:
        self._results.judge(self.result)
        self.is_judged = True
        self.judged.emit()

    def settle(self) -> None:
        """Look at all that follows the last edit now, without waiting for the event loop's next turns."""
        while self._turn.isActive():
            self._turn.stop()
            self._look_further()

    # What to do, tried beside the window once nothing has been typed for a moment

    def _try_remedies(self) -> None:
        result = self.result
        if any(finding.remedies and finding.verdict is not Verdict.GO for finding in result.findings):
            from core.remedies import remedied  # noqa: PLC0415 - the first frame needs none

            self._remedies.submit(lambda tick: remedied(result, tick))

    def _remedied(self, result: Result) -> None:
        if result.project in self._results:
            self._results.keep(result.project, result)
        if result.project == self.result.project:
            self.result = result
            self.remedied.emit()


def _long_axis(result: Result) -> tuple[Point, Point]:
    """The section's first line: along the long axis, a little past the outside."""
    x0, _, x1, _ = result.after.base.curves.outside.bounds
    past = 0.04 * (x1 - x0)
    return (x0 - past, 0.0), (x1 + past, 0.0)
