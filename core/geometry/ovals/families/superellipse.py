"""The superellipse |x / a|^n + |y / b|^n = 1, between an ellipse and a rectangle."""

from __future__ import annotations

from math import inf, pi
from typing import TYPE_CHECKING, ClassVar

import numpy as np

from core.geometry.ovals.families.ellipse import QUARTER, Ellipse
from core.geometry.ovals.families.kind import Own, arc_radius
from core.words.errors import ImpossibleOvalError

if TYPE_CHECKING:
    from core.geometry.lines.outline import FloatArray
    from core.geometry.ovals.families.kind import Near, Shape


class Superellipse(Ellipse):
    """Its exponent n is usually 2.5."""

    words = "superellipse"
    names: ClassVar[tuple[str, ...]] = ()
    own = Own("exponent", "exponent", 2.0, 10.0, 2.5, is_share=False)
    special_cases = (Ellipse,)
    bends = True

    def exponent(self, shape: Shape) -> float:
        return self.own.start if shape.own is None else shape.own

    def usual(self, shape: Shape) -> float:
        return self.own.start

    def check_own(self, where: str, own: float, shape: Shape) -> None:
        low, high = self.own.low, self.own.high
        if not low <= own <= high:
            raise ImpossibleOvalError(
                where,
                f"an exponent of {own:g} makes no usable oval",
                f"choose one from {low:g} (an ellipse) to {high:g} (nearly a rectangle)",
            )

    def is_circle(self, shape: Shape) -> bool:
        return super().is_circle(shape) and self.exponent(shape) == 2.0

    def support(self, shape: Shape, c: float, s: float) -> float:
        """By the dual norm, of exponent n / (n - 1)."""
        m = 1.0 + 1.0 / (self.exponent(shape) - 1.0)
        return float(((shape.a * c) ** m + (shape.b * s) ** m) ** (1.0 / m))

    def support_rates(self, shape: Shape, c: FloatArray, s: FloatArray) -> Near:
        """By the exponent it is h / n² times the entropy of both terms' shares of the sum."""
        n = self.exponent(shape)
        m = n / (n - 1.0)
        p, q = (shape.a * c) ** m, (shape.b * s) ** m
        total = p + q
        h = total ** (1.0 / m)
        u, v = p / total, q / total
        entropy = -u * np.log(np.maximum(u, 1e-300)) - v * np.log(np.maximum(v, 1e-300))
        return u * h / shape.a, v * h / shape.b, h * entropy / (n * n)

    def length(self, shape: Shape) -> float:
        """By Gauss-Legendre quadrature, graded towards the axes, where its rate has a fractional power."""
        if self.exponent(shape) == 2.0:
            return super().length(shape)
        nodes, weights = np.polynomial.legendre.leggauss(16)
        edges = np.concatenate((np.zeros(1), pi / 4.0 * 0.5 ** np.arange(40.0, -1.0, -1.0)))
        middle, half = (edges[1:] + edges[:-1]) / 2.0, np.diff(edges) / 2.0
        phi = (middle[:, None] + half[:, None] * nodes).ravel()
        rates = [self.curve(shape, angle).rates for angle in (phi, pi / 2.0 - phi)]
        speed = sum(np.hypot(rate[:, 0], rate[:, 1]) for rate in rates)
        return float(4.0 * ((half[:, None] * weights).ravel() * speed).sum())

    def least_radius(self, shape: Shape) -> float:
        if self.exponent(shape) == 2.0:
            return super().least_radius(shape)
        phi = np.linspace(0.0, pi / 2.0, QUARTER)
        for _ in range(4):
            top = int(np.argmax(self.curve(shape, phi).curvature))
            phi = np.linspace(phi[max(top - 1, 0)], phi[min(top + 1, len(phi) - 1)], 101)
        return float(1.0 / self.curve(shape, phi).curvature.max())

    def greatest_radius(self, shape: Shape) -> float:
        return super().greatest_radius(shape) if self.exponent(shape) == 2.0 else inf

    def half_width_at(self, shape: Shape, x: float) -> float:
        n = self.exponent(shape)
        return float(shape.b * (1.0 - (x / shape.a) ** n) ** (1.0 / n))

    def end_height(self, shape: Shape, y: float) -> float:
        n = self.exponent(shape)
        return float(shape.a - shape.a * (1.0 - (y / shape.b) ** n) ** (1.0 / n))

    def gauge_radius(self, shape: Shape) -> float:
        """By the circle through the end and the places half the width apart: no gauge fits the flat very end."""
        return arc_radius(shape.b, self.end_height(shape, shape.b / 2.0))
