"""Step 3, fit: one seat of the cut, enlarged; limits and findings are in the verdict list."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.drawing.section.seat import SeatCut
from app.steps.step import Step

if TYPE_CHECKING:
    from PySide6.QtWidgets import QWidget

    from app.session.session import Session


class FitStep(Step):
    """The cut beside the plan."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(session, parent)
        self.cut = SeatCut(session, self)
        self.column.addWidget(self.cut, 1)
