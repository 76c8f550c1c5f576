"""The rows of the table as quantities: repeats brought together, one mean a sample."""

from __future__ import annotations

from math import pi, sqrt
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from core.measure.readings.predict import lacks
from core.measure.readings.statistics import instrument_uncertainty
from core.part.readings import OVAL_KINDS, ReadingKind

if TYPE_CHECKING:
    from collections.abc import Hashable, Sequence

    from core.geometry.lines.outline import BoolArray, FloatArray
    from core.part.readings import Reading, Readings

# What a reading changes by when the oval grows by 1 mm all round: a parallel curve is 2 pi longer, and the corner's
# apex moves away faster than the end does. The height of an end over a chord hardly changes.
_GROWTH = {
    ReadingKind.TAPE: 2.0 * pi,
    ReadingKind.ROLL: 2.0 * pi,
    ReadingKind.END_RADIUS: 1.0,
    ReadingKind.CORNER_GAP: sqrt(2.0) - 1.0,
    ReadingKind.END_HEIGHT: 0.0,
}


class Quantity(Struct, frozen=True):
    """One quantity of the insert, read once or at several places.

    Attributes:
        rows: numbers of its rows in the table.
        reading: the first of them, which says what was read.
        means: one a sample, over its places; None where nothing was read [mm].
        instrument: standard uncertainty of the instrument [mm].
    """

    rows: tuple[int, ...]
    reading: Reading
    means: tuple[float | None, ...]
    instrument: float

    @property
    def values(self) -> tuple[float, ...]:
        """The means of the samples that were read [mm]."""
        return tuple(mean for mean in self.means if mean is not None)


def sample_count(readings: Readings) -> int:
    """How many columns the table has: named ones, or more when a row has more values."""
    return max((len(readings.samples), *(len(row.values) for row in readings.rows)))


def folded(angle: float) -> float:
    """A direction [degrees] as the one in the first quarter that reads the same on an oval, 0..90."""
    turned = angle % 180.0
    return min(turned, 180.0 - turned)


def quantities(readings: Readings, rows: Sequence[tuple[int, Reading]]) -> tuple[Quantity, ...]:
    """Rows as quantities, in order: those that read the same thing with the same instrument are repeats.

    Rows that nothing was read in are left out.

    Args:
        readings: the table, for its samples and instruments.
        rows: with their numbers; complete ones.
    """
    count = sample_count(readings)
    groups: dict[Hashable, list[int]] = {}
    for number, row in rows:
        if any(value is not None for value in row.values):
            groups.setdefault((sense(row), row.instrument), []).append(number)
    return tuple(
        Quantity(
            tuple(numbers),
            readings.rows[numbers[0]],
            tuple(_mean(readings, numbers, sample) for sample in range(count)),
            instrument_uncertainty(readings.resolution.of(readings.rows[numbers[0]].instrument)),
        )
        for numbers in groups.values()
    )


def sense(row: Reading) -> tuple[ReadingKind, float | None]:
    """What a row is of: kind and figure, such that rows of the same thing are equal; jaws along an axis read it."""
    if row.kind is ReadingKind.JAWS and row.angle is not None:
        angle = folded(row.angle)
        if angle in _AXES:
            return (_AXES[angle], None)
        return (row.kind, angle)
    figures = {
        ReadingKind.WIDTH_AT: row.along, ReadingKind.END_HEIGHT: row.along, ReadingKind.TAPE: row.along,
        ReadingKind.ROLL: row.turns, ReadingKind.HEIGHT: row.weight or 0.0,
    }  # fmt: skip
    return (row.kind, figures.get(row.kind))


_AXES = {0.0: ReadingKind.LENGTH, 90.0: ReadingKind.WIDTH}


def _mean(readings: Readings, numbers: Sequence[int], sample: int) -> float | None:
    read = [
        value
        for row in (readings.rows[number] for number in numbers)
        if sample < len(row.values) and (value := row.values[sample]) is not None
    ]
    return sum(read) / len(read) if read else None


class OvalTable(Struct, frozen=True, eq=False):
    """All that was read of the oval, as arrays over q quantities and n samples.

    Attributes:
        quantities: the q quantities.
        x: (q, n) means of the samples; NaN where nothing was read [mm].
        read: (q, n) where something was read.
        means: (q,) over the samples [mm].
        counts: (q,) samples that were read.
        instrument: (q,) standard uncertainties of the instruments [mm].
        growth: (q,) what each reads more for 1 mm of growth all round [1].
    """

    quantities: tuple[Quantity, ...]
    x: FloatArray
    read: BoolArray
    means: FloatArray
    counts: FloatArray
    instrument: FloatArray
    growth: FloatArray

    @property
    def samples(self) -> int:
        """Number of samples of which anything was read."""
        return int(self.read.any(axis=0).sum())

    @property
    def is_complete(self) -> bool:
        """Whether every sample of which anything was read has all quantities."""
        return bool(self.read[:, self.read.any(axis=0)].all())


def oval_table(readings: Readings) -> OvalTable:
    """The complete rows of the oval; q may be 0."""
    rows = [(number, row) for number, row in readings.of(*OVAL_KINDS) if not lacks(row)]
    found = quantities(readings, rows)
    x = np.array([q.means for q in found], dtype=np.float64).reshape(len(found), sample_count(readings))
    read = ~np.isnan(x)
    counts = read.sum(axis=1).astype(np.float64)
    means = np.where(read, x, 0.0).sum(axis=1) / np.maximum(counts, 1.0)
    growth = [
        _GROWTH.get(q.reading.kind, 2.0) * (q.reading.turns or 1 if q.reading.kind is ReadingKind.ROLL else 1)
        for q in found
    ]
    return OvalTable(
        found, x, read, means, counts, np.array([q.instrument for q in found]), np.array(growth, dtype=np.float64)
    )
