"""What stands round the plan: forms, cut, gap chart, legend, verdict list. None is needed for the first frame."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.drawing.base.legend import Legend
from app.drawing.gap.chart import GapChart
from app.drawing.section.view import SectionView
from app.steps.export.panel import ExportPanel
from app.steps.fit.step import FitStep
from app.steps.fit.verdict_band import VerdictBand
from app.steps.fit.verdict_panel import VerdictPanel
from app.steps.measure.step import MeasureStep
from app.steps.resize.step import ResizeStep
from app.widgets.column import Column

if TYPE_CHECKING:
    from collections.abc import Callable

    from PySide6.QtWidgets import QWidget

    from app.session.session import Session
    from app.steps.dialogs import Dialogs
    from app.steps.resize.changes_table import ChangesTable
    from app.steps.step import Step


class Parts:
    """The parts of one board, built together, and the making of a step's form."""

    def __init__(
        self, session: Session, dialogs: Dialogs, board: QWidget, *, write_outlines: Callable[[], None]
    ) -> None:
        self._session, self._dialogs = session, dialogs
        self.section = SectionView(session, board)
        self.chart = GapChart(session, board)
        self.verdicts = VerdictPanel(session, board, write_outlines=write_outlines)
        self.band = VerdictBand(session, board)
        self.legend = Legend(session, board)
        self.export = ExportPanel(session, dialogs, board)
        self.export_column = Column(self.export, board)

    @property
    def changes(self) -> ChangesTable:
        """The list of changes."""
        return self.verdicts.changes

    def measure(self) -> MeasureStep:
        """A new form of the first step."""
        return MeasureStep(self._session, self._dialogs.measuring)

    def later_step(self, number: int) -> Step:
        """A new form of a step after the first."""
        return ResizeStep(self._session) if number == 1 else FitStep(self._session)
