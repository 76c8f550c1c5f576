"""Inserts in files of their own: a personal library (JSON), and tables that a spreadsheet writes (CSV).

What a file is, its content says: a library begins with a brace.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final, cast

import msgspec
from msgspec import Struct

from core.files.atomic import write_atomically
from core.files.candidates.csv import MOST_ROWS, left_out, read_table
from core.geometry.ovals.ovals import Family
from core.measure.sources import insert_with_next_spread
from core.part.fields import checked, field_of_group
from core.part.insert import Insert
from core.part.migrations import newer_insert
from core.part.schema import Value
from core.words.errors import FileError, file_error
from core.words.lengths import Style, unit_of
from core.words.verdicts import Sentence

if TYPE_CHECKING:
    from pathlib import Path

FORMAT: Final = 2
LARGEST_BYTES: Final = 2 * 1024 * 1024
"""A larger file is not read: two hundred inserts with long tables of readings stay far below."""

_OTHER: Final = "Choose a table (CSV) or a library that was saved here."
_ROUND: Final = {family.value for family in Family if family.kind.is_round}


class _Library(Value, frozen=True):
    """A library file as a whole."""

    inserts: tuple[Insert, ...]
    format: int = FORMAT


class Inserts(Struct, frozen=True):
    """What a file holds.

    Attributes:
        inserts: in the file's order.
        remarks: what was taken from elsewhere, or passed over.
    """

    inserts: tuple[Insert, ...]
    remarks: tuple[Sentence, ...] = ()


def load_inserts(path: Path, like: Insert, style: Style) -> Inserts:
    """The inserts in a library or a table.

    Args:
        path: of the file.
        like: what a table's missing columns and empty cells are taken from.
        style: bare numbers in a table are in its unit.

    Raises:
        FileError: the file can't be read, or holds no inserts; names the place and what is expected there.
    """
    text, remarks = _text(_read(path), str(path))
    if text.lstrip()[:1] in ("{", "["):
        inserts, bad = _parsed(text.encode(), str(path))
        if bad and not inserts:
            raise bad[0]
        return Inserts(inserts, remarks + tuple(left_out(bad, str(path))))
    inserts, more = read_table(text, like, unit_of(style), str(path))
    return Inserts(inserts, remarks + more)


def load_library(path: Path) -> tuple[Insert, ...]:
    """The inserts of a library that can be added to: nothing in it is left out or guessed.

    Raises:
        FileError: the file can't be read, or is no library; names the place and what is expected there.
    """
    return _whole(_read(path), str(path))


def save_to_library(inserts: tuple[Insert, ...], path: Path) -> tuple[Insert, ...]:
    """Put inserts into a library; others that are in it stay, one of the same name is replaced.

    Args:
        inserts: to keep.
        path: of a library, or of a file that is not there yet. The version before stays beside it as ``name~``.

    Returns:
        All that the library holds now.

    Raises:
        FileError: there is another file of that name, it would hold too many, or can't be written; what there was is
            untouched.
    """
    names = {insert.name for insert in inserts}
    before = load_library(path) if path.exists() else ()
    kept = (*(insert for insert in before if insert.name not in names), *inserts)
    if len(kept) > MOST_ROWS:
        what = f"would hold {len(kept)} inserts; {MOST_ROWS} are the most"
        raise FileError(str(path), what, hint="Save to another file.")
    data = msgspec.json.format(msgspec.json.encode({"format": FORMAT, "inserts": kept}), indent=2) + b"\n"
    if len(data) > LARGEST_BYTES:
        raise FileError(str(path), "would be larger than can be read again", hint="Save to another file.")
    if _whole(data, str(path)) != kept:
        raise ValueError("the library reads back differently from what was written")
    write_atomically(path, data)
    return kept


def _read(path: Path) -> bytes:
    try:
        with path.open("rb") as f:
            data = f.read(LARGEST_BYTES + 1)
    except OSError as error:
        raise file_error(path, error, action="read") from error
    if len(data) > LARGEST_BYTES:
        mb = LARGEST_BYTES // 1024**2
        raise FileError(str(path), f"is larger than {mb} MB, so it is no list of inserts", hint=_OTHER)
    return data


def _whole(data: bytes, where: str) -> tuple[Insert, ...]:
    """The inserts of a library, every one of which can be read."""
    inserts, bad = _parsed(data, where)
    if bad:
        raise bad[0]
    return inserts


def _parsed(data: bytes, where: str) -> tuple[tuple[Insert, ...], list[FileError]]:
    """The inserts of a library, and why others in it can't be read."""
    entries, is_old = _entries(data, where)
    if len(entries) > MOST_ROWS:
        raise FileError(where, f"holds more than {MOST_ROWS} inserts", hint="Part it into several files.")
    inserts: list[Insert] = []
    bad: list[FileError] = []
    for i, entry in enumerate(entries):
        try:
            insert = cast("Insert", checked(_round(entry), field_of_group(Insert), f"inserts[{i}]"))
            inserts.append(insert_with_next_spread(insert) if is_old else insert)
        except FileError as error:
            bad.append(error)
    return tuple(inserts), bad


