"""A table of inserts as text: one line an insert, columns under plain heads, as a spreadsheet writes it.

Heads are read in plain words (``name``, ``shape``, ``length``, ``rim width``), in any order. A unit stands in the head,
``length [mm]``, or in the cell, ``8 5/8"``; bare numbers are else in the project's unit. Columns are parted by
semicolons, tabs or commas, or by what a first line ``sep=;`` says; decimal commas need one of the first two, or quotes.
A line that can't be read is left out and named.
"""

from __future__ import annotations

import re
from itertools import chain
from math import isfinite
from typing import TYPE_CHECKING, Any, Final, cast

from msgspec import Struct, field, structs

from core.files.candidates.cells import cells
from core.geometry.ovals.ovals import SIZED_FAMILIES, Family
from core.part.fields import RefusedError, checked, did_you_mean, fields_of
from core.part.insert import Insert, PlusMinus, Rim, SqueezeLimits
from core.part.materials import Material
from core.part.readings import Readings
from core.words.errors import FileError, LengthError
from core.words.lengths import Unit, parse_length
from core.words.verdicts import Sentence, plain

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from core.files.candidates.cells import Cells

MOST_ROWS: Final = 200
"""Inserts in one table: each takes some tenths of a second to compare."""

_MOST_NAME: Final = 60
_MOST_NAMED, _MOST_LISTED = 5, 20  # lines that are left out: with the reason, and by their number
_HEADS: Final[dict[str, tuple[str, ...]]] = {
    "name": ("name", "insert", "candidate", "part", "designation"),
    "family": ("shape", "family", "oval", "form", "kind of oval"),
    "length": ("length", "overall length", "long axis"),
    "width": ("width", "overall width", "short axis"),
    "height": ("height", "free height"),
    "rim.width": ("rim width", "rim"),
    "rim.thickness": ("rim thickness", "thickness"),
    "rim.outset": ("rim outset", "outset"),
    "end_radius": ("end radius", "corner radius", "radius"),
    "exponent": ("exponent",),
    "material": ("material", "rims", "rim material", "kind", "rim kind"),
}
_KEYS: Final = {head: key for key, heads in _HEADS.items() for head in heads}
_SAME_MM: Final = 1e-6
_LENGTHS: Final = ("length", "width", "height", "rim.width", "rim.thickness", "rim.outset", "end_radius")
_NEEDED: Final = ("name", "family", "length", "width", "height", "rim.width", "rim.thickness", "material")
"""What every insert has: missing columns are taken from elsewhere, and said."""
_FAMILIES: Final[dict[str, Family]] = {
    name: family for family in SIZED_FAMILIES for name in (family.value.replace("_", " "), *family.kind.names)
}
_MATERIALS: Final[dict[str, Material]] = {
    **{material.value.replace("_", " "): material for material in Material},
    # Words that do not tell solid from foamed: the check of the rim's room asks for the material.
    **dict.fromkeys(("yielding", "soft", "rubber"), Material.NOT_STATED),
    **dict.fromkeys(("hard", "glass"), Material.RIGID),
}
_UNITS: Final = {"mm": Unit.MM, "in": Unit.INCH, "inch": Unit.INCH, "inches": Unit.INCH, '"': Unit.INCH}
_WITH_UNIT = re.compile(r"(?P<head>.*?)\s*[\[(]\s*(?P<unit>[^\])]*?)\s*[\])]")
_NUMBER = re.compile(r"[0-9]{1,9}(?:[.,][0-9]{1,9})?")


class _Column(Struct, frozen=True):
    """A column that is used: its number from 0, its head as it is written, what it holds, and its unit."""

    number: int
    head: str
    key: str
    unit: Unit | None

    def place(self, where: str, line: int) -> str:
        return f"{where}, line {line}, column {self.number + 1} (“{_short(self.head)}”)"


class _Notes(Struct):
    """What has to be said of the table as a whole."""

    sentences: list[Sentence] = field(default_factory=list)
    empty: dict[str, list[int]] = field(default_factory=dict)
    has_bare: bool = False

    def add(self, line: _Notes) -> None:
        """Take over what has to be said of a line that was read."""
        for key, lines in line.empty.items():
            self.empty.setdefault(key, []).extend(lines)
        self.has_bare = self.has_bare or line.has_bare


