"""How far readings of the oval scatter: the samples' common growth, and reading by reading.

Two to five samples say little about one row's spread; over all rows together they say enough to weigh a misfit by.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, sqrt
from typing import TYPE_CHECKING

import numpy as np

from core.readings.rubber import tolerance

if TYPE_CHECKING:
    from core.outline import FloatArray
    from core.readings.quantities import OvalTable
    from core.readings.values import RubberClass


@dataclass(frozen=True, eq=False)
class Noise:
    """What the means of the quantities are uncertain by, from one reading to the next.

    Attributes:
        single: (q,) variance of one sample's reading, without growth and instrument [mm²].
        variance: (q,) of the means: their share of that, and the instruments' [mm²].
        growth: standard deviation of the growth all round between samples [mm].
        freedom: effective degrees of freedom of ``variance``; infinite where nothing was estimated.
        is_stand_in: whether the rubber class's tolerances stand in for a spread that the table can't give.
    """

    single: FloatArray
    variance: FloatArray
    growth: float
    freedom: float
    is_stand_in: bool


def noise_of(table: OvalTable, rubber: RubberClass) -> Noise:
    """The noise of a table of one quantity or more.

    Each reading is taken as its quantity's mean, its sample's growth all round, and noise that is alike in all
    readings: what least squares leave, over the degrees of freedom, is the noise's variance. With a single sample, or
    no two readings that can be compared, the tolerances of the rubber class are taken as limits of a rectangular
    distribution.
    """
    quantity, sample = np.nonzero(table.read)
    off = table.x[quantity, sample] - table.means[quantity]
    means = np.zeros((len(off), len(table.means)))
    means[np.arange(len(off)), quantity] = 1.0
    grown = np.zeros((len(off), table.x.shape[1]))
    grown[np.arange(len(off)), sample] = table.growth[quantity]
    design = np.column_stack((means, grown))
    if len(table.means) == 1:  # growth and noise can't be told apart
        design = means
    freedom = len(off) - int(np.linalg.matrix_rank(design))
    if freedom <= 0:
        return _stand_in(table, rubber)
    solved, *_ = np.linalg.lstsq(design, off, rcond=None)
    s2 = float(((off - design @ solved) ** 2).sum()) / freedom
    variance = s2 / table.counts + table.instrument**2
    share = s2 / table.counts / variance
    estimated = float((share**2).mean())
    return Noise(
        np.full(len(table.means), s2),
        variance,
        _growth_deviation(table),
        freedom / estimated if estimated > 0.0 else inf,
        is_stand_in=False,
    )


def _growth_deviation(table: OvalTable) -> float:
    """Standard deviation of the samples' growth, each by least squares over its readings [mm]."""
    slopes = np.where(table.read, table.growth[:, None], 0.0)
    below = (slopes**2).sum(axis=0)
    has = below > 0.0
    grown = (slopes * np.where(table.read, table.x - table.means[:, None], 0.0)).sum(axis=0)[has] / below[has]
    return float(grown.std(ddof=1)) if len(grown) > 1 else 0.0


def _stand_in(table: OvalTable, rubber: RubberClass) -> Noise:
    limits = np.array([tolerance(mean, rubber) for mean in table.means])
    single = (limits / sqrt(3.0)) ** 2
    return Noise(single, single + table.instrument**2, 0.0, inf, is_stand_in=True)
