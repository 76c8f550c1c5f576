"""Everything that follows from the readings of one insert, in one pure call."""

from __future__ import annotations

from functools import lru_cache
from math import pi, sqrt
from typing import TYPE_CHECKING

from core.geometry.ovals.families.kind import arc_radius
from core.measure.readings.height import disordered, free_height, samples_words
from core.measure.readings.outliers import outliers_of
from core.measure.readings.predict import CORNER, lacks
from core.measure.readings.quantities import oval_table, quantities, sample_count, sense
from core.measure.readings.ranking import rank
from core.measure.readings.results import RowStudy, Study
from core.measure.readings.rubber import stand_in
from core.measure.readings.statistics import deviation_of, estimate_samples, instrument_uncertainty, mean_of
from core.part.readings import ReadingKind, SizeName
from core.words.ends import End

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from core.geometry.ovals.ovals import Family
    from core.measure.readings.quantities import Quantity
    from core.measure.readings.results import Estimate, Ranking
    from core.part.readings import Reading, Readings

Found = tuple[SizeName, "Estimate", str]

_NO_FIT = "the other readings do not fit this shape"
_CLOSURE = (ReadingKind.HEIGHT, ReadingKind.RIM_THICKNESS)
_LENGTH_AND_WIDTH = {ReadingKind.LENGTH: SizeName.LENGTH, ReadingKind.WIDTH: SizeName.WIDTH}
_RIMS = {
    (ReadingKind.RIM_WIDTH, False): SizeName.RIM_WIDTH,
    (ReadingKind.RIM_THICKNESS, False): SizeName.RIM_THICKNESS,
    (ReadingKind.RIM_WIDTH, True): SizeName.LID_RIM_WIDTH,
    (ReadingKind.RIM_THICKNESS, True): SizeName.LID_RIM_THICKNESS,
}


@lru_cache(maxsize=64)
def study(readings: Readings, family: Family) -> Study:
    """What the readings say.

    Args:
        readings: the table; anything may be missing in it, all of it too.
        family: that the insert has now, whose sizes are wanted. A measured outline has no sizes of its own: the
            readings give its rims and height only.
    """
    ranking = rank(readings, oval_table(readings))
    return Study(
        tuple(_row(readings, number, row) for number, row in enumerate(readings.rows)),
        tuple(
            sorted((*outliers_of(readings), *disordered(readings)), key=lambda outlier: (outlier.row, outlier.sample))
        ),
        ranking,
        (*_oval_sizes(readings, family, ranking), *_other_sizes(readings)),
        _developed(readings),
    )


def _row(readings: Readings, number: int, row: Reading) -> RowStudy:
    lacking = lacks(row)
    read = [value for value in row.values if value is not None]
    if not read:
        return RowStudy(number, None, None, None, lacking)
    mean, deviation = mean_of(read), deviation_of(read)
    if lacking:
        return RowStudy(number, mean, deviation, None, lacking)
    return RowStudy(number, mean, deviation, _of_samples(readings, row, read, _instrument(readings, row)))


def _instrument(readings: Readings, row: Reading) -> float:
    return instrument_uncertainty(readings.resolution.of(row.instrument))


def _of_samples(readings: Readings, row: Reading, read: Sequence[float], instrument: float) -> Estimate | None:
    """The estimate of what a row stands for, from what was read of each sample; None where it makes no sense."""
    quantity = _meaning(row)
    values = [quantity(value) for value in read]
    mean = mean_of(read)
    if min(values) <= 0.0:
        return None
    # How fast the quantity moves with the reading carries the instrument over.
    step = mean * 1e-6
    slope = abs(quantity(mean + step) - quantity(mean - step)) / (2.0 * step)
    limit = stand_in(mean_of(values), readings.rubber, is_closure=row.kind in _CLOSURE)
    return estimate_samples(values, slope * instrument, limit)


