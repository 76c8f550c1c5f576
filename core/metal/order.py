"""Features to metal: the outlines that add or remove it, the heights they do it between, and their order.

The order is the shop's: the body and what stands out from it, then what is hollowed out, then what crosses the hollow,
then the seat, then the holes. A feature that finds no shape is reported, never dropped in silence.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot
from typing import TYPE_CHECKING, TypeVar

from core.features.shapes import badge_outline, lug_outlines, strip
from core.features.stud.stack import bore
from core.geometry.lines.outline import Outline, circle_outline
from core.geometry.regions.region import Step
from core.metal.curves import Curves, held_or_parallel
from core.part.housing import Badge, Band, Crossbar, Hole, Lug, Made, Piece, Pocket, Rib, Stud
from core.words.errors import FoldsOverError
from core.words.verdicts import Place, Sentence, plain

if TYPE_CHECKING:
    from collections.abc import Callable

    from core.geometry.lines.outline import Point
    from core.words.ends import End

_F = TypeVar("_F", Lug, Band, Rib, Pocket, Crossbar, Badge, Hole)

# Further than any feature reaches: a through hole is removed from here on, whatever is raised over it.
BEYOND = 1e6


@dataclass(frozen=True, slots=True)
class Part:
    """A feature's outline in plan, and the heights it spans.

    Attributes:
        name: the feature's own name, or the word for the curve (``seat outer``, ``outside``).
        kind: the kind of feature, or of curve.
        path: of the feature in the project, from the piece on (``features[2]``).
        adds: whether it is metal.
        centre: of the feature, when it has one place.
        is_inner: whether it is the inner wall of a seat, which is as high as the lip.
        made: of a hole: in the pattern, or in the casting.
    """

    name: str
    kind: str
    path: str
    outline: Outline
    z0: float
    z1: float
    adds: bool
    centre: Point | None = None
    is_inner: bool = False
    made: Made | None = None

    @property
    def radius(self) -> float:
        """Of a part that is a circle about its centre [mm]."""
        assert self.centre is not None
        x, y = self.outline.vertices[0, :2].tolist()
        return hypot(x - self.centre[0], y - self.centre[1])


@dataclass(frozen=True, slots=True)
class Trouble:
    """A feature that has no shape where it now stands."""

    feature: str
    path: str
    what: Sentence
    place: Place


@dataclass(frozen=True, slots=True)
class HeightStep:
    """One addition or removal, and the heights between which it counts [mm]."""

    z0: float
    z1: float
    step: Step


class PieceWork:
    """Collects a piece's outlines and steps; ``build`` goes through the features once, in the shop's order."""

    def __init__(self, piece: Piece, curves: Curves, end: End, studs: tuple[Stud, ...]) -> None:
        self.piece, self.curves, self.end, self.studs = piece, curves, end, studs
        self.parts: list[Part] = []
        self.steps: list[HeightStep] = []
        self.troubles: list[Trouble] = []
        self._opening = -1  # index of the opening's part, once there is one
        self.top = piece.thickness
        self.lip_top = min(piece.floor + piece.lip.height, self.top)
        # What crosses the hollow, a badge say, is as thick as the tallest bar that carries it.
        self.bar_top = max([piece.floor, *(f.height for f in piece.features if isinstance(f, Crossbar))])
        self.bar_top = min(self.bar_top, self.top)

    def build(self) -> None:
        """Fill ``parts``, ``steps`` and ``troubles``."""
        piece, c, top = self.piece, self.curves, self.top
        outside = self._part("outside", "outside", "wall", c.outside, 0.0, top, adds=True)
        seat_outer = self._part("seat outer", "seat", "seat.gap_outer", c.seat_outer, piece.floor, top, adds=False)
        seat_inner = self._part(
            "seat inner", "seat", "seat.gap_inner", c.seat_inner, piece.floor, self.lip_top, adds=False, is_inner=True
        )
        self._step(0.0, top, (outside,), add=True)
        self._each(Lug, self._add_lug)
        self._each(Band, self._add_band)
        self._each(Rib, self._add_rib)
        earlier = self._earlier_seat()
        self._step(self.lip_top, top, (seat_inner,), add=False)
        self._remove_opening()
        self._each(Pocket, self._remove_pocket)
        self._each(Crossbar, self._add_crossbar)
        self._each(Badge, self._add_badge)
        self._each(Hole, self._add_boss)
        for i, stud in enumerate(self.studs):
            boss = circle_outline((stud.x, stud.y), stud.boss / 2.0)
            index = self._part(stud.name, "boss", f"studs[{i}]", boss, 0.0, top, adds=True, centre=(stud.x, stud.y))
            self._step(0.0, top, (index,), add=True)
        self._step(piece.floor, top, (seat_outer,), (seat_inner,), add=False)
        if earlier is not None:
            self._step(self.parts[earlier[0]].z0, top, earlier[:1], earlier[1:], add=False)
        self._each(
            Hole, lambda hole, path: self._remove_hole(hole.name, path, (hole.x, hole.y), hole.diameter, hole.made)
        )
        self._each(Lug, lambda lug, path: self._remove_hole(lug.name, path, (lug.x, lug.y), lug.hole, lug.made))
        for i, stud in enumerate(self.studs):
            hole = bore(stud, self.end)
            self._remove_hole(stud.name, f"studs[{i}]", (stud.x, stud.y), hole.diameter, Made.DRILLED, depth=hole.depth)

    def _each(self, kind: type[_F], do: Callable[[_F, str], object]) -> None:
        for i, feature in enumerate(self.piece.features):
            if isinstance(feature, kind):
                do(feature, f"features[{i}]")

    def _part(
        self,
        name: str,
        kind: str,
        path: str,
        outline: Outline,
        z0: float,
        z1: float,
        *,
        adds: bool,
        centre: Point | None = None,
        is_inner: bool = False,
        made: Made | None = None,
    ) -> int:
        self.parts.append(Part(name, kind, path, outline, z0, z1, adds, centre, is_inner, made))
        return len(self.parts) - 1

    def _step(self, z0: float, z1: float, inside: tuple[int, ...], outside: tuple[int, ...] = (), *, add: bool) -> None:
        if z1 > z0:
            self.steps.append(HeightStep(z0, z1, Step(add, inside, outside)))

    def _trouble(self, feature: str, path: str, what: Sentence, outline: Outline) -> None:
        place = Place(self.end, outline=outline, feature=feature, path=f"housing.{self.end}.{path}")
        self.troubles.append(Trouble(feature, path, what, place))

    def _folded(self, feature: str, path: str, error: FoldsOverError, outline: Outline) -> None:
        name = plain(feature)
        what = Sentence.of(
            f"{name} can't follow: an inward move of {{asked}} folds it over; the tightest radius is {{limit}}",
            asked=error.asked_mm,
            limit=error.limit_mm,
        )
        self._trouble(feature, path, what, outline)

    def _misses(self, feature: str, path: str, across: str, offset: float, outline: Outline) -> None:
        what = Sentence.of(
            f"{plain(feature)} no longer reaches across {across}: its middle line lies {{offset}} from the centre; "
            "move it inward or make it narrower",
            offset=abs(offset),
        )
        self._trouble(feature, path, what, outline)

    def _add_lug(self, lug: Lug, path: str) -> None:
        for outline in lug_outlines(lug, self.curves.outside):
            index = self._part(lug.name, "lug", path, outline, 0.0, lug.height, adds=True, centre=(lug.x, lug.y))
            self._step(0.0, lug.height, (index,), add=True)

    def _add_band(self, band: Band, path: str) -> None:
        outside = self.curves.outside
        held = band.held
        try:
            outer = held_or_parallel(held, outside, -band.inset, f"{band.name}.inset")
            further_in = None if held is None else held.inward(band.width)
            inner = held_or_parallel(further_in, outer, -band.width, f"{band.name}.width")
        except FoldsOverError as error:
            self._folded(band.name, path, error, outside)
            return
        edges = [self._part(band.name, "band", path, edge, -band.height, 0.0, adds=True) for edge in (outer, inner)]
        self._step(-band.height, 0.0, (edges[0],), (edges[1],), add=True)

    def _add_rib(self, rib: Rib, path: str) -> None:
        outside = self.curves.outside
        try:
            limit = held_or_parallel(None, outside, -rib.inset, f"{rib.name}.inset")
        except FoldsOverError as error:
            self._folded(rib.name, path, error, outside)
            return
        outline = strip(limit, rib.angle, rib.offset, rib.width, max(rib.inset / 2.0, 0.5))
        if outline is None:
            self._misses(rib.name, path, "the outer face", rib.offset, limit)
            return
        sides = self._part(rib.name, "rib", path, outline, -rib.height, 0.0, adds=True)
        ends = self._part(rib.name, "rib", path, limit, -rib.height, 0.0, adds=True)
        self._step(-rib.height, 0.0, (sides, ends), add=True)

    def _earlier_seat(self) -> tuple[int, int] | None:
        """Outer and inner wall of the seat that the casting had, once what stood over its lip is gone."""
        earlier = self.piece.earlier_seat
        if earlier is None:
            return None
        floor = self.top - earlier.depth
        lip_top = floor + earlier.lip_height
        outer, inner = (
            self._part("old seat", "old seat", "earlier_seat", outline, floor, z1, adds=False, is_inner=is_inner)
            for outline, z1, is_inner in (
                (earlier.outer.outline("old seat"), self.top, False),
                (earlier.inner.outline("old seat"), lip_top, True),
            )
        )
        self._step(lip_top, self.top, (inner,), add=False)
        return outer, inner

    def _remove_opening(self) -> None:
        c = self.curves
        if c.opening is not None:
            self._opening = self._part("opening", "opening", "lip.width", c.opening, 0.0, self.top, adds=False)
            self._step(-BEYOND, self.top, (self._opening,), add=False)
        elif c.folded is not None:
            self._folded("opening", "lip.width", c.folded, c.seat_inner)

    def _remove_pocket(self, pocket: Pocket, path: str) -> None:
        inner = self.curves.seat_inner
        try:
            outline = held_or_parallel(pocket.held, inner, -pocket.inset, f"{pocket.name}.inset")
        except FoldsOverError as error:
            self._folded(pocket.name, path, error, inner)
            return
        index = self._part(pocket.name, "pocket", path, outline, pocket.floor, self.lip_top, adds=False)
        self._step(pocket.floor, self.lip_top, (index,), add=False)

    def _add_crossbar(self, bar: Crossbar, path: str) -> None:
        opening = self.curves.opening
        if opening is None:
            what = Sentence(
                f"{plain(bar.name)} has no opening to cross: give the piece an opening, or remove the crossbar"
            )
            self._trouble(bar.name, path, what, self.curves.seat_inner)
            return
        outline = strip(opening, bar.angle, bar.offset, bar.width, max(self.piece.lip.width / 2.0, 0.5))
        if outline is None:
            self._misses(bar.name, path, "the opening", bar.offset, opening)
            return
        index = self._part(bar.name, "crossbar", path, outline, 0.0, bar.height, adds=True)
        self._step(0.0, min(bar.height, self.top), (index, self._opening), add=True)

    def _add_badge(self, badge: Badge, path: str) -> None:
        outline, centre = badge_outline(badge), (badge.x, badge.y)
        index = self._part(badge.name, "badge", path, outline, -badge.height, self.bar_top, adds=True, centre=centre)
        self._step(-badge.height, self.bar_top, (index,), add=True)

    def _add_boss(self, hole: Hole, path: str) -> None:
        if hole.boss > 0.0:
            height = min(hole.boss_height or self.top, self.top)
            outline, centre = circle_outline((hole.x, hole.y), hole.boss / 2.0), (hole.x, hole.y)
            index = self._part(hole.name, "boss", path, outline, 0.0, height, adds=True, centre=centre)
            self._step(0.0, height, (index,), add=True)

    def _remove_hole(
        self, name: str, path: str, at: Point, diameter: float, made: Made, *, depth: float | None = None
    ) -> None:
        """A hole from the joint face down, right through unless a depth ends it in the metal."""
        outline = circle_outline(at, diameter / 2.0)
        bottom = 0.0 if depth is None else max(self.top - depth, 0.0)
        index = self._part(name, "hole", path, outline, bottom, self.top, adds=False, centre=at, made=made)
        self._step(bottom if bottom > 0.0 else -BEYOND, self.top, (index,), add=False)
