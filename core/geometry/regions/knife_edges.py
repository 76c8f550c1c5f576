"""Knife edges in plan, and parts that are too thin throughout: where a disc of the limit does not fit into the metal.

The *disc* has the limit as its diameter. Where two edges of the metal meet under an angle φ, the disc touches both and
can't come nearer to the tip than (limit / 2) (1 / sin(φ / 2) − 1) while the edges are straight, which is more than half
the limit where φ is under 60°; where they are arcs, what counts is how far the disc really comes. So:

- a *knife edge* is a corner of the metal under 60° that the disc, pushed into it through the metal, stays farther away
  from than half the limit. Its length is that distance, from the tip to the disc: so far the metal is thinner than the
  limit.
- a part of the metal in which the disc fits nowhere is *thin throughout*. Its thickness is the diameter of the largest
  disc that fits.

The places where the disc's centre can be are bounded by the parallels of the metal's edges at half the limit; what
matters are their crossings and ends, where the disc touches two edges or rolls from one to the next.
"""

from __future__ import annotations

from math import cos, inf, pi
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from core.geometry.lines.crossings import meetings
from core.geometry.lines.outline import polygon_outline
from core.geometry.lines.segment_sets import box_pairs, joined
from core.geometry.lines.segments import Segments, indices, segment_bounds
from core.geometry.regions.region import Region
from core.geometry.regions.webs import through_metal

if TYPE_CHECKING:
    from core.geometry.lines.outline import FloatArray, IntArray, Outline, Point

SHARPEST_ANGLE: Final = pi / 3.0
"""Corners under this angle can be knife edges [rad]."""

_FITS_MM: Final = 1e-6  # a disc that overlaps an edge by less touches it
_TOUCHES_MM: Final = 1e-5
# Straight sides are touched √3 radii from the tip at most by a disc that comes nearer than its radius; bends add to it.
_NEAR_BY: Final = 5.0
_ROUND = 200  # places along a loop round a tip
_GROWING: Final = (0.2, 0.4, 0.6, 0.8)  # parts of the disc's radius
_LONGEST = 5  # edges of a part in the middle of which the disc is tried first
_HALVINGS = 12


class KnifeEdge(Struct, frozen=True):
    """A corner that the disc can't come near to.

    Attributes:
        length: from the tip to the disc [mm], straight; where the metal in between winds so that no way is found, to
            the nearest disc of all in this part, which is no farther.
        angle: of the corner [rad].
        tip, end: the corner's own place, and that of the disc nearest to it.
        loop: of the region.
    """

    length: float
    angle: float
    tip: Point
    end: Point
    loop: int


class ThinPart(Struct, frozen=True):
    """A connected part of the metal in which the disc fits nowhere.

    Attributes:
        thickness: diameter of the largest disc that does [mm].
        at: its centre.
        face: the part: outer loop and holes.
        loop: number of the outer loop in the region.
    """

    thickness: float
    at: Point
    face: tuple[Outline, ...]
    loop: int


def sharp_corners(region: Region) -> IntArray:
    """The segments (m,) of a region that end in a corner under 60° of the metal.

    >>> triangle = polygon_outline([[0, 0], [3, 0], [0, 4]])  # 90, 53 and 37 degrees
    >>> sharp_corners(Region((triangle,), (frozenset(),))).tolist()
    [0, 1]
    """
    arriving, leaving = region.segments.directions[1], region.segments.directions[0][region.next_segment]
    turn = arriving.conj() * leaving
    # Metal is on the left: its corner is half a turn less the turn to the left.
    return indices((turn.imag >= -1e-6) & (turn.real < -cos(SHARPEST_ANGLE)))


def knife_edges(region: Region, limit: float) -> tuple[KnifeEdge, ...]:
    """The knife edges of a region for discs of the diameter ``limit`` [mm], the longest first.

    Corners of parts that are thin throughout have none: see `thin_parts`.

    >>> wedge = polygon_outline([[-5, 0], [5, 0], [0, 12]])  # its sides are 13 long: sin(angle / 2) = 5 / 13
    >>> [(round(edge.length, 6), edge.tip) for edge in knife_edges(Region((wedge,), (frozenset(),)), 2.0)]
    [(1.6, (0.0, 12.0))]
    """
    if not len(sharp_corners(region)):
        return ()
    found: list[KnifeEdge] = []
    for outer, holes in region.faces:
        face = _face(outer, holes)
        corners, pushed = sharp_corners(face), _Corners(face, limit / 2.0)
        numbers = [region.loops.index(loop) for loop in face.loops]
        edges = (pushed.knife_edge(corner) for corner in corners.tolist())
        found += [replace(edge, loop=numbers[edge.loop]) for edge in edges if edge is not None]
    return tuple(sorted(found, key=lambda edge: -edge.length))