def _meaning(row: Reading) -> Callable[[float], float]:
    """From what a complete row reads to what it stands for: tape and turns taken out, arcs from gap and height."""
    along, turns = row.along or 0.0, row.turns or 1
    match row.kind:
        case ReadingKind.TAPE:
            return lambda read: read - pi * along
        case ReadingKind.ROLL:
            return lambda read: read / turns
        case ReadingKind.CORNER_GAP:
            return lambda read: read * CORNER
        case ReadingKind.END_HEIGHT:
            return lambda read: arc_radius(along, read)
        case _:
            return lambda read: read


def _oval_sizes(readings: Readings, family: Family, ranking: Ranking) -> tuple[Found, ...]:
    """The sizes of the insert's family: through all readings where they determine it, else each by itself."""
    if not family.kind.is_sized:
        return ()
    fit = ranking.of(family)
    direct = _direct(readings, family)
    if fit is None:
        return direct
    count = len(oval_table(readings).quantities)
    if fit.freedom == 0 and count == len(direct) == len(_LENGTH_AND_WIDTH):
        return direct
    readings_words = "1 reading" if count == 1 else f"{count} readings"
    words = f"{family.kind.words} through {readings_words}"
    if not fit.is_possible:
        if direct:  # what a wrong shape makes of all readings is further off than what was read of the size itself
            return tuple((name, estimate, f"{said}; {_NO_FIT}") for name, estimate, said in direct)
        words += ", which it does not fit"
    return tuple((name, one, f"{words}, {samples_words(one, readings.rubber)}") for name, one in fit.sizes)


def _direct(readings: Readings, family: Family) -> tuple[Found, ...]:
    """Length, width and end radius from the rows that say them alone."""
    names = dict(_LENGTH_AND_WIDTH)
    if family.kind.has("end_radius"):
        names[ReadingKind.END_RADIUS] = SizeName.END_RADIUS
    found: list[Found] = []
    for kind, name in names.items():
        rows = [(number, row) for number, row in readings.of(kind, ReadingKind.JAWS) if sense(row)[0] is kind]
        found += _mean_of_quantities(readings, quantities(readings, rows), name)
    return tuple(found)


def _other_sizes(readings: Readings) -> tuple[Found, ...]:
    """Height and the rims' sizes."""
    found: list[Found] = []
    height = free_height(readings)
    if height is not None:
        found.append((SizeName.HEIGHT, *height))
    for (kind, is_lid), name in _RIMS.items():
        rows = [(number, row) for number, row in readings.of(kind) if (row.end is End.LID) is is_lid]
        found += _mean_of_quantities(readings, quantities(readings, rows), name)
    return tuple(found)


def _mean_of_quantities(readings: Readings, found: Sequence[Quantity], name: SizeName) -> list[Found]:
    """The mean of what different instruments read of the same thing, sample by sample."""
    if not found:
        return []
    values, instrument = _joined(readings, found, _as_read)
    estimate = _of_samples(readings, found[0].reading, values, instrument)
    return [] if estimate is None else [(name, estimate, samples_words(estimate, readings.rubber))]


def _joined(
    readings: Readings, found: Sequence[Quantity], meaning: Callable[[Quantity, float], float]
) -> tuple[list[float], float]:
    """One mean a sample over several quantities, and the instruments' uncertainty of it [mm]."""
    values = []
    for sample in range(sample_count(readings)):
        read = [meaning(q, mean) for q in found if (mean := q.means[sample]) is not None]
        if read:
            values.append(mean_of(read))
    squares = sum((q.instrument / (q.reading.turns or 1)) ** 2 for q in found)
    return values, sqrt(squares) / len(found)


def _as_read(_: Quantity, mean: float) -> float:
    return mean


def _developed(readings: Readings) -> Estimate | None:
    """Developed length from tape and rolling alone."""
    rows = [(number, row) for number, row in readings.of(ReadingKind.TAPE, ReadingKind.ROLL) if not lacks(row)]
    found = quantities(readings, rows)
    if not found:
        return None
    values, instrument = _joined(readings, found, lambda quantity, mean: _meaning(quantity.reading)(mean))
    if min(values) <= 0.0:
        return None
    return estimate_samples(values, instrument, stand_in(mean_of(values), readings.rubber))
