"""Free height of a soft insert, from heights under a plate of several weights."""

from __future__ import annotations

from itertools import pairwise
from math import sqrt
from typing import TYPE_CHECKING

from core.measure.readings.load_line import LoadLine, bend_of
from core.measure.readings.quantities import quantities, sample_count
from core.measure.readings.results import Outlier
from core.measure.readings.rubber import stand_in
from core.measure.readings.statistics import estimate_samples, mean_of, widened
from core.part.readings import ReadingKind
from core.words.verdicts import Sentence

if TYPE_CHECKING:
    from collections.abc import Sequence

    from core.measure.readings.quantities import Quantity
    from core.measure.readings.results import Estimate
    from core.part.readings import Readings, RubberClass


def free_height(readings: Readings) -> tuple[Estimate, str] | None:
    """Height without any weight and how it was found; None when it can't be told.

    Where it was read without a weight, that counts. Otherwise each sample's heights under two weights or more are
    carried on to none along a straight line, the samples' free heights are averaged, and the bend that they have in
    common is added; both intervals are widened by what it may be off. Heights under a single weight say nothing of the
    free height, and a sample that is higher under more weight is left out: its weights were exchanged.
    """
    found = quantities(readings, readings.of(ReadingKind.HEIGHT))
    free = [quantity for quantity in found if not quantity.reading.weight]
    if free:
        heights = [mean for sample in range(sample_count(readings)) if (mean := _mean(free, sample)) is not None]
        estimate = _estimate(readings, heights, _joint(free))
        return None if estimate is None else (estimate, samples_words(estimate, readings.rubber))
    every = [line for sample in range(sample_count(readings)) if (line := _load_line(found, sample)) is not None]
    lines = [line for line in every if line.falls]
    if not lines:
        return None
    bend, stray = bend_of(lines)
    estimate = _estimate(readings, [line.straight + bend for line in lines], max(line.instrument for line in lines))
    if estimate is None:
        return None
    weights = sorted({weight for line in lines for weight in line.weights})
    names = [f"{weight:g} g" for weight in weights]
    how = "along the bend of the load line" if stray else "in a straight line"
    words = f"carried on {how} from {', '.join(names[:-1])} and {names[-1]}, {samples_words(estimate, readings.rubber)}"
    if len(every) > len(lines):
        words += f"; {len(every) - len(lines)} left out, higher under more weight"
    if not stray:
        words += "; a third weight would show a bend"
    return widened(estimate, stray), words


def disordered(readings: Readings) -> tuple[Outlier, ...]:
    """Heights that are greater under more weight, which no insert is: weights exchanged, or a height read wrong.

    Each height is held against that under the next lighter weight; what one step of the instrument does is let pass.
    """
    found = [q for q in quantities(readings, readings.of(ReadingKind.HEIGHT)) if q.values]
    outliers = []
    for sample in range(sample_count(readings)):
        read = [(q.reading.weight or 0.0, mean, q) for q in found if (mean := q.means[sample]) is not None]
        read.sort(key=lambda at: at[0])
        for (light, above, one), (heavy, below, other) in pairwise(read):
            step = max(readings.resolution.of(q.reading.instrument) for q in (one, other))
            if heavy > light and below - above > step * _STEP:
                reason = Sentence.of(
                    f"{{height}} under {heavy:g} g is more than {{less}} "
                    + (f"under {light:g} g" if light else "without any weight")
                    + ": were the weights exchanged?",
                    height=below,
                    less=above,
                )
                outliers.append(Outlier(other.rows[0], sample, below, above, reason))
    return tuple(outliers)


_STEP = 1.0 + 1e-9


def samples_words(estimate: Estimate, rubber: RubberClass | None) -> str:
    """How an estimate over samples is spoken of."""
    of = "1 sample" if estimate.count == 1 else f"mean of {estimate.count} samples"
    return f"{of}, class {rubber} of ISO 3302-1 stands in" if estimate.is_stand_in else of


def _estimate(readings: Readings, heights: Sequence[float], instrument: float) -> Estimate | None:
    mean = mean_of(heights)
    if mean <= 0.0:  # so steep a line is no insert's
        return None
    # Across the parting of the mould, as heights are.
    return estimate_samples(heights, instrument, stand_in(mean, readings.rubber, is_closure=True))


def _load_line(found: Sequence[Quantity], sample: int) -> LoadLine | None:
    """The heights of one sample, where they are of two weights or more."""
    read = [(q.reading.weight or 0.0, mean, q.instrument) for q in found if (mean := q.means[sample]) is not None]
    if len({weight for weight, _, _ in read}) < 2:
        return None
    weights, heights, instruments = zip(*read, strict=True)
    return LoadLine(weights, heights, instruments)


def _mean(found: Sequence[Quantity], sample: int) -> float | None:
    read = [mean for quantity in found if (mean := quantity.means[sample]) is not None]
    return mean_of(read) if read else None


def _joint(found: Sequence[Quantity]) -> float:
    """Standard uncertainty of the mean of readings with several instruments [mm]."""
    return sqrt(sum(quantity.instrument**2 for quantity in found)) / len(found)
