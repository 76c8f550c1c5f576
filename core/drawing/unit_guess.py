"""The unit of a drawing: what its file says, and what its size makes likely."""

from __future__ import annotations

from math import log
from typing import Final

from core.drawing.results import MM_PER, DrawingUnit

STATED: Final[dict[int, DrawingUnit]] = {
    1: DrawingUnit.INCH,
    2: DrawingUnit.FOOT,
    4: DrawingUnit.MM,
    5: DrawingUnit.CM,
    6: DrawingUnit.METRE,
}
"""By the value of $INSUNITS (DXF reference, header variables)."""

OTHER_UNITS: Final[dict[int, str]] = {
    3: "miles", 7: "kilometres", 8: "microinches", 9: "thousandths of an inch", 10: "yards", 11: "ångströms",
    12: "nanometres", 13: "micrometres", 14: "decimetres", 15: "decametres", 16: "hectometres",
    21: "US survey feet", 22: "US survey inches", 23: "US survey yards", 24: "US survey miles",
}  # fmt: skip
"""What else $INSUNITS can say (same reference), and no drawing of a housing has any use for."""

PLURAL: Final[dict[DrawingUnit, str]] = {
    DrawingUnit.MM: "millimetres",
    DrawingUnit.CM: "centimetres",
    DrawingUnit.METRE: "metres",
    DrawingUnit.INCH: "inches",
    DrawingUnit.FOOT: "feet",
}
"""The units by name."""

# A housing's larger side [mm]: common practice, no source.
_SMALLEST, _LARGEST = 50.0, 1000.0
_DOUBT: Final = 5.0
_METRIC: Final = (DrawingUnit.MM, DrawingUnit.INCH, DrawingUnit.CM, DrawingUnit.METRE, DrawingUnit.FOOT)
_IMPERIAL: Final = (DrawingUnit.INCH, DrawingUnit.MM, DrawingUnit.FOOT, DrawingUnit.CM, DrawingUnit.METRE)


def likely_unit(size: float, stated: DrawingUnit | None = None, *, is_imperial: bool = False) -> DrawingUnit:
    """The first unit in which a drawing with the larger side ``size`` [its own unit] is a housing of 50 to 1000 mm.

    Millimetres are tried first, or inches when the file is set up for them. When no unit suits, the nearest does. The
    stated unit is believed unless it makes the drawing five times too small or too large for a housing.
    """
    units = _IMPERIAL if is_imperial else _METRIC
    if not size > 0.0:
        return stated or units[0]

    def off(unit: DrawingUnit) -> float:
        mm = size * MM_PER[unit]
        return max(0.0, log(_SMALLEST / mm), log(mm / _LARGEST))

    return stated if stated and off(stated) < log(_DOUBT) else min(units, key=off)


def doubt(stated: DrawingUnit, likely: DrawingUnit) -> str:
    """A sentence about a stated unit in which the drawing can hardly be a housing."""
    return (
        f"The file states {PLURAL[stated]} as its unit, but in {PLURAL[likely]} it would be nearer to the size of a "
        "housing: check one size before you rely on it."
    )
