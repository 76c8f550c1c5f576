"""The segments of several outlines in one set, and which of them come near each other."""

from __future__ import annotations

from dataclasses import fields
from typing import TYPE_CHECKING

import numpy as np

from core.geometry.lines.segments import Segments, indices

if TYPE_CHECKING:
    from collections.abc import Sequence

    from core.geometry.lines.outline import Outline
    from core.geometry.lines.segments import FloatArray, IntArray

_FIELDS = tuple(f.name for f in fields(Segments))


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
    count = np.searchsorted(left, right, side="right") - np.arange(1, len(order) + 1)
    ends = np.cumsum(count)
    i = np.repeat(np.arange(len(order)), count)
    j = np.arange(len(i)) + np.repeat(np.arange(1, len(order) + 1) - (ends - count), count)
    near = indices((bottom[j] <= top[i]) & (bottom[i] <= top[j]))
    return order[i[near]], order[j[near]]
