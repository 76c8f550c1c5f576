"""Outlines as Qt's paths, with true arcs, in millimetres."""

from __future__ import annotations

from functools import cached_property, lru_cache
from math import ceil, cos, pi, sin, tan
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct
from PySide6.QtCore import QByteArray, QDataStream, QPointF, Qt
from PySide6.QtGui import QPainterPath, QPolygonF

if TYPE_CHECKING:
    from collections.abc import Iterable

    from core.geometry.lines.outline import FloatArray, Outline

# One cubic over 30 degrees strays 4e-7 of the radius from its arc; Qt's own arcTo, over 90 degrees, 3e-4: at 100 mm
# that is 0.03 mm, a tenth of the least gap, and would show in a gap that is zoomed in on.
_MOST_PER_CUBIC: Final = pi / 6.0
_MOST_SEGMENTS: Final = 12  # in one stroked path
_ELEMENT: Final = np.dtype([("kind", ">i4"), ("x", ">f8"), ("y", ">f8")])  # of a path in Qt's streams


def add_outline(path: QPainterPath, outline: Outline) -> None:
    """Append a closed outline with its true arcs to a path, in millimetres."""
    path.moveTo(*outline.vertices[0, :2].tolist())
    for segment in _segments(outline):
        _add_segment(path, segment)
    path.closeSubpath()


class _Segment(Struct, frozen=True, dict=True):
    x0: float
    y0: float
    x1: float
    y1: float
    sweep: float
    radius: float
    cx: float
    cy: float
    angle: float

    @cached_property
    def key(self) -> tuple[object, ...]:
        """The same for the segment run the other way; its middle tells the two halves of a circle apart."""
        ends = sorted(((round(self.x0, 5), round(self.y0, 5)), (round(self.x1, 5), round(self.y1, 5))))
        if self.sweep == 0.0:
            return tuple(ends)
        middle = self.angle + self.sweep / 2.0
        x, y = self.cx + self.radius * cos(middle), self.cy + self.radius * sin(middle)
        return (*ends, round(x, 4) + 0.0, round(y, 4) + 0.0)


@lru_cache(maxsize=512)
def _segments(outline: Outline) -> tuple[_Segment, ...]:
    """The segments one by one; remembered, as most outlines are drawn in several layers and stay from edit to edit."""
    s = outline.segments
    rows = zip(
        s.start.tolist(),
        s.end.tolist(),
        s.sweep.tolist(),
        np.where(np.isfinite(s.radius), s.radius, 0.0).tolist(),
        np.where(np.isfinite(s.centre), s.centre, 0.0).tolist(),
        s.start_angle.tolist(),
        strict=True,
    )
    return tuple(
        _Segment(x0, y0, x1, y1, sweep, radius, cx, cy, angle)
        for (x0, y0), (x1, y1), sweep, radius, (cx, cy), angle in rows
    )


def _add_segment(path: QPainterPath, s: _Segment) -> None:
    if s.sweep == 0.0:
        path.lineTo(s.x1, s.y1)
    else:
        _add_arc(path, s.cx, s.cy, s.radius, s.angle, s.sweep, s.x1, s.y1)


def stroke_paths(outlines: Iterable[Outline], but: Iterable[Outline] = ()) -> tuple[QPainterPath, ...]:
    """Outlines as short open paths to be stroked, each segment once, without those of the outlines ``but``.

    Qt's stroking of one long path takes several times as long as that of its parts (measured at 200 %: 13 ms against
    5 ms), and slabs that lie on each other have most of their edges in common.
    """
    seen = {segment.key for outline in but for segment in _segments(outline)}
    paths: list[QPainterPath] = []
    for outline in outlines:
        path, count, at = QPainterPath(), 0, None
        for segment in _segments(outline):
            if segment.key in seen:
                continue
            seen.add(segment.key)
            if count == _MOST_SEGMENTS or at != (segment.x0, segment.y0):
                paths.append(path)
                path, count = QPainterPath(QPointF(segment.x0, segment.y0)), 0
            _add_segment(path, segment)
            count, at = count + 1, (segment.x1, segment.y1)
        paths.append(path)
    return tuple(path for path in paths if not path.isEmpty())


def _add_arc(
    path: QPainterPath, cx: float, cy: float, radius: float, start: float, sweep: float, x1: float, y1: float
) -> None:
    count = max(1, ceil(abs(sweep) / _MOST_PER_CUBIC - 1e-9))
    step = sweep / count
    pull = radius * 4.0 / 3.0 * tan(step / 4.0)
    c0, s0 = cos(start), sin(start)
    for i in range(1, count + 1):
        c1, s1 = cos(start + i * step), sin(start + i * step)
        # The last point is the outline's own vertex, so that neighbours meet without a seam.
        ex, ey = (x1, y1) if i == count else (cx + radius * c1, cy + radius * s1)
        path.cubicTo(
            cx + radius * c0 - pull * s0,
            cy + radius * s0 + pull * c0,
            cx + radius * c1 + pull * s1,
            cy + radius * s1 - pull * c1,
            ex,
            ey,
        )
        c0, s0 = c1, s1


def outline_path(*outlines: Outline) -> QPainterPath:
    """Closed outlines as one path, filled by the odd-even rule: a loop in a loop is a hole."""
    path = QPainterPath()
    path.setFillRule(Qt.FillRule.OddEvenFill)
    for outline in outlines:
        add_outline(path, outline)
    return path


def polygon(rows: FloatArray) -> QPolygonF:
    """Qt's polygon of the rows (n, 2), at least one."""
    # As Qt writes a path: its length, its elements, where its last part begins, its fill rule. Reading that takes a
    # sixth of the time of making a list of points (measured for 721 of them: 0.18 ms against 1.1 ms).
    elements = np.ones(len(rows), dtype=_ELEMENT)
    elements["kind"][0] = 0  # a move; lines are 1
    elements["x"], elements["y"] = rows[:, 0], rows[:, 1]
    written = QByteArray(len(rows).to_bytes(4, "big") + elements.tobytes() + bytes(8))
    path, stream = QPainterPath(), QDataStream(written)  # which keeps no hold of what it reads
    _ = stream >> path
    return path.toSubpathPolygons()[0]
