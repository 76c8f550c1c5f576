"""Writing a file whole or not at all."""

from __future__ import annotations

import errno
import os
import time
from contextlib import suppress
from secrets import token_hex
from shutil import copy2, copymode
from typing import TYPE_CHECKING, Final

from core.words.errors import file_error

if TYPE_CHECKING:
    from pathlib import Path


_LONGEST: Final = 180  # of a name that more is put before and behind
_STALE_S: Final = 600.0  # nobody writes one file for so long


def write_atomically(path: Path, data: bytes, *, keep_previous: bool = True) -> None:
    """Replace a file whole, or leave it as it was.

    Args:
        path: a link is followed, and keeps pointing to the file.
        data: the whole content.
        keep_previous: leave the version before beside it as ``name~``.

    Raises:
        FileError: the file can't be written; the old one is untouched.
    """
    try:
        _write(path, data, keep_previous=keep_previous)
    except OSError as error:
        raise file_error(path, error, action="written") from error


def _stale(path: Path) -> list[Path]:
    """What programs that were killed while they wrote this file have left beside it."""
    begin, long_ago = f".{path.name[:_LONGEST]}.", time.time() - _STALE_S
    found: list[Path] = []
    with suppress(OSError), os.scandir(path.parent) as entries:
        for entry in entries:
            is_part = entry.name.startswith(begin) and entry.name.endswith((".part", ".part~"))
            if is_part and entry.stat(follow_symlinks=False).st_mtime < long_ago:
                found.append(path.with_name(entry.name))
    return found


def _write(path: Path, data: bytes, *, keep_previous: bool) -> None:
    try:
        path = path.resolve()  # replacing a link would cut it off from the file it points to
    except RuntimeError:  # Python 3.11 and 3.12 say so for a link that leads to itself
        raise OSError(errno.ELOOP, os.strerror(errno.ELOOP)) from None
    # Same folder: a rename can't cross file systems. A name of its own: two programs may write one file.
    own = f".{path.name[:_LONGEST]}.{os.getpid():x}{token_hex(4)}"
    part, previous = path.with_name(f"{own}.part"), path.with_name(f"{own}.part~")
    is_there = path.exists()
    if path.is_dir():
        raise OSError(errno.EISDIR, os.strerror(errno.EISDIR))
    if is_there and not path.is_file():
        raise OSError(errno.EINVAL, "it is no plain file")
    # A rename asks only for the folder's permission, so a file that its owner protected would be replaced.
    if is_there and not os.access(path, os.W_OK):
        raise OSError(errno.EACCES, os.strerror(errno.EACCES))
    try:
        with part.open("xb") as f:
            f.write(data)
            f.flush()
            os.fsync(f.fileno())  # else a power cut can leave the new name on an empty file
        if is_there:
            copymode(path, part)
            if keep_previous:
                copy2(path, previous)  # by a rename as well: a full disk must not cost the version before
                previous.replace(path.with_name(f"{path.name}~"))
        part.replace(path)
    finally:
        for left_over in (part, previous, *_stale(path)):
            with suppress(OSError):  # what went wrong first is what the user has to know
                left_over.unlink(missing_ok=True)
