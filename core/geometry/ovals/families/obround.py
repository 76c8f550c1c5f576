"""The obround: a rectangle with half a circle at either end."""

from __future__ import annotations

from math import pi, sqrt
from typing import TYPE_CHECKING, ClassVar

import numpy as np

from core.geometry.lines.outline import Outline
from core.geometry.ovals.families.kind import SAME, Kind, from_arc, leg

if TYPE_CHECKING:
    from core.geometry.lines.outline import FloatArray
    from core.geometry.ovals.families.kind import Near, Shape


class Obround(Kind):
    """Straight sides joined by arcs of one radius, here half the width."""

    words = "obround"
    names: ClassVar[tuple[str, ...]] = ("stadium", "oblong")

    def radius(self, shape: Shape) -> float:
        """Of its arcs [mm]."""
        return shape.b

    def outline(self, shape: Shape, tolerance: float) -> Outline:
        a, b, r = shape.a, shape.b, self.radius(shape)
        x, y, h = a - r, b - r, sqrt(2.0) - 1.0  # tan(90° / 4)
        if y < SAME:
            return Outline([[x, -b, 1.0], [x, b, 0.0], [-x, b, 1.0], [-x, -b, 0.0]])
        return Outline([[a, -y, 0], [a, y, h], [x, b, 0], [-x, b, h], [-a, y, 0], [-a, -y, h], [-x, -b, 0], [x, -b, h]])

    def distances(self, shape: Shape, x: FloatArray, y: FloatArray) -> Near:
        r = self.radius(shape)
        # As seen from the corner's centre.
        u, v = x - (shape.a - r), y - (shape.b - r)
        d, nx, ny = from_arc(np.maximum(u, 0.0), np.maximum(v, 0.0), r)
        inside = (u <= 0.0) & (v <= 0.0)
        d = np.where(inside, np.maximum(u, v) - r, d)
        return d, np.where(inside, (u > v) * 1.0, nx), np.where(inside, (u <= v) * 1.0, ny)

    def support(self, shape: Shape, c: float, s: float) -> float:
        r = self.radius(shape)
        return (shape.a - r) * c + (shape.b - r) * s + r

    def support_rates(self, shape: Shape, c: FloatArray, s: FloatArray) -> Near:
        return c, 1.0 - c, np.zeros_like(c)

    def length(self, shape: Shape) -> float:
        r = self.radius(shape)
        return 4.0 * (shape.a - r) + 4.0 * (shape.b - r) + 2.0 * pi * r

    def half_width_at(self, shape: Shape, x: float) -> float:
        a, b, r = shape.a, shape.b, self.radius(shape)
        return b if x <= a - r else b - r + leg(r, x - a + r)

    def end_height(self, shape: Shape, y: float) -> float:
        b, r = shape.b, self.radius(shape)
        return 0.0 if y <= b - r else r - leg(r, y - b + r)

    def gauge_radius(self, shape: Shape) -> float:
        return self.radius(shape)
