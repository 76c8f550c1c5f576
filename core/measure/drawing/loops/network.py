"""A drawing's strokes as a network: segments between nodes, each thing there once.

Words: a *node* is a place where segments end; a *loose* node has one segment only.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from core.geometry.lines.segments import FLAT_BULGE, Segments, indices

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from core.geometry.lines.outline import BoolArray, FloatArray, IntArray, Point
    from core.measure.drawing.progress import Tick
    from core.measure.drawing.results import Stroke

MEETS_MM: Final = 1e-3
"""Ends this close meet, and curves this close lie on each other: nobody could draw the difference."""

# Vertices this close, as a part of the drawing's larger side, are one; and at most this close.
_WELD_PART, _WELD_MM = 1e-6, 5e-4
_MOST_PAIRS: Final = 10_000_000
_PAIRS_AT_ONCE: Final = 100_000
_MOST_AT_ONCE: Final = 1 << 13


class Network(Struct, frozen=True, eq=False):
    """Segments between nodes; none bends by more than a half circle and what joining has lengthened it by.

    Attributes:
        nodes: (k, 2) [mm].
        off: (k,) how far what ends there left the way that it was drawn on, at most [mm].
        first, last: (m,) the nodes where the segments begin and end.
        bulge: (m,) as in ``Segments``.
        stroke: (m,) the stroke each comes from.
        is_round: (m,) whether that stroke is closed by itself: then it is a loop, whatever else runs along it.
    """

    nodes: FloatArray
    off: FloatArray
    first: IntArray
    last: IntArray
    bulge: FloatArray
    stroke: IntArray
    is_round: BoolArray

    def __len__(self) -> int:
        return len(self.bulge)

    def segments(self) -> Segments:
        """All segments, worked out anew."""
        return Segments.of(self.nodes[self.first], self.nodes[self.last], self.bulge)

    def degree(self) -> IntArray:
        """(k,) how many segments end at each node."""
        return np.bincount(np.concatenate((self.first, self.last)), minlength=len(self.nodes))

    def at(self, index: IntArray | BoolArray) -> Network:
        """Some of the segments."""
        return replace(
            self,
            first=self.first[index],
            last=self.last[index],
            bulge=self.bulge[index],
            stroke=self.stroke[index],
            is_round=self.is_round[index],
        )

    def renamed(self, name: IntArray) -> Network:
        """The same with the nodes ``name`` (k,) in the places of 0 to k - 1; what comes down to a point is gone."""
        off = self.off.copy()
        np.maximum.at(off, name, self.off)
        new = replace(self, off=off, first=name[self.first], last=name[self.last])
        return new.at(new.first != new.last)


def network(strokes: Sequence[Stroke], scale: float) -> Network:
    """The network of strokes, ``scale`` mm to their unit; vertices that are one to drawing accuracy are one node."""
    counts = np.array([len(s.vertices) for s in strokes])
    # There and back along one line is how some draw a line.
    is_closed = np.array([s.is_closed and (len(s.vertices) > 2 or bool(s.vertices[:, 2].any())) for s in strokes])
    vertices = np.concatenate([s.vertices for s in strokes]) * np.array([scale, scale, 1.0])
    owner = np.repeat(np.arange(len(strokes)), counts)
    ends = np.cumsum(counts) - 1
    first = np.arange(len(vertices))
    last = first + 1
    last[ends] = ends - counts + 1
    used = np.ones(len(vertices), dtype=np.bool_)
    used[ends[~is_closed]] = False
    first, last, bulge, owner = first[used], last[used], vertices[used, 2], owner[used]
    bulge[np.abs(bulge) < FLAT_BULGE] = 0.0
    points = vertices[:, :2]
    # More than a half circle: its two halves keep their shape when an end moves a little.
    steep = indices(np.abs(bulge) > 1.0 + FLAT_BULGE)
    if len(steep):
        a, b, k = points[first[steep]], points[last[steep]], bulge[steep]
        chord = b - a
        middle = (a + b) / 2.0 + k[:, None] / 2.0 * np.column_stack((chord[:, 1], -chord[:, 0]))
        new = len(points) + np.arange(len(steep))
        points = np.concatenate((points, middle))
        first, last = np.concatenate((first, new)), np.concatenate((last, last[steep]))
        last[steep] = new
        bulge[steep] = np.tan(np.arctan(k) / 2.0)
        bulge, owner = np.concatenate((bulge, bulge[steep])), np.concatenate((owner, owner[steep]))
    low = points.min(axis=0)
    size = float(np.ptp(points, axis=0).max())
    name = _welded(points - low, max(min(_WELD_PART * size, _WELD_MM), size / 2.0**30))
    _, at = np.unique(name, return_index=True)
    whole = Network(points[at], np.zeros(len(at)), name[first], name[last], bulge, owner, is_closed[owner])
    return whole.at(whole.first != whole.last)


def _welded(points: FloatArray, reach: float) -> IntArray:
    """(n,) a number for each point, the same for those that lie within ``reach`` of each other."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components

    n = len(points)
    if not reach > 0.0:
        return np.zeros(n, dtype=np.int64)
    every, links = np.arange(n), []
    # Points that a line of one grid parts lie in one cell of another.
    for shift in ((0.0, 0.0), (0.5, 0.0), (0.0, 0.5), (0.5, 0.5)):
        cell = np.floor(points / (2.0 * reach) + np.array(shift)).astype(np.int64)
        _, at, name = np.unique((cell[:, 0] << 32) + cell[:, 1], return_index=True, return_inverse=True)
        links.append(at[name])
    other = np.concatenate(links)
    one = np.tile(every, len(links))
    graph = coo_array((np.ones(len(one), dtype=np.int8), (one, other)), shape=(n, n))
    return np.asarray(connected_components(graph, directed=False)[1], dtype=np.int64)


def point(row: FloatArray) -> Point:
    """A row as a point."""
    return float(row[0]), float(row[1])


def near_pairs(
    low: FloatArray, high: FloatArray, other_low: FloatArray, other_high: FloatArray, tick: Tick
) -> Iterator[tuple[IntArray, IntArray]]:
    """Pairs of the other boxes, (k, 2) corners, and of the boxes (n, 2) that meet, some pairs at a time.

    Where both corners of the other boxes are the same array, these are points.

    A drawing where nearly everything is near everything is not looked through to its end: nobody means that.
    """
    import shapely  # noqa: PLC0415 - it costs the window's start

    tree = shapely.STRtree(shapely.box(*low.T, *high.T))
    others = shapely.points(other_low) if other_low is other_high else shapely.box(*other_low.T, *other_high.T)
    begin, step, total = 0, 64, 0
    while begin < len(others) and total < _MOST_PAIRS:
        tick(begin / len(others))
        one, other = tree.query(others[begin : begin + step])
        yield one + begin, other
        begin, total = begin + step, total + len(one)
        step = int(np.clip(_PAIRS_AT_ONCE * step / (len(one) + 1), 16, min(4 * step, _MOST_AT_ONCE)))
