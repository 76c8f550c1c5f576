"""The insert: the purchased component that the housing is built around."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from msgspec import Meta
from msgspec.structs import replace

from core.geometry.ovals.measured import measured_outline
from core.geometry.ovals.ovals import Family, Oval, oval_outline
from core.geometry.ovals.pressed import pressed_oval
from core.geometry.parallels.parallel import parallel
from core.part.materials import MATERIALS, Material
from core.part.readings import Readings, SizeName, Source
from core.part.schema import Coordinate, Extent, Name, Percent, Size, Thickness, Value, Vertex, says
from core.words.ends import End
from core.words.errors import ImpossibleOvalError

if TYPE_CHECKING:
    from core.geometry.lines.outline import Outline


Shape = Annotated[
    Family,
    says(
        "Shape",
        "This says how the oval's curve is made. Length and width never decide it: compare a diagonal.",
        words={family: family.kind.words for family in Family},
    ),
]
EndRadius = Annotated[
    Size | None,
    says(
        "End radius",
        "This is the radius of the two ends of a four-arc oval, or of a rounded rectangle's corners. An empty field "
        "takes the usual construction.",
    ),
]
Exponent = Annotated[
    Annotated[float, Meta(ge=2.0, le=10.0)] | None,
    says(
        "Exponent",
        "This is the exponent of the superellipse: 2 is an ellipse, 10 nearly a rectangle. An empty field takes 2.5.",
    ),
]


class Rim(Value, frozen=True):
    """One end ring of an insert.

    Attributes:
        width: radial [mm].
        thickness: axial, unsqueezed [mm]; for a rigid insert the height of the ring that sits in the seat.
        outset: normal distance of the rim's outer outline outside the insert's oval [mm]; below 0 it lies inside.
    """

    width: Annotated[Thickness, says("Rim width", "This is the radial width of the end ring that sits in the seat.")]
    thickness: Annotated[
        Thickness,
        says(
            "Rim thickness",
            "This is the height of the rim, unsqueezed. Squeeze in % counts on the soft rims, not on the whole insert.",
        ),
    ]
    outset: Annotated[
        Coordinate,
        says(
            "Rim outset",
            "This says how far the rim's outer edge lies outside the insert's oval. Below 0 it lies inside.",
        ),
    ] = 0.0


class SqueezeLimits(Value, frozen=True):
    """What squeeze a soft rim wants, as % of the soft rims' free height; None is what its material wants."""

    least: Annotated[
        Percent | None,
        says(
            "Least",
            "This is the least squeeze at which the rim still seals. An empty field takes what its material wants.",
        ),
    ] = None
    greatest: Annotated[
        Percent | None,
        says("Greatest", "More than this hurts the rim or bows the lid. An empty field takes what its material wants."),
    ] = None


_BOUGHT = (
    "of the next one bought may differ by, up or down, in 95 of 100 cases: by the readings of three samples, or by the "
    "maker's word. What a mean is known to is less."
)


class PlusMinus(Value, frozen=True):
    """Within what the next insert bought differs from each size, half the width of that interval [mm].

    It is what a maker promises, or 95 % of what is bought by the readings of three samples; never what a mean is known
    to, which is less.
    """

    length: Annotated[Extent, says("Length ±", f"This says what the length {_BOUGHT}")] = 0.0
    width: Annotated[Extent, says("Width ±", f"This says what the width {_BOUGHT}")] = 0.0
    height: Annotated[Extent, says("Height ±", f"This says what the free height {_BOUGHT}")] = 0.0
    rim_width: Annotated[Extent, says("Rim width ±", f"This says what the rim's width {_BOUGHT}")] = 0.0


class Pressed(Value, frozen=True):
    """The shape that yielding rims are pressed to by their seats: another oval of the same developed length.

    The length follows from the developed length; the width is the user's choice.
    """

    family: Shape
    width: Annotated[
        Size,
        says(
            "Pressed width",
            "This is the width of the shape that the rims are pressed to. Its length follows from their developed "
            "length.",
        ),
    ]
    end_radius: EndRadius = None
    exponent: Exponent = None


