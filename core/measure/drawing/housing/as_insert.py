"""A loop of an old drawing as an insert's oval."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from msgspec.structs import replace

from core.geometry.ovals.ovals import Oval
from core.part.readings import Origin, SizeName, Source

if TYPE_CHECKING:
    from core.measure.drawing.results import Recovered
    from core.part.insert import Insert

DIGITS: Final = 6
"""Decimals [mm] that a size is rounded to: an inch drawing's 64ths have as many, and what rounding left goes."""


ANGLE_DIGITS: Final = 4
"""Decimals [degrees]: finer than a drawing's six decimals of an inch tell over a hand's breadth."""
_STEPS: Final = (0.05, 25.4 / 64.0)
"""What shops draw in: twentieths of a millimetre, 64ths of an inch [mm]."""
_NEAR: Final = 2e-4
"""A file with six decimals of an inch, a few of them added up, strays so far from the size that was meant [mm]."""


def tidy(mm: float) -> float:
    """A size [mm] without what rounding left of it: the step that a shop draws in, where it is as near as rounding."""
    for step in _STEPS:
        whole = round(mm / step) * step
        if abs(whole - mm) <= _NEAR:
            return float(round(whole, DIGITS)) + 0.0
    return float(round(mm, DIGITS)) + 0.0


def tidy_oval(oval: Oval) -> Oval:
    """The oval with tidied sizes; a measured outline stays as it is."""
    if not oval.family.kind.is_sized:
        return oval
    radius, exponent = oval.end_radius, oval.exponent
    return Oval(
        oval.family,
        tidy(oval.length),
        tidy(oval.width),
        None if radius is None else tidy(radius),
        None if exponent is None else round(exponent, DIGITS),
    )


def insert_from(insert: Insert, found: Recovered, note: str = "") -> Insert:
    """The insert with the oval that a loop was recovered as; rims, height and readings stay.

    Args:
        insert: whose family, sizes and outline are replaced.
        found: what the loop is.
        note: where the loop is from, as "old-lid.dxf, outline 2".
    """
    oval = tidy_oval(found.oval)
    names = {SizeName.FAMILY, SizeName.LENGTH, SizeName.WIDTH}
    names |= {SizeName.END_RADIUS} if oval.end_radius is not None else set()
    names |= {SizeName.EXPONENT} if oval.exponent is not None else set()
    names |= {SizeName.OUTLINE} if oval.vertices is not None else set()
    replaced = names | {SizeName.END_RADIUS, SizeName.EXPONENT, SizeName.OUTLINE}
    kept = tuple(source for source in insert.sources if source.size not in replaced)
    return replace(
        insert,
        family=oval.family,
        length=oval.length,
        width=oval.width,
        end_radius=oval.end_radius,
        exponent=oval.exponent,
        outline=oval.vertices,
        pressed=None,
        sources=kept + tuple(Source(size, Origin.DRAWING, note) for size in SizeName if size in names),
    )
