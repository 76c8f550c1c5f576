"""How readings and families are spoken of in sentences, lengths as fields."""

from __future__ import annotations

from math import isinf
from typing import TYPE_CHECKING

from core.part.readings import ReadingKind

if TYPE_CHECKING:
    from collections.abc import Callable

    from core.geometry.ovals.ovals import Family
    from core.measure.readings.results import Estimate
    from core.part.readings import Reading

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
    word = family.kind.words
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


SPREAD, NO_SPREAD = "± for the next one bought", "no ± for the next one bought"


def plus_minus_words(estimate: Estimate, show: Callable[[float], str]) -> str:
    """The ± of the next one bought, as ``± 0.50 mm``; empty where it is not known."""
    return "" if estimate.next_one is None else f"± {show(estimate.next_one)}"


def known_words(estimate: Estimate, show: Callable[[float], str]) -> str:
    """How well an estimate itself is known, which is not the ± of the next one bought."""
    if isinf(estimate.expanded):
        return "one sample does not tell how well the mean is known"
    return f"the mean is known to within {show(estimate.expanded)}"
