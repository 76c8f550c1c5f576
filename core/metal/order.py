"""Features to metal: the outlines that add or remove it, the heights they do it between, and their order.

The order is the shop's: the body and what stands out from it, then what is hollowed out, then what crosses the hollow,
then the seat, then the holes. A feature that finds no shape is reported, never dropped in silence.
"""

from __future__ import annotations

from math import hypot
from typing import TYPE_CHECKING

from msgspec import Struct

from core.features.ground import Curves, Ground, NoShape, Shape, Stage
from core.features.registry import FEATURES
from core.geometry.regions.region import Step
from core.words.verdicts import Place, Sentence

if TYPE_CHECKING:
    from core.features.ground import Made
    from core.features.registry import Feature
    from core.features.stud.stud import Stud
    from core.geometry.lines.outline import Outline, Point
    from core.part.housing import Piece
    from core.words.ends import End

# Further than any feature reaches: a through hole is removed from here on, whatever is raised over it.
BEYOND = 1e6


class Part(Struct, frozen=True):
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


class Trouble(Struct, frozen=True):
    """A feature that has no shape where it now stands."""

    feature: str
    path: str
    what: Sentence
    place: Place


class HeightStep(Struct, frozen=True):
    """One addition or removal, and the heights between which it counts [mm]."""

    z0: float
    z1: float
    step: Step


def ground_of(piece: Piece, curves: Curves, end: End) -> Ground:
    """A piece as its features see it."""
    top = piece.thickness
    bar_top = max([piece.floor, *(feature.carries_to for feature in piece.features)])
    lip_top = min(piece.floor + piece.lip.height, top)
    return Ground(curves, end, piece.floor, top, piece.lip.width, lip_top, min(bar_top, top))


class PieceWork:
    """Collects a piece's outlines and steps; ``build`` goes through the features once, in the shop's order."""

    def __init__(self, piece: Piece, curves: Curves, end: End, studs: tuple[Stud, ...]) -> None:
        self.piece, self.curves, self.end, self.studs = piece, curves, end, studs
        self.ground = ground_of(piece, curves, end)
        self.parts: list[Part] = []
        self.steps: list[HeightStep] = []
        self.troubles: list[Trouble] = []
        self._opening = -1  # index of the opening's part, once there is one
        self._made: dict[Stage, list[tuple[Feature | Stud, str, Shape | NoShape]]] = {stage: [] for stage in Stage}

    def build(self) -> None:
        """Fill ``parts``, ``steps`` and ``troubles``."""
        piece, c, ground = self.piece, self.curves, self.ground
        top = ground.top
        self._shape_features()
        outside = self._curve("outside", "outside", "wall", c.outside, 0.0, top, adds=True)
        seat_outer = self._curve("seat outer", "seat", "seat.gap_outer", c.seat_outer, piece.floor, top)
        seat_inner = self._curve(
            "seat inner", "seat", "seat.gap_inner", c.seat_inner, piece.floor, ground.lip_top, is_inner=True
        )
        self._step(0.0, top, (outside,), add=True)
        self._make(Stage.BODY)
        earlier = self._earlier_seat()
        self._step(ground.lip_top, top, (seat_inner,), add=False)
        self._remove_opening()
        self._make(Stage.HOLLOW)
        self._make(Stage.ACROSS)
        self._make(Stage.BOSSES)
        self._step(piece.floor, top, (seat_outer,), (seat_inner,), add=False)
        if earlier is not None:
            self._step(self.parts[earlier[0]].z0, top, earlier[:1], earlier[1:], add=False)
        self._make(Stage.HOLES)

    def _shape_features(self) -> None:
        """Ask every feature for its shapes, kind by kind, then the studs."""
        of_kind: dict[type[Feature], list[tuple[Feature | Stud, str]]] = {kind: [] for kind in FEATURES.values()}
        for i, feature in enumerate(self.piece.features):
            of_kind[type(feature)].append((feature, f"features[{i}]"))
        studs = [(stud, f"studs[{i}]") for i, stud in enumerate(self.studs)]
        for one, path in (*(found for kind in of_kind.values() for found in kind), *studs):
            for shape in one.shapes(self.ground):
                self._made[shape.stage].append((one, path, shape))

    def _make(self, stage: Stage) -> None:
        """Add or remove what is made at a stage."""
        for one, path, shape in self._made[stage]:
            if isinstance(shape, NoShape):
                self._trouble(one.name, path, shape.what, shape.outline)
                continue
            inside, outside = (
                tuple(self._feature(one, path, shape, outline) for outline in outlines)
                for outlines in (shape.inside, shape.outside)
            )
            if shape.in_opening:
                inside = (*inside, self._opening)
            # What is removed from the outer face on is removed from all that is raised over it too.
            z0 = shape.z0 if shape.adds or shape.z0 > 0.0 else -BEYOND
            self._step(z0, min(shape.z1, self.ground.top), inside, outside, add=shape.adds)

    def _feature(self, one: Feature | Stud, path: str, shape: Shape, outline: Outline) -> int:
        assert shape.adds or shape.is_a, f"{one.word()} takes metal that the fit would not know of"
        kind = shape.is_a or one.word()
        self.parts.append(Part(one.name, kind, path, outline, shape.z0, shape.z1, shape.adds, one.at, made=shape.made))
        return len(self.parts) - 1

    def _curve(
        self,
        name: str,
        kind: str,
        path: str,
        outline: Outline,
        z0: float,
        z1: float,
        *,
        adds: bool = False,
        is_inner: bool = False,
    ) -> int:
        self.parts.append(Part(name, kind, path, outline, z0, z1, adds, is_inner=is_inner))
        return len(self.parts) - 1

    def _step(self, z0: float, z1: float, inside: tuple[int, ...], outside: tuple[int, ...] = (), *, add: bool) -> None:
        if z1 > z0:
            self.steps.append(HeightStep(z0, z1, Step(add, inside, outside)))

    def _trouble(self, feature: str, path: str, what: Sentence, outline: Outline) -> None:
        place = Place(self.end, outline=outline, feature=feature, path=f"housing.{self.end}.{path}")
        self.troubles.append(Trouble(feature, path, what, place))

    def _earlier_seat(self) -> tuple[int, int] | None:
        """Outer and inner wall of the seat that the casting had, once what stood over its lip is gone."""
        earlier = self.piece.earlier_seat
        if earlier is None:
            return None
        top = self.ground.top
        floor = top - earlier.depth
        lip_top = floor + earlier.lip_height
        outer, inner = (
            self._curve("old seat", "old seat", "earlier_seat", curve.outline("old seat"), floor, z1, is_inner=is_inner)
            for curve, z1, is_inner in ((earlier.outer, top, False), (earlier.inner, lip_top, True))
        )
        self._step(lip_top, top, (inner,), add=False)
        return outer, inner

    def _remove_opening(self) -> None:
        c = self.curves
        if c.opening is not None:
            self._opening = self._curve("opening", "opening", "lip.width", c.opening, 0.0, self.ground.top)
            self._step(-BEYOND, self.ground.top, (self._opening,), add=False)
        elif c.folded is not None:
            folded = NoShape.folded(Stage.HOLLOW, "opening", c.folded, c.seat_inner)
            self._trouble("opening", "lip.width", folded.what, folded.outline)
