"""The four corners of a rectangle in a picture, found by its edge: a line through each side, and where they meet."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from core.measure.scan.picture.perspective import ordered_corners
from core.measure.scan.results import ScanError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from core.geometry.lines.outline import FloatArray, Point
    from core.measure.scan.results import Edge

# Of a side this part at either end is left out: corners are bent, torn or rounded.
_END: Final = 0.1
# A side may stray from its line by so much, root mean square: in pixels, and as a part of its length.
_STRAY_PX: Final = 1.0
_STRAY: Final = 0.001
# Corners that were picked lie this near to those of their edge, as a part of its size.
_NEAR: Final = 0.02
_LEAST_SIDE: Final = 30.0  # [pixel]


def corners_of(edge: Edge) -> tuple[Point, ...]:
    """The corners of the straight-sided edge with four of them, as `ordered_corners` orders them [pixel].

    Raises:
        ScanError: the edge is not that of a rectangle seen aslant.
    """
    p = edge.points
    at = _rough(p)
    lines = [_line(_side(p, at[k], at[(k + 1) % 4])) for k in range(4)]
    # Corner k is where the side before it meets the side after it.
    found = np.array([_meet(lines[k - 1], lines[k]) for k in range(4)])
    return tuple((float(x), float(y)) for x, y in ordered_corners([(float(x), float(y)) for x, y in found]))


def found_corners(edges: Sequence[Edge]) -> tuple[int, tuple[Point, ...]]:
    """Number, from 0, of the largest edge that is a rectangle's, and its corners [pixel].

    Raises:
        ScanError: none is.
    """
    for i, edge in enumerate(edges):
        try:
            return i, corners_of(edge)
        except ScanError:
            continue
    raise ScanError(
        "corners",
        "no edge that was found has four straight sides",
        hint="Give the corners' places in pixels, or photograph the rectangle on a ground that stands off it.",
    )


def edge_with_corners(edges: Sequence[Edge], corners: Sequence[Point]) -> int | None:
    """Number, from 0, of the edge that goes through four places; None where none was found there."""
    wanted = ordered_corners(corners)
    near = _NEAR * float(np.ptp(wanted, axis=0).max())
    for i, edge in enumerate(edges):
        try:
            found = np.array(corners_of(edge))
        except ScanError:
            continue
        if float(np.abs(found - wanted).max()) < near:
            return i
    return None


def _not_one() -> ScanError:
    return ScanError("corners", "the edge has no four straight sides", hint="Choose another edge, or give the corners.")


def _rough(p: FloatArray) -> list[int]:
    """Indices of the four corners, in order round the edge."""
    a = int(np.hypot(*(p - p.mean(axis=0)).T).argmax())
    c = int(np.hypot(*(p - p[a]).T).argmax())
    way = p[c] - p[a]
    off = (p - p[a]) @ np.array([-way[1], way[0]])
    found = sorted({a, c, int(off.argmax()), int(off.argmin())})
    if len(found) < 4:
        raise _not_one()
    return found


def _side(p: FloatArray, start: int, stop: int) -> FloatArray:
    """The points between two corners, without those near them."""
    count = (stop - start) % len(p)
    skip = int(np.ceil(_END * count))
    if count - 2 * skip < _LEAST_SIDE / 2.0:
        raise _not_one()
    return p[(start + np.arange(skip, count - skip)) % len(p)]


def _line(side: FloatArray) -> tuple[FloatArray, FloatArray]:
    """A place on the line nearest to the points of a side, by their normal distances, and its direction."""
    middle = side.mean(axis=0)
    _, sizes, axes = np.linalg.svd(side - middle, full_matrices=False)
    length = float(np.hypot(*np.ptp(side, axis=0)))
    if length < _LEAST_SIDE or float(sizes[1]) / np.sqrt(len(side)) > max(_STRAY_PX, _STRAY * length):
        raise _not_one()
    return middle, axes[0]


def _meet(one: tuple[FloatArray, FloatArray], other: tuple[FloatArray, FloatArray]) -> FloatArray:
    rows = np.column_stack((one[1], -other[1]))
    if abs(float(np.linalg.det(rows))) < 1e-3:
        raise _not_one()
    return np.asarray(one[0] + float(np.linalg.solve(rows, other[0] - one[0])[0]) * one[1])
