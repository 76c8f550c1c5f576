"""Where a straight line runs through an area: the spans of a section."""

from __future__ import annotations

from math import hypot
from typing import TYPE_CHECKING

import numpy as np

from core.geometry.lines.crossings import SNAP, TOUCH
from core.geometry.lines.rays import Rays
from core.geometry.lines.segment_sets import closed_segments
from core.geometry.regions.region import Region

if TYPE_CHECKING:
    from collections.abc import Sequence

    from core.geometry.lines.outline import BoolArray, FloatArray, Outline, Point


def cut_spans(area: Region | Sequence[Outline], at: Point, direction: Point) -> FloatArray:
    """(k, 2) where the line through ``at`` along ``direction`` enters and leaves an area, in order [mm].

    Args:
        area: a region, or loops that bound one; points inside an odd number of loops belong to it.
        at: the point distances are counted from.
        direction: of the line; distances grow along it. Its length does not matter.

    Returns:
        Signed distances from ``at``. Touching in a point is no span, nor is running along an edge.

    Raises:
        ValueError: the direction is zero.

    >>> from core.geometry.lines.outline import circle_outline
    >>> cut_spans([circle_outline((0.0, 0.0), 5.0)], (0.0, 3.0), (1.0, 0.0)).tolist()
    [[-4.0, 4.0]]
    """
    size = hypot(*direction)
    if not size > 0.0:
        raise ValueError("the cutting line needs a direction")
    c, d = direction[0] / size, direction[1] / size
    loops = area.loops if isinstance(area, Region) else tuple(area)
    if not loops:
        return np.empty((0, 2))
    s, owner, _ = closed_segments(loops)
    start, end, centre = (
        np.stack(((p[:, 0] - at[0]) * c + (p[:, 1] - at[1]) * d, (p[:, 1] - at[1]) * c - (p[:, 0] - at[0]) * d), axis=1)
        for p in (s.start, s.end, s.centre)
    )
    # Hits may be one too many, never one too few: the places between them decide what is a span.
    on = start[np.abs(start[:, 1]) <= TOUCH, 0]
    lines = np.flatnonzero((s.bulge == 0.0) & ((start[:, 1] < 0.0) != (end[:, 1] < 0.0)))
    fraction = start[lines, 1] / (start[lines, 1] - end[lines, 1])
    through = start[lines, 0] + fraction * (end[lines, 0] - start[lines, 0])
    arcs = np.flatnonzero((s.bulge != 0.0) & (np.abs(np.where(s.bulge != 0.0, centre[:, 1], 0.0)) <= s.radius))
    up = -centre[arcs, 1]
    half = np.sqrt((s.radius[arcs] - up) * (s.radius[arcs] + up))
    limit = s.radius[arcs] * np.cos(s.sweep[arcs] / 2.0)
    middle_x = s.middle[arcs, 0] * c + s.middle[arcs, 1] * d
    middle_y = s.middle[arcs, 1] * c - s.middle[arcs, 0] * d
    hits = [on, through]
    for side in (-half, half):
        reached = side * middle_x + up * middle_y >= limit - TOUCH
        hits.append((centre[arcs, 0] + side)[reached])
    t = np.sort(np.concatenate(hits))
    t = t[np.concatenate((np.ones(min(len(t), 1), dtype=np.bool_), t[1:] != t[:-1]))]
    if len(t) < 2:
        return np.empty((0, 2))
    middle = (t[1:] + t[:-1]) / 2.0
    points = np.stack((at[0] + c * middle, at[1] + d * middle), axis=1)
    rays = Rays(s, owner, len(loops))
    inside = _is_odd(rays, points)
    near = np.flatnonzero(s.nearest(points)[0] <= TOUCH)
    if len(near):
        # Along an edge, only what has the area on both sides is in it.
        off = SNAP * np.array([-d, c])
        inside[near] = _is_odd(rays, points[near] + off) & _is_odd(rays, points[near] - off)
    before, behind = np.concatenate(([False], inside)), np.concatenate((inside, [False]))
    spans: FloatArray = np.stack((t[behind & ~before], t[before & ~behind]), axis=1)
    long: FloatArray = spans[spans[:, 1] - spans[:, 0] > TOUCH]
    return long


def _is_odd(rays: Rays, points: FloatArray) -> BoolArray:
    odd: BoolArray = rays.inside(points).sum(axis=1) % 2 == 1
    return odd
