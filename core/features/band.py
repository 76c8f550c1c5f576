"""Raised bands along the outside."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, ClassVar, Self

from core.features.alongside import Alongside
from core.features.ground import NoShape, Shape, Stage
from core.features.kind import Follows, Holds
from core.part.curve import HeldCurve, held_or_parallel
from core.part.schema import Extent, Name, Size, Thickness, says
from core.words.errors import FoldsOverError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from core.features.ground import Ground


class Band(Alongside, frozen=True, tag_field="kind", tag="band"):
    """A raised band on the outer face, parallel to the outside: ``inset`` from it, ``width`` wide, ``height`` high.

    ``held`` is set when it follows the machine: its outer edge, as it was.
    """

    may_follow: ClassVar = (Follows.OUTSIDE, Follows.MACHINE)
    leads: ClassVar = 7

    name: Name
    inset: Annotated[Extent, says("Inset", "This is the distance from the outside to the band's outer edge.")]
    width: Annotated[Size, says("Width", "This is the width of the band in plan.")]
    height: Annotated[Thickness, says("Height", "This says how far the band is raised above the outer face.")]
    follows: Holds = Follows.OUTSIDE
    held: HeldCurve | None = None

    @classmethod
    def first(cls, name: str, ground: Ground) -> Self:
        del ground
        return cls(name, inset=3.0, width=4.0, height=2.0)

    def shapes(self, ground: Ground) -> Iterator[Shape | NoShape]:
        outside = ground.curves.outside
        try:
            outer = held_or_parallel(self.held, outside, -self.inset, f"{self.name}.inset")
            further_in = None if self.held is None else self.held.inward(self.width)
            inner = held_or_parallel(further_in, outer, -self.width, f"{self.name}.width")
        except FoldsOverError as error:
            yield NoShape.folded(Stage.BODY, self.name, error, outside)
        else:
            yield Shape(Stage.BODY, -self.height, 0.0, (outer,), (inner,))

    def held_on(self, inner: HeldCurve, outside: HeldCurve | None) -> Self:
        del inner
        return self._held_inside(outside)

    def edges(self, inner: HeldCurve, outside: HeldCurve) -> tuple[HeldCurve, ...]:
        del inner
        outer = self.held or outside.inward(self.inset)
        return outer, outer.inward(self.width)
