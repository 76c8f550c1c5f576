"""A closed outline as a parameter again: an oval of the simplest family that it keeps to, or the measured outline.

The simplest family within the tolerance wins, not the one with the smallest residual: a rounded rectangle can always
follow an obround a little more closely than the obround itself, and says less.
"""

from __future__ import annotations

from itertools import groupby
from math import hypot, pi, radians
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct

from core.geometry.lines.outline import Outline, as_circle
from core.geometry.ovals.arcfit import fit_closed
from core.geometry.ovals.fit import Placed, fit_oval
from core.geometry.ovals.ovals import SIZED_FAMILIES, Family, Oval, measured_oval
from core.geometry.ovals.pose import Pose, half_turned, hull, principal_pose
from core.geometry.parallels.parallel import parallel
from core.measure.drawing.results import Recovered
from core.words.errors import ImpossibleOvalError

if TYPE_CHECKING:
    from collections.abc import Collection

    from core.geometry.lines.outline import FloatArray, Point

TOLERANCE: Final = 0.05
"""How far an old drawing's oval may be off its family [mm]: drawn by hand, traced, or rounded in the file."""

# The families by how many sizes they have: of those with a size of their own, the likelier on a bench comes first.
_SIMPLEST_FIRST: Final = tuple(
    tuple(tier) for _, tier in groupby(SIZED_FAMILIES, lambda family: (family.kind.is_round, family.kind.own))
)

# A fit this close [mm] is how the outline was drawn, ellipses written as arcs included: no other family is asked.
_EXACT = 1e-3
_FITTED, _JUDGED = 240, 1440
# A polygon that turns by no more than this at any corner stands for a curve: 16 chords a full turn, and a little.
_MOST_TURN = radians(25.0)
_FEWEST_CHORDS = 16
# A chord so much longer than the usual one is a straight side, not a part of a curve.
_STRAIGHT = 4.0
_ROUNDS = 12
_LITTLE = 0.02
# No lug stands out by less than so many tolerances; a square corner of a block does.
_STANDS_OUT = 20.0


class Samples(Struct, frozen=True, eq=False):
    """Places on an outline that an oval is laid through.

    Attributes:
        points: (n, 2) [mm].
        weights: (n,) the length of outline that each stands for [mm].
        are_corners: the outline is a polygon that stands for a curve, and only its corners lie on that.
    """

    points: FloatArray
    weights: FloatArray
    are_corners: bool


class Fit(Struct, frozen=True, eq=False):
    """An oval where it lies, and the distances (n,) [mm] of points from its parallel, + outside."""

    oval: Oval
    pose: Pose
    off: FloatArray

    @classmethod
    def of(cls, points: FloatArray, placed: Placed, offset: float = 0.0) -> Fit:
        """What was fitted, judged by points (n, 2)."""
        return cls(placed.oval, placed.pose, placed.distances(points)[0] - offset)

    @property
    def worst(self) -> float:
        """Greatest distance [mm]."""
        return float(np.abs(self.off).max())


def is_chords(outline: Outline) -> bool:
    """Whether the outline is a polygon that stands for a curve: many straight lines, none turning far from the last."""
    if len(outline) < _FEWEST_CHORDS or (outline.vertices[:, 2] != 0.0).any():
        return False
    leaving, arriving = outline.segments.directions
    turn = np.abs(np.angle(leaving * np.roll(arriving, 1).conj()))
    return bool(turn.max() <= _MOST_TURN)


def samples(outline: Outline, count: int) -> Samples:
    """``count`` evenly spaced places on an outline; of a polygon that stands for a curve, its corners and long sides.

    Args:
        outline: closed.
        count: of places, > 0.
    """
    if not is_chords(outline):
        stations = outline.length * (np.arange(count) + 0.5) / count
        return Samples(outline.points_at(stations), np.full(count, outline.length / count), are_corners=False)
    s = outline.segments
    sides = np.flatnonzero(s.length > _STRAIGHT * np.median(s.length))
    step = outline.length / count
    extra = [np.linspace(0.0, s.length[k], max(int(s.length[k] / step), 2) + 1)[1:-1] for k in sides]
    index = np.concatenate([np.arange(len(s)), *(np.full(len(e), k) for k, e in zip(sides, extra, strict=True))])
    along = np.concatenate([np.zeros(len(s)), *extra])
    order = np.lexsort((along, index))
    points = s.points(index[order], along[order])
    gap = np.hypot(*(np.roll(points, -1, axis=0) - points).T)
    return Samples(points, (gap + np.roll(gap, 1)) / 2.0, are_corners=True)


