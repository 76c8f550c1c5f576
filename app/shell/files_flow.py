"""Opening, saving and closing: what is asked, in which order, and what is said when a file can't be had.

The questions themselves are handed in as callables, so that tests answer them without touching Qt.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, assert_never

from app.session import settings
from app.session.journal import Journal, forget
from app.shell.real_dialogs import SUFFIX
from app.steps.dialogs import Overtaken, Unsaved
from core.evaluate import evaluate
from core.files.project.demos import load_demo
from core.files.project.file import fingerprint, load_project, save_project
from core.words.errors import UserError
from core.words.lengths import shower

if TYPE_CHECKING:
    from collections.abc import Callable

    from PySide6.QtWidgets import QWidget

    from app.session.session import Session
    from app.steps.dialogs import Dialogs
    from core.evaluate import Result
    from core.files.project.journal import Entry
    from core.part.project import Project


class FilesFlow:
    """Files of one window: it hands projects to ``show`` and asks through ``dialogs``."""

    def __init__(self, window: QWidget, dialogs: Dialogs, show: Callable[[Project, Path | None, Result], None]) -> None:
        """The flow of ``window``; ``show`` puts a project, its path and its result in place of the open one."""
        self._window, self.dialogs, self._show = window, dialogs, show
        self._seen: tuple[int, int] | None = None
        self._is_new = False
        self.session: Session | None = None
        self.journal: Journal | None = None

    @property
    def is_dirty(self) -> bool:
        """Whether there is anything to save: edits, or a part that was made and never saved."""
        return self.session is not None and (self._is_new or not self.session.undo_stack.isClean())

    @property
    def was_overtaken(self) -> bool:
        """Whether another program has written the project's file since it was opened or saved."""
        return (
            self.session is not None and self.session.path is not None and fingerprint(self.session.path) != self._seen
        )

    def may_leave(self) -> bool:
        """Whether the open project may go: saved, given up, or untouched."""
        if not self.is_dirty or self.session is None:
            return True
        answer = self.dialogs.ask_unsaved(self._window, self.session.project.name)
        if answer is Unsaved.SAVE:
            return self.save()
        return answer is Unsaved.DISCARD

    def open(self, path: Path | None = None) -> bool:
        """Open a project from a file, asked for if none is given; the open one stays when anything fails."""
        if not self.may_leave():
            return False
        if path is None:
            path = self.dialogs.ask_open(self._window, _folder())
        if path is None:
            return False
        try:
            project = load_project(path)
        except UserError as error:
            settings.forget_recent(path)
            self._tell("The project was not opened", error, None)
            return False
        return self.take(project, path)

    def open_demo(self, name: str) -> bool:
        """Open one of the demos; it has no file until it is saved."""
        if not self.may_leave():
            return False
        try:
            project = load_demo(name)
        except UserError as error:
            self._tell("The demo was not opened", error, None)
            return False
        return self.take(project, None)

    def take(self, project: Project, path: Path | None, *, is_new: bool = False) -> bool:
        """Put a project in place of the open one, if it makes a housing; a new one is asked about before it is lost."""
        try:
            result = evaluate(project)
        except UserError as error:
            self._tell("The project was not opened", error, project)
            return False
        self.note(path)
        if path is not None:
            settings.remember_recent(path)
            settings.FOLDER.put(str(path.parent))
        self._is_new = False
        self._show(project, path, result)
        self._is_new = is_new
        if self.journal is not None:
            self.journal.keep()
        return True

    def recover(self, entry: Entry) -> bool:
        """Go on with a part that was not saved when its program ended; it is not saved yet."""
        if not self.may_leave() or not self.take(entry.project, entry.source, is_new=True):
            return False
        forget(entry)
        return True

    def attend(self, session: Session, say: Callable[[str], None]) -> None:
        """Keep a session's edits in the journal."""
        self.session = session
        self.journal = Journal(session, lambda: self.is_dirty, say)

    def note(self, path: Path | None) -> None:
        """Note what the file looks like now, to see later whether another program has written it."""
        self._seen = None if path is None else fingerprint(path)

    def save(self) -> bool:
        """Save where the project came from, or ask."""
        if self.session is None:
            return False
        path = self.session.path
        if path is None:
            return self.save_as()
        if self.was_overtaken and path.exists():
            match self.dialogs.ask_overtaken(self._window, path):
                case Overtaken.SAVE_AS:
                    return self.save_as()
                case Overtaken.CANCEL:
                    return False
                case Overtaken.REPLACE:
                    pass
                case never:
                    assert_never(never)
        return self._write(path)

    def save_as(self) -> bool:
        """Save under another name."""
        if self.session is None:
            return False
        suggested = self.session.path or _folder() / f"{self.session.project.name}{SUFFIX}"
        path = self.dialogs.ask_save(self._window, suggested)
        if path is None:
            return False
        return self._write(path if path.suffix else path.with_suffix(SUFFIX))

    def _write(self, path: Path) -> bool:
        assert self.session is not None
        try:
            save_project(self.session.project, path)
        except UserError as error:
            self._tell("The project was not saved", error, self.session.project)
            return False
        self.session.path = path
        self._is_new = False
        self.session.undo_stack.setClean()
        self.note(path)
        settings.remember_recent(path)
        settings.FOLDER.put(str(path.parent))
        if self.journal is not None:
            self.journal.keep()
        return True

    def _tell(self, title: str, error: UserError, project: Project | None) -> None:
        text = str(error) if project is None else error.message(shower(project.style))
        self.dialogs.tell(self._window, title, text)


def _folder() -> Path:
    remembered = settings.FOLDER.get()
    folder = Path(remembered) if remembered else Path.home()
    return folder if folder.is_dir() else Path.home()
