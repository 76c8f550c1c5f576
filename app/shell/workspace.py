"""The board: rail and form on the left, the drawings in the middle, the checks always in sight on the right.

The first frame shows the plan alone; all else is imported and built after it, or when it is first asked for.
"""

from __future__ import annotations

from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING, cast

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QPainter, QPaintEvent, QResizeEvent, QShowEvent
from PySide6.QtWidgets import QHBoxLayout, QSplitter, QStackedWidget, QToolButton, QVBoxLayout, QWidget

from app.drawing.plan.view import PlanView
from app.session import settings
from app.shell.rail import TITLES, Rail
from app.widgets.column import Column
from app.widgets.switch import Switch
from app.widgets.theme import ink
from core.words.ends import End

if TYPE_CHECKING:
    from app.session.session import Session
    from app.shell.parts import Parts
    from app.steps.dialogs import Dialogs
    from app.steps.measure.step import MeasureStep
    from app.steps.step import Step
    from app.widgets.forms import FieldWidget

_FORM_CHARS = 58  # as wide as the widest form, so that no form that comes moves the plan
_CHECKS_CHARS = 56
_NARROW_CHECKS_CHARS = 45
_ROOMY_BOARD_CHARS = 110  # a board as wide needs nothing of the checks' room
_ROOMY_LINES = 66  # where a legend of three rows takes little from the plan
_CHECKS_PARTS = (0.6, 0.4)  # findings, changes
_DRAWING_PARTS = (0.56, 0.22, 0.22)  # plan, section, gap chart


