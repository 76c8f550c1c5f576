"""What stands in the table of candidates: its lines, each with its label, its meaning and its cell for a candidate."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from msgspec import Struct

from core.words.findings import found_text
from core.words.lengths import show_length, shower
from core.words.verdicts import WORDS, Unit, Verdict, counted

if TYPE_CHECKING:
    from collections.abc import Callable

    from core.measure.candidates.results import Candidate
    from core.words.lengths import Style
    from core.words.verdicts import Finding

NONE: Final = "–"


class Cell(Struct, frozen=True):
    """One figure of one candidate.

    Attributes:
        text: as it is read.
        verdict: the mark before it; None for none.
        figures: the formula or the sentence behind it, for the explanation.
    """

    text: str
    verdict: Verdict | None = None
    figures: str = ""


class Line(Struct, frozen=True):
    """One line of the table.

    Attributes:
        label: at its left.
        meaning: what it is, for the explanation.
        cell: what it says of a candidate that is possible.
        is_size: whether it is a size that was typed, which an impossible candidate has as well.
    """

    label: str
    meaning: str
    cell: Callable[[Style, Candidate], Cell]
    is_size: bool = False


def cell_of(style: Style, line: Line, candidate: Candidate) -> Cell:
    """What a line says of a candidate."""
    if candidate.error is not None and not line.is_size:
        return Cell("impossible", Verdict.NO_GO) if line is LINES[0] else Cell(NONE)
    return line.cell(style, candidate)


def _figure(style: Style, mm: float) -> str:
    return show_length(mm, style, with_unit=False)


def _pattern(style: Style, c: Candidate) -> Cell:
    n = len(c.conflicts)
    return Cell(counted(n, "conflict") if n else WORDS[c.verdict], c.verdict, c.reasons[0].show(shower(style)))


def _size(name: str) -> Callable[[Style, Candidate], Cell]:
    return lambda style, c: Cell(_figure(style, getattr(c.insert, name)))


def _rim(name: str) -> Callable[[Style, Candidate], Cell]:
    return lambda style, c: Cell(_figure(style, getattr(c.insert.rim, name)))


def _greatest(style: Style, c: Candidate) -> Cell:
    if c.greatest is None:
        return Cell("nothing moves")
    return Cell(_figure(style, abs(c.greatest.by)), None, c.greatest.how.show(shower(style)))


def _rework(style: Style, c: Candidate) -> Cell:
    rework = c.rework
    if rework is None:
        return Cell(NONE)
    text = "no seat" if rework.thinnest is None else _figure(style, rework.thinnest.value)
    return Cell(text, rework.verdict, rework.says.show(shower(style)))


def _settling(style: Style, c: Candidate) -> Cell:
    if c.settling is None:
        return Cell("rigid")
    return Cell(_figure(style, c.settling.gap), c.settling.verdict, c.settling.says.show(shower(style)))


def _pressed(style: Style, c: Candidate) -> Cell:
    if c.pressed is None:
        return Cell(NONE)
    growth = show_length(c.pressed.growth, style, with_unit=False, signed=True)
    return Cell(growth, c.pressed.verdict, c.pressed.says.show(shower(style)))


def _check(key: str) -> Callable[[Style, Candidate], Cell]:
    def cell(style: Style, c: Candidate) -> Cell:
        found = c.check(key)
        if found is None:
            return Cell(NONE)
        return Cell(_found(style, found), found.verdict, found.formula.show(shower(style)))

    return cell


def _found(style: Style, found: Finding) -> str:
    if found.unit is Unit.LENGTH:
        # Where nothing is squeezed, that check tells of play, or of how far the insert stands out.
        word = next((word for word in ("play", "above", "below") if word in found.name.split()), "")
        return f"{word} {_figure(style, found.value)}".lstrip()
    return found_text(found, style)


LINES: Final = (
    Line("New pattern", "This is the worst of all checks with it as the new insert, and a new pattern cut.", _pattern),
    Line(
        "Shape",
        "This says how its oval's curve is made.",
        lambda _, c: Cell(c.insert.family.kind.words),
        is_size=True,
    ),
    Line("Length", "This is its overall size along the long axis.", _size("length"), is_size=True),
    Line("Width", "This is its overall size across the long axis.", _size("width"), is_size=True),
    Line("Free height", "This is its height over both rims, unsqueezed.", _size("height"), is_size=True),
    Line("Rim width", "This is the radial width of its base rim.", _rim("width"), is_size=True),
    Line("Rim thickness", "This is the height of its base rim, unsqueezed.", _rim("thickness"), is_size=True),
    Line(
        "Rims of",
        "This is what its rims are made of: it decides squeeze, and whether they need room to swell.",
        lambda _, c: Cell(c.insert.material.replace("_", " ")),
        is_size=True,
    ),
    Line(
        "Greatest move",
        "This is the curve or feature of the housing that moves or changes most; a curve by its normal distance.",
        _greatest,
    ),
    Line(
        "Things that move",
        "These are the curves and features that move or change at all. A longer stud is no move.",
        lambda _, c: Cell(str(len(c.moving)), None, ", ".join(c.moving)),
    ),
    Line(
        "Rework, metal left",
        "This says whether castings from the shelf serve, machined out for it, and the thinnest metal then.",
        _rework,
    ),
    Line(
        "In the seat as built",
        "This is the mean gap of its soft rims in the seats as they are, by developed length; the mark also counts "
        "the squeeze at the depths as built. It assumes that the rim bends freely and neither stretches nor buckles.",
        _settling,
    ),
    Line(
        "Pressed to old shape",
        "This says how much larger all round its rims are than the old ones when they are pressed to the old shape; "
        "the mark is that of a new pattern for it.",
        _pressed,
    ),
    Line("Gap", "This is the worst finding about the gap between rim and seat walls.", _check("gap")),
    Line("Bearing", "This is the narrowest rim on the seat floor, centred or pushed over.", _check("bearing")),
    Line(
        "Squeeze",
        "This is in % of the soft rims' free height; of a rigid insert it is its play, or how far it is above or below "
        "the joint.",
        _check("squeeze"),
    ),
    Line(
        "Room for the rim",
        "This says how full the closed seat is of a rim that is, or may be, of solid rubber, which keeps its volume.",
        _check("fill"),
    ),
    Line("Open area", "This is the worst finding about what air can pass.", _check("open area")),
    Line("Studs", "This is the worst finding about the studs' length and thread.", _check("stud")),
)
"""In the order in which one decides."""
