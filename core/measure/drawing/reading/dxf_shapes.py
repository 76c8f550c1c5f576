"""The shapes that a drawing's entities are, exact until they are placed, and what becomes of them there.

Words: a *placement* says where a block goes; a *map* is an affine one, the linear part (2, 2) and the shift (2,).
"""

from __future__ import annotations

from itertools import pairwise
from math import ceil, hypot, pi, sqrt, tan
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from msgspec import Struct

from core.geometry.lines.segments import FLAT_BULGE, Segments
from core.geometry.ovals.arcfit import fit_curve

if TYPE_CHECKING:
    from core.geometry.lines.outline import FloatArray

_ROUND = 1e-9
"""Axes that differ by less than this part of them are a circle's."""

_FEWEST, _MOST = 64, 1 << 15
# Samples of a curve between its neighbouring arcs' ends; the fit looks at nothing else.
_SAMPLES_AN_ARC = 16
# A turn between two neighbouring samples that no smooth stretch makes [rad].
_CORNER = 0.35


class UnusableError(Exception):
    """An entity that can't be taken over; its argument says why, as the end of a sentence."""


class Chain(Struct, frozen=True, eq=False):
    """Lines and arcs: (n, 3) x, y, bulge."""

    vertices: FloatArray
    is_closed: bool


class EllipticArc(Struct, frozen=True, eq=False):
    """The points centre + u cos t + v sin t for t from ``begin`` to ``end`` [rad], begin < end <= begin + 2 pi."""

    centre: FloatArray
    u: FloatArray
    v: FloatArray
    begin: float
    end: float


class Spline(Struct, frozen=True, eq=False):
    """A rational B-spline: (n, 2) control points, (n,) weights, (n + degree + 1,) knots."""

    degree: int
    points: FloatArray
    weights: FloatArray
    knots: FloatArray


class Placement(Struct, frozen=True, eq=False):
    """A block put somewhere: its base point to ``shift``, in rows and columns ``steps`` (2, 2) apart."""

    block: str
    linear: FloatArray
    shift: FloatArray
    columns: int = 1
    rows: int = 1
    steps: FloatArray | None = None


Curve: TypeAlias = Chain | EllipticArc | Spline


def mapped(curve: Curve, linear: FloatArray, shift: FloatArray) -> tuple[Curve, ...]:
    """The curve under an affine map; arcs that are stretched into ellipses become shapes of their own."""
    if isinstance(curve, EllipticArc):
        return (EllipticArc(linear @ curve.centre + shift, linear @ curve.u, linear @ curve.v, curve.begin, curve.end),)
    if isinstance(curve, Spline):
        return (Spline(curve.degree, curve.points @ linear.T + shift, curve.weights, curve.knots),)
    vertices = curve.vertices.copy()
    vertices[:, :2] = vertices[:, :2] @ linear.T + shift
    along, across = linear[:, 0], linear[:, 1]
    size = float(along @ along)
    if max(abs(float(along @ across)), abs(float(across @ across) - size)) <= _ROUND * size:
        if np.linalg.det(linear) < 0.0:
            vertices[:, 2] *= -1.0
        return (Chain(vertices, curve.is_closed),)
    if not np.abs(curve.vertices[:, 2]).max() > FLAT_BULGE:
        return (Chain(vertices, curve.is_closed),)
    return tuple(_stretched(curve, vertices, linear, shift))


def _stretched(curve: Chain, placed: FloatArray, linear: FloatArray, shift: FloatArray) -> list[Curve]:
    """The segments of a chain under a map that makes ellipses of circles, each for itself."""
    follows = np.roll(np.arange(len(placed)), -1)
    start = curve.vertices[:, :2]
    s = Segments.of(start, start[follows], curve.vertices[:, 2])
    parts: list[Curve] = []
    for i in range(len(placed) if curve.is_closed else len(placed) - 1):
        if not np.isfinite(s.radius[i]) or not s.radius[i] > 0.0:
            ends = placed[[i, follows[i]]]
            ends[:, 2] = 0.0
            parts.append(Chain(ends, is_closed=False))
            continue
        ray, sweep = start[i] - s.centre[i], float(s.sweep[i])
        turned = np.array([-ray[1], ray[0]]) * np.sign(sweep)
        parts.append(EllipticArc(linear @ s.centre[i] + shift, linear @ ray, linear @ turned, 0.0, abs(sweep)))
    return parts


