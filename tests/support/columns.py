"""The metal of a piece at places in plan, told by the words of `core.part.housing` alone, one rule after the other.

A second opinion on slabs: no arrangement of outlines, no cells, only whether a place lies in a polygon of fine chords.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, TypeVar

import numpy as np
import shapely

from core.features.badge import Badge, badge_outline
from core.features.band import Band
from core.features.crossbar import Crossbar
from core.features.hole import Hole
from core.features.lug import Lug, lug_outlines
from core.features.pocket import Pocket
from core.features.rib import Rib
from core.features.stud.threads import CLEARANCE_MM, TAP_DRILL_MM
from core.geometry.lines.strips import strip
from core.part.curve import held_or_parallel
from core.words.ends import End
from core.words.errors import FoldsOverError

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from core.features.stud.stud import Stud
    from core.geometry.lines.outline import BoolArray, FloatArray, Outline
    from core.metal.slabs import ResolvedPiece
    from core.part.curve import HeldCurve
    from core.part.housing import Piece

_F = TypeVar("_F", Hole, Lug, Band, Rib, Pocket, Crossbar, Badge)

CHORD_MM = 1e-3
"""How far the polygons stray from the outlines."""


@dataclass(frozen=True, slots=True)
class Columns:
    """Metal or air over places in plan.

    Attributes:
        heights: (h + 1,) in order, from the outermost raised face to the joint face [mm].
        metal: (h, n) whether there is metal between two neighbouring heights at each place.
    """

    heights: FloatArray
    metal: BoolArray

    def runs(self) -> Iterator[tuple[float, float, BoolArray]]:
        """Each span of height, and at which places metal fills it with air over and under."""
        h = len(self.metal)
        air = np.zeros((1, self.metal.shape[1]), dtype=np.bool_)
        padded = np.concatenate((air, self.metal, air))
        for i in range(h):
            for j in range(i, h):
                there = padded[i + 1 : j + 2].all(axis=0) & ~padded[i] & ~padded[j + 2]
                if there.any():
                    yield float(self.heights[i]), float(self.heights[j + 1]), there

    def hanging(self) -> BoolArray:
        """(n,) where metal has air between itself and the outer face (of a raised face: under it, in the plate)."""
        found = np.zeros(self.metal.shape[1], dtype=np.bool_)
        for k in range(len(self.metal) - 1):
            if self.heights[k + 1] > 0.0:  # both lie over the outer face
                found |= self.metal[k + 1] & ~self.metal[k]
            else:
                found |= self.metal[k] & ~self.metal[k + 1]
        return found


def columns(resolved: ResolvedPiece, piece: Piece, studs: Sequence[Stud], at: FloatArray) -> Columns:
    """The metal over places (n, 2) of a piece, by the order in which things are made."""
    return _Columns(resolved, piece, studs, at).made()


class _Columns:
    def __init__(self, resolved: ResolvedPiece, piece: Piece, studs: Sequence[Stud], at: FloatArray) -> None:
        self.curves, self.piece, self.studs, self.at, self.end = resolved.curves, piece, studs, at, resolved.end
        self.top = piece.floor + piece.seat.depth
        features = piece.features
        raised = {-f.height for f in features if isinstance(f, Band | Rib | Badge)}
        bars = [min(f.height, self.top) for f in features if isinstance(f, Crossbar)]
        self.bar = max([piece.floor, *bars])
        self.lip = min(piece.floor + piece.lip.height, self.top)
        levels = {0.0, self.top, piece.floor, self.lip, self.bar, *bars, *raised}
        levels |= {f.height for f in features if isinstance(f, Lug)}
        levels |= {f.floor for f in features if isinstance(f, Pocket)}
        levels |= {f.boss_height for f in features if isinstance(f, Hole)}
        levels |= {self.bottom(stud) for stud in studs} - {-np.inf}
        if piece.earlier_seat is not None:
            floor = self.top - piece.earlier_seat.depth
            levels |= {floor, floor + piece.earlier_seat.lip_height}
        self.levels = np.unique(np.round([z for z in levels if z <= self.top + 1e-9], 9))
        self.middle = np.array([(a + b) / 2.0 for a, b in pairwise(self.levels)])
        self.metal = np.zeros((len(self.middle), len(at)), dtype=np.bool_)

    def made(self) -> Columns:
        c, piece = self.curves, self.piece
        self.put(0.0, self.top, self.within(c.outside))
        self.put_outside_and_raised()
        earlier, ring = piece.earlier_seat, np.zeros(len(self.at), dtype=np.bool_)
        if earlier is not None:
            outer, inner = self.within(earlier.outer.outline("")), self.within(earlier.inner.outline(""))
            ring = outer & ~inner
            self.take(self.top - earlier.depth + earlier.lip_height, self.top, inner)
        seat_inner = self.within(c.seat_inner)
        self.take(self.lip, self.top, seat_inner)
        opening = None if c.opening is None else self.within(c.opening)
        if opening is not None:
            self.take(-np.inf, self.top, opening)
        self.cross_the_hollow(opening)
        self.take(piece.floor, self.top, self.within(c.seat_outer) & ~seat_inner)
        if earlier is not None:  # what was added since may not fill a seat that was there
            self.take(self.top - earlier.depth, self.top, ring)
        self.bore()
        return Columns(self.levels, self.metal)

    def put_outside_and_raised(self) -> None:
        for lug in self.of(Lug):
            for outline in lug_outlines(lug, self.curves.outside):
                self.put(0.0, lug.height, self.within(outline))
        for band in self.of(Band):
            self.raise_band(band)
        for rib in self.of(Rib):
            self.raise_rib(rib)

    def cross_the_hollow(self, opening: BoolArray | None) -> None:
        c = self.curves
        for pocket in self.of(Pocket):
            edge = self.parallel(pocket.held, c.seat_inner, -pocket.inset)
            if edge is not None:
                self.take(pocket.floor, self.lip, self.within(edge))
        for bar in self.of(Crossbar):
            if opening is not None and c.opening is not None:
                bar_outline = strip(c.opening, bar.angle, bar.offset, bar.width, max(self.piece.lip.width / 2.0, 0.5))
                if bar_outline is not None:
                    self.put(0.0, bar.height, self.within(bar_outline) & opening)
        for badge in self.of(Badge):
            self.put(-badge.height, self.bar, self.within(badge_outline(badge)))
        for hole in self.of(Hole):
            if hole.boss > 0.0:
                self.put(0.0, hole.boss_height or self.top, self.disc(hole.x, hole.y, hole.boss))
        for stud in self.studs:
            self.put(0.0, self.top, self.disc(stud.x, stud.y, stud.boss))

    def bore(self) -> None:
        for hole in self.of(Hole):
            self.take(-np.inf, self.top, self.disc(hole.x, hole.y, hole.diameter))
        for lug in self.of(Lug):
            self.take(-np.inf, self.top, self.disc(lug.x, lug.y, lug.hole))
        bores = TAP_DRILL_MM if self.end is End.BASE else CLEARANCE_MM
        for stud in self.studs:
            self.take(self.bottom(stud), self.top, self.disc(stud.x, stud.y, bores[stud.thread]))

    def bottom(self, stud: Stud) -> float:
        """Where a stud's hole ends: of the tapped one in the base, so deep under the joint face as it is drilled."""
        blind = self.end is End.BASE and stud.hole_depth is not None and stud.hole_depth < self.top
        return self.top - stud.hole_depth if blind and stud.hole_depth is not None else -np.inf

    def of(self, kind: type[_F]) -> list[_F]:
        return [f for f in self.piece.features if isinstance(f, kind)]

    def raise_band(self, band: Band) -> None:
        outer = self.parallel(band.held, self.curves.outside, -band.inset)
        if outer is not None:
            inner = self.parallel(None if band.held is None else band.held.inward(band.width), outer, -band.width)
            if inner is not None:
                self.put(-band.height, 0.0, self.within(outer) & ~self.within(inner))

    def raise_rib(self, rib: Rib) -> None:
        limit = self.parallel(None, self.curves.outside, -rib.inset)
        if limit is not None:
            outline = strip(limit, rib.angle, rib.offset, rib.width, max(rib.inset / 2.0, 0.5))
            if outline is not None:
                self.put(-rib.height, 0.0, self.within(outline) & self.within(limit))

    def parallel(self, held: HeldCurve | None, source: Outline, distance: float) -> Outline | None:
        try:
            return held_or_parallel(held, source, distance, "")
        except FoldsOverError:
            return None

    def within(self, outline: Outline) -> BoolArray:
        polygon = shapely.Polygon(outline.chords(CHORD_MM))
        shapely.prepare(polygon)
        found: BoolArray = shapely.contains_xy(polygon, self.at)
        return found

    def disc(self, x: float, y: float, diameter: float) -> BoolArray:
        found: BoolArray = np.hypot(self.at[:, 0] - x, self.at[:, 1] - y) < diameter / 2.0
        return found

    def put(self, z0: float, z1: float, there: BoolArray) -> None:
        self.metal[(self.middle > z0) & (self.middle < z1)] |= there

    def take(self, z0: float, z1: float, there: BoolArray) -> None:
        self.metal[(self.middle > z0) & (self.middle < z1)] &= ~there
