"""Where an oval lies, and roughly where points round one say that it does."""

from __future__ import annotations

from math import atan2, cos, hypot, pi, sin
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from core.geometry.lines.outline import circle_outline

if TYPE_CHECKING:
    from core.geometry.lines.outline import FloatArray, Outline, Point

# As long as wide, to a hundredth: the moments no longer tell the long axis.
_ROUNDISH = 1.02


class Pose(Struct, frozen=True):
    """Where an oval lies: its centre [mm] and its long axis from X [rad].

    >>> Pose((1.0, 2.0), pi / 2.0).into(np.array([[1.0, 5.0]])).round(9).tolist()
    [[3.0, 0.0]]
    """

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


def principal_pose(points: FloatArray, weights: FloatArray) -> Pose:
    """Middle of the extent of points (n, 2) along their principal axes, the longer of which is the oval's.

    Args:
        points: round a closed outline [mm].
        weights: (n,) the length of outline that each stands for.

    >>> pose = principal_pose(np.array([[0.0, 0.0], [2.0, 0.0], [2.0, 6.0], [0.0, 6.0]]), np.ones(4))
    >>> [round(number, 9) for number in (*pose.centre, pose.angle / pi)]  # upright
    [1.0, 3.0, 0.5]
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
    """The same axis by an angle over -90° and up to 90° [rad]; what rounding leaves of either is taken off.

    >>> half_turned(pi / 4.0 + pi) / pi
    0.25
    """
    turned = angle % pi
    if pi - turned < 1e-12:
        turned = 0.0
    return turned - pi if turned > pi / 2.0 + 1e-12 else turned


def hull(points: FloatArray) -> FloatArray:
    """(m, 2) corners of the convex hull of points (n, 2), counter-clockwise.

    >>> len(hull(np.array([[0.0, 0.0], [3.0, 0.0], [3.0, 4.0], [0.0, 4.0], [1.0, 1.0]])))
    4
    """
    from scipy.spatial import ConvexHull  # costs the window's start

    corners: FloatArray = points[ConvexHull(points).vertices]
    return corners


def least_rectangle(points: FloatArray) -> Pose:
    """Centre and long axis of the rectangle of least area round points (n, 2); one side lies along the hull's.

    >>> pose = least_rectangle(np.array([[0.0, 0.0], [2.0, 0.0], [2.0, 6.0], [0.0, 6.0], [1.0, 1.0]]))
    >>> [round(number, 9) for number in (*pose.centre, pose.angle / pi)]  # upright
    [1.0, 3.0, 0.5]
    """
    corners = hull(points)
    step = np.roll(corners, -1, axis=0) - corners
    angles = np.arctan2(step[:, 1], step[:, 0])
    along = np.outer(np.cos(angles), corners[:, 0]) + np.outer(np.sin(angles), corners[:, 1])
    across = np.outer(np.cos(angles), corners[:, 1]) - np.outer(np.sin(angles), corners[:, 0])
    best = int(np.argmin(np.ptp(along, axis=1) * np.ptp(across, axis=1)))
    middle = corners.mean(axis=0)
    return _upright(corners, Pose((float(middle[0]), float(middle[1])), float(angles[best])))
