"""Pictures of ovals to be measured, drawn by means of their own: Pillow's polygons, or a fine grid of in or out.

Neither knows how the program measures. The curves are written down here once more, from the definitions of the ovals.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from core.geometry.ovals.ovals import Family
from core.measure.scan.results import Picture

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from core.geometry.lines.outline import BoolArray, FloatArray, Point
    from core.measure.scan.results import GreyArray

FINE = 8
DARK, LIGHT = 40, 230


@dataclass(frozen=True)
class Shape:
    """An oval to draw [mm]: ``own`` is the end or corner radius, or the exponent."""

    family: Family
    length: float
    width: float
    own: float = 0.0


OBROUND = Shape(Family.OBROUND, 120.0, 70.0)
ELLIPSE = Shape(Family.ELLIPSE, 120.0, 70.0)
FOUR_ARC = Shape(Family.FOUR_ARC, 120.0, 70.0, 22.0)
ROUNDED = Shape(Family.ROUNDED_RECTANGLE, 120.0, 70.0, 20.0)
SUPERELLIPSE = Shape(Family.SUPERELLIPSE, 120.0, 70.0, 2.6)
CIRCLE = Shape(Family.CIRCLE, 90.0, 90.0)
SHAPES = (CIRCLE, OBROUND, ELLIPSE, FOUR_ARC, ROUNDED, SUPERELLIPSE)


def _arc(cx: float, cy: float, r: float, start: float, stop: float) -> FloatArray:
    t = np.linspace(start, stop, 800)
    return np.column_stack((cx + r * np.cos(t), cy + r * np.sin(t)))


def boundary(shape: Shape) -> FloatArray:
    """(n, 2) dense points of the curve [mm], counter-clockwise round the origin."""
    a, b, own = shape.length / 2.0, shape.width / 2.0, shape.own
    q = np.pi / 2.0
    if shape.family in (Family.ELLIPSE, Family.CIRCLE, Family.SUPERELLIPSE):
        t = np.linspace(0.0, 2.0 * np.pi, 6000, endpoint=False)
        power = 2.0 / own if shape.family is Family.SUPERELLIPSE else 1.0
        c, s = np.cos(t), np.sin(t)
        return np.column_stack((a * np.sign(c) * np.abs(c) ** power, b * np.sign(s) * np.abs(s) ** power))
    if shape.family is Family.FOUR_ARC:
        side = (a * a + b * b - 2.0 * a * own) / (2.0 * (b - own))  # where the two arcs meet with one tangent
        lean = np.arctan2(side - b, a - own)
        parts = [
            _arc(a - own, 0.0, own, -lean, lean),
            _arc(0.0, b - side, side, lean, np.pi - lean),
            _arc(own - a, 0.0, own, np.pi - lean, np.pi + lean),
            _arc(0.0, side - b, side, np.pi + lean, 2.0 * np.pi - lean),
        ]
        return np.concatenate(parts)
    r = b if shape.family is Family.OBROUND else own
    x, y = a - r, b - r
    corners = [(x, y, 0), (-x, y, 1), (-x, -y, 2), (x, -y, 3)]
    return np.concatenate([_arc(cx, cy, r, k * q, (k + 1) * q) for cx, cy, k in corners])


def inside(shape: Shape, x: FloatArray, y: FloatArray) -> BoolArray:
    """Whether places lie inside an ellipse, superellipse or obround, by its definition."""
    a, b = shape.length / 2.0, shape.width / 2.0
    if shape.family is Family.OBROUND:
        return np.asarray(np.hypot(np.maximum(np.abs(x) - (a - b), 0.0), y) <= b)
    n = shape.own if shape.family is Family.SUPERELLIPSE else 2.0
    return np.asarray(np.abs(x / a) ** n + np.abs(y / b) ** n <= 1.0)


@dataclass(frozen=True)
class Sheet:
    """A sheet laid on the scanner [mm, pixels]; y runs up from its lower edge. ``stretch`` is of x alone."""

    width: float = 160.0
    height: float = 110.0
    dpi: float = 150.0
    stretch: float = 1.0

    @property
    def size(self) -> tuple[int, int]:
        return round(self.width * self.dpi / 25.4 * self.stretch), round(self.height * self.dpi / 25.4)

    def pixels(self, mm: FloatArray) -> FloatArray:
        """Where places lie, with pixel centres at integers and the lowest row's centre at y = 0."""
        per = self.dpi / 25.4
        return np.column_stack((mm[:, 0] * per * self.stretch, self.size[1] - 1 - mm[:, 1] * per))


def placed(points: FloatArray, at: Point, degrees: float = 0.0) -> FloatArray:
    """Points turned about the origin and moved there."""
    t = np.radians(degrees)
    c, s = np.cos(t), np.sin(t)
    return np.asarray(points @ np.array([[c, s], [-s, c]]) + np.array(at))


def drawn(
    sheet: Sheet, things: Sequence[tuple[FloatArray, int]], warp: Callable[[FloatArray], FloatArray] | None = None
) -> GreyArray:
    """Polygons (n, 2) [mm] of a grey each, later ones on top, drawn by Pillow eight times finer and averaged.

    ``warp`` moves pixel places before they are drawn, as a camera held aslant does.
    """
    from PIL import Image, ImageDraw

    w, h = sheet.size
    fine = Image.new("L", (w * FINE, h * FINE), LIGHT)
    pen = ImageDraw.Draw(fine)
    for points, grey in things:
        p = sheet.pixels(points)
        if warp is not None:
            p = warp(p)
        # Pillow fills from pixel centre to pixel centre; a coarse pixel's centre lies between fine ones.
        p = (p + 0.5) * FINE - 0.5
        pen.polygon([(float(x), float(y)) for x, y in p], fill=grey)
    return np.asarray(fine.reduce(FINE))


def sampled(sheet: Sheet, shape: Shape, at: Point, degrees: float, fine: int = 4) -> GreyArray:
    """One shape by inside-or-outside on a fine grid."""
    w, h = sheet.size
    per = sheet.dpi / 25.4
    x = ((np.arange(w * fine) + 0.5) / fine - 0.5) / (per * sheet.stretch)
    y = (h - 1 - ((np.arange(h * fine) + 0.5) / fine - 0.5)) / per
    grid = np.meshgrid(x - at[0], y - at[1])
    t = np.radians(degrees)
    u, v = np.cos(t) * grid[0] + np.sin(t) * grid[1], np.cos(t) * grid[1] - np.sin(t) * grid[0]
    share = inside(shape, u, v).reshape(h, fine, w, fine).mean(axis=(1, 3))
    return np.asarray(np.round(LIGHT + (DARK - LIGHT) * share), dtype=np.uint8)


def scanned(grey: GreyArray, sheet: Sheet, *, blur: float = 0.8, noise: float = 4.0, seed: int = 1) -> Picture:
    """The picture as a scanner gives it: blurred [pixel] and noisy [grey levels]."""
    from scipy.ndimage import gaussian_filter

    soft = gaussian_filter(grey.astype(np.float32), blur)
    soft += np.random.default_rng(seed).normal(0.0, noise, soft.shape).astype(np.float32)
    return Picture(np.clip(np.round(soft), 0, 255).astype(np.uint8), (sheet.dpi, sheet.dpi), "scan.png")
