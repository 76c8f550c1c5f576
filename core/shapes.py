"""Plan outlines of single features: strips, pads, lugs with their fillets."""

from __future__ import annotations

from math import cos, hypot, radians, sin
from typing import TYPE_CHECKING

import numpy as np

from core.cut_line import cut_spans
from core.errors import FoldsOverError
from core.outline import Outline, bulge_through, circle_outline, polygon_outline
from core.parallel import parallel

if TYPE_CHECKING:
    from collections.abc import Callable

    from core.housing import Badge, Lug
    from core.outline import Point


def direction(angle: float) -> Point:
    """Unit vector at ``angle`` [degrees] from +X; exact along the axes."""
    quarter = angle % 360.0
    exact = {0.0: (1.0, 0.0), 90.0: (0.0, 1.0), 180.0: (-1.0, 0.0), 270.0: (0.0, -1.0)}
    return exact.get(quarter) or (cos(radians(quarter)), sin(radians(quarter)))


def support(outline: Outline, along: Point) -> float:
    """How far the outline reaches in the unit direction ``along`` from the origin [mm], arcs included."""
    s = outline.segments
    d = np.array(along)
    reach = np.max(s.start @ d)
    arcs = np.flatnonzero(s.bulge != 0.0)
    passes = s.middle[arcs] @ d >= np.cos(s.sweep[arcs] / 2.0)
    hits = arcs[passes]
    if len(hits):
        reach = max(reach, np.max(s.centre[hits] @ d + s.radius[hits]))
    return float(reach)


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
    if high >= support(across, n) or -low >= support(across, (d[1], -d[0])):
        return None
    start, stop = -support(across, (-d[0], -d[1])) - overlap, support(across, d) + overlap
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
    found = outside.nearest([(lug.x, lug.y)])
    foot = found.foot[0]
    pad = circle_outline((lug.x, lug.y), lug.pad / 2.0)
    reach = float(found.distance[0])
    if reach < 1e-6 or bool(outside.contains([(lug.x, lug.y)])[0]):
        return (pad,)  # the pad's centre lies in the wall already; no neck is needed
    d = ((foot[0] - lug.x) / reach, (foot[1] - lug.y) / reach)
    n = (-d[1], d[0])
    # The neck's corners must end inside the wall although the outside curves away from them.
    half = min(lug.neck, lug.pad) / 2.0
    sink = min(2.0 + half * half / max(reach, half), 8.0)

    def at(along: float, aside: float) -> tuple[float, float]:
        return lug.x + d[0] * along + n[0] * aside, lug.y + d[1] * along + n[1] * aside

    neck = polygon_outline([at(0.0, -half), at(reach + sink, -half), at(reach + sink, half), at(0.0, half)])
    fillets = [_fillet(outside, at, half * side, lug.fillet, d) for side in (-1.0, 1.0)] if lug.fillet > 0 else []
    return (pad, neck, *(f for f in fillets if f is not None))


def _fillet(
    outside: Outline, at: Callable[[float, float], Point], aside: float, radius: float, d: Point
) -> Outline | None:
    """The fillet between a neck's edge and the outside: tangent to both; None where it finds no room."""
    side = 1.0 if aside > 0 else -1.0
    try:
        ring = parallel(outside, radius, where="lug fillet")
    except FoldsOverError:
        return None
    start = at(0.0, aside + side * radius)
    spans = cut_spans((ring,), start, d)
    if len(spans) == 0 or spans[0, 0] <= 0.0:
        return None
    along = float(spans[0, 0])
    centre = at(along, aside + side * radius)
    on_neck = at(along, aside)
    foot = outside.nearest([centre]).foot[0]
    on_wall = (float(foot[0]), float(foot[1]))
    if abs(hypot(on_wall[0] - centre[0], on_wall[1] - centre[1]) - radius) > 1e-6:
        return None
    root = at(along + radius, aside - side * min(radius, abs(aside)) / 2.0)
    # The patch: from the neck's edge round the fillet to the wall, then back under the metal of neck and wall.
    inward = at(along + 2.0 * radius, aside + side * radius / 2.0)
    ccw = side > 0
    arc = bulge_through(on_neck, on_wall, centre, ccw=ccw)
    return Outline([[*on_neck, arc], [*on_wall, 0.0], [*inward, 0.0], [*root, 0.0]]).oriented(ccw=True)