class Insert(Value, frozen=True):
    """A purchased component with a rim at each end.

    Attributes:
        family: of its oval.
        length, width: of its oval [mm].
        end_radius: of a four-arc oval or the corners of a rounded rectangle [mm]; None for the usual construction.
        exponent: of a superellipse; None for 2.5.
        rim: the ring at the base end.
        lid_rim: the ring at the lid end; None when it is like ``rim``.
        height: free height over both rims [mm].
        material: of the rims.
        squeeze: what the rims want where it is not what their material wants; counts only when they yield.
        plus_minus: of the next one bought, for each size.
        outline: the vertices of a measured outline; counts only in that family.
        pressed: the shape that the rims are pressed to, when it is not the one they have when they lie free.
        readings: what was read off it.
        sources: where sizes come from that were not typed in.
    """

    name: Name
    family: Shape
    length: Annotated[Size, says("Length", "This is the overall size along the long axis.")]
    width: Annotated[Size, says("Width", "This is the overall size across the long axis.")]
    rim: Annotated[Rim, says("Base rim", "This is the ring at the insert's base end.")]
    height: Annotated[
        Size,
        says(
            "Free height",
            "This is the height over both rims, unsqueezed. Measure it under a flat plate, and take the plate's weight "
            "off.",
        ),
    ]
    material: Annotated[
        Material,
        says(
            "Rims of",
            "This is what the rims are made of. It says how much squeeze they want, and whether they need room to "
            "swell into: solid rubber keeps its volume. A rigid rim needs a bedding gap instead.",
        ),
    ] = Material.NOT_STATED
    end_radius: EndRadius = None
    exponent: Exponent = None
    lid_rim: Annotated[
        Rim | None, says("Lid rim", "This is the ring at the insert's lid end, when it differs from the base's.")
    ] = None
    squeeze: SqueezeLimits = SqueezeLimits()
    plus_minus: PlusMinus = PlusMinus()
    outline: tuple[Vertex, ...] | None = None
    pressed: Pressed | None = None
    readings: Readings = Readings()
    sources: tuple[Source, ...] = ()

    @property
    def oval(self) -> Oval:
        """The oval that the rims have in their seats: the free one, or the one they are pressed to.

        Raises:
            ImpossibleOvalError: no oval of the pressed width has the rims' developed length.
        """
        if self.pressed is None:
            return self.free_oval
        p = self.pressed
        return pressed_oval(self.free_oval, p.family, p.width, p.end_radius, p.exponent)

    @property
    def free_oval(self) -> Oval:
        """The insert's oval as it lies on the table."""
        vertices = None if self.family.kind.is_sized else self.outline
        return Oval(self.family, self.length, self.width, self.end_radius, self.exponent, vertices)

    @property
    def as_pressed(self) -> Pressed:
        """The free oval given as a pressed one: where pressing starts from."""
        free = self.free_oval
        return Pressed(free.family, free.width, free.end_radius, free.exponent)

    def source(self, size: SizeName) -> Source | None:
        """Where a size comes from; None when it was typed in."""
        return next((source for source in self.sources if source.size is size), None)

    def rim_at(self, end: End) -> Rim:
        """The rim that sits in the base or in the lid."""
        return self.rim if end is End.BASE or self.lid_rim is None else self.lid_rim

    @property
    def is_yielding(self) -> bool:
        """Whether the rims give way."""
        return MATERIALS[self.material].is_yielding

    @property
    def squeeze_wanted(self) -> tuple[float, float]:
        """Least and greatest squeeze that the rims want, as % of their free height; 0 and 0 for rigid ones."""
        least, greatest = MATERIALS[self.material].squeeze or (0.0, 0.0)
        own = self.squeeze
        return least if own.least is None else own.least, greatest if own.greatest is None else own.greatest


def reshaped(was: Insert, now: Insert) -> Insert:
    """An insert after an edit, with the sizes that its shape rules.

    A circle is as wide as it is long, whichever of the two was typed. Of another shape, a size that it can't have is
    left to be the usual one, and a measured outline brings its own length and width. What counts for one shape only is
    kept for the way back.
    """
    kind, is_other = now.family.kind, was.family is not now.family
    is_longer, is_wider = was.length != now.length, was.width != now.width
    if kind.is_round and now.length != now.width and (is_other or is_longer is not is_wider):
        size = now.length if is_other or is_longer else now.width
        now = replace(now, length=size, width=size)
    if is_other and kind.own is not None and (own := now.free_oval.own) is not None:
        try:
            kind.check_own(kind.own.field, own, now.free_oval.shape)
        except ImpossibleOvalError:
            now = replace(now, **{kind.own.field: None})
    if is_other and not kind.is_sized and now.outline is not None and len(now.outline) > 1:
        x0, y0, x1, y1 = measured_outline(now.outline).bounds
        now = replace(now, length=x1 - x0, width=y1 - y0)
    return now


def rim_outlines(insert: Insert, end: End, *, name: str = "insert") -> tuple[Outline, Outline]:
    """Outer and inner outline of a rim, both counter-clockwise.

    Raises:
        FoldsOverError: the rim is wider than its oval's tightest radius.
    """
    rim = insert.rim_at(end)
    where = f"{name}.rim" if end is End.BASE or insert.lid_rim is None else f"{name}.lid_rim"
    outer = parallel(oval_outline(insert.oval), rim.outset, where=f"{where}.outset")
    return outer, parallel(outer, -rim.width, where=f"{where}.width")
