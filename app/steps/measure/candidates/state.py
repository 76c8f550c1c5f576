"""The candidates while they are looked at: the comparison that is shown, whether a newer one is being made, the choice.

Comparing runs beside the window, and only while somebody looks; what was found before stays until the new answer comes.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace
from PySide6.QtCore import QObject, Signal

from app.session.background import Job
from app.session.words import said
from core import edits
from core.aim import aimed
from core.measure.candidates.compare import add_candidates, compare, make_new_insert
from core.part.readings import Readings
from core.words.errors import UserError
from core.words.lengths import Style

if TYPE_CHECKING:
    from collections.abc import Iterable

    from app.session.background import Tick
    from app.session.session import Session
    from core.measure.candidates.results import Candidate, Comparison
    from core.part.insert import Insert, Pressed
    from core.part.project import Project

NEW = 0
"""The entry of the new insert itself; a candidate's entry is its number in the project and one more."""


class CandidatesState(QObject):
    """What the form and the board share.

    Attributes:
        changed: the comparison, or whether it is up to date.
        progressed: the part of the comparing that is done, 0 to 1.
        chose: the entry that is chosen.
        comparison: the newest one that is finished; None before the first.
        is_stale: whether it is of an earlier project.
        trouble: why there is none, in words.
    """

    changed = Signal()
    progressed = Signal(float)
    chose = Signal(int)

    def __init__(self, session: Session, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.session = session
        self.comparison: Comparison | None = None
        self.is_stale = True
        self.trouble = ""
        self.chosen = NEW
        self._compared: Project | None = None  # what was asked for last
        self._finished: Project | None = None  # what `comparison` is of
        self._is_watched = False
        self._job = Job(self, self._done, self._failed)
        self._job.progressed.connect(self.progressed)
        session.changed.connect(self._on_changed)

    @property
    def is_running(self) -> bool:
        """Whether a comparison is being made."""
        return self._job.is_running

    @property
    def candidate(self) -> Candidate | None:
        """What was found of the chosen entry."""
        if self.comparison is None:
            return None
        return next((c for c in self.comparison.ranked if c.index == self.chosen), None)

    def watch(self, is_watched: bool) -> None:  # noqa: FBT001 - as Qt's setVisible
        """Say whether somebody looks; a first look starts the comparing."""
        self._is_watched = is_watched
        if is_watched:
            self._catch_up()

    def choose(self, entry: int) -> None:
        """Choose an entry."""
        if entry != self.chosen:
            self.chosen = entry
            self.chose.emit(entry)

    def stop(self) -> None:
        """Call the comparing off; what was found before stays."""
        self._job.cancel()
        self.changed.emit()

    def start(self) -> None:
        """Compare, also what was called off before."""
        self._compared = None
        self._catch_up()

    def close_down(self) -> None:
        """Wait for the thread."""
        self._job.close()

    # Edits

    def add(self, inserts: Iterable[Insert], label: str) -> bool:
        """Add candidates and choose the first of them; False when they are refused."""
        first = len(self.session.wanted.candidates) + 1
        if not self.session.change(label, lambda p: add_candidates(p, inserts)):
            return False
        self.choose(first)
        return True

    def add_copy(self) -> bool:
        """Add a candidate that is like the new insert, to be made true field by field."""
        copy = replace(
            self.session.wanted.new_insert, name="candidate 1", readings=Readings(), sources=(), pressed=None
        )
        return self.add([copy], "add candidate")

    def remove(self, number: int) -> bool:
        """Remove a candidate; False when that is refused."""
        seen, path = self.session.project, f"candidates[{number}]"
        name = seen.candidates[number].name
        return self.session.change(f"remove {name}", lambda p: edits.remove_item(p, aimed(path, seen, p)))

    def make_new(self, number: int, pressed: Pressed | None = None) -> bool:
        """Make a candidate the new insert; False when that is impossible."""
        name = self.session.wanted.candidates[number].name
        path = f"candidates[{number}]"
        if not self.session.change(
            f"{name} as the new insert", lambda p: make_new_insert(p, number, pressed), path=path
        ):
            return False
        self.choose(NEW)
        return True

    # Comparing

    def _on_changed(self) -> None:
        self.is_stale = self._finished != _what_counts(self.session.project)
        last = len(self.session.project.candidates)
        if self.chosen > last:
            self.choose(last)
        if self._is_watched:
            self._catch_up()

    def _catch_up(self) -> None:
        wanted = _what_counts(self.session.project)
        if wanted == self._compared:
            self.changed.emit()  # names and units may be others
            return
        self._compared, self.trouble = wanted, ""
        entries = (wanted.new_insert, *wanted.candidates)

        def work(tick: Tick) -> tuple[Project, Comparison]:
            return wanted, compare(wanted, entries, tick)

        self._job.submit(work)
        self.changed.emit()

    def _done(self, answer: tuple[Project, Comparison]) -> None:
        self._finished, self.comparison = answer
        self.is_stale = self._finished != _what_counts(self.session.project)
        self.changed.emit()

    def _failed(self, error: Exception) -> None:
        if isinstance(error, UserError):
            self.trouble = said(error, "", self.session.project)
        self.changed.emit()


def _what_counts(project: Project) -> Project:
    """The project without what makes no difference to a comparison."""
    return replace(project, name="compared", notes="", style=Style.MM)
