"""Free height of a soft insert, from heights under a plate of several weights."""

from __future__ import annotations

from math import sqrt
from typing import TYPE_CHECKING

from core.readings.quantities import quantities, sample_count
from core.readings.rubber import tolerance
from core.readings.statistics import estimate_samples, mean_of
from core.readings.values import ReadingKind

if TYPE_CHECKING:
    from collections.abc import Sequence

    from core.readings.quantities import Quantity
    from core.readings.results import Estimate
    from core.readings.values import Readings


def free_height(readings: Readings) -> tuple[Estimate, str] | None:
    """Height without any weight and how it was found; None when it can't be told.

    Where it was read without a weight, that counts. Otherwise each sample's heights under two weights or more are
    carried on to none along the straight line through them (by least squares), and the samples' free heights are
    averaged. Heights under a single weight say nothing of the free height.
    """
    found = quantities(readings, readings.of(ReadingKind.HEIGHT))
    free = [quantity for quantity in found if not quantity.reading.weight]
    if free:
        heights = [mean for sample in range(sample_count(readings)) if (mean := _mean(free, sample)) is not None]
        return _estimate(readings, heights, _joint(free), samples_words(len(heights)))
    heights, instruments = [], []
    weights: set[float] = set()
    for sample in range(sample_count(readings)):
        read = [
            (quantity.reading.weight or 0.0, mean, quantity.instrument)
            for quantity in found
            if (mean := quantity.means[sample]) is not None
        ]
        if len({weight for weight, _, _ in read}) < 2:
            continue
        gains = _gains([weight for weight, _, _ in read])
        heights.append(sum(gain * height for gain, (_, height, _) in zip(gains, read, strict=True)))
        instruments.append(sqrt(sum((gain * u) ** 2 for gain, (_, _, u) in zip(gains, read, strict=True))))
        weights.update(weight for weight, _, _ in read)
    if not heights:
        return None
    names = [f"{weight:g} g" for weight in sorted(weights)]
    words = f"extrapolated from {', '.join(names[:-1])} and {names[-1]}, {samples_words(len(heights))}"
    return _estimate(readings, heights, max(instruments), words)


def samples_words(count: int) -> str:
    """How a mean over samples is spoken of."""
    return "1 sample, spread of its rubber class" if count == 1 else f"mean of {count} samples"


def _estimate(
    readings: Readings, heights: Sequence[float], instrument: float, words: str
) -> tuple[Estimate, str] | None:
    mean = mean_of(heights)
    if mean <= 0.0:  # the heights rise so steeply with less weight the other way round: weights were exchanged
        return None
    # Across the parting of the mould, as heights are.
    estimate = estimate_samples(heights, instrument, tolerance(mean, readings.rubber, is_closure=True))
    return None if estimate is None else (estimate, words)


def _gains(weights: Sequence[float]) -> list[float]:
    """What each height counts in the straight line's value at no weight."""
    middle = mean_of(weights)
    below = sum((weight - middle) ** 2 for weight in weights)
    return [1.0 / len(weights) - middle * (weight - middle) / below for weight in weights]


def _mean(found: Sequence[Quantity], sample: int) -> float | None:
    read = [mean for quantity in found if (mean := quantity.means[sample]) is not None]
    return mean_of(read) if read else None


def _joint(found: Sequence[Quantity]) -> float:
    """Standard uncertainty of the mean of readings with several instruments [mm]."""
    return sqrt(sum(quantity.instrument**2 for quantity in found)) / len(found)
