"""The words of the readings' table: what each kind of row is called, and how its figure reads."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from msgspec import Struct

from core.part.readings import Instrument, ReadingKind
from core.words.lengths import edit_text, show_length, unit_of

if TYPE_CHECKING:
    from core.part.readings import Reading
    from core.words.lengths import Style


class KindWord(Struct, frozen=True):
    """What a kind of reading is called, and how it is taken.

    Attributes:
        name: in the table.
        menu: in the list of kinds that can be added.
        how: how it is read, a sentence or two.
        field: the field of the row that holds its figure; empty where it has none.
        instrument: what it is usually read with.
    """

    name: str
    menu: str
    how: str
    field: str = ""
    instrument: Instrument = Instrument.CALLIPER


KIND_WORDS: Final[dict[ReadingKind, KindWord]] = {
    ReadingKind.LENGTH: KindWord(
        "Length", "Length overall", "Lay the jaws on the two ends, along the long axis. Touch, never squeeze."
    ),
    ReadingKind.WIDTH: KindWord(
        "Width", "Width overall", "Lay the jaws on the two sides, across the middle. Touch, never squeeze."
    ),
    ReadingKind.JAWS: KindWord(
        "Across jaws",
        "Across the jaws at an angle",
        "Lay parallel jaws on the outside, turned by this angle from the long axis. 45° tells an obround from the "
        "other ovals.",
        "angle",
    ),
    ReadingKind.WIDTH_AT: KindWord(
        "Width at",
        "Width at a distance from the middle",
        "Read the width at this distance from the middle along the long axis. It tells an ellipse from four arcs.",
        "along",
    ),
    ReadingKind.END_RADIUS: KindWord(
        "End radius", "End radius by gauge", "Hold a radius gauge to the very end.", instrument=Instrument.GAUGE
    ),
    ReadingKind.END_HEIGHT: KindWord(
        "End over chord",
        "Height of the end over a chord",
        "Read how far the end stands out over a chord of this length across it.",
        "along",
    ),
    ReadingKind.CORNER_GAP: KindWord(
        "Corner gap",
        "Gap in a square corner",
        "Nest the end in a square corner, the long axis on the diagonal, and read the gap from the corner to the rim.",
    ),
    ReadingKind.TAPE: KindWord(
        "Tape round",
        "Tape round the outside",
        "Lay a tape of this thickness round the outside once; π times its thickness is taken off.",
        "along",
        Instrument.TAPE,
    ),
    ReadingKind.ROLL: KindWord(
        "Rolled",
        "Rolled along a rule",
        "Roll it on its edge along a straight rule, from the mark to the mark, this many turns.",
        "turns",
        Instrument.TAPE,
    ),
    ReadingKind.RIM_WIDTH: KindWord(
        "Rim width", "Rim width", "Read the radial width of the rim at two places or more.", "end"
    ),
    ReadingKind.RIM_THICKNESS: KindWord(
        "Rim thickness", "Rim thickness", "Read the height of the soft rim along the insert's axis, unsqueezed.", "end"
    ),
    ReadingKind.HEIGHT: KindWord(
        "Height",
        "Height over both rims, under a plate",
        "Read it under a flat plate of this weight. With two weights the height without any is extrapolated.",
        "weight",
    ),
}

LACK_WORDS: Final = {"angle": "angle?", "along": "distance?", "turns": "turns?"}
"""What stands in a figure's cell that is needed and missing, by the field of the row."""
_ALONG_LACKS: Final = {ReadingKind.END_HEIGHT: "chord?", ReadingKind.TAPE: "thickness?"}
INSTRUMENT_WORDS: Final = {
    Instrument.CALLIPER: "calliper",
    Instrument.RULE: "rule",
    Instrument.TAPE: "tape",
    Instrument.GAUGE: "gauge",
}
_RIM_OF: Final = {"": "both", "base": "base", "lid": "lid"}


def choices_of(field: str) -> tuple[tuple[str, str], ...]:
    """Key and word of what a choice in the table may be; empty where the cell is typed in."""
    if field == "instrument":
        return tuple((str(key), text) for key, text in INSTRUMENT_WORDS.items())
    return tuple(_RIM_OF.items()) if field == "end" else ()


def figure_text(row: Reading, style: Style) -> str:
    """The figure of a row with its unit, as it stands in the table."""
    match KIND_WORDS[row.kind].field:
        case "angle":
            return "" if row.angle is None else f"{row.angle:.6g}°"
        case "along":
            return "" if row.along is None else _short_length(row.along, style)
        case "turns":
            return "" if row.turns is None else f"{row.turns} turn{'s' if row.turns > 1 else ''}"
        case "weight":
            return "free" if not row.weight else f"{row.weight:.6g} g"
        case "end":
            return _RIM_OF["" if row.end is None else str(row.end)]
        case _:
            return ""


def _short_length(mm: float, style: Style) -> str:
    """A length as it was typed, where that is shorter than with all the decimals of its unit."""
    typed, shown = edit_text(mm, style), show_length(mm, style, with_unit=False)
    return f"{typed if len(typed) < len(shown) else shown} {unit_of(style)}"


def figure_edit_text(row: Reading, style: Style) -> str:
    """The figure of a row as it is typed."""
    field = KIND_WORDS[row.kind].field
    value = getattr(row, field) if field else None
    if value is None:
        return ""
    if field == "along":
        return edit_text(value, style)
    return str(value) if field in ("turns", "end") else f"{value:.12g}"


def figure_typed(field: str, text: str) -> str:
    """What was typed as a figure, without the unit that the field itself does not read."""
    units = {"weight": ("grams", "gram", "g"), "turns": ("turns", "turn"), "angle": ("degrees", "deg")}
    text = text.strip()
    if field == "weight" and text.casefold() == "free":
        return ""
    for unit in units.get(field, ()):
        if text.casefold().endswith(unit):
            return text[: -len(unit)].rstrip()
    return text


def lack_word(row: Reading, lack: str) -> str:
    """What stands in the figure's cell of a row that lacks it."""
    if lack == "along":
        return _ALONG_LACKS.get(row.kind, LACK_WORDS[lack])
    return LACK_WORDS.get(lack, f"{lack}?")


def row_name(row: Reading, style: Style) -> str:
    """A row as one says it: ``across jaws, 45°, left end``."""
    parts = (KIND_WORDS[row.kind].name.lower(), figure_text(row, style), row.place)
    return ", ".join(part for part in parts if part)
