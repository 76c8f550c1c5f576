"""How readings and families are spoken of in sentences, lengths as fields."""

from __future__ import annotations

from typing import TYPE_CHECKING

from core.ovals import Family
from core.readings.values import ReadingKind

if TYPE_CHECKING:
    from core.readings.values import Reading

FAMILY_WORDS = {
    Family.CIRCLE: "circle",
    Family.OBROUND: "obround",
    Family.ELLIPSE: "ellipse",
    Family.FOUR_ARC: "four-arc oval",
    Family.ROUNDED_RECTANGLE: "rounded rectangle",
    Family.SUPERELLIPSE: "superellipse",
    Family.MEASURED: "measured outline",
}

_PLAIN = {
    ReadingKind.LENGTH: "the length",
    ReadingKind.WIDTH: "the width",
    ReadingKind.END_RADIUS: "the end radius",
    ReadingKind.CORNER_GAP: "the corner gap",
    ReadingKind.TAPE: "the tape",
    ReadingKind.ROLL: "the rolled length",
    ReadingKind.RIM_WIDTH: "the rim's width",
    ReadingKind.RIM_THICKNESS: "the rim's thickness",
    ReadingKind.HEIGHT: "the height",
}


def a_family(family: Family) -> str:
    """A family with its article, as ``an ellipse``."""
    word = FAMILY_WORDS[family]
    return f"{'an' if word[0] in 'aeiou' else 'a'} {word}"


def row_words(row: Reading, field: str = "at") -> str:
    """A row as a sentence speaks of it, as ``the width at {at}``; ``row.along`` is the length of its field."""
    match row.kind:
        case ReadingKind.JAWS:
            return "the jaws" if row.angle is None else f"the jaws at {row.angle:g}°"
        case ReadingKind.WIDTH_AT:
            return f"the width {{{field}}} from the middle"
        case ReadingKind.END_HEIGHT:
            return f"the end's height over a chord of {{{field}}}"
        case kind:
            return _PLAIN[kind]
