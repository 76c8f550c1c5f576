"""The insert as the readings' drawing shows it: in plan, and half of it from the side, in millimetres on one sheet."""

from __future__ import annotations

from contextlib import suppress
from math import cos, hypot, radians, sin, sqrt
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct

from core.geometry.ovals.ovals import oval_outline
from core.geometry.parallels.parallel import parallel
from core.part.readings import ReadingKind
from core.words.ends import End
from core.words.errors import FoldsOverError

if TYPE_CHECKING:
    from core.geometry.lines.outline import FloatArray, Outline
    from core.part.insert import Insert

Point = tuple[float, float]

_SAMPLES: Final = 720
_APART: Final = 0.30  # between plan and side, as a part of the length: room for their dimensions
_PLATE: Final = 0.07  # thickness of the plate, as a part of the height


class Scene(Struct, frozen=True, eq=False):
    """The insert's outlines, and the places on them that readings are taken at. The plan's middle is the origin.

    Attributes:
        oval: as it lies on the table.
        rims: outlines of the rim, the outer one first; those are missing that would fold over.
        points: (n, 2) dense points of the oval at equal steps along it, counter-clockwise [mm].
        side_x: where the side view's middle line stands [mm].
        half: half width of the side view [mm].
        height: of the side view [mm].
    """

    insert: Insert
    oval: Outline
    rims: tuple[Outline, ...]
    points: FloatArray
    side_x: float
    half: float
    height: float
    kinds: frozenset[ReadingKind]

    @property
    def a(self) -> float:
        """Half the length [mm]."""
        return float(self.points[:, 0].max())

    @property
    def b(self) -> float:
        """Half the width [mm]."""
        return float(self.points[:, 1].max())

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Least x, least y, greatest x, greatest y of plan and side view [mm]."""
        x0, y0, _, y1 = self.oval.bounds
        return x0, min(y0, -self.height / 2.0), self.side_x + self.half, max(y1, self.height / 2.0 + self.plate)

    @property
    def plate(self) -> float:
        """Thickness of the plate that lies on the side view [mm]; 0 when there is none."""
        return self.height * _PLATE if self.has_weight else 0.0

    @property
    def has_weight(self) -> bool:
        """Whether any height was read under a weight."""
        return any(row.weight for _, row in self.insert.readings.of(ReadingKind.HEIGHT))

    def contact(self, direction: float) -> tuple[Point, float]:
        """Where a jaw touches that faces along a direction [degrees], and how far from the middle it stands [mm]."""
        reach = self.points @ np.array([cos(radians(direction)), sin(radians(direction))])
        top = float(reach.max())
        # Along a straight side the jaw touches everywhere: the middle of it.
        touching = self.points[reach > top - 1e-6 * self.a].mean(axis=0)
        return (float(touching[0]), float(touching[1])), top

    def half_width_at(self, x: float) -> float:
        """Half the width at a distance from the middle [mm]; 0 past the end."""
        upper = self.points[self.points[:, 1] >= 0.0]
        order = np.argsort(upper[:, 0])
        return float(np.interp(x, upper[order, 0], upper[order, 1], left=0.0, right=0.0))

    def end_at(self, y: float) -> float:
        """How far out the left end stands at a distance from the long axis [mm]."""
        left = self.points[(self.points[:, 0] <= 0.0) & (self.points[:, 1] >= 0.0)]
        order = np.argsort(left[:, 1])
        return float(-np.interp(y, left[order, 1], left[order, 0]))

    def end_radius(self) -> float:
        """Radius of the arc through the right end and places near it [mm]."""
        y = 0.25 * self.b
        height = self.a - self.end_at(y)
        return y * y / (2.0 * height) + height / 2.0 if height > 1e-6 * self.a else self.b

    def apex(self) -> float:
        """How far from the middle the apex of a square corner lies that the right end is nested in [mm]."""
        return self.contact(45.0)[1] * sqrt(2.0)

    def at(self, part: float) -> tuple[Point, Point]:
        """Place and outward normal at a part of the way round, counter-clockwise from the right end."""
        # An outline's stations begin at its first vertex, which need not be its right end.
        first = int(np.argmax(self.points[:, 0] - np.abs(self.points[:, 1]))) / len(self.points)
        station = np.array([(first + part) % 1.0 * self.oval.length])
        (x, y), (nx, ny) = self.oval.points_at(station)[0], self.oval.normals_at(station)[0]
        return (float(x), float(y)), (float(nx), float(ny))

    def rim_band(self, end: End) -> tuple[float, float, float, float]:
        """The side view's rim: from and to across, from and to upwards [mm on the sheet]."""
        rim = self.insert.rim_at(end)
        outer = self.side_x + self.half
        bottom, top = -self.height / 2.0, self.height / 2.0
        thick = min(rim.thickness, self.height / 2.0)
        low, high = (bottom, bottom + thick) if end is End.BASE else (top - thick, top)
        return outer - min(rim.width, self.half), outer, low, high


def scene(insert: Insert) -> Scene:
    """The sheet for an insert."""
    oval = oval_outline(insert.free_oval)
    rims: tuple[Outline, ...] = ()
    with suppress(FoldsOverError):  # a pressed rim's free oval may be too tight for it: drawn as far as it can be
        rims = (parallel(oval, insert.rim.outset, where="rim.outset"),)
        rims = (*rims, parallel(rims[0], -insert.rim.width, where="rim.width"))
    points = oval.points_at(oval.length * np.arange(_SAMPLES) / _SAMPLES)
    kinds = frozenset(row.kind for row in insert.readings.rows)
    x0, _, x1, _ = oval.bounds
    right = x1
    half = float(points[:, 1].max()) + insert.rim.outset
    made = Scene(insert, oval, rims, points, right + _APART * (x1 - x0), half, insert.height, kinds)
    if ReadingKind.CORNER_GAP in kinds:  # the corner stands out past the end
        past = max(made.apex() - right, 0.0)
        made = Scene(insert, oval, rims, points, made.side_x + past, half, insert.height, kinds)
    return made


def distance(a: Point, b: Point) -> float:
    """Distance of two places [mm]."""
    return hypot(b[0] - a[0], b[1] - a[1])
