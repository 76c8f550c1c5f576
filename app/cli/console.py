"""What the commands write: on any console, to any file, and what is said when nothing can be written."""

from __future__ import annotations

import codecs
import json
import os
import re
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Final, TextIO
from unicodedata import normalize

from core.words.errors import FileError, file_error

if TYPE_CHECKING:
    from collections.abc import Sequence

_SPOKEN: Final = {
    "−": "-", "–": "-", "—": "--", "±": "+/-", "×": "x", "·": "*", "•": "*", "≈": "~", "≤": "<=", "≥": ">=",
    "≠": "!=", "→": "->", "←": "<-", "…": "...", "°": " deg", "µ": "u", "μ": "u", "π": "pi", "φ": "phi", "√": "sqrt ",
    "∞": "infinity", "⁄": "/", "²": "^2", "³": "^3", "⁴": "^4", "ø": "dia. ", "△": "^", "▲": "^",
    "“": '"', "”": '"', "‘": "'", "’": "'", "′": "'", "″": '"',
}  # fmt: skip
"""Signs of ours in ASCII; a sign that is lost turns a size round."""


def _in_ascii(error: UnicodeError) -> tuple[str, int]:
    """An ASCII form of what a stream's encoding has no sign for, in the way of an error handler of `codecs`."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    told = ""
    for at in range(error.start, error.end):
        sign = error.object[at]
        plain = _SPOKEN.get(sign) or normalize("NFKD", sign).replace("⁄", "/")
        if "/" in plain and plain[0].isdigit() and error.object[at - 1 : at].isdigit():
            plain = f" {plain}"  # 9¾ is 9 3/4, not 93/4
        # Letters lose their marks; of anything else its number is told.
        kept = "".join(c for c in plain if c.isascii())
        told += kept or sign.encode("ascii", "backslashreplace").decode("ascii")
    return told, error.end


_STEERS: Final = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f]")


codecs.register_error("seatwright", _in_ascii)


def prepare() -> None:
    """Make both streams take every sign."""
    for stream in (sys.stdout, sys.stderr):
        if stream is not None:  # a program that is started without a console has none
            stream.reconfigure(errors="seatwright")  # type: ignore[union-attr]


def say(text: str) -> None:
    """Write a text and a line's end to the standard output."""
    _open_output().write(f"{_harmless(text)}\n")


def say_json(value: object) -> None:
    """Write a value as JSON, which is ASCII: no encoding of a pipe changes it."""
    say(json.dumps(value, indent=2))


def complain(lines: Sequence[str]) -> None:
    """Write lines to the standard error, each after the program's name; where that fails there is nobody to tell."""
    if sys.stderr is None:
        return
    try:
        sys.stderr.write("".join(f"seatwright: {_harmless(line)}\n" for line in lines))
        sys.stderr.flush()
    except (OSError, ValueError):
        _silence(sys.stderr)


def finish() -> None:
    """Bring out all that was said.

    Raises:
        FileError: the reader has gone, or the disk is full.
    """
    if sys.stdout is None:
        return
    try:
        sys.stdout.flush()
    except OSError as error:
        raise refused(error) from error


def refused(error: OSError) -> FileError:
    """What to say of an output that takes no more; the rest of it is dropped."""
    if sys.stdout is not None:
        _silence(sys.stdout)
    if isinstance(error, BrokenPipeError):
        return FileError("the output", "its reader has closed it, so the rest of it is lost")
    return file_error(Path("the output"), error, action="written")


def check_output() -> None:
    """Refuse to begin where nothing can be told.

    Raises:
        FileError: the standard output is closed.
    """
    _open_output()


def _harmless(text: str) -> str:
    """A text whose names steer no terminal."""
    return _STEERS.sub(lambda found: f"\\x{ord(found[0]):02x}", text)


def _open_output() -> TextIO:
    if sys.stdout is None:
        raise FileError("the output", "is closed", hint="Send it to a console, a file or another program.")
    return sys.stdout


def _silence(stream: TextIO) -> None:
    """Let a stream that failed lead nowhere, or the interpreter would fail on it once more at its end."""
    try:
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, stream.fileno())
        os.close(nowhere)
    except (OSError, ValueError):
        return  # no stream of the system's: a test's
