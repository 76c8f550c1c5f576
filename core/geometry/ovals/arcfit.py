"""Arcs and lines for curves that have none of their own: tangent-continuous biarc chains within a tolerance.

Words: a *biarc* is two arcs that meet with a common tangent and together join two points with given tangents (Bolton,
"Biarc curves", Computer-Aided Design 7, 1975); a *node* is a point where two biarcs meet. Between nodes at the arc
length H on a curve whose curvature changes at the rate k' the biarc strays by k' H³ / 324, so arcs are spent in
proportion to the cube root of k'.
"""

from __future__ import annotations

from itertools import pairwise
from math import radians
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from core.geometry.lines.outline import FloatArray, IntArray, Outline

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

# A dense sample may miss the top of the deviation between two of its points; this leaves room for that.
_ROOM = 0.98
# Bulges below this are lines: the centre of such an arc lies so far off that its points lose their digits.
_STRAIGHT = 1e-9
# A turn at a measured point that no round stretch of a dense measurement makes from one point to the next.
_CORNER = radians(20.0)
# Half widths of the windows tried for the tangent at a measured point; wide ones tame noise, narrow ones keep detail.
_WINDOWS = (1, 2, 3, 5, 8, 13, 21)
# A flat arc becomes a line while that turns the tangents at its ends by less than 4 times this [rad].
_FLAT = 2.5e-4


class _Biarcs(Struct, frozen=True):
    """Biarcs between m pairs of nodes: (m, 2) starts, joints and directions there, (m,) bulges and curvatures."""

    start: FloatArray
    joint: FloatArray
    start_direction: FloatArray
    joint_direction: FloatArray
    first_bulge: FloatArray
    second_bulge: FloatArray
    first_curvature: FloatArray
    second_curvature: FloatArray

    def deviations(self, points: FloatArray, owner: IntArray) -> FloatArray:
        """(k,) distances [mm] of the points (k, 2) from the circles of the biarcs ``owner`` (k,) they belong to."""
        from_joint = points - self.joint[owner]
        after = _dot(from_joint, self.joint_direction[owner]) > 0.0
        v = np.where(after[:, None], from_joint, points - self.start[owner])
        t = np.where(after[:, None], self.joint_direction[owner], self.start_direction[owner])
        k = np.where(after, self.second_curvature[owner], self.first_curvature[owner])
        # |v - n / k| - 1 / |k| without the centre: keeps its digits for the flattest arc and for a line.
        f = 2.0 * _cross(t, v) - k * _dot(v, v)
        return np.abs(f) / (1.0 + np.sqrt(np.maximum(0.0, 1.0 - k * f)))


def _dot(a: FloatArray, b: FloatArray) -> FloatArray:
    return a[:, 0] * b[:, 0] + a[:, 1] * b[:, 1]


def _cross(a: FloatArray, b: FloatArray) -> FloatArray:
    return a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]


