"""A value along a developed length, with one station that is read: the frame of every such chart."""

from __future__ import annotations

from abc import abstractmethod
from typing import TYPE_CHECKING, Any

from PySide6.QtCore import QLineF, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QPainter
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.drawing.base.pens import THIN, Pencil
from app.drawing.base.texts import draw_note
from app.widgets.style.marks import RULE, paint_outline
from app.widgets.theme import ink

if TYPE_CHECKING:
    from collections.abc import Sequence

    from PySide6.QtCore import QEvent
    from PySide6.QtGui import QKeyEvent, QMouseEvent, QPaintEvent, QPen

_LEAST_LINES, _LINES = 22, 48  # wide


class StationChart(QWidget):
    """Lanes in which a station is pointed at, or gone to by the arrow keys.

    Attributes:
        hovered: the station that is to be marked, or None.
        station: the station that is marked.
    """

    hovered = Signal(object)

    def __init__(self, name: str, description: str, lines: tuple[int, int], parent: QWidget | None = None) -> None:
        """A chart that is at least, and best, so many lines of text tall."""
        super().__init__(parent)
        self.station: Any = None
        self._tall = lines
        self.setAccessibleName(name)
        self.setAccessibleDescription(description)
        self.setMouseTracking(True)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        self.setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)

    # What each chart says of its own

    @abstractmethod
    def station_at(self, at: QPointF) -> Any | None:  # noqa: ANN401 - each chart has its own kind of station
        """The station under a place of the widget; None beside the lanes."""

    @abstractmethod
    def place_of(self, station: Any) -> QPointF | None:  # noqa: ANN401 - as above
        """Where a station's value is drawn; None where it is not shown."""

    @abstractmethod
    def lane_of(self, station: Any) -> QRectF:  # noqa: ANN401 - as above
        """The lane of a station that is shown."""

    @abstractmethod
    def note(self, station: Any) -> Sequence[str]:  # noqa: ANN401 - as above
        """What is read there."""

    @abstractmethod
    def next_station(self, way: int, *, is_far: bool) -> Any | None:  # noqa: ANN401 - as above
        """The station that an arrow key goes to, 1 onwards, -1 back; None where there is nothing to read."""

    @abstractmethod
    def draw(self, painter: QPainter, pencil: Pencil) -> None:
        """Draw everything but the focus."""

    # What they have in common

    def mark_station(self, station: Any | None) -> None:  # noqa: ANN401 - as above
        """Mark a station, or none."""
        if station != self.station:
            self.station = station
            self.update()

    def draw_station(self, painter: QPainter, pencil: Pencil, edge: QPen) -> None:
        """Draw the station that is marked, with what is read there; ``edge`` is the dot's."""
        at = None if self.station is None else self.place_of(self.station)
        if at is None:
            return
        lane = self.lane_of(self.station)
        painter.setPen(pencil.pen(pencil.ink.highlight, THIN))
        painter.drawLine(QLineF(at.x(), lane.top(), at.x(), lane.bottom()))
        painter.setBrush(pencil.ink.highlight)
        painter.setPen(edge)
        painter.drawEllipse(at, 4.5, 4.5)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        draw_note(painter, pencil, at, self.note(self.station), QRectF(self.rect()))

    def minimumSizeHint(self) -> QSize:
        line = self.fontMetrics().height()
        return QSize(_LEAST_LINES * line, self._tall[0] * line)

    def sizeHint(self) -> QSize:
        line = self.fontMetrics().height()
        return QSize(_LINES * line, self._tall[1] * line)

    def paintEvent(self, _event: QPaintEvent) -> None:
        pencil = Pencil(ink(self.palette()), self.devicePixelRatioF())
        with QPainter(self) as painter:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.fillRect(self.rect(), pencil.ink.paper)
            self.draw(painter, pencil)
            if self.hasFocus():
                paint_outline(painter, QRectF(self.rect()), pencil.ink.highlight, RULE)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        station = self.station_at(event.position())
        if station != self.station:
            self.hovered.emit(station)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        self.setFocus(Qt.FocusReason.MouseFocusReason)
        self.mouseMoveEvent(event)

    def leaveEvent(self, event: QEvent) -> None:
        super().leaveEvent(event)
        if self.station is not None:
            self.hovered.emit(None)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        way = {Qt.Key.Key_Left: -1, Qt.Key.Key_Right: 1}.get(Qt.Key(event.key()), 0)
        is_far = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
        is_ours = bool(way) and not event.modifiers() & Qt.KeyboardModifier.ControlModifier
        station = self.next_station(way, is_far=is_far) if is_ours else None
        if station is None:
            super().keyPressEvent(event)
        else:
            self.hovered.emit(station)
