"""Making a new part of an old outline file: what the drawing does not tell is asked, the rest is read from it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QVBoxLayout, QWidget

from app.steps.measure.outline_file.draft import GAP
from app.widgets.forms import Form
from app.widgets.labels import Heading, QuietLabel, Refusal
from app.widgets.layouts import bare
from app.widgets.switch import Switch
from core.features.ground import Made
from core.measure.drawing.words import gathered_remarks

if TYPE_CHECKING:
    from app.steps.measure.outline_file.draft import PartDraft

TWO, ONE = "two", "one"
_NO_SEAT: Final = "A part is built round its seat. Say above which outline is the seat's outer wall."
_MADE: Final = ((Made.DRILLED.value, "drilled"), (Made.CORED.value, "cored"))


class PartForm(QWidget):
    """A few answers, what is assumed, and the button.

    Attributes:
        wanted: the user wants the part.
    """

    wanted = Signal()

    def __init__(self, draft: PartDraft, parent: QWidget | None = None, *, has_style: bool) -> None:
        """A form; ``has_style`` where no project says yet how lengths are shown."""
        super().__init__(parent)
        self._draft = draft
        column = bare(QVBoxLayout(self), self.fontMetrics().height() // 3)
        column.addWidget(Heading("Make a new part of this drawing", self))
        self.kind = Switch([(TWO, "base and lid"), (ONE, "one ring")], "Kind of part", self)
        self.kind.chosen.connect(lambda key: draft.set_two_piece(key == TWO))
        column.addWidget(self.kind)
        self.form = Form(draft, self)
        if has_style:
            self.form.switch("style", label="Lengths in")
        self.form.field("name", chars=10, is_wide=True)
        self.form.rows("material", "rim.thickness", "height", of="old_insert")
        self.form.rows(GAP, "housing.base.seat.gap_inner", "housing.base.seat.depth", "housing.base.floor")
        more = self.form.fold("Lip, rim and holes")
        more.note("The rim's width counts where the drawing has no inner wall of the seat.")
        more.rows("housing.base.lip.height", "old_insert.rim.width")
        holes = QWidget(more)
        row = bare(QHBoxLayout(holes))
        row.addWidget(QLabel("Holes are", holes))
        self.made = Switch(_MADE, "Holes are", holes)
        row.addWidget(self.made, 1)
        self.made.chosen.connect(lambda key: draft.set_made(Made(key)))
        more.widget(holes)
        column.addWidget(self.form)
        if not has_style:
            column.addWidget(QuietLabel("It opens in place of the project that is open now.", self, wrap=True))
        self.remarks = QuietLabel("", self, wrap=True)
        column.addWidget(self.remarks)
        self.trouble = Refusal(self)
        column.addWidget(self.trouble)
        self.button = QPushButton("Make a new part of this drawing", self)
        self.button.clicked.connect(self.wanted)
        column.addWidget(self.button)
        draft.previewed.connect(self._refresh)
        self._refresh()

    def _refresh(self) -> None:
        draft = self._draft
        self.kind.put(TWO if draft.is_two_piece else ONE)
        self.made.put(draft.made.value)
        part = draft.part
        self.button.setEnabled(part is not None and not draft.is_busy)
        self.trouble.tell(draft.why_not())
        for widget in (self.kind, self.form):
            widget.setVisible(draft.has_seat)
        said = () if part is None else gathered_remarks(remark.show(draft.show_length) for remark in part.remarks)
        self.remarks.tell("\n".join(said) if draft.has_seat else _NO_SEAT)
