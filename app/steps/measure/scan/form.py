"""The scan's form, in the order of the work: picture, scale, edge, allowances, shape, and what it is used for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.steps.measure.scan.sections import AllowanceSection, EdgeSection, PictureSection, ScaleSection
from app.steps.measure.scan.shape import ShapeSection, TakeSection
from app.steps.step import Step

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from PySide6.QtWidgets import QWidget

    from app.session.session import Session
    from app.steps.measure.scan.model import ScanModel


class ScanForm(Step):
    """What is asked of the user, one short section each."""

    title = "Scan"

    def __init__(
        self, session: Session, model: ScanModel, ask_picture: Callable[[QWidget], Path | None], parent: QWidget
    ) -> None:
        super().__init__(session, parent)
        self.picture = PictureSection(session, model, ask_picture, self)
        self.scale = ScaleSection(session, model, self)
        self.edge = EdgeSection(session, model, self)
        self.allowances = AllowanceSection(session, model, self)
        self.shape = ShapeSection(session, model, ask_picture, self)
        self.take = TakeSection(session, model, self)
        self._sections = (self.picture, self.scale, self.edge, self.allowances, self.shape, self.take)
        for section in self._sections:
            self.column.addWidget(section)
        self.column.addStretch(1)
        model.changed.connect(self._refresh)
        session.changed.connect(self._refresh)
        self._refresh()

    def _refresh(self) -> None:
        for section in self._sections:
            section.show_state()
