"""Parallel curves with their folds trimmed away.

Every point of a parallel curve lies on the parallel of one segment or on the round join about one corner, and is as far
from the whole outline as it should be. So the raw parallels and joins are cut where they meet, the pieces that come
nearer to the outline than the distance are dropped, and what is left is put together again. What a corner on the other
side would need to be linked is always nearer than the distance, so it is never made.
"""

from __future__ import annotations

from math import hypot, pi
from typing import TYPE_CHECKING

import numpy as np

from core.geometry.lines.crossings import SNAP, TOUCH, Pieces, cut
from core.geometry.lines.cycles import cycles
from core.geometry.lines.outline import FloatArray, IntArray, Outline, Segments, segment_bounds
from core.geometry.lines.segment_sets import box_pairs

if TYPE_CHECKING:
    from collections.abc import Iterable

# How much nearer than the distance a piece may be [mm]: first only what rounding explains, then what tangents that are
# not quite tangents in the outline can bring about.
_NEARER = (1e-9, 1e-8, 1e-7, 1e-6)
_LOOSE = 1e-3  # pieces shorter than this may be left over where an outline has such tangents [mm]
_EMPTY = 1e-6  # loops round less than this are nothing [mm²]
_CUSP = 1e-7  # corners this near to half a turn are cusps [rad]
_SAME = 2.0 * SNAP


def trimmed_parallel(outline: Outline, distance: float) -> tuple[Outline, ...]:
    """The parallel curve of a simple outline without its folds, in exact lines and arcs; corners are rounded.

    Args:
        outline: run either way; its lines and arcs must not cross each other.
        distance: outwards [mm]; negative is inwards.

    Returns:
        The loops, largest first: counter-clockwise ones, and clockwise ones round what an outward move closes in.
        Nothing is left where an inward move is larger than the outline is wide.

    Raises:
        ValueError: the outline is not simple, so that its parallel can't be closed.

    >>> square = Outline([[0, 0, 0], [10, 0, 0], [10, 10, 0], [0, 10, 0]])
    >>> [round(loop.area, 9) for loop in trimmed_parallel(square, -1.0)]
    [64.0]
    """
    outline = outline.oriented(ccw=True)
    if distance == 0.0:
        return (outline,)
    raw, first, last = _raw_parallel(outline, distance)
    if not len(raw):
        return ()
    boxes = segment_bounds(raw)
    pieces = cut(raw, boxes, first, last, *box_pairs(*boxes, TOUCH), both_ends=True)
    away = _least_distance(outline.segments, pieces.midpoints(np.arange(len(pieces))))
    place: FloatArray | None = None
    for nearer in _NEARER:
        kept = _without_doubles(pieces, np.flatnonzero(away >= abs(distance) - nearer))
        kept, loose = _without_loose_ends(pieces, kept)
        if not len(loose) or (pieces.stop - pieces.begin)[loose].max() <= _LOOSE:
            loops = [pieces.outline(chain) for chain in _chains(pieces, kept)]
            return tuple(sorted((p for p in loops if abs(p.area) >= _EMPTY), key=lambda p: -abs(p.area)))
        place = pieces.nodes[pieces.first[loose[0]]]
    assert place is not None
    raise ValueError(f"the parallel curve can't be closed at ({place[0]:.6f}, {place[1]:.6f}); is the outline simple?")