def recover(
    outline: Outline,
    tolerance: float = TOLERANCE,
    families: Collection[Family] = tuple(Family),
    *,
    offset: float = 0.0,
) -> Recovered:
    """What an outline is: the oval of the simplest family within the tolerance, else the measured outline itself.

    Lines and arcs are taken as they are. Of a polygon that stands for a curve (at least 16 sides, no turn over 25°)
    only the corners count, since its chords lie inside the curve that was meant.

    Args:
        outline: closed; anywhere, at any angle.
        tolerance: greatest normal distance of the outline from an oval that stands for it [mm], > 0.
        families: that may be taken; without the measured one, the nearest of them is taken, however far off it is.
        offset: the outline runs at this normal distance outside the oval that is wanted, below 0 inside [mm]. So the
            oval of an insert is found from its seat: the parallel of an ellipse is no ellipse.

    Raises:
        ImpossibleOvalError: the outline is too small or too large, or no family is left that could stand for it.
        ValueError: the tolerance is not positive.
    """
    if not tolerance > 0:
        raise ValueError(f"tolerance must be positive, not {tolerance}")
    sparse, dense = samples(outline, _FITTED), samples(outline, _JUDGED)
    if not dense.are_corners:
        # However short an arc is, its radius is a size of the oval; and at a corner an outline is furthest from one.
        s = outline.segments
        extra = np.concatenate((s.start, s.points(np.arange(len(s)), s.length / 2.0)))
        sparse, dense = _with_more(sparse, extra), _with_more(dense, extra)
    return _recovered(sparse, dense, tolerance, families, offset, outline)


def _with_more(found: Samples, points: FloatArray) -> Samples:
    """The places and some more, which count little."""
    weights = np.concatenate((found.weights, np.full(len(points), _LITTLE * found.weights.mean())))
    return Samples(np.concatenate((found.points, points)), weights, are_corners=found.are_corners)


def _may_be_measured(families: Collection[Family]) -> bool:
    return any(not family.kind.is_sized for family in families)


def recover_points(points: FloatArray, tolerance: float, *, offset: float = 0.0) -> Recovered:
    """What points (n, 2) round an oval are, parts of which may be missing; the hull stands for the measured outline.

    Raises:
        ImpossibleOvalError: the points are those of no oval of a usual size.
    """
    found = Samples(points, np.ones(len(points)), are_corners=False)
    corners = hull(points)
    whole = Outline(np.column_stack((corners, np.zeros(len(corners)))))
    return _recovered(found, found, tolerance, tuple(Family), offset, whole)


def _recovered(
    sparse: Samples, dense: Samples, tolerance: float, families: Collection[Family], offset: float, outline: Outline
) -> Recovered:
    start = principal_pose(dense.points, dense.weights)
    tried: list[Fit] = []
    chosen: Fit | None = None
    for tier in _SIMPLEST_FIRST:
        fits = [_judged(family, sparse, dense, start, offset) for family in tier if family in families]
        tried += fits
        best = min(fits, key=lambda fit: fit.worst, default=None)
        if best is None:
            continue
        if chosen is None and best.worst <= tolerance:
            chosen = best
        if best.worst <= _EXACT:
            break
    tried.sort(key=lambda fit: fit.worst)
    if chosen is None and not _may_be_measured(families) and tried:
        chosen = tried[0]
    listed = tuple((fit.oval, fit.worst) for fit in tried)
    if chosen is None:
        if not _may_be_measured(families):
            raise ImpossibleOvalError("outline", "no kind of oval is left to stand for it", "allow at least one")
        return _measured(outline, dense, tolerance, _long_axis(tried, start), offset, listed)
    off = chosen.off
    rms = float(np.sqrt((off * off * dense.weights).sum() / dense.weights.sum()))
    return Recovered(chosen.oval, chosen.pose.centre, chosen.pose.angle, chosen.worst, rms, listed, dense.are_corners)


def recover_most(outline: Outline, tolerance: float, *, offset: float = 0.0) -> Recovered:
    """As ``recover``, of an outline that keeps to an oval but for what stands out from it, such as lugs.

    Where the whole is no oval, each family is fitted again and again to what lies near it, until that no longer
    changes. A family with over half of the outline within the tolerance stands for it, if the rest stands well out
    from it; else the outline is measured.

    Raises:
        ImpossibleOvalError: the outline is too small or too large.
    """
    whole = recover(outline, tolerance, offset=offset)
    if whole.oval.family.kind.is_sized:
        return whole
    found = samples(outline, _FITTED)
    start = principal_pose(found.points, found.weights)
    for tier in _SIMPLEST_FIRST:
        steady = [family for family in tier if not family.kind.bends]
        fits = [fit for family in steady if (fit := _trimmed(found, family, start, tolerance, offset)) is not None]
        if fits:
            fit = min(fits, key=lambda own: own.worst)
            rms = float(np.sqrt((fit.off * fit.off).mean()))
            return Recovered(fit.oval, fit.pose.centre, fit.pose.angle, fit.worst, rms, whole.tried, found.are_corners)
    return whole


