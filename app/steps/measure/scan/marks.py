"""What is drawn over the scanned picture: edges, picked places, the fitted oval, points left out, and their key."""

from __future__ import annotations

from math import degrees
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct
from PySide6.QtCore import QLineF, QPointF, Qt
from PySide6.QtGui import QFontMetricsF, QPainter, QPolygonF, QTransform

from app.drawing.base.paths import outline_path, polygon
from app.drawing.base.pens import FULL, HEAVY, THIN, faded
from app.drawing.base.texts import draw_text
from core.geometry.ovals.ovals import oval_outline
from core.measure.scan.results import Aslant
from core.measure.scan.state import POINTS, Pick

if TYPE_CHECKING:
    from collections.abc import Sequence

    from PySide6.QtGui import QColor

    from app.drawing.base.camera import Camera
    from app.drawing.base.pens import Pencil
    from core.geometry.lines.outline import FloatArray, Point
    from core.measure.scan.asked import Fitted
    from core.measure.scan.state import ScanState

_CASING: Final = (
    2.4  # a line over a picture has the paper's colour on both sides, so that it is seen on black and white
)
_SPACING: Final = 1.5  # screen units between points of an edge that are drawn
_MOST_OFF: Final = 600  # marks of points left out
_DASHES: Final = [5.0, 3.0]
_MARK_WORDS: Final = {Pick.ACROSS: "X", Pick.DOWN: "Y", Pick.CORNERS: ""}


def edge_polygon(points: FloatArray, camera: Camera) -> QPolygonF:
    """An edge (n, 2) [pixel, y down] in the widget, no denser than is seen."""
    size = np.hypot(*np.diff(points, axis=0).T).sum() * camera.scale
    every = max(1, int(len(points) * _SPACING / max(size, 1.0)))
    thinned = points[::every]
    rows = np.column_stack((camera.x + thinned[:, 0] * camera.scale, camera.y + thinned[:, 1] * camera.scale))
    return polygon(rows)


def oval_transform(fitted: Fitted, height: int) -> QTransform:
    """From millimetres on the fitted oval's own axes to the picture's sheet (a unit a pixel, y up).

    Args:
        fitted: the oval and its place.
        height: of the picture [pixel].
    """
    place = QTransform()
    place.translate(*fitted.fit.centre)
    place.rotate(degrees(fitted.fit.angle))
    return place * _to_sheet(fitted, height)


def _to_sheet(fitted: Fitted, height: int) -> QTransform:
    view = fitted.view
    if not isinstance(view, Aslant):
        return QTransform(1.0 / view.x, 0.0, 0.0, 1.0 / view.y, 0.0, 1.0 - height)
    flat = [QPointF(x * view.base, y * view.side) for x, y in ((0, 0), (1, 0), (1, 1), (0, 1))]
    seen = [QPointF(x, -y) for x, y in view.corners]
    found = QTransform.quadToQuad(QPolygonF(flat), QPolygonF(seen))
    return found if isinstance(found, QTransform) else QTransform()


def draw_marks(painter: QPainter, pencil: Pencil, camera: Camera, state: ScanState) -> None:
    """Draw everything over the picture; the painter has no transform."""
    inks = pencil.ink
    chosen = {index: pick for pick, index in state.picked}
    for index, edge in enumerate(state.edges):
        shape = edge_polygon(edge.points, camera)
        pick = chosen.get(index)
        if pick is None:
            _cased(painter, pencil, shape, inks.ghost, THIN)
        elif pick is Pick.EDGE:
            _cased(painter, pencil, shape, inks.highlight, FULL if state.fitted is None else THIN)
        else:
            _cased(painter, pencil, shape, inks.machine, FULL, _DASHES)
    if state.fitted is not None and state.opened is not None:
        _draw_oval(painter, pencil, camera, state.fitted, state.opened.picture.grey.shape[0])
        _draw_left_out(painter, pencil, camera, state.fitted)
    for pick in POINTS:
        if points := state.picked_points(pick):
            _draw_points(painter, pencil, camera, pick, points)


class _Entry(Struct, frozen=True):
    """One mark of the key; a ring, or a line with its pen."""

    text: str
    color: QColor
    width: float = THIN
    dashes: Sequence[float] | None = None
    is_ring: bool = False


