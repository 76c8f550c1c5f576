"""One family of ovals laid through all readings of the oval, by weighted least squares."""

from __future__ import annotations

from math import sqrt
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from core.geometry.ovals.families.kind import LEAST, Shape
from core.geometry.ovals.fit import descend, size_bounds
from core.geometry.ovals.ovals import LONGEST, SIZED_FAMILIES, oval_of
from core.measure.readings.predict import reads
from core.measure.readings.results import Residual, ShapeFit
from core.measure.readings.rubber import tolerance
from core.measure.readings.statistics import ALIKE, estimate_of, widened
from core.part.readings import ReadingKind, SizeName

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from core.geometry.lines.outline import FloatArray
    from core.geometry.ovals.ovals import Family, Oval
    from core.measure.readings.noise import Noise
    from core.measure.readings.quantities import OvalTable
    from core.measure.readings.results import Estimate
    from core.part.readings import RubberClass

# Step of the derivatives [mm or 1]: far above rounding, far below any size.
_STEP = 1e-4
# Sizes [mm] that a fit may try: well inside those that an oval and its radii can have, derivatives' steps included.
_SHORTEST, _LONGEST, _TIGHTEST = 10.0 * LEAST, LONGEST - LEAST, LEAST / 5.0
# Singular values of the scaled derivatives below this share of the greatest: some size is not seen by the readings.
_UNSEEN = 1e-4
# 99 % of misfits that are only chance stay possible.
_CHANCE = 0.01
# A tail as thin as this is as impossible as any.
_THINNEST = 1e-300


class Model(Struct, frozen=True):
    """A family with those of its sizes that are free.

    Attributes:
        third: the size beside length and width, where it is free.
    """

    family: Family
    third: SizeName | None = None

    @property
    def sizes(self) -> int:
        """Number of free sizes."""
        return 1 if self.family.kind.is_round else 2 if self.third is None else 3

    def shape(self, sizes: Sequence[float]) -> Shape:
        """The numbers of the oval of some sizes: length, width and the third [mm or 1]."""
        a = sizes[0] / 2.0
        b = a if self.family.kind.is_round else sizes[1] / 2.0
        return Shape(a, b, None if self.third is None else sizes[2])

    def oval(self, sizes: Sequence[float]) -> Oval:
        """The oval of some sizes."""
        a, b, own = self.shape(sizes)
        return oval_of(self.family, 2.0 * a, 2.0 * b, own)

    def thirds(self, sizes: Sequence[float]) -> tuple[float, float]:
        """Least and greatest third of some lengths and widths."""
        own = self.family.kind.own
        scale = sizes[1] / 2.0 if own is not None and own.is_share else 1.0
        low, high = size_bounds(self.family)
        return low[1] * scale, high[1] * scale


def _models() -> Iterator[Model]:
    for family in SIZED_FAMILIES:
        own = family.kind.own
        if own is None or family.kind.is_constructed:
            yield Model(family)
        if own is not None:
            yield Model(family, SizeName(own.field))


MODELS = tuple(_models())
"""All that is laid through the readings; the four-arc oval with its usual end radius and with a free one."""


def fit_model(table: OvalTable, noise: Noise, model: Model, rubber: RubberClass | None) -> ShapeFit | None:
    """A family through all readings of the oval, or None when they do not determine its sizes.

    The criterion is not corrected for few readings here; `ranking` does that for all families alike.

    The sizes' uncertainty comes from the samples themselves: by the fit's linear gain, each sample has its own sizes,
    and their spread holds all that varies, common growth and single readings alike. Where samples lack readings, the
    pooled noise takes its place. What is common to a sample, its growth and all that a class allows it, is in every one
    of its readings and does not average out over them. A family that the readings contradict has its intervals widened
    by the ratio of Birge, sqrt(misfit / freedom).

    Args:
        table: the readings of the oval.
        noise: how far they scatter.
        model: the family.
        rubber: the class that stands in for the spread of fewer than three samples, if any.
    """
    if len(table.quantities) < model.sizes:
        return None
    found = _solve(table, np.sqrt(noise.variance), model)
    gain = None if found is None else _gain(table, noise, model, found)
    if found is None or gain is None:
        return None
    rows = [quantity.reading for quantity in table.quantities]
    read = np.array(_read(table, model, found))
    off = table.means - read
    misfit = float((off * off / noise.variance).sum())
    freedom = len(rows) - model.sizes
    equal, is_possible = _chance(misfit, freedom, noise.freedom)
    ratio = 1.0 if is_possible else sqrt(misfit / max(freedom, 1))
    residuals = tuple(
        Residual(number, float(read[i]), float(off[i]), sqrt(float(noise.variance[i])))
        for i, quantity in enumerate(table.quantities)
        for number in quantity.rows
    )
    return ShapeFit(
        model.family,
        model.oval(found),
        _estimates(table, noise, model, found, gain, ratio, rubber),
        tuple(sorted(residuals, key=lambda residual: residual.row)),
        float(np.abs(off).max()),
        misfit,
        freedom,
        equal + 2.0 * model.sizes,
        is_possible,
    )


