"""The scanned picture on the board, with the edges found in it, what was picked, and the oval laid over."""

from __future__ import annotations

from math import hypot, log2
from typing import TYPE_CHECKING, Final

import numpy as np
from PySide6.QtCore import QEvent, QLineF, QMarginsF, QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QColor, QFontMetricsF, QImage, QPainter
from PySide6.QtWidgets import QApplication

from app.drawing.base.board import Board
from app.drawing.base.pens import HEAVY, THIN, faded, mixed
from app.drawing.base.sheet import draw_caption, draw_scale_bar
from app.drawing.base.texts import draw_text
from app.steps.measure.scan.marks import Key, draw_marks, edge_polygon
from app.widgets.theme import is_dark
from core.measure.scan.results import Aslant
from core.measure.scan.state import POINTS, Pick
from core.measure.scan.words import pick_text

if TYPE_CHECKING:
    from PySide6.QtGui import QFocusEvent, QKeyEvent, QMouseEvent, QWheelEvent
    from PySide6.QtWidgets import QWidget

    from app.drawing.base.pens import Pencil
    from app.session.session import Session
    from app.steps.measure.scan.model import ScanModel
    from app.widgets.theme import Ink
    from core.geometry.lines.outline import Point

EMPTY: Final = (
    ("Lay a steel rule along both edges of the glass, the part between them.",
     "Scan at 300 DPI with the lid closed, on plain paper that stands off the part."),
    ("Only what touches the glass is sharp and true:",
     "a raised rim is seen aslant, and comes out too large on one side."),
    ("Turn the part by 180 degrees and scan it again:",
     "the mean of both takes out what the scanner's own travel adds."),
)  # fmt: skip

_SHARP: Final = 4.0  # screen units a pixel from where on the pixels themselves are shown, to pick by
_REACH: Final = 0.9  # of a text's height: how near a click must be to an edge or a mark
_MASK: Final = 0.55  # how strongly the dark part is tinted
_STRIP: Final = 0.85  # how much of the picture a strip covers
_KEYS: Final = {
    Qt.Key.Key_Left: (-1.0, 0.0),
    Qt.Key.Key_Right: (1.0, 0.0),
    Qt.Key.Key_Up: (0.0, 1.0),
    Qt.Key.Key_Down: (0.0, -1.0),
}


