"""How small differences read: finer than the sizes that they belong to, where those are in sixty-fourths."""

from __future__ import annotations

from app.session.figures import length_text
from core.words.lengths import Style


def spread_text(mm: float, style: Style, *, signed: bool = False, with_unit: bool = True) -> str:
    """A small difference to read: where lengths are fractions of an inch, in decimals, which are fine enough."""
    style = Style.INCH if style is Style.FRACTION else style
    return length_text(mm, style, signed=signed, with_unit=with_unit)
