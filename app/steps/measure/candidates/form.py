"""The form of the candidates: one at a time with its sizes, and the files that they come from and go to."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QComboBox, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from app.session.words import said
from app.steps.measure.sizes.sizes import WHEN_EMPTY
from app.steps.step import Step
from app.widgets.forms import Form
from app.widgets.labels import Heading, QuietLabel, Refusal, Words
from app.widgets.layouts import bare
from core.files.candidates.file import load_inserts, save_to_library
from core.words.errors import UserError

if TYPE_CHECKING:
    from app.session.session import Session
    from app.steps.dialogs import MeasuringDialogs
    from app.steps.measure.candidates.state import CandidatesState
    from app.widgets.grid import FieldWidget
    from core.part.insert import Insert

ABOUT: Final = (
    "What else can be bought. Each is tried here as the new insert: as a new pattern, and on the castings from the "
    "shelf. A catalogue's sizes are nominal: measure a sample before anything is cut."
)
NONE_YET: Final = "There is none yet. One that is added begins as a copy of the new insert."
TABLE_HINT: Final = (
    "A table has heads like name, shape, length [mm], width, height, rim width, rim thickness; what is missing is as "
    "in the new insert."
)


class CandidatesForm(Step):
    """Choose, add, describe and remove candidates; read and write files of them."""

    title = "Candidates"

    def __init__(
        self, session: Session, state: CandidatesState, dialogs: MeasuringDialogs, parent: QWidget | None = None
    ) -> None:
        super().__init__(session, parent)
        self._state, self._dialogs = state, dialogs
        self._number = -1  # of the candidate whose fields are shown
        self._made_of = (-1, "")
        self._fields: Form | None = None
        space = self.fontMetrics().height() // 3
        self.column.setSpacing(space)
        self.column.addWidget(Heading("Candidates", self))
        self.column.addWidget(QuietLabel(ABOUT, self, wrap=True))
        self.chooser = QComboBox(self)
        self.chooser.setAccessibleName("Candidate")
        self.chooser.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.chooser.setMinimumContentsLength(10)
        self.chooser.activated.connect(lambda number: state.choose(number + 1))
        self.add_button = self._button("Add", self._add)
        self.remove_button = self._button("Remove", self._remove)
        self._row(self.chooser, self.add_button, self.remove_button)
        self._none = QuietLabel(NONE_YET, self, wrap=True)
        self.column.addWidget(self._none)
        self._holder = QWidget(self)  # made here, so that its fields are reached between the buttons, as one reads
        self._place = bare(QVBoxLayout(self._holder))
        self.column.addWidget(self._holder)
        self.column.addWidget(Heading("From and to files", self))
        self.column.addWidget(QuietLabel(TABLE_HINT, self, wrap=True))
        self.table_button = self._button("From a CSV file …", self._read)
        self.library_button = self._button("From my library …", self._read)
        self.save_button = self._button("Save to my library …", self._save)
        self._row(self.table_button, self.library_button)
        self._row(self.save_button)
        self.refusal = Refusal(self)
        self.remarks = Words("", self)
        self.remarks.setTextFormat(Qt.TextFormat.PlainText)
        self.remarks.hide()
        self.column.addWidget(self.refusal)
        self.column.addWidget(self.remarks)
        self.column.addStretch(1)
        session.changed.connect(self._refresh)
        state.chose.connect(self._chose)
        self._refresh()

    def find_field(self, path: str) -> FieldWidget | None:
        for number in range(len(self.session.project.candidates)):
            if path == f"candidates[{number}]" or path.startswith(f"candidates[{number}]."):
                self._state.choose(number + 1)
                self._show(number)
        return super().find_field(path)

    # What is shown

    def _chose(self, entry: int) -> None:
        if entry > 0:
            self._show(entry - 1)

    def _show(self, number: int) -> None:
        self._number = number
        self._refresh()

    def _refresh(self) -> None:
        candidates = self.session.project.candidates
        self._number = min(max(self._number, 0), len(candidates) - 1)
        names = [insert.name for insert in candidates]
        if names != [self.chooser.itemText(i) for i in range(self.chooser.count())]:
            self.chooser.clear()
            self.chooser.addItems(names)
        self.chooser.setCurrentIndex(self._number)
        for widget in (self.chooser, self.remove_button, self.save_button):
            widget.setEnabled(bool(names))
        self._none.setVisible(not names)
        insert = candidates[self._number] if names else None
        # Which fields there are depends on the shape alone; the rest they refresh themselves.
        made_of = (self._number, "" if insert is None else f"{insert.family} {len(names)}")
        if made_of != self._made_of:
            self._made_of = made_of
            self._rebuild(insert)

    def _rebuild(self, insert: Insert | None) -> None:
        focused = getattr(self.focusWidget(), "path", "")
        if self._fields is not None:
            self._place.removeWidget(self._fields)
            self._fields.hide()
            self._fields.deleteLater()
        self.forms = []
        self._fields = None
        if insert is None:
            return
        form = self._fields = self._form_of(insert, f"candidates[{self._number}]")
        self.forms = [form]
        self._place.addWidget(form)
        form.show()
        self._order_tabs()
        if focused and (field := form.find_field(focused)) is not None:
            field.setFocus(Qt.FocusReason.OtherFocusReason)

    def _form_of(self, insert: Insert, path: str) -> Form:
        form = Form(self.session, self._holder)
        own = [name for name in WHEN_EMPTY if insert.family.kind.has(name)]
        form.rows("name", "family", "length", "width", *own, "height", of=path, when_empty=WHEN_EMPTY)
        form.rows("rim.width", "rim.thickness", "rim.outset", "material", of=path)
        inner = form.fold("Lid rim, when it differs")
        inner.note("Empty fields are as at the base. Type a size and the lid's rim has its own.")
        names = ("width", "thickness", "outset")
        inner.rows(*names, of=f"{path}.lid_rim", when_empty=dict.fromkeys(names, lambda _: "as base"))
        return form

    def _order_tabs(self) -> None:
        fields = [] if self._fields is None else self._fields.fields()
        buttons = (self.table_button, self.library_button, self.save_button)
        for before, after in pairwise([self.chooser, self.add_button, self.remove_button, *fields, *buttons]):
            QWidget.setTabOrder(before, after)

    # What the buttons do

    def _add(self) -> None:
        if self._state.add_copy() and self._fields is not None:
            self._fields.fields()[0].setFocus(Qt.FocusReason.OtherFocusReason)

    def _remove(self) -> None:
        self._state.remove(self._number)

    def _read(self) -> None:
        path = self._dialogs.ask_candidates(self)
        if path is None:
            return
        project = self.session.wanted
        try:
            read = load_inserts(path, project.new_insert, project.style)
        except UserError as error:
            self._say(said(error, "", project))
            return
        if self._state.add(read.inserts, f"candidates from {path.name}"):
            count = "1 candidate" if len(read.inserts) == 1 else f"{len(read.inserts)} candidates"
            remarks = [remark.show(self.session.show_length) for remark in read.remarks]
            self._say("", "; ".join([f"{count} from {path.name}", *remarks]) + ".")

    def _save(self) -> None:
        path = self._dialogs.ask_candidates_target(self)
        if path is None:
            return
        candidates = self.session.wanted.candidates
        try:
            kept = save_to_library(candidates, path)
        except UserError as error:
            self._say(said(error, "", self.session.project))
            return
        more = len(kept) - len(candidates)
        others = f" beside the {more} that it held" if more else ""
        self._say("", f"{len(candidates)} saved to {path.name}{others}; the version before is kept.")

    def _say(self, trouble: str, remark: str = "") -> None:
        self.refusal.tell(trouble)
        self.remarks.tell(remark)

    def _button(self, text: str, action: object) -> QPushButton:
        button = QPushButton(text, self)
        button.clicked.connect(action)
        return button

    def _row(self, *widgets: QWidget) -> None:
        row = QHBoxLayout()
        for widget in widgets:
            row.addWidget(widget, 1 if isinstance(widget, QComboBox) else 0)
        if not isinstance(widgets[0], QComboBox):
            row.addStretch(1)
        self.column.addLayout(row)
