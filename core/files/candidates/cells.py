"""A table's text parted into cells, line by line; a line that can't be parted is named and does not take others along.

RFC 4180 is what most spreadsheets write. A first line ``sep=;`` is their way to say what parts the columns.
"""

from __future__ import annotations

import csv
import re
from io import StringIO
from typing import TYPE_CHECKING, Final, TypeAlias

from core.words.errors import FileError

if TYPE_CHECKING:
    from collections.abc import Iterator

Cells: TypeAlias = "list[str] | FileError"
"""A line's cells, or why it has none."""

_DELIMITERS: Final = ";\t,"
_SEPARATOR = re.compile(r"\s*\"?sep=(?P<sign>[^\"\r\n])\"?\s*", re.IGNORECASE)


def cells(text: str, where: str) -> Iterator[tuple[int, Cells]]:
    """The lines that are not empty, with the number that each begins at.

    After a line that can't be parted, reading goes on with the next one: a quote that is never closed would else take
    in all that follows.

    Args:
        text: the whole table.
        where: the file's name, for errors.
    """
    lines = StringIO(text, newline="").readlines()
    begins, delimiter = _start(lines)
    while begins < len(lines):
        reader = csv.reader(lines[begins:], delimiter=delimiter, skipinitialspace=True, strict=True)
        done = 0  # lines that the reader has taken in whole
        try:
            for row in reader:
                if any(cell.strip() for cell in row):
                    yield begins + done + 1, row
                done = reader.line_num
        except csv.Error as error:
            yield (
                begins + done + 1,
                FileError(
                    f"{where}, line {begins + done + 1}",
                    f"can't be parted into cells: {error}",
                    hint="A quote that opens a cell must close it; one inside it is written twice.",
                ),
            )
            done += 1
        begins += done


def _start(lines: list[str]) -> tuple[int, str]:
    """How many lines come before the heads, and what parts the columns."""
    first = next((i for i, line in enumerate(lines) if line.strip()), 0)
    if first < len(lines) and (match := _SEPARATOR.fullmatch(lines[first])):
        return first + 1, match["sign"]
    head = re.sub(r'"[^"]*"', "", lines[first]) if lines else ""
    return 0, max(_DELIMITERS, key=head.count)
