"""What is not saved, kept on disk while it is edited: one entry an open part, taken away when it is saved or given up.

An entry is a project's file with two more lines before it: where it came from, and when it was kept. It is replaced
whole, so a kill at any moment leaves the one before. An entry whose program is gone is offered again.
"""

from __future__ import annotations

import json
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Final

from msgspec import Struct

from core.files.atomic import write_atomically
from core.files.project.file import LARGEST_BYTES, decode_project, encode_project
from core.words.errors import FileError

if TYPE_CHECKING:
    from core.part.project import Project

SUFFIX: Final = ".unsaved"


class Entry(Struct, frozen=True):
    """A part that was not saved.

    Attributes:
        place: the entry's own file.
        source: the file that the part was opened from or saved to; None where it had none yet.
        kept: when it was kept [s since 1970].
        project: the part.
    """

    place: Path
    source: Path | None
    kept: float
    project: Project


def keep(place: Path, project: Project, source: Path | None, when: float) -> None:
    """Put a part into the journal, in place of what the entry held before.

    Args:
        place: the entry's file.
        project: the part.
        source: where it came from.
        when: now [s since 1970].

    Raises:
        FileError: it can't be written.
    """
    head = json.dumps({"source": None if source is None else str(source), "kept": when})
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise FileError(str(place.parent), f"can't be made: {error.strerror}") from error
    write_atomically(place, head.encode() + b"\n" + encode_project(project), keep_previous=False)


def read_entry(place: Path) -> Entry | None:
    """What an entry holds; None for a file that is none, or that is damaged: there is nothing to offer then."""
    try:
        with place.open("rb") as f:
            head, _, body = f.read(LARGEST_BYTES + 1024).partition(b"\n")
        told = json.loads(head)
        source, kept = told["source"], float(told["kept"])
        project = decode_project(body, where=str(place))
    except (OSError, ValueError, KeyError, TypeError, RecursionError, FileError):
        return None
    return Entry(place, None if source is None else Path(source), kept, project)


def entries(folder: Path) -> tuple[Entry, ...]:
    """All that can be read in a journal's folder, the newest first."""
    found: list[Entry] = []
    with suppress(OSError):
        found = [entry for place in folder.glob(f"*{SUFFIX}") if (entry := read_entry(place)) is not None]
    return tuple(sorted(found, key=lambda entry: -entry.kept))


def give_up(place: Path) -> None:
    """Take an entry out of the journal; nothing happens where there is none."""
    with suppress(OSError):
        place.unlink()
