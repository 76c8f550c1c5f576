"""Parallel curves of outlines: lines and arcs move exactly, arcs about their own centres.

Because every point moves along its normal, the parallel of an outline that stays within a tolerance of a curve stays
within the same tolerance of the curve's parallel.
"""

from __future__ import annotations

from functools import lru_cache
from math import inf
from typing import TypeGuard

import numpy as np

from core.geometry.lines.outline import BoolArray, ComplexArray, FloatArray, Outline, Segments, segment_bounds
from core.geometry.lines.segment_sets import box_pairs
from core.words.errors import FoldsOverError

# Joints that turn by less than this [rad] are mitred, which is wrong by d turn² / 8: 25 nm for d = 50 mm.
_SMOOTH = 2e-3
# Turns below this [rad] are rounding, and the bulges stay as they are.
_ROUNDING = 1e-8
# Lengths [mm] that rounding may take from a radius at the limit of an inward move.
_SLACK = 1e-9
# What rounding may take a point [mm] off the parallel that it was moved to.
_EXACT = 1e-11
# How much nearer [mm] than the distance a point of the parallel may be to the source by rounding and mitres.
_NEAR = 1e-6


def parallel(outline: Outline, distance: float, *, where: str = "outline", trimmed: bool = False) -> Outline:
    """The curve at a normal distance from an outline.

    Args:
        outline: smooth or with corners, running either way; the result runs the same way.
        distance: positive away from the inside [mm]; 0 returns the outline itself.
        where: what the outline belongs to, for the error.
        trimmed: where the moved curve would fold over, cut it off instead, and return the largest piece.

    Raises:
        FoldsOverError: the move goes past the tightest radius on the side it moves to (0 for a corner), or parts of
            the outline would run into each other; with ``trimmed``, nothing is left.
        ValueError: the distance is not finite.

    >>> round(parallel(Outline([[5, 0, 1], [-5, 0, 1]]), 2.0).length / np.pi, 9)  # 2 (5 + 2)
    14.0
    """
    if distance == 0.0:
        return outline
    if not np.isfinite(distance):
        raise ValueError(f"distance must be finite, not {distance}")
    moved, limit = _parallel(outline, float(distance))
    if moved is not None:
        return moved
    if not trimmed:
        raise FoldsOverError(where, abs(distance), limit)
    from core.geometry.parallels.trimmed import trimmed_parallel  # noqa: PLC0415 - it builds on this module

    pieces: tuple[Outline, ...] = trimmed_parallel(outline, distance)
    if not pieces:
        raise FoldsOverError(where, abs(distance), limit)
    return max(pieces, key=lambda piece: abs(piece.area))


def parallel_distance(outline: Outline, other: Outline) -> float | None:
    """How far outside the convex, smooth ``outline`` its parallel ``other`` runs [mm], below 0 inside.

    None where it is not plain that the two are parallel: that must be measured then. Where it is, the nearest place of
    either to any place of the other lies straight across, at just this distance (Blaschke's rolling theorem).

    >>> circle = Outline([[5, 0, 1], [-5, 0, 1]])
    >>> round(parallel_distance(circle, parallel(circle, -2.0)), 9)
    -2.0
    """
    if len(outline) != len(other) or not np.array_equal(outline.vertices[:, 2], other.vertices[:, 2]):
        return None
    frame = _frame(outline)
    if not (frame.smooth and frame.is_convex):
        return None
    way = other.vertices[:, 0] + 1j * other.vertices[:, 1] - frame.points
    # To the right of the direction of travel, which is outward or inward.
    across = (way * (1j * frame.leaving).conj()).real * -frame.outward
    distance = float(across[0])
    strays = np.abs(way + 1j * frame.outward * distance * frame.leaving).max()
    if strays > _EXACT or -distance > frame.limit(-1.0) - _NEAR:
        return None
    return distance


@lru_cache(maxsize=64)
def _frame(outline: Outline) -> _Frame:
    return _Frame(outline)


def fold_limit(outline: Outline) -> float:
    """Greatest inward move [mm] without a local fold: the tightest radius bent outward, 0 with a corner.

    >>> fold_limit(Outline([[5, 0, 1], [-5, 0, 1]])), fold_limit(Outline([[0, 0, 0], [3, 0, 0], [0, 4, 0]]))
    (5.0, 0.0)
    """
    return _frame(outline).limit(-1.0)