def extent(curves: list[Curve]) -> float:
    """The larger side of the box round the curves, nearly: an arc may leave it by half its chord."""
    points: list[FloatArray] = []
    for curve in curves:
        if isinstance(curve, EllipticArc):
            reach = np.hypot(curve.u, curve.v)
            points.append(np.array([curve.centre - reach, curve.centre + reach]))
        else:
            points.append(curve.vertices[:, :2] if isinstance(curve, Chain) else curve.points)
    return float(np.ptp(np.concatenate(points), axis=0).max()) if points else 0.0


def as_chain(curve: Curve, tolerance: float) -> tuple[Chain, bool]:
    """The curve as lines and arcs, and whether these stand for something else, within the tolerance.

    Raises:
        UnusableError: there is nothing of it.
    """
    if isinstance(curve, Chain):
        return curve, False
    if isinstance(curve, EllipticArc):
        return _arc_chain(curve, tolerance)
    return _spline_chain(curve, tolerance), True


def joined_chain(parts: list[Chain]) -> Chain:
    """Open chains, each beginning where the one before ends, as one, closed when it leads back to its beginning."""
    runs = [part.vertices[:-1] for part in parts]
    vertices = np.concatenate([*runs, parts[-1].vertices[-1:]])
    return closed_if_round(vertices)


def closed_if_round(vertices: FloatArray) -> Chain:
    """An open chain, closed when its ends are the same to rounding."""
    size = float(np.ptp(vertices[:, :2], axis=0).max())
    if len(vertices) > 2 and np.hypot(*(vertices[0, :2] - vertices[-1, :2])) <= 1e-9 * size:
        return Chain(vertices[:-1], is_closed=True)
    return Chain(vertices, is_closed=False)


def circular(centre: FloatArray, ray: FloatArray, sweep: float) -> FloatArray:
    """Vertices of arcs, none beyond a half circle, from ``centre`` + ``ray`` through ``sweep`` [rad]."""
    count = max(1, ceil(abs(sweep) / pi - 1e-9))
    angle = np.linspace(0.0, sweep, count + 1)
    z = (ray[0] + 1j * ray[1]) * np.exp(1j * angle)
    bulge = np.full(count + 1, tan(sweep / count / 4.0))
    bulge[-1] = 0.0
    return np.column_stack((z.real + centre[0], z.imag + centre[1], bulge))


def _arc_chain(arc: EllipticArc, tolerance: float) -> tuple[Chain, bool]:
    u, v, sweep = arc.u, arc.v, arc.end - arc.begin
    turn = float(u[0] * v[1] - u[1] * v[0])
    square, other = float(u @ u), float(v @ v)
    if abs(turn) <= 1e-12 * max(square, other):
        raise UnusableError("is an ellipse without width")
    is_whole = sweep >= 2.0 * pi - 1e-9
    if max(abs(float(u @ v)), abs(square - other)) <= _ROUND * square:
        ray = u * np.cos(arc.begin) + v * np.sin(arc.begin)
        vertices = circular(arc.centre, ray, sweep if turn > 0.0 else -sweep)
        return (Chain(vertices[:-1], is_closed=True) if is_whole else Chain(vertices, is_closed=False)), False
    t = np.linspace(arc.begin, arc.end, _samples(sqrt(max(square, other)) * sweep, tolerance))[:, None]
    points = arc.centre + u * np.cos(t) + v * np.sin(t)
    direction = v * np.cos(t) - u * np.sin(t)
    direction /= np.hypot(*direction.T)[:, None]
    if is_whole:
        points[-1], direction[-1] = points[0], direction[0]
    vertices = fit_curve(points, direction, tolerance)
    return (Chain(vertices[:-1], is_closed=True) if is_whole else Chain(vertices, is_closed=False)), True


def _samples(length: float, tolerance: float) -> int:
    """How many points of a curve to look at.

    A biarc strays by k' H³ / 324 (see `arcfit`), so the number of arcs goes with the cube root of length over
    tolerance: some 90 for an ellipse of 240 x 150 at 1 µm, whose cube root is 85.
    """
    return int(min(_MOST, max(_FEWEST, 2 * _SAMPLES_AN_ARC * np.cbrt(length / tolerance))))


