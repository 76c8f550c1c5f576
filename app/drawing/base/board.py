"""A sheet on the drawing board: what all drawings that can be zoomed and moved have in common."""

from __future__ import annotations

from math import hypot
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QEvent, QMarginsF, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QNativeGestureEvent, QPainter, QPalette, QPixmap
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.drawing.base.camera import Camera
from app.drawing.base.pens import Pencil
from app.widgets.fonts import drawing
from app.widgets.style.marks import RULE, paint_outline
from app.widgets.theme import ink

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from PySide6.QtGui import (
        QFocusEvent,
        QKeyEvent,
        QMouseEvent,
        QPaintEvent,
        QResizeEvent,
        QWheelEvent,
    )

    from core.geometry.lines.outline import Point

KEY_ZOOM: Final = 1.25
"""One press of + or -."""
KEY_PAN: Final = 40.0
"""One press of an arrow key, in screen units."""
_WHEEL: Final = 1.0016  # to the power of the wheel's eighths of a degree: a notch is 120 of them and zooms by 1.21
_INSET: Final = 24.0  # what is pointed at stays this far from the widget's edge
_SEEN: Final = 1.5  # heights of the text that a distance must have to be seen
_PLACE_SHARE: Final = 0.25  # of the room's smaller side: how large a distance is shown that was too small
_SMALLEST_SHARE: Final = 0.72  # of the room: a drawing that has shrunk below this is fitted anew


