"""How far the edge lies off the fitted oval, unrolled, on the diverging scale of the gap."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
from PySide6.QtCore import QLineF, QPointF, QRectF
from PySide6.QtGui import QFontMetricsF

from app.drawing.base.paths import polygon
from app.drawing.base.pens import HAIR, RINGS, THIN, scale_position
from app.drawing.base.station_chart import StationChart
from app.drawing.base.texts import draw_text
from app.widgets.explain import Explanation
from core.measure.scan.words import fine
from core.words.lengths import Style, shown_over

if TYPE_CHECKING:
    from PySide6.QtGui import QPainter
    from PySide6.QtWidgets import QWidget

    from app.drawing.base.pens import Pencil
    from app.session.session import Session
    from app.steps.measure.scan.model import ScanModel
    from core.geometry.lines.outline import BoolArray, FloatArray

_LIMIT_SPREADS: Final = 3.0  # the lane ends at so many times the rms: what is left out beyond stands at its edge
_MOST_OUT: Final = 400


class ScanChart(StationChart):
    """One lane from +X of the oval once round counter-clockwise; outside is up.

    A station is one of the edge's points.
    """

    station: int | None

    def __init__(self, session: Session, model: ScanModel, parent: QWidget | None = None) -> None:
        words = "How far the edge lies off the oval. Left and right move the reading."
        super().__init__("Deviation along the edge", words, (7, 9), parent)
        self._session, self._model = session, model
        self._fit: object = None
        self._part = np.zeros(0)
        model.changed.connect(self._changed)
        session.changed.connect(self.update)

    def explanation(self) -> Explanation:
        """What F1 says of it."""
        return Explanation(
            "Deviation along the edge",
            "Normal distance of each point of the edge from the oval that was laid through it; + is outside. A wave of "
            "two or four periods round says that the family is wrong, or that one axis is stretched; a lump says that "
            "the part or its shadow is seen.",
            "Computed from the picture.",
        )

    @property
    def limit(self) -> float:
        """Deviation at the upper and lower end of the lane [mm]."""
        fitted = self._model.state.fitted
        if fitted is None:
            return 1.0
        style = self._session.project.style
        # The fractions of an inch are too coarse for an end of the lane that is read.
        return shown_over(_LIMIT_SPREADS * max(fitted.fit.rms, 1e-4), Style.INCH if style is Style.FRACTION else style)

    def lane(self) -> QRectF:
        """Where the curve is drawn, in the widget."""
        line = float(self.fontMetrics().height())
        metrics = QFontMetricsF(self.font())
        left = line + max(metrics.horizontalAdvance(self._figure(v)) for v in (self.limit, -self.limit))
        return QRectF(left, line * 1.7, max(10.0, self.width() - left - line), max(8.0, self.height() - line * 3.3))

    def lane_of(self, station: int) -> QRectF:
        del station  # there is only one
        return self.lane()

    def place_of(self, station: int) -> QPointF | None:
        fitted, lane = self._model.state.fitted, self.lane()
        if fitted is None or station >= len(self._part):
            return None
        return QPointF(self._x(lane)[station], self._y(lane, fitted.fit.off)[station])

    def station_at(self, at: QPointF) -> int | None:
        lane = self.lane()
        if self._model.state.fitted is None or not lane.left() - 2.0 <= at.x() <= lane.right() + 2.0:
            return None
        return int(np.abs(self._x(lane) - at.x()).argmin())

    def note(self, station: int) -> list[str]:
        fitted = self._model.state.fitted
        assert fitted is not None
        lines = [fine(float(fitted.fit.off[station]), self._session.project.style, signed=True)]
        return lines if fitted.fit.used[station] else [*lines, "left out"]

    def next_station(self, way: int, *, is_far: bool) -> int | None:
        if self._model.state.fitted is None:
            return None
        order = np.argsort(self._part)
        stride = max(1, len(order) // (36 if is_far else 360))
        at = 0 if self.station is None else int(np.flatnonzero(order == self.station)[0])
        return int(order[(at + way * stride) % len(order)])

    def _figure(self, mm: float) -> str:
        return fine(mm, self._session.project.style, signed=True) if mm else "0"

    def _x(self, lane: QRectF) -> FloatArray:
        return np.asarray(lane.left() + self._part * lane.width())

    def _y(self, lane: QRectF, off: FloatArray) -> FloatArray:
        return np.asarray(lane.center().y() - np.clip(off / self.limit, -1.0, 1.0) * lane.height() / 2.0)

    # Drawing

    def draw(self, painter: QPainter, pencil: Pencil) -> None:
        painter.setPen(pencil.pen(pencil.ink.neutral, HAIR))
        painter.drawLine(QLineF(0.0, 0.5, self.width(), 0.5))
        fitted, lane = self._model.state.fitted, self.lane()
        metrics = QFontMetricsF(painter.font())
        top = QPointF(lane.left(), metrics.ascent() + metrics.height() * 0.3)
        if fitted is None:
            said = "Deviation along the edge: once an oval is laid through it"
            draw_text(painter, top, said, pencil.ink.quiet, None)
            return
        draw_text(painter, top, "Edge off the oval, + outside", pencil.ink.text, None)
        fit = fitted.fit
        x, y = self._x(lane), self._y(lane, fit.off)
        self._draw_ribbon(painter, pencil, lane, fit.off, fit.used)
        for value in (self.limit, 0.0, -self.limit):
            level = lane.center().y() - value / self.limit * lane.height() / 2.0
            painter.setPen(pencil.pen(pencil.ink.quiet if value == 0.0 else pencil.ink.neutral, HAIR))
            painter.drawLine(QLineF(lane.left(), level, lane.right(), level))
            text = self._figure(value)
            at = QPointF(lane.left() - metrics.horizontalAdvance(text) - metrics.height() * 0.3, level)
            draw_text(painter, at + QPointF(0.0, metrics.ascent() * 0.4), text, pencil.ink.quiet, None)
        order = np.argsort(x)
        kept = order[fit.used[order]]
        if len(kept):
            painter.setPen(pencil.pen(pencil.ink.line, HAIR))
            rows = np.column_stack((x[kept], y[kept]))
            painter.drawPolyline(polygon(rows[:: max(1, len(rows) // max(1, int(lane.width()) * 2))]))
        painter.setPen(pencil.pen(pencil.ink.tight, THIN))
        out = np.flatnonzero(~fit.used)
        radius = metrics.height() * 0.2
        for i in out[:: max(1, len(out) // _MOST_OUT)].tolist():
            painter.drawEllipse(QPointF(x[i], y[i]), radius, radius)
        self._draw_axis(painter, pencil, lane)
        self.draw_station(painter, pencil, pencil.pen(pencil.ink.highlight, THIN))

    def _draw_ribbon(self, painter: QPainter, pencil: Pencil, lane: QRectF, off: FloatArray, used: BoolArray) -> None:
        """Bars from the oval to the edge, in the steps of the gap's scale; what is left out has none."""
        x, y = self._x(lane), self._y(lane, off)
        columns = max(1, int(lane.width() / 3.0))
        column = np.clip(((x - lane.left()) / lane.width() * columns).astype(int), 0, columns - 1)
        step = np.round(np.clip(scale_position(off, -self.limit, self.limit), -1.0, 1.0) * RINGS) / RINGS
        middle, wide = lane.center().y(), lane.width() / columns
        usable = np.flatnonzero(used)
        _, first = np.unique(column[usable], return_index=True)
        for i in usable[first].tolist():
            bar = QRectF(
                QPointF(lane.left() + column[i] * wide, middle), QPointF(lane.left() + (column[i] + 1) * wide, y[i])
            )
            painter.fillRect(bar.normalized(), pencil.gap_color(float(step[i])))

    def _draw_axis(self, painter: QPainter, pencil: Pencil, lane: QRectF) -> None:
        metrics = QFontMetricsF(painter.font())
        base = lane.bottom() + metrics.ascent() + metrics.height() * 0.25
        for part, text in ((0.0, "+X"), (0.25, "+Y"), (0.5, "−X"), (0.75, "−Y"), (1.0, "+X")):
            x = lane.left() + part * lane.width()
            painter.setPen(pencil.pen(pencil.ink.quiet, HAIR))
            painter.drawLine(QLineF(x, lane.bottom(), x, lane.bottom() + metrics.height() * 0.25))
            half = metrics.horizontalAdvance(text) / 2.0
            draw_text(painter, QPointF(x - half, base), text, pencil.ink.quiet, None)

    # What the model says

    def _changed(self) -> None:
        fitted = self._model.state.fitted
        if fitted is not self._fit:
            self._fit, self.station = fitted, None
            # By direction from the middle, which every point of an oval has; equal steps of it are not equal lengths.
            self._part = np.zeros(0) if fitted is None else _part_of_turn(fitted.fit.points)
        self.update()


def _part_of_turn(points: FloatArray) -> FloatArray:
    """(n,) where points (n, 2) stand on a way once round from +X counter-clockwise, 0 to 1."""
    x, y = points[:, 0], points[:, 1]
    a, b = max(float(np.abs(x).max()), 1e-9), max(float(np.abs(y).max()), 1e-9)
    return np.asarray(np.arctan2(y / b, x / a) / (2.0 * np.pi) % 1.0)
