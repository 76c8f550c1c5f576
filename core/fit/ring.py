"""A rim on the floor of its seat: how far it can be pushed, and how much of it then rests on metal.

Bearing width: at a station of the rim's outer edge, of the rim's normal there (carried along with the rim) the length
that lies over the floor. The floor ends where the fillets of the walls begin, since a rim rides up on a fillet, and at
openings and holes; how far the rim reaches past the floor's edge at a wall is measured square to that wall.

Pushed over: in every direction the rim travels until its outer edge meets the outer wall or its inner edge the inner
wall. To first order a gap closes by the travel's part along the rim's normal; all directions are searched so. Where rim
and wall run parallel that is exact where they touch, which is where the bearing is narrowest; elsewhere the worst
direction is measured anew on the curves themselves. Each end of the insert is pushed alone, since the insert can tilt.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import cos, inf, pi, sin
from typing import TYPE_CHECKING

import numpy as np

from core.fit.words import circle_radius
from core.gaps import STATIONS, stations
from core.insert_end import Side

if TYPE_CHECKING:
    from collections.abc import Sequence

    from core.fit.case import Case
    from core.housing import Piece
    from core.outline import FloatArray, IntArray, Outline, Point
    from core.slabs import ResolvedPiece

TIE_MM = 1e-6
"""Widths that differ by less are the same."""

_DIRECTIONS = 72
_EVERY = 4  # of this many stations one is looked at in the first search
_MANY = 240  # stations that a hole is near to; one that is near to more is no small hole
_WORK = 4000  # stations times segments of holes, for one direction; with more the search is coarser
_CRITICAL = 48  # stations that are measured anew for the worst direction
_FINE = 65  # places beside the worst station that a hole is looked for at
_TURNS = 2.0 * pi / _DIRECTIONS * np.array([0.0, -0.75, -0.5, -0.25, 0.25, 0.5, 0.75])
_EVEN_MM = 1e-9
_TOUCH_MM = 1e-9
_BELOW_MM = 1e-6
_ASIDE_MM = 1e-9
_LEVEL = 1e-12  # [mm], of a chord's rise along a line


@dataclass(frozen=True, slots=True)
class Hollow:
    """A hole in the metal under the floor, and the parts that its edge comes from."""

    outline: Outline
    sources: frozenset[int]


@dataclass(frozen=True, slots=True)
class Push:
    """An insert pushed over, and where its bearing is narrowest then.

    Attributes:
        angle: direction [rad] from +X.
        travel: how far [mm].
        width: the narrowest bearing [mm].
        outer_end, inner_end: the ends of the rim's normal there, with the rim where it was pushed.
        outer, inner: what is missing there at the rim's outer and inner edge [mm].
        hollow: what is missing there over openings and holes [mm].
        is_any: whether every direction is as bad.
    """

    angle: float
    travel: float
    width: float
    outer_end: Point
    inner_end: Point
    outer: float
    inner: float
    hollow: float
    is_any: bool

    @property
    def missing(self) -> float:
        """Of the rim's width, what does not rest there [mm]."""
        return self.outer + self.inner + self.hollow


