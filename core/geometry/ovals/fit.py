"""The one fitter: an oval's sizes, and where it lies, by damped least squares.

What is fitted is told by its residuals, so readings of an oval and the points of an edge or of a drawing go the same
way. A point's normal distance falls by the outward normal at its foot when the oval moves, by the moment of that normal
when it turns, and by what the support grows by when a size grows (the foot moves along the curve, which changes nothing
to first order).
"""

from __future__ import annotations

from collections.abc import Callable
from math import cos, sin
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from msgspec import Struct

from core.geometry.ovals.distances import signed_distances
from core.geometry.ovals.families.kind import LEAST, Shape
from core.geometry.ovals.ovals import Family, Oval, check_oval, oval_of
from core.geometry.ovals.pose import Pose, half_turned

if TYPE_CHECKING:
    from core.geometry.lines.outline import BoolArray, FloatArray, IntArray

Look: TypeAlias = Callable[["FloatArray"], tuple["FloatArray", Callable[[], "FloatArray"]]]
"""From parameters (k,) to residuals (n,), and to a call that makes their derivatives (n, k)."""

Weigh: TypeAlias = Callable[["FloatArray"], tuple[float, "FloatArray"]]
"""From residuals (n,) to the sum to be lowered, and what each counts in its normal equations (n,)."""

LEAST_SLIM = 0.01
"""No fit makes an oval narrower than this part of its length."""

_TRIES = 60


class Placed(Struct, frozen=True, eq=False):
    """A family's oval where it lies.

    Attributes:
        full: (6,) centre x, y [mm], angle [rad], half length a [mm], width / length, and the size of the family's own,
            a radius as part of half the width.

    >>> Placed(Family.OBROUND, np.array([7.0, 8.0, 0.0, 30.0, 0.5, 0.0])).oval.width  # half as wide as long
    30.0
    """

    family: Family
    full: FloatArray

    @property
    def free(self) -> IntArray:
        """Which of ``full`` the family has."""
        kind = self.family.kind
        return np.array((0, 1, 3) if kind.is_round else range(5 if kind.own is None else 6))

    @property
    def shape(self) -> Shape:
        """The sizes, none smaller than an oval can have."""
        kind = self.family.kind
        a = max(float(self.full[3]), LEAST / 2.0)
        if kind.is_round:
            return Shape(a, a)
        b = max(a * float(self.full[4]), LEAST / 2.0)
        part = float(self.full[5])
        if kind.own is not None and kind.own.is_share:
            return Shape(a, b, max(part * b, min(LEAST, b) / 10.0))
        return Shape(a, b, None if kind.own is None else part)

    @property
    def oval(self) -> Oval:
        """The same about the origin, with all its sizes."""
        a, b, own = self.shape
        return oval_of(self.family, 2.0 * a, 2.0 * b, own)

    @property
    def pose(self) -> Pose:
        """Where it lies."""
        x, y, angle = self.full[:3].tolist()
        return Pose((x, y), 0.0 if self.family.kind.is_round else half_turned(angle))

    def local(self, points: FloatArray) -> FloatArray:
        """(n, 2) points moved so that the oval lies centred on its axes [mm]."""
        return turned(points - self.full[:2], -float(self.full[2]))

    def distances(self, points: FloatArray) -> tuple[FloatArray, FloatArray]:
        """(n,) normal distances of points, + outside [mm], and (n, 2) the normals, both as the oval lies centred."""
        return signed_distances(self.family.kind, self.shape, self.local(points))

    def rates(self, points: FloatArray) -> FloatArray:
        """(n, k) derivatives of the distances by the free parameters."""
        return self._rates(self.local(points), self.distances(points)[1])

    def _rates(self, local: FloatArray, normals: FloatArray) -> FloatArray:
        kind, (_, slim, part), shape = self.family.kind, self.full[3:].tolist(), self.shape
        columns = np.empty((6, len(local)))
        columns[:2] = -turned(normals, float(self.full[2])).T
        columns[2] = normals[:, 0] * local[:, 1] - normals[:, 1] * local[:, 0]
        by_a, by_b, by_own = kind.support_rates(shape, *np.abs(normals).T)
        if kind.own is not None and kind.own.is_share:
            by_b, by_own = by_b + part * by_own, shape.b * by_own
        columns[3] = -by_a if kind.is_round else -by_a - slim * by_b
        columns[4], columns[5] = -shape.a * by_b, -by_own
        rates: FloatArray = columns[self.free].T
        return rates

    def look(self, points: FloatArray, outside: float) -> tuple[FloatArray, Callable[[], FloatArray]]:
        """Residuals of points that lie ``outside`` of the oval, and their derivatives; see `Look`."""
        local = self.local(points)
        off, normals = signed_distances(self.family.kind, self.shape, local)
        return off - outside, lambda: self._rates(local, normals)

    def with_free(self, values: FloatArray) -> Placed:
        """The same family with other values of its free parameters."""
        full = self.full.copy()
        full[self.free] = values
        return Placed(self.family, full)

    def tidy(self) -> Placed:
        """The same with its angle in (-90°, 90°], 0 for a circle."""
        full = self.full.copy()
        full[2] = self.pose.angle
        return Placed(self.family, full)


def turned(points: FloatArray, angle: float) -> FloatArray:
    """(n, 2) points turned counter-clockwise about the origin by an angle [rad].

    >>> turned(np.array([[3.0, 4.0]]), np.pi / 2.0).round(9).tolist()
    [[-4.0, 3.0]]
    """
    c, s = cos(angle), sin(angle)
    return np.column_stack((c * points[:, 0] - s * points[:, 1], s * points[:, 0] + c * points[:, 1]))


