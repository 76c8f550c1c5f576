"""The circle."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

import numpy as np

from core.geometry.ovals.families.kind import from_arc
from core.geometry.ovals.families.obround import Obround

if TYPE_CHECKING:
    from core.geometry.lines.outline import FloatArray
    from core.geometry.ovals.families.kind import Near, Shape


class Circle(Obround):
    """An obround without sides."""

    words = "circle"
    names: ClassVar[tuple[str, ...]] = ("round", "circular")
    is_round = True

    def distances(self, shape: Shape, x: FloatArray, y: FloatArray) -> Near:
        return from_arc(x, y, shape.a)

    def support_rates(self, shape: Shape, c: FloatArray, s: FloatArray) -> Near:
        return np.ones_like(c), np.zeros_like(c), np.zeros_like(c)
