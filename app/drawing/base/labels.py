"""Where the words of a drawing go: each at the one of its possible places that covers least of what is drawn."""

from __future__ import annotations

from functools import lru_cache
from math import cos, radians, sin
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct
from PySide6.QtCore import QLineF, QPointF, QRectF

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray
    from PySide6.QtGui import QColor, QFontMetricsF

    from app.drawing.base.camera import Camera
    from core.geometry.lines.outline import Outline

_COVERED: Final = 12.0  # a covered word or sign counts as so many crossed lines
_LED_OVER: Final = 0.3  # and a line that the text's own line runs over
_OUTSIDE: Final = 100.0
_AIR: Final = 2.0  # screen units kept free round a text
_SAMPLES: Final = 48
_FAN: Final = tuple(radians(turn) for turn in (0.0, 30.0, -30.0, 60.0, -60.0, 85.0, -85.0))
_LEAST_SIZE: Final = np.float32(1e-6)


class Spot(Struct, frozen=True):
    """A possible place of a text.

    Attributes:
        box: the text's rectangle, in screen units.
        away: how much worse than the best place it is by itself, in crossed lines.
        leader: a line from the text to what it speaks of, where it stands off it.
        turn: 0, or -90 for a text that runs upwards.
    """

    box: QRectF
    away: float = 0.0
    leader: QLineF | None = None
    turn: float = 0.0


class Label(Struct, frozen=True):
    """A text at its place."""

    text: str
    color: QColor
    spot: Spot

    def baseline(self, metrics: QFontMetricsF) -> QPointF:
        """The start of its baseline."""
        box = self.spot.box
        if self.spot.turn:
            return QPointF(box.left() + metrics.ascent(), box.bottom())
        return QPointF(box.left(), box.top() + metrics.ascent())


class Places:
    """What is drawn already, in screen units: lines that a text had better not cross, boxes that it must not cover."""

    def __init__(self, room: QRectF) -> None:
        self._room = room
        self._boxes: list[QRectF] = []
        self._lines: list[NDArray[np.float32]] = []

    def add_boxes(self, boxes: Iterable[QRectF]) -> None:
        """Words and signs."""
        self._boxes += boxes

    def add_lines(self, lines: Iterable[QLineF]) -> None:
        """Straight lines."""
        rows = [(line.x1(), line.y1(), line.x2(), line.y2()) for line in lines]
        if rows:
            self._lines.append(np.array(rows, dtype=np.float32))

    def add_segments(self, segments: NDArray[np.float64], camera: Camera) -> None:
        """Rows of x, y, x, y [mm]."""
        origin, one = camera.to_widget((0.0, 0.0)), camera.to_widget((1.0, 1.0))
        scale, shift = (one - origin).toTuple(), origin.toTuple()
        self._lines.append((segments * np.tile(scale, 2) + np.tile(shift, 2)).astype(np.float32))

    def take(self, spots: Sequence[Spot]) -> Spot:
        """The best of some places, which is occupied from now on; the first one where they are alike."""
        boxes = np.array([_edges(spot.box.adjusted(-_AIR, -_AIR, _AIR, _AIR)) for spot in spots], dtype=np.float32)
        cost = np.array([spot.away for spot in spots], dtype=np.float32)
        if self._boxes:
            taken = np.array([_edges(box) for box in self._boxes], dtype=np.float32)
            cost += _COVERED * _overlapped(boxes, taken)
        if self._lines:
            lines = np.vstack(self._lines)
            cost += _crossed(boxes, lines)
            led = [spot.leader or QLineF() for spot in spots]
            cost += _LED_OVER * _cut(np.array([line.toTuple() for line in led], dtype=np.float32), lines)
        cost += [0.0 if self._room.contains(spot.box) else _OUTSIDE for spot in spots]
        best = spots[int(cost.argmin())]
        self._boxes.append(best.box)
        if best.leader is not None:
            self.add_lines([best.leader])
        return best


def outline_segments(outlines: Iterable[Outline]) -> NDArray[np.float64]:
    """Outlines as short straight lines, rows of x, y, x, y [mm]: near enough to tell what a text would cross."""
    return np.vstack([np.empty((0, 4)), *(_sampled(outline) for outline in outlines)])


@lru_cache(maxsize=256)
def _sampled(outline: Outline) -> NDArray[np.float64]:
    points = outline.points_at(outline.length * np.arange(_SAMPLES + 1) / _SAMPLES)
    return np.hstack((points[:-1], points[1:]))


def beside(at: QPointF, off: float, size: tuple[float, float]) -> list[Spot]:
    """Right of a sign, left of it, above it and below it.

    Args:
        at: the sign's middle.
        off: how far from it the text begins.
        size: width and height of the text.
    """
    w, h = size
    x, y = at.x(), at.y()
    return [
        Spot(QRectF(x + off, y - h / 2.0, w, h)),
        Spot(QRectF(x - off - w, y - h / 2.0, w, h), 0.1),
        Spot(QRectF(x - w / 2.0, y - off - h, w, h), 0.2),
        Spot(QRectF(x - w / 2.0, y + off, w, h), 0.2),
    ]


