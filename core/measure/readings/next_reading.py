"""The one further reading that would tell two families apart best."""

from __future__ import annotations

from math import sqrt
from typing import TYPE_CHECKING

from core.measure.readings.predict import developed_length, predicted
from core.measure.readings.quantities import folded
from core.measure.readings.results import NextReading
from core.measure.readings.rubber import tolerance
from core.measure.readings.statistics import instrument_uncertainty
from core.measure.readings.words import a_family, row_words
from core.part.readings import Instrument, Reading, ReadingKind
from core.words.verdicts import Sentence

if TYPE_CHECKING:
    from collections.abc import Sequence

    from core.geometry.ovals.ovals import Oval
    from core.measure.readings.noise import Noise
    from core.measure.readings.quantities import OvalTable
    from core.measure.readings.results import ShapeFit
    from core.part.readings import Readings

CLEAR = 2.0
"""A reading tells two families apart from so many of its own standard uncertainties on."""

_SAME_PLACE_MM = 2.0


def next_reading(readings: Readings, table: OvalTable, noise: Noise, fits: Sequence[ShapeFit]) -> NextReading | None:
    """The reading, of those not taken yet, that separates the best family and the next most in its own uncertainty.

    Jaws at 30°, 45° and 60°, the width at a quarter, a half and three quarters of the way to the end, the height of
    the end over half the width, and a tape are thought of. None when nothing of that would tell them apart; a family
    that reads the same everywhere is passed over for the one after it.

    Args:
        readings: the table.
        table: what it holds of the oval.
        noise: how far readings scatter.
        fits: best first.
    """
    for second in fits[1:]:
        best = fits[0].oval
        found = max(
            ((_separation(readings, table, noise, row, best, second.oval), row) for row in _candidates(readings, best)),
            key=lambda pair: pair[0],
            default=None,
        )
        if found is not None and found[0] >= CLEAR:
            return _words(found[1], fits[0], second)
    return None


def _candidates(readings: Readings, best: Oval) -> list[Reading]:
    half = best.length / 2.0
    rows = [Reading(ReadingKind.JAWS, angle=angle) for angle in (45.0, 30.0, 60.0)]
    # Whole millimetres: the place is marked with a rule.
    rows += [Reading(ReadingKind.WIDTH_AT, along=float(round(share * half))) for share in (0.5, 0.75, 0.25)]
    rows.append(Reading(ReadingKind.END_HEIGHT, along=max(float(round(best.width / 2.0)), 1.0)))
    # Its thickness is the user's to fill in.
    rows.append(Reading(ReadingKind.TAPE, instrument=Instrument.TAPE))
    return [row for row in rows if not any(_is_taken(row, other) for other in readings.rows)]


def _is_taken(row: Reading, other: Reading) -> bool:
    if row.kind is not other.kind or all(value is None for value in other.values):
        return False
    if row.kind is ReadingKind.JAWS:
        return other.angle is not None and abs(folded(other.angle) - folded(row.angle or 0.0)) < 1.0
    if row.kind is ReadingKind.TAPE:
        return True
    return other.along is not None and abs(other.along - (row.along or 0.0)) < _SAME_PLACE_MM


def _reads(oval: Oval, row: Reading) -> float:
    return developed_length(oval) if row.kind is ReadingKind.TAPE else predicted(oval, row)


def _separation(readings: Readings, table: OvalTable, noise: Noise, row: Reading, best: Oval, second: Oval) -> float:
    """How far the two families' readings are apart, in standard uncertainties of the reading's mean [1]."""
    first, other = _reads(best, row), _reads(second, row)
    if noise.is_stand_in and readings.rubber is not None:
        single = tolerance(max(first, other, 0.1), readings.rubber) ** 2 / 3.0
    else:
        single = float(noise.single.mean()) / table.samples
    return abs(first - other) / sqrt(single + instrument_uncertainty(readings.resolution.of(row.instrument)) ** 2)


def _words(row: Reading, best: ShapeFit, second: ShapeFit) -> NextReading:
    first, other = _reads(best.oval, row), _reads(second.oval, row)
    more = ", pi times its thickness more" if row.kind is ReadingKind.TAPE else ""
    words = Sentence.of(
        f"read {row_words(row)} next: {{best}} for {a_family(best.family)}, {{second}} for {a_family(second.family)}"
        f"{more}",
        at=row.along or 0.0,
        best=first,
        second=other,
    )
    return NextReading(row, first, other, words)
