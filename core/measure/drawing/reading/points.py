"""Outlines as points in a text file: x and y on a line, in nearly any way that such files are written."""

from __future__ import annotations

import codecs
import csv
import re
from math import isfinite
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct, field

from core.measure.drawing.reading.unit_guess import likely_unit
from core.measure.drawing.remarks import Remark, RemarkKind
from core.measure.drawing.results import Drawing, DrawingUnit, Stroke
from core.words.errors import FileError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from core.geometry.lines.outline import FloatArray
    from core.measure.drawing.progress import Tick

MAX_BYTES: Final = 64 * 2**20
MAX_POINTS: Final = 1_000_000
_FARTHEST: Final = 1e7
_TICK_EVERY: Final = 4096

_UNITS: Final = {
    "mm": DrawingUnit.MM, "cm": DrawingUnit.CM, "m": DrawingUnit.METRE, "in": DrawingUnit.INCH, "ft": DrawingUnit.FOOT,
    "inch": DrawingUnit.INCH, "inches": DrawingUnit.INCH, '"': DrawingUnit.INCH, "foot": DrawingUnit.FOOT,
    "feet": DrawingUnit.FOOT, "millimetres": DrawingUnit.MM, "millimeters": DrawingUnit.MM,
    "centimetres": DrawingUnit.CM, "centimeters": DrawingUnit.CM, "metres": DrawingUnit.METRE,
    "meters": DrawingUnit.METRE,
}  # fmt: skip
_COMMENT = re.compile(r"\s*(#|%|//)")
_UNIT_IN_COMMENT = re.compile(r"\bunits?\b\s*[:=]?\s*(?:is\s+|are\s+)?([a-z]+)", re.IGNORECASE)
_DECIMAL_COMMA = re.compile(r"[+-]?\d*,\d+(?:e[+-]?\d+)?", re.IGNORECASE)
# What columns are called. Surveyors write northing before easting, and by N they mean no number then.
_X: Final = {"x", "e", "east", "easting"}
_Y: Final = {"y", "n", "north", "northing"}
# Names of columns that only count the points, and of heights, both of no use here.
_NO_USE: Final = {"", "n", "no", "nr", "number", "point", "pt", "index", "z", "h", "height", "elevation", "level"}
_KNOWN: Final = _X | _Y | _NO_USE | _UNITS.keys()
_HINT: Final = "Write x and y on each line, and nothing else but the number of the outline."


class _Layout(Struct):
    """How the lines are written, as far as it is known.

    Attributes:
        separator: between the values; None for blanks; empty until the first line of values is seen.
        has_commas: a decimal comma was read.
        columns: where x, y and, if there is one, the outline's name stand.
        strange: a header that does not say which column is which.
    """

    separator: str | None = ""
    has_commas: bool = False
    columns: tuple[int, ...] = ()
    strange: str = ""
    width: int = 0
    unit: DrawingUnit | None = None


class _Outlines(Struct):
    """The points so far, one list an outline."""

    runs: list[list[tuple[float, float]]] = field(default_factory=lambda: [[]])
    name: str = ""
    changes: int = 0

    def begin(self) -> None:
        if self.runs[-1]:
            self.runs.append([])


def read_points(path: Path, tick: Tick) -> Drawing:
    """Outlines of straight segments through the points of a text file.

    A line holds x and y, parted by a comma, a semicolon, a tab or blanks, with decimal points or (unless commas part
    the values, and no quotes stand round them) decimal commas. A blank line, or a new value in a third column, begins
    the next outline. A header, or a comment before the first point, may name the columns and the unit, as ``x [mm]`` or
    ``northing, easting``; lines that begin with ``#`` are comments.

    Args:
        path: the file, in UTF-8, UTF-16 with its mark, or Latin-1.
        tick: told how much is done, 0 to 1; what it raises calls the reading off.

    Raises:
        FileError: the file can't be read, or a line holds something else; its number is named.
    """
    size = path.stat().st_size
    if size > MAX_BYTES:
        raise FileError(
            str(path), f"the file has {size / 2**20:.0f} MB; a list of points has {MAX_BYTES // 2**20} MB at most",
            hint="Keep fewer points, or one outline a file.",
        )  # fmt: skip
    lines = _decoded(path).splitlines()
    layout, outlines = _Layout(), _Outlines()
    for number, line in enumerate(lines, 1):
        if number % _TICK_EVERY == 0:
            tick(number / len(lines))
        if _COMMENT.match(line):
            found = _UNIT_IN_COMMENT.search(line)
            layout.unit = layout.unit or (_UNITS.get(found[1].lower()) if found else None)
            names = _names(line.lstrip(" #%/"))
            if not layout.width and not layout.columns and {_head(name) for name in names} <= _KNOWN:
                _take_names(names, layout)  # else it is a sentence with an "n" in it
        elif not line.strip(" \t,;"):
            outlines.begin()
        else:
            _take(path, number, line, layout, outlines)
            if number > MAX_POINTS:
                raise FileError(str(path), f"there are more than {MAX_POINTS:,} points", hint="Keep fewer points.")
    tick(1.0)
    return _drawing(path, layout, outlines)


