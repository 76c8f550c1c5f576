"""The shapes an insert can have, as small pictures: each family's own curve, three long to two wide."""

from __future__ import annotations

from functools import lru_cache
from math import cos, pi, sin
from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QPointF, QRect, QRectF, QSize, Qt
from PySide6.QtGui import QGuiApplication, QIcon, QIconEngine, QPainter, QPen, QPixmap, QPolygonF

from app.widgets.theme import ink
from core.geometry.ovals.ovals import Family, oval_of, oval_outline

if TYPE_CHECKING:
    from app.widgets.theme import Ink

_LENGTH, _WIDTH = 60.0, 40.0
_OWN: Final = {Family.FOUR_ARC: 8.0, Family.SUPERELLIPSE: 3.5}
"""Sizes of a family's own that tell it from the ellipse, which the usual ones hardly do."""
_LINE: Final = 1.3
_TOLERANCE: Final = 0.05  # mm, of 60: less than a tenth of a pixel in the largest picture


@lru_cache(maxsize=len(Family))
def _curve(family: Family) -> QPolygonF:
    """Closed, round the origin [mm]; a measured outline stands for no formula, so it is an uneven one."""
    if not family.kind.is_sized:
        turns = [2.0 * pi * i / 60 for i in range(60)]
        ways = [(t, 1.0 - 0.06 * cos(t + 0.5) + 0.03 * sin(2.0 * t)) for t in turns]
        return QPolygonF([QPointF(_LENGTH / 2.0 * r * cos(t), _WIDTH / 2.0 * r * sin(t)) for t, r in ways])
    length = _WIDTH if family.kind.is_round else _LENGTH
    points = oval_outline(oval_of(family, length, _WIDTH, _OWN.get(family))).chords(_TOLERANCE).tolist()
    return QPolygonF([QPointF(x, -y) for x, y in points])


def paint_silhouette(painter: QPainter, rect: QRectF, family: Family, inks: Ink) -> None:
    """The family's curve as large as the rectangle allows, all families on one scale: the insert's fill, inked."""
    room = rect.adjusted(_LINE, _LINE, -_LINE, -_LINE)
    scale = min(room.width() / _LENGTH, room.height() / _WIDTH)
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.translate(rect.center())
    painter.scale(scale, scale)
    pen = QPen(inks.line, _LINE / scale)
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    painter.setPen(pen)
    painter.setBrush(inks.insert_fill)
    painter.drawPolygon(_curve(family))
    painter.restore()


def silhouette_icon(family: Family) -> QIcon:
    """The silhouette for a list of choices, sharp at any size and in the application's colours of the moment."""
    return QIcon(_Silhouette(family))


class _Silhouette(QIconEngine):
    def __init__(self, family: Family) -> None:
        super().__init__()
        self._family = family

    def paint(self, painter: QPainter, rect: QRect, _mode: QIcon.Mode, _state: QIcon.State) -> None:
        paint_silhouette(painter, QRectF(rect), self._family, ink(QGuiApplication.palette()))

    def pixmap(self, size: QSize, mode: QIcon.Mode, state: QIcon.State) -> QPixmap:
        made = QPixmap(size)
        made.fill(Qt.GlobalColor.transparent)
        with QPainter(made) as painter:
            self.paint(painter, QRect(0, 0, size.width(), size.height()), mode, state)
        return made

    def clone(self) -> QIconEngine:
        return _Silhouette(self._family)
