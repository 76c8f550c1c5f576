"""How sure the sizes of a fitted oval are: the fit's own spread, the place of the edge, and the scale.

The points of an edge are no independent readings: blur and the search's smoothing tie neighbours together, and a shape
that is not quite the family's leaves long waves. The fit's covariance is therefore raised by the number of neighbours
that say the same (integrated autocorrelation of the residuals round the edge).
"""

from __future__ import annotations

from math import hypot, inf
from typing import TYPE_CHECKING, Final

import numpy as np

from core.ovals import Family
from core.readings.results import Estimate
from core.readings.values import SizeName

if TYPE_CHECKING:
    from core.outline import BoolArray, FloatArray
    from core.scan.models import Model

EDGE_PX: Final = 0.2
"""Standard uncertainty of where an edge lies across itself [pixel], alike all round: pictures store light by a curve
(sRGB's), which shifts the half-way level by a part of the blur. No source; half a pixel at most, taken as 2.5 times."""


def estimate(value: float, own: float, freedom: float, others: float) -> Estimate:
    """A value with its 95 % interval.

    Args:
        value: the best value.
        own: standard uncertainty with ``freedom`` degrees of freedom.
        freedom: of ``own``, > 0.
        others: standard uncertainty of the rest, known without freedom to lose.

    Source: JCGM 100:2008 (GUM), G.4.1 (Welch-Satterthwaite) and G.3.2 (Student's t).
    """
    from scipy.special import stdtrit

    standard = hypot(own, others)
    effective = freedom * (standard / own) ** 4 if own > 0.0 else inf
    factor = float(stdtrit(min(effective, 1e9), 0.975))
    return Estimate(value, standard, factor * standard, effective, None, None, is_stand_in=False, count=1)


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
    model: Model, points: FloatArray, used: BoolArray, outside: float, *, relative: float, pixel: float
) -> tuple[tuple[SizeName, Estimate], ...]:
    """Estimates of a model's sizes.

    Args:
        model: fitted by least squares.
        points: (n, 2) the edge [mm].
        used: (n,) those that count.
        outside: normal distance of the edge outside the oval [mm].
        relative: standard uncertainty of the scale [1].
        pixel: size of a pixel [mm].
    """
    p = points[used]
    off = model.distances(p)[0] - outside
    rates = model.rates(p)
    count = effective_count(off)
    freedom = max(count - rates.shape[1], 1.0)
    # The variance of one reading, raised by the points that share it: (off² / n) (count / freedom) (n / count).
    covariance = float(off @ off) / freedom * np.linalg.pinv(rates.T @ rates)
    values, by_free = _sizes(model)
    sizes: list[tuple[SizeName, Estimate]] = []
    for name, value in values.items():
        row = by_free[name]
        own = float(np.sqrt(max(row @ covariance @ row, 0.0)))
        others = 0.0
        if name is not SizeName.EXPONENT:
            edges = 1.0 if name is SizeName.END_RADIUS else 2.0
            others = hypot(relative * value, edges * EDGE_PX * pixel)
        sizes.append((name, estimate(value, own, freedom, others)))
    return tuple(sizes)


def _sizes(model: Model) -> tuple[dict[SizeName, float], dict[SizeName, FloatArray]]:
    """The sizes, and (k,) their derivatives by the free parameters."""
    a, b, extra = model.halves
    values = {SizeName.LENGTH: 2.0 * a, SizeName.WIDTH: 2.0 * b}
    slim, own = float(model.full[4]), float(model.full[5])
    rows = {SizeName.LENGTH: [0, 0, 0, 2.0, 0, 0], SizeName.WIDTH: [0, 0, 0, 2.0 * slim, 2.0 * a, 0]}
    if model.family is Family.CIRCLE:
        rows[SizeName.WIDTH] = rows[SizeName.LENGTH]
    elif model.family is Family.SUPERELLIPSE:
        values[SizeName.EXPONENT], rows[SizeName.EXPONENT] = extra, [0, 0, 0, 0, 0, 1.0]
    elif model.oval.end_radius is not None:
        values[SizeName.END_RADIUS] = extra
        rows[SizeName.END_RADIUS] = [0, 0, 0, slim * own, a * own, b]
    return values, {name: np.array(row, dtype=np.float64)[model.free] for name, row in rows.items()}
