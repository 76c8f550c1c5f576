"""Mean, spread and uncertainty of a few samples, and what the next one bought will measure."""

from __future__ import annotations

from functools import lru_cache
from math import hypot, inf, isinf, sqrt
from typing import TYPE_CHECKING

import numpy as np

from core.readings.results import Estimate

if TYPE_CHECKING:
    from collections.abc import Sequence

CONFIDENCE = 0.95
"""Of every interval here."""

_RECTANGULAR = sqrt(3.0)


def mean_of(values: Sequence[float]) -> float:
    """Arithmetic mean.

    Raises:
        ValueError: there are no values.
    """
    if not values:
        raise ValueError("no values, no mean")
    return sum(values) / len(values)


def deviation_of(values: Sequence[float]) -> float | None:
    """Standard deviation with divisor n - 1; None for fewer than two values."""
    if len(values) < 2:
        return None
    mean = mean_of(values)
    return sqrt(sum((v - mean) ** 2 for v in values) / (len(values) - 1))


def instrument_uncertainty(resolution_mm: float) -> float:
    """Standard uncertainty [mm] of an instrument that shows steps of ``resolution_mm``.

    Source: half a step either way, all alike likely, r / 2 / sqrt(3) (GUM 4.3.7).
    """
    return resolution_mm / 2.0 / _RECTANGULAR


@lru_cache(maxsize=256)
def student(freedom: float, confidence: float = CONFIDENCE) -> float:
    """Two-sided factor of Student's t; the normal distribution's for infinite freedom.

    Raises:
        ValueError: the freedom is not positive.
    """
    from scipy.special import ndtri, stdtrit

    if not freedom > 0.0:
        raise ValueError(f"degrees of freedom must be positive, not {freedom}")
    p = (1.0 + confidence) / 2.0
    return float(ndtri(p) if isinf(freedom) else stdtrit(freedom, p))


def welch(parts: Sequence[tuple[float, float]]) -> float:
    """Effective degrees of freedom of a sum: (sum u²)² / sum (u⁴ / nu).

    Args:
        parts: standard uncertainty and degrees of freedom of each part; infinite where it was not estimated.

    Source: Welch-Satterthwaite, GUM G.4.1.
    """
    below = sum(u**4 / nu for u, nu in parts)
    total = sum(u * u for u, _ in parts)
    return total * total / below if below > 0.0 else inf


@lru_cache(maxsize=256)
def tolerance_factor(n: int, share: float = 0.95, confidence: float = CONFIDENCE) -> float:
    """The factor k of the two-sided interval mean +- k s that holds a share of a normal population with a confidence.

    Args:
        n: number of samples, 2 or more.
        share: of the population.
        confidence: of the statement.

    Raises:
        ValueError: fewer than two samples.

    Source: exact, by the integral of Wald and Wolfowitz as Odeh tabulated it: with the mean off by z / sqrt(n), the
    interval must reach the r for which Phi(z / sqrt(n) + r) - Phi(z / sqrt(n) - r) is the share; the confidence is
    the probability, over all z, that s is large enough for that. r² is a quantile of the non-central chi squared with
    one degree of freedom.
    """
    from scipy.optimize import brentq
    from scipy.special import chdtrc, chndtrix

    if n < 2:
        raise ValueError("a tolerance interval needs two samples or more")
    nodes, weights = np.polynomial.legendre.leggauss(120)
    z = 4.0 * (nodes + 1.0)  # 0..8: beyond it the normal density is nothing
    density = 8.0 * weights * np.exp(-z * z / 2.0) / sqrt(2.0 * np.pi)
    reach = chndtrix(share, 1.0, z * z / n)

    def missing(log_k: float) -> float:
        held = chdtrc(n - 1.0, (n - 1.0) * reach / np.exp(2.0 * log_k))
        return float((density * held).sum()) - confidence

    return float(np.exp(brentq(missing, -2.0, 10.0, xtol=1e-12)))


@lru_cache(maxsize=256)
def grubbs_critical(n: int, risk: float = 0.05) -> float:
    """Greatest distance from the mean, in standard deviations, that chance allows one of n values, on either side.

    Args:
        n: number of values, 3 or more.
        risk: that chance exceeds it.

    Raises:
        ValueError: fewer than three values.

    Source: Grubbs 1969: (n - 1) / sqrt(n) * sqrt(t² / (n - 2 + t²)), t the upper risk / (2n) point of Student's t with
    n - 2 degrees of freedom.
    """
    if n < 3:
        raise ValueError("Grubbs' test needs three values or more")
    t2 = student(n - 2.0, 1.0 - risk / n) ** 2
    return (n - 1) / sqrt(n) * sqrt(t2 / (n - 2 + t2))


def estimate_of(
    value: float,
    spread: float | None,
    instrument: float,
    count: int,
    *,
    stand_in: float = 0.0,
    of_mean: float | None = None,
) -> Estimate:
    """An estimate from a mean, its spread and its instrument.

    Args:
        value: the mean [mm].
        spread: standard deviation between samples [mm]; None when it could not be measured.
        instrument: standard uncertainty that all readings share [mm].
        count: number of samples; 2 or more where there is a spread.
        stand_in: tolerance that stands in for an unknown spread [+- mm].
        of_mean: standard uncertainty of the mean from the spread [mm], where it is not spread / sqrt(count).

    The interval is Student's t at the effective degrees of freedom, and never narrower than the spread alone makes it:
    by chance, a few samples may spread so little that the instrument seems to bring many degrees of freedom along, and
    with two or three samples the interval would then hold in no more than 89 to 92 % of all cases.

    The stand-in's limits are taken as a rectangular distribution, u = T / sqrt(3). The nominal size then lies within
    0.95 T of the one reading, and 95 % of all parts within 0.95 T of the nominal size: 1.9 T together.
    """
    normal = student(inf)
    if spread is None:
        standard = hypot(stand_in / _RECTANGULAR, instrument)
        reach = hypot(2.0 * CONFIDENCE * stand_in, normal * instrument)
        return Estimate(value, standard, normal * standard, inf, value - reach, value + reach, True, count)
    own = spread / sqrt(count) if of_mean is None else of_mean
    freedom = welch(((own, count - 1.0), (instrument, inf)))
    standard = hypot(own, instrument)
    # The instrument's part was not estimated from the samples, so their small number does not widen it.
    reach = hypot(tolerance_factor(count) * spread, normal * instrument)
    expanded = max(student(freedom) * standard, student(count - 1.0) * own)
    return Estimate(value, standard, expanded, freedom, value - reach, value + reach, False, count)


def estimate_samples(values: Sequence[float], instrument: float, stand_in: float) -> Estimate | None:
    """The estimate of one mean a sample; None for no samples.

    Args:
        values: one a sample [mm].
        instrument: standard uncertainty that all readings share [mm].
        stand_in: tolerance that stands in for the spread of a single sample [+- mm].
    """
    if not values:
        return None
    return estimate_of(mean_of(values), deviation_of(values), instrument, len(values), stand_in=stand_in)
