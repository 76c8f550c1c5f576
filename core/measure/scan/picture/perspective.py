"""A photograph taken aslant, put right by the four corners of a rectangle of known size that lies in the same plane.

Only points are put right, never the picture: an edge keeps the sharpness it was measured with. The lens's own
distortion, and whatever stands above the rectangle's plane, is not put right.
"""

from __future__ import annotations

from math import sqrt
from typing import TYPE_CHECKING

import numpy as np

from core.measure.scan.results import ScanError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from core.geometry.lines.outline import FloatArray, Point

# Corners picked by hand: half a pixel each way, evenly spread, at both ends of a side.
_PICK = 0.5 / sqrt(3.0) * sqrt(2.0)
# Sine of the least angle at a corner; below it the rectangle was seen nearly edge on.
_LEAST_SINE = 0.05


def ordered_corners(corners: Sequence[Point]) -> FloatArray:
    """(4, 2) the corners lower left, lower right, upper right, upper left, as seen in the picture [pixel, y down].

    Args:
        corners: four, in any order.

    Raises:
        ScanError: they are not the corners of a rectangle seen aslant: one lies between the others, or in line.
    """
    c = np.asarray(corners, dtype=np.float64)
    if c.shape != (4, 2) or not np.isfinite(c).all():
        raise ValueError(f"four corners are needed, not {c.shape}")
    ray = c - c.mean(axis=0)
    c = c[np.argsort(np.arctan2(-ray[:, 1], ray[:, 0]))]  # counter-clockwise as seen
    c = np.roll(c, -int(np.argmax(c[:, 1] - c[:, 0])), axis=0)
    side = np.roll(c, -1, axis=0) - c
    size = np.hypot(side[:, 0], side[:, 1])
    after = np.roll(side, -1, axis=0)
    turn = side[:, 1] * after[:, 0] - side[:, 0] * after[:, 1]
    if (turn <= _LEAST_SINE * size * np.roll(size, -1)).any():
        raise ScanError(
            "corners",
            "they don't make a rectangle seen aslant: one lies between the others, or nearly in line with two",
            hint="Pick the four corners again, each once; photograph from more nearly above.",
        )
    return c


def rectified(points: FloatArray, corners: Sequence[Point], width: float, height: float) -> FloatArray:
    """(n, 2) points of the rectangle's plane [mm], x right and y up from its lower left corner.

    Args:
        points: (n, 2) in the picture [pixel, y down].
        corners: the rectangle's four corners in the picture [pixel], in any order.
        width: of the rectangle, along its lower side as seen [mm].
        height: of the rectangle, along its left side as seen [mm].

    Raises:
        ScanError: the corners are impossible, or points lie beyond the plane's horizon.
        ValueError: a size is not positive.

    Source: eight linear equations in the homography's eight unknowns (direct linear transformation; Hartley and
    Zisserman, "Multiple View Geometry", 4.1, from memory).
    """
    if not (width > 0.0 and height > 0.0):
        raise ValueError(f"the rectangle's sides must be positive, not {width} and {height}")
    seen = ordered_corners(corners)
    # Numbers near 1 keep the equations well-conditioned.
    centre, scale = seen.mean(axis=0), float(np.ptp(seen, axis=0).max())
    (u, v), x, y = ((seen - centre) / scale).T, np.array([0.0, 1.0, 1.0, 0.0]), np.array([0.0, 0.0, 1.0, 1.0])
    zero, one = np.zeros(4), np.ones(4)
    rows = np.concatenate(
        (
            np.column_stack((u, v, one, zero, zero, zero, -x * u, -x * v)),
            np.column_stack((zero, zero, zero, u, v, one, -y * u, -y * v)),
        )
    )
    h = np.append(np.linalg.solve(rows, np.concatenate((x, y))), 1.0).reshape(3, 3)
    p = np.column_stack(((np.asarray(points) - centre) / scale, np.ones(len(points)))) @ h.T
    if (p[:, 2] <= 1e-3).any():
        raise ScanError(
            "corners",
            "the edge reaches beyond the horizon of the rectangle's plane",
            hint="Pick the corners again, or photograph from more nearly above.",
        )
    return np.array((p[:, :2] / p[:, 2:]) * np.array([width, height]))


def relative_uncertainty(corners: Sequence[Point]) -> float:
    """Standard uncertainty of lengths [1] from picking the corners within half a pixel.

    Raises:
        ScanError: the corners are impossible.
    """
    seen = ordered_corners(corners)
    side = np.roll(seen, -1, axis=0) - seen
    return _PICK / float(np.hypot(side[:, 0], side[:, 1]).min())
