"""A DXF file as records, pair by pair of group code and value, so that no huge or broken file is loaded whole.

A text file has a group code and its value on two lines, in turn; group code 0 begins a new record (DXF reference,
"Group codes in DXF files"). A binary one holds the same pairs.
"""

from __future__ import annotations

import io
import re
import struct
from typing import TYPE_CHECKING, Final, TypeAlias

from msgspec import Struct

from core.words.errors import FileError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from core.measure.drawing.progress import Tick

MAX_BYTES: Final = 256 * 2**20
"""Larger files are refused: an outline with a million vertices takes some 60 MB."""

MAX_PIECES: Final = 1_000_000
"""Vertices that a drawing may have, once all its blocks are in place."""

_MAX_TAGS: Final = 8 * MAX_PIECES
_TICK_EVERY: Final = 1 << 14
_UNICODE = re.compile(r"\\U\+([0-9A-Fa-f]{4})")

Value: TypeAlias = str | float | bytes

NO_DXF: Final = "Save the drawing anew as a DXF file of the version R12 or 2010, as text."
"""What to do about a file that is none, or a broken one."""


class Record(Struct):
    """What stands between one group code 0 and the next.

    Attributes:
        kind: the value of the group code 0, as "LINE".
        codes, values: the pairs that follow; the values of a text file with their line ends.
        at: the line that it begins at; in a binary file, the number of the pair.
    """

    kind: str
    codes: list[int]
    values: list[Value]
    at: int


def records(path: Path, tick: Tick) -> Iterator[Record]:
    """The records of a DXF file in order, text or binary.

    Raises:
        FileError: the file is too large, or is no DXF file.
        OSError: it can't be opened.
        Cancelled: the tick called it off.
    """
    from ezdxf.lldxf.validator import is_binary_dxf_file

    size = path.stat().st_size
    if size > MAX_BYTES:
        raise FileError(
            str(path),
            f"the file has {size / 2**20:.0f} MB; a drawing of outlines has {MAX_BYTES // 2**20} MB at most",
            hint="Save only the part's outlines to a file of their own.",
        )
    return _binary(path, tick) if is_binary_dxf_file(str(path)) else _text(path, size, tick)


def _text(path: Path, size: int, tick: Tick) -> Iterator[Record]:
    # Every byte is a character of Latin-1, so that nothing is lost; names are decoded where they are wanted.
    with path.open("rb") as raw, io.TextIOWrapper(raw, encoding="latin-1", newline=None) as file:
        kind, at = "", 1
        codes: list[int] = []
        values: list[Value] = []
        lines = iter(file)
        for number, (head, value) in enumerate(zip(lines, lines, strict=False)):
            try:
                code = int(head)
            except ValueError:
                code = _odd_code(path, head, 2 * number + 1)
            if code == 0:
                if number:  # an empty one too, so that the caller sees how many there are
                    yield Record(kind, codes, values, at)
                kind, codes, values, at = value.strip(), [], [], 2 * number + 1
                if kind == "EOF":  # an editor may have left blank lines behind it
                    break
            else:
                codes.append(code)
                values.append(value)
            if number % _TICK_EVERY == 0:
                tick(min(1.0, raw.tell() / size))
                _check_size(path, codes, at)
        yield Record(kind, codes, values, at)


def _odd_code(path: Path, text: str, line: int) -> int:
    """The group code of a line that is none at first sight.

    Raises:
        FileError: it is none at all.
    """
    unmarked = text.removeprefix("\xef\xbb\xbf").strip()  # the mark of UTF-8
    if line == 1 and re.fullmatch(r"\d{1,4}", unmarked, re.ASCII):
        return int(unmarked)
    seen = "".join(c for c in text.strip()[:20] if c.isprintable())
    raise FileError(
        str(path),
        f"line {line} should hold a whole number, a group code, and holds “{seen}”: no DXF file, or a damaged one",
        hint=NO_DXF,
    )


def _check_size(path: Path, codes: list[int], at: int) -> None:
    if len(codes) > _MAX_TAGS:
        raise FileError(
            str(path), f"what begins at {at} has more than {_MAX_TAGS:,} values", hint="Simplify the outlines first."
        )


def _binary(path: Path, tick: Tick) -> Iterator[Record]:
    from ezdxf.lldxf.const import DXFError
    from ezdxf.lldxf.tagger import binary_tags_loader

    data = path.read_bytes()
    kind, at = "", 1
    codes: list[int] = []
    values: list[Value] = []
    try:
        for number, tag in enumerate(binary_tags_loader(data)):
            if tag.code == 0:
                if number:  # an empty one too, so that the caller sees how many there are
                    yield Record(kind, codes, values, at)
                kind, codes, values, at = str(tag.value), [], [], number + 1
            else:
                codes.append(tag.code)
                values.append(tag.value)
            if number % _TICK_EVERY == 0:
                tick(min(1.0, 8.0 * number / len(data)))
                _check_size(path, codes, at)
    except (DXFError, IndexError, struct.error, ValueError) as error:
        raise FileError(
            str(path), f"the binary DXF file breaks off, or is damaged, after the {kind or 'beginning'} at pair {at}",
            hint=NO_DXF,
        ) from error  # fmt: skip
    yield Record(kind, codes, values, at)


def decoded(text: str, code_page: str) -> str:
    """A name from a file: in UTF-8, as newer versions write it, or in the code page that the header names."""
    text = text.strip()
    if not text.isascii():
        try:
            raw = text.encode("latin-1")
        except UnicodeEncodeError:  # of a binary file, decoded already
            return text
        for encoding in ("utf-8", code_page.strip().lower().replace("ansi_", "cp")):
            try:
                text = raw.decode(encoding)
            except (UnicodeDecodeError, LookupError):
                continue
            break
    return _UNICODE.sub(lambda m: chr(int(m[1], 16)), text)