def _biarcs(start: FloatArray, start_direction: FloatArray, end: FloatArray, end_direction: FloatArray) -> _Biarcs:
    """The biarcs with tangents of equal length at both ends: the joint lies midway for nearly even curvature.

    Where that would bend both ways though the tangents meet between the ends, as beside a flat stretch, a line and an
    arc take its place: a convex curve gets a convex chain.
    """
    v = end - start
    square = _dot(v, v)
    along = _dot(v, start_direction + end_direction)
    bend = 1.0 - _dot(start_direction, end_direction)
    # Root of 2 bend d² + 2 along d - square = 0 in the form that also holds for parallel tangents (bend = 0).
    d = square / (along + np.sqrt(np.maximum(along * along + 2.0 * bend * square, 0.0)))
    towards = v - d[:, None] * (start_direction + end_direction)
    size = np.hypot(towards[:, 0], towards[:, 1])
    joint = (start + end + d[:, None] * (start_direction - end_direction)) / 2.0
    # The common tangent runs along the line between the ends of the two tangents.
    joint_direction = towards / size[:, None]
    first_turn, second_turn = _cross(start_direction, joint - start), _cross(end - joint, end_direction)
    line_first, line_second = np.zeros(len(v), dtype=np.bool_), np.zeros(len(v), dtype=np.bool_)
    both_ways = np.flatnonzero(first_turn * second_turn < 0.0)
    if len(both_ways):
        t, u, w = start_direction[both_ways], end_direction[both_ways], v[both_ways]
        turn = _cross(t, u)
        turn[turn == 0.0] = np.nan
        # The tangents meet at start + p t = end - q u.
        p, q = _cross(w, u) / turn, _cross(t, w) / turn
        line_first[both_ways], line_second[both_ways] = (p >= q) & (q > 0.0), (q > p) & (p > 0.0)
        i, j = line_first[both_ways], line_second[both_ways]
        joint[line_first] = start[line_first] + (p - q)[i, None] * t[i]
        joint[line_second] = end[line_second] - (q - p)[j, None] * u[j]
        joint_direction[line_first], joint_direction[line_second] = t[i], u[j]
    first, second = joint - start, end - joint
    first_square, second_square = _dot(first, first), _dot(second, second)
    first_turn = np.where(line_first, 0.0, _cross(start_direction, first))
    second_turn = np.where(line_second, 0.0, _cross(second, end_direction))
    # Half the sweep lies between tangent and chord: bulge = tan(half / 2) = sin / (1 + cos).
    first_bulge = first_turn / (np.sqrt(first_square) + _dot(start_direction, first))
    second_bulge = second_turn / (np.sqrt(second_square) + _dot(second, end_direction))
    return _Biarcs(
        start,
        joint,
        start_direction,
        joint_direction,
        np.where(np.abs(first_bulge) < _STRAIGHT, 0.0, first_bulge),
        np.where(np.abs(second_bulge) < _STRAIGHT, 0.0, second_bulge),
        2.0 * first_turn / first_square,
        2.0 * second_turn / second_square,
    )


def _chain(b: _Biarcs, end: FloatArray) -> FloatArray:
    """(2 m + 1, 3) vertices of consecutive biarcs; the last is ``end`` with bulge 0."""
    out = np.zeros((2 * len(b.start) + 1, 3))
    out[:-1:2, :2], out[1::2, :2], out[-1, :2] = b.start, b.joint, end
    out[:-1:2, 2], out[1::2, 2] = b.first_bulge, b.second_bulge
    return out


def fit_curve(points: FloatArray, directions: FloatArray, tolerance: float) -> FloatArray:
    """Vertices of a biarc chain along an open smooth curve, with nearly the fewest arcs.

    Args:
        points: (n, 2) dense points of the curve [mm], n >= 3, far closer together than the arcs will be long.
        directions: (n, 2) unit tangents of the curve there, exact; the chain takes them over at its nodes.
        tolerance: greatest distance of a point from the chain [mm], > 0.

    Returns:
        (2 m + 1, 3) vertices for m biarcs as in ``Outline``; the first and the last are the curve's ends, and the
        last one's bulge is 0.

    Raises:
        ValueError: the tolerance is not positive, or the points are too few, repeated or not finite.

    >>> t = np.linspace(0.0, np.pi / 2.0, 100)[:, None]
    >>> chain = fit_curve(np.hstack((9 * np.cos(t), 9 * np.sin(t))), np.hstack((-np.sin(t), np.cos(t))), 0.001)
    >>> round(float(4.0 * np.arctan(chain[:-1, 2]).sum() / np.pi), 9)  # its sweeps make a quarter turn
    0.5
    """
    if not tolerance > 0:
        raise ValueError(f"tolerance must be positive, not {tolerance}")
    step = np.hypot(*np.diff(points, axis=0).T)
    if len(points) < 3 or not (step > 0.0).all() or not np.isfinite(directions).all():
        raise ValueError("a curve needs at least 3 points, all finite and none repeated, and its tangents there")
    turn = np.arctan2(_cross(directions[:-1], directions[1:]), _dot(directions[:-1], directions[1:]))
    rate = np.abs(np.diff(turn / step)) * 2.0 / (step[1:] + step[:-1])
    weight = np.cbrt(np.concatenate((rate[:1], (rate[1:] + rate[:-1]) / 2.0, rate[-1:])))
    # A circle has no rate of its own to go by; a small share for length keeps nodes apart in its stretches.
    weight = (weight + 1e-3 * weight.max() + 1e-9) * step
    count = max(1, int(weight.sum() / np.cbrt(324.0 * tolerance * _ROOM)))
    share, rounds = weight, 0
    while True:
        nodes = _equal_shares(share, count)
        owner = np.repeat(np.arange(len(nodes) - 1), np.diff(nodes))
        chain = _biarcs(points[nodes[:-1]], directions[nodes[:-1]], points[nodes[1:]], directions[nodes[1:]])
        deviation = np.maximum.reduceat(chain.deviations(points[:-1], owner), nodes[:-1])
        worst = float(deviation.max())
        if worst <= tolerance * _ROOM:
            return _chain(chain, points[-1])
        # A biarc strays with the cube of its share: even out what the asymptotic rule left uneven.
        share, rounds = share * np.cbrt(np.maximum(deviation / worst, 1e-3))[owner], rounds + 1
        if rounds % 4 == 0:
            count = max(count + 1, int(count * min(2.0, float(np.cbrt(deviation.mean() / tolerance)))))


