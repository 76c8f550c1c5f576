"""How an outline file is drawn on the board, layer by layer, in the language of the plan."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, assert_never

import numpy as np
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QFontMetricsF, QPainterPath

from app.drawing.base.labels import Label, Places, Spot, along, beside
from app.drawing.base.paths import polygon, stroke_paths
from app.drawing.base.pens import FULL, HAIR, THIN, draw_machine_ring, faded, hatch, mixed
from app.drawing.base.texts import draw_labels, draw_text
from app.drawing.plan.paint import METAL_TINT
from app.steps.measure.outline_file.marks import draw_fault
from core.measure.drawing.results import Role
from core.measure.drawing.words import ROLES

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from PySide6.QtGui import QColor, QPainter, QPen

    from app.drawing.base.camera import Camera
    from app.drawing.base.pens import Pencil
    from app.steps.measure.outline_file.scene import DrawingScene, DrawnLoop, Residual
    from app.widgets.theme import Ink
    from core.geometry.lines.outline import Outline
    from core.measure.drawing.results import Loop, Trouble

FAULT_REACH: Final = 5.5
"""Half the size of a fault's sign, in screen units."""
_ROUND_A_LABEL: Final = 16  # places round a loop that its number may stand at
_ALWAYS, _MOST_LABELS = 40, 150  # so many loops have their number at any size, and so many at all
_LEAST_SEEN: Final = 0.6  # of a line of text: of further loops, one that is smaller on screen goes without its number
_REACHES: Final = (0.25, 2.0, 4.5)  # how far words stand off a loop's line, in lines of text
_NAMED: Final = (Role.OUTSIDE, Role.SEAT_OUTER, Role.SEAT_INNER, Role.OPENING, Role.KEEP_OUT)