class Ring:
    """A rim on its floor: gaps at its stations, and what the floor lacks.

    Attributes:
        width: of the rim [mm].
        fillet: radius between walls and floor [mm].
        outer, inner: (n,) gaps [mm] at the stations of the rim's outer edge, to the outer wall, and across the rim to
            the inner wall; the latter None where there is no inner wall.
        hollows: holes that the rim may come to lie over.
    """

    def __init__(self, case: Case, resolved: ResolvedPiece, piece: Piece) -> None:
        self.width = case.insert.rim_at(resolved.end).width
        self.fillet = piece.seat.corner_radius
        c = resolved.curves
        self.rim = c.rim_outer
        self.rim_area = c.rim_outer.area - c.rim_inner.area
        self.stations = stations(c.rim_outer, STATIONS)
        earlier = [part.outline for part in resolved.parts if part.kind == "earlier seat"]
        self._outer_walls = [c.seat_outer, *earlier[:1]]
        # Without a lip there is no inner wall: the floor runs on to the opening.
        self._inner_walls = [c.seat_inner, *earlier[1:]] if piece.lip.height > 0.0 else []
        self.outer = case.gap(resolved.end, Side.OUTER).gap
        self.inner: FloatArray | None = None
        if self._inner_walls:
            profile = case.gap(resolved.end, Side.INNER).gap
            first = float(profile[0])
            if not earlier and float(np.abs(profile - first).max()) < _EVEN_MM:
                self.inner = np.full(STATIONS, first)
            else:
                edge = self.stations.points - self.width * self.stations.normals
                self.inner = np.max([wall.signed_distance(edge) for wall in self._inner_walls], axis=0)
        self._coarse: IntArray = np.arange(0, STATIONS, _EVERY)
        self._near: IntArray = self._coarse[:0]
        self.hollows = self._find_hollows(resolved, piece)
        # With long holes, whose edges are smooth, fewer stations tell as much.
        work = STATIONS * sum(len(hollow.outline) for hollow in self.hollows)
        self._every = np.union1d(self._coarse, self._near) if work > 4 * _WORK else np.arange(STATIONS)

    def _find_hollows(self, resolved: ResolvedPiece, piece: Piece) -> list[Hollow]:
        s = self.stations
        middle = s.points - self.width / 2.0 * s.normals
        reach = float(self.outer.max())
        if self.inner is not None:
            reach = min(reach, float(self.inner.max()))
        reach = self.width / 2.0 + max(reach, 0.0)
        is_held = piece.earlier_seat is not None or (piece.opening is not None and piece.opening.held is not None)
        is_held = is_held or any(getattr(feature, "held", None) is not None for feature in piece.features)
        # Between two of the coarse stations a hole may be nearer than to both of them, by less than half a step.
        slack = _EVERY / 2.0 * s.step
        if self.inner is not None and not is_held:
            # Opening and pockets lie in the lip, and the lip can't come under the rim: only holes are left.
            holes = [part for part in resolved.parts if part.kind == "hole"]
            if not holes:
                return []
            at = np.array([part.centre for part in holes])
            radii = np.array([circle_radius(part) for part in holes])
            off = at[:, None, :] - middle[self._coarse]
            if (np.hypot(off[..., 0], off[..., 1]).min(axis=1) - radii >= reach + slack).all():
                return []
        region = resolved.region_at(resolved.floor - _BELOW_MM)
        if region is None:
            return []
        maybe = region.segments.distances(middle[self._coarse]).min(axis=0) < reach + slack
        loops = [i for i in sorted(set(region.loop_of_segment[maybe].tolist())) if region.loops[i].area < 0.0]
        found: list[Hollow] = []
        near = np.zeros(STATIONS, dtype=np.bool_)
        # An edge between two stations is nearer than to both of them by at most step² / 8 over its distance.
        slack = s.step * s.step / self.width
        for i in loops:
            close = region.loops[i].segments.distances(middle).min(axis=1) < reach + slack
            if close.any():
                found.append(Hollow(region.loops[i], region.sources[i]))
                near |= close & (int(close.sum()) <= _MANY)
        self._near = np.flatnonzero(near)
        return found

    def worst_push(self) -> Push:
        """The direction in which the narrowest bearing is narrowest, and that bearing."""
        if self.is_parallel and not self.hollows:
            # Each direction is the normal somewhere, and the same happens there: all are alike.
            gaps = [self.outer] if self.inner is None else [self.outer, self.inner]
            travel = max(min(float(gap[0]) for gap in gaps), 0.0)
            return self._at(np.array([travel, 0.0]), 0.0, is_any=True)
        index = np.union1d(self._coarse, self._near)
        is_coarse = len(index) * sum(len(hollow.outline) for hollow in self.hollows) > _WORK
        if is_coarse:
            index = np.union1d(self._coarse[::2], self._near[::2])
        angles: FloatArray = np.linspace(0.0, 2.0 * pi, _DIRECTIONS // (3 if is_coarse else 1), endpoint=False)
        widths, travels = self._narrowest(angles, index)
        least = float(widths.min())
        # Of directions that are as bad, the one that the insert goes furthest in.
        tied = np.where(widths <= least + TIE_MM, travels, -1.0)
        angle = float(angles[int(np.argmax(tied >= tied.max() - TIE_MM))])
        is_any = float(widths.max()) - least <= TIE_MM
        turn = 3.0 if is_coarse else 1.0
        while not is_any and turn > 1e-2:
            turned = angle + turn * _TURNS
            found, _ = self._narrowest(turned, index)
            best = int(found.argmin())
            # Ties stay where they are: there is nothing to gain elsewhere.
            angle = float(turned[best if found[best] < found[0] - _EVEN_MM else 0])
            turn /= 4.0
        return self._measured(angle, is_any=is_any)

    def centred(self) -> Push:
        """The bearing of the rim where it is drawn."""
        return self._at(np.zeros(2), 0.0, is_any=True)

    def area(self) -> float:
        """Rim area over the floor, centred [mm²]."""
        s, index = self.stations, self._every
        if not self.hollows and self._is_clear:
            return self.rim_area
        outer, inner = self._missing(index, np.zeros(len(index)))
        bend = s.curvature[index]
        stop = np.maximum(self.width - inner, outer)
        # The integral of 1 − κ t: further in, a step of the outer edge stands for less length by its curvature κ.
        area = (stop - outer) * (1.0 - bend * (outer + stop) / 2.0)
        if self.hollows:
            area = area - self._hollow(s.points[index], s.normals[index], outer, inner, bend)
        # Each station stands for half the way to both neighbours.
        share = (np.roll(index, -1) - np.roll(index, 1)) % STATIONS / 2.0 * s.step
        return float((np.maximum(area, 0.0) * share).sum())

    def takes_most(self, push: Push) -> Hollow | None:
        """The hole that takes most of the bearing where it is narrowest."""
        if not self.hollows:
            return None
        origin = np.array([push.outer_end])
        inward = (np.array([push.inner_end]) - origin) / self.width
        span = np.zeros(1), np.full(1, self.width), np.zeros(1)
        return max(self.hollows, key=lambda hollow: float(length_inside(hollow.outline, origin, inward, *span)[0]))

    def _travel(self, angles: FloatArray, index: IntArray) -> tuple[FloatArray, FloatArray]:
        """(k,) how far the rim goes in k directions [rad] to first order, and (k, m) how its normals lie to them."""
        n = self.stations.normals[index]
        # Not a matrix product: for two terms that would only wake the linear algebra's threads.
        along = np.multiply.outer(np.cos(angles), n[:, 0]) + np.multiply.outer(np.sin(angles), n[:, 1])
        # The greatest closing rate: gap / along is least where along / gap is greatest.
        rate = np.max(along / np.maximum(self.outer[index], _TOUCH_MM), axis=1)
        if self.inner is not None:
            rate = np.maximum(rate, np.max(-along / np.maximum(self.inner[index], _TOUCH_MM), axis=1))
        return np.where(rate > 0.0, 1.0 / np.maximum(rate, 1e-12), 0.0), along

    def _narrowest(self, angles: FloatArray, index: IntArray) -> tuple[FloatArray, FloatArray]:
        """(k,) the narrowest bearing when pushed in k directions, and (k,) the travels, to first order."""
        travel, along = self._travel(angles, index)
        outer, inner = self._missing(index, travel[:, None] * along)
        width = self.width - outer - inner
        if self.hollows:
            points, normals = self.stations.points[index], self.stations.normals[index]
            shifts = travel[:, None] * np.stack((np.cos(angles), np.sin(angles)), axis=1)
            for k, shift in enumerate(shifts):
                width[k] -= self._hollow(points + shift, normals, outer[k], inner[k])
        return np.maximum(width.min(axis=1), 0.0), travel

    def _missing(self, index: IntArray, closed: FloatArray) -> tuple[FloatArray, FloatArray]:
        """What is missing of the bearing at both edges, where the outer gap has closed by ``closed`` [mm]."""
        outer = np.clip(self.fillet - self.outer[index] + closed, 0.0, self.width)
        if self.inner is None:
            return outer, np.zeros_like(outer)
        return outer, np.clip(self.fillet - self.inner[index] - closed, 0.0, self.width)

    def _hollow(
        self,
        points: FloatArray,
        normals: FloatArray,
        outer: FloatArray,
        inner: FloatArray,
        bend: FloatArray | None = None,
    ) -> FloatArray:
        """(m,) length of rim normals over no metal [mm], between what is missing at their ends; see `length_inside`."""
        total = np.zeros(len(points))
        stop = np.maximum(self.width - inner, outer)
        bend = total if bend is None else bend
        for hollow in self.hollows:
            total = total + length_inside(hollow.outline, points, -normals, outer, stop, bend)
        return total

    def _measured(self, angle: float, *, is_any: bool) -> Push:
        """One direction, on the curves themselves."""
        every = np.arange(STATIONS)
        travels, along = self._travel(np.array([angle]), every)
        travel, rate = float(travels[0]), along[0]
        d = np.array([cos(angle), sin(angle)])
        if travel > 0.0 and not self.is_parallel:
            closed = travel * rate
            left = self.outer - closed
            if self.inner is not None:
                left = np.minimum(left, self.inner + closed)
            index = np.argsort(left, kind="stable")[:_CRITICAL]
            for _ in range(2):
                least = np.minimum(*self._clearances(index, travel * d))
                first = int(least.argmin())
                travel = max(travel + float(least[first]) / max(abs(float(rate[index[first]])), 0.5), 0.0)
        return self._at(travel * d, angle, is_any=is_any)

    @cached_property
    def is_parallel(self) -> bool:
        """Whether both walls run parallel to the rim; then the first order gives the travel exactly."""
        gaps = [self.outer] if self.inner is None else [self.outer, self.inner]
        return all(float(gap.max() - gap.min()) < _EVEN_MM for gap in gaps)

    @cached_property
    def _is_clear(self) -> bool:
        """Whether the rim, centred, reaches past the floor's edge at no wall."""
        least = float(self.outer.min()) if self.inner is None else min(float(self.outer.min()), float(self.inner.min()))
        return least >= self.fillet

    def _clearances(self, index: IntArray, shift: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Gaps of the shifted rim to the outer and the inner wall at some stations [mm]; infinite without a wall."""
        p, n = self.stations.points[index] + shift, self.stations.normals[index]
        closed = n[:, 0] * shift[0] + n[:, 1] * shift[1]
        outer = _clear(p, self._outer_walls, self.outer[index] - closed)
        if self.inner is None:
            return outer, np.full(len(index), inf)
        return outer, _clear(p - self.width * n, self._inner_walls, self.inner[index] + closed)

    def _at(self, shift: FloatArray, angle: float, *, is_any: bool) -> Push:
        """The bearing of the rim shifted by ``shift``, at the station where it is narrowest."""
        s, index = self.stations, self._every
        n = s.normals[index]
        outer, inner = self._missing(index, n[:, 0] * shift[0] + n[:, 1] * shift[1])
        width = self.width - outer - inner
        if self.hollows:
            width = width - self._hollow(s.points[index] + shift, n, outer, inner)
        if shift.any() and not self.is_parallel and (outer.any() or inner.any()):
            index = index[np.argsort(width, kind="stable")[:_CRITICAL]]
            exact_outer, exact_inner = self._clearances(index, shift)
            outer = np.clip(self.fillet - exact_outer, 0.0, self.width)
            inner = np.clip(self.fillet - exact_inner, 0.0, self.width)
            width = self.width - outer - inner
            if self.hollows:
                width = width - self._hollow(s.points[index] + shift, s.normals[index], outer, inner)
        first = int(width.argmin())
        station = int(index[first])
        p, n = s.points[station] + shift, s.normals[station]
        past_outer, past_inner, hollow = float(outer[first]), float(inner[first]), 0.0
        if self.hollows:
            p, n, hollow = self._beside(station, shift, past_outer, past_inner)
        q = p - self.width * n
        return Push(
            angle,
            float(np.hypot(*shift)),
            max(self.width - past_outer - past_inner - hollow, 0.0),
            (float(p[0]), float(p[1])),
            (float(q[0]), float(q[1])),
            past_outer,
            past_inner,
            hollow,
            is_any,
        )

    def _beside(
        self, station: int, shift: FloatArray, outer: float, inner: float
    ) -> tuple[FloatArray, FloatArray, float]:
        """Point, normal and hollow length where a hole takes most, up to the next stations on both sides."""
        reach = self.stations.step * (STATIONS / len(self._every))
        around = self.stations.stations[station] + reach * np.linspace(-1.0, 1.0, _FINE)
        points, normals = self.rim.points_at(around) + shift, self.rim.normals_at(around)
        found = self._hollow(points, normals, np.full(_FINE, outer), np.full(_FINE, inner))
        # The middle one is the station itself: it stays unless there is more beside it.
        best = int(found.argmax()) if float(found.max()) > float(found[_FINE // 2]) + _EVEN_MM else _FINE // 2
        return points[best], normals[best], float(found[best])


def _clear(points: FloatArray, walls: Sequence[Outline], rough: FloatArray) -> FloatArray:
    """(m,) clear distance of points from the wall that is there, the furthest [mm].

    ``rough`` is nearly that distance already, and tells on which side of the wall a point lies.
    """
    away: list[FloatArray] = [wall.segments.distances(points).min(axis=1) for wall in walls]
    if len(walls) == 1:
        return np.copysign(away[0], rough)
    # Of two walls the rough distance is to the further one; clear of that, the nearer one is passed or nearer still.
    signed = [np.where(np.abs(a - rough) <= np.abs(a + rough), a, -a) for a in away]
    return np.maximum(*signed)


def length_inside(
    outline: Outline, origin: FloatArray, along: FloatArray, begin: FloatArray, stop: FloatArray, bend: FloatArray
) -> FloatArray:
    """(m,) how much of each straight span lies inside an outline, whichever way it runs.

    The outline is its chords' polygon and the circular segments on its arcs; the span's length inside each is added or
    taken off, so no place where they meet can be counted twice or lost.

    ``origin`` and ``along`` are (m, 2), where a span's line starts and its unit direction; ``begin`` and ``stop`` (m,)
    are the span on that line [mm]. The length at t is weighted by 1 − bend · t; with ``bend`` 0 it is plain length.
    """

    def reach(t: FloatArray) -> FloatArray:
        t = np.clip(t, begin[:, None], stop[:, None])
        return t - bend[:, None] * t * t / 2.0

    s = outline.segments
    # A line that runs along a chord is on both of its sides: a little beside it there is only one.
    origin = origin + _ASIDE_MM * np.stack((along[:, 1], -along[:, 0]), axis=1)
    rel = s.start[None, :, :] - origin[:, None, :]
    t0 = rel[:, :, 0] * along[:, 0, None] + rel[:, :, 1] * along[:, 1, None]
    side0 = along[:, 0, None] * rel[:, :, 1] - along[:, 1, None] * rel[:, :, 0]
    t1, side1 = np.roll(t0, -1, axis=1), np.roll(side0, -1, axis=1)
    cuts = (side0 >= 0.0) != (side1 >= 0.0)
    part = side0 / np.where(cuts, side0 - side1, 1.0)
    at = t0 + part * (t1 - t0)
    # Going over to the left of the line, an edge of a counter-clockwise outline has the inside before it.
    total: FloatArray = np.where(cuts, np.where(side1 >= 0.0, 1.0, -1.0) * reach(at), 0.0).sum(axis=1)
    arcs = np.flatnonzero(s.bulge != 0.0)
    if len(arcs):
        rel = s.centre[None, arcs, :] - origin[:, None, :]
        foot = rel[:, :, 0] * along[:, 0, None] + rel[:, :, 1] * along[:, 1, None]
        away = along[:, 0, None] * rel[:, :, 1] - along[:, 1, None] * rel[:, :, 0]
        half = np.sqrt(np.maximum(s.radius[arcs] ** 2 - away * away, 0.0))
        low, high = foot - half, foot + half
        # The disc's part on the arc's side of its chord: where (p − start) × chord has the sign of the bulge.
        chord = s.end[arcs] - s.start[arcs]
        sign = np.sign(s.bulge[arcs])
        rise = sign * (along[:, 0, None] * chord[:, 1] - along[:, 1, None] * chord[:, 0])
        off = origin[:, None, :] - s.start[None, arcs, :]
        level = sign * (off[:, :, 0] * chord[:, 1] - off[:, :, 1] * chord[:, 0])
        level_line = np.abs(rise) < _LEVEL
        root = -level / np.where(level_line, 1.0, rise)
        low = np.where(rise >= _LEVEL, np.maximum(low, root), low)
        high = np.where(rise <= -_LEVEL, np.minimum(high, root), high)
        high = np.where(level_line & (level < 0.0), low, high)
        cap = np.where(high > low, reach(high) - reach(low), 0.0)
        total = total + (sign * cap).sum(axis=1)
    return total if outline.is_ccw else -total
