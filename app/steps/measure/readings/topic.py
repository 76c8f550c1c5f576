"""Measuring by readings: the table that a caster fills in, and what it gives."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from app.steps.measure.readings.board import ReadingsBoard
from app.steps.measure.readings.desk import Desk
from app.steps.measure.readings.explain import ASSUMES
from app.steps.measure.readings.shapes import ShapesPanel
from app.steps.measure.readings.sizes import SizesPanel
from app.steps.step import Step
from app.widgets.labels import Heading

if TYPE_CHECKING:
    from PySide6.QtWidgets import QWidget

    from app.session.session import Session
    from app.steps.dialogs import MeasuringDialogs
    from core.part.insert import Insert
    from core.words.lengths import Style

HEAVY_JAWS: Final = "Heavy jaws falsify a soft rim: let them touch, never squeeze, and read three inserts or more."
_RESOLUTIONS: Final = ("calliper", "rule", "tape", "gauge")


class ReadingsForm(Step):
    """Instruments, sizes and shape."""

    title = "Readings"

    def __init__(self, session: Session, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(session, parent)
        self._desk = desk
        form = self.form()
        form.heading("Read by hand")
        form.note(HEAVY_JAWS)
        fold = form.fold("Instruments and rubber")
        fold.note("The smallest step that each shows; it counts as part of every ±, and equal readings hide as much.")
        fold.columns("old", "new")
        for name in _RESOLUTIONS:
            # By its full name the row would be wider than the column.
            label = "Gauges" if name == "gauge" else ""
            fold.pair(*(f"{owner}.readings.resolution.{name}" for owner in ("old_insert", "new_insert")), label=label)
        fold.choice_pair(*(f"{owner}.readings.rubber" for owner in ("old_insert", "new_insert")))
        fold.note(
            "Classes of ISO 3302-1 for moulded solid rubber, M1 the finest, stand in for the spread of fewer than "
            "three samples. As the material: M3, the usual one, where it is solid rubber, and none for all else."
        )
        # Beside the form, not rows of it: these texts wrap as the column is wide.
        self.sizes_head = Heading("What the readings give", self)
        self.sizes = SizesPanel(desk, self)
        self.shapes = ShapesPanel(desk, self)
        for widget in (self.sizes_head, self.sizes, Heading("Which oval is it?", self), self.shapes):
            self.column.addWidget(widget)
        self.form().fold("What ± means and assumes").note(ASSUMES)
        self.column.addStretch(1)
        session.changed.connect(self._refresh)
        desk.turned.connect(self._refresh)
        self._shown: tuple[str, Insert, Style] | None = None
        self._refresh()

    def _refresh(self) -> None:
        now = (self._desk.owner, self._desk.insert, self.session.project.style)
        if now == self._shown:  # as after nearly all edits
            return
        self._shown = now
        self.sizes_head.setText(f"What the readings give: {self._desk.spoken}")
        self.sizes.refresh()
        self.shapes.refresh()


class ReadingsTopic:
    """The page of the readings.

    Attributes:
        title: in the switch over the forms.
        form: for the column on the left.
        board: for the middle.
        desk: what both share.
    """

    title = "Readings"

    def __init__(self, session: Session, _dialogs: MeasuringDialogs, parent: QWidget) -> None:
        self.desk = Desk(session, parent)
        self.form: Step = ReadingsForm(session, self.desk, parent)
        self._board = ReadingsBoard(self.desk, parent)
        self.board: QWidget = self._board

    def close_down(self) -> None:
        """Put away an open cell, so that it takes nothing more; nothing runs beside the window here."""
        self._board.view.put_away()
