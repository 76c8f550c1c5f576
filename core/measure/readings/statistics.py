"""Mean, spread and uncertainty of a few samples, and what the next one bought will measure."""

from __future__ import annotations

from functools import lru_cache
from math import hypot, inf, isinf, sqrt
from typing import TYPE_CHECKING

from msgspec.structs import replace

from core.measure.readings.results import Estimate

if TYPE_CHECKING:
    from collections.abc import Sequence

CONFIDENCE = 0.95
"""Of every interval here."""

LEAST_SAMPLES = 3
"""Fewer say nothing of what the next one bought will measure: with two, 95 % reaches 15.6 standard deviations."""

ALIKE = 0.1
"""Readings that spread by less of their instrument's uncertainty are alike: its steps hide what they spread by."""

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
    stand_in: float | None = None,
    of_mean: float | None = None,
) -> Estimate:
    """An estimate from a mean, its spread and its instrument.

    Args:
        value: the mean [mm].
        spread: standard deviation between samples [mm]; None when it could not be measured.
        instrument: standard uncertainty that all readings share [mm].
        count: number of samples; 2 or more where there is a spread.
        stand_in: tolerance of a class that stands in where there are fewer than three samples [+- mm]; None for none.
        of_mean: standard uncertainty of the mean from the spread [mm], where it is not spread / sqrt(count).

    What the steps of an instrument hide counts: readings that are all alike are taken to spread by its own uncertainty
    (GUM F.2.2.1; of scatter and resolution the greater counts, as ISO 14253-2 has it, from memory).

    The mean's interval is Student's t at the effective degrees of freedom, and never narrower than the spread alone
    makes it: by chance, a few samples may spread so little that the instrument seems to bring many degrees of freedom
    along, and with two or three samples the interval would then hold in no more than 89 to 92 % of all cases.

    The next one bought differs from the mean by its own whole spread and by what the mean is off:
    t s sqrt(1 + 1/n), the prediction interval for one further value (Hahn and Meeker, Statistical Intervals, 4.7, from
    memory; NIST/SEMATECH handbook 7.2.6). Fewer than three samples say too little of their spread: the class stands in,
    or there is no interval. Its limits are taken as a rectangular distribution, u = T / sqrt(3). The nominal size then
    lies within 0.95 T of what was read, and 95 % of all parts within 0.95 T of the nominal size: 1.9 T together. What
    two samples have in common, as a batch, does not average out, so two count as one where a class stands in; and it
    can't be narrower than they lie apart.
    """
    normal = student(inf)
    if stand_in is not None and count < LEAST_SAMPLES:
        apart = 0.0 if spread is None else spread * sqrt(2.0)
        standard = hypot(stand_in / _RECTANGULAR, instrument)
        reach = max(hypot(2.0 * CONFIDENCE * stand_in, normal * instrument), apart)
        return Estimate(value, standard, max(normal * standard, apart), inf, value - reach, value + reach, True, count)
    if spread is None:
        return Estimate(value, instrument, inf, inf, None, None, False, count)
    shown = instrument if spread < ALIKE * instrument else spread
    own = shown / sqrt(count) if of_mean is None else of_mean
    freedom = welch(((own, count - 1.0), (instrument, inf)))
    standard = hypot(own, instrument)
    factor = student(count - 1.0)
    expanded = max(student(freedom) * standard, factor * own)
    if count < LEAST_SAMPLES:
        return Estimate(value, standard, expanded, freedom, None, None, False, count)
    # The instrument's part was not estimated from the samples, so their small number does not widen it.
    reach = hypot(factor * hypot(shown, own), normal * instrument)
    return Estimate(value, standard, expanded, freedom, value - reach, value + reach, False, count)


def estimate_samples(values: Sequence[float], instrument: float, stand_in: float | None) -> Estimate | None:
    """The estimate of one mean a sample; None for no samples.

    Args:
        values: one a sample [mm].
        instrument: standard uncertainty that all readings share [mm].
        stand_in: tolerance of the class that stands in for the spread of fewer than three samples [+- mm], if any.
    """
    if not values:
        return None
    return estimate_of(mean_of(values), deviation_of(values), instrument, len(values), stand_in=stand_in)


def widened(estimate: Estimate, by: float) -> Estimate:
    """The estimate with both of its intervals wider by ``by`` on either side [mm]."""
    if estimate.next_low is None or estimate.next_high is None:
        return replace(estimate, expanded=estimate.expanded + by)
    return replace(
        estimate,
        expanded=estimate.expanded + by,
        next_low=estimate.next_low - by,
        next_high=estimate.next_high + by,
    )