def _equal_shares(share: FloatArray, count: int) -> IntArray:
    """Node indices that cut the shares (n,) of the steps into ``count`` nearly equal sums, or into single steps."""
    if count >= len(share):
        return np.arange(len(share) + 1)
    total = np.concatenate((np.zeros(1), np.cumsum(share)))
    cut = np.searchsorted(total, total[-1] * np.arange(1, count) / count)
    return np.unique(np.concatenate(([0], cut, [len(share)])))


def fit_closed(points: ArrayLike, tolerance: float) -> Outline:
    """The outline of arcs and lines through dense measured points, smooth except at corners.

    A point is a corner when the chords turn there by more than 20° and rounding it off would leave them by more than
    the tolerance. Straight stretches become lines; their ends may turn by up to 2 mrad.

    Args:
        points: (n, 2) in order round the outline [mm], in either sense; the first may be repeated at the end.
        tolerance: greatest distance of a point from the outline [mm], > 0; more than the noise of the points.

    Returns:
        The outline, counter-clockwise.

    Raises:
        ValueError: the tolerance is not positive, or there are fewer than 3 different points or no area.

    >>> fit_closed([[0, 0], [1, 0], [2, 0], [3, 0], [3, 2], [3, 4], [0, 4]], 0.01).vertices.tolist()
    [[0.0, 0.0, 0.0], [3.0, 0.0, 0.0], [3.0, 4.0, 0.0], [0.0, 4.0, 0.0]]
    """
    if not tolerance > 0:
        raise ValueError(f"tolerance must be positive, not {tolerance}")
    p = _ordered(np.asarray(points, dtype=np.float64))
    corners = _corners(p, tolerance)
    if not len(corners):
        vertices = _smooth_run(np.concatenate((p, p[:1])), tolerance, closed=True)
        return Outline(np.concatenate(vertices))
    p = np.roll(p, -int(corners[0]), axis=0)
    ends = [*(int(i) for i in corners - corners[0]), len(p)]
    p = np.concatenate((p, p[:1]))
    parts: list[FloatArray] = []
    for begin, end in pairwise(ends):
        parts += _smooth_run(p[begin : end + 1], tolerance, closed=False)
    return Outline(np.concatenate(parts))


def _ordered(p: FloatArray) -> FloatArray:
    """The points without repeated neighbours, counter-clockwise."""
    if p.ndim != 2 or p.shape[1] != 2 or not np.isfinite(p).all():
        raise ValueError(f"points must be finite with shape (n, 2), not {p.shape}")
    p = p[np.hypot(*(p - np.roll(p, -1, axis=0)).T) > 1e-9]
    area = float(_cross(p, np.roll(p, -1, axis=0)).sum())
    if len(p) < 3 or abs(area) < 1e-9:
        raise ValueError("an outline needs at least 3 different points round an area")
    return p if area > 0.0 else p[::-1]


def _corners(p: FloatArray, tolerance: float) -> IntArray:
    before, after = p - np.roll(p, 1, axis=0), np.roll(p, -1, axis=0) - p
    turn = np.abs(np.arctan2(_cross(before, after), _dot(before, after)))
    shorter = np.sqrt(np.minimum(_dot(before, before), _dot(after, after)))
    # An arc that bends by the turn over the shorter chord leaves it by chord tan(turn / 4) / 2.
    return np.flatnonzero((turn > _CORNER) & (shorter * np.tan(turn / 4.0) / 2.0 > tolerance))


