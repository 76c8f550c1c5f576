"""What the resizing changed: feature, was, now, by how much, and why; on request also what stayed."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QRect, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import QCheckBox, QHBoxLayout, QLabel, QSizePolicy, QVBoxLayout, QWidget

from app.session.settings import SHOW_KEPT
from app.widgets import explain
from app.widgets.fonts import bold
from app.widgets.labels import QuietLabel
from app.widgets.layouts import bare
from app.widgets.row import Line, Row, Text
from app.widgets.rows import Rows
from app.widgets.theme import ink
from core.resize.by_feature import ChangeGroup, by_feature
from core.words.lengths import MINUS, show_length

if TYPE_CHECKING:
    from app.session.session import Session
    from core.part.project import Project
    from core.resize.by_feature import ChangeLine
    from core.resize.changes import Change
    from core.words.lengths import Style

_NONE = "–"


class ChangeList(Rows):
    """Rows of the changes; choosing one goes to its place."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__("Changes", parent, heads=COLUMNS)
        self._session = session
        self._shows_kept = False
        self.chosen.connect(lambda g: session.point_at(None if g is None else g.lines[0].first.place))
        self.asked.connect(lambda g: session.ask_for(g.lines[0].first.place.path))
        self._is_behind = True
        session.changed.connect(self._fall_behind)
        session.settled.connect(self.catch_up)

    def show_kept(self, is_shown: bool) -> None:  # noqa: FBT001 - a check box's signal carries it
        """List what stayed as well."""
        self._shows_kept = is_shown
        self.refresh()

    def changes(self) -> tuple[Change, ...]:
        """What is listed, in its order."""
        self.catch_up()
        groups = (row.value for row in self.rows.rows if isinstance(row.value, ChangeGroup))
        return tuple(change for group in groups for line in group.lines for change in line.changes)

    def _fall_behind(self) -> None:
        self._is_behind = True

    def catch_up(self) -> None:
        """List what has changed since it was listed last."""
        if self._is_behind:
            self.refresh()

    def refresh(self) -> None:
        """List the session's changes."""
        self._is_behind = False
        result = self._session.result
        groups = by_feature(c for c in result.changes if c.is_change or self._shows_kept)
        self.put(group_row(group, result.project) for group in groups)


COLUMNS = ("was", "now", "by")


def group_row(group: ChangeGroup, project: Project) -> Row:
    """A feature with the reason, then a line for each quantity: was, now, by."""
    style = project.style
    title = _capital(group.title or group.why)
    head = Line(Text(title, is_bold=True), right=(Text(group.where, "quiet"),) if group.where else ())
    why = (Line(Text(group.why, "quiet")),) if group.title else ()
    first = group.lines[0].first
    return Row(
        key=(group.title, group.why, group.where),
        value=group,
        lines=(head, *why, *(_line(line, style) for line in group.lines)),
        said=lambda: "; ".join((f"{title} ({group.why})", *(_said(line, style) for line in group.lines))),
        sheet=partial(explain.of_change, project, first),
        is_block=True,
    )


def _line(line: ChangeLine, style: Style) -> Line:
    was, now, by = _figures(line, style)
    is_change = line.first.is_change
    numbers = (Text(was, "quiet"), Text(now), Text(by, is_bold=is_change))
    return Line(Text(line.label, "text" if is_change else "quiet"), right=numbers)


def _figures(line: ChangeLine, style: Style) -> tuple[str, str, str]:
    sign = "±" if line.is_mirrored else ""
    change = line.first
    was, now = (
        _NONE if v is None else sign + show_length(abs(v) if sign else v, style, with_unit=False)
        for v in (change.was, change.now)
    )
    by = show_length(change.by, style, with_unit=False, signed=not sign)
    return was, now, (sign + by.lstrip(MINUS) if sign else by) if change.is_change else "stays"


def _said(line: ChangeLine, style: Style) -> str:
    was, now, by = _figures(line, style)
    return f"{line.label} was {was}, now {now}, {by}"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


class _Head(QWidget):
    """The words over the columns, where the rows have them."""

    def __init__(self, rows: ChangeList, session: Session, parent: QWidget) -> None:
        super().__init__(parent)
        self._rows, self._session = rows, session
        self.unit = ""
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        session.settled.connect(self.update)

    def sizeHint(self) -> QSize:
        return QSize(self.fontMetrics().averageCharWidth() * 20, round(self.fontMetrics().height() * 1.3))

    def paintEvent(self, _event: QPaintEvent) -> None:
        inks = ink(self.palette())
        with QPainter(self) as painter:
            painter.setPen(inks.quiet)
            side = self._rows.fontMetrics().height() // 2
            right = self._rows.viewport().width() - side // 2 - 1
            for i in (2, 1, 0):
                width = self._rows.painter.columns[i]
                cell = QRect(right - width, 0, width, self.height())
                painter.drawText(cell, Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter, COLUMNS[i])
                right -= width + self._rows.painter.space
            if side + self.fontMetrics().horizontalAdvance(self.unit) < right - self._rows.painter.space:
                left = QRect(side, 0, right - side, self.height())
                painter.drawText(left, Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignVCenter, self.unit)
            painter.fillRect(0, self.height() - 1, self.width(), 1, inks.neutral)


class ChangesTable(QWidget):
    """Title, toggle, heads and rows."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self.list = ChangeList(session, self)
        self.kept = QCheckBox("What stayed", self)
        title = QLabel("Changes", self)
        title.setFont(bold(title.font()))
        self._count = QuietLabel("", self)
        self._none = QuietLabel("Nothing has to change: old and new insert want the same housing.", self, wrap=True)
        head = QHBoxLayout()
        side = self.fontMetrics().height() // 2
        head.setContentsMargins(side, side, side, 0)
        head.addWidget(title)
        head.addSpacing(side)
        head.addWidget(self._count)
        head.addStretch(1)
        head.addWidget(self.kept)
        self._none.setAlignment(Qt.AlignmentFlag.AlignTop)
        self._none.setContentsMargins(side, side, side, side)
        column = bare(QVBoxLayout(self), 0)
        column.addLayout(head)
        self._head = _Head(self.list, session, self)
        column.addWidget(self._head)
        column.addWidget(self._none, 1)
        column.addWidget(self.list, 1)
        self.kept.toggled.connect(self._toggled)
        self.kept.setChecked(SHOW_KEPT.get())
        session.settled.connect(self._refresh)
        if session.is_judged:
            self._refresh()

    def _toggled(self, is_shown: bool) -> None:  # noqa: FBT001 - the check box's signal carries it
        SHOW_KEPT.put(is_shown)
        self.list.show_kept(is_shown)
        self._refresh()

    def _refresh(self) -> None:
        changed = sum(c.is_change for c in self._session.result.changes)
        unit = "mm" if str(self._session.project.style) == "mm" else "inches"
        self._count.setText(str(changed) if changed else "")
        self._head.unit = f"in {unit}"
        has_rows = bool(self.list.changes())
        self._none.setVisible(not has_rows)
        for part in (self._head, self.list):
            part.setVisible(has_rows)
