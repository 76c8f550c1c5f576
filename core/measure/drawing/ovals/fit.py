"""An oval of one family laid through points by least squares of the normal distances (Gauss-Newton, bounded).

The derivative of a point's distance from a curve by the curve's place is minus the outward normal at the foot, and by
its angle minus the moment of that normal about the centre (the foot moves along the curve, which changes nothing to
first order); the derivatives by the sizes are differences.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import atan2, cos, hypot, pi, sin
from typing import TYPE_CHECKING

import numpy as np

from core.geometry.lines.outline import circle_outline
from core.geometry.ovals.distances import oval_distances
from core.geometry.ovals.ovals import (
    GREATEST_EXPONENT,
    LEAST,
    LEAST_EXPONENT,
    LONGEST,
    USUAL_EXPONENT,
    Family,
    Oval,
    check_oval,
)

if TYPE_CHECKING:
    from core.geometry.lines.outline import FloatArray, Outline, Point

# Ends and corners, as parts of half the width: below, a shape is a rectangle or a lens, above, an obround.
_LEAST_ROUND, _MOST_ROUND = 0.005, 0.9995
_START_ROUND = {Family.FOUR_ARC: 0.6, Family.ROUNDED_RECTANGLE: 0.7}
# Step of the differences by a size [mm], or by a plain number.
_STEP_MM, _STEP = 1e-3, 1e-4
# Dense points on a curve without arcs: 0.2 mm apart on a housing; the bend between them is taken into account.
# As long as wide, to a hundredth: the moments no longer tell the long axis.
_ROUNDISH = 1.02


@dataclass(frozen=True, slots=True)
class Pose:
    """Where an oval lies: its centre [mm] and its long axis from X [rad]."""

    centre: Point
    angle: float

    def into(self, points: FloatArray) -> FloatArray:
        """The points (n, 2) as seen from the oval's own axes."""
        c, s = cos(self.angle), sin(self.angle)
        x, y = points[:, 0] - self.centre[0], points[:, 1] - self.centre[1]
        return np.column_stack((c * x + s * y, c * y - s * x))

    def place(self, at: Point) -> Point:
        """A point of the drawing as seen from the oval's own axes."""
        x, y = self.into(np.array([at]))[0]
        return float(x), float(y)

    def outline(self, outline: Outline) -> Outline:
        """An outline of the drawing as seen from the oval's own axes."""
        if outline.vertices.shape[0] == 2 and (outline.vertices[:, 2] == 1.0).all():
            centre = self.place(tuple(outline.vertices[:, :2].mean(axis=0).tolist()))
            return circle_outline(centre, hypot(*(outline.vertices[0, :2] - outline.vertices[1, :2])) / 2.0)
        return outline.moved(-self.centre[0], -self.centre[1]).turned(-self.angle)


@dataclass(frozen=True, eq=False)
class Fit:
    """An oval where it lies, and the distances (n,) [mm] of the points from its parallel, + outside."""

    oval: Oval
    pose: Pose
    off: FloatArray

    @property
    def worst(self) -> float:
        """Greatest distance [mm]."""
        return float(np.abs(self.off).max())


def principal_pose(points: FloatArray, weights: FloatArray) -> Pose:
    """Middle of the extent of points (n, 2) along their principal axes, the longer of which is the oval's.

    Args:
        points: round a closed outline [mm].
        weights: (n,) the length of outline that each stands for.
    """
    mean = (points * weights[:, None]).sum(axis=0) / weights.sum()
    rel = points - mean
    xx, yy, xy = ((rel[:, i] * rel[:, j] * weights).sum() for i, j in ((0, 0), (1, 1), (0, 1)))
    angle = atan2(2.0 * xy, xx - yy) / 2.0
    if max(xx, yy) < _ROUNDISH * min(xx, yy) and abs(xy) < 0.01 * xx:
        angle = least_rectangle(points).angle
    return _upright(points, Pose((float(mean[0]), float(mean[1])), angle))


def _upright(points: FloatArray, pose: Pose) -> Pose:
    """The pose moved to the middle of the extent, and turned a quarter where that is the longer way."""
    own = pose.into(points)
    low, high = own.min(axis=0), own.max(axis=0)
    (mx, my), (length, width) = (low + high) / 2.0, high - low
    c, s = cos(pose.angle), sin(pose.angle)
    centre = (pose.centre[0] + c * float(mx) - s * float(my), pose.centre[1] + s * float(mx) + c * float(my))
    return Pose(centre, half_turned(pose.angle + (pi / 2.0 if width > length else 0.0)))


def half_turned(angle: float) -> float:
    """The same axis by an angle over -90° and up to 90° [rad]; what rounding leaves of either is taken off."""
    turned = angle % pi
    if pi - turned < 1e-12:
        turned = 0.0
    return turned - pi if turned > pi / 2.0 + 1e-12 else turned


def hull(points: FloatArray) -> FloatArray:
    """(m, 2) corners of the convex hull of points (n, 2), counter-clockwise."""
    from scipy.spatial import ConvexHull  # costs the window's start

    corners: FloatArray = points[ConvexHull(points).vertices]
    return corners