def _smooth_run(p: FloatArray, tolerance: float, *, closed: bool) -> list[FloatArray]:
    """Vertices of the chain along the points (n, 2), without the last one."""
    if not closed and (len(p) == 2 or _off_chord(p) <= tolerance):
        return [np.array([[*p[0], 0.0]])]
    place, direction = _smoothed(p, tolerance, closed=closed)
    parts: list[FloatArray] = []
    i, last = 0, len(p) - 1
    while i < last:
        # Half way round a closed run at most: a biarc needs two different ends.
        j = _furthest(p, place, direction, i, min(last, i + last // 2) if closed else last, tolerance)
        b = _biarcs(place[i : i + 1], direction[i : i + 1], place[j : j + 1], direction[j : j + 1])
        chord = (place[j] - place[i]) / np.hypot(*(place[j] - place[i]))
        # At a corner the line may come in at any angle.
        straight = (_turn(direction[i], chord) <= 4.0 * _FLAT or (i == 0 and not closed)) and (
            _turn(chord, direction[j]) <= 4.0 * _FLAT or (j == last and not closed)
        )
        if straight and _off_chord(np.concatenate((place[i : i + 1], p[i : j + 1], place[j : j + 1]))) <= tolerance:
            parts.append(np.array([[*place[i], 0.0]]))
        else:
            parts.append(_chain(b, place[j : j + 1])[:-1])
        i = j
    return parts


def _turn(a: FloatArray, b: FloatArray) -> float:
    return float(abs(np.arctan2(a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1])))


def _off_chord(p: FloatArray) -> float:
    """Greatest distance [mm] of the points from the segment between the first and the last of them."""
    chord = p[-1] - p[0]
    square = float(chord @ chord)
    if square == 0.0:
        return float("inf")
    rel = p - p[0]
    t = np.clip(rel @ chord / square, 0.0, 1.0)
    off = rel - t[:, None] * chord
    return float(np.sqrt(_dot(off, off).max()))


def _furthest(p: FloatArray, place: FloatArray, direction: FloatArray, i: int, last: int, tolerance: float) -> int:
    """The furthest point up to ``last`` that one biarc from ``i`` reaches with all points within the tolerance."""

    def holds(j: int) -> bool:
        b = _biarcs(place[i : i + 1], direction[i : i + 1], place[j : j + 1], direction[j : j + 1])
        return bool(b.deviations(p[i : j + 1], np.zeros(j + 1 - i, dtype=np.int64)).max() <= tolerance)

    good, hop = i + 1, 1
    while good < last and holds(min(good + hop, last)):
        good, hop = min(good + hop, last), 2 * hop
    bad = min(good + hop, last + 1)
    while bad - good > 1:
        middle = (good + bad) // 2
        good, bad = (middle, bad) if holds(middle) else (good, middle)
    return good


def _smoothed(p: FloatArray, tolerance: float, *, closed: bool) -> tuple[FloatArray, FloatArray]:
    """(n, 2) places and unit directions of travel by parabolas through as many neighbours as the tolerance allows."""
    n = len(p)
    reach = _WINDOWS[-1] if closed else 0
    if closed:
        reach = min(reach, (n - 2) // 2)
        p = np.concatenate((p[-1 - reach : -1], p, p[1 : 1 + reach]))
    u = np.concatenate((np.zeros(1), np.cumsum(np.hypot(*np.diff(p, axis=0).T))))
    place, direction = p.copy(), np.zeros_like(p)
    for half in _WINDOWS:
        size = 2 * half + 1
        if size > len(p):
            break
        first = np.clip(np.arange(len(p)) - half, 0, len(p) - size)
        window = first[:, None] + np.arange(size)
        scale = (u[window[:, -1]] - u[window[:, 0]]) / 2.0
        t = (u[window] - u[:, None]) / scale[:, None]
        powers = np.stack((np.ones_like(t), t, t * t), axis=2)
        transposed = powers.transpose(0, 2, 1)
        fit = np.linalg.solve(transposed @ powers, transposed @ p[window])
        off = powers @ fit - p[window]
        good = np.sqrt((off * off).sum(axis=2).max(axis=1)) <= tolerance / 2.0
        if half == _WINDOWS[0]:
            good[:] = True
        place[good], direction[good] = fit[good, 0], fit[good, 1]
    direction /= np.hypot(*direction.T)[:, None]
    place, direction = place[reach : reach + n], direction[reach : reach + n]
    if closed:
        place[-1], direction[-1] = place[0], direction[0]
    else:
        # The corners belong to two runs, which must meet there.
        place[0], place[-1] = p[0], p[-1]
    return place, direction
