"""What is known of the scan on the board: picture, scale, picked edges, fit. None of it is the project's."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, Final

from msgspec import Struct

from core.measure.scan.answer import missing
from core.measure.scan.asked import BY_DPI, OF_THE_PART, Asked, How, Pencil, Scaling
from core.measure.scan.picture.scale import Rule
from core.measure.scan.sizes.allowances import START, Allowances

if TYPE_CHECKING:
    from core.geometry.lines.outline import Point
    from core.geometry.ovals.ovals import Family
    from core.measure.scan.asked import Fitted
    from core.measure.scan.opened import Opened
    from core.measure.scan.results import Aslant, Edge, Scale


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


class ScanState(Struct, frozen=True, eq=False):
    """Everything the form and the board show; replaced as a whole.

    Attributes:
        opened: the picture; ``turned`` the second scan.
        level: grey level that was chosen; None is the automatic one.
        edges: found at that level, the largest first.
        picked: index of the edge that each edge-pick chose.
        points: places that each point-pick chose [pixel].
        pick: what the next click is for.
        family: to be fitted; None is the one that fits best.
        allowances: for what the picture can't tell.
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
    scaling: Scaling = BY_DPI
    pencil: Pencil = OF_THE_PART
    allowances: Allowances = START
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

    @property
    def asked(self) -> Asked | None:
        """The question to the picture; None while there is none."""
        if self.opened is None:
            return None
        s = self.scaling
        rules: list[Rule] = []
        for pick, length in ((Pick.ACROSS, s.across), (Pick.DOWN, s.down)):
            points = self.picked_points(pick)
            if length is not None and len(points) == POINTS[pick]:
                rules.append(Rule(points[0], points[1], length))
        return Asked(
            self.opened.picture,
            self.picked_edge(Pick.EDGE),
            s,
            tuple(rules),
            self.picked_edge(Pick.REFERENCE),
            self.picked_points(Pick.CORNERS),
            self.pencil,
            self.picked_edge(Pick.TRACED),
            self.family,
            self.turned,
            self.allowances,
        )

    @property
    def lacks(self) -> str:
        """What is still wanted for the scale, as a sentence; empty when all is there, or there is no picture."""
        asked = self.asked
        return "" if asked is None else missing(asked)