class Key:
    """What the marks over the picture mean, in as many lines as it takes: only those that are there."""

    def __init__(self, pencil: Pencil, state: ScanState, metrics: QFontMetricsF, wide: float) -> None:
        self._pencil, self._metrics = pencil, metrics
        self._placed: list[tuple[_Entry, QPointF]] = []
        line = metrics.height()
        x, y = line * 0.6, line * 0.9
        for entry in _entries(pencil, state):
            size = line * 1.8 + metrics.horizontalAdvance(entry.text)
            if x + size > wide and x > line:
                x, y = line * 0.6, y + line * 1.2
            self._placed.append((entry, QPointF(x, y)))
            x += size + line
        self.bottom = y + line * 0.9

    def draw(self, painter: QPainter) -> None:
        """Draw it into the widget's upper left corner."""
        line, metrics, inks = self._metrics.height(), self._metrics, self._pencil.ink
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for entry, at in self._placed:
            painter.setPen(self._pencil.pen(entry.color, entry.width, entry.dashes))
            if entry.is_ring:
                painter.drawEllipse(at + QPointF(line * 0.7, 0.0), line * 0.2, line * 0.2)
            else:
                painter.drawLine(QLineF(at, at + QPointF(line * 1.4, 0.0)))
            base = at + QPointF(line * 1.8, (metrics.ascent() - metrics.descent()) / 2.0)
            draw_text(painter, base, entry.text, inks.text, inks.paper)


def _entries(pencil: Pencil, state: ScanState) -> list[_Entry]:
    inks, picked = pencil.ink, {index for _, index in state.picked}
    found: list[_Entry] = []
    if any(index not in picked for index in range(len(state.edges))):
        found.append(_Entry("other edges", inks.ghost))
    if state.picked_edge(Pick.EDGE) is not None:
        found.append(_Entry("the edge", inks.highlight))
    if state.picked_edge(Pick.REFERENCE) is not None or state.picked_edge(Pick.TRACED) is not None:
        found.append(_Entry("of known size", inks.machine, FULL, _DASHES))
    if state.fitted is not None:
        found.append(_Entry("the oval laid over", inks.line, FULL))
        if not state.fitted.fit.used.all():
            found.append(_Entry("left out", inks.tight, is_ring=True))
    return found


def _cased(
    painter: QPainter,
    pencil: Pencil,
    shape: QPolygonF,
    color: QColor,
    width: float,
    dashes: Sequence[float] | None = None,
) -> None:
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(pencil.pen(faded(pencil.ink.paper, 0.7), width + _CASING))
    painter.drawPolygon(shape)
    painter.setPen(pencil.pen(color, width, dashes))
    painter.drawPolygon(shape)


def _draw_oval(painter: QPainter, pencil: Pencil, camera: Camera, fitted: Fitted, height: int) -> None:
    path = (oval_transform(fitted, height) * camera.transform).map(outline_path(oval_outline(fitted.fit.oval)))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    for color, width in ((faded(pencil.ink.paper, 0.7), FULL + _CASING), (pencil.ink.line, FULL)):
        painter.setPen(pencil.pen(color, width))
        painter.drawPath(path)


def _draw_left_out(painter: QPainter, pencil: Pencil, camera: Camera, fitted: Fitted) -> None:
    out = fitted.edge.points[~fitted.fit.used]
    out = out[:: max(1, len(out) // _MOST_OFF)]
    radius = QFontMetricsF(painter.font()).height() * 0.2
    for color, width in ((pencil.ink.paper, HEAVY), (pencil.ink.tight, THIN * 1.4)):
        painter.setPen(pencil.pen(color, width))
        for x, y in out.tolist():
            painter.drawEllipse(camera.to_widget((x, -y)), radius, radius)


def _draw_points(painter: QPainter, pencil: Pencil, camera: Camera, pick: Pick, points: Sequence[Point]) -> None:
    arm = QFontMetricsF(painter.font()).height() * 0.55
    places = [camera.to_widget((x, -y)) for x, y in points]
    is_closed = pick is Pick.CORNERS and len(points) == POINTS[pick]
    for color, width in ((pencil.ink.paper, HEAVY + THIN), (pencil.ink.machine, THIN * 1.4)):
        painter.setPen(pencil.pen(color, width))
        for at in places:
            painter.drawLines(
                [
                    QLineF(at.x() - arm, at.y(), at.x() + arm, at.y()),
                    QLineF(at.x(), at.y() - arm, at.x(), at.y() + arm),
                ]
            )
        painter.setPen(pencil.pen(color, width, None if color == pencil.ink.paper else _DASHES))
        if is_closed:
            around = _around(places)
            painter.drawPolygon(QPolygonF(around))
        elif pick is not Pick.CORNERS and len(places) == POINTS[pick]:
            painter.drawLine(QLineF(*places))
    for number, at in enumerate(places, 1):
        text = f"{_MARK_WORDS[pick]}{number}"
        draw_text(painter, at + QPointF(arm * 0.4, -arm * 0.5), text, pencil.ink.machine, pencil.ink.paper)


def _around(places: Sequence[QPointF]) -> list[QPointF]:
    """The corners in their order round their middle, however they were picked."""
    x = sum(at.x() for at in places) / len(places)
    y = sum(at.y() for at in places) / len(places)
    return sorted(places, key=lambda at: float(np.arctan2(at.y() - y, at.x() - x)))
