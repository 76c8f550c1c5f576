"""How sure the sizes of a fitted oval are: the fit's own spread, the place of the edge, and the scale.

The points of an edge are no independent readings: blur and the search's smoothing tie neighbours together, and a shape
that is not quite the family's leaves long waves. The fit's covariance is therefore raised by the number of neighbours
that say the same (integrated autocorrelation of the residuals round the edge).

What is wrong alike over the whole edge, or over a side of it, leaves no residual. How it moves each size is found by
moving every point along its normal and asking where least squares would go: a stretch, a shadow or a pencil's line
moves an end radius or an exponent in another way than a length.
"""

from __future__ import annotations

from math import cos, hypot, inf, pi, sin, sqrt
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct

from core.geometry.ovals.fit import turned
from core.measure.readings.results import Estimate
from core.measure.scan.sizes.allowances import NONE, Allowances
from core.part.readings import SizeName

if TYPE_CHECKING:
    from collections.abc import Iterable

    from core.geometry.lines.outline import BoolArray, FloatArray
    from core.geometry.ovals.fit import Placed

EDGE_PX: Final = 0.2
"""Standard uncertainty of where an edge lies across itself [pixel], alike all round: pictures store light by a curve
(sRGB's), which shifts the half-way level by a part of the blur. No source; half a pixel at most, taken as 2.5 times."""


# A shadow covers this much of the edge to either side of where it falls [rad]: a strip, half of the edge.
_STRIPS: Final = (pi / 6.0, pi / 3.0, pi / 2.0)
_WAYS: Final = 24  # that the lamp may shine from
# More points don't change how a shift of the edge moves the sizes.
_MOST_POINTS = 800


class Doubt(Struct, frozen=True):
    """What makes the points of an edge uncertain alike, over all of it.

    Attributes:
        relative: standard uncertainty of the scale, of either axis [1].
        pixel: size of a pixel [mm]; 0 when the points come from elsewhere.
        reference: length of the thing whose edge gave the scale [mm]; infinite where none did.
        excess: standard uncertainty of how far the edge lies outside the oval [mm].
        allowances: limits of what the picture can't tell.
    """

    relative: float = 0.0
    pixel: float = 0.0
    reference: float = inf
    excess: float = 0.0
    allowances: Allowances = NONE

    @property
    def limits(self) -> float:
        """Limit of the relative error of a length: parallax, and a shadow on the reference [1]."""
        return self.allowances.parallax + self.allowances.shadow / self.reference


CERTAIN: Final = Doubt()
"""Points of which nothing is doubted but their own scatter."""


def estimate(value: float, own: float, freedom: float, others: float, limits: Iterable[float] = ()) -> Estimate:
    """A value with its 95 % interval.

    Args:
        value: the best value.
        own: standard uncertainty with ``freedom`` degrees of freedom.
        freedom: of ``own``, > 0.
        others: standard uncertainty of the rest, known without freedom to lose.
        limits: of effects that are allowed for (see `core.measure.scan.sizes.allowances`).

    Source: JCGM 100:2008 (GUM), G.4.1 (Welch-Satterthwaite) and G.3.2 (Student's t).
    """
    from scipy.special import stdtrit

    standard = hypot(own, others)
    effective = freedom * (standard / own) ** 4 if own > 0.0 else inf
    factor = float(stdtrit(min(effective, 1e9), 0.975))
    bounds = tuple(limits)
    expanded, standard = factor * standard + sum(bounds), hypot(standard, *(bound / sqrt(3.0) for bound in bounds))
    return Estimate(value, standard, expanded, effective, None, None, is_stand_in=False, count=1)


