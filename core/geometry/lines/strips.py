"""How far an outline reaches in a direction, and straight strips across it."""

from __future__ import annotations

from functools import lru_cache
from math import cos, radians, sin
from typing import TYPE_CHECKING

import numpy as np

from core.geometry.lines.outline import polygon_outline

if TYPE_CHECKING:
    from collections.abc import Sequence

    from core.geometry.lines.outline import Outline, Point


def direction(angle: float) -> Point:
    """Unit vector at ``angle`` [degrees] from +X; exact along the axes.

    >>> direction(90.0)
    (0.0, 1.0)
    """
    quarter = angle % 360.0
    exact = {0.0: (1.0, 0.0), 90.0: (0.0, 1.0), 180.0: (-1.0, 0.0), 270.0: (0.0, -1.0)}
    return exact.get(quarter) or (cos(radians(quarter)), sin(radians(quarter)))


@lru_cache(maxsize=1024)
def support(outline: Outline, along: Point) -> float:
    """How far the outline reaches in the unit direction ``along`` from the origin [mm], arcs included.

    >>> round(support(polygon_outline([[0, 0], [3, 0], [3, 4], [0, 4]]), (0.6, 0.8)), 9)
    5.0
    """
    return supports(outline, (along,))[0]


def supports(outline: Outline, ways: Sequence[Point]) -> list[float]:
    """How far the outline reaches in each of some unit directions from the origin [mm], arcs included.

    >>> supports(polygon_outline([[0, 0], [3, 0], [3, 4], [0, 4]]), [(1.0, 0.0), (0.0, 1.0)])
    [3.0, 4.0]
    """
    s = outline.segments
    d = np.array(ways).T
    arcs = s.lines_and_arcs[1]
    passes = s.middle[arcs] @ d >= s.half_cosine[arcs, None]
    bulge = np.where(passes, s.centre[arcs] @ d + s.radius[arcs, None], -np.inf)
    reach: list[float] = np.maximum((s.start @ d).max(axis=0), bulge.max(axis=0, initial=-np.inf)).tolist()
    return reach


def strip(across: Outline, angle: float, offset: float, width: float, overlap: float) -> Outline | None:
    """A straight strip that spans ``across`` and ends ``overlap`` beyond it; None where a side misses the outline.

    Args:
        across: what the strip must reach over.
        angle: of the strip from +X [degrees].
        offset: of its middle line from the origin, to the left of its direction [mm].
        width: of the strip [mm].
        overlap: how far its ends go past the outline's furthest points in its direction [mm].

    >>> strip(polygon_outline([[0, 0], [3, 0], [3, 4], [0, 4]]), 0.0, 2.0, 2.0, 5.0).bounds
    (-5.0, 1.0, 8.0, 3.0)
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
