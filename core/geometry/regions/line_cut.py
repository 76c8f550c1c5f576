"""One straight line through many loops at once: what a section, with its many slabs and sizes, is read from.

`cut_line.cut_spans` cuts one area and decides what touches the line by looking at both of its sides. A section asks for
some thirty areas that have most of their loops in common, so here each loop is cut once, and all of them together.
"""

from __future__ import annotations

from math import atan2, pi
from typing import TYPE_CHECKING

import numpy as np

from core.geometry.lines.crossings import TOUCH
from core.geometry.lines.segment_sets import closed_segments
from core.geometry.regions.cut_line import cut_spans

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from core.geometry.lines.outline import BoolArray, FloatArray, IntArray, Outline, Point

# Crossings nearer than this are one: the loops of neighbouring slabs share their vertices only to rounding.
SAME_MM = 1e-7

Span = tuple[float, float]


class LineCut:
    """A line, and where it crosses outlines.

    Args:
        at: the point distances are counted from [mm].
        along: unit direction of the line.
        loops: outlines that will be asked for; others may be, one at a time.

    >>> from core.geometry.lines.outline import circle_outline
    >>> LineCut((0.0, 3.0), (1.0, 0.0)).spans([circle_outline((0.0, 0.0), 5.0)])
    [(-4.0, 4.0)]
    """

    def __init__(self, at: Point, along: Point, loops: Iterable[Outline] = ()) -> None:
        self.at, self.along = at, along
        self._known: dict[Outline, list[float] | None] = {}
        self._add(list(dict.fromkeys(loops)))

    def spans(self, loops: Sequence[Outline]) -> list[Span]:
        """Where the line is inside an odd number of loops that don't cross, in order [mm]; what touches is one span."""
        self._add([loop for loop in loops if loop not in self._known])
        crossings: list[float] = []
        for loop in loops:
            own = self._known[loop]
            if own is None:
                return _joined(map(tuple, cut_spans(tuple(loops), self.at, self.along).tolist()))
            crossings += own
        crossings.sort()
        return _joined(zip(crossings[::2], crossings[1::2], strict=True))

    def _add(self, loops: list[Outline]) -> None:
        if not loops:
            return
        t, owner, is_unsure = _crossings(loops, self.at, self.along)
        order = np.argsort(owner, kind="stable")
        parts = np.split(t[order], np.cumsum(np.bincount(owner, minlength=len(loops)))[:-1])
        for loop, part, unsure in zip(loops, parts, is_unsure.tolist(), strict=True):
            self._known[loop] = None if unsure else part.tolist()


def _joined(spans: Iterable[Span]) -> list[Span]:
    """Spans without those of no length, those that touch made one."""
    out: list[Span] = []
    for s0, s1 in spans:
        if out and s0 - out[-1][1] <= SAME_MM:
            out[-1] = (out[-1][0], max(s1, out[-1][1]))
        elif s1 - s0 > SAME_MM:
            out.append((s0, s1))
    return out


def _crossings(loops: Sequence[Outline], at: Point, along: Point) -> tuple[FloatArray, IntArray, BoolArray]:
    """Crossings (k,) [mm], the loop (k,) of each, and the loops (n,) that the line runs along or touches.

    A vertex on the line counts as left of it, at both segments that it ends, so that each loop is crossed an even
    number of times. That says nothing of an edge on the line or an arc that touches it: those loops are unsure.
    """
    s, owner, _ = closed_segments(loops)
    c, d = along
    start, end = (
        ((p[:, 0] - at[0]) * c + (p[:, 1] - at[1]) * d, (p[:, 1] - at[1]) * c - (p[:, 0] - at[0]) * d)
        for p in (s.start, s.end)
    )
    is_unsure = np.zeros(len(loops), dtype=np.bool_)
    is_line = s.bulge == 0.0
    is_unsure[owner[is_line & (np.abs(start[1]) <= TOUCH) & (np.abs(end[1]) <= TOUCH)]] = True
    lines = np.flatnonzero(is_line & ((start[1] >= 0.0) != (end[1] >= 0.0)))
    part = start[1][lines] / (start[1][lines] - end[1][lines])
    found = [start[0][lines] + part * (end[0][lines] - start[0][lines])]
    owners = [owner[lines]]
    centre = (s.centre[:, 1] - at[1]) * c - (s.centre[:, 0] - at[0]) * d
    arcs = np.flatnonzero(~is_line)
    arcs = arcs[np.abs(centre[arcs]) <= s.radius[arcs] + TOUCH]
    up, radius = centre[arcs], s.radius[arcs]
    is_unsure[owner[arcs[np.abs(np.abs(up) - radius) <= TOUCH]]] = True
    middle = (s.centre[arcs, 0] - at[0]) * c + (s.centre[arcs, 1] - at[1]) * d
    half = np.sqrt(np.maximum((radius - up) * (radius + up), 0.0))
    # An arc rises or falls all the way between its circle's top and bottom: in quarters counted in half turns from the
    # top, an even one lies left of the centre and an odd one right of it.
    turn = np.where(s.sweep[arcs] > 0.0, 1, -1)
    first = (s.start_angle[arcs] - atan2(d, c)) / pi - 0.5
    last = first + s.sweep[arcs] / pi
    quarter = np.where(turn > 0, np.floor(first), np.ceil(first) - 1.0).astype(np.int64)
    was_left = start[1][arcs] >= 0.0
    is_over = np.zeros(len(arcs), dtype=np.bool_)
    while not is_over.all():
        extreme = quarter + (turn > 0)
        ends_here = (extreme - last) * turn >= 0.0
        at_extreme = up + np.where(extreme % 2 == 0, radius, -radius) >= 0.0
        is_left = np.where(ends_here, end[1][arcs] >= 0.0, at_extreme)
        crosses = ~is_over & (is_left != was_left)
        found.append((middle + np.where(quarter % 2 == 0, -half, half))[crosses])
        owners.append(owner[arcs[crosses]])
        is_over |= ends_here
        was_left, quarter = is_left, quarter + turn
    return np.concatenate(found), np.concatenate(owners), is_unsure
