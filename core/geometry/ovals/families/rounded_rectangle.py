"""The rounded rectangle: four sides joined by arcs of one radius."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from core.geometry.ovals.families.kind import SAME, Own, check_radius
from core.geometry.ovals.families.obround import Obround
from core.words.errors import ImpossibleOvalError

if TYPE_CHECKING:
    from core.geometry.lines.outline import FloatArray
    from core.geometry.ovals.families.kind import Near, Shape


class RoundedRectangle(Obround):
    """Its corners' radius is usually a quarter of the width."""

    words = "rounded rectangle"
    names: ClassVar[tuple[str, ...]] = ("rectangle",)
    # Corners of the whole half width would be an obround; a hair less stays possible when sizes are rounded off.
    own = Own("end_radius", "corner radius", 0.005, 0.9999, 0.6)
    special_cases = (Obround,)

    def radius(self, shape: Shape) -> float:
        return shape.b / 2.0 if shape.own is None else shape.own

    def usual(self, shape: Shape) -> float:
        return shape.b / 2.0

    def check_own(self, where: str, own: float, shape: Shape) -> None:
        check_radius(where, "corner radius", own, shape.b)
        if own > shape.b:
            raise ImpossibleOvalError(
                where,
                "a corner radius of {asked} is more than half the width",
                "go up to {bound}",
                asked_mm=own,
                bound_mm=shape.b,
            )

    def is_circle(self, shape: Shape) -> bool:
        return super().is_circle(shape) and shape.b - self.radius(shape) < SAME

    def support_rates(self, shape: Shape, c: FloatArray, s: FloatArray) -> Near:
        return c, s, 1.0 - c - s
