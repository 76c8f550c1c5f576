"""One family laid through edge points so sturdily that a quarter of the edge may be wrong.

Square roots of sums of squares follow every stray point; sums of absolute values still follow a long shadow. Here the
weight of a point falls to nothing with its distance (Geman-McClure's function), and the distance at which it does so
is narrowed step by step, so that the start needs not be good. As a narrow function has several lowest places, fits with
a stretch of the edge left out, a different one each time, are further starts; the lowest of all is taken.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, pi, sin
from typing import TYPE_CHECKING, Final

import numpy as np

from core.geometry.ovals.distances import signed_distances
from core.geometry.ovals.ovals import Family, Oval

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from core.geometry.lines.outline import BoolArray, FloatArray, IntArray

FITTED: Final = (
    Family.CIRCLE, Family.OBROUND, Family.ELLIPSE, Family.FOUR_ARC, Family.ROUNDED_RECTANGLE, Family.SUPERELLIPSE,
)  # fmt: skip
"""The families with sizes of their own, the plainest first."""

# Full parameters: centre x, y, angle, half length a, width / length, and the family's own: radius / b, or exponent.
_ALL = (0, 1, 2, 3, 4, 5)
_FREE: Final[dict[Family, tuple[int, ...]]] = {
    Family.CIRCLE: (0, 1, 3),
    Family.OBROUND: _ALL[:5],
    Family.ELLIPSE: _ALL[:5],
    Family.FOUR_ARC: _ALL,
    Family.ROUNDED_RECTANGLE: _ALL,
    Family.SUPERELLIPSE: _ALL,
}
# Bounds and usual value of the family's own parameter. At 1 a four-arc oval's side arcs would be straight.
_OWN: Final[dict[Family, tuple[float, float, float]]] = {
    Family.FOUR_ARC: (0.02, 0.995, 0.65),
    Family.ROUNDED_RECTANGLE: (0.02, 1.0, 0.5),
    Family.SUPERELLIPSE: (2.0, 10.0, 2.5),
}
_LEAST_SLIM = 0.05
# Points for the search; the last fit takes them all.
_SEARCH_POINTS = 240
# A stretch left out, as a part of the edge, and how many of them.
_LEFT_OUT, _WINDOWS = 0.34, 10
# Of the fits without a stretch, so many of the closest are gone on with.
_GO_ON = 2
_NARROWINGS = 6


@dataclass(frozen=True, eq=False)
class Model:
    """A family with its parameters.

    Attributes:
        full: (6,) centre x, y [mm], angle [rad], half length [mm], width / length, own parameter.
    """

    family: Family
    full: FloatArray

    @property
    def free(self) -> IntArray:
        """Which of the parameters the family has."""
        return np.array(_FREE[self.family])

    @property
    def halves(self) -> tuple[float, float, float]:
        """Half length, half width and the end radius [mm] or exponent."""
        a = float(self.full[3])
        if self.family is Family.CIRCLE:
            return a, a, 0.0
        b, own = a * float(self.full[4]), float(self.full[5])
        return a, b, own if self.family is Family.SUPERELLIPSE else own * b

    @property
    def oval(self) -> Oval:
        """What was fitted."""
        a, b, extra = self.halves
        if self.family is Family.SUPERELLIPSE:
            return Oval(self.family, 2.0 * a, 2.0 * b, exponent=extra)
        return Oval(self.family, 2.0 * a, 2.0 * b, extra if self.family in _OWN else None)

    def local(self, points: FloatArray) -> FloatArray:
        """(n, 2) points moved so that the oval lies centred on its axes [mm]."""
        x, y, angle = self.full[:3]
        return turned(points - np.array((x, y)), -float(angle))

    def distances(self, points: FloatArray) -> tuple[FloatArray, FloatArray]:
        """(n,) normal distances of points, + outside [mm], and (n, 2) the normals, both as the oval lies centred."""
        return signed_distances(self.family, *self.halves, self.local(points))

    def rates(self, points: FloatArray) -> FloatArray:
        """(n, k) derivatives of the distances by the free parameters."""
        q = self.local(points)
        d, normals = signed_distances(self.family, *self.halves, q)
        columns = np.empty((len(points), 6))
        columns[:, :2] = -turned(normals, float(self.full[2]))
        columns[:, 2] = normals[:, 0] * q[:, 1] - normals[:, 1] * q[:, 0]
        free = self.free
        for k in free[free >= 3]:
            step = 1e-6 * max(1.0, abs(float(self.full[k])))
            # Inward from the upper bounds, which are all at or above 0.995.
            step = -step if k >= 4 else step
            full = self.full.copy()
            full[k] += step
            columns[:, k] = (signed_distances(self.family, *Model(self.family, full).halves, q)[0] - d) / step
        rates: FloatArray = columns[:, free]
        return rates

    def with_free(self, values: FloatArray) -> Model:
        """The same family with other values of its free parameters."""
        full = self.full.copy()
        full[self.free] = values
        return Model(self.family, full)

    def tidy(self) -> Model:
        """The same with its angle in (-90°, 90°], 0 for a circle."""
        full = self.full.copy()
        full[2] = 0.0 if self.family is Family.CIRCLE else pi / 2.0 - (pi / 2.0 - full[2]) % pi
        return Model(self.family, full)


def turned(points: FloatArray, angle: float) -> FloatArray:
    """(n, 2) points turned counter-clockwise about the origin by an angle [rad]."""
    c, s = cos(angle), sin(angle)
    return np.column_stack((c * points[:, 0] - s * points[:, 1], s * points[:, 0] + c * points[:, 1]))


def _bounds(family: Family, points: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Least and greatest free parameters: the oval stays about as large as the edge, and near it."""
    low, high, _ = _OWN.get(family, (0.0, 1.0, 0.5))
    free = list(_FREE[family])
    least, most = points.min(axis=0), points.max(axis=0)
    size = float((most - least).max())
    return (
        np.array([*(least - size), -np.inf, 0.1 * size, _LEAST_SLIM, low])[free],
        np.array([*(most + size), np.inf, 2.0 * size, 1.0, high])[free],
    )