def _entries(data: bytes, where: str) -> tuple[list[object], bool]:
    """The inserts of a library as they stand in the file, and whether their ± are still those of the mean."""
    body = data.removeprefix(b"\xef\xbb\xbf")
    try:
        raw = msgspec.json.decode(body)
    except msgspec.DecodeError as error:
        raise FileError(where, _json_words(body, error), hint=_OTHER) from None
    except UnicodeDecodeError:
        raise FileError(where, _not_utf8(body), hint="Save it as UTF-8 text in an editor.") from None
    except RecursionError:
        raise FileError(where, "lists or braces stand too deep in one another", hint=_OTHER) from None
    if not isinstance(raw, dict) or "inserts" not in raw or "format" not in raw:
        raise FileError(where, "is JSON but no library: “format” and “inserts” are missing", hint=_OTHER)
    version = raw["format"]
    if isinstance(version, int) and not isinstance(version, bool) and version > FORMAT:
        what = f"is a library of format {version}; this Seatwright reads formats up to {FORMAT}"
        raise FileError(where, what, hint="Open it with a newer Seatwright.")
    if isinstance(version, bool) or not isinstance(version, int) or version < 1:
        raise FileError("format", f"expected a whole number from 1 to {FORMAT}, the version of the file", hint=_OTHER)
    checked({**raw, "inserts": []}, field_of_group(_Library), "")
    entries = raw["inserts"]
    if not isinstance(entries, list):
        raise FileError("inserts", "expected a list of inserts", hint=_OTHER)
    if version == 1:
        return [newer_insert(entry) if isinstance(entry, dict) else entry for entry in entries], True
    return entries, False


def _round(entry: object) -> object:
    """An entry as it stands in the file; a circle is as wide as it is long, and needs no width."""
    if isinstance(entry, dict) and entry.get("family") in _ROUND and entry.get("width") is None:
        return {**entry, "width": entry["length"]} if "length" in entry else entry
    return entry


def _not_utf8(data: bytes) -> str:
    """Where a text that should be UTF-8 (as RFC 8259, 8.1, wants JSON to be) is not."""
    try:
        data.decode()
    except UnicodeDecodeError as error:
        line, column = data.count(b"\n", 0, error.start) + 1, error.start - data.rfind(b"\n", 0, error.start)
        return f"is not UTF-8 text at line {line}, column {column}"
    return "is not UTF-8 text"


def _json_words(data: bytes, error: msgspec.DecodeError) -> str:
    """What is wrong with the JSON, by line and column instead of by byte."""
    text = str(error)
    head, _, tail = text.rpartition("(byte ")
    digits = tail.rstrip(")")
    if not data.strip():
        return "is empty"
    if not head or not digits.isdecimal():
        return "ends too early" if "truncated" in text else f"is not JSON: {text}"
    at = int(digits)
    line, column = data.count(b"\n", 0, at) + 1, at - data.rfind(b"\n", 0, at)
    return f"is not JSON at line {line}, column {column}: {head.rstrip(' :').rpartition(': ')[2]}"


def _text(data: bytes, where: str) -> tuple[str, tuple[Sentence, ...]]:
    """A file's text: UTF-8, or what older spreadsheets and editors write."""
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        try:
            return data.decode("utf-16"), ()
        except UnicodeDecodeError:
            raise FileError(where, "begins like UTF-16 text and is none", hint=_OTHER) from None
    if re.search(rb"[\x00-\x08\x0e-\x1f]", data):
        raise FileError(where, "is no text, so it is no table or library of inserts", hint=_OTHER)
    try:
        return data.decode("utf-8-sig"), ()
    except UnicodeDecodeError:
        remark = Sentence("it is not UTF-8 text, so it was read as Windows-1252: look at the names")
        return data.decode("cp1252", errors="replace"), (remark,)
