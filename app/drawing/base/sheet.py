"""What stands in the corners of a drawing: what is seen and in which unit, and a bar to judge sizes by."""

from __future__ import annotations

from math import floor, log10
from typing import TYPE_CHECKING

from PySide6.QtCore import QLineF, QPointF, QRectF
from PySide6.QtGui import QFontMetricsF

from app.drawing.base.pens import THIN
from app.drawing.base.texts import draw_text
from core.words.lengths import Style, Unit, parse_length, unit_of

if TYPE_CHECKING:
    from PySide6.QtGui import QPainter

    from app.drawing.base.pens import Pencil
    from core.words.ends import End

_BAR_PX = 110.0
_UNITS = {Style.MM: "lengths in mm", Style.INCH: "lengths in inches", Style.FRACTION: "lengths in inches"}


def no_metal(*ends: End) -> str:
    """What is said of pieces that openings, holes or seats have swallowed."""
    return f"No metal is left of the {' and the '.join(ends)}."


def draw_caption(painter: QPainter, pencil: Pencil, room: QRectF, style: Style, title: str, more: str = "") -> None:
    """Write what is seen into the lower left corner, and the unit of all figures behind it."""
    plain, bold = painter.font(), painter.font()
    bold.setBold(True)
    metrics = QFontMetricsF(bold)
    pad = metrics.height() * 0.5
    at = QPointF(room.left() + pad, room.bottom() - pad - metrics.descent())
    painter.setFont(bold)
    draw_text(painter, at, title, pencil.ink.text, pencil.ink.paper)
    painter.setFont(plain)
    at.setX(at.x() + metrics.horizontalAdvance(title) + metrics.height() * 0.7)
    left = room.right() - at.x() - _BAR_PX - 2.0 * metrics.height()  # the scale bar keeps the other corner
    small = QFontMetricsF(plain)
    said = (text for text in _captions(_UNITS[style], more) if small.horizontalAdvance(text) <= left)
    draw_text(painter, at, next(said, ""), pencil.ink.quiet, pencil.ink.paper)


def _captions(unit: str, more: str) -> tuple[str, ...]:
    """What stands behind a title, the fullest first: half a word says nothing."""
    short = unit.removeprefix("lengths ")
    return (f"{unit}; {more}", f"{short}; {more}", unit, short, more) if more else (unit, short)


def draw_scale_bar(painter: QPainter, pencil: Pencil, room: QRectF, style: Style, scale: float) -> None:
    """Draw a bar of a round length into the lower right corner.

    Args:
        painter: without a transform.
        pencil: its pens.
        room: the widget.
        style: its unit decides which lengths are round.
        scale: screen units per millimetre.
    """
    unit = unit_of(style)
    one = parse_length("1", unit)
    length = round_length(_BAR_PX / scale / one) * one
    metrics = QFontMetricsF(painter.font())
    pad = metrics.height() * 0.5
    right, y = room.right() - pad, room.bottom() - pad - metrics.descent()
    left, tick = right - length * scale, metrics.height() * 0.3
    painter.setPen(pencil.pen(pencil.ink.quiet, THIN))
    middle = (left + right) / 2.0
    painter.drawLines(
        [
            QLineF(left, y, right, y),
            QLineF(left, y, left, y - tick),
            QLineF(right, y, right, y - tick),
            QLineF(middle, y, middle, y - tick * 0.6),
        ]
    )
    text = f"{length / one:g} {'mm' if unit is Unit.MM else 'in'}"
    at = QPointF(middle - metrics.horizontalAdvance(text) / 2.0, y - tick - metrics.descent())
    draw_text(painter, at, text, pencil.ink.quiet, pencil.ink.paper)


def round_length(most: float) -> float:
    """The greatest of 1, 2, 5 times a power of ten that is not over ``most`` (> 0)."""
    power = 10.0 ** floor(log10(most) + 1e-9)
    return max(step * power for step in (1.0, 2.0, 5.0) if step * power <= most * (1.0 + 1e-9))
