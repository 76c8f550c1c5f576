"""What every kind of feature answers. A kind says what is particular to it; all else is answered here.

A feature is a value of a project file that knows what it follows, which metal it makes, what of it a resizing may
change, and what it is in the fit and in a file. Whoever deals with features asks them, and never which kind they are.
"""

from __future__ import annotations

from abc import abstractmethod
from enum import StrEnum
from typing import TYPE_CHECKING, Annotated, ClassVar, Final, Self

from core.features.ground import BOSS
from core.part.schema import Value, says

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from core.features.ground import Curves, Ground, NoShape, Shape
    from core.geometry.lines.outline import Point
    from core.part.curve import HeldCurve
    from core.words.verdicts import Sentence


class Follows(StrEnum):
    """What a feature holds on to when the seat changes."""

    MACHINE = "machine"
    SEAT = "seat"
    OUTSIDE = "outside"
    SPREAD = "spread"
    CENTRE = "centre"


Holds = Annotated[
    Follows,
    says("Follows", "This says what it holds on to when the seat changes. What follows the machine never moves."),
]

CURVE_WORDS: Final = {Follows.SEAT: "the seat's outer wall", Follows.OUTSIDE: "the outside"}
"""The curves that a feature may follow beside; there may be no place for it beside a new one."""
_LET_WORDS: Final = {
    Follows.MACHINE: "stay with the machine",
    Follows.SPREAD: "follow the spread",
    Follows.CENTRE: "stay at the centre",
}


class Kind(Value, frozen=True):
    """Base of the features; each kind is one class, and one line in `core.features.registry`.

    Attributes:
        may_follow: what it can hold on to.
        leads: which name a ring has whose edge runs along several kinds: that of the lowest number. Those of the
            piece's own curves lie up to 5.
        most: so many a piece may have.
        is_by_itself: whether its outline owes nothing to an oval, nor to its distance from one.
        height_field: of its own, what raises the metal over its edge, or leaves it under that.
        hole_field, ring_field: of its own, what makes its hole larger, and the metal round that; empty for none.
        strip_fields: of its own, what makes its strip of metal wider.
    """

    may_follow: ClassVar[tuple[Follows, ...]]
    leads: ClassVar[int] = 15
    most: ClassVar[int] = 5_000
    is_by_itself: ClassVar[bool] = False
    height_field: ClassVar[str] = "height"
    hole_field: ClassVar[str] = ""
    ring_field: ClassVar[str] = ""
    strip_fields: ClassVar[tuple[str, ...]] = ()

    if TYPE_CHECKING:  # fields of every kind, each in its own place in the file

        @property
        def name(self) -> str:
            """What the user calls it."""

        @property
        def follows(self) -> Follows:
            """What it holds on to."""

    @classmethod
    def word(cls) -> str:
        """The kind's name, in files and menus."""
        return str(cls.__struct_config__.tag)

    @classmethod
    @abstractmethod
    def first(cls, name: str, ground: Ground) -> Self:
        """One to begin with: sensible at once, then made true field by field."""

    @abstractmethod
    def shapes(self, ground: Ground) -> Iterator[Shape | NoShape]:
        """The metal that it adds or takes, or why there is none."""

    @abstractmethod
    def followed(self, was: Curves, now: Curves) -> tuple[Self, Sentence | None]:
        """Where it goes when its piece's curves change; with what to say when it can't go, and stays."""

    @abstractmethod
    def quantities(self, inset: Callable[[], float | None]) -> Iterator[tuple[str, float | Point]]:
        """What of it a resizing may change, by name: lengths, and places [mm].

        Args:
            inset: measures how far its edge lies inside the seat's inner wall [mm], as the metal
                stands; None where it has no shape.
        """

    def held_on(self, inner: HeldCurve, outside: HeldCurve | None) -> Self:
        """The same, holding on to the curve it runs along: the seat's inner wall, or an outside that is not held."""
        del inner, outside
        return self

    def edges(self, inner: HeldCurve, outside: HeldCurve) -> tuple[HeldCurve, ...]:
        """Its edges that run parallel to an oval, given the seat's inner wall and the outside."""
        del inner, outside
        return ()

    @property
    def at(self) -> Point | None:
        """Its one place in plan [mm]; None where it has none."""
        return None

    @property
    def carries_to(self) -> float:
        """How high it stands under what it carries across the hollow [mm]; 0 where it carries nothing."""
        return 0.0

    @property
    def bore(self) -> float:
        """Diameter of its hole [mm]; 0 where it has none, or where that is not for it to say."""
        return self._size(self.hole_field)

    @property
    def round_it(self) -> float:
        """Diameter of the metal that is meant for its hole [mm]; 0 where it has none."""
        return self._size(self.ring_field)

    @property
    def boss_across(self) -> float:
        """Diameter of its boss, where what is round its hole is one [mm]; else 0."""
        return self.round_it if self.ring_field == BOSS else 0.0

    def _size(self, field: str) -> float:
        size = getattr(self, field, 0.0)
        return float(size) if isinstance(size, int | float) else 0.0

    @classmethod
    def others(cls) -> str:
        """What else it may hold on to, that always tells where."""
        return " or ".join(_LET_WORDS[f] for f in cls.may_follow if f not in CURVE_WORDS)