def _solved(model: Model, points: FloatArray, outside: float, reach: float | None, most: int = 25) -> Model:
    """The model moved to its lowest sum over points; ``reach`` is where weights fall off, None keeps them even [mm].

    Levenberg's and Marquardt's damped steps on reweighted squares, which never raise the sum. The normal equations of
    six unknowns are solved some thousand times a fit, where a general solver would spend most of its time on itself.
    """
    low, high = _bounds(model.family, points)
    p = np.clip(model.full[model.free], low, high)
    model = model.with_free(p)
    off = model.distances(points)[0] - outside
    cost, weight = _weighed(off, reach)
    damping = 1e-3
    for _ in range(most):
        rates = model.rates(points)
        weighted = rates * weight[:, None]
        square, slope = weighted.T @ rates, weighted.T @ off
        before = cost
        while damping < 1e6:
            step = _step(square, slope, damping, p, low, high)
            nearer = model.with_free(np.clip(p + step, low, high))
            there = nearer.distances(points)[0] - outside
            lower, lighter = _weighed(there, reach)
            if lower <= cost:
                model, p, off, cost, weight = nearer, nearer.full[nearer.free], there, lower, lighter
                damping = max(damping / 10.0, 1e-12)
                break
            damping *= 10.0
        if before - cost <= 1e-7 * before:
            break
    return model


def _weighed(off: FloatArray, reach: float | None) -> tuple[float, FloatArray]:
    """The sum to be lowered and the weights (n,) of distances (n,): rho = z / (1 + z) of z = (distance / reach)²."""
    if reach is None:
        return float(off @ off), np.ones(len(off))
    part = 1.0 / (1.0 + (off / reach) ** 2)
    return reach * reach * float((1.0 - part).sum()), part * part


def _step(
    square: FloatArray, slope: FloatArray, damping: float, p: FloatArray, low: FloatArray, high: FloatArray
) -> FloatArray:
    """A damped step that leaves parameters alone which it would push past a bound they have reached."""
    step = np.zeros(len(p))
    diagonal = np.diag(square)
    damped = square + np.diag(damping * diagonal + 1e-12 * float(diagonal.max()) + 1e-300)
    moved = np.ones(len(p), dtype=np.bool_)
    for _ in p:
        step[:] = 0.0
        step[moved] = np.linalg.solve(damped[np.ix_(moved, moved)], -slope[moved])
        stuck = moved & (((p <= low) & (step < 0.0)) | ((p >= high) & (step > 0.0)))
        if not stuck.any():
            break
        moved &= ~stuck
    return step


def spread(off: FloatArray) -> float:
    """Standard deviation [mm] of the better half of distances, told by their median: 1.4826 median |d| for a normal."""
    return 1.4826 * float(np.median(np.abs(off)))


def _reach(model: Model, points: FloatArray, outside: float, floor: float) -> float:
    """Where a point's weight falls off [mm]: at three standard deviations of the better half."""
    return max(floor, 3.0 * spread(model.distances(points)[0] - outside))


def _narrowed(model: Model, points: FloatArray, outside: float, floor: float, reach: float) -> Model:
    """The model fitted with an ever narrower reach, beginning with ``reach`` [mm]."""
    for _ in range(_NARROWINGS):
        model = _solved(model, points, outside, reach)
        narrower = max(floor, min(reach / 2.0, _reach(model, points, outside, floor)))
        if narrower > 0.9 * reach:
            break
        reach = narrower
    return model


