"""The curve |x / a|^n + |y / b|^n = 1 in closed form, and normal distances from it."""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

if TYPE_CHECKING:
    from core.geometry.lines.outline import FloatArray
    from core.geometry.ovals.families.kind import Near

# Newton's steps to the foot of the normal.
_STEPS = 6


class PowerCurve(Struct, frozen=True):
    """An ellipse or superellipse at m directions phi, in closed form.

    Attributes:
        points: (m, 2) [mm].
        rates: (m, 2) derivatives of the points by phi [mm / rad].
        normals: (m, 2) unit outward normals.
        curvature: (m,) [1 / mm].

    >>> PowerCurve.at(4.0, 2.0, 2.0, np.array([0.0])).curvature.round(9).tolist()  # of an ellipse's end: a / b²
    [1.0]
    """

    points: FloatArray
    rates: FloatArray
    normals: FloatArray
    curvature: FloatArray

    @classmethod
    def at(cls, a: float, b: float, n: float, phi: FloatArray) -> PowerCurve:
        """The curve where (x / a, y / b) lies in the directions ``phi`` [rad]: dense even where exponents make corners.

        The normal is the gradient of F = |x / a|^n + |y / b|^n; the curvature (Fxx Fy² + Fyy Fx²) / |grad F|³, Fxy = 0.
        """
        cos, sin = np.cos(phi), np.sin(phi)
        # Exact on the axes: cos(pi / 2) is 6e-17, which a power near 0 would blow up.
        cos, sin = np.where(np.abs(cos) < 1e-15, 0.0, cos), np.where(np.abs(sin) < 1e-15, 0.0, sin)
        c, s = np.abs(cos), np.abs(sin)
        w = (c**n + s**n) ** (-1.0 / n)
        points = np.column_stack((a * cos * w, b * sin * w))
        slope = -(w ** (n + 1.0)) * (s ** (n - 1.0) * np.sign(sin) * cos - c ** (n - 1.0) * np.sign(cos) * sin)
        rates = np.column_stack((a * (cos * slope - sin * w), b * (sin * slope + cos * w)))
        x, y = c * w, s * w
        gradient = np.column_stack((x ** (n - 1.0) / a * np.sign(cos), y ** (n - 1.0) / b * np.sign(sin)))
        size = np.hypot(gradient[:, 0], gradient[:, 1])
        bend = x ** (n - 2.0) / (a * a) * gradient[:, 1] ** 2 + y ** (n - 2.0) / (b * b) * gradient[:, 0] ** 2
        return cls(points, rates, gradient / size[:, None], (n - 1.0) * bend / size**3)


def from_power(a: float, b: float, n: float, x: FloatArray, y: FloatArray) -> Near:
    """From |x / a|^n + |y / b|^n = 1 by walking along the curve, from the point's own direction, to its normal's foot.

    The curve is (a c w, b s w) with c, s = cos, sin phi and w = (c^n + s^n)^(-1 / n).

    >>> [found.round(9).tolist() for found in from_power(3.0, 2.0, 2.0, np.array([5.0, 0.0]), np.array([0.0, 3.0]))]
    [[2.0, 1.0], [1.0, 0.0], [0.0, 1.0]]
    """
    phi = np.arctan2(y / b, x / a)
    d, nx, ny = x, x, y
    for step in range(_STEPS):
        c, s = np.maximum(np.cos(phi), 0.0), np.maximum(np.sin(phi), 0.0)
        cn, sn = c ** (n - 1.0), s ** (n - 1.0)
        w = (cn * c + sn * s) ** (-1.0 / n)
        gx, gy = cn * (w ** (n - 1.0)) / a, sn * (w ** (n - 1.0)) / b
        size = np.hypot(gx, gy)
        nx, ny = gx / size, gy / size
        dx, dy = x - a * c * w, y - b * s * w
        d = dx * nx + dy * ny
        if step < _STEPS - 1:
            dw = -(w ** (n + 1.0)) * (sn * c - cn * s)
            speed = np.hypot(a * (c * dw - s * w), b * (s * dw + c * w))
            # Moving along the curve turns the normal, so that the foot moves slower than the point (Newton's method).
            bend = (c * w) ** (n - 2.0) * (gy / a) ** 2 + (s * w) ** (n - 2.0) * (gx / b) ** 2
            lead = np.maximum(1.0 + (n - 1.0) * bend / size**3 * d, 0.05)
            turn = np.clip((dy * nx - dx * ny) / (speed * lead), -0.3, 0.3)
            phi = np.clip(phi + turn, 0.0, pi / 2.0)
    return d, nx, ny
