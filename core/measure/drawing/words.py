"""The words for what was found in an old outline file: loops, what they became, and faults."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from core.measure.drawing.results import DrawingUnit, Fault, Role
from core.words.lengths import Style, show_length, shown_over

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from core.geometry.ovals.ovals import Oval
    from core.measure.drawing.results import Loop, Recovered, Trouble

    Show = Callable[[float], str]

ROLES: Final = {
    Role.OUTSIDE: "outside",
    Role.SEAT_OUTER: "seat, outer wall",
    Role.SEAT_INNER: "seat, inner wall",
    Role.OPENING: "opening",
    Role.CROSSBAR_EDGE: "between crossbars",
    Role.HOLE: "hole",
    Role.KEEP_OUT: "keep-out",
    Role.IGNORED: "left out",
}
"""The roles as they read in a list, in the order of a list to choose from."""

UNITS: Final = {
    DrawingUnit.MM: "mm",
    DrawingUnit.CM: "cm",
    DrawingUnit.METRE: "m",
    DrawingUnit.INCH: "inch",
    DrawingUnit.FOOT: "foot",
}
_UNIT_NAMES: Final = {
    DrawingUnit.MM: "millimetres",
    DrawingUnit.CM: "centimetres",
    DrawingUnit.METRE: "metres",
    DrawingUnit.INCH: "inches",
    DrawingUnit.FOOT: "feet",
}
_FAULTS: Final = {
    Fault.GAP: ("gap closed", "gaps closed"),
    Fault.OPEN_END: ("open end", "open ends"),
    Fault.DOUBLE: ("line drawn twice", "lines drawn twice"),
    Fault.STRAY: ("stray bit left out", "stray bits left out"),
    Fault.BRANCH: ("branch", "branches"),
    Fault.CROSSING: ("crossing", "crossings"),
}
_ABOUT: Final = "≈ "
_SOMETHING: Final = 1e-6  # any length over nothing [mm]


def size_words(length: float, width: float, show: Show) -> str:
    """Length by width; the unit stands once, and so does that both are rounded."""
    first, second = show(length), show(width)
    unit = next((u for u in (" mm", " in") if first.endswith(u) and second.endswith(u)), "")
    about = _ABOUT if first.startswith(_ABOUT) else ""
    return f"{first.removesuffix(unit)} × {second.removeprefix(about)}"


def loop_size(loop: Loop, recovered: Recovered | None, show: Show) -> str:
    """How large a loop is: along its own axes where it was recovered, else along X and Y."""
    if recovered is None:
        x0, y0, x1, y1 = loop.outline.bounds
        return size_words(x1 - x0, y1 - y0, show)
    oval = recovered.oval
    return f"ø {show(oval.length)}" if oval.family.kind.is_round else size_words(oval.length, oval.width, show)


def off_words(worst: float, style: Style) -> str:
    """How far a loop is from its oval; what would be shown as nothing is less than the least that is shown."""
    shown = Style.INCH if style is Style.FRACTION else style  # sixty-fourths can't tell a good fit from a bad one
    least = shown_over(_SOMETHING, shown)
    return f"under {show_length(least, shown)}" if worst < least / 2.0 else show_length(worst, shown)


def shape_words(oval: Oval, show: Show) -> str:
    """A kind of oval with the sizes that it has besides length and width."""
    text = oval.family.kind.words
    if (own := oval.family.kind.own) is not None and oval.own is not None:
        text += f", {own.words} {show(oval.own) if own.is_share else f'{oval.own:.2f}'}"
    return text


def recovered_words(found: Recovered | None, style: Style, show: Show, *, is_short: bool = False) -> str:
    """What a loop was recovered as, and how far it is off that; empty when it was not asked."""
    if found is None:
        return ""
    if found.oval.family.kind.is_sized:
        return f"{shape_words(found.oval, show)}, off by {off_words(found.worst, style)}"
    if not found.tried:
        return found.oval.family.kind.words
    nearest, worst = found.tried[0]
    if is_short:
        return f"measured outline; {nearest.family.kind.words} {off_words(worst, style)} off"
    return f"measured outline: nearest is {nearest.family.kind.words}, off by {off_words(worst, style)}"


def tried_words(found: Recovered, style: Style, show: Show) -> tuple[str, ...]:
    """A line for each kind of oval that was held against a loop, best first."""
    return tuple(f"{shape_words(oval, show)}: off by {off_words(worst, style)}" for oval, worst in found.tried)


def fault_word(fault: Fault) -> str:
    """One fault in a list."""
    return _FAULTS[fault][0]


def fault_counts(troubles: Iterable[Trouble]) -> str:
    """How many faults there are of each kind, in one line; empty without any."""
    counts: dict[Fault, int] = {}
    for trouble in troubles:
        counts[trouble.fault] = counts.get(trouble.fault, 0) + 1
    return ", ".join(f"{n} {_FAULTS[fault][n > 1]}" for fault, n in counts.items())


def unit_words(stated: DrawingUnit | None, taken: DrawingUnit) -> str:
    """What is known of the file's unit."""
    if stated is None:
        return f"The file states no unit; {_UNIT_NAMES[taken]} are taken. Compare the overall size."
    if stated is taken:
        return f"The file says {_UNIT_NAMES[stated]}."
    return f"The file says {_UNIT_NAMES[stated]}; {_UNIT_NAMES[taken]} are taken instead. Compare the overall size."


def gathered_remarks(remarks: Iterable[str]) -> tuple[str, ...]:
    """Remarks in their order; what is said of several loops in the same words is said once, of all of them."""
    groups: dict[str, list[str]] = {}
    for remark in remarks:
        found = re.fullmatch(r"Outline (\d+): (.*)", remark)
        groups.setdefault(found[2] if found else remark, []).extend([found[1]] if found else [])
    return tuple(
        text
        if not numbers
        else f"Outline {numbers[0]}: {text}"
        if len(numbers) == 1
        else f"Outlines {_listed(numbers)}: {text}"
        for text, numbers in groups.items()
    )


def _listed(words: list[str]) -> str:
    return f"{', '.join(words[:-1])} and {words[-1]}"
