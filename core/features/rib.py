"""Raised straight ribs on the outer face."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, ClassVar, Self

from core.features.ground import NoShape, Shape, Stage
from core.features.kind import Follows, Holds
from core.features.straight import Offset, Straight
from core.geometry.lines.strips import strip
from core.geometry.parallels.parallel import parallel
from core.part.schema import Angle, Extent, Name, Size, Thickness, says
from core.words.errors import FoldsOverError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from core.features.ground import Ground


class Rib(Straight, frozen=True, tag_field="kind", tag="rib"):
    """A raised straight rib on the outer face, ending ``inset`` inside the outside; placed as a crossbar is."""

    may_follow: ClassVar = (Follows.SPREAD, Follows.OUTSIDE, Follows.MACHINE, Follows.CENTRE)
    leads: ClassVar = 8

    name: Name
    angle: Angle
    offset: Offset
    width: Annotated[Size, says("Width", "This is the width of the rib in plan.")]
    height: Annotated[Thickness, says("Height", "This says how far the rib is raised above the outer face.")]
    inset: Annotated[Extent, says("Ends short by", "This says how far inside the outside the rib ends.")]
    follows: Holds = Follows.SPREAD

    @classmethod
    def first(cls, name: str, ground: Ground) -> Self:
        del ground
        return cls(name, angle=0.0, offset=0.0, width=4.0, height=2.0, inset=3.0)

    def shapes(self, ground: Ground) -> Iterator[Shape | NoShape]:
        outside = ground.curves.outside
        try:
            limit = parallel(outside, -self.inset, where=f"{self.name}.inset")
        except FoldsOverError as error:
            yield NoShape.folded(Stage.BODY, self.name, error, outside)
            return
        outline = strip(limit, self.angle, self.offset, self.width, max(self.inset / 2.0, 0.5))
        if outline is None:
            yield NoShape.misses(Stage.BODY, self.name, "the outer face", self.offset, limit)
        else:
            yield Shape(Stage.BODY, -self.height, 0.0, (outline, limit))
