"""What a feature stands on, and the shapes of metal that it makes there."""

from __future__ import annotations

from enum import IntEnum, StrEnum
from typing import TYPE_CHECKING, Annotated, Final, Literal

from msgspec import Struct

from core.part.schema import says
from core.words.verdicts import Sentence, plain

if TYPE_CHECKING:
    from core.geometry.lines.outline import Outline
    from core.words.ends import End
    from core.words.errors import FoldsOverError

BOSS: Final = "boss"
HOLE: Final = "hole"
POCKET: Final = "pocket"
"""What the fit and the files know by itself, whichever kind of feature makes it: round metal for a hole, a hole from
the joint face down, what is hollowed out. Every other shape is metal, and is called by its feature's kind.
"""


class Curves(Struct, frozen=True):
    """Counter-clockwise outlines of one piece around one insert.

    Attributes:
        opening: None when the piece has none, or when it would fold over (see ``folded``).
        folded: what went wrong with the opening, when it did.
    """

    rim_outer: Outline
    rim_inner: Outline
    seat_outer: Outline
    seat_inner: Outline
    outside: Outline
    opening: Outline | None
    folded: FoldsOverError | None = None

    @property
    def inside(self) -> Outline:
        """What spreads follow: the opening, or the seat's inner wall where there is none."""
        return self.seat_inner if self.opening is None else self.opening


class Ground(Struct, frozen=True):
    """A piece round a feature: its curves, and its heights from the outer face [mm].

    Attributes:
        floor: of the seat.
        top: of the joint face.
        lip: width of the lip in plan.
        lip_top: of the lip.
        bar_top: of the tallest bar across the hollow: what lies on bars is as thick as they are.
    """

    curves: Curves
    end: End
    floor: float
    top: float
    lip: float
    lip_top: float
    bar_top: float


class Made(StrEnum):
    """Whether a hole is in the pattern or made in the casting."""

    CORED = "cored"
    DRILLED = "drilled"


Making = Annotated[
    Made, says("Made", "A cored hole is in the pattern; a drilled one is made in the casting and never scaled.")
]


class Stage(IntEnum):
    """When a shape is made: the shop's order, within which the kinds follow each other as they are registered."""

    BODY = 0
    HOLLOW = 1
    ACROSS = 2
    BOSSES = 3
    HOLES = 4


class Shape(Struct, frozen=True):
    """What a feature adds to a piece or takes from it, between two heights from the outer face [mm].

    Attributes:
        inside: outlines that it lies within, all of them.
        outside: outlines that it lies outside of.
        adds: whether it is metal.
        in_opening: whether it ends at the opening's edge.
        made: of a hole: in the pattern, or in the casting.
        is_a: `BOSS`, `HOLE` or `POCKET`; empty for what is called by its feature's kind.
    """

    stage: Stage
    z0: float
    z1: float
    inside: tuple[Outline, ...]
    outside: tuple[Outline, ...] = ()
    adds: bool = True
    in_opening: bool = False
    made: Made | None = None
    is_a: Literal["", "boss", "hole", "pocket"] = ""


class NoShape(Struct, frozen=True):
    """Why a feature has no shape where it now stands, what to do, and the outline where it is in trouble."""

    stage: Stage
    what: Sentence
    outline: Outline

    @classmethod
    def folded(cls, stage: Stage, name: str, error: FoldsOverError, outline: Outline) -> NoShape:
        """The curve that it runs along would fold over."""
        what = Sentence.of(
            f"{plain(name)} can't follow: an inward move of {{asked}} folds it over; the tightest radius is {{limit}}",
            asked=error.asked_mm,
            limit=error.limit_mm,
        )
        return cls(stage, what, outline)

    @classmethod
    def misses(cls, stage: Stage, name: str, across: str, offset: float, outline: Outline) -> NoShape:
        """A strip whose middle line lies too far out [mm]."""
        what = Sentence.of(
            f"{plain(name)} no longer reaches across {across}: its middle line lies {{offset}} from the centre; "
            "move it inward or make it narrower",
            offset=abs(offset),
        )
        return cls(stage, what, outline)