def along(starts: Iterable[tuple[QPointF, QPointF]], reaches: Sequence[float], size: tuple[float, float]) -> list[Spot]:
    """Places at the end of a ray and fanned out round it, the text led to the ray's end by a line.

    Args:
        starts: a ray's end and its direction, of length 1.
        reaches: how far from the end, the nearest first; the nearest needs no line.
        size: width and height of the text.
    """
    w, h = size
    spots: list[Spot] = []
    for start, d in starts:
        for i, reach in enumerate(reaches):
            for j, turn in enumerate(_FAN if i else _FAN[:1]):
                c, s = cos(turn), sin(turn)
                way = QPointF(d.x() * c - d.y() * s, d.x() * s + d.y() * c)
                tip = start + way * reach
                # A line that comes sideways ends at the text's middle height, an upright one at its edge.
                is_level = abs(way.x()) > abs(way.y())
                top = tip.y() - h / 2.0 if is_level else tip.y() if way.y() > 0.0 else tip.y() - h
                left = tip.x() + _AIR if way.x() > 0.0 else tip.x() - _AIR - w
                left = left if is_level else tip.x() - w / 2.0
                leader = QLineF(start, tip) if i else None
                spots.append(Spot(QRectF(left, top, w, h), 0.3 * i + 0.1 * j, leader))
    return spots


def within_or_beside(area: QRectF, size: tuple[float, float]) -> list[Spot]:
    """In the middle of an area, upwards in a narrow upright one; else on a side of it."""
    w, h = size
    middle = area.center()
    upright = w > area.width() and area.height() > area.width()
    inside = QRectF(middle.x() - h / 2.0, middle.y() - w / 2.0, h, w) if upright else _centred(middle, w, h)
    over, under = QPointF(middle.x(), area.top() - h * 0.7), QPointF(middle.x(), area.bottom() + h * 0.7)
    left, right = QPointF(area.left() - w / 2.0 - 4.0, middle.y()), QPointF(area.right() + w / 2.0 + 4.0, middle.y())
    return [
        Spot(inside, turn=-90.0 if upright else 0.0),
        *(Spot(_centred(at, w, h), 0.6) for at in (over, under)),
        *(Spot(_centred(at, w, h), 0.8) for at in (left, right)),
    ]


def _centred(at: QPointF, w: float, h: float) -> QRectF:
    return QRectF(at.x() - w / 2.0, at.y() - h / 2.0, w, h)


def _edges(box: QRectF) -> tuple[float, float, float, float]:
    return box.left(), box.top(), box.right(), box.bottom()


def _cut(ones: NDArray[np.float32], others: NDArray[np.float32]) -> NDArray[np.intp]:
    """How many of the others (m, 4) each straight line (k, 4) runs across."""

    def side(line: NDArray[np.float32], x: NDArray[np.float32], y: NDArray[np.float32]) -> NDArray[np.bool_]:
        x0, y0, x1, y1 = (column[..., None] for column in line.T)
        left: NDArray[np.bool_] = (x1 - x0) * (y - y0) > (y1 - y0) * (x - x0)
        return left

    # Only what lies near any of them, as few do.
    low = np.minimum(ones[:, :2], ones[:, 2:]).min(axis=0)
    high = np.maximum(ones[:, :2], ones[:, 2:]).max(axis=0)
    is_near = (np.maximum(others[:, :2], others[:, 2:]) >= low) & (np.minimum(others[:, :2], others[:, 2:]) <= high)
    near = others[is_near.all(axis=1)]
    x0, y0, x1, y1 = near.T
    apart = side(ones, x0, y0) != side(ones, x1, y1)
    back = (side(near, ones[:, 0], ones[:, 1]) != side(near, ones[:, 2], ones[:, 3])).T
    counts: NDArray[np.intp] = (apart & back).sum(axis=1)
    return counts


def _overlapped(boxes: NDArray[np.float32], others: NDArray[np.float32]) -> NDArray[np.intp]:
    """How many of the others (m, 4) each of the boxes (k, 4) overlaps."""
    apart = (boxes[:, None, :2] >= others[None, :, 2:]) | (boxes[:, None, 2:] <= others[None, :, :2])
    counts: NDArray[np.intp] = (~apart.any(axis=2)).sum(axis=1)
    return counts


def _crossed(boxes: NDArray[np.float32], lines: NDArray[np.float32]) -> NDArray[np.float32]:
    """How much of the lines (n, 4) lies in each of the boxes (k, 4), in crossings straight through its small side."""
    low, high = np.minimum(lines[:, :2], lines[:, 2:]), np.maximum(lines[:, :2], lines[:, 2:])
    is_near = ((high >= boxes[:, :2].min(axis=0)) & (low <= boxes[:, 2:].max(axis=0))).all(axis=1)
    enter: NDArray[np.float32] | float = 0.0
    leave: NDArray[np.float32] | float = 1.0
    x0, y0, x1, y1 = lines[is_near].T
    # One axis at a time, and in short numbers: this is done for every frame in which something moves.
    for start, end, near, far in ((x0, x1, boxes[:, 0], boxes[:, 2]), (y0, y1, boxes[:, 1], boxes[:, 3])):
        step = end - start
        step[np.abs(step) < _LEAST_SIZE] = _LEAST_SIZE
        one = np.float32(1.0) / step
        t0, t1 = (near[:, None] - start) * one, (far[:, None] - start) * one
        enter = np.maximum(enter, np.minimum(t0, t1))
        leave = np.minimum(leave, np.maximum(t0, t1))
    inside = np.maximum(leave - enter, np.float32(0.0)) @ np.hypot(x1 - x0, y1 - y0)
    sizes = np.minimum(boxes[:, 2] - boxes[:, 0], boxes[:, 3] - boxes[:, 1])
    result: NDArray[np.float32] = inside / sizes
    return result