class ScanPicture(Board):
    """The picture, one sheet unit a pixel, y up from the top row down to minus its height.

    A click picks what the form asks for: the edge nearest, or a place. With the keyboard, arrows move the cross and
    Return sets it; while an edge is asked for, left and right go from one to the next.

    Attributes:
        hovered: index of the edge point under the pointer, or None.
    """

    hovered = Signal(object)

    def __init__(self, session: Session, model: ScanModel, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self._model = model
        self._cross: Point | None = None
        self._station: int | None = None
        self._under: int | None = None
        self._pressed_at: QPointF | None = None
        self._is_mask_on = False
        self.setAccessibleName("The scanned picture")
        self.setAccessibleDescription(
            "A click picks the edge or the place that the form asks for. Arrows move the cross, Return sets it."
        )
        self._opened = model.state.opened
        model.changed.connect(self._changed)
        session.changed.connect(self.redraw)

    # What the board asks for

    def bounds(self) -> tuple[float, float, float, float]:
        opened = self._model.state.opened
        if opened is None:
            return -1.0, -1.0, 1.0, 1.0
        h, w = opened.picture.grey.shape
        return -0.5, 0.5 - h, w - 0.5, 0.5

    def margins(self) -> QMarginsF:
        line = self.line_height
        return QMarginsF(line, line * 2.4, line, line * 2.6)

    def to_widget(self, pixel: Point) -> QPointF:
        """Where a place of the picture [pixel, y down] is in the widget."""
        return self.camera.to_widget((pixel[0], -pixel[1]))

    def to_pixel(self, at: QPointF) -> Point:
        """The place of the picture [pixel, y down] under a place of the widget."""
        x, y = self.camera.to_mm(at)
        return x, -y

    def show_mask(self, is_on: bool) -> None:  # noqa: FBT001 - as Qt's setVisible
        """Tint what counts as dark at the threshold."""
        if is_on != self._is_mask_on:
            self._is_mask_on = is_on
            self.redraw()

    def mark_station(self, index: int | None) -> None:
        """Mark one of the edge's points."""
        if index != self._station:
            self._station = index
            self.update()

    def draw(self, painter: QPainter, pencil: Pencil) -> None:
        state = self._model.state
        if state.opened is None:
            self._draw_empty(painter, pencil)
            return
        painter.save()
        self._draw_greys(painter, pencil.ink)
        painter.restore()
        draw_marks(painter, pencil, self.camera, state)
        room, line = QRectF(self.rect()), self.line_height
        wanted = pick_text(state)
        # Strips of paper: what is written on them is read over black and white alike.
        strip = faded(pencil.ink.paper, _STRIP)
        metrics = QFontMetricsF(painter.font())
        key = Key(pencil, state, metrics, room.width())
        top = key.bottom + (line * 1.3 if wanted else 0.0)
        painter.fillRect(QRectF(0.0, 0.0, room.width(), top), strip)
        painter.fillRect(QRectF(0.0, room.height() - line * 2.1, room.width(), line * 2.1), strip)
        key.draw(painter)
        if wanted:
            at = QPointF(line * 0.6, key.bottom + metrics.ascent())
            wanted = metrics.elidedText(wanted, Qt.TextElideMode.ElideRight, room.width() - line)
            draw_text(painter, at, wanted, pencil.ink.highlight, None)
        h, w = state.opened.picture.grey.shape
        more = f"{w} × {h} pixels"
        draw_caption(painter, pencil, QRectF(self.rect()), self._session.project.style, "Scan", more)
        if state.view is not None and not isinstance(state.view, Aslant):
            per_mm = self.camera.scale / ((state.view.x + state.view.y) / 2.0)
            draw_scale_bar(painter, pencil, QRectF(self.rect()), self._session.project.style, per_mm)

    def draw_over(self, painter: QPainter, pencil: Pencil) -> None:
        state = self._model.state
        fitted = state.fitted
        if self._under is not None and self._under < len(state.edges):
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(pencil.pen(pencil.ink.highlight, HEAVY))
            painter.drawPolygon(edge_polygon(state.edges[self._under].points, self.camera))
        if fitted is not None and self._station is not None and self._station < len(fitted.edge.points):
            at = self.to_widget(tuple(fitted.edge.points[self._station].tolist()))
            painter.setPen(pencil.pen(pencil.ink.paper, THIN))
            painter.setBrush(pencil.ink.highlight)
            painter.drawEllipse(at, 4.5, 4.5)
            painter.setBrush(Qt.BrushStyle.NoBrush)
        if self._cross is not None and self.hasFocus() and state.pick in POINTS:
            at, arm = self.to_widget(self._cross), self.line_height
            for color, width in ((pencil.ink.paper, THIN * 3.0), (pencil.ink.highlight, THIN)):
                painter.setPen(pencil.pen(color, width))
                painter.drawLines(
                    [
                        QLineF(at.x() - arm, at.y(), at.x() + arm, at.y()),
                        QLineF(at.x(), at.y() - arm, at.x(), at.y() + arm),
                    ]
                )

    def _draw_empty(self, painter: QPainter, pencil: Pencil) -> None:
        metrics = QFontMetricsF(painter.font())
        line = metrics.height()
        bold = painter.font()
        widest = max(metrics.horizontalAdvance(text) for pair in EMPTY for text in pair) + 2.0 * line
        left = max(line, (self.width() - widest) / 2.0)
        y = max(2.0 * line, (self.height() - line * 3.4 * len(EMPTY)) / 2.0)
        for number, pair in enumerate(EMPTY, 1):
            bold.setBold(True)
            painter.setFont(bold)
            draw_text(painter, QPointF(left, y + metrics.ascent()), str(number), pencil.ink.quiet, None)
            painter.setFont(self.font())
            for text, color in zip(pair, (pencil.ink.text, pencil.ink.quiet), strict=True):
                room = self.width() - left - 2.5 * line
                box = QRectF(left + 2.0 * line, y, room, 4.0 * line)
                wraps = Qt.TextFlag.TextWordWrap | Qt.AlignmentFlag.AlignTop
                painter.setPen(color)
                painter.drawText(box, wraps, text)
                y += painter.boundingRect(box, wraps, text).height()
            y += line * 0.9

    # The greys

    def _draw_greys(self, painter: QPainter, ink: Ink) -> None:
        opened = self._model.state.opened
        assert opened is not None
        x0, y0, x1, y1 = self.camera.visible(QRectF(self.rect()))
        halvings = round(log2(max(1.0, 1.0 / (self.camera.scale * self.devicePixelRatioF()))))
        level = min(halvings, len(opened.levels) - 1)
        side, greys = 2**level, opened.levels[level]
        h, w = greys.shape
        left, right = max(0, int(x0 / side) - 1), min(w, int(x1 / side) + 2)
        top, bottom = max(0, int(-y1 / side) - 1), min(h, int(-y0 / side) + 2)
        if right <= left or bottom <= top:
            return
        crop = np.ascontiguousarray(greys[top:bottom, left:right])
        image = QImage(crop.data, crop.shape[1], crop.shape[0], crop.shape[1], QImage.Format.Format_Indexed8)
        image.setColorTable(self._colors(ink))
        a = self.to_widget((left * side - 0.5, top * side - 0.5))
        b = self.to_widget((right * side - 0.5, bottom * side - 0.5))
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform, self.camera.scale < _SHARP)
        painter.drawImage(QRectF(a, b), image.convertToFormat(QImage.Format.Format_RGB32))

    def _colors(self, ink: Ink) -> list[int]:
        """A colour for each grey: a little softer than it is, for the lines to stand out, and dim on a dark board."""
        black, white = QColor(Qt.GlobalColor.black), QColor(Qt.GlobalColor.white)
        low = mixed(black, ink.paper, 0.15 if is_dark(self.palette()) else 0.30)
        high = mixed(white, ink.paper, 0.30 if is_dark(self.palette()) else 0.15)
        level = self._model.state.shown_level
        colors = []
        for grey in range(256):
            color = mixed(low, high, grey / 255.0)
            if self._is_mask_on and grey < level:
                color = mixed(color, ink.highlight, _MASK)
            colors.append(color.rgb())
        return colors

    # Picking

    def click(self, at: QPointF) -> None:
        """What a click at a place of the widget does."""
        pick = self._model.state.pick
        if self._model.state.opened is None:
            return
        if pick in POINTS:
            self._model.add_point(pick, self.to_pixel(at))
            return
        found = self.edge_at(at)
        if found is not None:
            self._model.pick_edge(pick, found)

    def _edge_to_pick(self, at: QPointF) -> int | None:
        """The edge that a click would choose and that isn't chosen yet."""
        pick = self._model.state.pick
        if pick in POINTS:
            return None
        found = self.edge_at(at)
        return None if found == self._model.state.picked_index(pick) else found

    def edge_at(self, at: QPointF) -> int | None:
        """Index of the edge under a place of the widget that can be picked; None when there is none near."""
        pixel = np.array(self.to_pixel(at))
        best, nearest = None, _REACH * self.line_height / self.camera.scale
        for index in self._model.choices(self._model.state.pick):
            points = self._model.state.edges[index].points
            away = float(np.sqrt(((points - pixel) ** 2).sum(axis=1).min()))
            if away < nearest:
                best, nearest = index, away
        return best

    def mousePressEvent(self, event: QMouseEvent) -> None:
        self._pressed_at = event.position() if event.button() is Qt.MouseButton.LeftButton else None
        super().mousePressEvent(event)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        start, self._pressed_at = self._pressed_at, None
        super().mouseReleaseEvent(event)
        if start is None or event.button() is not Qt.MouseButton.LeftButton:
            return
        moved = event.position() - start
        if hypot(moved.x(), moved.y()) < QApplication.startDragDistance():
            self.click(event.position())

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        # Two quick clicks on two neighbouring places are two picks; F shows the whole picture.
        self.mousePressEvent(event)

    def take_move(self, event: QMouseEvent) -> None:
        self._cross = self.to_pixel(event.position())
        fitted = self._model.state.fitted
        found = None
        if fitted is not None:
            away = np.hypot(*(fitted.edge.points - np.array(self._cross)).T)
            nearest = int(away.argmin())
            if away[nearest] * self.camera.scale < _REACH * self.line_height:
                found = nearest
        if found != self._station:
            self.hovered.emit(found)
        self._under = self._edge_to_pick(event.position())
        self.setCursor(Qt.CursorShape.CrossCursor if self._model.state.pick in POINTS else Qt.CursorShape.ArrowCursor)
        self.update()

    def leaveEvent(self, event: QEvent) -> None:
        super().leaveEvent(event)
        self._under = None
        self.update()
        if self._station is not None:
            self.hovered.emit(None)

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        if self._cross is None:
            self._cross = self.to_pixel(QRectF(self.rect()).center())

    def wheelEvent(self, event: QWheelEvent) -> None:
        if self._model.state.opened is not None:
            super().wheelEvent(event)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key, state = event.key(), self._model.state
        is_plain = not event.modifiers() & ~(Qt.KeyboardModifier.ShiftModifier | Qt.KeyboardModifier.KeypadModifier)
        if not is_plain or state.opened is None:
            super().keyPressEvent(event)
        elif key == Qt.Key.Key_Escape and state.pick is not Pick.EDGE:
            self._model.set_pick(Pick.EDGE)
        elif key in _KEYS and state.pick in POINTS:
            self._move_cross(*_KEYS[Qt.Key(key)], big=bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier))
        elif key in (Qt.Key.Key_Return, Qt.Key.Key_Enter, Qt.Key.Key_Space) and state.pick in POINTS:
            if self._cross is not None:
                self._model.add_point(state.pick, self._cross)
        elif key in (Qt.Key.Key_Left, Qt.Key.Key_Right) and state.pick not in POINTS and state.edges:
            self._model.next_edge(state.pick, 1 if key == Qt.Key.Key_Right else -1)
        else:
            super().keyPressEvent(event)

    def _move_cross(self, dx: float, dy: float, *, big: bool) -> None:
        step = 10.0 if big else 1.0
        at = self.to_widget(self._cross or (0.0, 0.0)) + QPointF(dx * step, -dy * step)
        self._cross = self.to_pixel(at)
        self.bring_into_view([(self._cross[0], -self._cross[1])], is_measured=False)
        self.update()

    def _changed(self) -> None:
        opened = self._model.state.opened
        self._under = None
        if opened is not self._opened:
            self._opened = opened
            self._cross = self._station = None
            self.fit()
        self.redraw()
