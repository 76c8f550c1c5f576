"""The command line as it is given: its parser, paths and lengths."""

from __future__ import annotations

from argparse import ArgumentParser, ArgumentTypeError
from pathlib import Path
from typing import TYPE_CHECKING

from app.cli.console import say
from core.words.errors import FileError, UserError
from core.words.lengths import Style, parse_length, unit_of

if TYPE_CHECKING:
    from _typeshed import SupportsWrite


class Parser(ArgumentParser):
    """Prints its help as all else is printed: the standard one keeps silent where that fails."""

    def print_help(self, file: SupportsWrite[str] | None = None) -> None:
        if file is None:
            say(self.format_help().rstrip("\n"))
        else:
            super().print_help(file)


def path(text: str) -> Path:
    """A path; an empty one would be the folder that one stands in.

    Raises:
        ArgumentTypeError: it is no name.
    """
    if not text.strip() or "\0" in text:
        raise ArgumentTypeError("the name is empty; give the name of a file or a folder")
    return Path(text)


def length_of(option: str, text: str, *, least: float | None = None) -> float:
    """A length [mm] that is over 0, or not under ``least``.

    Raises:
        FileError: it isn't, or the text is no length.
    """
    try:
        value = parse_length(text, unit_of(Style.MM))
    except UserError as error:
        raise FileError(option, f"“{text}”: {error.what}", hint=error.hint) from None
    if not (value > 0.0 if least is None else value >= least):
        wanted = "more than 0" if least is None else "at least 0"
        raise FileError(option, f"“{text}” must be {wanted}", hint="Write it as 0.5 mm, or in any other length form.")
    return value
