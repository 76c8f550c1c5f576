"""The sheet: which piece is seen, the plan, and under it a line each for the cut and the gap, which open."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from app.drawing.gap.words import gap_line
from app.session import settings
from app.widgets.folds import FoldButton
from app.widgets.labels import QuietLabel
from app.widgets.layouts import bare
from app.widgets.switch import Switch
from app.widgets.theme import ink
from core.fit.gaps import has_wall
from core.words.ends import End

if TYPE_CHECKING:
    from app.drawing.plan.view import PlanView
    from app.session.session import Session

_SEEN = {End.BASE: "seen on its joint face", End.LID: "seen through from above"}


class Sheet(QWidget):
    """Head, plan, and what opens under it; cut, chart and legend come later, with `furnish`."""

    def __init__(self, session: Session, plan: PlanView, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session, self._plan = session, plan
        self._cut: QWidget | None = None
        self._has_cut = False
        line = self.fontMetrics().height()
        self.ends = Switch([(str(end), str(end).capitalize()) for end in End], "Piece shown", self)
        self.ends.chosen.connect(lambda key: session.show_end(End(key)))
        self._seen = QuietLabel("", self)
        self.whole = self._word("Whole part", "All of the part in sight (F)")
        self.whole.clicked.connect(lambda _checked=False: plan.fit())
        self.legend_button = self._word("Legend", "What the lines, fills and marks of the drawings mean")
        self.legend_button.setCheckable(True)
        head = QHBoxLayout()
        head.setContentsMargins(line, line // 2, line, line // 2)
        for widget in (self.ends, self._seen):
            head.addWidget(widget)
        head.addStretch(1)
        head.addWidget(self.whole)
        head.addWidget(self.legend_button)
        self._column = bare(QVBoxLayout(self), 0)
        self._column.addLayout(head)
        self._column.addWidget(plan, 5)
        self.cut_line = FoldButton("Cut A–A", self)
        self.gap_line = FoldButton("Gap", self)
        for button in (self.cut_line, self.gap_line):
            policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
            policy.setRetainSizeWhenHidden(True)
            button.setSizePolicy(policy)
            inset = QHBoxLayout()
            inset.setContentsMargins(line, 0, line, 0)
            inset.addWidget(button)
            self._column.addLayout(inset)
        plan.gap_factor_changed.connect(self.say_what_is_seen)
        session.changed.connect(self.say_what_is_seen)
        session.shown_end_changed.connect(self.say_what_is_seen)
        self.say_what_is_seen()

    def furnish(self, legend: QWidget, cut: QWidget, chart: QWidget) -> None:
        """Put in what the first frame does not wait for."""
        for place, part, stretch in ((2, legend, 0), (4, cut, 3), (6, chart, 2)):  # under the plan, and under its line
            self._column.insertWidget(place, part, stretch)
        self._cut = cut
        self._show_cut()
        self.cut_line.toggled.connect(self._show_cut)
        for button, part in ((self.legend_button, legend), (self.gap_line, chart)):
            part.setVisible(button.isChecked())
            button.toggled.connect(part.setVisible)
        self.legend_button.clicked.connect(lambda is_on: settings.SHOW_LEGEND.put("yes" if is_on else "no"))
        self.legend_button.setChecked(settings.SHOW_LEGEND.get() == "yes")

    def show_step(self, *, has_cut: bool) -> None:
        """Whether the cut stands beside the sheet, where it needs no line under it."""
        self._has_cut = has_cut
        self.cut_line.setVisible(not has_cut)
        self._show_cut()

    def _show_cut(self, *_: object) -> None:
        self._plan.show_cut(is_shown=self._has_cut or self.cut_line.isChecked())
        if self._cut is not None:
            self._cut.setVisible(not self._has_cut and self.cut_line.isChecked())

    def say_what_is_seen(self, *_: object) -> None:
        """In the head: how the piece is looked at, and how the gap is drawn."""
        session = self._session
        self.ends.put(str(session.shown_end))
        self.ends.setVisible(session.project.housing.lid is not None)
        factor = self._plan.gap_factor
        housing = session.result.after.housing
        walls = [gap for gap in session.result.gaps if has_wall(housing.piece(gap.end), gap.side)]
        self.gap_line.setText(gap_line(walls, session.show_figure))
        self._seen.setText(f"{_SEEN[session.shown_end]}, {f'gap ×{factor}' if factor > 1 else 'true gap'}")

    def paintEvent(self, _event: QPaintEvent) -> None:
        with QPainter(self) as painter:
            painter.fillRect(self.rect(), ink(self.palette()).paper)

    def _word(self, text: str, tip: str) -> QPushButton:
        button = QPushButton(text, self)
        button.setFlat(True)
        button.setToolTip(tip)
        button.setFocusPolicy(Qt.FocusPolicy.TabFocus)
        return button