def _face(outer: Outline, holes: tuple[Outline, ...]) -> Region:
    return Region((outer, *holes), (frozenset(),) * (1 + len(holes)))


def thin_parts(region: Region, limit: float) -> tuple[ThinPart, ...]:
    """The parts of a region in which no disc of the diameter ``limit`` [mm] fits.

    >>> bar = Region((polygon_outline([[0, 0], [9, 0], [9, 2], [0, 2]]),), (frozenset(),))
    >>> [round(part.thickness, 2) for part in thin_parts(bar, 3.0)]
    [2.0]
    """
    found: list[ThinPart] = []
    doubtful = without_easy_room(region, limit)
    for outer, holes in region.faces if doubtful else ():
        number = region.loops.index(outer)
        if number not in doubtful:
            continue
        face = _face(outer, holes)
        if not len(_Room(face, limit / 2.0).centres):
            radius, at = _largest_disc(face, limit / 2.0)
            found.append(ThinPart(2.0 * radius, at, face.loops, number))
    return tuple(found)


def without_easy_room(region: Region, limit: float) -> set[int]:
    """The outer loops beside whose longest edges a disc of the diameter ``limit`` [mm] does not plainly fit.

    >>> bar = Region((polygon_outline([[0, 0], [9, 0], [9, 2], [0, 2]]),), (frozenset(),))
    >>> without_easy_room(bar, 3.0), without_easy_room(bar, 1.0)
    ({0}, set())
    """
    s, loop, radius = region.segments, region.loop_of_segment, limit / 2.0
    doubtful = {k for k, outline in enumerate(region.loops) if outline.area > 0.0}
    order = np.argsort(-s.length, kind="stable")
    for _ in range(_LONGEST):
        # The longest edge of each loop that is left, then the longest but one, and so on.
        loops, first = np.unique(loop[order], return_index=True)
        index = order[first[np.isin(loops, list(doubtful))]]
        points, normals = s.points_and_normals(index, s.length[index] / 2.0)
        fits = s.closest(points - radius * normals)[0] >= radius - _FITS_MM
        doubtful -= set(loop[index[fits]].tolist())
        order = np.delete(order, first)
        if not doubtful or not len(order):
            break
    return doubtful


def _largest_disc(face: Region, too_large: float) -> tuple[float, Point]:
    """Radius and centre of about the largest disc in a face; one of the radius ``too_large`` does not fit."""
    fits, at = 0.0, face.loops[0].points_at([0.0])[0]
    for _ in range(_HALVINGS):
        radius = (fits + too_large) / 2.0
        centres = _Room(face, radius).centres
        if len(centres):
            fits, at = radius, centres[0]
        else:
            too_large = radius
    return fits, (float(at[0]), float(at[1]))


class _Room:
    """Where the centre of a disc can be: the crossings, ends and centres of the parallels that have room for it.

    Attributes:
        centres: (m, 2) such places [mm].
    """

    def __init__(self, region: Region, radius: float) -> None:
        self.region, self.radius = region, radius
        self._parallels = _parallels(region, radius)
        s = self._parallels
        i, j = box_pairs(*segment_bounds(s), 0.0)
        arcs = region.segments.bulge > 0.0
        places = np.concatenate((meetings(s, i, j)[4], s.start, s.end, region.segments.centre[arcs]))
        self.centres = self._with_room(places)

    def _with_room(self, places: FloatArray) -> FloatArray:
        s = self.region.segments
        places = places[np.isfinite(places).all(axis=1)]
        if len(places):
            places = places[s.closest(places)[0] >= self.radius - _FITS_MM]
        return places[self.region.contains(places)] if len(places) else places

    def nearest_seen(self, at: FloatArray) -> FloatArray | None:
        """The nearest centre from which the straight way to a place runs through metal; None where there is none."""
        every = np.arange(len(self._parallels))
        feet = self._with_room(self._parallels.feet(every, np.tile(at, (len(every), 1))))
        centres = np.concatenate((self.centres, feet))
        order = np.argsort(np.hypot(*(centres - at).T), kind="stable")
        for begin in range(0, len(order), 16):
            block = centres[order[begin : begin + 16]]
            seen = indices(through_metal(self.region, np.tile(at, (len(block), 1)), block))
            if len(seen):
                nearest: FloatArray = block[seen[0]]
                return nearest
        return None