class Board(QWidget):
    """Base of plan and cut: paper, camera, zoom to the pointer, panning, fitting, keys.

    As long as the user hasn't zoomed or panned, the sheet stays fitted when the widget's size changes. After an edit
    the camera stays where it is, so that what moved is seen to move, unless the part has outgrown the view.

    Attributes:
        alone_asked: it was clicked twice: it wants to be seen alone, or no longer.
    """

    alone_asked = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.camera = Camera()
        self._is_fitted = True
        self._pans_from: QPointF | None = None
        self._sheet: QPixmap | None = None
        self._sheet_view: object = None
        self._layers: dict[str, tuple[object, QPixmap]] = {}
        self.setMouseTracking(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)

    def bounds(self) -> tuple[float, float, float, float]:
        """Least x, least y, greatest x, greatest y of what is drawn [mm]."""
        raise NotImplementedError

    def margins(self) -> QMarginsF:
        """Room for dimensions round the drawing, in screen units."""
        raise NotImplementedError

    def draw(self, painter: QPainter, pencil: Pencil) -> None:
        """Draw the sheet, as it stays while the pointer moves; the painter has no transform."""
        raise NotImplementedError

    def draw_over(self, painter: QPainter, pencil: Pencil) -> None:
        """Draw what changes under the pointer, and what fades, over the sheet."""
        raise NotImplementedError

    def redraw(self) -> None:
        """Draw the sheet itself anew: what is on it has changed."""
        self._sheet = None
        self.update()

    def draw_layer(
        self, painter: QPainter, pencil: Pencil, name: str, shows: object, draw: Callable[[QPainter], object]
    ) -> None:
        """Draw a layer that stays a picture for as long as it shows the same in the same view.

        Args:
            painter: without a transform.
            pencil: its pens.
            name: of the layer.
            shows: what it is drawn from, compared by value.
            draw: draws it on a transparent ground.
        """
        key, (kept, picture) = (shows, self.view_key()), self._layers.get(name, (None, None))
        if picture is None or kept != key:
            picture = self.drawn(pencil, QColor(0, 0, 0, 0), draw)
            self._layers[name] = key, picture
        painter.drawPixmap(0, 0, picture)

    @property
    def is_fitted(self) -> bool:
        """Whether the sheet is shown as a whole, untouched by zooming and panning."""
        return self._is_fitted

    @property
    def line_height(self) -> float:
        """Height of a line of text, in screen units."""
        return float(self.fontMetrics().height())

    def minimumSizeHint(self) -> QSize:
        line = self.fontMetrics().height()
        return QSize(22 * line, 11 * line)

    def sizeHint(self) -> QSize:
        line = self.fontMetrics().height()
        return QSize(48 * line, 30 * line)

    def place_to_widget(self, x: float, y: float) -> QPointF:
        """Where a place of the sheet [mm] is in the widget."""
        return self.camera.to_widget((x, y))

    def fit(self) -> None:
        """Show the whole sheet."""
        self.camera.fit(self.bounds(), self._room())
        self._is_fitted = True
        self.update()

    def zoom(self, factor: float, at: QPointF | None = None) -> None:
        """Magnify about a place of the widget, or about its middle."""
        self.camera.zoom(factor, QRectF(self.rect()).center() if at is None else at)
        self._is_fitted = False
        self.update()

    def keep_in_view(self) -> None:
        """After an edit: fit anew only when the part has outgrown the view, or become much too small for it."""
        self.redraw()
        if not self._is_fitted:
            return
        wanted = Camera()
        wanted.fit(self.bounds(), self._room())
        room = self._room()
        x0, y0, x1, y1 = self.bounds()
        middle = self.camera.to_widget(((x0 + x1) / 2.0, (y0 + y1) / 2.0)) - room.center()
        is_off = abs(middle.x()) > 0.1 * room.width() or abs(middle.y()) > 0.1 * room.height()
        if is_off or not _SMALLEST_SHARE < self.camera.scale / wanted.scale <= 1.02:
            self.camera = wanted

    def bring_into_view(self, points: Sequence[Point], *, is_measured: bool) -> None:
        """Move, and if need be magnify, the sheet so that places [mm] are in view; nothing happens when they are.

        Args:
            points: at least one.
            is_measured: whether they are the ends of a distance, which should be large enough to be seen.
        """
        room = QRectF(self.rect()).adjusted(_INSET, _INSET, -_INSET, -_INSET)
        xs, ys = [p[0] for p in points], [p[1] for p in points]
        x0, y0, x1, y1 = min(xs), min(ys), max(xs), max(ys)
        middle = ((x0 + x1) / 2.0, (y0 + y1) / 2.0)
        span = hypot(x1 - x0, y1 - y0)
        is_small = is_measured and 0.0 < span * self.camera.scale < _SEEN * self.line_height
        if all(room.contains(self.camera.to_widget(p)) for p in points) and not is_small:
            return
        if is_small:
            wanted = _PLACE_SHARE * min(room.width(), room.height())
            self.camera.zoom(wanted / (span * self.camera.scale), self.camera.to_widget(middle))
        if (x1 - x0) * self.camera.scale > room.width() or (y1 - y0) * self.camera.scale > room.height():
            self.camera.fit((x0, y0, x1, y1), room)
        else:
            self.camera.look_at(middle, room)
        self._is_fitted = False
        self.update()

    def _room(self) -> QRectF:
        return QRectF(self.rect()).marginsRemoved(self.margins())

    def paintEvent(self, _event: QPaintEvent) -> None:
        pencil = Pencil(ink(self.palette()), self.devicePixelRatioF())
        view = self.view_key()
        if self._sheet is None or self._sheet_view != view:
            self._sheet, self._sheet_view = self._drawn_sheet(pencil), view
        with QPainter(self) as painter:  # ends the painter even when drawing raises
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.drawPixmap(0, 0, self._sheet)
            self.draw_over(painter, pencil)
            if self.hasFocus():
                paint_outline(painter, QRectF(self.rect()), pencil.ink.highlight, RULE)

    def view_key(self) -> object:
        """What the places on the sheet depend on: another one, and everything is drawn anew."""
        return self.camera.scale, self.camera.x, self.camera.y, self.size(), self.devicePixelRatioF()

    def _drawn_sheet(self, pencil: Pencil) -> QPixmap:
        return self.drawn(pencil, pencil.ink.paper, lambda painter: self.draw(painter, pencil))

    def drawn(self, pencil: Pencil, ground: QColor, draw: Callable[[QPainter], object]) -> QPixmap:
        """A picture as large as the widget, for what is drawn once and shown in many frames."""
        sheet = QPixmap(self.size() * pencil.ratio)
        sheet.setDevicePixelRatio(pencil.ratio)
        sheet.fill(ground)
        with QPainter(sheet) as painter:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.setFont(self.font())
            draw(painter)
        return sheet

    def picture(self, ratio: float) -> QPixmap:
        """All of it as it is seen, but dark on light and ``ratio`` times as fine, for paper and other programs."""
        own, layers = QPalette(self.palette()), self._layers
        light = QPalette(own)
        for role in (QPalette.ColorRole.Base, QPalette.ColorRole.Window):
            light.setColor(role, Qt.GlobalColor.white)
        for role in (QPalette.ColorRole.Text, QPalette.ColorRole.WindowText):
            light.setColor(role, Qt.GlobalColor.black)
        self.setPalette(light)
        self._layers = {}  # those of the screen are coarser
        try:
            pencil = Pencil(ink(light), ratio)

            def draw(painter: QPainter) -> None:
                self.draw(painter, pencil)
                self.draw_over(painter, pencil)

            return self.drawn(pencil, QColor(Qt.GlobalColor.white), draw)
        finally:
            self.setPalette(own)
            self._layers = layers

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        if self._is_fitted:
            self.fit()

    def changeEvent(self, event: QEvent) -> None:
        super().changeEvent(event)
        if event.type() in (QEvent.Type.FontChange, QEvent.Type.PaletteChange, QEvent.Type.StyleChange):
            self._layers.clear()
            self.redraw()
        if event.type() == QEvent.Type.FontChange and self._is_fitted:
            self.fit()  # the dimensions need another margin

    def focusInEvent(self, event: QFocusEvent) -> None:
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        super().focusOutEvent(event)
        self.update()

    def wheelEvent(self, event: QWheelEvent) -> None:
        turned = event.angleDelta().y()
        if turned:
            self.zoom(_WHEEL**turned, event.position())
        event.accept()

    def event(self, event: QEvent) -> bool:
        if event.type() == QEvent.Type.Polish:
            self.setFont(drawing(self.font()))
        if isinstance(event, QNativeGestureEvent) and event.gestureType() is Qt.NativeGestureType.ZoomNativeGesture:
            self.zoom(1.0 + event.value(), event.position())
            return True
        return super().event(event)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        takes = (Qt.MouseButton.MiddleButton, Qt.MouseButton.LeftButton)
        if event.button() in takes and not (event.button() is takes[1] and self.take_press(event)):
            self._pans_from = event.position()
            self.setCursor(Qt.CursorShape.ClosedHandCursor)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        if self._pans_from is None:
            self.take_move(event)
            return
        step = event.position() - self._pans_from
        self._pans_from = event.position()
        self.camera.pan(step.x(), step.y())
        self._is_fitted = False
        self.update()

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        if self._pans_from is not None:
            self._pans_from = None
            self.unsetCursor()
        else:
            self.take_release(event)

    def mouseDoubleClickEvent(self, event: QMouseEvent) -> None:
        if event.button() is Qt.MouseButton.LeftButton:
            self.alone_asked.emit()

    def take_press(self, _event: QMouseEvent) -> bool:
        """Whether the left button hit something of the drawing; else it pans."""
        return False

    def take_move(self, event: QMouseEvent) -> None:
        """The pointer moved, and does not pan."""

    def take_release(self, event: QMouseEvent) -> None:
        """The button went up, and there was no pan."""

    def keyPressEvent(self, event: QKeyEvent) -> None:
        key = event.key()
        pans = {
            Qt.Key.Key_Left: (KEY_PAN, 0.0),
            Qt.Key.Key_Right: (-KEY_PAN, 0.0),
            Qt.Key.Key_Up: (0.0, KEY_PAN),
            Qt.Key.Key_Down: (0.0, -KEY_PAN),
        }
        if event.modifiers() & ~(Qt.KeyboardModifier.ShiftModifier | Qt.KeyboardModifier.KeypadModifier):
            super().keyPressEvent(event)
        elif key in (Qt.Key.Key_Plus, Qt.Key.Key_Equal):
            self.zoom(KEY_ZOOM)
        elif key in (Qt.Key.Key_Minus, Qt.Key.Key_Underscore):
            self.zoom(1.0 / KEY_ZOOM)
        elif key in (Qt.Key.Key_F, Qt.Key.Key_Home):
            self.fit()
        elif key in pans:
            self.camera.pan(*pans[Qt.Key(key)])
            self._is_fitted = False
            self.update()
        else:
            super().keyPressEvent(event)
