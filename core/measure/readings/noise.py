"""How far readings of the oval scatter: the samples' common growth, and reading by reading.

Two to five samples say little about one row's spread; over all rows together they say enough to weigh a misfit by.
"""

from __future__ import annotations

from math import inf, sqrt
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from core.measure.readings.rubber import tolerance

if TYPE_CHECKING:
    from core.geometry.lines.outline import FloatArray
    from core.measure.readings.quantities import OvalTable
    from core.part.readings import RubberClass


UNKNOWN_MM = 1.0
"""What a reading is taken to scatter by while nothing is known of it, to weigh readings by and to choose the next one;
no size's interval comes from it. Common practice, no source."""


class Noise(Struct, frozen=True, eq=False):
    """What the means of the quantities are uncertain by, from one reading to the next.

    Attributes:
        single: (q,) variance of one sample's reading, without growth and instrument [mm²].
        variance: (q,) of the means: their share of that, and the instruments' [mm²].
        growth: standard deviation of the growth all round between samples [mm].
        freedom: effective degrees of freedom of ``variance``; infinite where nothing was estimated.
        is_stand_in: whether a rubber class's tolerances stand in for a spread that the table can't give.
    """

    single: FloatArray
    variance: FloatArray
    growth: float
    freedom: float
    is_stand_in: bool


def noise_of(table: OvalTable, rubber: RubberClass | None) -> Noise | None:
    """The noise of a table of one quantity or more; None where the table can't give it and no class stands in.

    Each reading is taken as its quantity's mean, its sample's growth all round, and noise that is alike in all
    readings: what least squares leave, over the degrees of freedom, is the noise's variance. With a single sample, or
    no two readings that can be compared, the tolerances of the rubber class, if there is one, are taken as limits of a
    rectangular distribution.
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
        return None if rubber is None else _stand_in(table, rubber)
    solved, *_ = np.linalg.lstsq(design, off, rcond=None)
    s2 = float(((off - design @ solved) ** 2).sum()) / freedom
    variance = s2 / table.counts + table.instrument**2
    share = s2 / table.counts / variance
    estimated = float((share**2).mean())
    return Noise(
        np.full(len(table.means), s2),
        variance,
        _growth_deviation(table, np.asarray(solved[len(table.means) :], dtype=np.float64)),
        freedom / estimated if estimated > 0.0 else inf,
        is_stand_in=False,
    )


def _growth_deviation(table: OvalTable, grown: FloatArray) -> float:
    """Standard deviation of the growth of the samples that show any [mm]."""
    own = grown[(table.read & (table.growth[:, None] != 0.0)).any(axis=0)] if len(grown) else grown
    return float(own.std(ddof=1)) if len(own) > 1 else 0.0


def noise_of_misfit(table: OvalTable, misfit: float, freedom: int) -> Noise:
    """The noise of a single sample that no class stands in for, from what its best family leaves of it.

    So the families are told apart by how much better one fits than another, and none is thrown out by itself.

    Args:
        table: with one quantity or more.
        misfit: sum of squared residuals of the family that fits best [mm²].
        freedom: readings less its sizes; 0 where every family passes through all readings.
    """
    s2 = misfit / freedom if freedom > 0 else UNKNOWN_MM**2
    q = len(table.means)
    return Noise(
        np.full(q, s2), s2 + table.instrument**2, 0.0, float(freedom) if freedom > 0 else inf, is_stand_in=False
    )


def _stand_in(table: OvalTable, rubber: RubberClass) -> Noise:
    limits = np.array([tolerance(mean, rubber) for mean in table.means])
    single = (limits / sqrt(3.0)) ** 2
    return Noise(single, single + table.instrument**2, 0.0, inf, is_stand_in=True)
