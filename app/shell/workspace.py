"""The board: rail and form on the left, the sheet in the middle, the verdict list always in sight on the right.

The first frame shows the plan alone; all else is imported and built after it, or when it is first asked for.
"""

from __future__ import annotations

from functools import cached_property
from itertools import pairwise
from typing import TYPE_CHECKING, cast

from PySide6.QtCore import QSize, Qt, QTimer, Signal
from PySide6.QtGui import QFontInfo, QKeyEvent, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QStackedWidget, QVBoxLayout, QWidget

from app.drawing.plan.view import PlanView
from app.shell.columns import READING, Columns, columns
from app.shell.rail import TITLES, Rail
from app.shell.sheet import Sheet
from app.widgets.column import Column
from app.widgets.theme import ink

if TYPE_CHECKING:
    from pathlib import Path

    from app.session.session import Session
    from app.shell.parts import Parts
    from app.steps.dialogs import Dialogs
    from app.steps.measure.step import MeasureStep
    from app.steps.step import Step
    from app.widgets.grid import FieldWidget

_FORM_CHARS = 58  # as wide as the widest form, so that no form that comes moves the plan
_LEAST = (760, 440)
FIT = 2


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
        self._forms: list[Column] = []
        self._columns: Columns | None = None
        self.rail = Rail(self)
        self.rail.chosen.connect(self.go_to)
        self.forms = QStackedWidget(self)
        self.plan = PlanView(session, self)
        self.sheet = Sheet(session, self.plan, self)
        self.plan.alone_asked.connect(lambda: self.show_alone(is_alone=not self._is_alone))
        self._lay_out()
        session.changed.connect(self._refresh)
        session.judged.connect(self._refresh)
        session.replaced.connect(self._rebuild)
        session.asked_for.connect(self.reach)
        self._rebuild()

    # What is built when it is asked for

    @cached_property
    def parts(self) -> Parts:
        """All round the plan, built and put in its places when it is first asked for."""
        from app.shell.parts import Parts  # noqa: PLC0415 - the first frame does not wait for these modules

        parts = Parts(self.session, self._dialogs, self, write_outlines=self.show_export)
        self.plan.gap_factor_changed.connect(parts.legend.set_gap_factor)
        parts.legend.set_gap_factor(self.plan.gap_factor)
        parts.export.left.connect(lambda: self.go_to(FIT))
        parts.export.written.connect(self.written)
        parts.band.toggled.connect(self._show_left)
        self.sheet.furnish(parts.legend, parts.section, parts.chart)
        self._over.insertWidget(0, parts.band)
        self.forms.addWidget(parts.export_column)
        return parts

    @property
    def _has_parts(self) -> bool:
        return "parts" in self.__dict__

    @property
    def steps(self) -> tuple[Step, ...]:
        """The forms of all steps, which builds those that are not built yet."""
        return tuple(self.step(number) for number in range(len(TITLES)))

    def step(self, number: int) -> Step:
        """The form of a step, built when it is first asked for."""
        if number not in self._steps:
            step = self._steps[number] = self._made(number)
            self._forms[number].fill(step)
            self._order_tabs()
        return self._steps[number]

    def _made(self, number: int) -> Step:
        if number > 0:
            return self.parts.later_step(number)
        step = self.parts.measure()
        step.board_changed.connect(self._show_middle)
        step.part_made.connect(self.part_made)
        return step

    @property
    def measure(self) -> MeasureStep:
        """The first step."""
        return cast("MeasureStep", self.step(0))

    # Where the user is

    @property
    def step_number(self) -> int:
        """The step that is shown, from 0; the outlines' form and the list belong to the step they are opened in."""
        return self._number

    _number = 0

    def go_to(self, number: int) -> None:
        """Show a step's form."""
        self.step(number)
        self._number = number
        self.rail.put(number)
        self.parts.verdicts.show_step(number)
        self.sheet.show_step(has_cut=self._has_cut_beside())
        self.parts.band.setChecked(number == FIT)
        self._show_left()
        self._show_middle()

    @property
    def is_alone(self) -> bool:
        """Whether the sheet is seen without the columns beside it."""
        return self._is_alone

    _is_alone = False

    def show_alone(self, *, is_alone: bool) -> None:
        """Show the sheet alone, or with all that stands beside it."""
        self._is_alone = is_alone
        for part in (self.rail, self.forms, *self._rules):
            part.setVisible(not is_alone)
        self._settle_right()

    def _settle_right(self) -> None:
        has_column = not self._is_alone and not (self._columns is not None and self._columns.has_band)
        for part in (self._right, self._right_rule):
            part.setVisible(has_column)

    def places(self) -> tuple[QWidget, ...]:
        """The parts that the focus goes round: rail, form, sheet, list."""
        rail = self.rail.buttons[self._number]
        list_ = self.parts.band if self.parts.band.isVisible() else self.parts.verdicts
        return rail, self.forms, self.plan if self.plan.isVisible() else self.middle, list_

    def keyPressEvent(self, event: QKeyEvent) -> None:
        if event.key() == Qt.Key.Key_Escape and self._is_alone:
            self.show_alone(is_alone=False)
        else:
            super().keyPressEvent(event)

    def show_export(self) -> None:
        """Show the form that writes the outlines, in place of the fit's."""
        self.go_to(FIT)
        self.parts.band.setChecked(False)
        self.parts.verdicts.show_step(FIT, is_writing=True)
        self.forms.setCurrentWidget(self.parts.export_column)
        self.parts.export.write_button.setFocus(Qt.FocusReason.OtherFocusReason)

    def open_measured(self, way: str, path: Path) -> None:
        """Open a file with a way to measure, by its key."""
        self.go_to(0)
        self.measure.open_file(way, path)

    def go_to_list(self) -> None:
        """Bring the focus to the verdict list."""
        self.parts.band.setChecked(True)
        self._show_left()
        self.parts.verdicts.take_focus()

    def reach(self, path: str) -> bool:
        """Bring the focus to the field of a path, or of what holds it; False when no form has one."""
        while path:
            limit = self.parts.verdicts.find_field(path)
            if limit is not None:
                if self._number == 1:
                    self.go_to(FIT)
                self.parts.band.setChecked(True)
                limit.setFocus(Qt.FocusReason.ShortcutFocusReason)
                return True
            for number in sorted(range(len(TITLES)), key=lambda n: n != self.step_number):
                field = self.step(number).find_field(path)
                if field is not None:
                    self.go_to(number)
                    self._bring_in_sight(number, field)
                    return True
            path = path.rpartition(".")[0]
        return False

    def _bring_in_sight(self, number: int, field: FieldWidget) -> None:
        self._forms[number].show_widget(field)
        field.setFocus(Qt.FocusReason.ShortcutFocusReason)

    def _show_left(self) -> None:
        """The step's form; over it the verdict list, where that has no column of its own and was asked for."""
        parts = self.parts
        has_band = self._columns is not None and self._columns.has_band
        holder = self._over_form if has_band else self._right
        if parts.verdicts.parentWidget() is not holder:
            layout = holder.layout()
            assert layout is not None
            layout.addWidget(parts.verdicts)
            parts.verdicts.show()
        parts.band.setVisible(has_band)
        if has_band and parts.band.isChecked():
            self.forms.setCurrentWidget(self._over_form)
        else:
            self.forms.setCurrentIndex(self._number)

    def _has_cut_beside(self) -> bool:
        """In Fit the cut stands beside the sheet; in a narrow window the list has its place."""
        return self._number == FIT and not (self._columns is not None and self._columns.has_band)

    def _show_middle(self) -> None:
        """The sheet, or the board of the way to measure that is chosen."""
        board = self.measure.board if self._number == 0 and 0 in self._steps else None
        shown = self.sheet if board is None else board
        if self.middle.indexOf(shown) < 0:
            self.middle.addWidget(shown)
        self.middle.setCurrentWidget(shown)
        self._order_tabs()

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

    # How it is laid out

    def _lay_out(self) -> None:
        self.middle = QStackedWidget(self)
        self.middle.addWidget(self.sheet)
        over = QWidget(self)
        self._over = QVBoxLayout(over)
        self._right, self._over_form = QWidget(self), QWidget(self)
        for holder in (self._right, self._over_form):
            QVBoxLayout(holder)
        self._right_rule, self._rules = Rule(self), (Rule(self), Rule(self))
        row = QHBoxLayout(self)
        for layout in (row, self._over, self._right.layout(), self._over_form.layout()):
            assert layout is not None
            layout.setContentsMargins(0, 0, 0, 0)
            layout.setSpacing(0)
        self._over.addWidget(self.middle)
        for part, stretch in (
            (self.rail, 0), (self._rules[0], 0), (self.forms, 0), (self._rules[1], 0), (over, 1),
            (self._right_rule, 0), (self._right, 0),
        ):  # fmt: skip
            row.addWidget(part, stretch)

    def minimumSizeHint(self) -> QSize:
        # Not what the columns of now need: a narrower window has fewer of them.
        unit = QFontInfo(self.font()).pixelSize() / READING
        return QSize(round(_LEAST[0] * unit), round(_LEAST[1] * unit))

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        em = QFontInfo(self.font()).pixelSize()
        least = self.fontMetrics().averageCharWidth() * _FORM_CHARS
        found = columns(self.width(), self.height(), em, least)
        if found != self._columns:
            self._columns = found
            self.forms.setFixedWidth(found.left)
            self._right.setFixedWidth(found.verdict)
            self._settle_right()
            if self._has_parts:
                self.sheet.show_step(has_cut=self._has_cut_beside())
                self._show_left()

    def paintEvent(self, event: QPaintEvent) -> None:
        super().paintEvent(event)
        if not self._has_parts:  # this frame shows the plan; the next has all
            QTimer.singleShot(0, self, self._complete)

    def _complete(self) -> None:
        if not self._has_parts:  # nobody was quicker
            self.go_to(self._number)

    def _rebuild(self) -> None:
        self._let_go_of_boards()
        for column in self._forms:
            self.forms.removeWidget(column)
            column.hide()
            column.deleteLater()
        self._steps = {}
        self._forms = [Column(parent=self.forms) for _ in TITLES]
        for place, column in enumerate(self._forms):
            self.forms.insertWidget(place, column)
        if self.forms.indexOf(self._over_form) < 0:
            self.forms.addWidget(self._over_form)
        if self._has_parts:
            self.go_to(self._number)
        else:
            self.forms.setCurrentIndex(0)
            self.rail.put(0)
        self._refresh()

    def _order_tabs(self) -> None:
        """As one reads: rail, form, sheet, list. Qt itself goes by age, and forms are built anew."""
        parts: list[QWidget] = [*self.rail.buttons]
        for column in (*self._forms, self.parts.export_column):
            parts += _focusable(column, self.window())
        shown = self.middle.currentWidget()
        if shown is None or shown is self.sheet:
            sheet = self.sheet
            parts += [sheet.ends, sheet.whole, sheet.legend_button, self.plan, sheet.cut_line, self.parts.section]
            parts += [sheet.gap_line, self.parts.chart]
        else:
            parts += _focusable(shown, self.window())
        parts += _focusable(self.parts.verdicts, self.window())
        for before, after in pairwise(parts):
            QWidget.setTabOrder(before, after)

    def _refresh(self) -> None:
        session = self.session
        self.rail.show_verdict(FIT, session.result.overall if session.is_judged else None)


def _focusable(owner: QWidget, window: QWidget) -> list[QWidget]:
    """What the tab key may reach in a widget; lists that drop down have windows of their own."""
    return [
        widget
        for widget in owner.findChildren(QWidget)
        if widget.focusPolicy() & Qt.FocusPolicy.TabFocus and widget.window() is window
    ]
