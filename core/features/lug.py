"""Lugs: fixing ears on the outside, with the fillets of their necks."""

from __future__ import annotations

from math import sqrt
from typing import TYPE_CHECKING, Annotated, ClassVar, Self

from msgspec import Struct

from core.features.ground import Made, Making, Shape, Stage
from core.features.hole import bored
from core.features.kind import Follows, Holds
from core.features.placed import Placed
from core.geometry.lines.outline import Outline, bulge_through, circle_outline, polygon_outline
from core.part.schema import Extent, Name, Size, Thickness, X, Y, says

if TYPE_CHECKING:
    from collections.abc import Iterator

    from core.features.ground import Ground
    from core.geometry.lines.foot import Foot
    from core.geometry.lines.outline import Point


class Lug(Placed, frozen=True, tag_field="kind", tag="lug"):
    """A fixing ear on the outside: a round pad, a neck to the wall, and a hole.

    Attributes:
        x, y: centre of pad and hole [mm].
        pad, hole: diameters [mm].
        neck: width of the strip that joins pad and wall [mm].
        height: from the outer face up [mm].
        fillet: radius where the neck meets the wall [mm].
    """

    may_follow: ClassVar = (Follows.OUTSIDE, Follows.MACHINE, Follows.SEAT)
    leads: ClassVar = 10
    most: ClassVar = 1_000
    hole_field: ClassVar = "hole"
    ring_field: ClassVar = "pad"
    strip_fields: ClassVar = ("neck",)

    name: Name
    x: X
    y: Y
    pad: Annotated[Size, says("Pad", "This is the diameter of the round pad.")]
    hole: Annotated[Size, says("Hole", "This is the diameter of the hole in the pad.")]
    neck: Annotated[Size, says("Neck", "This is the width of the strip that joins pad and wall.")]
    height: Annotated[Thickness, says("Height", "This is the height of the lug from the outer face up.")]
    made: Making = Made.DRILLED
    fillet: Annotated[Extent, says("Fillet", "This is the radius where the neck meets the wall.")] = 0.0
    follows: Holds = Follows.OUTSIDE

    @classmethod
    def first(cls, name: str, ground: Ground) -> Self:
        pad, (_, _, x1, _) = 20.0, ground.curves.outside.bounds
        return cls(name, x1 + pad / 2.0, 0.0, pad, 6.6, 0.7 * pad, ground.floor + 2.0, fillet=3.0)

    def shapes(self, ground: Ground) -> Iterator[Shape]:
        for outline in lug_outlines(self, ground.curves.outside):
            yield Shape(Stage.BODY, 0.0, self.height, (outline,))
        yield bored(self.at, self.hole, ground.top, self.made)


def lug_outlines(lug: Lug, outside: Outline) -> tuple[Outline, ...]:
    """Pad, neck and fillets of a lug: the filled outlines that together are its metal in plan.

    The neck runs from the pad's centre to the nearest place of the outside and on into the wall, so that the union
    leaves no seam.
    """
    at = (lug.x, lug.y)
    foot = outside.foot_of(at)
    reach = outside.signed_distance_to(at, foot)
    pad = circle_outline(at, lug.pad / 2.0)
    if reach < 1e-6:
        return (pad,)  # the pad's centre lies in the wall already; no neck is needed
    d = ((foot.at[0] - lug.x) / reach, (foot.at[1] - lug.y) / reach)
    half = min(lug.neck, lug.pad) / 2.0
    # The neck's corners must end inside the wall although the outside curves away from them.
    sink = min(2.0 + half * half / max(reach, half), 8.0)
    axes = _Axes(at, d)
    neck = polygon_outline(
        [axes.place(t, u) for t, u in ((0.0, -half), (reach + sink, -half), (reach + sink, half), (0.0, half))]
    )
    fillets = _fillets(axes, outside, foot.segment, reach, half, lug.fillet) if lug.fillet > 0.0 else ()
    return (pad, neck, *fillets)


class _Axes(Struct, frozen=True):
    """A lug's own axes: along its neck towards the wall, and to the left of it."""

    origin: Point
    d: Point

    def place(self, along: float, aside: float) -> Point:
        """The point at these distances [mm]."""
        (x, y), (c, s) = self.origin, self.d
        return x + c * along - s * aside, y + s * along + c * aside


def _fillets(
    axes: _Axes, outside: Outline, segment: int, reach: float, half: float, radius: float
) -> tuple[Outline, ...]:
    """The fillets between both edges of a neck and the outside, tangent to both; none where there is no room."""
    wide = half + radius
    along = _fillet_along(outside, segment, reach, wide, radius)
    if along is None or along <= 0.0:
        return ()
    centres = [axes.place(along, wide * side) for side in (-1.0, 1.0)]
    patches: list[Outline] = []
    for side, centre in zip((-1.0, 1.0), centres, strict=True):
        foot = outside.foot_of(centre)
        settled = along
        if abs(foot.distance - radius) > 1e-9:
            tangent = _settled_centre(axes, outside, along, wide * side, radius)
            if tangent is None:
                continue
            settled, centre, foot = tangent  # noqa: PLW2901 - the guess gives way to what it led to
        on_neck = axes.place(settled, half * side)
        on_wall = foot.at
        # Round the fillet from neck to wall, then back under the metal of both.
        inward = axes.place(settled + 2.0 * radius, side * (half + radius / 2.0))
        root = axes.place(settled + radius, side * (half - min(radius, half) / 2.0))
        arc = bulge_through(on_neck, on_wall, centre, ccw=side > 0)
        patches.append(Outline([[*on_neck, arc], [*on_wall, 0.0], [*inward, 0.0], [*root, 0.0]]).oriented(ccw=True))
    return tuple(patches)


def _fillet_along(outside: Outline, segment: int, reach: float, wide: float, radius: float) -> float | None:
    """How far along the neck the fillet's centre lies, if the wall went on as at the neck's foot.

    The neck stands square on the wall, so the wall's centre of curvature is on its middle line.
    """
    s = outside.segments
    bend = float(s.bulge[segment])
    if bend == 0.0:
        return reach - radius
    r = float(s.radius[segment])
    # Convex (counter-clockwise) walls bend away from the lug, concave ones towards it.
    square = (r + radius) ** 2 - wide**2 if bend > 0.0 else (r - radius) ** 2 - wide**2
    if square <= 0.0:
        return None
    return reach + r - sqrt(square) if bend > 0.0 else reach - r + sqrt(square)


def _settled_centre(
    axes: _Axes, outside: Outline, along: float, aside: float, radius: float
) -> tuple[float, Point, Foot] | None:
    """Where a fillet's centre lies when its wall is another segment than the neck's: distance along, centre, foot."""
    for _ in range(60):
        centre = axes.place(along, aside)
        foot = outside.foot_of(centre)
        off = outside.signed_distance_to(centre, foot) - radius
        if abs(off) < 1e-11:
            return along, centre, foot
        along += off
        if along <= 0.0:
            return None
    return None
