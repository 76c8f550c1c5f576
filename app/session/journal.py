"""The journal of the window: what is edited is on disk within two seconds, and offered again after a crash.

It lies beside the settings, never in the user's folder. Each open part has an entry of its own and a lock beside it; an
entry whose lock nobody holds was left by a program that ended before it was saved.
"""

from __future__ import annotations

import time
from typing import TYPE_CHECKING, Final
from uuid import uuid4

from PySide6.QtCore import QLockFile, QObject, QTimer

from app.session import settings
from core.files.project import journal
from core.files.project.journal import SUFFIX, Entry
from core.words.errors import FileError

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from app.session.session import Session

WAIT_MS: Final = 700
"""After an edit, before it is kept: a word that is typed is one entry."""
MOST_MS: Final = 1500
"""An edit waits no longer, however fast others follow."""


def folder() -> Path:
    """Where the entries lie: beside the settings."""
    return settings.folder() / "unsaved"


def left_behind() -> tuple[Entry, ...]:
    """The entries of programs that are gone, the newest first."""
    return tuple(entry for entry in journal.entries(folder()) if _is_free(entry.place))


def forget(entry: Entry) -> None:
    """Take an entry away, with its lock."""
    journal.give_up(entry.place)
    journal.give_up(_lock_of(entry.place))


def _lock_of(place: Path) -> Path:
    return place.with_suffix(".lock")


def _is_free(place: Path) -> bool:
    lock = QLockFile(str(_lock_of(place)))
    lock.setStaleLockTime(0)  # a lock is stale when its program is gone, however old it is
    if not lock.tryLock(0):
        return False
    lock.unlock()
    return True


class Journal(QObject):
    """Keeps the part of one session while it has edits that are not saved."""

    def __init__(self, session: Session, is_dirty: Callable[[], bool], tell: Callable[[str], None]) -> None:
        """A journal of a session.

        Args:
            session: it lives as long.
            is_dirty: whether there is anything that is not saved.
            tell: told once where nothing can be kept.
        """
        super().__init__(session)
        self._session, self._is_dirty, self._tell = session, is_dirty, tell
        self._place = folder() / f"{uuid4().hex}{SUFFIX}"
        self._lock: QLockFile | None = None
        self._since = 0.0
        self._pause = QTimer(self)
        self._pause.setSingleShot(True)
        self._pause.timeout.connect(self.keep)
        session.changed.connect(self._note)
        session.undo_stack.cleanChanged.connect(self._note)

    @property
    def place(self) -> Path:
        """The file of its entry."""
        return self._place

    def _note(self, *_: object) -> None:
        """Something was edited or saved: keep it soon."""
        now = time.monotonic()
        if not self._pause.isActive():
            self._since = now
        left = MOST_MS - round((now - self._since) * 1000)
        self._pause.start(max(min(WAIT_MS, left), 0))

    def keep(self) -> None:
        """Put the entry where it should be now: there while something is not saved, else gone."""
        self._pause.stop()
        if not self._is_dirty():
            self.close()
            return
        try:
            journal.keep(self._place, self._session.project, self._session.path, time.time())
        except FileError as error:
            self._tell(f"What you do is not kept against a crash: {error}")
            self._tell = lambda _text: None  # once is enough
            return
        if self._lock is None:
            self._lock = QLockFile(str(_lock_of(self._place)))
            self._lock.setStaleLockTime(0)
            self._lock.tryLock(0)

    def close(self) -> None:
        """Take the entry away: there is nothing to come back to."""
        self._pause.stop()
        journal.give_up(self._place)
        if self._lock is not None:
            self._lock.unlock()
            self._lock = None