def _decoded(path: Path) -> str:
    data = path.read_bytes()
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        encodings = ["utf-16"]
    elif b"\0" in data:
        raise FileError(str(path), "the file holds no text", hint=_HINT)
    else:
        encodings = ["utf-8-sig", "latin-1"]
    for encoding in encodings:
        try:
            return data.decode(encoding)
        except UnicodeDecodeError:
            continue
    raise FileError(str(path), "the text breaks off in the middle of a character", hint="Fetch or save the file again.")


def _take(path: Path, number: int, line: str, layout: _Layout, outlines: _Outlines) -> None:
    if not layout.width and not re.search(r"\d", re.sub(r"[A-Za-z]\w*", "", line)):
        _take_header(path, number, line, layout)
        return
    if layout.separator == "":
        layout.separator = _separator(line)
    values = _values(path, number, line, layout)
    while values and not values[-1] and len(values) > max(2, layout.width):  # a separator at the end
        values.pop()
    if not layout.width:
        layout.width = len(values)
    if not layout.columns:
        layout.columns = tuple(range(len(values)))
    if not 2 <= len(layout.columns) <= 3 or len(values) != layout.width or max(layout.columns) >= len(values):
        _refuse(
            path, number, f"there should be {'x and y' if len(layout.columns) != 3 else 'x, y and an outline'}", line
        )
    x, y = (_number(path, number, values[c], line, layout) for c in layout.columns[:2])
    name = values[layout.columns[2]] if len(layout.columns) == 3 else ""
    if name != outlines.name:
        if outlines.runs[-1]:
            outlines.changes += 1
        outlines.name = name
        outlines.begin()
    outlines.runs[-1].append((x, y))


def _refuse(path: Path, number: int, wanted: str, line: str) -> None:
    seen = "".join(c for c in line.strip()[:40] if c.isprintable())
    raise FileError(str(path), f"line {number}: {wanted}, and there is “{seen}”", hint=_HINT)


def _values(path: Path, number: int, line: str, layout: _Layout) -> list[str]:
    """The values of a line, without the quotes that may stand round them."""
    if '"' in line and layout.separator is not None:
        try:
            row = next(csv.reader([line.strip()], delimiter=layout.separator, skipinitialspace=True), [])
        except csv.Error:
            _refuse(path, number, "there should be x and y", line)
            raise
        return [value.strip() for value in row]
    return [value.strip().strip('"') for value in line.strip().split(layout.separator)]


def _number(path: Path, number: int, text: str, line: str, layout: _Layout) -> float:
    if "," in text:  # where commas part the values, it stood in quotes
        layout.has_commas = True
        text = text.replace(",", ".")
    try:
        value = float(text)
    except ValueError:
        _refuse(path, number, "a coordinate should be a number", line)
        raise
    if not isfinite(value) or abs(value) > _FARTHEST:
        _refuse(path, number, "a coordinate should be a finite number below ten million", line)
    return value


def _separator(line: str) -> str | None:
    """What parts the values of a line, None for blanks; another comma is the decimal sign then."""
    for mark in (";", "\t"):
        if mark in line.strip():
            return mark
    if re.search(r'"\s*,|,\s*"', line):
        return ","
    words = line.split()
    if len(words) > 1 and any("," in word for word in words):
        return None if all(_DECIMAL_COMMA.fullmatch(w) or "," not in w for w in words) else ","
    return "," if "," in line else None


