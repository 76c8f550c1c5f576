"""The insert: the purchased component that the housing is built around."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, Annotated

from msgspec import Meta

from core.ovals import Family, Oval, oval_outline
from core.parallel import parallel
from core.schema import Coordinate, Extent, Name, Percent, Size, Value

if TYPE_CHECKING:
    from core.outline import Outline


class End(StrEnum):
    """The two pieces of a housing, and the two ends of the insert that sit in them."""

    BASE = "base"
    LID = "lid"


class RimKind(StrEnum):
    """Whether the rim gives way."""

    RIGID = "rigid"
    YIELDING = "yielding"


class Rim(Value, frozen=True):
    """One end ring of an insert.

    Attributes:
        width: radial [mm].
        thickness: axial, unsqueezed [mm]; for a rigid insert the height of the ring that sits in the seat.
        outset: normal distance of the rim's outer outline outside the insert's oval [mm]; below 0 it lies inside.
    """

    width: Size
    thickness: Size
    outset: Coordinate = 0.0


class SqueezeLimits(Value, frozen=True):
    """What squeeze a yielding rim wants, as % of the soft rims' free height."""

    least: Percent = 10.0
    greatest: Percent = 25.0


class PlusMinus(Value, frozen=True):
    """Half width of the spread that the sizes are known to, or made within [mm]."""

    length: Extent = 0.0
    width: Extent = 0.0
    height: Extent = 0.0
    rim_width: Extent = 0.0


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
        kind: whether the rims yield.
        squeeze: what the rims want, when they yield.
        plus_minus: spread of the sizes.
    """

    name: Name
    family: Family
    length: Size
    width: Size
    rim: Rim
    height: Size
    kind: RimKind = RimKind.YIELDING
    end_radius: Size | None = None
    exponent: Annotated[float, Meta(ge=2.0, le=10.0)] | None = None
    lid_rim: Rim | None = None
    squeeze: SqueezeLimits = SqueezeLimits()
    plus_minus: PlusMinus = PlusMinus()

    @property
    def oval(self) -> Oval:
        """The insert's oval."""
        return Oval(self.family, self.length, self.width, self.end_radius, self.exponent)

    def rim_at(self, end: End) -> Rim:
        """The rim that sits in the base or in the lid."""
        return self.rim if end is End.BASE or self.lid_rim is None else self.lid_rim

    @property
    def is_yielding(self) -> bool:
        """Whether the rims give way."""
        return self.kind is RimKind.YIELDING


def rim_outlines(insert: Insert, end: End, *, name: str = "insert") -> tuple[Outline, Outline]:
    """Outer and inner outline of a rim, both counter-clockwise.

    Raises:
        FoldsOverError: the rim is wider than its oval's tightest radius.
    """
    rim = insert.rim_at(end)
    where = f"{name}.rim" if end is End.BASE or insert.lid_rim is None else f"{name}.lid_rim"
    outer = parallel(oval_outline(insert.oval), rim.outset, where=f"{where}.outset")
    return outer, parallel(outer, -rim.width, where=f"{where}.width")
