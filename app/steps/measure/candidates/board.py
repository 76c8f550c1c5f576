"""The board of the candidates: the table side by side, and below it the chosen one's rim, reasons, and what to do."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.session.words import said
from app.steps.measure.candidates.drawing import RimDrawing
from app.steps.measure.candidates.state import NEW
from app.steps.measure.candidates.table import CandidatesTable
from app.widgets.fonts import bold
from app.widgets.labels import QuietLabel, Refusal, Words
from app.widgets.layouts import bare
from core.words.lengths import Style

if TYPE_CHECKING:
    from PySide6.QtGui import QHideEvent, QResizeEvent, QShowEvent

    from app.steps.measure.candidates.state import CandidatesState
    from core.measure.candidates.results import Candidate

_UNITS: Final = {Style.MM: "lengths in mm", Style.INCH: "lengths in inches", Style.FRACTION: "lengths in inches"}
ALONE: Final = "Only the new insert is here. Add a candidate at the left, or read a list of them from a file."


class CandidatesBoard(QWidget):
    """Table, drawing, reasons, buttons."""

    def __init__(self, state: CandidatesState, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._state = state
        self._session = state.session
        self._title = QLabel("Best at the left", self)
        self._title.setFont(bold(self.font()))
        self.status = QuietLabel("", self)
        self.stop_button = QToolButton(self)
        self.stop_button.setAutoRaise(True)
        self.stop_button.clicked.connect(lambda: state.stop() if state.is_running else state.start())
        self.table = CandidatesTable(state, self)
        self.alone = QuietLabel(ALONE, self, wrap=True)
        self.drawing = RimDrawing(state, self)
        self.words = Words("", self)
        self.words.setTextFormat(Qt.TextFormat.RichText)
        self.words.setAlignment(Qt.AlignmentFlag.AlignTop)
        self.words.setTextInteractionFlags(Qt.TextInteractionFlag.TextSelectableByMouse)
        self.reasons = QScrollArea(self)
        self.reasons.setWidget(self.words)
        self.reasons.setWidgetResizable(True)
        self.reasons.setFrameShape(QFrame.Shape.NoFrame)
        self.reasons.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.reasons.setAccessibleName("Reasons")
        self.take_button = self._button("Make this the new insert", self._take)
        self.press_button = self._button("Take it pressed to the old shape", self._take_pressed)
        self.refusal = Refusal(self)
        self._lay_out()
        self.table.asked.connect(self._go_to_field)
        state.changed.connect(self._refresh)
        state.chose.connect(self._refresh)
        state.progressed.connect(self._tell_progress)
        self._session.refused.connect(self._on_refused)
        self._refresh()

    def _lay_out(self) -> None:
        side = self.fontMetrics().height() // 2
        around = (side, side // 2, side, side // 2)
        self.alone.setContentsMargins(*around)
        self.words.setContentsMargins(side, 0, side, side)
        head = QHBoxLayout()
        head.setContentsMargins(*around)
        head.addWidget(self._title)
        head.addSpacing(side)
        head.addWidget(self.status, 1)
        head.addWidget(self.stop_button)
        below = QHBoxLayout()
        below.setSpacing(0)
        below.addWidget(self.drawing, 2)
        below.addWidget(self.reasons, 3)
        buttons = self._buttons = QHBoxLayout()
        buttons.setContentsMargins(*around)
        buttons.setSpacing(side)
        buttons.addWidget(self.take_button)
        buttons.addWidget(self.press_button)
        buttons.addStretch(1)
        column = bare(QVBoxLayout(self), 0)
        column.addLayout(head)
        column.addWidget(self.table)
        column.addWidget(self.alone)
        column.addLayout(below, 1)
        column.addWidget(self.refusal)
        column.addLayout(buttons)

    def minimumSizeHint(self) -> QSize:
        # As narrow as the other boards: in a row the buttons would widen the window past a small screen.
        margins = self._buttons.contentsMargins()
        buttons = max(button.sizeHint().width() for button in (self.take_button, self.press_button))
        parts = (self.table.minimumSizeHint().width(), buttons + margins.left() + margins.right())
        return QSize(max(parts), super().minimumSizeHint().height())

    def resizeEvent(self, event: QResizeEvent) -> None:
        margins, gap = self._buttons.contentsMargins(), self._buttons.spacing()
        in_a_row = self.take_button.sizeHint().width() + self.press_button.sizeHint().width() + 2 * gap
        fits = in_a_row + margins.left() + margins.right() <= event.size().width()
        ways = QHBoxLayout.Direction
        self._buttons.setDirection(ways.LeftToRight if fits else ways.TopToBottom)
        super().resizeEvent(event)

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._state.watch(True)

    def hideEvent(self, event: QHideEvent) -> None:
        super().hideEvent(event)
        self._state.watch(False)

    def _refresh(self, _entry: int = NEW) -> None:
        state = self._state
        candidate = state.candidate
        self.alone.setVisible(not self._session.project.candidates)
        self.words.setText("" if candidate is None else self._words_of(candidate))
        self.refusal.tell("")
        is_one_of_them = candidate is not None and candidate.index != NEW and not state.is_stale
        is_possible = candidate is not None and candidate.error is None
        self.take_button.setEnabled(is_one_of_them and is_possible)
        self.press_button.setEnabled(is_one_of_them and candidate is not None and candidate.pressed is not None)
        self.stop_button.setText("Stop" if state.is_running else "Compare")
        self.stop_button.setVisible(state.is_running or state.is_stale)
        if not state.is_running:
            told = "not up to date" if state.is_stale else _UNITS[self._session.project.style]
            self.status.setText(state.trouble or told)

    def _tell_progress(self, part: float) -> None:
        if self._state.is_running:
            self.status.setText(f"{100.0 * part:.0f} % compared")

    def _words_of(self, candidate: Candidate) -> str:
        show = self._session.show_length
        is_new = " (the new insert now)" if candidate.index == NEW else ""
        head = f"<b>{escape(candidate.insert.name)}</b>{is_new}: {escape(candidate.because.show(show))}."
        reasons = [_capital(sentence.show(show)) for sentence in candidate.reasons]
        if candidate.error is not None:
            reasons.append(_capital(said(candidate.error, "", self._session.project)))
        listed = "".join(f"<p style='margin-top:0.4em; margin-bottom:0'>• {escape(text)}</p>" for text in reasons)
        return f"<p style='margin:0'>{head}</p>{listed}"

    def _take(self) -> None:
        candidate = self._state.candidate
        if candidate is not None and candidate.index != NEW:
            self._state.make_new(candidate.index - 1)

    def _take_pressed(self) -> None:
        candidate = self._state.candidate
        if candidate is not None and candidate.index != NEW and candidate.pressed is not None:
            self._state.make_new(candidate.index - 1, candidate.pressed.pressed)

    def _go_to_field(self, entry: int) -> None:
        self._session.ask_for("new_insert.length" if entry == NEW else f"candidates[{entry - 1}].length")

    def _on_refused(self, path: str, message: str) -> None:
        if path.startswith("candidates[") and path.endswith("]"):  # a candidate as a whole: no field shows it
            self.refusal.tell(message)

    def _button(self, text: str, action: object) -> QPushButton:
        button = QPushButton(text, self)
        button.clicked.connect(action)
        return button


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:] + ("" if text.endswith(".") else ".")