def _chance(misfit: float, freedom: int, known: float) -> tuple[float, bool]:
    """The chi squared that is as unlikely as the misfit, and whether chance allows it.

    The variances were estimated with ``known`` degrees of freedom themselves, so the misfit over its own is F
    distributed, and looks larger than it is. As many sizes as readings leave no misfit, unless a size stops at its
    bound, which then is no longer free.
    """
    from scipy.special import chdtrc, chdtri, fdtrc

    freedom = max(freedom, 1)
    if np.isinf(known):
        return misfit, bool(chdtrc(freedom, misfit) >= _CHANCE)
    tail = float(fdtrc(freedom, known, misfit / freedom))
    return float(chdtri(freedom, max(tail, _THINNEST))), tail >= _CHANCE


def _read(table: OvalTable, model: Model, sizes: Sequence[float]) -> list[float]:
    """What an oval of some sizes reads where the table was read [mm]."""
    kind, shape = model.family.kind, model.shape(sizes)
    return [reads(kind, shape, quantity.reading) for quantity in table.quantities]


def _solve(table: OvalTable, standard: FloatArray, model: Model) -> list[float] | None:
    """The sizes with the least misfit; None when the search fails."""
    count, own = model.sizes, model.family.kind.own
    (slim_low, third_low), (slim_high, third_high) = size_bounds(model.family)
    low = np.array([_SHORTEST, slim_low, third_low][:count])
    high = np.array([_LONGEST, slim_high, third_high][:count])

    def sizes_of(v: FloatArray) -> list[float]:
        length, *rest = v.tolist()
        if not rest:
            return [length]
        width = max(length * rest[0], _SHORTEST)
        return [length, width, *(max(t * width / 2.0, _TIGHTEST) if own and own.is_share else t for t in rest[1:])]

    def misses(v: FloatArray) -> FloatArray:
        found: FloatArray = (np.array(_read(table, model, sizes_of(v))) - table.means) / standard
        return found

    def look(v: FloatArray) -> tuple[FloatArray, Callable[[], FloatArray]]:
        return misses(v), lambda: _differences(misses, v, low, high)

    length, width = _first_guess(table)
    start = np.array([length, width / length][:count])
    if count == 3:
        thirds = np.linspace(third_low, third_high, 9)[1:-1]
        start = min((np.append(start, third) for third in thirds), key=lambda v: float((misses(v) ** 2).sum()))
    found = descend(look, start, low, high)
    return sizes_of(found) if np.isfinite(found).all() else None


def _differences(
    of: Callable[[FloatArray], FloatArray], at: FloatArray, low: FloatArray, high: FloatArray
) -> FloatArray:
    """(n, k) derivatives of what is told of parameters (k,), by steps that stay within their bounds."""
    columns = []
    for i in range(len(at)):
        below, above = at.copy(), at.copy()
        below[i], above[i] = max(at[i] - _STEP, low[i]), min(at[i] + _STEP, high[i])
        columns.append((of(above) - of(below)) / (above[i] - below[i]))
    return np.array(columns).T


def _first_guess(table: OvalTable) -> tuple[float, float]:
    """Length and width to start from, by whatever was read [mm]."""
    read: dict[ReadingKind, list[float]] = {}
    for quantity, mean in zip(table.quantities, table.means.tolist(), strict=True):
        row = quantity.reading
        if row.kind is ReadingKind.TAPE:
            mean -= np.pi * (row.along or 0.0)  # noqa: PLW2901
        if row.kind is ReadingKind.ROLL:
            mean /= row.turns or 1  # noqa: PLW2901
        read.setdefault(row.kind, []).append(mean)
    across = [
        mean for kind in (ReadingKind.JAWS, ReadingKind.WIDTH_AT, ReadingKind.WIDTH) for mean in read.get(kind, ())
    ]
    round_ = [mean / np.pi for kind in (ReadingKind.TAPE, ReadingKind.ROLL) for mean in read.get(kind, ())]
    lengths = read.get(ReadingKind.LENGTH, ())
    widths = read.get(ReadingKind.WIDTH, ())
    some = max([*across, *round_, *lengths, *(2.0 * r for r in read.get(ReadingKind.END_RADIUS, ()))], default=100.0)
    length = max(lengths, default=some)
    width = min(widths, default=min([*across, 0.6 * length]))
    length = min(max(length, width, _SHORTEST), _LONGEST)
    return length, min(max(width, _SHORTEST), length)


def _slopes(table: OvalTable, model: Model, sizes: Sequence[float]) -> FloatArray:
    """(q, k) what each reading changes by with each size."""
    at = np.array(sizes)
    low, high = at - _STEP, at + _STEP
    if len(at) == 3:
        low[2], high[2] = np.clip((low[2], high[2]), *model.thirds(sizes))
    return _differences(lambda v: np.array(_read(table, model, v.tolist())), at, low, high)


