"""Closed edges in a picture, to a part of a pixel.

Found on a reduced copy at one grey level, then each point is put right on the full picture: along the edge's normal,
to where the grey passes half-way between what lies inside and outside there. Blur spreads a straight edge evenly to
both sides, so the half-way place stays where the edge is, whatever the level of the first search was.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, TypeAlias

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from core.measure.scan.results import Edge, ScanError

if TYPE_CHECKING:
    from collections.abc import Callable

    from core.geometry.lines.outline import FloatArray
    from core.measure.scan.results import GreyArray, Picture

_Greys: TypeAlias = NDArray[np.float32]

MOST_EDGES: Final = 24
"""No more edges are kept, the largest first."""

_COARSE = 1500  # longest side of the reduced copy [pixel]
_LEAST_AREA = 1e-4  # least part of the picture that an edge goes round
_LEAST_LENGTH = 60.0  # [pixel]
_MOST_POINTS = 12_000  # of an edge: a pixel apart up to A4 at 300 DPI
_STEP = 0.5  # between samples of a profile [pixel]
_PLATEAU = 8.0  # within this of the edge, the grey has come to rest on both sides [pixel]
_LEAST_CONTRAST = 0.2  # of the edge's usual contrast; a fainter place has no edge


def threshold(picture: Picture) -> float:
    """The grey level that parts the picture best in dark and light.

    Source: Otsu, "A threshold selection method from gray-level histograms", IEEE Trans. SMC 9 (1979): the greatest
    variance between the two classes.
    """
    return _otsu(picture.grey)


def _otsu(grey: GreyArray) -> float:
    every = max(1, int(np.sqrt(grey.size / 4e6)))
    count = np.bincount(grey[::every, ::every].ravel(), minlength=256).astype(np.float64)
    below, total = np.cumsum(count), count.sum()
    sums = np.cumsum(count * np.arange(256))
    above = total - below
    with np.errstate(divide="ignore", invalid="ignore"):
        between = (sums[-1] * below - sums * total) ** 2 / (below * above)
    between = np.nan_to_num(between, posinf=0.0)
    # Between two far peaks every level is as good; the middle one stands off both.
    best = np.flatnonzero(between >= between.max() * (1.0 - 1e-9))
    return float(best.mean()) + 0.5


def _reduced(grey: GreyArray, longest: int) -> tuple[GreyArray, int]:
    """A copy of block means, and the side of the blocks [pixel]."""
    from PIL import Image

    factor = -(-max(grey.shape) // longest)
    if factor == 1:
        return grey, 1
    return np.asarray(Image.fromarray(grey).reduce(factor)), factor


def find_edges(
    picture: Picture,
    level: float | None = None,
    smooth_px: float = 1.0,
    tick: Callable[[float], None] = lambda _: None,
) -> tuple[Edge, ...]:
    """The closed edges of a picture, the one round the largest area first.

    Edges that run out of the picture, and small ones, are left out. Every point is a reading of its own; none is
    thinned out after it was measured.

    Args:
        picture: the picture.
        level: grey level of the first search, 0 to 255; None is `threshold`'s. It decides which edges there are, not
            where they lie.
        smooth_px: standard deviation of the smoothing across and along the edge [pixel].
        tick: told how much is done, 0 to 1; what it raises calls the search off.

    Raises:
        ScanError: no closed edge was found; says why, as far as it can be seen.
    """
    from scipy.ndimage import gaussian_filter

    tick(0.0)
    level = threshold(picture) if level is None else level
    small, factor = _reduced(picture.grey, _COARSE)
    soft = gaussian_filter(small, max(0.7, smooth_px / factor), output=np.float32)
    tick(0.2)
    loops, is_cut = _loops(soft, level, picture.grey.size / factor**2)
    if not loops:
        raise ScanError(
            picture.name,
            "every edge runs out of the picture" if is_cut else "no closed edge was found",
            hint="Scan with a hand's breadth of plain background all round."
            if is_cut
            else "Move the level between dark and light, or lay the part on a background that stands off it.",
        )
    edges: list[Edge] = []
    tracer = _Tracer(picture.grey, factor, smooth_px)
    for i, loop in enumerate(loops):
        tick(0.3 + 0.7 * i / len(loops))
        edge = tracer.refined(factor * (loop + 0.5) - 0.5)
        if edge is not None:
            edges.append(edge)
    if not edges:
        raise ScanError(picture.name, "its edges are too faint to place", hint="Scan with more contrast.")
    tick(1.0)
    return tuple(edges)


def _loops(soft: _Greys, level: float, size: float) -> tuple[list[FloatArray], bool]:
    """Closed contours, the largest first, in reduced pixels; and whether a long one was cut by the border."""
    from contourpy import LineType, contour_generator

    lines = contour_generator(z=soft, line_type=LineType.Separate).lines(level)
    found: list[tuple[float, FloatArray]] = []
    is_cut = False
    for line in lines:
        if len(line) < 24:  # too short to go round anything: specks come by the thousand
            continue
        points = np.asarray(line, dtype=np.float64)
        if not np.array_equal(points[0], points[-1]):
            is_cut = is_cut or len(points) > min(soft.shape)
            continue
        area = abs(_area(points[:-1]))
        if area >= _LEAST_AREA * size:
            found.append((area, points[:-1]))
    found.sort(key=lambda pair: -pair[0])
    return [points for _, points in found[:MOST_EDGES]], is_cut


def _area(p: FloatArray) -> float:
    x, y = p[:, 0], p[:, 1]
    return float(x @ np.roll(y, -1) - y @ np.roll(x, -1)) / 2.0


class _Tracer(Struct, frozen=True):
    """Puts the points of a rough edge right on the full picture."""

    grey: GreyArray
    factor: int
    smooth_px: float

    def refined(self, rough: FloatArray) -> Edge | None:
        """The edge near a rough one, (n, 2) in pixels; None if there is none."""
        from scipy.ndimage import gaussian_filter, map_coordinates

        base, normals = _even(rough, self.factor)
        if not len(base):
            return None
        half = 2.0 * self.factor + 4.0
        reach = half + _PLATEAU
        along = np.arange(-reach, reach + _STEP / 2.0, _STEP)
        x = base[:, 0, None] + along * normals[:, 0, None]
        y = base[:, 1, None] + along * normals[:, 1, None]
        profile = map_coordinates(self.grey, (y, x), output=np.float32, order=1, mode="nearest")
        if self.smooth_px > 0.0:
            profile = gaussian_filter(profile, (self.smooth_px, self.smooth_px / _STEP), mode=("wrap", "nearest"))
        middle = len(along) // 2
        is_dark_inside = bool(profile[:, :middle].mean() < profile[:, middle + 1 :].mean())
        if not is_dark_inside:
            profile = 255.0 - profile
        place = _half_way(profile, along, half)
        good = np.isfinite(place)
        if good.sum() < max(16, len(good) // 2):
            return None
        points = (base + place[:, None] * normals)[good]
        return Edge(points, is_dark_inside)


def _even(rough: FloatArray, factor: int) -> tuple[FloatArray, FloatArray]:
    """Evenly spaced points along a closed line, and their outward normals, freed from its small jags."""
    from scipy.ndimage import gaussian_filter1d

    closed = np.concatenate((rough, rough[:1]))
    station = np.concatenate((np.zeros(1), np.cumsum(np.hypot(*np.diff(closed, axis=0).T))))
    length = float(station[-1])
    if length < _LEAST_LENGTH:
        return np.zeros((0, 2)), np.zeros((0, 2))
    count = min(int(length), _MOST_POINTS)
    at = length * np.arange(count) / count
    base = np.column_stack([np.interp(at, station, closed[:, k]) for k in (0, 1)])
    base = gaussian_filter1d(base, 2.0 * factor * count / length, axis=0, mode="wrap")
    # A wide difference: the normal of a round edge turns little over it, and noise turns it less.
    wide = max(1, round(3.0 * factor * count / length))
    tangent = np.roll(base, -wide, axis=0) - np.roll(base, wide, axis=0)
    tangent /= np.maximum(np.hypot(tangent[:, 0], tangent[:, 1]), 1e-12)[:, None]
    side = 1.0 if _area(base) > 0.0 else -1.0
    return base, side * np.column_stack((tangent[:, 1], -tangent[:, 0]))


def _half_way(profile: _Greys, along: FloatArray, half: float) -> FloatArray:
    """(n,) where each profile (n, m), dark to light, passes half its rise nearest its middle [pixel], or nan."""
    rows = np.arange(len(profile))
    slope = np.diff(profile, axis=1)
    between = (along[1:] + along[:-1]) / 2.0
    # The steepest rise, near ones first; within the plateau's reach of the ends there is none.
    pull = np.where(np.abs(between) <= half, np.exp(-0.5 * (between / half) ** 2), 0.0)
    steep = (slope * pull).argmax(axis=1)
    width = int(_PLATEAU / _STEP)
    offset = np.arange(width + 1)
    inner = profile[rows[:, None], np.maximum(steep[:, None] - offset, 0)].min(axis=1)
    outer = profile[rows[:, None], np.minimum(steep[:, None] + 1 + offset, len(along) - 1)].max(axis=1)
    contrast, level = outer - inner, (outer + inner) / 2.0
    # Of the crossings of the half-way level within the rise, the one nearest its steepest place.
    low, high = profile[:, :-1], profile[:, 1:]
    crosses = (low < level[:, None]) & (high >= level[:, None])
    away = np.where(crosses, np.abs(np.arange(len(between)) - steep[:, None]), len(along))
    at = away.argmin(axis=1)
    rise = high[rows, at] - low[rows, at]
    part = np.where(rise > 0.0, (level - low[rows, at]) / np.where(rise > 0.0, rise, 1.0), 0.0)
    place: FloatArray = along[at] + _STEP * part
    usual = float(np.median(contrast))
    place[(away[rows, at] > width) | (contrast < _LEAST_CONTRAST * usual) | (contrast < 4.0)] = np.nan
    return place
