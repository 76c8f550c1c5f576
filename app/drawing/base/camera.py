"""Millimetres with y up, and the widget with y down: one transform between them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from msgspec import Struct
from PySide6.QtCore import QPointF, QRectF
from PySide6.QtGui import QTransform

if TYPE_CHECKING:
    from collections.abc import Sequence

    from core.geometry.lines.outline import Point

CLOSEST: Final = 400.0
"""Screen units per millimetre, at most: a tenth of a millimetre fills a thumb."""
FARTHEST: Final = 0.05
"""Screen units per millimetre, at least: a two-metre housing on a stamp."""


class Camera(Struct):
    """Where the sheet is looked at from.

    Attributes:
        scale: screen units per millimetre, > 0.
        x, y: where the sheet's origin lies in the widget, in screen units.
    """

    scale: float = 1.0
    x: float = 0.0
    y: float = 0.0

    def to_widget(self, at: Sequence[float]) -> QPointF:
        """The widget's place of a place on the sheet [mm]."""
        return QPointF(self.x + at[0] * self.scale, self.y - at[1] * self.scale)

    def to_mm(self, at: QPointF) -> Point:
        """The sheet's place [mm] of a place in the widget."""
        return (at.x() - self.x) / self.scale, (self.y - at.y()) / self.scale

    @property
    def transform(self) -> QTransform:
        """From millimetres to the widget."""
        return QTransform(self.scale, 0.0, 0.0, -self.scale, self.x, self.y)

    def visible(self, area: QRectF) -> tuple[float, float, float, float]:
        """Least x, least y, greatest x, greatest y [mm] of an area of the widget."""
        x0, y1 = self.to_mm(area.topLeft())
        x1, y0 = self.to_mm(area.bottomRight())
        return x0, y0, x1, y1

    def zoom(self, factor: float, at: QPointF) -> None:
        """Magnify about a place of the widget, which stays where it is."""
        scale = min(CLOSEST, max(FARTHEST, self.scale * factor))
        factor = scale / self.scale
        self.x = at.x() + (self.x - at.x()) * factor
        self.y = at.y() + (self.y - at.y()) * factor
        self.scale = scale

    def pan(self, dx: float, dy: float) -> None:
        """Move the sheet by screen units."""
        self.x += dx
        self.y += dy

    def fit(self, bounds: tuple[float, float, float, float], area: QRectF) -> None:
        """Show ``bounds`` (least x, least y, greatest x, greatest y) [mm] as large as ``area`` allows, centred."""
        x0, y0, x1, y1 = bounds
        width, height = max(x1 - x0, 1e-6), max(y1 - y0, 1e-6)
        scale = min(max(area.width(), 1.0) / width, max(area.height(), 1.0) / height)
        self.scale = min(CLOSEST, max(FARTHEST, scale))
        self.x = area.center().x() - (x0 + x1) / 2.0 * self.scale
        self.y = area.center().y() + (y0 + y1) / 2.0 * self.scale

    def look_at(self, at: Sequence[float], area: QRectF) -> None:
        """Bring a place [mm] to the middle of an area of the widget."""
        seen = self.to_widget(at)
        self.pan(area.center().x() - seen.x(), area.center().y() - seen.y())
