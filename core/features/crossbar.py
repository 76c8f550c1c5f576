"""Crossbars: strips across the opening."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, ClassVar, Self

from core.features.ground import NoShape, Shape, Stage
from core.features.kind import Follows, Holds
from core.features.straight import Offset, Straight
from core.geometry.lines.strips import strip
from core.part.schema import Angle, Name, Size, Thickness, says
from core.words.verdicts import Sentence, plain

if TYPE_CHECKING:
    from collections.abc import Iterator

    from core.features.ground import Ground


class Crossbar(Straight, frozen=True, tag_field="kind", tag="crossbar"):
    """A strip across the opening.

    Attributes:
        angle: of the strip from +X [degrees].
        offset: of its middle line from the seat centre, to the left of its direction [mm].
        width, height: in plan, and from the outer face up [mm].
    """

    may_follow: ClassVar = (Follows.SPREAD, Follows.MACHINE, Follows.CENTRE)
    leads: ClassVar = 6
    strip_fields: ClassVar = ("width",)

    name: Name
    angle: Angle
    offset: Offset
    width: Annotated[Size, says("Width", "This is the width of the strip in plan.")]
    height: Annotated[Thickness, says("Height", "This is the height of the strip from the outer face up.")]
    follows: Holds = Follows.SPREAD

    @classmethod
    def first(cls, name: str, ground: Ground) -> Self:
        return cls(name, angle=0.0, offset=0.0, width=8.0, height=ground.floor)

    def shapes(self, ground: Ground) -> Iterator[Shape | NoShape]:
        opening = ground.curves.opening
        if opening is None:
            what = f"{plain(self.name)} has no opening to cross: give the piece an opening, or remove the crossbar"
            yield NoShape(Stage.ACROSS, Sentence(what), ground.curves.seat_inner)
            return
        outline = strip(opening, self.angle, self.offset, self.width, max(ground.lip / 2.0, 0.5))
        if outline is None:
            yield NoShape.misses(Stage.ACROSS, self.name, "the opening", self.offset, opening)
        else:
            yield Shape(Stage.ACROSS, 0.0, self.height, (outline,), in_opening=True)

    @property
    def carries_to(self) -> float:
        return self.height
