"""The undo stack's one kind of step: a project in place of another."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtGui import QUndoCommand

if TYPE_CHECKING:
    from collections.abc import Callable

    from core.evaluate import Result
    from core.part.project import Project

    GoTo = Callable[[Project, Result | None], None]


class Replacing(QUndoCommand):
    """One edit. It needs no inverse, so undo can't be wrong."""

    def __init__(
        self, go_to: GoTo, text: str, before: Project, after: Project, *, merge_key: int, base: Result | None
    ) -> None:
        super().__init__(text)
        self._go_to, self._before, self._after, self._key = go_to, before, after, merge_key
        self._base = base

    def redo(self) -> None:
        base, self._base = self._base, None  # holds a result alive only until the first redo
        self._go_to(self._after, base)

    def undo(self) -> None:
        self._go_to(self._before, None)

    def id(self) -> int:
        return self._key

    def mergeWith(self, other: QUndoCommand) -> bool:
        assert isinstance(other, Replacing)
        self._after = other._after  # noqa: SLF001 - one of our own
        self.setObsolete(self._after == self._before)  # there and back again is no step
        return True
