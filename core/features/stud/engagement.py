"""How much thread a stud wants in the metal it is screwed into, as a multiple of its diameter."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from msgspec import Struct

from core.part.housing import MetalKind

if TYPE_CHECKING:
    from core.part.housing import Metal
    from core.part.project import Limits


class Engagement(Struct, frozen=True):
    """What one sort of metal wants.

    Attributes:
        factor: least length of engaged thread, in thread diameters.
        metal: the metal as a sentence names it.
        origin: where the factor comes from.
    """

    factor: float
    metal: str
    origin: str


_WEAK = "common practice; studs for light alloys have an end of 2 diameters (DIN 835, from memory)"
_IRON = "common practice; DIN 939 has studs with an end of 1.25 diameters, mainly for cast iron, as the least"

ENGAGEMENT: Final = {
    MetalKind.ALUMINIUM: Engagement(2.0, "aluminium", _WEAK),
    MetalKind.MAGNESIUM: Engagement(2.0, "magnesium", _WEAK),
    MetalKind.ZINC: Engagement(2.0, "zinc", "common practice, no source"),
    MetalKind.BRASS: Engagement(1.5, "brass", "common practice, no source"),
    MetalKind.BRONZE: Engagement(1.5, "bronze", "common practice, no source"),
    MetalKind.GREY_IRON: Engagement(1.5, "grey iron", _IRON),
    MetalKind.DUCTILE_IRON: Engagement(1.5, "ductile iron", _IRON),
    MetalKind.NOT_STATED: Engagement(2.0, "a metal that is not stated", "the most of what the listed metals want"),
}
"""By metal. All are starting points for a steel stud of ordinary strength; `Limits.engagement` stands over them."""


def engagement_of(metal: Metal, limits: Limits) -> float:
    """Thread that a stud wants in a metal, in diameters: the user's limit, or what the metal wants."""
    return ENGAGEMENT[metal.kind].factor if limits.engagement is None else limits.engagement