def least_rectangle(points: FloatArray) -> Pose:
    """Centre and long axis of the rectangle of least area round points (n, 2); one side lies along the hull's."""
    corners = hull(points)
    step = np.roll(corners, -1, axis=0) - corners
    angles = np.arctan2(step[:, 1], step[:, 0])
    along = np.outer(np.cos(angles), corners[:, 0]) + np.outer(np.sin(angles), corners[:, 1])
    across = np.outer(np.cos(angles), corners[:, 1]) - np.outer(np.sin(angles), corners[:, 0])
    best = int(np.argmin(np.ptp(along, axis=1) * np.ptp(across, axis=1)))
    middle = corners.mean(axis=0)
    return _upright(corners, Pose((float(middle[0]), float(middle[1])), float(angles[best])))


class _Sizes:
    """A family's sizes as a free vector: half length, its excess over half the width, and what shapes the ends."""

    def __init__(self, family: Family) -> None:
        self.family = family

    def start(self, a: float, b: float) -> list[float]:
        mean = (a + b) / 2.0
        first = [mean] if self.family is Family.CIRCLE else [a, max(a - b, 1e-3 * a)]
        if self.family is Family.SUPERELLIPSE:
            return [*first, USUAL_EXPONENT]
        return [*first, _START_ROUND[self.family]] if self.family in _START_ROUND else first

    def bounds(self) -> tuple[list[float], list[float]]:
        low, high = [LEAST / 2.0], [LONGEST / 2.0]
        if self.family is not Family.CIRCLE:
            low, high = [*low, 0.0], [*high, LONGEST / 2.0]
        if self.family is Family.SUPERELLIPSE:
            return [*low, LEAST_EXPONENT], [*high, GREATEST_EXPONENT]
        if self.family in _START_ROUND:
            return [*low, _LEAST_ROUND], [*high, _MOST_ROUND]
        return low, high

    def steps(self, count: int) -> list[float]:
        return [_STEP_MM, _STEP_MM, _STEP][:count]

    def oval(self, sizes: FloatArray) -> Oval:
        a = float(sizes[0])
        b = a if self.family is Family.CIRCLE else max(a - max(float(sizes[1]), 0.0), LEAST / 2.0)
        oval = Oval(self.family, 2.0 * max(a, b), 2.0 * b)
        if self.family is Family.SUPERELLIPSE:
            return replace(oval, exponent=min(max(float(sizes[2]), LEAST_EXPONENT), GREATEST_EXPONENT))
        if self.family in _START_ROUND:
            return replace(oval, end_radius=min(float(sizes[2]), _MOST_ROUND) * b)
        return oval


def fit_oval(points: FloatArray, weights: FloatArray, family: Family, start: Pose, offset: float = 0.0) -> Fit:
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
    """
    from scipy.optimize import least_squares  # costs the window's start

    if family is Family.MEASURED:
        raise ValueError("a measured outline has no sizes to fit")
    sizes = _Sizes(family)
    own = start.into(points)
    a, b = (np.ptp(own, axis=0) / 2.0 - offset).tolist()
    first = [*start.centre, start.angle, *sizes.start(a, b)]
    fixed = 2 if family is Family.CIRCLE else 3
    if family is Family.CIRCLE:
        del first[2]
    low, high = sizes.bounds()
    check_oval(Oval(Family.CIRCLE, 2.0 * a, 2.0 * a))
    root = np.sqrt(weights / weights.sum())

    def parts(x: FloatArray) -> tuple[Pose, FloatArray]:
        return Pose((float(x[0]), float(x[1])), float(x[2]) if fixed == 3 else 0.0), x[fixed:]

    def residuals(x: FloatArray) -> FloatArray:
        pose, free = parts(x)
        found: FloatArray = (oval_distances(sizes.oval(free), pose.into(points))[0] - offset) * root
        return found

    def slopes(x: FloatArray) -> FloatArray:
        pose, free = parts(x)
        local = pose.into(points)
        signed, normal = oval_distances(sizes.oval(free), local)
        c, s = cos(pose.angle), sin(pose.angle)
        columns = [-(c * normal[:, 0] - s * normal[:, 1]), -(s * normal[:, 0] + c * normal[:, 1])]
        if fixed == 3:
            columns.append(local[:, 1] * normal[:, 0] - local[:, 0] * normal[:, 1])
        for k, step in enumerate(sizes.steps(len(free))):
            # Inward from a bound, so that the step is never cut short.
            way = -step if free[k] + step > high[k] else step
            moved = free.copy()
            moved[k] += way
            columns.append((oval_distances(sizes.oval(moved), local)[0] - signed) / way)
        table: FloatArray = np.column_stack(columns) * root[:, None]
        return table

    inside = [min(max(v, lo + 1e-9), hi - 1e-9) for v, lo, hi in zip(first[fixed:], low, high, strict=True)]
    scale = [1.0, 1.0, 1.0 / max(a, 1.0)][:fixed] + [1.0, 1.0, 0.1][: len(low)]
    found = least_squares(
        residuals,
        [*first[:fixed], *inside],
        jac=slopes,
        bounds=([-np.inf] * fixed + low, [np.inf] * fixed + high),
        x_scale=scale,
        xtol=1e-11,
        ftol=1e-11,
        gtol=1e-14,
        max_nfev=60,
    )
    pose, free = parts(found.x)
    oval = sizes.oval(free)
    off = oval_distances(oval, pose.into(points))[0] - offset
    return Fit(oval, Pose(pose.centre, half_turned(pose.angle)), off)
