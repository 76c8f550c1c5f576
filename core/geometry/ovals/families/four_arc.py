"""The four-arc oval: two end arcs and two side arcs that meet with common tangents."""

from __future__ import annotations

from math import atan2, hypot, pi
from typing import TYPE_CHECKING, ClassVar

import numpy as np

from core.geometry.lines.outline import Outline
from core.geometry.ovals.families.kind import Kind, Own, check_radius, leg
from core.geometry.ovals.families.obround import Obround
from core.words.errors import ImpossibleOvalError

if TYPE_CHECKING:
    from core.geometry.lines.outline import FloatArray
    from core.geometry.ovals.families.kind import Near, Shape


def four_arc_radii(length: float, width: float, end_radius: float | None) -> tuple[float, float]:
    """End radius r and side radius R [mm] of the four-arc oval whose arcs meet with common tangents.

    Args:
        length: whole length 2a [mm].
        width: whole width 2b [mm].
        end_radius: r [mm], less than b unless it is a circle; None is the usual construction.

    Source: R = (a² + b² - 2ar) / (2(b - r)) follows from (a - r)² + (R - b)² = (R - r)², the tangency of the arcs. The
    usual construction lays a - b off on the hypotenuse between the half axes and erects the perpendicular bisector of
    the rest, which meets the axes at the two centres.

    >>> four_arc_radii(20.0, 10.0, 2.5)  # a = 10, b = 5: 7.5² + (R - 5)² = (R - 2.5)²
    (2.5, 15.0)
    """
    a, b = length / 2.0, width / 2.0
    if end_radius is None:
        c = hypot(a, b)
        return c * (c - (a - b)) / (2.0 * a), c * (c + (a - b)) / (2.0 * b)
    r = end_radius
    if a == b == r:
        return r, r
    # a² + b² - 2ar = (a - b)² + 2a(b - r): no difference of nearly equal numbers for long ovals.
    return r, a + (a - b) * (a - b) / (2.0 * (b - r))


class FourArc(Kind):
    """Its end radius usually follows from length and width."""

    words = "four-arc oval"
    names: ClassVar[tuple[str, ...]] = ("four arc oval",)
    # A share of 1 would be an obround, whose side arcs are straight.
    own = Own("end_radius", "end radius", 0.005, 0.995, 0.65)
    special_cases = (Obround,)
    is_constructed = True

    def usual(self, shape: Shape) -> float:
        return four_arc_radii(2.0 * shape.a, 2.0 * shape.b, None)[0]

    def check_own(self, where: str, own: float, shape: Shape) -> None:
        check_radius(where, "end radius", own, shape.b)
        # At half the width the side arcs are straight and tangents no longer meet, unless it is a circle.
        if own >= shape.b and not own == shape.a == shape.b:
            raise ImpossibleOvalError(
                where,
                "an end radius of {asked} reaches half the width, so no side arc can join the ends",
                "stay below {bound}, or choose an obround",
                asked_mm=own,
                bound_mm=shape.b,
            )

    def _radii(self, shape: Shape) -> tuple[float, float]:
        return four_arc_radii(2.0 * shape.a, 2.0 * shape.b, shape.own)

    def outline(self, shape: Shape, tolerance: float) -> Outline:
        r, side = self._radii(shape)
        across, up, reach = shape.a - r, side - shape.b, side - r
        x, y = across + r * across / reach, r * up / reach
        # Bulges tan(sweep / 4) of arcs over twice the angles atan(up / across) and atan(across / up).
        end, flat = up / (reach + across), across / (reach + up)
        return Outline([[x, -y, end], [x, y, flat], [-x, y, end], [-x, -y, flat]])

    def distances(self, shape: Shape, x: FloatArray, y: FloatArray) -> Near:
        r, side = self._radii(shape)
        across, low = shape.a - r, side - shape.b
        at_end = (x - across) * low > y * across
        away = np.hypot(np.where(at_end, x - across, x), np.where(at_end, y, y + low))
        safe = np.where(away > 0.0, away, 1.0)
        return (
            away - np.where(at_end, r, side),
            np.where(at_end, x - across, x) / safe,
            np.where(at_end, y, y + low) / safe,
        )

    def support(self, shape: Shape, c: float, s: float) -> float:
        r, side = self._radii(shape)
        # The joint's normal points from the side's centre (0, b - R) to the end's (a - r, 0).
        if s * (shape.a - r) <= c * (side - shape.b):
            return (shape.a - r) * c + r
        return side - (side - shape.b) * s

    def support_rates(self, shape: Shape, c: FloatArray, s: FloatArray) -> Near:
        r, side = self._radii(shape)
        a, b = shape.a, shape.b
        at_end = s * (a - r) <= c * (side - b)
        lean = (a - b) / (b - r)  # of the side radius by a, which moves it by 1 + lean
        flat = 1.0 - s
        return (
            np.where(at_end, c, (1.0 + lean) * flat),
            np.where(at_end, 0.0, s - (lean + lean * lean / 2.0) * flat),
            np.where(at_end, 1.0 - c, lean * lean / 2.0 * flat),
        )

    def length(self, shape: Shape) -> float:
        """4 (R alpha + r (pi / 2 - alpha)), tan alpha = (a - r) / (R - b)."""
        r, side = self._radii(shape)
        alpha = atan2(shape.a - r, side - shape.b)
        return 4.0 * (side * alpha + r * (pi / 2.0 - alpha))

    def half_width_at(self, shape: Shape, x: float) -> float:
        r, side = self._radii(shape)
        if x * (side - r) <= side * (shape.a - r):
            return leg(side, x) - (side - shape.b)
        return leg(r, x - shape.a + r)

    def end_height(self, shape: Shape, y: float) -> float:
        r, side = self._radii(shape)
        if y * (side - r) <= r * (side - shape.b):
            return r - leg(r, y)
        return shape.a - leg(side, y + side - shape.b)

    def gauge_radius(self, shape: Shape) -> float:
        return self._radii(shape)[0]