def _spline_chain(spline: Spline, tolerance: float) -> Chain:
    from scipy.interpolate import BSpline

    p, knots, n = spline.degree, spline.knots, len(spline.points)
    weighted = np.column_stack((spline.points * spline.weights[:, None], spline.weights))
    curve = BSpline(knots, weighted, p)
    slope = curve.derivative()
    inner, times = np.unique(knots[p : n + 1], return_counts=True)
    first, last = float(knots[p]), float(knots[n])
    # Between knots the curve is smooth; where as many meet as its degree is, it may have a corner.
    breaks = [first, *(float(k) for k, m in zip(inner, times, strict=True) if m >= p and first < k < last), last]
    span = float(np.hypot(*np.diff(spline.points, axis=0).T).sum())
    spans = max(1, len(inner) - 1)
    per_span = int(min(_MOST, max(24, _samples(span, tolerance) / spans)))
    parts: list[Chain] = []
    for begin, end in pairwise(breaks):
        ends = np.concatenate(([begin], inner[(inner > begin) & (inner < end)], [end]))
        share = np.linspace(0.0, 1.0, per_span, endpoint=False)
        t = np.append((ends[:-1, None] + np.diff(ends)[:, None] * share).ravel(), end)
        # The value at the end of a span is that of the next: a hair before, it is this one's.
        x = curve(np.minimum(t, np.nextafter(end, begin)))
        d = slope(np.minimum(t, np.nextafter(end, begin)))
        points = x[:, :2] / x[:, 2:]
        direction = (d[:, :2] - points * d[:, 2:]) / x[:, 2:]
        parts += _smooth_parts(points, direction, tolerance)
    if not parts:
        raise UnusableError("has no length")
    return joined_chain(parts)


def _smooth_parts(points: FloatArray, direction: FloatArray, tolerance: float) -> list[Chain]:
    """Chains along the samples of a curve, from one corner to the next."""
    step = np.hypot(*np.diff(points, axis=0).T)
    keep = np.append(True, step > 1e-12 * (np.abs(points).max() + 1.0))
    points, direction = points[keep], direction[keep]
    if len(points) < 2:
        return []
    chord = np.diff(points, axis=0)
    chord /= np.hypot(*chord.T)[:, None]
    size = np.hypot(*direction.T)
    # Where control points coincide the curve stands still: the chords tell its direction there.
    still = size <= 1e-9 * size.max() if size.max() > 0.0 else np.ones(len(size), dtype=np.bool_)
    around = np.concatenate((chord[:1], chord[1:] + chord[:-1], chord[-1:]))
    direction = np.where(still[:, None], around, direction)
    direction /= np.maximum(np.hypot(*direction.T), 1e-300)[:, None]
    turn = np.abs(np.angle((chord[1:, 0] + 1j * chord[1:, 1]) * (chord[:-1, 0] - 1j * chord[:-1, 1])))
    cuts = [0, *(int(i) + 1 for i in np.flatnonzero(turn > _CORNER)), len(points) - 1]
    parts: list[Chain] = []
    for i, j in pairwise(cuts):
        run = points[i : j + 1]
        if j - i < 2 or _is_straight(run, tolerance / 10.0):
            vertices = np.array([[*run[0], 0.0], [*run[-1], 0.0]])
        else:
            way = direction[i : j + 1].copy()
            for end, at in ((0, i), (-1, j - 1)):
                if 0 < (i if end == 0 else j) < len(points) - 1:  # at a corner the two sides have their own
                    way[end] = chord[at]
            vertices = fit_curve(run, way, tolerance)
        parts.append(Chain(vertices, is_closed=False))
    return parts


def _is_straight(points: FloatArray, tolerance: float) -> bool:
    chord = points[-1] - points[0]
    size = hypot(*chord)
    if not size > 0.0:
        return False
    off = (points - points[0]) @ np.array([-chord[1], chord[0]]) / size
    along = (points - points[0]) @ chord / size
    return bool(np.abs(off).max() <= tolerance and (np.diff(along) > 0.0).all())
