"""A curve that a project file holds: an oval, and the distance of a parallel to it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from msgspec import Meta

from core.geometry.ovals.ovals import Family, Oval, oval_outline
from core.geometry.parallels.parallel import parallel
from core.part.schema import Coordinate, Size, Value, Vertex

if TYPE_CHECKING:
    from core.geometry.lines.outline import Outline


class HeldCurve(Value, frozen=True):
    """A curve that stays where it was: the parallel of an oval at a normal distance (+ outward) [mm]."""

    family: Family
    length: Size
    width: Size
    offset: Coordinate
    end_radius: Size | None = None
    exponent: Annotated[float, Meta(ge=2.0, le=10.0)] | None = None
    vertices: tuple[Vertex, ...] | None = None

    @property
    def oval(self) -> Oval:
        """The oval that the curve runs parallel to."""
        return Oval(self.family, self.length, self.width, self.end_radius, self.exponent, self.vertices)

    @classmethod
    def of(cls, oval: Oval, offset: float) -> HeldCurve:
        """The parallel of ``oval`` at ``offset`` [mm]."""
        return cls(oval.family, oval.length, oval.width, offset, oval.end_radius, oval.exponent, oval.vertices)

    def inward(self, distance: float) -> HeldCurve:
        """The parallel of this curve ``distance`` [mm] further in."""
        return HeldCurve.of(self.oval, self.offset - distance)

    def outline(self, where: str) -> Outline:
        """The curve itself, counter-clockwise."""
        return parallel(oval_outline(self.oval), self.offset, where=where)


def held_or_parallel(held: HeldCurve | None, source: Outline, distance: float, where: str) -> Outline:
    """The held curve where there is one, else the parallel of ``source`` at ``distance`` [mm].

    Raises:
        FoldsOverError: an inward move past the tightest radius.
    """
    return parallel(source, distance, where=where) if held is None else held.outline(where)
