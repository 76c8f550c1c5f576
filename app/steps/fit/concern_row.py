"""One concern in a line: how it stands, how much it has to spare; opened, its limits as fields, and what goes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QAbstractButton, QSizePolicy, QVBoxLayout, QWidget

from app.steps.fit.answers import as_sentence, value_rows
from app.widgets.fonts import bold
from app.widgets.forms import Form
from app.widgets.layouts import bare
from app.widgets.plain import tip
from app.widgets.rows import Rows
from app.widgets.theme import ink, paint_mark
from core.features.stud.engagement import engagement_of
from core.fit.checks.concerns import gauge
from core.words.findings import value_text
from core.words.lengths import Style
from core.words.verdicts import Unit, Verdict

if TYPE_CHECKING:
    from collections.abc import Sequence

    from app.session.session import Session
    from app.widgets.grid import FieldWidget
    from app.widgets.theme import Ink
    from core.fit.checks.concerns import Concern, Standing
    from core.part.project import Project
    from core.words.verdicts import Finding

_NAME, _GAUGE = 0.41, 0.25  # of the row's width
ROW: float = 1.75
"""Height of a row, in heights of the text."""


class ConcernHead(QAbstractButton):
    """The line of a concern: shape, name, gauge, and the least to spare."""

    def __init__(self, title: str, parent: QWidget) -> None:
        super().__init__(parent)
        self.setText(title)
        self.setCheckable(True)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        self._tightest: Finding | None = None
        self._verdict = Verdict.GO
        self._style = Style.MM

    def put(self, standing: Standing | None, style: Style) -> None:
        """Show what has the least to spare where all goes; what does not is told elsewhere."""
        self._verdict = Verdict.GO if standing is None else standing.verdict
        self._tightest = standing.tightest if standing is not None and self._verdict is Verdict.GO else None
        self._style = style
        said = str(self._verdict) if self._tightest is None else as_sentence(self._tightest, style)
        self.setAccessibleName(f"{self.text()}: {said}")
        self.setToolTip(tip(said))
        self.update()

    @property
    def spare(self) -> tuple[str, str]:
        """The least to spare and its unit; empty where nothing was asked for."""
        if self._tightest is None:
            return "", ""
        return spare_text(self._tightest, self._style)

    def sizeHint(self) -> QSize:
        return QSize(self.fontMetrics().averageCharWidth() * 30, round(self.fontMetrics().height() * ROW))

    def paintEvent(self, _event: QPaintEvent) -> None:
        inks, line, room = ink(self.palette()), self.fontMetrics().height(), QRectF(self.rect())
        with QPainter(self) as painter:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            side = line * 0.7
            paint_mark(painter, QRectF(0, (room.height() - side) / 2, side, side), self._verdict, inks)
            left = side + line * 0.6
            painter.setFont(bold(self.font()) if self.isChecked() else self.font())
            painter.setPen(inks.text)
            painter.drawText(room.adjusted(left, 0, 0, 0), Qt.AlignmentFlag.AlignVCenter, self.text())
            painter.setFont(self.font())
            value, unit = self.spare
            wide = self.fontMetrics().horizontalAdvance(" mm²")
            painter.drawText(
                room.adjusted(0, 0, -wide, 0), Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignRight, value
            )
            painter.setPen(inks.quiet)
            painter.drawText(room.adjusted(room.width() - wide, 0, 0, 0), Qt.AlignmentFlag.AlignVCenter, f" {unit}")
            if self._tightest is not None:
                scale = QRectF(room.width() * _NAME, 0, room.width() * _GAUGE, room.height())
                _draw_gauge(painter, scale, self._tightest, inks, line)
            painter.fillRect(QRectF(0, room.bottom() - 1, room.width(), 1), inks.neutral)
            if self.hasFocus():
                painter.fillRect(QRectF(0, room.bottom() - 2, room.width(), 2), inks.highlight)


def spare_text(finding: Finding, style: Style) -> tuple[str, str]:
    """How far a value is inside its limits, and the unit of it apart."""
    text = value_text(max(finding.margin, 0.0), finding.unit, style)
    number, _, unit = text.rpartition(" ")
    return (number, unit) if finding.unit is not Unit.NONE and number else (text, "")


def _draw_gauge(painter: QPainter, room: QRectF, finding: Finding, inks: Ink, line: float) -> None:
    """A scale with a tick at each limit and a dot at the value."""
    place = gauge(finding)
    assert place is not None
    y = room.center().y()
    painter.setPen(QPen(inks.ghost, max(1.0, line / 12)))
    painter.drawLine(QPointF(room.left(), y), QPointF(room.right(), y))
    tick = line * 0.22
    for x, bound in ((room.left(), finding.low), (room.right(), finding.high)):
        if bound is not None:
            painter.drawLine(QPointF(x, y - tick), QPointF(x, y + tick))
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(inks.go)
    painter.drawEllipse(QPointF(room.left() + place * room.width(), y), line * 0.17, line * 0.17)


class ConcernRow(QWidget):
    """A concern that opens in place.

    Attributes:
        opened: this row was opened; the others close.
    """

    opened = Signal(object)

    def __init__(self, session: Session, concern: Concern, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session, self.concern = session, concern
        self.head = ConcernHead(concern.title, self)
        self.head.toggled.connect(self._toggled)
        self._well: Sequence[Finding] = ()
        self._column = bare(QVBoxLayout(self), 0)
        self._column.addWidget(self.head)
        self._body: QWidget | None = None
        self.form: Form | None = None
        self.values: Rows | None = None

    def put(self, standing: Standing | None) -> None:
        """Show how the concern stands; hidden where nothing was checked of it."""
        self._well = () if standing is None else standing.well
        self.setVisible(standing is not None or self.is_open)
        self.head.put(standing, self._session.project.style)
        self._show_values()

    @property
    def is_open(self) -> bool:
        """Whether limits and values show."""
        return self.head.isChecked()

    def find_field(self, path: str) -> FieldWidget | None:
        """The field of a limit; opens the row."""
        group, _, name = path.partition(".")
        if group != "limits" or all(name not in row for row in self.concern.limits):
            return None
        self.show()
        self.head.setChecked(True)
        return None if self.form is None else self.form.find_field(path)

    def _toggled(self, is_open: bool) -> None:  # noqa: FBT001 - Qt's signal carries it
        if is_open and self._body is None:
            self._build()
        if self._body is not None:
            self._body.setVisible(is_open)
        if is_open:
            self._show_values()
            self.opened.emit(self)

    def _build(self) -> None:
        body = self._body = QWidget(self)
        column = QVBoxLayout(body)
        line = self.fontMetrics().height()
        column.setContentsMargins(0, line // 3, 0, line // 2)
        column.setSpacing(line // 3)
        form = self.form = Form(self._session, body)
        for names in self.concern.limits:
            paths = [f"limits.{name}" for name in names]
            if len(paths) > 1:
                form.pair(paths[0], paths[1], label=_both(form, paths[0], self.concern.title))
            else:
                form.field(paths[0], when_empty=_by_metal if names[0] == "engagement" else None)
        self.values = Rows(f"{self.concern.title}: what was found", body, most_lines=60)
        self.values.chosen.connect(lambda f: self._session.point_at(None if f is None else f.place))
        self.values.asked.connect(lambda f: self._session.ask_for(f.place.path))
        column.addWidget(form)
        column.addWidget(self.values)
        self._column.addWidget(body)

    def _show_values(self) -> None:
        if self.values is not None and self.is_open:
            self.values.put(value_rows(self._well, self._session.project))


def _both(form: Form, path: str, title: str) -> str:
    """The label of a least and a greatest side by side: without either word, and without what the row says already."""
    return form.label_of(path).partition(",")[0].removesuffix(f" {title.lower()}")


def _by_metal(project: Project) -> str:
    return f"{engagement_of(project.housing.metal, project.limits):g}, by the metal"
