"""Where a feature goes when the curves it follows change, or why no one place is the one.

A place beside a curve is its station, as a part of the curve's length from the +X axis, and its normal distance. That
holds as far as the curve's centre of curvature and the line midway between its sides: further in, several places of the
curve are as near, or a nearer one than the place's own. Whether a place is one is therefore found out, not assumed:
every way there must lead to one place, and the way back to where the feature came from.
"""

from __future__ import annotations

from math import hypot
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from core.features.kind import Follows
from core.geometry.lines.strips import direction, support

if TYPE_CHECKING:
    from core.features.ground import Curves
    from core.geometry.lines.outline import BoolArray, FloatArray, Outline, Point

# Nearer than this [mm] to where another place of the curve is as near, none of them is the one.
_MIDWAY_MM = 1e-3
# What two ways to one place may differ by [mm]; and curves that differ by less are the same.
_SAME_MM = 1e-6
_ROUNDING_MM = 1e-9
_PARTS = np.array([0.0, 0.13, 0.37, 0.5, 0.71, 1.0])


class Followed(Struct, frozen=True):
    """Where a feature goes.

    Attributes:
        value: its new place, or a strip's new offset [mm]; the old one when nothing tells it where to go.
        is_found: whether there was one place for it.
        distance: from the curve it follows, which it should keep [mm], below 0 inside; for a strip, the offset that the
            curve's change would give it.
    """

    value: Point
    is_found: bool = True
    distance: float = 0.0


def follow_point(at: Point, follows: Follows, old: Curves, new: Curves) -> Followed:
    """The place of a feature that stood at ``at`` [mm] on the old curves.

    What follows seat or outside keeps its part of the outline's length from the +X axis and its normal distance; what
    follows the spread keeps its fraction of the opening's half length and half width.
    """
    if follows is Follows.SEAT:
        return _beside(at, old.seat_outer, new.seat_outer)
    if follows is Follows.OUTSIDE:
        return _beside(at, old.outside, new.outside)
    if follows is Follows.SPREAD:
        return Followed((at[0] * _stretch(old, new, (1.0, 0.0)), at[1] * _stretch(old, new, (0.0, 1.0))))
    return Followed(at)


def follow_offset(offset: float, angle: float, follows: Follows, old: Curves, new: Curves) -> Followed:
    """The offset of a strip at ``angle`` [degrees] from the centre, to the left of its direction, as ``value[0]`` [mm].

    A strip that follows seat or outside keeps its distance from the side it lies on; it can't be drawn over the centre,
    where that side would be the other one. A strip in the middle has no side to follow, and stays there.
    """
    d = direction(angle)
    normal = (-d[1], d[0])
    if follows is Follows.SPREAD:
        return Followed((offset * _stretch(old, new, normal), 0.0))
    if follows in (Follows.SEAT, Follows.OUTSIDE) and offset != 0.0:
        seat = follows is Follows.SEAT
        was, now = (old.seat_outer, new.seat_outer) if seat else (old.outside, new.outside)
        side = 1.0 if offset > 0.0 else -1.0
        out = (side * normal[0], side * normal[1])
        moved = offset + side * (support(now, out) - support(was, out))
        if side * moved <= _ROUNDING_MM:
            return Followed((offset, 0.0), is_found=False, distance=moved)
        return Followed((moved, 0.0))
    return Followed((offset, 0.0))


def _stretch(old: Curves, new: Curves, along: Point) -> float:
    if new.inside == old.inside:
        return 1.0
    return support(new.inside, along) / support(old.inside, along)


def _beside(at: Point, old: Outline, new: Outline) -> Followed:
    if _is_same(old, new):
        return Followed(at)
    distance = old.signed_distance_to(at)
    there = _places(at, distance, old, new)
    if there is None:
        return Followed(at, is_found=False, distance=distance)
    back = _places(there, new.signed_distance_to(there), new, old)
    if back is None or distance_between(back, at) > _SAME_MM:
        return Followed(at, is_found=False, distance=distance)
    return Followed(there)