def read_table(text: str, like: Insert, unit: Unit, where: str) -> tuple[tuple[Insert, ...], tuple[Sentence, ...]]:
    """The inserts of a table, and what has to be said of them.

    Args:
        text: the whole table.
        like: what a missing column or an empty cell is taken from.
        unit: of bare numbers where the head has none.
        where: the file's name, for errors.

    Raises:
        FileError: the table can't be read, or none of its lines; names line and column, and what is expected there.
    """
    lines = cells(text, where)
    head_line, heads = _heads(lines, where)
    notes = _Notes()
    columns = _columns(heads, where, head_line, notes)
    _refuse_outline(columns, like, where)
    bare = structs.replace(like, readings=Readings(), sources=(), pressed=None, outline=None, plus_minus=PlusMinus())
    inserts: list[Insert] = []
    bad: list[FileError] = []
    for line, row in lines:
        if len(inserts) == MOST_ROWS:
            raise FileError(where, f"has more than {MOST_ROWS} inserts", hint="Leave out those that can't be meant.")
        own = _Notes()
        try:
            fitting = _fitting(row, heads, line, where)
            inserts.append(_insert(line, fitting, columns, bare, unit, where, own, len(inserts) + 1))
        except FileError as error:
            bad.append(error)
            if len(bad) > MOST_ROWS:
                raise bad[0] from None
        else:
            notes.add(own)
    if bad and not inserts:
        raise bad[0]
    if not inserts:
        raise FileError(where, "has heads, but no insert under them", hint="Write one line for each.")
    notes.sentences += left_out(bad, where)
    _note_missing(columns, like, inserts, notes)
    _note_empty(notes, like)
    if notes.has_bare:
        said = "mm" if unit is Unit.MM else "inches"
        notes.sentences.append(Sentence(f"lengths without a unit were read in {said}"))
    return tuple(inserts), tuple(notes.sentences)


def _hint() -> str:
    return f"Heads can be {', '.join(heads[0] for heads in _HEADS.values())}."


def _heads(lines: Iterator[tuple[int, Cells]], where: str) -> tuple[int, list[str]]:
    line, heads = next(lines, (0, None))
    if heads is None:
        raise FileError(where, "is empty", hint=_hint())
    if isinstance(heads, FileError):
        raise heads
    return line, heads


def _fitting(row: Cells, heads: list[str], line: int, where: str) -> list[str]:
    """A line's cells, no more than there are heads."""
    if isinstance(row, FileError):
        raise row
    if any(cell.strip() for cell in row[len(heads) :]):
        raise FileError(
            f"{where}, line {line}",
            f"has {len(row)} cells where the heads are {len(heads)}",
            hint="With decimal commas, part the columns by semicolons, or put the cell in quotes.",
        )
    return row


def left_out(bad: Sequence[FileError], where: str) -> list[Sentence]:
    """What has to be said of the entries of a file that could not be read while others could.

    Args:
        bad: why, one each, in the file's order.
        where: the file's name, which need not be said again.
    """
    said: list[Sentence] = []
    for error in bad[:_MOST_NAMED]:
        place = error.where.removeprefix(where).lstrip(" ,:")
        bound = error.bound_mm if isinstance(error, RefusedError) else None
        text = plain(f"left out: {place}: {error.what}")
        if bound is not None:
            text = text.replace("{{bound}}", "{bound}", 1)
        said.append(Sentence(text) if bound is None else Sentence.of(text, bound=bound))
    if more := bad[_MOST_NAMED:]:
        places = [error.where.removeprefix(where).lstrip(" ,:").partition(",")[0] for error in more]
        listed = ", ".join(places[:_MOST_LISTED]) + (" and more" if len(places) > _MOST_LISTED else "")
        said.append(Sentence(plain(f"left out as well: {listed}")))
    return said


def _columns(heads: list[str], where: str, line: int, notes: _Notes) -> tuple[_Column, ...]:
    found: dict[str, _Column] = {}
    for number, head in enumerate(heads):
        text, unit_text = head.strip(), ""
        if match := _WITH_UNIT.fullmatch(text):
            text, unit_text = match["head"], match["unit"].casefold()
        if not text:
            continue
        folded = re.sub(r"[\s_-]+", " ", text.casefold())
        key = _KEYS.get(folded)
        if key is None:
            notes.sentences.append(Sentence(plain(f"column {number + 1}, “{_short(head.strip())}”, is not used")))
            continue
        column = _Column(number, head.strip(), key, _UNITS.get(unit_text) if key in _LENGTHS else None)
        if key in found:
            what = f"means the same as column {found[key].number + 1}, “{_short(found[key].head)}”"
            raise FileError(column.place(where, line), what, hint="Leave one of the two out.")
        if unit_text and key in _LENGTHS and column.unit is None:
            what = f"“{_short(unit_text)}” is no unit that can stand in a head"
            raise FileError(column.place(where, line), what, hint="Write [mm] or [in].")
        found[key] = column
    if not any(key in found for key in _LENGTHS):
        raise FileError(f"{where}, line {line}", "no head of it is a size of an insert", hint=_hint())
    return tuple(found.values())


def _refuse_outline(columns: tuple[_Column, ...], like: Insert, where: str) -> None:
    if not like.family.kind.is_sized and "family" not in {column.key for column in columns}:
        raise FileError(
            where,
            f"has no column for the shape, and “{like.name}” has a measured outline to lend",
            hint="Add a column “shape”.",
        )


def _note_missing(columns: tuple[_Column, ...], like: Insert, inserts: Sequence[Insert], notes: _Notes) -> None:
    keys = {column.key for column in columns}
    # Circles alone lack nothing where there is one of the two.
    round_ones = {"length", "width"} if all(insert.family.kind.is_round for insert in inserts) else set()
    missing = [key for key in _NEEDED if key not in keys | round_ones and key != "name"]
    if missing:
        notes.sentences.append(_taken("no column, so ", missing, like))
    if "name" not in keys:
        notes.sentences.append(Sentence("no column for the name: they are numbered"))


