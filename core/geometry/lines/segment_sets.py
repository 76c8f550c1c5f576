"""The segments of several outlines in one set, and which of them come near each other."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from core.geometry.lines.segments import Segments, indices

if TYPE_CHECKING:
    from collections.abc import Sequence

    from core.geometry.lines.outline import Outline
    from core.geometry.lines.segments import FloatArray, IntArray

_FEW_BOXES = 300  # of so few those that overlap along X are not too many
_FEW = 1 << 18  # pairs that are soon held against each other
_FIELDS = Segments.__struct_fields__


def joined(parts: Sequence[Segments]) -> Segments:
    """Several sets of segments as one.

    >>> line = Segments.of(np.zeros((1, 2)), np.array([[3.0, 4.0]]), np.zeros(1))
    >>> joined([line, line]).length.tolist()
    [5.0, 5.0]
    """
    return parts[0] if len(parts) == 1 else Segments(*(np.concatenate([getattr(p, f) for p in parts]) for f in _FIELDS))


def closed_segments(outlines: Sequence[Outline]) -> tuple[Segments, IntArray, IntArray]:
    """The segments of closed outlines in one set, the outline (n,) each belongs to and the segment (n,) after it.

    >>> from core.geometry.lines.outline import polygon_outline
    >>> s, outline, after = closed_segments([polygon_outline([[0, 0], [3, 0], [0, 4]])])
    >>> s.length.tolist(), outline.tolist(), after.tolist()
    ([3.0, 5.0, 4.0], [0, 0, 0], [1, 2, 0])
    """
    counts = np.array([len(o) for o in outlines], dtype=np.int64)
    vertices = np.concatenate([o.vertices for o in outlines]) if len(outlines) else np.empty((0, 3))
    after = np.arange(1, len(vertices) + 1)
    ends = np.cumsum(counts)
    after[ends - 1] = ends - counts
    start = vertices[:, :2]
    return Segments.of(start, start[after], vertices[:, 2]), np.repeat(np.arange(len(outlines)), counts), after


def box_pairs(low: FloatArray, high: FloatArray, pad: float) -> tuple[IntArray, IntArray]:
    """Pairs i, j (m,), each once, of the boxes (n, 2) that come within ``pad`` [mm] of each other in x and in y.

    >>> low = np.array([[0.0, 0.0], [3.0, 0.0], [9.0, 0.0]])
    >>> i, j = box_pairs(low, low + 2.0, 1.0)
    >>> i.tolist(), j.tolist()
    ([0], [1])
    """
    order = np.argsort(low[:, 0], kind="stable")
    if len(low) > _FEW_BOXES:
        i, j = _tree_pairs(low[order], high[order] + pad)
        return order[i], order[j]
    left, right = low[order, 0], high[order, 0] + pad
    bottom, top = low[order, 1], high[order, 1] + pad
    i, j = _overlapping(left, right)
    near = indices((bottom[j] <= top[i]) & (bottom[i] <= top[j]))
    return order[i[near]], order[j[near]]


def _tree_pairs(low: FloatArray, high: FloatArray) -> tuple[IntArray, IntArray]:
    i, j = _tree_meetings((low, high), (low, high))
    once = indices(i < j)
    i, j = i[once], j[once]
    sorted_ = np.argsort(i * len(low) + j)  # as without a tree: which of two equals comes first must not hang on it
    return i[sorted_], j[sorted_]


def _tree_meetings(
    one: tuple[FloatArray, FloatArray], other: tuple[FloatArray, FloatArray]
) -> tuple[IntArray, IntArray]:
    """`boxes_meeting` by a tree of the other boxes."""
    import shapely  # noqa: PLC0415 - the window's start does not wait for it: few parts have so many

    here, there = (shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1]) for low, high in (one, other))
    i, j = shapely.STRtree(there).query(here)
    return i, j


def _overlapping(begin: FloatArray, end: FloatArray) -> tuple[IntArray, IntArray]:
    """Pairs i < j (m,) of spans, sorted by where they begin, that overlap."""
    count = np.searchsorted(begin, end, side="right") - np.arange(1, len(begin) + 1)
    ends = np.cumsum(count)
    i = np.repeat(np.arange(len(begin)), count)
    return i, np.arange(len(i)) + np.repeat(np.arange(1, len(begin) + 1) - (ends - count), count)


def boxes_meeting(
    one: tuple[FloatArray, FloatArray], other: tuple[FloatArray, FloatArray]
) -> tuple[IntArray, IntArray]:
    """Pairs i, j (k,) of boxes of one set, corners (m, 2) and (m, 2), that meet boxes of another, both (n, 2).

    >>> low = np.array([[0.0, 0.0], [3.0, 0.0]])
    >>> i, j = boxes_meeting((low, low + 1.0), (low + 0.5, low + 2.0))
    >>> i.tolist(), j.tolist()
    ([0, 1], [0, 1])
    """
    (low, high), (there_low, there_high) = one, other
    m = len(low)
    if m * len(there_low) <= _FEW:
        (x0, y0), (x1, y1) = low.T[:, :, None], high.T[:, :, None]
        near = (there_low[:, 0] <= x1) & (there_high[:, 0] >= x0)
        near &= (there_low[:, 1] <= y1) & (there_high[:, 1] >= y0)
        found = near.nonzero()
        return found[0], found[1]
    return _tree_meetings(one, other)