def _is_same(old: Outline, new: Outline) -> bool:
    """Whether two outlines are one curve, made by other sums."""
    return new == old or (
        len(new) == len(old) and float(np.abs(new.vertices - old.vertices).max(initial=0.0)) < _ROUNDING_MM
    )


def _places(at: Point, distance: float, old: Outline, new: Outline) -> Point | None:
    """The one place at ``distance`` [mm] from ``new`` that all feet of ``at`` on ``old`` lead to; None for several."""
    stations = _feet(at, old)
    # Square on the curve at its foot; at a corner the curve has no normal that would lead there.
    own = old.points_at(stations) + distance * old.normals_at(stations)
    part = (stations - old.axis_station) / old.length
    where = new.axis_station + part * new.length
    places = new.points_at(where) + distance * new.normals_at(where)
    strays = max(np.abs(own - at).max(), np.abs(places - places[0]).max())
    return (float(places[0, 0]), float(places[0, 1])) if strays <= _SAME_MM else None


def _feet(at: Point, outline: Outline) -> FloatArray:
    """(k,) stations of the places of an outline that are nearest to a point, or nearest a micrometre aside [mm].

    Several where the point lies midway between them, or within that of a centre of curvature.
    """
    s = outline.segments
    point = np.array([at])
    away = s.distances(point)[0]
    least = float(away.min())
    # Between feet c apart, both d away, a point lies (their difference in distance) d / c from the middle.
    near = np.flatnonzero(away <= least + _MIDWAY_MM * 2.0)
    along = s.along(near, np.repeat(point, len(near), axis=0))
    feet = s.points(near, along)
    is_foot = _is_square(at, outline, near, along)
    first = int(np.argmin(away[near]))
    apart = np.hypot(*(feet - feet[first]).T)
    aside = (away[near] - least) * least
    chosen = (is_foot & (apart > _SAME_MM) & (aside < _MIDWAY_MM * apart)) | (np.arange(len(near)) == first)
    stations = outline.starts[near] + along
    centred = chosen & (np.abs(_off_centre(at, outline, near)) < _MIDWAY_MM)
    # Seen from its centre every place of an arc is as near; ends and middle alone could agree by symmetry.
    arcs = near[centred]
    along_arcs = outline.starts[arcs, None] + s.length[arcs, None] * _PARTS
    found: FloatArray = np.concatenate((stations[[first]], stations[chosen], along_arcs.ravel()))
    return found


def _off_centre(at: Point, outline: Outline, index: np.ndarray[tuple[int], np.dtype[np.int64]]) -> FloatArray:
    """(k,) how far a point lies from the centres of some segments [mm]; infinite for lines."""
    s = outline.segments
    off = np.hypot(*(s.centre[index] - at).T)
    far: FloatArray = np.where(np.isnan(off), np.inf, off)
    return far


def _is_square(
    at: Point, outline: Outline, index: np.ndarray[tuple[int], np.dtype[np.int64]], along: FloatArray
) -> BoolArray:
    """(k,) whether the nearest place of a segment is the nearest of its neighbours too, and not just its end."""
    s = outline.segments
    tangent, ray = s.tangents(index, along), np.array([at]) - s.points(index, along)
    lean = (tangent * ray).sum(axis=1)
    at_start, at_end = along <= 0.0, along >= s.length[index]
    # At a start, the segment before must not lead nearer either, and at an end the one behind.
    before, behind = (index - 1) % len(s), (index + 1) % len(s)
    reaching = s.tangents(before, s.length[before])
    leaving = s.tangents(behind, np.zeros(len(index)))
    first_ok = (reaching * ray).sum(axis=1) >= -_SAME_MM
    last_ok = (leaving * ray).sum(axis=1) <= _SAME_MM
    square: BoolArray = np.where(at_start, first_ok, np.where(at_end, last_ok, np.abs(lean) <= _SAME_MM))
    return square


def distance_between(a: Point, b: Point) -> float:
    """Distance [mm] of two places."""
    return hypot(a[0] - b[0], a[1] - b[1])
