"""The ellipse, and what it shares with the superellipse |x / a|^n + |y / b|^n = 1, of which it is n = 2."""

from __future__ import annotations

from math import pi, sqrt
from typing import TYPE_CHECKING, ClassVar

import numpy as np

from core.geometry.lines.outline import Outline
from core.geometry.ovals.arcfit import fit_curve
from core.geometry.ovals.families.kind import Kind, leg
from core.geometry.ovals.families.power import PowerCurve, from_power

if TYPE_CHECKING:
    from core.geometry.lines.outline import FloatArray
    from core.geometry.ovals.families.kind import Near, Shape

QUARTER = 2001
"""Samples of a quarter for fitting: some 40 to an arc, so that the top of its deviation is met within 0.5 %."""


class Ellipse(Kind):
    """A curve without arcs."""

    words = "ellipse"
    names: ClassVar[tuple[str, ...]] = ("elliptical",)
    has_arcs = False

    def exponent(self, shape: Shape) -> float:
        """The power n of the curve [1]."""
        return 2.0

    def curve(self, shape: Shape, phi: FloatArray) -> PowerCurve:
        """The curve where (x / a, y / b) lies in the directions ``phi`` [rad]."""
        return PowerCurve.at(shape.a, shape.b, self.exponent(shape), phi)

    def outline(self, shape: Shape, tolerance: float) -> Outline:
        curve = self.curve(shape, np.linspace(0.0, pi / 2.0, QUARTER))
        # One quarter, mirrored, is symmetric bit by bit and keeps the tangents along the axes exact.
        quarter = fit_curve(curve.points, np.column_stack((-curve.normals[:, 1], curve.normals[:, 0])), tolerance)
        x, y, bulge = quarter[:, 0], quarter[:, 1], quarter[:-1, 2]
        half_x = np.concatenate((x[:-1], -x[:0:-1]))
        half_y = np.concatenate((y[:-1], y[:0:-1]))
        half_bulge = np.concatenate((bulge, bulge[::-1]))
        half = np.column_stack((half_x, half_y, half_bulge))
        return Outline(np.concatenate((half, half * np.array([-1.0, -1.0, 1.0]))))

    def distances(self, shape: Shape, x: FloatArray, y: FloatArray) -> Near:
        return from_power(shape.a, shape.b, self.exponent(shape), x, y)

    def support(self, shape: Shape, c: float, s: float) -> float:
        return sqrt(shape.a * shape.a * c * c + shape.b * shape.b * s * s)

    def support_rates(self, shape: Shape, c: FloatArray, s: FloatArray) -> Near:
        h = np.hypot(shape.a * c, shape.b * s)
        return shape.a * c * c / h, shape.b * s * s / h, np.zeros_like(c)

    def length(self, shape: Shape) -> float:
        """By the arithmetic-geometric mean (Abramowitz & Stegun 17.6.4)."""
        a, b = max(shape[:2]), min(shape[:2])
        # 4 a E(k) = 2 pi (a² - sum 2^(n-1) c_n²) / M(a, b), with the half differences c_n of the mean's steps.
        total, power = (a * a + b * b) / 2.0, 1.0
        while a - b > 1e-15 * a:
            c = (a - b) / 2.0
            a, b = (a + b) / 2.0, sqrt(a * b)
            total -= power * c * c
            power *= 2.0
        return 2.0 * pi * total / a

    def least_radius(self, shape: Shape) -> float:
        return shape.b * shape.b / shape.a

    def greatest_radius(self, shape: Shape) -> float:
        return shape.a * shape.a / shape.b

    def points(self, shape: Shape, n: int) -> tuple[FloatArray, FloatArray]:
        curve = self.curve(shape, 2.0 * pi * np.arange(n) / n)
        return curve.points, curve.normals

    def half_width_at(self, shape: Shape, x: float) -> float:
        return shape.b * leg(1.0, x / shape.a)

    def end_height(self, shape: Shape, y: float) -> float:
        return shape.a - shape.a * leg(1.0, y / shape.b)

    def gauge_radius(self, shape: Shape) -> float:
        return self.least_radius(shape)
