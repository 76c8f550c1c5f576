"""What is known of the scan on the board: picture, scale, picked edges, fit. None of it is the project's."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from pathlib import Path

    from core.outline import Point
    from core.ovals import Family
    from core.readings.values import SizeName
    from core.scan.results import Edge, GreyArray, Picture, Scale, ScanFit


class How(StrEnum):
    """Where the scale comes from."""

    DPI = "dpi"
    POINTS = "points"
    DISC = "disc"
    RECTANGLE = "rectangle"
    CORNERS = "corners"


HOW_WORDS: Final = {
    How.DPI: "the file's DPI",
    How.POINTS: "two points",
    How.DISC: "a disc in the picture",
    How.RECTANGLE: "a rectangle in the picture",
    How.CORNERS: "four corners (a photograph)",
}


class Pick(StrEnum):
    """What the next click in the picture is for."""

    EDGE = "edge"
    REFERENCE = "reference"
    TRACED = "traced"
    ACROSS = "across"
    DOWN = "down"
    CORNERS = "corners"


POINTS: Final = {Pick.ACROSS: 2, Pick.DOWN: 2, Pick.CORNERS: 4}
"""How many points a pick takes; the others take an edge."""


class Part(StrEnum):
    """The sections of the form, where a refusal is shown."""

    PICTURE = "picture"
    SCALE = "scale"
    EDGE = "edge"
    SHAPE = "shape"
    TURNED = "turned"
    TAKE = "take"


@dataclass(frozen=True, eq=False)
class Opened:
    """A picture that was read.

    Attributes:
        path: of its file.
        levels: the greys at full size, and each half as large as the one before, to be drawn quickly.
        level: grey level that parts it best in dark and light, 0 to 255.
        edges: found at that level, the largest first.
    """

    path: Path
    picture: Picture
    levels: tuple[GreyArray, ...]
    level: float
    edges: tuple[Edge, ...] = ()


@dataclass(frozen=True)
class Scaling:
    """All that the scale may come from; only what belongs to ``how`` counts. Lengths in mm, places in pixels.

    Attributes:
        across, down: true distance of the two points picked along X and along Y.
        length, width: of the known rectangle that lies in the picture.
        base, side: lower side and left side, as seen, of the rectangle whose corners are picked.
    """

    how: How = How.DPI
    dpi_across: float | None = None
    dpi_down: float | None = None
    across: float | None = None
    down: float | None = None
    diameter: float | None = None
    length: float | None = None
    width: float | None = None
    base: float | None = None
    side: float | None = None


@dataclass(frozen=True)
class Pencil:
    """How a part was traced with a pencil, where it was.

    Attributes:
        is_traced: whether the edge is that of a pencil's line.
        is_outer: whether the outer side of the line counts, or the inner one.
        diameter: true diameter of the disc that was traced beside it [mm].
    """

    is_traced: bool = False
    is_outer: bool = True
    diameter: float | None = None


@dataclass(frozen=True)
class Aslant:
    """A rectangle of known size as a photograph shows it.

    Attributes:
        corners: lower left, lower right, upper right, upper left, as seen [pixel].
        base, side: its lower and its left side [mm].
        relative: standard uncertainty of lengths [1].
    """

    corners: tuple[Point, ...]
    base: float
    side: float
    relative: float


@dataclass(frozen=True, eq=False)
class Fitted:
    """What came out.

    Attributes:
        fit: of the picture alone, in its millimetres, the pencil's excess taken off.
        result: what is taken: ``fit``, or the mean with the turned scan.
        edge: that was fitted, a point for each of ``fit``'s.
        view: how the picture's pixels become millimetres.
        excess: that was taken off all round for the pencil's line [mm].
        differences: of each size, turned scan less first [mm]; empty without one.
    """

    fit: ScanFit
    result: ScanFit
    edge: Edge
    view: Scale | Aslant
    excess: float | None = None
    differences: tuple[tuple[SizeName, float], ...] = ()


@dataclass(frozen=True, eq=False)
class ScanState:
    """Everything the form and the board show; replaced as a whole.

    Attributes:
        opened: the picture; ``turned`` the second scan.
        level: grey level that was chosen; None is the automatic one.
        edges: found at that level, the largest first.
        picked: index of the edge that each edge-pick chose.
        points: places that each point-pick chose [pixel].
        pick: what the next click is for.
        family: to be fitted; None is the one that fits best.
        view: the scale, once it is known.
        fitted: the oval, once it is fitted.
        refusals: why a part has no answer.
        busy: the parts that are worked on beside the window.
    """

    opened: Opened | None = None
    turned: Opened | None = None
    level: float | None = None
    edges: tuple[Edge, ...] = ()
    picked: tuple[tuple[Pick, int], ...] = ()
    points: tuple[tuple[Pick, tuple[Point, ...]], ...] = ()
    pick: Pick = Pick.EDGE
    scaling: Scaling = Scaling()
    pencil: Pencil = Pencil()
    family: Family | None = None
    view: Scale | Aslant | None = None
    fitted: Fitted | None = None
    refusals: tuple[tuple[Part, str], ...] = ()
    busy: frozenset[Part] = frozenset()

    def picked_index(self, pick: Pick) -> int | None:
        """Index of the edge that was picked for something."""
        return next((index for own, index in self.picked if own is pick), None)

    def picked_edge(self, pick: Pick) -> Edge | None:
        """The edge that was picked for something."""
        index = self.picked_index(pick)
        return None if index is None or index >= len(self.edges) else self.edges[index]

    def picked_points(self, pick: Pick) -> tuple[Point, ...]:
        """The places that were picked for something [pixel]."""
        return next((points for own, points in self.points if own is pick), ())

    def refusal(self, part: Part) -> str:
        """Why a part has no answer; empty when it has one, or wasn't asked."""
        return next((text for own, text in self.refusals if own is part), "")

    @property
    def shown_level(self) -> float:
        """The grey level that counts, 0 to 255."""
        if self.level is not None:
            return self.level
        return 127.5 if self.opened is None else self.opened.level
