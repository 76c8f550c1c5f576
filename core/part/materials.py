"""What an insert's rims are made of, and what follows from it: one row a material.

The squeeze bands are where an insert's own limits start from, as % of the free rim; its maker's figures replace them.
No standard gives a band for moulded oval rims, and suppliers' guides disagree: for flat gaskets, solid and sponge,
25 to 50 % with 35 % as the usual target, or at least 10 to 15 %, 40 % at best and 50 % at most; for solid toroids in a
face groove 20 to 28 %. So every band here is common practice, no source.
"""

from __future__ import annotations

from enum import StrEnum
from typing import Final

from msgspec import Struct


class Material(StrEnum):
    """What the rims are made of."""

    NOT_STATED = "not_stated"
    FOAM = "foam"
    SPONGE = "sponge"
    SOFT_RUBBER = "soft_rubber"
    HARD_RUBBER = "hard_rubber"
    CORK = "cork"
    RIGID = "rigid"


class MaterialRow(Struct, frozen=True):
    """What is known of one material.

    Attributes:
        words: as a sentence speaks of a rim: ``of soft rubber``.
        squeeze: least and greatest that it wants, as % of the free rim; None where nothing gives way.
        keeps_volume: whether it swells sideways by what it is squeezed; None where that is not known.
        origin: where the band comes from.
    """

    words: str
    squeeze: tuple[float, float] | None
    keeps_volume: bool | None
    origin: str

    @property
    def is_yielding(self) -> bool:
        """Whether the rim gives way."""
        return self.squeeze is not None

    @property
    def is_solid_rubber(self) -> bool:
        """Whether it gives way and keeps its volume: what ISO 3302-1's classes and the room for the rim are about."""
        return self.is_yielding and self.keeps_volume is True


_PRACTICE: Final = "common practice, no source"

MATERIALS: Final[dict[Material, MaterialRow]] = {
    Material.NOT_STATED: MaterialRow("of a material that is not stated", (10.0, 25.0), None, _PRACTICE),
    Material.FOAM: MaterialRow("of moulded foam", (10.0, 25.0), keeps_volume=False, origin=_PRACTICE),
    Material.SPONGE: MaterialRow("of closed-cell sponge", (25.0, 50.0), keeps_volume=False, origin=_PRACTICE),
    Material.SOFT_RUBBER: MaterialRow("of soft solid rubber", (15.0, 30.0), keeps_volume=True, origin=_PRACTICE),
    Material.HARD_RUBBER: MaterialRow("of hard solid rubber", (5.0, 15.0), keeps_volume=True, origin=_PRACTICE),
    Material.CORK: MaterialRow("of cork", (15.0, 30.0), keeps_volume=False, origin=_PRACTICE),
    Material.RIGID: MaterialRow("rigid", None, keeps_volume=True, origin="a rigid rim must not be squeezed"),
}