class DrawingPainter:
    """Draws one frame of an outline file."""

    def __init__(self, painter: QPainter, pencil: Pencil, camera: Camera, room: QRectF) -> None:
        self._painter, self._pencil, self._camera, self._room = painter, pencil, camera, room
        self._ink = pencil.ink

    def sheet(self, scene: DrawingScene) -> None:
        """Fills by role from the largest loop to the smallest, then all lines."""
        painter, pencil = self._painter, self._pencil
        for drawn in scene.loops:
            self._fill(drawn)
        painter.setTransform(self._camera.transform, combine=True)
        painter.setPen(pencil.pen(self._ink.ghost, THIN))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for chain in scene.open_strokes:
            painter.drawPolyline(chain)
        for drawn in scene.loops:
            pen = self._line(drawn.role)
            for path in drawn.strokes:
                painter.strokePath(path, pen)
        painter.resetTransform()
        for drawn in scene.loops:
            if drawn.role is Role.HOLE:
                x0, y0, x1, y1 = drawn.loop.outline.bounds
                centre = self._camera.to_widget(((x0 + x1) / 2.0, (y0 + y1) / 2.0))
                draw_machine_ring(painter, pencil, centre, (x1 - x0) / 2.0 * self._camera.scale)

    def _fill(self, drawn: DrawnLoop) -> None:
        painter, ink = self._painter, self._ink
        area = self._camera.transform.map(drawn.fill)
        match drawn.role:
            case Role.OUTSIDE:
                painter.fillPath(area, mixed(ink.paper, ink.line, METAL_TINT))
            case Role.SEAT_OUTER:
                painter.fillPath(area, ink.insert_fill)
            case Role.SEAT_INNER:
                painter.fillPath(area, mixed(ink.paper, ink.line, METAL_TINT / 2.0))
            case Role.OPENING | Role.CROSSBAR_EDGE | Role.HOLE:
                painter.fillPath(area, ink.paper)
            case Role.KEEP_OUT:
                pen = self._pencil.pen(faded(ink.keep_out, 0.65), HAIR)
                hatch(painter, area, pen, self._camera.to_widget((0.0, 0.0)))
            case Role.IGNORED:
                pass

    def _line(self, role: Role) -> QPen:
        match role:
            case Role.IGNORED:
                return self._pencil.edge
            case Role.KEEP_OUT:
                return self._pencil.pen(self._ink.keep_out, THIN)
            case Role.SEAT_OUTER | Role.SEAT_INNER:
                return self._pencil.pen(self._ink.line, 1.4)
            case Role.OUTSIDE | Role.OPENING | Role.CROSSBAR_EDGE | Role.HOLE:
                return self._pencil.outline
            case _:
                assert_never(role)

    def faults(self, troubles: Iterable[Trouble]) -> None:
        """The signs of all faults at their places."""
        for trouble in troubles:
            draw_fault(self._painter, self._pencil, self._camera.to_widget(trouble.at), trouble.fault, FAULT_REACH)

    def labels(self, labels: Iterable[Label]) -> None:
        """Numbers and words at the places that were found for them."""
        draw_labels(self._painter, self._pencil, labels)

    def chosen(self, drawn: DrawnLoop) -> None:
        """The chosen loop, lit up."""
        painter = self._painter
        painter.setTransform(self._camera.transform, combine=True)
        wide = self._pencil.pen(faded(self._ink.highlight, 0.25), 10.0)
        wide.setCapStyle(Qt.PenCapStyle.FlatCap)
        for pen in (wide, self._pencil.pen(self._ink.highlight, FULL)):
            for path in drawn.strokes:
                painter.strokePath(path, pen)
        painter.resetTransform()

    def oval(self, outline: Outline) -> None:
        """The oval that a loop was recovered as, thin and broken on a line of paper so that it shows on the loop."""
        painter, paths = self._painter, stroke_paths((outline,))
        painter.setTransform(self._camera.transform, combine=True)
        for pen in (self._pencil.pen(self._ink.paper, THIN), self._pencil.ghost):
            for path in paths:
                painter.strokePath(path, pen)
        painter.resetTransform()

    def residual(self, found: Residual, factor: float, text: str) -> None:
        """How far a loop is off its oval, as a band whose width is ``factor`` times what it is."""
        painter, far = self._painter, found.outline(factor)
        band = QPainterPath()
        band.setFillRule(Qt.FillRule.OddEvenFill)
        for rows in (found.feet, far):
            band.addPolygon(polygon(rows))
            band.closeSubpath()
        area = self._camera.transform.map(band)
        painter.fillPath(area, faded(self._ink.moved, 0.3))
        painter.setPen(self._pencil.pen(self._ink.moved, THIN))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        edge = polygon(far)
        painter.drawPolygon(self._camera.transform.map(edge))
        worst = self._camera.to_widget(far[found.worst].tolist())
        painter.drawEllipse(worst, FAULT_REACH, FAULT_REACH)
        metrics = QFontMetricsF(painter.font())
        size = metrics.horizontalAdvance(text), metrics.height()
        spots = beside(worst, 2.0 * FAULT_REACH, size)
        places = Places(self._room)
        label = Label(text, self._ink.moved, places.take(spots))
        self.labels((label,))

    def lit(self, trouble: Trouble) -> None:
        """The fault that was pointed at."""
        painter, at = self._painter, self._camera.to_widget(trouble.at)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(self._pencil.pen(faded(self._ink.highlight, 0.35), 6.0))
        painter.drawEllipse(at, 17.0, 17.0)
        painter.setPen(self._pencil.pen(self._ink.highlight, FULL))
        painter.drawEllipse(at, 17.0, 17.0)

    def empty(self, lines: Sequence[str]) -> None:
        """What to do first, in the middle of a clean sheet."""
        metrics = QFontMetricsF(self._painter.font())
        top = self._room.center().y() - metrics.height() * len(lines) / 2.0
        for i, line in enumerate(lines):
            x = self._room.center().x() - metrics.horizontalAdvance(line) / 2.0
            base = top + i * metrics.height() * 1.3 + metrics.ascent()
            draw_text(self._painter, QPointF(x, base), line, self._ink.text if i == 0 else self._ink.quiet, None)


