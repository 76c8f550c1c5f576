"""The few shapes that controls are made of: a field over its rule, an outline, an arrow, ticks and dots."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QPointF, QRect, QRectF, Qt
from PySide6.QtGui import QPainter, QPainterPath, QPen, QPolygonF

if TYPE_CHECKING:
    from PySide6.QtGui import QColor
    from PySide6.QtWidgets import QStyle, QStyleOption

    from app.widgets.theme import Ink

CORNER: Final = 2.0
HAIR: Final = 1.0
RULE: Final = 2.0
"""Of what has the focus, or is refused."""


def paint_field(painter: QPainter, rect: QRect, inks: Ink, *, ground: QColor, rule: QColor, is_strong: bool) -> None:
    """What can be typed in or chosen from: its ground, and a rule below, thick where the focus is."""
    room = QRectF(rect)
    thick = RULE if is_strong else HAIR
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(inks.lit if is_strong and rule == inks.highlight else ground)
    painter.drawRoundedRect(room, CORNER, CORNER)
    painter.fillRect(QRectF(room.left(), room.bottom() - thick, room.width(), thick), rule)
    painter.restore()


def paint_outline(painter: QPainter, rect: QRectF, color: QColor, width: float, fill: QColor | None = None) -> None:
    """A rectangle with small corners, its line inside it."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(color, width))
    painter.setBrush(Qt.BrushStyle.NoBrush if fill is None else fill)
    half = width / 2.0
    painter.drawRoundedRect(rect.adjusted(half, half, -half, -half), CORNER, CORNER)
    painter.restore()


def paint_arrow(painter: QPainter, rect: QRectF, color: QColor, way: tuple[int, int]) -> None:
    """A small filled triangle in the middle, pointing along ``way``: (1, 0) right, (0, 1) down."""
    side = max(4.0, min(rect.width(), rect.height(), 16.0) * 0.27)
    along, across = QPointF(*way) * side * 0.6, QPointF(way[1], way[0]) * side
    middle = rect.center()
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(color)
    painter.drawPolygon(QPolygonF([middle + along, middle - along + across, middle - along - across]))
    painter.restore()


def paint_tick(painter: QPainter, rect: QRectF, color: QColor) -> None:
    """A tick that fills most of a box."""
    w, h = rect.width(), rect.height()
    tick = QPainterPath(rect.topLeft() + QPointF(0.22 * w, 0.52 * h))
    tick.lineTo(rect.topLeft() + QPointF(0.43 * w, 0.73 * h))
    tick.lineTo(rect.topLeft() + QPointF(0.78 * w, 0.29 * h))
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(color, max(1.6, w / 8.0)))
    painter.drawPath(tick)
    painter.restore()


def paint_dot(painter: QPainter, rect: QRectF, line: QColor, fill: QColor, dot: QColor | None) -> None:
    """A ring, with a dot in it where it is chosen."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(QPen(line, HAIR))
    painter.setBrush(fill)
    painter.drawEllipse(rect.adjusted(0.5, 0.5, -0.5, -0.5))
    if dot is not None:
        inset = rect.width() * 0.28
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(dot)
        painter.drawEllipse(rect.adjusted(inset, inset, -inset, -inset))
    painter.restore()


def has(option: QStyleOption, state: QStyle.StateFlag) -> bool:
    """Whether an option is in a state."""
    return bool(option.state & state)
