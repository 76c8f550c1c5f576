"""Where a feature goes when the curves it follows change."""

from __future__ import annotations

from math import hypot
from typing import TYPE_CHECKING

from core.housing import Follows
from core.shapes import direction, support

if TYPE_CHECKING:
    from core.curves import Curves
    from core.outline import Outline, Point


def follow_point(at: Point, follows: Follows, old: Curves, new: Curves) -> Point:
    """The place [mm] of a feature that stood at ``at`` on the old curves.

    What follows seat or outside keeps its part of the outline's length from the +X axis and its normal distance; what
    follows the spread keeps its fraction of the opening's half length and half width.
    """
    if follows is Follows.SEAT:
        return _beside(at, old.seat_outer, new.seat_outer)
    if follows is Follows.OUTSIDE:
        return _beside(at, old.outside, new.outside)
    if follows is Follows.SPREAD:
        return at[0] * _stretch(old, new, (1.0, 0.0)), at[1] * _stretch(old, new, (0.0, 1.0))
    return at


def follow_offset(offset: float, angle: float, follows: Follows, old: Curves, new: Curves) -> float:
    """The offset [mm] of a strip at ``angle`` [degrees] from the centre, to the left of its direction."""
    d = direction(angle)
    normal = (-d[1], d[0])
    if follows is Follows.SPREAD:
        return offset * _stretch(old, new, normal)
    if follows in (Follows.SEAT, Follows.OUTSIDE):
        seat = follows is Follows.SEAT
        was, now = (old.seat_outer, new.seat_outer) if seat else (old.outside, new.outside)
        moved = support(now, normal) - support(was, normal)
        # A strip in the middle has no side to follow.
        return offset + moved * ((offset > 0) - (offset < 0))
    return offset


def _stretch(old: Curves, new: Curves, along: Point) -> float:
    if new.inside == old.inside:
        return 1.0
    return support(new.inside, along) / support(old.inside, along)


def _beside(at: Point, old: Outline, new: Outline) -> Point:
    if new == old:
        return at
    found = old.nearest([at])
    normal = old.normals_at(found.station)[0]
    side = (at[0] - found.foot[0, 0]) * normal[0] + (at[1] - found.foot[0, 1]) * normal[1]
    distance = float(found.distance[0]) * (1.0 if side >= 0 else -1.0)
    part = (float(found.station[0]) - old.axis_station) / old.length
    station = new.axis_station + part * new.length
    foot = new.points_at([station])[0]
    out = new.normals_at([station])[0]
    return float(foot[0] + out[0] * distance), float(foot[1] + out[1] * distance)


def distance_between(a: Point, b: Point) -> float:
    """Distance [mm] of two places."""
    return hypot(a[0] - b[0], a[1] - b[1])
