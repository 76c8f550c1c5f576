"""One family laid through edge points so sturdily that a quarter of the edge may be wrong.

Square roots of sums of squares follow every stray point; sums of absolute values still follow a long shadow. Here the
weight of a point falls to nothing with its distance (Geman-McClure's function), and the distance at which it does so
is narrowed step by step, so that the start needs not be good. As a narrow function has several lowest places, fits with
a stretch of the edge left out, a different one each time, are further starts; the lowest of all is taken.
"""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING

import numpy as np

from core.geometry.ovals.fit import LEAST_SLIM, Placed, placed

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from core.geometry.lines.outline import BoolArray, FloatArray
    from core.geometry.ovals.ovals import Family

# Points for the search; the last fit takes them all.
_SEARCH_POINTS = 240
# A stretch left out, as a part of the edge, and how many of them.
_LEFT_OUT, _WINDOWS = 0.34, 10
# Of the fits without a stretch, so many of the closest are gone on with.
_GO_ON = 2
_NARROWINGS = 6


def _solved(model: Placed, points: FloatArray, outside: float, reach: float, tries: int = 25) -> Placed:
    """The model moved to its lowest sum over points whose weights fall off from ``reach`` on [mm]."""
    return placed(model, points, outside, weigh=lambda off: _weighed(off, reach), tries=tries)


def _weighed(off: FloatArray, reach: float) -> tuple[float, FloatArray]:
    """The sum to be lowered and the weights (n,) of distances (n,): rho = z / (1 + z) of z = (distance / reach)²."""
    part = 1.0 / (1.0 + (off / reach) ** 2)
    return reach * reach * float((1.0 - part).sum()), part * part


def spread(off: FloatArray) -> float:
    """Standard deviation [mm] of the better half of distances, told by their median: 1.4826 median |d| for a normal."""
    return 1.4826 * float(np.median(np.abs(off)))


def _reach(model: Placed, points: FloatArray, outside: float, floor: float) -> float:
    """Where a point's weight falls off [mm]: at three standard deviations of the better half."""
    return max(floor, 3.0 * spread(model.distances(points)[0] - outside))


def _narrowed(model: Placed, points: FloatArray, outside: float, floor: float, reach: float) -> Placed:
    """The model fitted with an ever narrower reach, beginning with ``reach`` [mm]."""
    for _ in range(_NARROWINGS):
        model = _solved(model, points, outside, reach)
        narrower = max(floor, min(reach / 2.0, _reach(model, points, outside, floor)))
        if narrower > 0.9 * reach:
            break
        reach = narrower
    return model


def trimmed_rms(model: Placed, points: FloatArray, outside: float) -> float:
    """Root mean square of the better two thirds [mm]: with a quarter of the edge wrong, its ends go astray as well."""
    off = np.sort(np.abs(model.distances(points)[0] - outside))
    return float(np.sqrt((off[: 2 * len(off) // 3] ** 2).mean()))


def _starts(family: Family, points: FloatArray) -> list[Placed]:
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
    kind = family.kind
    own = 0.0 if kind.own is None else kind.own.start
    slim = min(max(slim, LEAST_SLIM), 1.0)
    full = np.array([*middle, angle, a * np.sqrt(slim) if kind.is_round else a, slim, own])
    starts = [Placed(family, full)]
    if slim > 0.93 and not kind.is_round:  # nearly as wide as long, so that the moments tell no axis
        starts += [Placed(family, full + np.array([0.0, 0.0, turn, 0.0, 0.0, 0.0])) for turn in (pi / 4.0, pi / 2.0)]
    return starts


def fit_models(
    families: Sequence[Family], points: FloatArray, outside: float, floor: float, tick: Callable[[float], None]
) -> list[Placed]:
    """Each family through most of the points.

    Args:
        families: with sizes, the plainest first.
        points: (n, 2) in order round the edge [mm].
        outside: normal distance of the edge outside the oval, as of a pencil line [mm].
        floor: distance below which points are never doubted [mm].
        tick: told how much is done, 0 to 1.
    """
    few = points[:: max(1, len(points) // _SEARCH_POINTS)]
    found: list[Placed] = []
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


def _from_parts(model: Placed, few: FloatArray, outside: float, floor: float) -> Placed:
    """The best of a model and of those that start from the edge with a stretch left out."""
    n = len(few)
    parts: list[tuple[float, float, Placed]] = []
    for i in range(_WINDOWS):
        kept = few[(np.arange(n) - i * n // _WINDOWS) % n >= _LEFT_OUT * n]
        part = placed(model, kept, outside, tries=12)
        parts.append((trimmed_rms(part, kept, outside), 2.0 * _reach(part, kept, outside, floor), part))
    parts.sort(key=lambda found: found[0])
    ways = [model, *(_narrowed(part, few, outside, floor, reach) for _, reach, part in parts[:_GO_ON])]
    return min(ways, key=lambda m: trimmed_rms(m, few, outside))


def refit(model: Placed, points: FloatArray, used: BoolArray, outside: float) -> Placed:
    """The model by least squares through the points that count."""
    return placed(model, points[used], outside).tidy()
