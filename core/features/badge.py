"""Badge areas: raised pads about a centre."""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING, Annotated, ClassVar, Self

from core.features.ground import Shape, Stage
from core.features.kind import Follows, Holds
from core.features.placed import Placed
from core.geometry.lines.outline import Outline, circle_outline
from core.part.schema import Extent, Name, Size, X, Y, says

if TYPE_CHECKING:
    from collections.abc import Iterator

    from core.features.ground import Ground


class Badge(Placed, frozen=True, tag_field="kind", tag="badge"):
    """The centre badge area: an obround or round pad raised on the outer face, over the opening too [mm]."""

    may_follow: ClassVar = (Follows.CENTRE, Follows.MACHINE, Follows.SPREAD)
    leads: ClassVar = 9
    is_by_itself: ClassVar = True
    strip_fields: ClassVar = ("length", "width")

    name: Name
    length: Annotated[Size, says("Length", "This is the length of the pad along X.")]
    width: Annotated[Size, says("Width", "This is the width of the pad along Y.")]
    height: Annotated[Extent, says("Height", "This says how far the pad is raised above the outer face.")]
    x: X = 0.0
    y: Y = 0.0
    follows: Holds = Follows.CENTRE

    @classmethod
    def first(cls, name: str, ground: Ground) -> Self:
        x0, _, x1, _ = ground.curves.inside.bounds
        return cls(name, length=round((x1 - x0) * 0.4, 1), width=round((x1 - x0) * 0.2, 1), height=2.0)

    def shapes(self, ground: Ground) -> Iterator[Shape]:
        # What crosses the hollow is as thick as the tallest bar that carries it.
        yield Shape(Stage.ACROSS, -self.height, ground.bar_top, (badge_outline(self),))


def badge_outline(badge: Badge) -> Outline:
    """An obround, or a circle where length and width agree."""
    length, width = max(badge.length, badge.width), min(badge.length, badge.width)
    straight = (length - width) / 2.0
    if straight <= 0.0:
        return circle_outline((badge.x, badge.y), width / 2.0)
    r = width / 2.0
    flat = Outline([[straight, -r, 1.0], [straight, r, 0.0], [-straight, r, 1.0], [-straight, -r, 0.0]])
    upright = flat if badge.length >= badge.width else flat.turned(pi / 2.0)
    return upright.moved(badge.x, badge.y)