class _Frame:
    """What moving an outline needs, with points and directions as complex numbers x + iy.

    Attributes:
        outline: the source.
        points: (n,) the vertices [mm].
        chord: (n,) lengths of the chords [mm].
        leaving, arriving: (n,) unit directions of travel at the start and at the end of each segment.
        before: (n,) direction in which each vertex is reached: ``arriving`` of the segment before.
        joint: (n,) ``leaving`` seen from ``before``: cosine and sine of the turn at each vertex.
        turn: (n,) at each vertex [rad], positive to the left; turns below rounding are 0.
        smooth: whether all turns are 0.
        curvature: (n,) [1 / mm], positive to the left; 0 for a line.
        outward: 1 when the right of travel is outside (counter-clockwise), else -1.
    """

    __slots__ = (
        "arriving", "before", "chord", "curvature", "joint", "leaving",
        "outline", "outward", "points", "smooth", "turn",
    )  # fmt: skip

    def __init__(self, outline: Outline) -> None:
        self.outline = outline
        v = outline.vertices
        bulge = v[:, 2]
        self.points: ComplexArray = v[:, 0] + 1j * v[:, 1]
        step = np.concatenate((self.points[1:], self.points[:1])) - self.points
        self.chord: FloatArray = np.abs(step)
        self.leaving, self.arriving = outline.segments.directions
        self.before: ComplexArray = np.concatenate((self.arriving[-1:], self.arriving[:-1]))
        self.joint: ComplexArray = self.before.conj() * self.leaving
        self.curvature: FloatArray = 4.0 * bulge / (self.chord * (1.0 + bulge * bulge))
        turn = np.arctan2(self.joint.imag, self.joint.real)
        # All turns and sweeps of a simple outline add up to one full turn to the left or to the right.
        self.outward = 1.0 if float(turn.sum() + 4.0 * np.arctan(bulge).sum()) > 0.0 else -1.0
        size = np.abs(turn)
        self.smooth = bool(size.max() <= _ROUNDING)
        self.turn: FloatArray = np.where(size > _ROUNDING, turn, 0.0)

    def limit(self, side: float) -> float:
        """Greatest move [mm] without a local fold, outward for ``side`` 1, inward for -1."""
        left = -self.outward * side
        if not self.smooth and (self.turn * left > _SMOOTH).any():
            return 0.0
        tightest = float((self.curvature * left).max())
        return 1.0 / tightest if tightest > 0.0 else inf

    @property
    def is_convex(self) -> bool:
        """Whether the outline bends outward everywhere; rounding may not decide."""
        return bool((self.turn * self.outward >= 0.0).all() and (self.curvature * self.outward >= 0.0).all())


@lru_cache(maxsize=4096)
def _parallel(outline: Outline, distance: float) -> tuple[Outline | None, float]:
    """The moved outline and infinity, or None and the limit [mm] that the move exceeds."""
    frame = _frame(outline)
    side = 1.0 if distance > 0.0 else -1.0
    limit = frame.limit(side)
    if abs(distance) > limit + _SLACK:
        return None, limit
    # A disc of the least radius rolls freely inside a smooth convex curve (Blaschke's rolling theorem), and any disc
    # rolls round the outside of one.
    convex = frame.is_convex

    def holds(moved: Outline | None, size: float) -> TypeGuard[Outline]:
        return moved is not None and (convex or not _runs_into_itself(outline, moved, size))

    moved = _moved(frame, distance)
    if holds(moved, abs(distance)):
        return moved, inf
    low, high = 0.0, abs(distance)
    while high - low > 1e-6 * high + _SLACK:
        middle = (low + high) / 2.0
        low, high = (middle, high) if holds(_moved(frame, side * middle), middle) else (low, middle)
    return None, high


def _moved(frame: _Frame, distance: float) -> Outline | None:
    """The moved outline, not looking for parts that run into each other; None if nothing is left."""
    v = frame.outline.vertices
    d = distance * frame.outward  # to the right of travel
    # The mitre of the two moved tangents: p + d (n1 + n2) / (1 + n1 · n2), with the normals n = -i t.
    mitre = 1.0 + frame.joint.real
    corner = None if frame.smooth else np.abs(frame.turn) > _SMOOTH
    if corner is not None:
        mitre = np.where(corner, 1.0, mitre)
    points = frame.points - (1j * d) * ((frame.before + frame.leaving) / mitre)
    out = np.array((points.real, points.imag, v[:, 2])).T
    if corner is None and abs(distance) < frame.limit(1.0 if distance > 0.0 else -1.0) - 2.0 * _SLACK:
        return Outline.without_corners(out) if frame.smooth else Outline(out)
    # Relative to the radius, for a line too: 1 + d k is what is left of the radius 1 / k.
    left = 1.0 + d * frame.curvature
    gone = np.abs(left) <= _SLACK * np.abs(frame.curvature)
    if corner is not None:
        stretched = _stretched(frame, d, left, gone, corner)
        if stretched is None:
            return None
        out[:, 2] = stretched
        out, gone = _rounded(out, gone, frame, d, corner)
    if gone.any():
        # An arc of no radius is a point: its end, the next segment's start, stays.
        out = out[~gone]
        if len(out) < 2:
            return None
    moved = Outline(out)
    return moved if not gone.any() or moved.area * frame.outward > _SLACK * moved.length else None