def _names(line: str) -> list[str]:
    """The names in a header, in small letters, with their units."""
    mark = next((m for m in (";", "\t", ",") if m in line), None)
    parts = line.split(mark) if mark else re.findall(r"\w+\s*[\[(/][^\s]*|\w+", line)
    return [name.strip().strip('"').lower() for name in parts]


def _head(name: str) -> str:
    """A column's name without its unit."""
    return re.split(r"[\s\[(/_-]", name, maxsplit=1)[0]


def _take_header(path: Path, number: int, line: str, layout: _Layout) -> None:
    names = _names(line)
    units = {_UNITS[u] for name in names for u in re.findall(r'[a-z]+|"', name)[1:] if u in _UNITS}
    if len(units) > 1:
        _refuse(path, number, "x and y should have the same unit", line)
    layout.unit = units.pop() if units else layout.unit
    if not _take_names(names, layout) and not layout.columns:
        layout.strange = ", ".join("".join(c for c in name if c.isprintable())[:20] for name in names[:3])


def _take_names(names: list[str], layout: _Layout) -> bool:
    """Take the columns from their names, where these say which is x and which is y."""
    heads = [_head(name) for name in names]
    x, y = (next((i for i, head in enumerate(heads) if head in own), -1) for own in (_X, _Y))
    if x < 0 or y < 0:
        return False
    if {"x", "y"} <= set(heads):  # then N counts the points
        x, y = heads.index("x"), heads.index("y")
    rest = [i for i, head in enumerate(heads) if i not in (x, y) and head not in _NO_USE]
    layout.columns, layout.strange = (x, y, *rest[:1]), ""
    return True


def _drawing(path: Path, layout: _Layout, outlines: _Outlines) -> Drawing:
    runs = [run for run in outlines.runs if run]
    count = sum(len(run) for run in runs)
    if outlines.changes > 3 and 3 * outlines.changes > count:
        raise FileError(
            str(path), "the third column should tell the outlines apart, but changes nearly at every line",
            hint="Leave it out if it holds heights or counts the points.",
        )  # fmt: skip
    strokes: list[Stroke] = []
    short = open_ends = 0
    for i, run in enumerate(runs, 1):
        points = _distinct(np.array(run))
        is_round = len(points) > 1 and bool((points[0] == points[-1]).all())
        points = points[:-1] if is_round else points
        if len(points) < 3:
            short += 1
            continue
        open_ends += not is_round
        vertices = np.column_stack((points, np.zeros(len(points))))
        strokes.append(Stroke(vertices, is_closed=True, source=f"points of outline {i}"))
    if not strokes:
        raise FileError(str(path), "there is no outline of at least three points", hint=_HINT)
    every = np.concatenate([s.vertices[:, :2] for s in strokes])
    guess = likely_unit(float(np.ptp(every, axis=0).max()), layout.unit)
    return Drawing(tuple(strokes), layout.unit, guess, tuple(_remarks(layout, open_ends, short, runs)))


def _remarks(layout: _Layout, open_ends: int, short: int, runs: list[list[tuple[float, float]]]) -> Iterator[Remark]:
    first = runs[0][0]
    if layout.has_commas:
        text = f"Commas in the numbers were read as decimal signs: the first point is {first[0]:g}; {first[1]:g}."
        yield Remark.of(RemarkKind.READ_AS, text, first)
    if layout.columns[0] > layout.columns[1]:
        text = "By the header, the second coordinate of each line is x, and the first is y."
        yield Remark.of(RemarkKind.READ_AS, text, first)
    if layout.strange:
        text = (
            f"The header ({layout.strange}) does not say which column is x and which is y: the first was taken for x. "
            "If it is the other one, the outline is mirrored."
        )
        yield Remark.of(RemarkKind.READ_AS, text, first)
    if open_ends:
        text = f"The last point was joined with the first by a straight line ({_outlines(open_ends)})."
        yield Remark.of(RemarkKind.READ_AS, text)
    if short:
        yield Remark.of(RemarkKind.LEFT_OUT, f"Left out: {_outlines(short)} of fewer than three points.")


def _outlines(count: int) -> str:
    return f"{count} outline{'' if count == 1 else 's'}"


def _distinct(points: FloatArray) -> FloatArray:
    """The points without those that repeat the one before."""
    keep = np.ones(len(points), dtype=np.bool_)
    keep[1:] = (np.diff(points, axis=0) != 0.0).any(axis=1)
    return points[keep]
