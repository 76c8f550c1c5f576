"""The signs of an outline file's faults, in the drawing and beside their words in the list."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QLineF, QPointF, Qt
from PySide6.QtGui import QPolygonF

from app.drawing.base.pens import FULL, faded
from core.measure.drawing.results import Fault

if TYPE_CHECKING:
    from PySide6.QtGui import QColor, QPainter

    from app.drawing.base.pens import Pencil
    from app.widgets.theme import Ink


def fault_color(fault: Fault, inks: Ink) -> QColor:
    """What is left open needs a hand; what was mended only wants to be seen."""
    return inks.no_go if fault in (Fault.OPEN_END, Fault.BRANCH, Fault.CROSSING) else inks.marginal


def draw_fault(painter: QPainter, pencil: Pencil, at: QPointF, fault: Fault, reach: float) -> None:
    """Draw a fault's sign about a place, ``reach`` to each side [screen units].

    A ring is a gap that was closed, a cross an open end, two strokes a line drawn twice, a diamond a stray bit, three
    arms a branch, two wedges a loop that crosses itself.
    """
    color = fault_color(fault, pencil.ink)
    painter.setBrush(faded(pencil.ink.paper, 0.8))
    painter.setPen(Qt.PenStyle.NoPen)
    painter.drawEllipse(at, reach * 1.25, reach * 1.25)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.setPen(pencil.pen(color, FULL))
    x, y, r = at.x(), at.y(), reach
    match fault:
        case Fault.GAP:
            painter.drawEllipse(at, r * 0.8, r * 0.8)
        case Fault.OPEN_END:
            painter.drawLines([QLineF(x - r, y - r, x + r, y + r), QLineF(x - r, y + r, x + r, y - r)])
        case Fault.DOUBLE:
            painter.drawLines(
                [QLineF(x - r, y - r / 3.0, x + r, y - r / 3.0), QLineF(x - r, y + r / 3.0, x + r, y + r / 3.0)]
            )
        case Fault.STRAY:
            painter.drawPolygon(QPolygonF([QPointF(x - r, y), QPointF(x, y - r), QPointF(x + r, y), QPointF(x, y + r)]))
        case Fault.BRANCH:
            painter.drawLines([QLineF(x, y, x, y + r), QLineF(x, y, x - r, y - r), QLineF(x, y, x + r, y - r)])
        case Fault.CROSSING:
            painter.drawPolygon(
                QPolygonF([QPointF(x - r, y - r), QPointF(x - r, y + r), QPointF(x + r, y - r), QPointF(x + r, y + r)])
            )