def _gain(table: OvalTable, noise: Noise, model: Model, sizes: Sequence[float]) -> FloatArray | None:
    """(k, q) what each size changes by with each reading, near the fit; None when the readings don't see a size."""
    weight = 1.0 / np.sqrt(noise.variance)
    slopes = _slopes(table, model, sizes) * weight[:, None]
    scale = np.sqrt((slopes**2).sum(axis=0))
    # Against the finest reading: a size that all of them together see a thousandth of is not seen.
    if not np.isfinite(scale).all() or (scale < weight.max() * 1e-3).any():
        return None
    u, s, vt = np.linalg.svd(slopes / scale, full_matrices=False)
    if s[-1] < _UNSEEN * s[0]:
        return None
    gain: FloatArray = (vt.T / s) @ u.T * weight / scale[:, None]
    return gain


def _estimates(
    table: OvalTable,
    noise: Noise,
    model: Model,
    sizes: Sequence[float],
    gain: FloatArray,
    ratio: float,
    rubber: RubberClass | None,
) -> tuple[tuple[SizeName, Estimate], ...]:
    """The family's sizes with their uncertainty, also those that follow from its free ones."""
    values = list(sizes)
    names = [SizeName.LENGTH, SizeName.WIDTH, model.third][: max(model.sizes, 2)]
    kind = model.family.kind
    if kind.is_round:
        values, gain = values * 2, np.vstack((gain, gain))
    elif kind.own is not None and model.third is None:
        usual = _usual_sizes(model)
        names.append(SizeName(kind.own.field))
        at = np.array(sizes)
        values.append(float(usual(at)))
        gain = np.vstack((gain, _differences(usual, at, at - _STEP, at + _STEP)[None, :] @ gain))
    spread, of_mean, counts = _spreads(table, noise, gain)
    instrument = np.sqrt((gain**2) @ table.instrument**2)
    estimates = []
    for i, (name, value) in enumerate(zip(names, values, strict=True)):
        if name is None:
            continue
        # With a single sample, what its readings scatter by is a part of what a class allows, and may be more.
        single = sqrt(float(gain[i] ** 2 @ noise.single)) if counts[i] == 1 else 0.0
        limit = None if rubber is None else max(_allowed(table, model, sizes, name, value, rubber), sqrt(3.0) * single)
        estimate = estimate_of(
            value,
            spread[i] if counts[i] > 1 else None,
            float(instrument[i]),
            counts[i],
            stand_in=limit,
            of_mean=of_mean[i],
        )
        estimates.append((name, widened(estimate, (ratio - 1.0) * estimate.expanded if ratio > 1.0 else 0.0)))
    return tuple(estimates)


def _allowed(
    table: OvalTable, model: Model, sizes: Sequence[float], name: SizeName, value: float, rubber: RubberClass
) -> float:
    """What a class allows a size [+- mm, or 1 for the exponent], however often it was read.

    The classes are of lengths. An exponent may be off until the first of the readings that see it is at its own limit.
    """
    if name is not SizeName.EXPONENT:
        return tolerance(value, rubber)
    slopes = np.abs(_slopes(table, model, sizes)[:, 2])
    limits = np.array([tolerance(mean, rubber) for mean in table.means])
    return float((limits[slopes > 0.0] / slopes[slopes > 0.0]).min())


def _spreads(table: OvalTable, noise: Noise, gain: FloatArray) -> tuple[list[float], list[float], list[int]]:
    """Of each size: standard deviation between samples, that of the mean over them, and how many samples tell it."""
    # What the steps of an instrument hide of a quantity whose samples read alike.
    off = np.where(table.read, table.x - table.means[:, None], 0.0)
    shown = (off**2).sum(axis=1) / np.maximum(table.counts - 1.0, 1.0)
    hidden = (gain**2) @ np.where(shown < (ALIKE * table.instrument) ** 2, table.instrument**2, 0.0)
    if table.is_complete and not noise.is_stand_in:
        own = gain @ off[:, table.read.any(axis=0)]
        spread = np.sqrt((own**2).sum(axis=1) / max(table.samples - 1, 1) + hidden)
        return spread.tolist(), (spread / sqrt(table.samples)).tolist(), [table.samples] * len(spread)
    grown = (gain @ table.growth * noise.growth) ** 2
    single = gain**2 * noise.single
    spread = np.sqrt(grown + single.sum(axis=1) + hidden)
    of_mean = np.sqrt(grown / table.counts.min() + (single / table.counts).sum(axis=1) + hidden / table.counts.min())
    # Samples that lack most of what tells a size count for little of one.
    weight = gain**2 * noise.variance
    counts = np.rint(weight.sum(axis=1) / (weight / table.counts).sum(axis=1)).astype(int)
    return spread.tolist(), of_mean.tolist(), counts.tolist()


def _usual_sizes(model: Model) -> Callable[[FloatArray], FloatArray]:
    """The own size that a family usually has, of its length and width."""
    return lambda sizes: np.array(model.family.kind.usual(model.shape(sizes.tolist())))
