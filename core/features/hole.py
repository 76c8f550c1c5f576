"""Through holes, alone or in a boss."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, ClassVar, Self

from core.features.ground import BOSS, HOLE, Made, Making, Shape, Stage
from core.features.kind import Follows, Holds
from core.features.placed import Placed
from core.geometry.lines.outline import circle_outline
from core.part.schema import Extent, Name, Size, X, Y, says

if TYPE_CHECKING:
    from collections.abc import Iterator

    from core.features.ground import Ground
    from core.geometry.lines.outline import Point


class Hole(Placed, frozen=True, tag_field="kind", tag="hole"):
    """A through hole, cored or drilled, alone or in a boss.

    Attributes:
        boss: diameter of the boss round it [mm]; 0 is none.
        boss_height: from the outer face up [mm].
    """

    may_follow: ClassVar = tuple(Follows)
    height_field: ClassVar = "boss_height"
    hole_field: ClassVar = "diameter"
    ring_field: ClassVar = "boss"

    name: Name
    x: X
    y: Y
    diameter: Annotated[Size, says("Diameter", "This is the diameter of the finished hole.")]
    made: Making = Made.CORED
    boss: Annotated[
        Extent, says("Boss", "This is the diameter of the round boss about the hole. With 0 there is none.")
    ] = 0.0
    boss_height: Annotated[Extent, says("Boss height", "This is the height of the boss from the outer face up.")] = 0.0
    follows: Holds = Follows.MACHINE

    @classmethod
    def first(cls, name: str, ground: Ground) -> Self:
        return cls(name, 0.0, 0.0, 6.0, boss=18.0, boss_height=ground.floor)

    def shapes(self, ground: Ground) -> Iterator[Shape]:
        if self.boss > 0.0:
            height = min(self.boss_height or ground.top, ground.top)
            yield Shape(Stage.BOSSES, 0.0, height, (circle_outline(self.at, self.boss / 2.0),), is_a=BOSS)
        yield bored(self.at, self.diameter, ground.top, self.made)


def bored(at: Point, diameter: float, top: float, made: Made, depth: float | None = None) -> Shape:
    """A hole from the joint face down, right through unless a depth ends it in the metal [mm]."""
    bottom = 0.0 if depth is None else max(top - depth, 0.0)
    outline = circle_outline(at, diameter / 2.0)
    return Shape(Stage.HOLES, bottom, top, (outline,), adds=False, made=made, is_a=HOLE)