def trimmed_rms(model: Model, points: FloatArray, outside: float) -> float:
    """Root mean square of the better two thirds [mm]: with a quarter of the edge wrong, its ends go astray as well."""
    off = np.sort(np.abs(model.distances(points)[0] - outside))
    return float(np.sqrt((off[: 2 * len(off) // 3] ** 2).mean()))


def _starts(family: Family, points: FloatArray) -> list[Model]:
    """Rough ovals by the moments of the area that the points go round."""
    x, y = (points - points.mean(axis=0)).T
    x1, y1 = np.roll(x, -1), np.roll(y, -1)
    cross = x * y1 - x1 * y
    area = cross.sum() / 2.0
    cx, cy = ((x + x1) * cross).sum() / (6.0 * area), ((y + y1) * cross).sum() / (6.0 * area)
    xx = ((x * x + x * x1 + x1 * x1) * cross).sum() / (12.0 * area) - cx * cx
    yy = ((y * y + y * y1 + y1 * y1) * cross).sum() / (12.0 * area) - cy * cy
    xy = ((x * y1 + 2.0 * x * y + 2.0 * x1 * y1 + x1 * y) * cross).sum() / (24.0 * area) - cx * cy
    angle = 0.5 * np.arctan2(2.0 * xy, xx - yy)
    mean, half = (xx + yy) / 2.0, np.hypot((xx - yy) / 2.0, xy)
    slim = float(np.sqrt(max(mean - half, 1e-12) / (mean + half)))
    # An ellipse's second moment over its area is a²/4.
    a = 2.0 * float(np.sqrt(mean + half))
    middle = points.mean(axis=0) + np.array((cx, cy))
    own = _OWN.get(family, (0.0, 1.0, 0.5))[2]
    slim = min(max(slim, _LEAST_SLIM), 1.0)
    full = np.array([*middle, angle, a if family is not Family.CIRCLE else a * np.sqrt(slim), slim, own])
    starts = [Model(family, full)]
    if slim > 0.93 and family is not Family.CIRCLE:  # nearly as wide as long, so that the moments tell no axis
        starts += [Model(family, full + np.array([0.0, 0.0, turn, 0.0, 0.0, 0.0])) for turn in (pi / 4.0, pi / 2.0)]
    return starts


def fit_models(
    families: Sequence[Family], points: FloatArray, outside: float, floor: float, tick: Callable[[float], None]
) -> list[Model]:
    """Each family through most of the points.

    Args:
        families: of `FITTED`.
        points: (n, 2) in order round the edge [mm].
        outside: normal distance of the edge outside the oval, as of a pencil line [mm].
        floor: distance below which points are never doubted [mm].
        tick: told how much is done, 0 to 1.
    """
    few = points[:: max(1, len(points) // _SEARCH_POINTS)]
    found: list[Model] = []
    for i, family in enumerate(families):
        tick(0.3 * i / len(families))
        starts = _starts(family, few)
        ways = [_narrowed(start, few, outside, floor, 0.1 * float(start.full[3])) for start in starts]
        found.append(min(ways, key=lambda m: trimmed_rms(m, few, outside)))
    closest = min(found, key=lambda m: trimmed_rms(m, few, outside))
    if not _is_clean(closest.distances(few)[0] - outside, floor):
        for i, model in enumerate(found):
            tick(0.3 + 0.5 * i / len(found))
            found[i] = _from_parts(model, few, outside, floor)
    tick(0.8)
    reach = 3.0 * max(floor, spread(closest.distances(few)[0] - outside))
    return [_solved(model, points, outside, max(reach, _reach(model, few, outside, floor)), 8) for model in found]


def _is_clean(off: FloatArray, floor: float) -> bool:
    """Whether nearly all distances are as small as those of a good edge."""
    usual = spread(off)
    return usual <= 4.0 * floor and bool((np.abs(off) > 3.0 * max(usual, floor)).mean() <= 0.01)


def _from_parts(model: Model, few: FloatArray, outside: float, floor: float) -> Model:
    """The best of a model and of those that start from the edge with a stretch left out."""
    n = len(few)
    parts: list[tuple[float, float, Model]] = []
    for i in range(_WINDOWS):
        kept = few[(np.arange(n) - i * n // _WINDOWS) % n >= _LEFT_OUT * n]
        part = _solved(model, kept, outside, None, 12)
        parts.append((trimmed_rms(part, kept, outside), 2.0 * _reach(part, kept, outside, floor), part))
    parts.sort(key=lambda found: found[0])
    ways = [model, *(_narrowed(part, few, outside, floor, reach) for _, reach, part in parts[:_GO_ON])]
    return min(ways, key=lambda m: trimmed_rms(m, few, outside))


def refit(model: Model, points: FloatArray, used: BoolArray, outside: float) -> Model:
    """The model by least squares through the points that count."""
    return _solved(model, points[used], outside, None).tidy()
