"""Measuring from an old outline file, DXF or points: a form, a board, and the part or the oval that comes of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, Signal

from app.steps.measure.outline_file.board import DrawingBoard
from app.steps.measure.outline_file.draft import PartDraft
from app.steps.measure.outline_file.form import DrawingForm
from app.steps.measure.outline_file.state import OpenDrawing
from core.words.lengths import Style

if TYPE_CHECKING:
    from pathlib import Path

    from PySide6.QtWidgets import QWidget

    from app.session.session import Session
    from app.steps.dialogs import MeasuringDialogs
    from app.steps.step import Page


class DrawingTopic(QObject):
    """One way of measuring; also, without a session, a way to begin.

    Attributes:
        title: in the switch over the forms.
        form: for the column on the left.
        board: for the middle.
        part_made: a new `Project`, made of the drawing.
    """

    part_made = Signal(object)
    title: str = DrawingForm.title
    form: Page
    board: QWidget

    def __init__(
        self,
        session: Session | None,
        dialogs: MeasuringDialogs,
        parent: QWidget | None = None,
        style: Style = Style.MM,
    ) -> None:
        """The topic of a project; without one lengths are shown in ``style`` to begin with."""
        super().__init__(parent)
        self._dialogs = dialogs
        self.state = OpenDrawing(session, self, style=style)
        self.draft = PartDraft(self.state, self)
        self._form = DrawingForm(session, self.state, self.draft, parent)
        self._board = DrawingBoard(self.state, parent)
        self.form, self.board = self._form, self._board
        self._form.open_asked.connect(self._ask)
        self._form.part_wanted.connect(self._make)
        self._board.dropped.connect(self.open)

    def open(self, path: Path) -> None:
        """Read a file beside the window."""
        self.state.open(path)

    def close_down(self) -> None:
        """Wait for whatever runs beside the window."""
        self.state.close_down()
        self.draft.close_down()
        if self._form.take is not None:
            self._form.take.close_down()

    def _ask(self) -> None:
        path = self._dialogs.ask_drawing(self._form.window())
        if path is not None:
            self.open(path)

    def _make(self) -> None:
        if self.draft.part is not None and not self.draft.is_busy:
            self.part_made.emit(self.draft.part.project)