def _note_empty(notes: _Notes, like: Insert) -> None:
    for key, lines in notes.empty.items():
        listed = ", ".join(str(line) for line in lines[:5]) + (" and more" if len(lines) > 5 else "")
        lead = f"empty in line{'s' if len(lines) > 1 else ''} {listed}, so "
        notes.sentences.append(_taken(lead, [key], like))


def _taken(lead: str, keys: list[str], like: Insert) -> Sentence:
    """What is taken from the other insert, with its values."""
    parts, lengths = [], {}
    for key in keys:
        value = _value(like, key)
        name = key.replace(".", "_")
        if key in _LENGTHS:
            parts.append(f"{_HEADS[key][0]} {{{name}}}")
            lengths[name] = cast("float", value)
        else:
            parts.append(f"{_HEADS[key][0]} {str(value).replace('_', ' ')}")
    return Sentence.of(f"{lead}taken from “{plain(like.name)}”: {', '.join(parts)}", **lengths)


def _value(insert: Insert, key: str) -> object:
    return getattr(insert.rim, key[4:]) if key.startswith("rim.") else getattr(insert, key)


def _insert(
    line: int,
    cells: list[str],
    columns: tuple[_Column, ...],
    like: Insert,
    unit: Unit,
    where: str,
    notes: _Notes,
    number: int,
) -> Insert:
    values: dict[str, Any] = {}
    for column in columns:
        cell = cells[column.number].strip() if column.number < len(cells) else ""
        if cell:
            values[column.key] = _read(cell, column, unit, column.place(where, line), notes)
        elif column.key in _NEEDED and column.key != "name":
            notes.empty.setdefault(column.key, []).append(line)
    family = values.get("family", like.family)
    if family.kind.is_round:
        _make_round(values, like, notes, f"{where}, line {line}")
    if family is not like.family:  # the other shape's own sizes mean nothing for this one
        values = {"end_radius": None, "exponent": None, **values}
    if values.get("material", like.material) is not like.material:  # the limits that were set are the other one's
        values["squeeze"] = SqueezeLimits()
    rim = {key[4:]: value for key, value in values.items() if key.startswith("rim.")}
    own = {key: value for key, value in values.items() if not key.startswith("rim.")}
    own.setdefault("name", f"candidate {number}")
    if rim:  # one rim stands in the table: both are like it
        own |= {"rim": structs.replace(like.rim, **rim), "lid_rim": None}
    return structs.replace(like, **own)


def _make_round(values: dict[str, Any], like: Insert, notes: _Notes, where: str) -> None:
    """A circle is as wide as it is long, and one size of the two is enough.

    Raises:
        FileError: there is neither, or they differ.
    """
    given = [values[key] for key in ("length", "width") if key in values]
    if not given and not like.family.kind.is_round:
        what = "is a circle without a diameter"
        raise FileError(where, what, hint="Write it in the column for the length or for the width.")
    if given:
        if max(given) - min(given) > _SAME_MM:
            what = "is a circle of two sizes: length and width differ"
            raise FileError(where, what, hint="Write one of them, or another shape.")
        values["length"] = values["width"] = given[0]
        for key in ("length", "width"):
            notes.empty.pop(key, None)


def _read(cell: str, column: _Column, unit: Unit, where: str, notes: _Notes) -> object:
    key = column.key
    if key == "name":
        return checked(re.sub(r"\s+", " ", cell), fields_of(Insert)["name"], where)
    if key == "family":
        return _word(cell, _FAMILIES, where)
    if key == "material":
        return _word(cell, _MATERIALS, where)
    if key == "exponent":
        if _NUMBER.fullmatch(cell) is None:
            raise FileError(where, f"“{_short(cell)}” can't be read as a number", hint="Write one such as 2.5.")
        value = float(cell.replace(",", "."))
    else:
        if column.unit is None and not re.search(r"[a-zA-Z\"'″′”’]", cell):
            notes.has_bare = True
        try:
            value = parse_length(cell, column.unit or unit)
        except LengthError as error:
            raise FileError(where, f"“{_short(cell)}”: {error.what}", hint=error.hint) from None
    assert isfinite(value)
    holder, name = (Rim, key[4:]) if key.startswith("rim.") else (Insert, key)
    return checked(value, fields_of(holder)[name], where, got=f"“{_short(cell)}”")


def _word(cell: str, words: Mapping[str, Any], where: str) -> object:
    folded = re.sub(r"[\s_-]+", " ", cell.casefold())
    if folded not in words:
        own = dict.fromkeys(str(value).replace("_", " ") for value in words.values())
        hint = did_you_mean(folded, chain(own, words))
        raise FileError(where, f"expected one of {', '.join(own)}, got “{_short(cell)}”", hint=hint)
    return words[folded]


def _short(text: str) -> str:
    shown = "".join(c if c.isprintable() else "·" for c in text)
    return shown if len(shown) <= _MOST_NAME else f"{shown[: _MOST_NAME - 1]}…"