def _trimmed(found: Samples, family: Family, start: Pose, tolerance: float, offset: float) -> Fit | None:
    """The family's fit to what of the outline keeps to it; None when that is not over half of it."""
    kept = np.ones(len(found.points), dtype=np.bool_)
    good, pose, off = kept, start, np.zeros(len(kept))
    for _ in range(_ROUNDS):
        near = fit_oval(found.points[kept], found.weights[kept], family, pose, offset)
        pose, off = near.pose, near.distances(found.points)[0] - offset
        size = np.abs(off)
        good, close = size <= tolerance, size <= max(tolerance, 1.5 * float(np.median(size)))
        if (close == kept).all():
            break
        kept = close
    if found.weights[good].sum() <= 0.5 * found.weights.sum() or off.max() < _STANDS_OUT * tolerance:
        return None
    fit = Fit.of(found.points[good], fit_oval(found.points[good], found.weights[good], family, pose, offset), offset)
    return fit if fit.worst <= tolerance else None


def _judged(family: Family, sparse: Samples, dense: Samples, start: Pose, offset: float) -> Fit:
    """A family's fit to a few places, judged by many."""
    return Fit.of(dense.points, fit_oval(sparse.points, sparse.weights, family, start, offset), offset)


def _long_axis(tried: list[Fit], start: Pose) -> float:
    """The angle of the nearest family where it is near at all: symmetry tells an axis better than moments do."""
    near = [fit for fit in tried if not fit.oval.family.kind.is_round and fit.worst < 0.05 * fit.oval.width]
    return near[0].pose.angle if near else start.angle


def _measured(
    outline: Outline,
    dense: Samples,
    tolerance: float,
    angle: float,
    offset: float,
    tried: tuple[tuple[Oval, float], ...],
) -> Recovered:
    """The outline itself, turned upright; as arcs where it was a polygon of points."""
    taken = outline.oriented(ccw=True)
    if dense.are_corners:
        taken = _as_arcs(outline.vertices[:, :2], tolerance)
    off = taken.segments.nearest(dense.points)[0]
    moved = parallel(taken, -offset, where="outline", trimmed=True) if offset else taken
    upright = moved.turned(-angle)
    x0, y0, x1, y1 = upright.bounds
    if y1 - y0 > x1 - x0:
        angle = half_turned(angle + pi / 2.0)
        upright = moved.turned(-angle)
        x0, y0, x1, y1 = upright.bounds
    middle = Outline([[(x0 + x1) / 2.0, (y0 + y1) / 2.0, 0.0], [0.0, 0.0, 0.0]]).turned(angle).vertices[0]
    centre: Point = (float(middle[0]), float(middle[1]))
    rms = float(np.sqrt((off * off).mean()))
    return Recovered(measured_oval(upright), centre, angle, float(off.max()), rms, tried, dense.are_corners)


def _as_arcs(points: FloatArray, tolerance: float) -> Outline:
    """Tangent arcs through the corners of a polygon, as close as a fifth of the tolerance unless noise forbids it."""
    close = min(tolerance / 5.0, 0.01)
    outline = fit_closed(points, close)
    # Twice as many points as arcs: fewer, and it is the noise that is followed.
    while 2 * len(outline) > len(points) and close < tolerance:
        close = min(2.0 * close, tolerance)
        outline = fit_closed(points, close)
    return outline


def circle_of(outline: Outline, tolerance: float) -> tuple[Point, float] | None:
    """Centre and diameter [mm] of an outline that is a circle within the tolerance, drawn as arcs or as chords."""
    exact = as_circle(outline)
    if exact is not None:
        return exact[0], 2.0 * exact[1]
    x0, y0, x1, y1 = outline.bounds
    # No circle is much longer than wide: that is found out without a fit.
    if abs((x1 - x0) - (y1 - y0)) > 2.0 * tolerance + 0.05 * (x1 - x0):
        return None
    s = samples(outline, _FITTED)
    if len(s.points) < 6:
        return None
    try:
        middle = Pose(((x0 + x1) / 2.0, (y0 + y1) / 2.0), 0.0)
        fit = Fit.of(s.points, fit_oval(s.points, s.weights, Family.CIRCLE, middle))
    except ImpossibleOvalError:
        return None
    return (fit.pose.centre, fit.oval.length) if fit.worst <= tolerance else None


def distance_of(a: Point, b: Point) -> float:
    """Distance of two places [mm]."""
    return hypot(a[0] - b[0], a[1] - b[1])
