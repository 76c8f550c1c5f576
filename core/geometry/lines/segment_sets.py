"""The segments of several outlines in one set, and which of them come near each other."""

from __future__ import annotations

from math import ceil, sqrt
from typing import TYPE_CHECKING

import numpy as np

from core.geometry.lines.segments import Segments, indices

if TYPE_CHECKING:
    from collections.abc import Sequence

    from core.geometry.lines.outline import Outline
    from core.geometry.lines.segments import FloatArray, IntArray

_FEW_BOXES = 300  # of so few those that overlap along X are not too many
_ROUNDING = 1e-6  # [mm]
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
    left, right = low[order, 0], high[order, 0] + pad
    bottom, top = low[order, 1], high[order, 1] + pad
    strips = 1 if len(order) <= _FEW_BOXES else ceil(sqrt(len(order)))
    size = (float(top.max()) - float(bottom.min())) / strips if strips > 1 else 0.0
    if size > 0.0:
        i, j = _strip_pairs((left, right), (bottom, top), size)
    else:
        i, j = _overlapping(left, right)
        near = indices((bottom[j] <= top[i]) & (bottom[i] <= top[j]))
        i, j = i[near], j[near]
    return order[i], order[j]


def _overlapping(begin: FloatArray, end: FloatArray) -> tuple[IntArray, IntArray]:
    """Pairs i < j (m,) of spans, sorted by where they begin, that overlap."""
    count = np.searchsorted(begin, end, side="right") - np.arange(1, len(begin) + 1)
    ends = np.cumsum(count)
    i = np.repeat(np.arange(len(begin)), count)
    return i, np.arange(len(i)) + np.repeat(np.arange(1, len(begin) + 1) - (ends - count), count)


def _strip_pairs(
    x: tuple[FloatArray, FloatArray], y: tuple[FloatArray, FloatArray], size: float
) -> tuple[IntArray, IntArray]:
    """As ``box_pairs``, of boxes sorted by where they begin along X: looked for in strips along it of this width.

    Each pair is taken in the strip where the upper one begins, so that it comes once; the pairs are in the same order
    as without strips.
    """
    (left, right), (bottom, top) = x, y
    first, last = (((edge - bottom.min()) / size).astype(np.int64) for edge in y)
    count = last - first + 1
    box = np.repeat(np.arange(len(left)), count)
    strip = first[box] + np.arange(len(box)) - np.repeat(np.cumsum(count) - count, count)
    order = np.argsort(strip, kind="stable")
    box, strip = box[order], strip[order]
    # All strips one after the other: rounding of such long ways must not lose what just meets.
    away = strip * (float(right.max() - left[0]) + 1.0) - left[0]
    i, j = _overlapping(left[box] + away, right[box] + away + _ROUNDING)
    here, i, j = strip[i], box[i], box[j]
    near = (here == np.maximum(first[i], first[j])) & (left[j] <= right[i])
    near &= (bottom[j] <= top[i]) & (bottom[i] <= top[j])
    k = indices(near)
    i, j = i[k], j[k]
    order = np.lexsort((j, i))
    return i[order], j[order]


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
    i, j = box_pairs(np.concatenate((low, there_low)), np.concatenate((high, there_high)), 0.0)
    i, j = np.minimum(i, j), np.maximum(i, j)
    mixed = indices((i < m) & (j >= m))
    return i[mixed], j[mixed] - m
