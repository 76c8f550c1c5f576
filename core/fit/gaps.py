"""The gap between rim and seat walls, station by station."""

from __future__ import annotations

from functools import cached_property, lru_cache
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from core.geometry.parallels.parallel import parallel_distance
from core.metal.standing import next_metal, stands
from core.words.ends import End, Side

if TYPE_CHECKING:
    from core.geometry.lines.outline import BoolArray, FloatArray, IntArray, Outline
    from core.metal.slabs import Resolved, ResolvedPiece
    from core.part.housing import Piece

STATIONS = 720
_STEP_MM = 1e-6  # of one floor over another: less is none


class GapProfile(Struct, frozen=True, eq=False, dict=True):
    """Gap from rim to one seat wall.

    Attributes:
        end, side: which piece, which wall.
        stations: (n,) along the rim from the +X axis, counter-clockwise [mm].
        gap: (n,) normal distance from rim to wall [mm]; below 0 is interference.
        rim: (n, 2) points on the rim [mm].
        wall: (n, 2) the nearest points of the wall [mm].
        rim_length, wall_length: developed lengths [mm].
        cut: (n,) gap to the new cut's own wall, where a casting's seat was cut deeper than it was: that wall stands at
            the rim's foot, though the old one may be further off [mm].
        there: (n,) whether the wall stands there; None where it does all round. Where it is gone the gap is that to the
            next metal on its side; ``wall_length`` is then that of a wall at the mean of these gaps.
    """

    end: End
    side: Side
    stations: FloatArray
    gap: FloatArray
    rim: FloatArray
    wall: FloatArray
    rim_length: float
    wall_length: float
    cut: FloatArray | None = None
    there: BoolArray | None = None

    @cached_property
    def tightest(self) -> FloatArray:
        """(n,) gap to the nearest wall at whatever height [mm]."""
        return self.gap if self.cut is None else np.minimum(self.gap, self.cut)

    @cached_property
    def least_at(self) -> int:
        """Index of the least gap."""
        return int(self.tightest.argmin())

    @cached_property
    def greatest_at(self) -> int:
        """Index of the greatest gap."""
        return int(self.gap.argmax())

    @cached_property
    def least(self) -> float:
        """The least gap, to the nearest wall at whatever height [mm]."""
        return float(self.tightest[self.least_at])

    @cached_property
    def greatest(self) -> float:
        """The greatest gap [mm]."""
        return float(self.gap[self.greatest_at])

    @cached_property
    def varies(self) -> float:
        """By how much the gap differs round the rim [mm]."""
        return self.greatest - float(self.gap.min())

    @cached_property
    def mean(self) -> float:
        """Mean gap by station [mm]."""
        return float(self.gap.mean())

    @property
    def developed_mean(self) -> float:
        """Mean gap that a yielding rim settles to: the difference of the developed lengths over 2π [mm].

        Steiner: the parallel of a closed curve at the distance d is 2πd longer.
        """
        longer = self.wall_length - self.rim_length
        return (longer if self.side is Side.OUTER else -longer) / (2.0 * np.pi)


class Stations(Struct, frozen=True, eq=False, dict=True):
    """Places on an outline, equal steps apart from its +X axis on, counter-clockwise.

    Attributes:
        outline: that they lie on.
        stations: (n,) from its vertex 0 [mm].
        segment: (n,) the segments they lie on.
        points, normals: (n, 2) on the outline [mm], and outward.
        step: length that each stands for [mm].
    """

    outline: Outline
    stations: FloatArray
    segment: IntArray
    points: FloatArray
    normals: FloatArray
    step: float

    @cached_property
    def furthest(self) -> tuple[int, int]:
        """The stations that face right, and left."""
        return int(self.normals[:, 0].argmax()), int(self.normals[:, 0].argmin())

    @cached_property
    def curvature(self) -> FloatArray:
        """(n,) of the outline [1/mm], above 0 where it bulges outward."""
        s = self.outline.segments
        curvature: FloatArray = np.sign(s.bulge[self.segment]) / s.radius[self.segment]
        return curvature


