"""Plan outlines of single features: strips, pads, lugs with their fillets."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import cos, radians, sin, sqrt
from typing import TYPE_CHECKING

import numpy as np

from core.geometry.lines.outline import Outline, bulge_through, circle_outline, polygon_outline

if TYPE_CHECKING:
    from collections.abc import Sequence

    from core.geometry.lines.foot import Foot
    from core.geometry.lines.outline import Point
    from core.part.housing import Badge, Lug


def direction(angle: float) -> Point:
    """Unit vector at ``angle`` [degrees] from +X; exact along the axes."""
    quarter = angle % 360.0
    exact = {0.0: (1.0, 0.0), 90.0: (0.0, 1.0), 180.0: (-1.0, 0.0), 270.0: (0.0, -1.0)}
    return exact.get(quarter) or (cos(radians(quarter)), sin(radians(quarter)))


@lru_cache(maxsize=1024)
def support(outline: Outline, along: Point) -> float:
    """How far the outline reaches in the unit direction ``along`` from the origin [mm], arcs included."""
    return supports(outline, (along,))[0]


def supports(outline: Outline, ways: Sequence[Point]) -> list[float]:
    """How far the outline reaches in each of some unit directions from the origin [mm], arcs included."""
    s = outline.segments
    d = np.array(ways).T
    arcs = s.lines_and_arcs[1]
    passes = s.middle[arcs] @ d >= s.half_cosine[arcs, None]
    bulge = np.where(passes, s.centre[arcs] @ d + s.radius[arcs, None], -np.inf)
    reach: list[float] = np.maximum((s.start @ d).max(axis=0), bulge.max(axis=0, initial=-np.inf)).tolist()
    return reach


def strip(across: Outline, angle: float, offset: float, width: float, overlap: float) -> Outline | None:
    """A straight strip that spans ``across`` and ends ``overlap`` beyond it; None when it misses the outline.

    Args:
        across: what the strip must reach over.
        angle: of the strip from +X [degrees].
        offset: of its middle line from the origin, to the left of its direction [mm].
        width: of the strip [mm].
        overlap: how far its ends go past the outline's furthest points in its direction [mm].
    """
    d = direction(angle)
    n = (-d[1], d[0])
    low, high = offset - width / 2.0, offset + width / 2.0
    left, right, back, ahead = supports(across, (n, (d[1], -d[0]), (-d[0], -d[1]), d))
    if high >= left or -low >= right:
        return None
    start, stop = -back - overlap, ahead + overlap
    corners = ((start, low), (stop, low), (stop, high), (start, high))
    return polygon_outline([(d[0] * t + n[0] * u, d[1] * t + n[1] * u) for t, u in corners])


def badge_outline(badge: Badge) -> Outline:
    """An obround, or a circle where length and width agree."""
    length, width = max(badge.length, badge.width), min(badge.length, badge.width)
    straight = (length - width) / 2.0
    if straight <= 0.0:
        return circle_outline((badge.x, badge.y), width / 2.0)
    r = width / 2.0
    flat = Outline([[straight, -r, 1.0], [straight, r, 0.0], [-straight, r, 1.0], [-straight, -r, 0.0]])
    upright = flat if badge.length >= badge.width else flat.turned(np.pi / 2.0)
    return upright.moved(badge.x, badge.y)


def lug_outlines(lug: Lug, outside: Outline) -> tuple[Outline, ...]:
    """Pad, neck and fillets of a lug: the filled outlines that together are its metal in plan.

    The neck runs from the pad's centre to the nearest place of the outside and on into the wall, so that the union
    leaves no seam.
    """
    at = (lug.x, lug.y)
    foot = outside.foot_of(at)
    reach = outside.signed_distance_to(at, foot)
    pad = circle_outline(at, lug.pad / 2.0)
    if reach < 1e-6:
        return (pad,)  # the pad's centre lies in the wall already; no neck is needed
    d = ((foot.at[0] - lug.x) / reach, (foot.at[1] - lug.y) / reach)
    half = min(lug.neck, lug.pad) / 2.0
    # The neck's corners must end inside the wall although the outside curves away from them.
    sink = min(2.0 + half * half / max(reach, half), 8.0)
    axes = _Axes(at, d)
    neck = polygon_outline(
        [axes.place(t, u) for t, u in ((0.0, -half), (reach + sink, -half), (reach + sink, half), (0.0, half))]
    )
    fillets = _fillets(axes, outside, foot.segment, reach, half, lug.fillet) if lug.fillet > 0.0 else ()
    return (pad, neck, *fillets)


@dataclass(frozen=True, slots=True)
class _Axes:
    """A lug's own axes: along its neck towards the wall, and to the left of it."""

    origin: Point
    d: Point

    def place(self, along: float, aside: float) -> Point:
        """The point at these distances [mm]."""
        (x, y), (c, s) = self.origin, self.d
        return x + c * along - s * aside, y + s * along + c * aside


def _fillets(
    axes: _Axes, outside: Outline, segment: int, reach: float, half: float, radius: float
) -> tuple[Outline, ...]:
    """The fillets between both edges of a neck and the outside, tangent to both; none where there is no room."""
    wide = half + radius
    along = _fillet_along(outside, segment, reach, wide, radius)
    if along is None or along <= 0.0:
        return ()
    centres = [axes.place(along, wide * side) for side in (-1.0, 1.0)]
    patches: list[Outline] = []
    for side, centre in zip((-1.0, 1.0), centres, strict=True):
        foot = outside.foot_of(centre)
        settled = along
        if abs(foot.distance - radius) > 1e-9:
            tangent = _settled_centre(axes, outside, along, wide * side, radius)
            if tangent is None:
                continue
            settled, centre, foot = tangent  # noqa: PLW2901 - the guess gives way to what it led to
        on_neck = axes.place(settled, half * side)
        on_wall = foot.at
        # Round the fillet from neck to wall, then back under the metal of both.
        inward = axes.place(settled + 2.0 * radius, side * (half + radius / 2.0))
        root = axes.place(settled + radius, side * (half - min(radius, half) / 2.0))
        arc = bulge_through(on_neck, on_wall, centre, ccw=side > 0)
        patches.append(Outline([[*on_neck, arc], [*on_wall, 0.0], [*inward, 0.0], [*root, 0.0]]).oriented(ccw=True))
    return tuple(patches)


def _fillet_along(outside: Outline, segment: int, reach: float, wide: float, radius: float) -> float | None:
    """How far along the neck the fillet's centre lies, if the wall went on as at the neck's foot.

    The neck stands square on the wall, so the wall's centre of curvature is on its middle line.
    """
    s = outside.segments
    bend = float(s.bulge[segment])
    if bend == 0.0:
        return reach - radius
    r = float(s.radius[segment])
    # Convex (counter-clockwise) walls bend away from the lug, concave ones towards it.
    square = (r + radius) ** 2 - wide**2 if bend > 0.0 else (r - radius) ** 2 - wide**2
    if square <= 0.0:
        return None
    return reach + r - sqrt(square) if bend > 0.0 else reach - r + sqrt(square)


def _settled_centre(
    axes: _Axes, outside: Outline, along: float, aside: float, radius: float
) -> tuple[float, Point, Foot] | None:
    """Where a fillet's centre lies when its wall is another segment than the neck's: distance along, centre, foot."""
    for _ in range(60):
        centre = axes.place(along, aside)
        foot = outside.foot_of(centre)
        off = outside.signed_distance_to(centre, foot) - radius
        if abs(off) < 1e-11:
            return along, centre, foot
        along += off
        if along <= 0.0:
            return None
    return None