def _stretched(frame: _Frame, d: float, left: FloatArray, gone: BoolArray, corner: BoolArray) -> FloatArray | None:
    """(n,) bulges after the mitres took d tan(turn / 2) off or added it at both ends; None if a segment vanishes."""
    bulge = frame.outline.vertices[:, 2]
    more = d * np.tan(np.where(corner, 0.0, frame.turn) / 2.0)
    more = np.where(gone, 0.0, more + np.concatenate((more[1:], more[:1])))
    is_line = bulge == 0.0
    size = 4.0 * np.arctan(np.abs(bulge)) + more * np.abs(frame.curvature) / np.where(gone, 1.0, np.abs(left))
    if (np.where(is_line, frame.chord + more, size) <= 0.0).any():
        return None
    return np.where(is_line | (more == 0.0), bulge, np.copysign(np.tan(size / 4.0), bulge))


def _rounded(
    out: FloatArray, gone: BoolArray, frame: _Frame, d: float, corner: BoolArray
) -> tuple[FloatArray, BoolArray]:
    """The moved vertices with each corner replaced by the arc round it, and which segments have gone."""
    index = np.repeat(np.arange(len(out)), 1 + corner)
    second = np.cumsum(1 + corner)[corner] - 1
    first, at = second - 1, index[second]
    out, gone = out[index], gone[index]
    for rows, direction in ((first, frame.before[at]), (second, frame.leaving[at])):
        points = frame.points[at] - 1j * d * direction
        out[rows, 0], out[rows, 1] = points.real, points.imag
    out[first, 2] = np.tan(frame.turn[at] / 4.0)
    gone[first] = False
    return out, gone


def _runs_into_itself(source: Outline, moved: Outline, distance: float) -> bool:
    """Whether parts of the moved outline cross, or lie nearer to the source than the distance moved [mm]."""
    s = moved.segments
    every = np.arange(len(s))
    probes = np.concatenate((s.start, s.points(every, s.length / 2.0)))
    if float(source.segments.nearest(probes)[0].min()) < distance - _NEAR:
        return True
    i, j = box_pairs(*segment_bounds(s), 0.0)
    first, second = np.minimum(i, j), np.maximum(i, j)
    gap = second - first
    # Neighbours meet at their joint with a common tangent, and so nowhere else.
    pairs = zip(first[gap > 1].tolist(), second[gap > 1].tolist(), strict=True)
    return any(_cross(s, i, j) for i, j in pairs if j - i < len(s) - 1)


def _cross(s: Segments, i: int, j: int) -> bool:
    """Whether two segments have a point in common."""
    if s.bulge[i] == 0.0:
        i, j = j, i
    centre, radius = s.centre[i], s.radius[i]
    if s.bulge[i] == 0.0:
        ends = np.array(
            [_side(s, i, s.start[j]), _side(s, i, s.end[j]), _side(s, j, s.start[i]), _side(s, j, s.end[i])]
        )
        return bool(ends[0] * ends[1] < 0.0 and ends[2] * ends[3] < 0.0)
    if s.bulge[j] == 0.0:
        along = (s.end[j] - s.start[j]) / s.length[j]
        middle = float((centre - s.start[j]) @ along)
        foot = s.start[j] + middle * along
    else:
        between = s.centre[j] - centre
        gap = float(np.hypot(*between))
        if gap == 0.0:
            return False
        towards = between / gap
        along = np.array([-towards[1], towards[0]])
        foot = centre + towards * ((gap * gap + radius * radius - s.radius[j] ** 2) / (2.0 * gap))
        middle = 0.0
    square = radius * radius - float((foot - centre) @ (foot - centre))
    if square < 0.0:
        return False
    half = float(np.sqrt(square))
    for t in (-half, half):
        point = foot + t * along
        on_other = 0.0 < middle + t < s.length[j] if s.bulge[j] == 0.0 else _in_sector(s, j, point)
        if on_other and _in_sector(s, i, point):
            return True
    return False


def _side(s: Segments, i: int, point: FloatArray) -> float:
    u, w = s.end[i] - s.start[i], point - s.start[i]
    return float(u[0] * w[1] - u[1] * w[0])


def _in_sector(s: Segments, i: int, point: FloatArray) -> bool:
    return bool((point - s.centre[i]) @ s.middle[i] >= s.radius[i] * s.half_cosine[i])