def size_bounds(family: Family) -> tuple[list[float], list[float]]:
    """Least and greatest width / length, and size of the family's own; the latter from 0 to 1 where it has none.

    >>> size_bounds(Family.SUPERELLIPSE)
    ([0.01, 2.0], [1.0, 10.0])
    """
    own = family.kind.own
    return [LEAST_SLIM, 0.0 if own is None else own.low], [1.0, 1.0 if own is None else own.high]


def placed(
    start: Placed, points: FloatArray, outside: float = 0.0, *, weigh: Weigh | None = None, tries: int = 25
) -> Placed:
    """The oval moved to its lowest sum over the distances of points (n, 2), which lie ``outside`` of it [mm].

    It stays about as large as the points go, and near them.

    >>> points = np.array([[12.0, 1.0], [2.0, 11.0], [-8.0, 1.0], [2.0, -9.0]])  # about (2, 1), radius 10
    >>> placed(Placed(Family.CIRCLE, np.array([0, 0, 0, 9.0, 1, 0])), points).full[[0, 1, 3]].round(6).tolist()
    [2.0, 1.0, 10.0]
    """
    least, most = points.min(axis=0), points.max(axis=0)
    size, (low, high) = float((most - least).max()), size_bounds(start.family)
    found = descend(
        lambda p: start.with_free(p).look(points, outside),
        start.full[start.free],
        np.array([*(least - size), -np.inf, 0.1 * size, *low])[start.free],
        np.array([*(most + size), np.inf, 2.0 * size, *high])[start.free],
        weigh=weigh,
        tries=tries,
    )
    return start.with_free(found)


def fit_oval(points: FloatArray, weights: FloatArray, family: Family, start: Pose, offset: float = 0.0) -> Placed:
    """The oval of a family whose parallel at ``offset`` runs nearest to points, by least squares.

    Args:
        points: (n, 2) round a closed outline [mm].
        weights: (n,) what each counts, as the length of outline that it stands for.
        family: any but the measured one.
        start: roughly where the oval lies.
        offset: normal distance of the points outside the oval, below 0 inside [mm].

    Raises:
        ImpossibleOvalError: the points are those of no oval of a usual size.
        ValueError: the family is the measured one.

    >>> points = np.array([[12.0, 1.0], [2.0, 11.0], [-8.0, 1.0], [2.0, -9.0]])  # about (2, 1), radius 10
    >>> found = fit_oval(points, np.ones(4), Family.CIRCLE, Pose((0.0, 0.0), 0.0))
    >>> [round(size, 6) for size in (*found.pose.centre, found.oval.length)]
    [2.0, 1.0, 20.0]
    """
    a, b = (np.ptp(start.into(points), axis=0) / 2.0 - offset).tolist()
    check_oval(oval_of(Family.CIRCLE, 2.0 * a, 2.0 * a))
    own = family.kind.own
    size = (a + b) / 2.0 if family.kind.is_round else a
    full = np.array(
        [
            *start.centre,
            0.0 if family.kind.is_round else start.angle,
            size,
            min(b / a, 0.999),
            own.start if own else 0.0,
        ]
    )
    share = weights / weights.sum()
    found = placed(
        Placed(family, full), points, offset, weigh=lambda off: (float(share @ (off * off)), share), tries=_TRIES
    )
    check_oval(found.oval)
    return found.tidy()


def _even(off: FloatArray) -> tuple[float, FloatArray]:
    return float(off @ off), np.ones(len(off))


def descend(
    look: Look, start: FloatArray, low: FloatArray, high: FloatArray, *, weigh: Weigh | None = None, tries: int = _TRIES
) -> FloatArray:
    """Parameters (k,) within bounds where the sum over residuals is lowest, from a start (k,).

    Levenberg's and Marquardt's damped steps on reweighted squares, which never raise the sum. The normal equations of
    six unknowns are solved some thousand times for a scan, where a general solver would spend most of its time on
    itself.

    >>> def look(p):  # (p - 3, 2 q - 8): no more at (3, 4)
    ...     return p * [1.0, 2.0] - [3.0, 8.0], lambda: np.diag([1.0, 2.0])
    >>> descend(look, np.zeros(2), np.full(2, -9.0), np.full(2, 9.0)).round(6).tolist()
    [3.0, 4.0]
    """
    weigh = weigh or _even
    p = np.clip(start, low, high)
    off, rates_of = look(p)
    cost, weight = weigh(off)
    damping = 1e-3
    for _ in range(tries):
        rates = rates_of()
        weighted = rates * weight[:, None]
        square, slope = weighted.T @ rates, weighted.T @ off
        before = cost
        while damping < 1e6:
            nearer = np.clip(p + _step(square, slope, damping, (p <= low, p >= high)), low, high)
            there, rates_there = look(nearer)
            lower, lighter = weigh(there)
            if lower <= cost:
                p, off, rates_of, cost, weight = nearer, there, rates_there, lower, lighter
                damping = max(damping / 10.0, 1e-12)
                break
            damping *= 10.0
        if before - cost <= 1e-7 * before:
            break
    return p


def _step(square: FloatArray, slope: FloatArray, damping: float, at: tuple[BoolArray, BoolArray]) -> FloatArray:
    """A damped step that leaves parameters alone which it would push past the low or high bound they are at."""
    step = np.zeros(len(slope))
    diagonal = np.diag(square)
    damped = square + np.diag(damping * diagonal + 1e-12 * float(diagonal.max()) + 1e-300)
    moved = np.ones(len(slope), dtype=np.bool_)
    for _ in slope:
        step[:] = 0.0
        step[moved] = np.linalg.solve(damped[np.ix_(moved, moved)], -slope[moved])
        stuck = moved & ((at[0] & (step < 0.0)) | (at[1] & (step > 0.0)))
        if not stuck.any():
            break
        moved &= ~stuck
    return step