class _Corners:
    """The corners of a region, and discs of growing radius that are pushed into them."""

    def __init__(self, region: Region, radius: float) -> None:
        self.region, self.radius = region, radius
        self._rooms: dict[float, _Room] = {}

    def _room(self, radius: float) -> _Room:
        if radius not in self._rooms:
            self._rooms[radius] = _Room(self.region, radius)
        return self._rooms[radius]

    def knife_edge(self, corner: int) -> KnifeEdge | None:
        """The knife edge at the end of a segment; None where the disc comes near enough, or fits nowhere."""
        s, after = self.region.segments, int(self.region.next_segment[corner])
        tip = s.end[corner]
        centre = self._nearest(corner, tip)
        if centre is None:
            return None
        away = float(np.hypot(*(centre - tip)))
        length = away - self.radius
        if length <= self.radius + _FITS_MM:
            return None
        end = centre + (tip - centre) * (self.radius / away)
        angle = (pi - float(np.angle(s.directions[1][corner].conj() * s.directions[0][after]))) % (2.0 * pi)
        at, there = (float(tip[0]), float(tip[1])), (float(end[0]), float(end[1]))
        return KnifeEdge(length, angle, at, there, int(self.region.loop_of_segment[corner]))

    def _nearest(self, corner: int, tip: FloatArray) -> FloatArray | None:
        """The centre of the disc next to a tip through the metal; None where no disc fits at all."""
        full = self._room(self.radius)
        if not len(full.centres):
            return None
        found = [full.nearest_seen(tip)]
        if found[0] is None or np.hypot(*(found[0] - tip)) > 2.0 * self.radius:
            found += [self._round_bends(tip), self._along_both_sides(corner)]
        known = [centre for centre in found if centre is not None] or list(full.centres)
        return min(known, key=lambda centre: float(np.hypot(*(centre - tip))))

    def _round_bends(self, tip: FloatArray) -> FloatArray | None:
        """What is not seen from the tip may be seen from the centre of a smaller disc, which comes nearer to it."""
        at, way = tip, 0.0
        for part in _GROWING:
            step = self._room(part * self.radius).nearest_seen(at)
            if step is not None:
                way += float(np.hypot(*(step - at)))
                at = step
        last = self._room(self.radius).nearest_seen(at)
        if last is None:
            return None
        way += float(np.hypot(*(last - at)))
        is_near = float(np.hypot(*(last - tip))) <= 2.0 * self.radius
        return None if is_near and way > _NEAR_BY / 2.0 * self.radius else last

    def _along_both_sides(self, corner: int) -> FloatArray | None:
        """Of the discs that touch the corner's loop on both sides of the tip, the next along the loop."""
        number = int(self.region.loop_of_segment[corner])
        loop, first = self.region.loops[number], int(np.searchsorted(self.region.loop_of_segment, number))
        own, centres = loop.segments, self._room(self.radius).centres
        at, touched = np.nonzero(own.distances(centres) <= self.radius + _TOUCHES_MM)
        ahead = loop.starts[touched] + own.along(touched, centres[at]) - loop.starts[corner - first + 1]
        ahead = np.mod(ahead, loop.length)
        least_ahead, least_behind = np.full((2, len(centres)), inf)
        np.minimum.at(least_ahead, at, ahead)
        np.minimum.at(least_behind, at, loop.length - ahead)
        way = least_ahead + least_behind
        best = int(way.argmin())
        if way[best] >= loop.length - _TOUCHES_MM:
            return None
        # A disc that comes near through the metal touches both sides near the tip; another is near across air only.
        is_near = np.hypot(*(centres[best] - loop.points_at([loop.starts[corner - first + 1]])[0])) <= 2.0 * self.radius
        if is_near and way[best] > _NEAR_BY * self.radius:
            return None
        # The disc cuts the tip off, so no other one lies between the two.
        begin = loop.starts[corner - first + 1] - least_behind[best]
        round_ = np.linspace(begin, begin + way[best], _ROUND)
        cut_off = polygon_outline(np.concatenate((loop.points_at(round_), centres[best : best + 1])))
        others = centres[np.hypot(*(centres - centres[best]).T) > _TOUCHES_MM]
        return None if cut_off.contains(others).any() else centres[best]


def _parallels(region: Region, distance: float) -> Segments:
    """The parallels of all edges inside the metal, and the arcs about its inward corners; what vanishes is left out."""
    s, after = region.segments, region.next_segment
    leaving, arriving = s.directions
    n0, n1 = _left(leaving) * distance, _left(arriving) * distance
    kept = indices((s.bulge <= 0.0) | (s.radius > distance))
    edges = Segments.of(s.start[kept] + n0[kept], s.end[kept] + n1[kept], s.bulge[kept])
    turn = np.angle(arriving.conj() * leaving[after])
    k = indices(turn < -1e-9)
    corners = Segments.of(s.end[k] + n1[k], s.end[k] + n0[after[k]], np.tan(turn[k] / 4.0))
    return joined((edges, corners))


def _left(directions: np.ndarray) -> FloatArray:
    left: FloatArray = np.array((-directions.imag, directions.real)).T
    return left