@lru_cache(maxsize=32)
def has_wall(piece: Piece | None, side: Side) -> bool:
    """Whether a seat has a wall on that side: without a lip there is none inside, the floor runs on to the opening."""
    return side is Side.OUTER or (piece is not None and piece.lip.height > 0.0)


def stations(outline: Outline, count: int) -> Stations:
    """The stations of a counter-clockwise outline."""
    places = outline.length * (np.arange(count) / count) + outline.axis_station
    segment, along = outline.locate(places)
    points, normals = outline.segments.points_and_normals(segment, along)
    return Stations(outline, places, segment, points, normals, outline.length / count)


def gap_profile(rim: Outline, wall: Outline, end: End, side: Side, count: int = STATIONS) -> GapProfile:
    """The gap at ``count`` stations of the rim; positive is clear of the wall, on either side of the ring."""
    gap, points, foot = _gaps(rim, wall, side, count)
    places = rim.length * (np.arange(count) / count)
    return GapProfile(end, side, places, gap, points, foot, rim.length, wall.length)


@lru_cache(maxsize=64)
def _gaps(rim: Outline, wall: Outline, side: Side, count: int) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Gaps (n,), places on the rim (n, 2) and on the wall (n, 2); base and lid often have the same."""
    places = stations(rim, count)
    outward = parallel_distance(rim, wall)
    if outward is not None:
        gap = np.full(count, outward if side is Side.OUTER else -outward)
        return gap, places.points, places.points + outward * places.normals
    found = wall.nearest(places.points)
    clear = wall.contains_near(places.points, found) == (side is Side.OUTER)
    gap = np.where(clear, found.distance, -found.distance)
    # A rim that lies on its wall has no inside: call rounding nought.
    gap = np.where(np.abs(gap) < 1e-9, 0.0, gap)
    return gap, places.points, found.foot


def gap_profiles(rims: Resolved, seats: Resolved) -> tuple[GapProfile, ...]:
    """Gaps of the rims of one resolved housing in the seats of another (or of the same one), base first.

    Where a casting was reworked, what counts is the wall that stands, `core.metal.walls`.
    """
    profiles: list[GapProfile] = []
    for piece in seats.pieces:
        rim_piece = rims.piece(piece.end)
        if rim_piece is not None:
            profiles += rim_gaps((rim_piece.curves.rim_outer, rim_piece.curves.rim_inner), piece)
    return tuple(profiles)


def rim_gaps(rim: tuple[Outline, Outline], piece: ResolvedPiece) -> tuple[GapProfile, ...]:
    """Gaps of a rim's outer and inner outline in one piece's seat."""
    return tuple(edge_gap(edge, piece, side) for side, edge in zip(Side, rim, strict=True))


@lru_cache(maxsize=64)
def edge_gap(edge: Outline, piece: ResolvedPiece, side: Side) -> GapProfile:
    """Gap of one outline of a rim, the outer or the inner one, to its wall of a piece's seat."""
    is_outer = side is Side.OUTER
    wall, cut = piece.walls[not is_outer], piece.curves.seat_outer if is_outer else piece.curves.seat_inner
    profile = gap_profile(edge, wall, piece.end, side)
    # Whether the old seat is deeper is asked last: that goes through all parts, and mostly both walls are one.
    if cut != wall and any(part.kind == "old seat" and part.z0 > piece.floor + _STEP_MM for part in piece.parts):
        profile = replace(profile, cut=gap_profile(edge, cut, piece.end, side).gap)
    there = stands(piece, side, profile.wall)
    return profile if there is None else _without(profile, there, piece)


def _without(profile: GapProfile, there: BoolArray, piece: ResolvedPiece) -> GapProfile:
    """The profile where parts of the wall are gone."""
    gone = np.flatnonzero(~there)
    gap, wall = profile.gap.copy(), profile.wall.copy()
    wall[gone] = next_metal(piece, profile.side, profile.rim[gone])
    gap[gone] = np.hypot(*(wall[gone] - profile.rim[gone]).T)
    cut = None if profile.cut is None else np.where(there, profile.cut, gap)
    longer = 2.0 * np.pi * float(gap.mean()) * (1.0 if profile.side is Side.OUTER else -1.0)
    return replace(profile, gap=gap, wall=wall, cut=cut, there=there, wall_length=profile.rim_length + longer)
