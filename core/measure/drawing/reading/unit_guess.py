"""The unit of a drawing: what its file says, what its size makes likely, and whether the part's size makes it so."""

from __future__ import annotations

from math import log
from typing import TYPE_CHECKING, Final

from core.measure.drawing.remarks import Remark, RemarkKind
from core.measure.drawing.results import MM_PER, DrawingUnit, Role
from core.words.verdicts import Sentence

if TYPE_CHECKING:
    from core.geometry.lines.outline import Point
    from core.measure.drawing.results import Drawing, Sorted

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


def unit_doubt(drawing: Drawing, found: Sorted, unit: DrawingUnit) -> Remark | None:
    """A remark where the part that was found has hardly the size of a housing; None where it may be one.

    The finished part's larger side counts, not that of the sheet round it, and whoever said the unit is doubted alike:
    the file, the user, or the guess from the drawing's size.

    Args:
        drawing: as it was read.
        found: its outlines with their roles, in that unit; where there are none, the whole drawing's size counts.
        unit: that one unit of the file was taken for.
    """
    (x0, y0, x1, y1), what = _part_bounds(drawing, found, unit)
    length, width = max(x1 - x0, y1 - y0), min(x1 - x0, y1 - y0)
    if not length > 0.0 or _SMALLEST <= length <= _LARGEST:
        return None
    one = MM_PER[unit]
    others = [(other, MM_PER[other] / one) for other in _METRIC if other is not unit]
    likely = [(other, times) for other, times in others if _SMALLEST <= times * length <= _LARGEST][:2]
    if unit is drawing.unit:
        who = f"The file states {PLURAL[unit]} as its unit"
    elif drawing.unit is None and unit is drawing.guess:
        who = f"The file states no unit, and {PLURAL[unit]} are taken by the drawing's size"
    else:
        who = f"{PLURAL[unit].capitalize()} were chosen as the file's unit"
    text = f"{who}, but then {what} is {{length}} by {{width}}, and hardly a housing."
    sizes = {"length": length, "width": width}
    for i, (other, times) in enumerate(likely):
        text += f" In {PLURAL[other]} it would be {{length{i}}} by {{width{i}}}."
        sizes |= {f"length{i}": times * length, f"width{i}": times * width}
    at: Point = ((x0 + x1) / 2.0, (y0 + y1) / 2.0)
    return Remark(RemarkKind.UNIT, Sentence.of(f"{text} Check one size before you rely on it.", **sizes), at)


def _part_bounds(drawing: Drawing, found: Sorted, unit: DrawingUnit) -> tuple[tuple[float, float, float, float], str]:
    """Least x, y, greatest x, y [mm] of the part, and what was taken for it."""
    for role in (Role.OUTSIDE, Role.SEAT_OUTER):
        for number, own in found.roles.items():
            if own is role:
                return found.loops.loop(number).outline.bounds, "the part" if role is Role.OUTSIDE else "its seat"
    x0, y0, x1, y1 = (v * MM_PER[unit] for v in drawing.bounds)
    return (x0, y0, x1, y1), "the whole drawing"