class Rule(QWidget):
    """A thin upright line between two parts of the board."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setFixedWidth(1)

    def paintEvent(self, _event: QPaintEvent) -> None:
        with QPainter(self) as painter:
            painter.fillRect(self.rect(), ink(self.palette()).neutral)


class Workspace(QWidget):
    """All parts of the board around one session.

    Attributes:
        part_made: a new `Project` that was made of an old drawing.
        written: outlines were written, with their report.
    """

    part_made = Signal(object)
    written = Signal(object)

    def __init__(self, session: Session, dialogs: Dialogs, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.session = session
        self._dialogs = dialogs
        self._steps: dict[int, Step] = {}
        self._columns: list[Column] = []  # none until all parts are built
        self._is_laid_out = False
        self._shared: list[int] | None = None  # widths to come back to when the measuring is over
        self.rail = Rail(self)
        self.rail.chosen.connect(self.go_to)
        self.forms = QStackedWidget(self)
        self.forms.setMinimumWidth(self.fontMetrics().averageCharWidth() * _FORM_CHARS)
        self.plan = PlanView(session, self)
        self._lay_out()
        session.changed.connect(self._refresh)
        session.judged.connect(self._refresh)
        session.replaced.connect(self._rebuild)
        session.asked_for.connect(self.reach)
        self._rebuild()

    @cached_property
    def parts(self) -> Parts:
        """All round the plan, built and put in its places when it is first asked for."""
        from app.shell.parts import Parts  # noqa: PLC0415 - the first frame does not wait for these modules

        parts = Parts(self.session, self._dialogs, self)
        self.plan.gap_factor_changed.connect(parts.legend.set_gap_factor)
        parts.legend.set_gap_factor(self.plan.gap_factor)
        parts.export.left.connect(lambda: self.go_to(len(TITLES) - 1))
        parts.export.written.connect(self.written)
        self._place(self.down, (None, parts.section, parts.chart))
        self._place(self.checks, (parts.verdicts, parts.changes))
        self._under_plan.addWidget(parts.legend)
        self.forms.addWidget(parts.export_column)
        parts.legend.setVisible(self.legend_button.isChecked())
        self.legend_button.toggled.connect(parts.legend.setVisible)
        return parts

    @property
    def _has_parts(self) -> bool:
        return "parts" in self.__dict__

    @staticmethod
    def _place(splitter: QSplitter, parts: tuple[QWidget | None, ...]) -> None:
        """Put parts where empty widgets keep their room."""
        for place, part in enumerate(parts):
            if part is not None and (before := splitter.replaceWidget(place, part)) is not None:
                before.deleteLater()

    @property
    def steps(self) -> tuple[Step, ...]:
        """The forms of all steps, which builds those that are not built yet."""
        return tuple(self.step(number) for number in range(len(TITLES)))

    def step(self, number: int) -> Step:
        """The form of a step, built when it is first asked for."""
        if number not in self._steps:
            step = self._steps[number] = self._made(number)
            self._columns[number].fill(step)
            self._order_tabs()
        return self._steps[number]

    def _made(self, number: int) -> Step:
        if number > 0:
            return self.parts.later_step(number, self.show_export)
        step = self.parts.measure()
        step.board_changed.connect(self._show_middle)
        step.part_made.connect(self.part_made)
        return step

    @property
    def step_number(self) -> int:
        """The step that is shown, from 0; the outlines' form counts as the fit."""
        return min(self.forms.currentIndex(), len(TITLES) - 1)

    def go_to(self, number: int) -> None:
        """Show a step's form."""
        self.step(number)
        self.forms.setCurrentIndex(number)
        self.rail.put(number)
        self._show_middle()

    def show_export(self) -> None:
        """Show the form that writes the outlines, in place of the fit's."""
        self.go_to(len(TITLES) - 1)
        self.forms.setCurrentWidget(self.parts.export_column)
        self.parts.export.write_button.setFocus(Qt.FocusReason.OtherFocusReason)

    def reach(self, path: str) -> bool:
        """Bring the focus to the field of a path, or of what holds it; False when no form has one."""
        while path:
            for number in sorted(range(len(TITLES)), key=lambda n: n != self.step_number):
                field = self.step(number).find_field(path)
                if field is not None:
                    self.go_to(number)
                    self._bring_in_sight(field)
                    return True
            path = path.rpartition(".")[0]
        return False

    @property
    def measure(self) -> MeasureStep:
        """The first step."""
        return cast("MeasureStep", self.step(0))

    def _show_middle(self) -> None:
        """The drawings, or the board of the way to measure that is chosen."""
        board = self.measure.board if self.step_number == 0 and 0 in self._steps else None
        shown = self.down if board is None else board
        if self.middle.indexOf(shown) < 0:
            self.middle.addWidget(shown)
        self.middle.setCurrentWidget(shown)
        self._share_width(is_measuring=board is not None)
        self._order_tabs()

    def _share_width(self, *, is_measuring: bool) -> None:
        """While something is measured its board gets the room that the checks can spare; then all is as it was."""
        if not self._is_laid_out or is_measuring == (self._shared is not None):
            return
        if self._shared is not None:
            self.across.setSizes(self._shared)
            self._shared = None
            return
        left, middle, right = sizes = self.across.sizes()
        if middle >= self.fontMetrics().averageCharWidth() * _ROOMY_BOARD_CHARS:
            return
        self._shared = sizes
        spare = max(right - self.fontMetrics().averageCharWidth() * _NARROW_CHECKS_CHARS, 0)
        self.across.setSizes([left, middle + spare, right - spare])

    def _let_go_of_boards(self) -> None:
        """The boards belong to forms that are built anew."""
        if 0 in self._steps:
            self.measure.close_down()
        while (board := self.middle.widget(1)) is not None:
            self.middle.removeWidget(board)
            board.hide()
            board.deleteLater()

    def close_down(self) -> None:
        """Wait for what runs beside the window."""
        if 0 in self._steps:
            self.measure.close_down()
        if self._has_parts:
            self.parts.export.close_down()
        self.session.close()

    def _bring_in_sight(self, field: FieldWidget) -> None:
        column = self.forms.currentWidget()
        assert isinstance(column, Column)
        column.show_widget(field)
        field.setFocus(Qt.FocusReason.ShortcutFocusReason)

    def _lay_out(self) -> None:
        left = self._left = QWidget(self)
        left_row = QHBoxLayout(left)
        left_row.setContentsMargins(0, 0, 0, 0)
        left_row.setSpacing(0)
        for part in (self.rail, Rule(left), self.forms, Rule(left)):
            left_row.addWidget(part)
        self.across = QSplitter(Qt.Orientation.Horizontal, self)
        self.across.setChildrenCollapsible(False)
        self.across.addWidget(left)
        self.middle = QStackedWidget(self)
        self.middle.addWidget(self._drawings())
        self.across.addWidget(self.middle)
        self.across.addWidget(self._checks())
        for i, stretch in enumerate((0, 1, 0)):
            self.across.setStretchFactor(i, stretch)
        row = QHBoxLayout(self)
        row.setContentsMargins(0, 0, 0, 0)
        row.addWidget(self.across)

    def _drawings(self) -> QWidget:
        self.ends = Switch([(str(end), str(end).capitalize()) for end in End], "Piece shown", self)
        self.ends.chosen.connect(lambda key: self.session.show_end(End(key)))
        self.session.shown_end_changed.connect(lambda end: self.ends.put(str(end)))
        head = QHBoxLayout()
        side = self.fontMetrics().height() // 2
        head.setContentsMargins(side, side // 2, side, side // 2)
        head.addWidget(self.ends)
        head.addStretch(1)
        self.legend_button = QToolButton(self)
        self.legend_button.setText("Legend")
        self.legend_button.setToolTip("What the lines, fills and marks of the drawings mean")
        self.legend_button.setCheckable(True)
        self.legend_button.setAutoRaise(True)
        self.legend_button.setChecked(False)
        self.legend_button.clicked.connect(lambda is_on: settings.SHOW_LEGEND.put("yes" if is_on else "no"))
        head.addWidget(self.legend_button)
        top = QWidget(self)
        column = self._under_plan = QVBoxLayout(top)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addLayout(head)
        column.addWidget(self.plan, 1)
        self.down = QSplitter(Qt.Orientation.Vertical, self)
        self.down.setChildrenCollapsible(True)
        for part, stretch in ((top, 5), (QWidget(), 2), (QWidget(), 2)):
            self.down.addWidget(part)
            self.down.setStretchFactor(self.down.count() - 1, stretch)
        self.down.setCollapsible(0, False)
        return self.down

    def _checks(self) -> QWidget:
        self.checks = QSplitter(Qt.Orientation.Vertical, self)
        self.checks.setChildrenCollapsible(False)
        self.checks.addWidget(QWidget())
        self.checks.addWidget(QWidget())
        self.checks.setStretchFactor(0, 3)
        self.checks.setStretchFactor(1, 2)
        self.checks.setMinimumWidth(self.fontMetrics().averageCharWidth() * 36)
        return self.checks

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        if not self._is_laid_out:  # from here on the splitters are the user's
            self._is_laid_out = True
            left = self._left.minimumSizeHint().width()
            right = self.fontMetrics().averageCharWidth() * _CHECKS_CHARS
            self.across.setSizes([left, max(self.width() - left - right, 1), right])
            self._settle_legend()
            tall = self.checks.height()
            self.checks.setSizes([round(tall * part) for part in _CHECKS_PARTS])
            tall = self.down.height()
            self.down.setSizes([round(tall * part) for part in _DRAWING_PARTS])

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        if not self._has_parts:  # this frame shows the plan; the next has all
            QTimer.singleShot(0, self, self._complete)

    def _complete(self) -> None:
        if not self._has_parts:  # nobody was quicker
            self.go_to(max(self.step_number, 0))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._settle_legend()

    def _settle_legend(self) -> None:
        """Where the user has not said, the legend shows when it takes little from the plan."""
        is_roomy = self.height() > _ROOMY_LINES * self.fontMetrics().height()
        self.legend_button.setChecked({"yes": True, "no": False}.get(settings.SHOW_LEGEND.get(), is_roomy))

    def _rebuild(self) -> None:
        number = self.step_number
        self._let_go_of_boards()
        for column in self._columns:
            self.forms.removeWidget(column)
            column.hide()
            column.deleteLater()
        session = self.session
        self._steps = {}
        self._columns = [Column(parent=self.forms) for _ in TITLES]
        for place, column in enumerate(self._columns):
            self.forms.insertWidget(place, column)
        self.ends.put(str(session.shown_end))
        self.ends.setVisible(session.project.housing.lid is not None)
        if self._has_parts:
            self.go_to(max(number, 0))
        else:
            self.forms.setCurrentIndex(0)
            self.rail.put(0)
        self._refresh()

    def _order_tabs(self) -> None:
        """As one reads: rail, form, drawings, checks. Qt itself goes by age, and forms are built anew."""
        parts: list[QWidget] = [*self.rail.buttons]
        for column in (*self._columns, self.parts.export_column):
            parts += [
                widget
                for widget in column.findChildren(QWidget)
                if widget.focusPolicy() & Qt.FocusPolicy.TabFocus
                and widget.window() is self.window()  # lists that drop down have windows of their own
            ]
        shown = self.middle.currentWidget()
        if shown is None or shown is self.down:
            parts += [self.ends, self.legend_button, self.plan, self.parts.section, self.parts.chart]
        else:
            parts += [w for w in shown.findChildren(QWidget) if w.focusPolicy() & Qt.FocusPolicy.TabFocus]
        parts += [self.parts.verdicts.answers, self.parts.changes.kept, self.parts.changes.list]
        for before, after in pairwise(parts):
            QWidget.setTabOrder(before, after)

    def _refresh(self) -> None:
        session = self.session
        self.rail.show_verdict(len(TITLES) - 1, session.result.overall if session.is_judged else None)
