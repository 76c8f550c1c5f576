"""Clamp studs: no piece's own, but a list of the housing's, since one stud goes through both pieces."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, ClassVar, Self

from msgspec import Struct

from core.features.ground import BOSS, Made, Shape, Stage
from core.features.hole import bored
from core.features.kind import Follows, Holds
from core.features.placed import Placed
from core.features.stud.kinds import SHORT_WORDS, StudKind
from core.features.stud.threads import CLEARANCE_MM, TAP_DRILL_MM, Thread
from core.geometry.lines.outline import circle_outline
from core.part.schema import Name, Size, X, Y, says
from core.words.ends import End

if TYPE_CHECKING:
    from collections.abc import Iterator

    from core.features.ground import Ground


class Stud(Placed, frozen=True):
    """A clamp stud, tapped into a boss of the base and passing the lid.

    Attributes:
        length: of the stud that is in use [mm], as its kind counts it.
        boss: diameter of its bosses in base and lid [mm].
        hole_depth: of the drilled hole that is tapped, from the base's joint face, without its point [mm]; None is
            right through.
    """

    may_follow: ClassVar = (Follows.MACHINE, Follows.OUTSIDE, Follows.SEAT, Follows.SPREAD, Follows.CENTRE)
    hole_field: ClassVar = "thread"
    ring_field: ClassVar = "boss"

    name: Name
    x: X
    y: Y
    thread: Annotated[Thread, says("Thread", "This is the coarse metric thread of the stud.")]
    length: Annotated[
        Size,
        says(
            "Length in use",
            "This is the length of the stud that you use now, as its kind counts it: over all, or without the "
            "screwed-in end. The needed length is in the fit.",
        ),
    ]
    boss: Annotated[Size, says("Bosses", "This is the diameter of its bosses in base and lid.")]
    follows: Holds = Follows.MACHINE
    kind: Annotated[
        StudKind,
        says(
            "Kind",
            "This says how the stud is made. Full-length threads and cut rod are counted over all; double-ended studs "
            "are counted without the end that is screwed into the base.",
            words=SHORT_WORDS,
        ),
    ] = StudKind.THREADED
    hole_depth: Annotated[
        Size | None,
        says(
            "Hole depth",
            "This says how deep the tapped hole is drilled into the base from its joint face, without the drill's "
            "point. Empty is right through, which leaks past the thread.",
        ),
    ] = None

    @classmethod
    def word(cls) -> str:
        return "stud"

    @classmethod
    def first(cls, name: str, ground: Ground) -> Self:
        del ground
        return cls(name, 0.0, 0.0, Thread.M6, 20.0, round(3.4 * CLEARANCE_MM[Thread.M6], 1))

    def shapes(self, ground: Ground) -> Iterator[Shape]:
        yield Shape(Stage.BOSSES, 0.0, ground.top, (circle_outline(self.at, self.boss / 2.0),), is_a=BOSS)
        hole = bore(self, ground.end)
        yield bored(self.at, hole.diameter, ground.top, Made.DRILLED, hole.depth)


class Bore(Struct, frozen=True):
    """The hole that a stud has in one piece, drilled in the casting and never scaled.

    Attributes:
        diameter: of the drill [mm].
        depth: of the drilled hole without its point, from the joint face [mm]; None is right through.
        purpose: what it is, as ``tapped M6`` or ``clearance for M6``.
    """

    diameter: float
    depth: float | None
    purpose: str


def bore(stud: Stud, end: End) -> Bore:
    """The tapped hole in the base, or the clearance hole (ISO 273, medium) in the lid."""
    if end is End.BASE:
        return Bore(TAP_DRILL_MM[stud.thread], stud.hole_depth, f"tapped {stud.thread}")
    return Bore(CLEARANCE_MM[stud.thread], None, f"clearance for {stud.thread}")