def effective_count(residuals: FloatArray) -> float:
    """How many independent readings (n,) residuals in order round a closed edge are worth, 1 to n.

    n / (1 + 2 sum of the autocorrelations up to the first that is not positive), by the Fourier transform.
    """
    r = residuals - residuals.mean()
    n = len(r)
    power = np.abs(np.fft.rfft(r)) ** 2
    correlation = np.fft.irfft(power, n)
    if not correlation[0] > 0.0:
        return float(n)
    correlation = correlation[: n // 2 + 1] / correlation[0]
    ends = np.flatnonzero(correlation <= 0.0)
    tied = 1.0 + 2.0 * float(correlation[1 : int(ends[0]) if len(ends) else None].sum())
    return min(max(n / tied, 1.0), float(n))


def fitted_sizes(
    model: Placed, points: FloatArray, used: BoolArray, outside: float, doubt: Doubt
) -> tuple[tuple[SizeName, Estimate], ...]:
    """Estimates of a model's sizes.

    Args:
        model: fitted by least squares.
        points: (n, 2) the edge [mm].
        used: (n,) those that count.
        outside: normal distance of the edge outside the oval [mm].
        doubt: what is uncertain alike over the edge.
    """
    p = points[used]
    off = model.distances(p)[0] - outside
    rates = model.rates(p)
    count = effective_count(off)
    freedom = max(count - rates.shape[1], 1.0)
    # The variance of one reading, raised by the points that share it: (off² / n) (count / freedom) (n / count).
    covariance = float(off @ off) / freedom * np.linalg.pinv(rates.T @ rates)
    values, by_free = _sizes(model)
    moved = _Moved.of(model, p[:: max(1, len(p) // _MOST_POINTS)])
    allowed = doubt.allowances
    sizes: list[tuple[SizeName, Estimate]] = []
    for name, value in values.items():
        row = by_free[name]
        own = float(np.sqrt(max(row @ covariance @ row, 0.0)))
        along, across, all_round, shaded = moved.by(row)
        # The axes' scales may be wrong alike, or each by itself.
        others = hypot(
            doubt.relative * max(hypot(along, across), abs(along + across)),
            EDGE_PX * doubt.pixel * all_round,
            doubt.excess * all_round,
        )
        stretched = max(abs(along), abs(across), abs(along + across))
        limits = (doubt.limits * stretched, allowed.shadow * shaded, allowed.pencil * abs(all_round))
        sizes.append((name, estimate(value, own, freedom, others, limits)))
    return tuple(sizes)


class _Moved(Struct, frozen=True, eq=False):
    """How a model's free parameters move when all of an edge moves.

    Attributes:
        along, across: (k,) for a stretch of 1 along the picture's x, or y.
        all_round: (k,) for 1 mm outward all round.
        shaded: (k, m) for a shadow of 1 mm, falling in m ways.
    """

    along: FloatArray
    across: FloatArray
    all_round: FloatArray
    shaded: FloatArray

    @classmethod
    def of(cls, model: Placed, p: FloatArray) -> _Moved:
        # A point moved outward by e is moved back by the parameters that least squares finds for the distances e.
        back = np.linalg.pinv(model.rates(p))
        normals = turned(model.distances(p)[1], float(model.full[2]))
        off = p - model.full[:2]
        ways = 2.0 * pi * np.arange(_WAYS) / _WAYS
        facing = normals @ np.array([[cos(w) for w in ways], [sin(w) for w in ways]])
        # A flat lamp's shadow grows with the angle; a strip of even width covers what faces away from the lamp.
        shadows = [np.maximum(facing, 0.0), *((facing > cos(half) - 1e-9).astype(np.float64) for half in _STRIPS)]
        return cls(
            back @ (normals[:, 0] * off[:, 0]),
            back @ (normals[:, 1] * off[:, 1]),
            back @ np.ones(len(p)),
            back @ np.concatenate(shadows, axis=1),
        )

    def by(self, row: FloatArray) -> tuple[float, float, float, float]:
        """The same of a size, whose derivatives (k,) by the parameters are given; of the shadows the worst."""
        return (
            float(row @ self.along),
            float(row @ self.across),
            float(row @ self.all_round),
            float(np.abs(row @ self.shaded).max()),
        )


def _sizes(model: Placed) -> tuple[dict[SizeName, float], dict[SizeName, FloatArray]]:
    """The sizes, and (k,) their derivatives by the free parameters."""
    (a, b, extra), kind = model.shape, model.family.kind
    values = {SizeName.LENGTH: 2.0 * a, SizeName.WIDTH: 2.0 * b}
    slim, part = float(model.full[4]), float(model.full[5])
    rows = {SizeName.LENGTH: [0, 0, 0, 2.0, 0, 0], SizeName.WIDTH: [0, 0, 0, 2.0 * slim, 2.0 * a, 0]}
    if kind.is_round:
        rows[SizeName.WIDTH] = rows[SizeName.LENGTH]
    if kind.own is not None and extra is not None:
        name = SizeName(kind.own.field)
        values[name] = extra
        rows[name] = [0, 0, 0, slim * part, a * part, b] if kind.own.is_share else [0, 0, 0, 0, 0, 1.0]
    return values, {name: np.array(row, dtype=np.float64)[model.free] for name, row in rows.items()}
