"""Readings that stand out: pointed out with the reason, never taken away."""

from __future__ import annotations

from statistics import median
from typing import TYPE_CHECKING

from core.measure.readings.quantities import quantities
from core.measure.readings.results import Outlier
from core.measure.readings.statistics import deviation_of, grubbs_critical, mean_of
from core.words.verdicts import Sentence

if TYPE_CHECKING:
    from core.measure.readings.quantities import Quantity
    from core.part.readings import Readings

RISK = 0.05
"""That Grubbs' test takes a good reading for a bad one, a row."""

_SLIPPED, _SLIPPED_MM = 0.04, 1.0  # as share of the size and at least [mm]
_STEPS = 3.0  # of the instrument, or of the table's usual spread: what is nearer stands out by rounding or chance


def outliers_of(readings: Readings) -> tuple[Outlier, ...]:
    """The readings that stand out, in the table's order.

    Two rules. A reading further from its quantity's median than 4 % of it, 1 mm at least, is a slip of the digits, or
    of the sample: no part is that far off, a digit or a mark may be (common practice, no source; about three times
    what moulded rubber of the usual class is allowed). Of two readings there is no telling which. Of three samples or
    more, Grubbs' two-sided test on the row, at 5 %; what it finds must also lie further from the others than three
    steps of the instrument and three times the table's usual spread, or one row in twenty would stand out by chance.
    """
    found: list[Outlier] = []
    rows = tuple(enumerate(readings.rows))
    spreads = [s for _, row in rows if (s := deviation_of([v for v in row.values if v is not None])) is not None]
    for quantity in quantities(readings, rows):
        slipped = _slips(readings, quantity)
        seen = {(outlier.row, outlier.sample) for outlier in slipped}
        found += slipped
        for row in quantity.rows:
            outlier = _grubbs(readings, row, median(spreads) if len(spreads) > 1 else 0.0)
            if outlier is not None and (outlier.row, outlier.sample) not in seen:
                found.append(outlier)
    return tuple(sorted(found, key=lambda outlier: (outlier.row, outlier.sample)))


def _slips(readings: Readings, quantity: Quantity) -> list[Outlier]:
    read = [
        (row, sample, value)
        for row in quantity.rows
        for sample, value in enumerate(readings.rows[row].values)
        if value is not None
    ]
    if len(read) < 2:
        return []
    found = []
    # The median of all stays with the good ones of three, where that of the others would lie half way to the bad one.
    middle = median(value for _, _, value in read)
    for i, (row, sample, value) in enumerate(read):
        rest = [other for j, (_, _, other) in enumerate(read) if j != i]
        others = median(rest)
        limit = max(_SLIPPED * others, _SLIPPED_MM)
        if abs(value - (others if len(read) == 2 else middle)) > limit:
            reason = Sentence.of(
                f"{{value}} is {{off}} from the {'other' if len(rest) == 1 else 'others'}, more than samples of "
                "one make differ by ({limit}): a slipped digit?",
                value=value,
                off=abs(value - others),
                limit=limit,
            )
            found.append(Outlier(row, sample, value, others, reason))
    return found


def _grubbs(readings: Readings, row: int, usual: float) -> Outlier | None:
    reading = readings.rows[row]
    read = [(sample, value) for sample, value in enumerate(reading.values) if value is not None]
    values = [value for _, value in read]
    spread = deviation_of(values)
    if len(values) < 3 or not spread:
        return None
    mean = mean_of(values)
    place = max(range(len(read)), key=lambda i: abs(values[i] - mean))
    sample, value = read[place]
    others = median(values[:place] + values[place + 1 :])
    least = _STEPS * max(readings.resolution.of(reading.instrument), usual)
    ratio = abs(value - mean) / spread
    if ratio <= grubbs_critical(len(values), RISK) or abs(value - others) <= least:
        return None
    reason = Sentence.of(
        f"{{value}} is {{off}} from the others, {ratio:.2f} times the row's spread where chance allows "
        f"{grubbs_critical(len(values), RISK):.2f} (Grubbs' test, 5 %)",
        value=value,
        off=abs(value - others),
    )
    return Outlier(row, sample, value, others, reason)