def loop_labels(
    scene: DrawingScene,
    troubles: Iterable[Trouble],
    camera: Camera,
    room: QRectF,
    metrics: QFontMetricsF,
    inks: Ink,
) -> list[Label]:
    """The loops' numbers, with a word for those that there is one of; loops too small on screen have none.

    Args:
        scene: what is drawn.
        troubles: the signs on it.
        camera: from millimetres to the widget.
        room: the widget, without its corners' words.
        metrics: of the drawing's font.
        inks: the colours.
    """
    places = Places(room)
    places.add_segments(scene.lines, camera)
    reach = 1.25 * FAULT_REACH
    for trouble in troubles:
        at = camera.to_widget(trouble.at)
        places.add_boxes([QRectF(at.x() - reach, at.y() - reach, 2.0 * reach, 2.0 * reach)])
    places.add_boxes(_ring(drawn, camera) for drawn in scene.loops if drawn.role is Role.HOLE)
    least = _LEAST_SEEN * metrics.height() / camera.scale
    seen = [d for i, d in enumerate(scene.loops) if i < _ALWAYS or _extent(d.loop) >= least][:_MOST_LABELS]
    made: list[Label] = []
    for drawn in seen:
        number = drawn.loop.number
        text = f"{number}  {ROLES[drawn.role]}" if drawn.role in _NAMED else str(number)
        size = metrics.horizontalAdvance(text), metrics.height()
        spots = _led_spots if drawn.role in _NAMED else _spots
        spot = places.take(spots(drawn.loop.outline, camera, size))
        made.append(Label(text, _label_color(drawn.role, inks), spot))
    return made


def _ring(drawn: DrawnLoop, camera: Camera) -> QRectF:
    """The square round a hole's ring."""
    x0, y0, x1, y1 = drawn.loop.outline.bounds
    return QRectF(camera.to_widget((x0, y1)), camera.to_widget((x1, y0)))


def _round(outline: Outline, camera: Camera) -> list[tuple[QPointF, QPointF]]:
    """Places all the way round a loop from its upper right, with the way out, on screen."""
    stations = outline.length * np.arange(_ROUND_A_LABEL) / _ROUND_A_LABEL
    points, normals = outline.points_at(stations), outline.normals_at(stations)
    first = int(points.sum(axis=1).argmax())
    order = [(first + i) % _ROUND_A_LABEL for i in range(_ROUND_A_LABEL)]
    rows = zip(points[order].tolist(), normals[order].tolist(), strict=True)
    return [(camera.to_widget(at), QPointF(n[0], -n[1])) for at, n in rows]


def _spots(outline: Outline, camera: Camera, size: tuple[float, float]) -> list[Spot]:
    """Places for a number close to a loop's line, outside it and inside."""
    w, h = size
    spots: list[Spot] = []
    for i, (at, out) in enumerate(_round(outline, camera)):
        # As far from the line as the text's box reaches in that direction.
        off = abs(out.x()) * w / 2.0 + abs(out.y()) * h / 2.0 + h * 0.15
        for side, more in ((-1.0, 0.0), (1.0, 0.15)):
            middle = at + out * (side * off)
            spots.append(Spot(QRectF(middle.x() - w / 2.0, middle.y() - h / 2.0, w, h), 0.05 * i + more))
    return spots


def _led_spots(outline: Outline, camera: Camera, size: tuple[float, float]) -> list[Spot]:
    """Places for words beside a loop's line or led to it, outside it and inside."""
    rays = [(at, out * side) for at, out in _round(outline, camera) for side in (1.0, -1.0)]
    return along(rays, [reach * size[1] for reach in _REACHES], size)


def _extent(loop: Loop) -> float:
    x0, y0, x1, y1 = loop.outline.bounds
    return max(x1 - x0, y1 - y0)


def _label_color(role: Role, inks: Ink) -> QColor:
    return {Role.HOLE: inks.machine, Role.KEEP_OUT: inks.keep_out, Role.IGNORED: inks.quiet}.get(role, inks.text)
