"""Normal distances of many points from an oval, with the directions of the normals, for fitting.

`Outline.nearest` knows any outline; a fit asks some hundred times for thousands of points, so that each family's own
formula pays. By symmetry the first quarter is enough.
"""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING

import numpy as np

from core.geometry.ovals.ovals import USUAL_EXPONENT, Family, exact_points, four_arc_radii, has_arcs, oval_outline

if TYPE_CHECKING:
    from core.geometry.lines.outline import FloatArray, Outline
    from core.geometry.ovals.ovals import Oval

# Newton's steps to the foot of the normal.
_STEPS = 6


def oval_distances(oval: Oval, points: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Distances (m,) [mm], + outside, of points (m, 2) from an oval about the origin, and the normals (m, 2) there.

    See `signed_distances`; the oval need not have its usual radius or exponent written out.
    """
    match oval.family:
        case Family.FOUR_ARC:
            extra = four_arc_radii(oval.length, oval.width, oval.end_radius)[0]
        case Family.ROUNDED_RECTANGLE:
            extra = oval.width / 4.0 if oval.end_radius is None else oval.end_radius
        case _:
            extra = USUAL_EXPONENT if oval.exponent is None else oval.exponent
    return signed_distances(oval.family, oval.length / 2.0, oval.width / 2.0, extra, points)


def signed_distances(
    family: Family, a: float, b: float, extra: float, points: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Distances (m,) [mm], + outside, of points from an oval centred on its axes, and the unit normals (m, 2) there.

    Args:
        family: any but the measured one.
        a: half length [mm].
        b: half width, 0 < b <= a [mm].
        extra: end radius of a four-arc oval or corner radius [mm], exponent of a superellipse; else not used.
        points: (m, 2) [mm], outside the circles of curvature's centres; farther in, a superellipse's are estimates.
    """
    x, y = np.abs(points[:, 0]), np.abs(points[:, 1])
    match family:
        case Family.CIRCLE:
            d, nx, ny = _from_arc(x, y, a)
        case Family.OBROUND:
            d, nx, ny = _from_corner(x - (a - b), y, b)
        case Family.ROUNDED_RECTANGLE:
            d, nx, ny = _from_corner(x - (a - extra), y - (b - extra), extra)
        case Family.FOUR_ARC:
            d, nx, ny = _from_four_arcs(x, y, a, b, extra)
        case Family.ELLIPSE:
            d, nx, ny = _from_power(x, y, a, b, 2.0)
        case Family.SUPERELLIPSE:
            d, nx, ny = _from_power(x, y, a, b, extra)
        case _:
            raise ValueError(f"no formula for the family {family}")
    return d, np.column_stack((np.copysign(nx, points[:, 0]), np.copysign(ny, points[:, 1])))


def _from_arc(x: FloatArray, y: FloatArray, radius: float) -> tuple[FloatArray, FloatArray, FloatArray]:
    away = np.hypot(x, y)
    safe = np.where(away > 0.0, away, 1.0)
    return away - radius, x / safe, y / safe


def _from_corner(u: FloatArray, v: FloatArray, radius: float) -> tuple[FloatArray, FloatArray, FloatArray]:
    """From the rounded corner with its centre at the origin and the flat sides that run on from it."""
    right, up = np.maximum(u, 0.0), np.maximum(v, 0.0)
    inside = (u <= 0.0) & (v <= 0.0)
    d, nx, ny = _from_arc(right, up, radius)
    d = np.where(inside, np.maximum(u, v) - radius, d)
    return d, np.where(inside, (u > v) * 1.0, nx), np.where(inside, (u <= v) * 1.0, ny)


def _from_four_arcs(
    x: FloatArray, y: FloatArray, a: float, b: float, r: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    # As in ovals.four_arc_radii, where the formula has its source.
    side = a + (a - b) ** 2 / (2.0 * (b - r))
    across, low = a - r, side - b
    at_end = (x - across) * low > y * across
    u, v = np.where(at_end, x - across, x), np.where(at_end, y, y + low)
    away = np.hypot(u, v)
    safe = np.where(away > 0.0, away, 1.0)
    return away - np.where(at_end, r, side), u / safe, v / safe


def _from_power(
    x: FloatArray, y: FloatArray, a: float, b: float, n: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """From |x / a|^n + |y / b|^n = 1 by walking along the curve, from the point's own direction, to its normal's foot.

    The curve is (a c w, b s w) with c, s = cos, sin phi and w = (c^n + s^n)^(-1 / n).
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


def deviation(oval: Oval, distance: float, outline: Outline) -> float:
    """Worst distance [mm] between an outline and the exact parallel of the oval, measured both ways on dense points.

    Args:
        oval: the oval.
        distance: of the parallel, positive outward [mm]; inward at most to the least radius of the oval.
        outline: what stands for that parallel.

    Raises:
        ImpossibleOvalError: the oval can't exist.
    """
    points, normals = exact_points(oval, 4096)
    there = float(outline.segments.nearest(points + distance * normals)[0].max())
    # 13 points to a segment meet the top of a biarc's deviation, at two thirds of an arc, within 1 %.
    count = 13
    index = np.repeat(np.arange(len(outline)), count)
    along = outline.segments.length[index] * np.tile(np.arange(count) / count, len(outline))
    back = float(np.abs(_distances(oval, outline.segments.points(index, along)) - distance).max())
    return max(there, back)


def _distances(oval: Oval, points: FloatArray) -> FloatArray:
    return oval_outline(oval).signed_distance(points) if has_arcs(oval) else oval_distances(oval, points)[0]