def _raw_parallel(outline: Outline, distance: float) -> tuple[Segments, IntArray, IntArray]:
    """The parallels of the segments and the round joins, with the nodes they start and end at."""
    s = outline.segments
    n = len(s)
    index = np.arange(n)
    radius = np.where(s.bulge != 0.0, s.radius, 1.0) + np.sign(s.bulge) * distance
    whole = np.flatnonzero(radius > SNAP)
    moved = [
        points + distance * np.stack((along[:, 1], -along[:, 0]), axis=1)
        for points, along in ((s.start, s.tangents(index, np.zeros(n))), (s.end, s.tangents(index, s.length)))
    ]
    start, end, bulge = moved[0][whole], moved[1][whole], s.bulge[whole]
    into, out_of = s.tangents(index, s.length), s.tangents(np.roll(index, -1), np.zeros(n))
    turn = np.arctan2(into[:, 0] * out_of[:, 1] - into[:, 1] * out_of[:, 0], (into * out_of).sum(axis=1))
    # At a cusp the outline turns back; whether to the left or to the right, the curvatures tell.
    bend = s.sweep / np.where(s.length > 0.0, s.length, 1.0)
    back = np.where(bend + np.roll(bend, -1) > 0.0, -pi, pi)
    turn = np.where(np.abs(turn) > pi - _CUSP, back, turn)
    a, b = moved[1], np.roll(moved[0], -1, axis=0)
    gap = np.hypot(*(b - a).T)
    joins = np.flatnonzero((turn * distance > 0.0) & (gap > SNAP))
    start, end = np.concatenate((start, a[joins])), np.concatenate((end, b[joins]))
    bulge = np.concatenate((bulge, np.tan(turn[joins] / 4.0)))
    # Ends that belong together become one node; the rest are free ends.
    parts = len(start)
    first, last = np.arange(parts), np.arange(parts, 2 * parts)
    gaps = np.hypot(end[:, None, 0] - start[None, :, 0], end[:, None, 1] - start[None, :, 1])
    nearest = np.argmin(gaps, axis=1) if parts else np.zeros(0, dtype=np.int64)
    close = gaps[np.arange(parts), nearest] <= SNAP
    last = np.where(close, nearest, last)
    return Segments.of(start, end, bulge), first, last


def _least_distance(s: Segments, points: FloatArray) -> FloatArray:
    return s.nearest(points)[0]


def _without_doubles(pieces: Pieces, kept: IntArray) -> IntArray:
    """One of each group of pieces that run along each other the same way, none of those that run opposite ways."""
    low = np.minimum(pieces.first[kept], pieces.last[kept])
    high = np.maximum(pieces.first[kept], pieces.last[kept])
    order = np.lexsort((high, low))
    groups: dict[tuple[int, int], list[int]] = {}
    for a, b, piece in zip(low[order].tolist(), high[order].tolist(), kept[order].tolist(), strict=True):
        groups.setdefault((a, b), []).append(piece)
    dropped: set[int] = set()
    for group in groups.values():
        for position, piece in enumerate(group):
            for other in group[:position]:
                if piece in dropped or other in dropped:
                    continue
                pair = np.array([other, piece])
                middle, along = pieces.midpoints(pair), pieces.directions(pair)
                if hypot(*(middle[1] - middle[0])) <= _SAME:
                    dropped.add(piece)
                    if float(along[0] @ along[1]) < 0.0:
                        dropped.add(other)
    return np.array([p for p in kept.tolist() if p not in dropped], dtype=np.int64)


def _without_loose_ends(pieces: Pieces, kept: IntArray) -> tuple[IntArray, IntArray]:
    """The pieces that have a neighbour at both ends, and those that were dropped because they had none."""
    loose: list[int] = []
    while True:
        starts, ends = set(pieces.first[kept].tolist()), set(pieces.last[kept].tolist())
        bad = [p for p in kept.tolist() if int(pieces.first[p]) not in ends or int(pieces.last[p]) not in starts]
        if not bad:
            return kept, np.array(loose, dtype=np.int64)
        loose += bad
        kept = np.setdiff1d(kept, bad)


def _chains(pieces: Pieces, kept: IntArray) -> Iterable[list[int]]:
    listed = kept.tolist()

    def choose(arrived: int, choices: list[int]) -> int:
        by_piece = {listed[c]: c for c in choices}
        return by_piece[pieces.sharpest(listed[arrived], list(by_piece))]

    try:
        found = cycles(pieces.first[kept].tolist(), pieces.last[kept].tolist(), choose)
    except LookupError as e:
        x, y = pieces.nodes[e.args[0]].tolist()
        raise ValueError(f"the parallel curve can't be closed at ({x:.6f}, {y:.6f}); is the outline simple?") from e
    return ([listed[k] for k in cycle] for cycle in found)
