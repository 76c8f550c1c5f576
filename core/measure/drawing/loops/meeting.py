"""Where two lines or arcs that end near each other meet, when they are lengthened or cut along their own way.

Words: a *support* is the endless line, or the whole circle, that a segment is a part of.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct

if TYPE_CHECKING:
    from core.geometry.lines.outline import BoolArray, FloatArray, IntArray
    from core.geometry.lines.segments import Segments

EXACT_MM: Final = 1e-4
"""A place this close to both supports lies on both: a file with six decimals of an inch, a few of them added up, is no
finer."""

_STEPS: Final = 8  # of Newton's method; it doubles the digits at each
_FLAT: Final = 1e-3  # supports that cross at less than this (sine of the angle) do not cross in any certain place
_SIDE_BY_SIDE: Final = 0.05  # those that cross at less than this run side by side


class Met(Struct, frozen=True, eq=False):
    """Places where pairs of ends are brought together.

    Attributes:
        at: (m, 2) [mm].
        off: (m,) how far each lies from the farther of its two supports [mm]: 0 where both were only lengthened or cut.
    """

    at: FloatArray
    off: FloatArray


def met(s: Segments, one: IntArray, other: IntArray, ends: tuple[FloatArray, FloatArray], reach: float) -> Met:
    """Where ends of two segments each meet.

    A place on both supports is taken if it is no farther than ``reach`` from the ends, and no segment loses half of its
    length: of several, the one nearest to the middle of the gap. Where there is none, as between lines side by side,
    the place half way between the supports is.

    Args:
        s: the segments.
        one: (m,) those that end there.
        other: (m,) the others.
        ends: (m, 2) where each of them does [mm].
        reach: that an end may travel [mm].
    """
    middle = (ends[0] + ends[1]) / 2.0
    least = np.minimum(reach, np.minimum(s.length[one], s.length[other]) / 2.0)

    def is_near(places: FloatArray) -> BoolArray:
        far = np.maximum(*(np.hypot(*(places - end).T) for end in ends))
        near: BoolArray = np.isfinite(far) & (far <= least)
        return near

    with np.errstate(all="ignore"):  # what runs away is not near in the end
        between, crossing = _between(s, one, other, middle), _crossing(s, one, other, middle)
    at, best = middle.copy(), _off(s, one, other, middle)
    for places in (between, crossing):
        known = is_near(places)
        worth = np.full(len(at), np.inf)
        worth[known] = _off(s, one[known], other[known], places[known])
        better = known & (worth < best) & (best > EXACT_MM)
        at[better], best[better] = places[better], worth[better]
    return Met(at, best)


def _off(s: Segments, one: IntArray, other: IntArray, places: FloatArray) -> FloatArray:
    """(m,) distances of places from the farther of two supports each [mm]."""
    return np.maximum(*(np.abs(_from(s, k, places)[0]) for k in (one, other)))


def _from(s: Segments, index: IntArray, places: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Signed distances (m,) [mm] of places from the supports of the segments ``index``, and their gradients (m, 2)."""
    chord = s.end[index] - s.start[index]
    size = np.hypot(chord[:, 0], chord[:, 1])
    normal = np.column_stack((-chord[:, 1], chord[:, 0])) / np.where(size > 0.0, size, 1.0)[:, None]
    distance = ((places - s.start[index]) * normal).sum(axis=1)
    arcs = np.flatnonzero(s.bulge[index])
    if len(arcs):
        ray = places[arcs] - s.centre[index[arcs]]
        far = np.hypot(ray[:, 0], ray[:, 1])
        normal[arcs] = ray / np.where(far > 0.0, far, 1.0)[:, None]
        distance[arcs] = far - s.radius[index[arcs]]
    return distance, normal


def _crossing(s: Segments, one: IntArray, other: IntArray, start: FloatArray) -> FloatArray:
    """(m, 2) where the supports cross, found from a place near to it; anywhere, or NaN, where they do not."""
    at = start.copy()
    for _ in range(_STEPS):
        (a, na), (b, nb) = _from(s, one, at), _from(s, other, at)
        sine = na[:, 0] * nb[:, 1] - na[:, 1] * nb[:, 0]
        sine = np.where(np.abs(sine) >= _FLAT, sine, np.nan)
        at -= np.column_stack((nb[:, 1] * a - na[:, 1] * b, na[:, 0] * b - nb[:, 0] * a)) / sine[:, None]
    return at


def _between(s: Segments, one: IntArray, other: IntArray, start: FloatArray) -> FloatArray:
    """(m, 2) the place half way between supports that run side by side; NaN for those that do not."""
    at = start.copy()
    for _ in range(_STEPS):
        (a, na), (b, nb) = _from(s, one, at), _from(s, other, at)
        sine = na[:, 0] * nb[:, 1] - na[:, 1] * nb[:, 0]
        at[np.abs(sine) > _SIDE_BY_SIDE] = np.nan
        sign = np.where((na * nb).sum(axis=1) < 0.0, -1.0, 1.0)
        at -= na * ((a + sign * b) / 2.0)[:, None]
    return at
