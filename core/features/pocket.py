"""Relief pockets inside the seat."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, ClassVar, Self

from core.features.alongside import Alongside
from core.features.ground import POCKET, NoShape, Shape, Stage
from core.features.kind import Follows, Holds
from core.part.curve import HeldCurve, held_or_parallel
from core.part.schema import Name, Thickness, says
from core.words.errors import FoldsOverError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from core.features.ground import Ground
    from core.geometry.lines.outline import Point


class Pocket(Alongside, frozen=True, tag_field="kind", tag="pocket"):
    """An interior relief pocket, open to the joint side: ``inset`` from the seat's inner wall, ``floor`` left [mm].

    ``held`` is set when it follows the machine: its edge, as it was.
    """

    may_follow: ClassVar = (Follows.SEAT, Follows.MACHINE)
    leads: ClassVar = 4
    height_field: ClassVar = "floor"

    name: Name
    inset: Annotated[Thickness, says("Inset", "This is the distance from the seat's inner wall to the pocket's edge.")]
    floor: Annotated[Thickness, says("Floor left", "This is the metal that is left under the pocket.")]
    follows: Holds = Follows.SEAT
    held: HeldCurve | None = None

    @classmethod
    def first(cls, name: str, ground: Ground) -> Self:
        return cls(name, inset=ground.lip + 2.0, floor=max(ground.floor * 0.75, 0.5))

    def shapes(self, ground: Ground) -> Iterator[Shape | NoShape]:
        inner = ground.curves.seat_inner
        try:
            edge = held_or_parallel(self.held, inner, -self.inset, f"{self.name}.inset")
        except FoldsOverError as error:
            yield NoShape.folded(Stage.HOLLOW, self.name, error, inner)
        else:
            yield Shape(Stage.HOLLOW, self.floor, ground.lip_top, (edge,), adds=False, is_a=POCKET)

    def quantities(self, inset: Callable[[], float | None]) -> Iterator[tuple[str, float | Point]]:
        measured = None if self.held is None else inset()
        yield "inset", self.inset if measured is None else measured

    def held_on(self, inner: HeldCurve, outside: HeldCurve | None) -> Self:
        del outside
        return self._held_inside(inner)

    def edges(self, inner: HeldCurve, outside: HeldCurve) -> tuple[HeldCurve, ...]:
        del outside
        return (self.held or inner.inward(self.inset),)
