"""Tolerances of moulded solid rubber, ISO 3302-1 table 1: what stands in for a spread that nobody could measure.

The standard is for solid rubber. Foam, sponge and cork lie outside it and usually vary more; nothing stands in for
their spread.
"""

from __future__ import annotations

from bisect import bisect_left

from core.part.readings import RubberClass

_UP_TO = (4.0, 6.3, 10.0, 16.0, 25.0, 40.0, 63.0, 100.0, 160.0)

# Fixed (made by one half of the mould) and closure (across its parting) of each class, +- mm; the last is per cent.
_TABLE: dict[RubberClass, tuple[tuple[float, ...], tuple[float, ...]]] = {
    RubberClass.M1: (
        (0.08, 0.10, 0.10, 0.15, 0.20, 0.20, 0.25, 0.35, 0.40, 0.3),
        (0.10, 0.12, 0.15, 0.20, 0.20, 0.25, 0.35, 0.40, 0.50, 0.4),
    ),
    RubberClass.M2: (
        (0.10, 0.15, 0.20, 0.20, 0.25, 0.35, 0.40, 0.50, 0.70, 0.5),
        (0.15, 0.20, 0.20, 0.25, 0.35, 0.40, 0.50, 0.70, 0.80, 0.7),
    ),
    RubberClass.M3: (
        (0.25, 0.25, 0.30, 0.40, 0.50, 0.60, 0.80, 1.00, 1.30, 0.8),
        (0.40, 0.40, 0.50, 0.60, 0.80, 1.00, 1.30, 1.60, 2.00, 1.3),
    ),
    RubberClass.M4: (
        (0.50, 0.50, 0.70, 0.80, 1.00, 1.30, 1.60, 2.00, 2.50, 1.5),
        (0.50, 0.50, 0.70, 0.80, 1.00, 1.30, 1.60, 2.00, 2.50, 1.5),
    ),
}


USUAL = RubberClass.M3
"""The class of technical mouldings that nobody agreed on another one for, as suppliers print beside the table."""


def stand_in(size_mm: float, rubber: RubberClass | None, *, is_closure: bool = False) -> float | None:
    """What `tolerance` gives, or None where no class stands in."""
    return None if rubber is None else tolerance(size_mm, rubber, is_closure=is_closure)


def tolerance(size_mm: float, rubber: RubberClass, *, is_closure: bool = False) -> float:
    """Half the tolerance [+- mm] of a rubber part's dimension.

    Args:
        size_mm: nominal dimension [mm], over 0.
        rubber: the class.
        is_closure: whether the dimension runs across the parting of the mould (heights, as a rule).

    Raises:
        ValueError: the dimension is not positive.

    Source: ISO 3302-1 table 1, from two suppliers' copies that agree.
    """
    if not size_mm > 0.0:
        raise ValueError(f"a dimension must be positive, not {size_mm}")
    column = _TABLE[rubber][is_closure]
    row = bisect_left(_UP_TO, size_mm)
    return column[row] if row < len(_UP_TO) else size_mm * column[row] / 100.0
