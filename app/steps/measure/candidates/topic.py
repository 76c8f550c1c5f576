"""Among candidates: several possible replacements, tried one by one as the new insert and ranked."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.steps.measure.candidates.board import CandidatesBoard
from app.steps.measure.candidates.form import CandidatesForm
from app.steps.measure.candidates.state import CandidatesState

if TYPE_CHECKING:
    from PySide6.QtWidgets import QWidget

    from app.session.session import Session
    from app.steps.dialogs import MeasuringDialogs


class CandidatesTopic:
    """The form that describes the candidates, and the board that compares them.

    Attributes:
        title: in the switch over the forms.
        form: for the column on the left.
        board: for the middle.
        state: what both share.
    """

    title = "Candidates"

    def __init__(self, session: Session, dialogs: MeasuringDialogs, parent: QWidget) -> None:
        self.state = CandidatesState(session, parent)
        self.form = CandidatesForm(session, self.state, dialogs, parent)
        self.board = CandidatesBoard(self.state, parent)

    def close_down(self) -> None:
        """Wait for the comparing that runs beside the window."""
        self.state.close_down()
