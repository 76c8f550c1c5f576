"""What the board draws of an outline file: loops by their roles, strokes that are in no loop, and what is where."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct
from PySide6.QtGui import QPainterPath

from app.drawing.base.labels import outline_segments
from app.drawing.base.paths import outline_path, polygon, stroke_paths
from core.geometry.lines.segments import Segments
from core.geometry.ovals.ovals import oval_outline
from core.measure.drawing.ovals.recover import recover
from core.measure.drawing.results import MM_PER, Role

if TYPE_CHECKING:
    from numpy.typing import NDArray
    from PySide6.QtGui import QPolygonF

    from app.steps.measure.outline_file.state import OpenDrawing
    from core.geometry.lines.outline import FloatArray, Outline, Point
    from core.measure.drawing.results import Loop, Recovered

_ARC_STEP: Final = np.radians(2.0)
_ROUND: Final = 720  # places on a loop that its distance from an oval is drawn at

_LONG: Final = 300  # segments
_CHORD_MM: Final = 1e-3  # less than half a screen unit, however near it is looked at
_CHUNK: Final = 48  # points stroked at once: Qt strokes several short paths faster than a long one
_COUNTED: Final = 1.05  # times the worst distance of the fit, which was asked at other places
_ROUNDING: Final = 1e-5


class DrawnLoop(Struct, frozen=True, eq=False):
    """A loop as it is drawn.

    Attributes:
        fill: its area; ``strokes``: its line.
    """

    loop: Loop
    role: Role
    fill: QPainterPath
    strokes: tuple[QPainterPath, ...]


class DrawingScene(Struct, frozen=True, eq=False):
    """One look at a file, ready to be drawn; lengths in mm.

    Attributes:
        loops: largest first, so that what lies inside is drawn over what it lies in.
        open_strokes: chains that begin and end somewhere: most are a part of a loop, the others show beside them.
        bounds: of all strokes.
        lines: of the loops, in short straight ones: rows of x, y, x, y.
    """

    loops: tuple[DrawnLoop, ...]
    open_strokes: tuple[QPolygonF, ...]
    bounds: tuple[float, float, float, float]
    lines: NDArray[np.float64]

    def drawn(self, number: int | None) -> DrawnLoop | None:
        """The loop of a number."""
        return next((drawn for drawn in self.loops if drawn.loop.number == number), None)

    def loop_at(self, at: Point, reach: float) -> int | None:
        """The loop whose line is nearest to a place, within ``reach``; else the innermost one round it.

        Args:
            at: the place [mm].
            reach: [mm].
        """
        near: list[tuple[float, int]] = []
        around: list[tuple[float, int]] = []
        for drawn in self.loops:
            outline = drawn.loop.outline
            x0, y0, x1, y1 = outline.bounds
            if not (x0 - reach <= at[0] <= x1 + reach and y0 - reach <= at[1] <= y1 + reach):
                continue
            distance = float(outline.nearest([at]).distance[0])
            if distance <= reach:
                near.append((distance, drawn.loop.number))
            elif bool(outline.contains([at])[0]):
                around.append((outline.area, drawn.loop.number))
        found = near or around
        return min(found)[1] if found else None


class Residual(Struct, frozen=True, eq=False):
    """How far a loop is off an oval, at places round it.

    Attributes:
        feet: (n, 2) the oval's nearest places [mm].
        away: (n, 2) unit vectors outward.
        off: (n,) distances of the loop from the oval, outside it above 0 [mm].
    """

    feet: FloatArray
    away: FloatArray
    off: FloatArray

    @property
    def worst(self) -> int:
        """Where it is furthest off."""
        return int(np.abs(self.off).argmax())

    def outline(self, factor: float) -> FloatArray:
        """(n, 2) the loop's places with their distance from the oval made ``factor`` times as large [mm]."""
        moved: FloatArray = self.feet + self.away * (self.off * factor)[:, None]
        return moved


def drawing_scene(state: OpenDrawing) -> DrawingScene | None:
    """The scene of what is open; None when nothing is."""
    looked = state.looked
    if looked is None:
        return None
    one = MM_PER[looked.unit]
    loops = tuple(DrawnLoop(loop, state.role(loop.number), *_paths(loop.outline)) for loop in state.loops)
    opened = tuple(polygon(_chain(s.vertices) * one) for s in looked.drawing.strokes if not s.is_closed)
    x0, y0, x1, y1 = (v * one for v in looked.drawing.bounds)
    return DrawingScene(loops, opened, (x0, y0, x1, y1), outline_segments(loop.loop.outline for loop in loops))


@lru_cache(maxsize=256)
def _paths(outline: Outline) -> tuple[QPainterPath, tuple[QPainterPath, ...]]:
    """A loop's area, and its line in parts; remembered, since a role says nothing of the shape."""
    if len(outline) <= _LONG:
        return outline_path(outline), stroke_paths((outline,))
    # A path of so many points takes Qt's own calls tenths of a second, and its arcs are as short as chords.
    rows = outline.chords(_CHORD_MM)
    whole = QPainterPath()
    whole.addPolygon(polygon(rows))
    whole.closeSubpath()
    closed = np.concatenate((rows, rows[:1]))
    parts: list[QPainterPath] = []
    for start in range(0, len(rows), _CHUNK):
        part = QPainterPath()
        part.addPolygon(polygon(closed[start : start + _CHUNK + 1]))
        parts.append(part)
    return whole, tuple(parts)


def laid_oval(found: Recovered) -> Outline:
    """The oval that a loop was recovered as, where it lies in the drawing."""
    return oval_outline(found.oval).turned(found.angle).moved(*found.centre)


def residual(loop: Loop, found: Recovered) -> Residual:
    """How far a loop is off an oval.

    Of a polygon that stands for a curve only the corners count; what stands out and was left out of the oval, as lugs
    are, is left out here too.
    """
    own, oval = loop.outline, laid_oval(found)
    points = own.vertices[:, :2] if found.of_chords else own.points_at(own.length * np.arange(_ROUND) / _ROUND)
    near = oval.nearest(points)
    counts = near.distance <= found.worst * _COUNTED + _ROUNDING
    off = np.where(counts, np.where(oval.contains(points), -near.distance, near.distance), 0.0)
    return Residual(near.foot, oval.normals_at(near.station), off)


def nearest_oval(loop: Loop, found: Recovered, tolerance: float) -> Recovered:
    """What a loop is held against: its oval, or for a measured outline the nearest kind of oval that was tried."""
    if found.oval.family.kind.is_sized or not found.tried:
        return found
    return recover(loop.outline, tolerance, (found.tried[0][0].family,))


def _chain(vertices: FloatArray) -> FloatArray:
    """(m, 2) points along an open chain of lines and arcs."""
    if not vertices[:-1, 2].any():
        return vertices[:, :2]
    s = Segments.of(vertices[:-1, :2], vertices[1:, :2], vertices[:-1, 2])
    count = np.maximum(1, np.ceil(np.abs(s.sweep) / _ARC_STEP)).astype(np.int64)
    index = np.repeat(np.arange(len(count)), count)
    rank = np.arange(len(index)) - np.repeat(np.cumsum(count) - count, count)
    return np.concatenate((s.points(index, s.length[index] * rank / count[index]), vertices[-1:, :2]))
