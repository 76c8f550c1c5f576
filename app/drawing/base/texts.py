"""Texts in a drawing: with a halo of the paper's colour, and as notes with a leader."""

from __future__ import annotations

from functools import lru_cache
from math import ceil
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QImage, QPainter, QPainterPath, QPen

from app.drawing.base.pens import THIN, faded

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from app.drawing.base.labels import Label
    from app.drawing.base.pens import Pencil

_HALO: Final = 2.0


@lru_cache(maxsize=1024)
def _written(text: str, font_key: str, color: int, halo: int, turn: float, ratio: float) -> tuple[QImage, float, float]:
    """A text with its halo as a picture, and where its baseline's start lies in it, in screen units.

    Stroking glyphs is the dearest thing in a frame (measured: 0.9 ms a text), and texts seldom change. A QImage, unlike
    a QPixmap, may outlive the application.
    """
    font = QFont()
    font.fromString(font_key)
    metrics = QFontMetricsF(font)
    pad = _HALO
    width, height = metrics.horizontalAdvance(text) + 2 * pad, metrics.height() + 2 * pad
    is_turned = turn == -90.0
    size = (height, width) if is_turned else (width, height)
    image = QImage(ceil(size[0] * ratio), ceil(size[1] * ratio), QImage.Format.Format_ARGB32_Premultiplied)
    image.setDevicePixelRatio(ratio)
    image.fill(Qt.GlobalColor.transparent)
    start = QPointF(pad + metrics.ascent(), size[1] - pad) if is_turned else QPointF(pad, pad + metrics.ascent())
    glyphs = QPainterPath()
    glyphs.addText(0.0, 0.0, font, text)
    with QPainter(image) as painter:
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setFont(font)
        painter.translate(start)
        if is_turned:
            painter.rotate(turn)
        pen = QPen(QColor.fromRgba(halo), 2.0 * _HALO)
        pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
        painter.strokePath(glyphs, pen)
        painter.setPen(QColor.fromRgba(color))
        painter.drawText(QPointF(0.0, 0.0), text)
    return image, start.x(), start.y()


def draw_text(
    painter: QPainter, at: QPointF, text: str, color: QColor, halo: QColor | None, *, turn: float = 0.0
) -> None:
    """Write one line that starts at ``at`` on its baseline, with a halo of the paper's colour round it.

    Args:
        painter: without a transform: texts are drawn after resetting it.
        at: the start of the baseline, in screen units.
        text: one line.
        color: of the text.
        halo: what keeps it readable on lines; None for none.
        turn: 0, or -90 for a text that runs upwards [degrees clockwise on screen].
    """
    if not text:
        return
    if halo is None:
        painter.setPen(color)
        painter.drawText(at, text)
        return
    ratio = painter.device().devicePixelRatioF()
    image, x, y = _written(text, painter.font().toString(), color.rgba(), halo.rgba(), turn, ratio)
    # On whole device pixels, or the picture would be blurred.
    left, top = round((at.x() - x) * ratio) / ratio, round((at.y() - y) * ratio) / ratio
    painter.drawImage(QPointF(left, top), image)


def draw_note(painter: QPainter, pencil: Pencil, at: QPointF, lines: Sequence[str], room: QRectF) -> QRectF:
    """A short note with a leader to ``at``, moved so that it stays in ``room``; returns where it was written."""
    metrics = QFontMetricsF(painter.font())
    pad = metrics.height() * 0.35
    width = max(metrics.horizontalAdvance(line) for line in lines) + 2 * pad
    height = metrics.height() * len(lines) + 1.2 * pad
    away = metrics.height() * 1.3
    x = at.x() + away if at.x() + away + width <= room.right() else at.x() - away - width
    y = at.y() - away - height if at.y() - away - height >= room.top() else at.y() + away
    box = QRectF(max(room.left(), x), min(y, room.bottom() - height), width, height)
    corner = QPointF(min(max(at.x(), box.left()), box.right()), min(max(at.y(), box.top()), box.bottom()))
    painter.setPen(pencil.pen(pencil.ink.dimension, THIN))
    painter.drawLine(QLineF(at, corner))
    painter.setBrush(faded(pencil.ink.paper, 0.94))
    painter.drawRect(box)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    for i, line in enumerate(lines):
        base = QPointF(box.left() + pad, box.top() + 0.6 * pad + metrics.ascent() + i * metrics.height())
        draw_text(painter, base, line, pencil.ink.text if i == 0 else pencil.ink.quiet, None)
    return box


def draw_labels(painter: QPainter, pencil: Pencil, labels: Iterable[Label]) -> None:
    """Draw words at the places that were found for them."""
    metrics = QFontMetricsF(painter.font())
    for label in labels:
        if label.spot.leader is not None:
            painter.setPen(pencil.pen(label.color, THIN))
            painter.drawLine(label.spot.leader)
        at = label.baseline(metrics)
        draw_text(painter, at, label.text, label.color, pencil.ink.paper, turn=label.spot.turn)
