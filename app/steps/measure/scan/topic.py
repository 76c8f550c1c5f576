"""Measuring from a picture: a flatbed scan or a photograph, its edge, and the oval laid through it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QSplitter, QWidget

from app.steps.measure.scan.chart import ScanChart
from app.steps.measure.scan.form import ScanForm
from app.steps.measure.scan.model import ScanModel
from app.steps.measure.scan.picture import ScanPicture

if TYPE_CHECKING:
    from pathlib import Path

    from app.session.session import Session
    from app.steps.dialogs import MeasuringDialogs

_SHARES = (4, 1)  # of the picture and of the deviations below it


class ScanTopic:
    """The form, the picture and the deviations, around one model.

    Attributes:
        title: in the switch over the forms.
        form: for the column on the left.
        board: for the middle: the picture above the deviations along its edge.
    """

    title = "Scan"

    def __init__(self, session: Session, dialogs: MeasuringDialogs, parent: QWidget) -> None:
        self.model = ScanModel(session, parent)
        self.form = ScanForm(session, self.model, dialogs.ask_picture, parent)
        self.board = QSplitter(Qt.Orientation.Vertical, parent)
        self.board.setChildrenCollapsible(False)
        self.picture = ScanPicture(session, self.model, self.board)
        self.chart = ScanChart(session, self.model, self.board)
        for widget, share in zip((self.picture, self.chart), _SHARES, strict=True):
            self.board.addWidget(widget)
            self.board.setStretchFactor(self.board.count() - 1, share)
        self.form.edge.masked.connect(self.picture.show_mask)
        self.model.asked.connect(lambda: self.picture.setFocus(Qt.FocusReason.OtherFocusReason))
        for source in (self.picture, self.chart):
            source.hovered.connect(self._mark)
        self.model.changed.connect(self._show_chart)
        self._show_chart()

    def open(self, path: Path) -> None:
        """Read a picture beside the window."""
        self.model.open(path)

    def close_down(self) -> None:
        """Wait for whatever runs beside the window."""
        self.model.close()

    def _mark(self, index: int | None) -> None:
        self.picture.mark_station(index)
        self.chart.mark_station(index)

    def _show_chart(self) -> None:
        self.chart.setVisible(self.model.state.opened is not None)
