"""Several files given their places together: every one is new, or every one is as it was, whenever the program ends.

The new files wait in a folder of their own beside their places, and copies of the old ones with them; a journal there
says what is to be done. Before it is written nothing has moved. While it says ``forward``, what is left waiting is
moved to its place; while it says ``back``, the old ones are. Whoever comes next to the folder finishes what it says.
"""

from __future__ import annotations

import errno
import json
import os
import shutil
import time
from contextlib import suppress
from pathlib import Path
from tempfile import mkdtemp
from typing import TYPE_CHECKING, Final, Self

from core.files.lock import Lock
from core.words.errors import FileError, file_error

if TYPE_CHECKING:
    from collections.abc import Sequence

PREFIX: Final = ".unfinished-"
_JOURNAL, _LOCK, _OLD = "journal.json", "lock", "old"
_TRIES, _PAUSE_S = 10, 0.1  # a file that another program holds for a moment is tried again for a second


class Room:
    """Where files wait until all of them are right; a context that takes itself away.

    Attributes:
        scratch: the folder in which they are written under their own names.
        target: the folder that they are for.
    """

    def __init__(self, target: Path) -> None:
        """A room in a folder, which is made when it is not there.

        Raises:
            FileError: the folder can't be made, or not written to.
        """
        self.target = target
        try:
            target.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise file_error(target, error, action="made") from error
        try:
            self.scratch = Path(mkdtemp(prefix=PREFIX, dir=target))
            self.scratch.chmod(0o777 & ~_umask())  # a temporary folder's own rights would be kept by what was in it
            self._lock = Lock(self.scratch / _LOCK)
        except OSError as error:
            raise file_error(target, error, action="written to") from error

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._lock.release()
        if not (self.scratch / _JOURNAL).exists():  # else something is left to be finished
            shutil.rmtree(self.scratch, ignore_errors=True)

    def publish(self, files: Sequence[str]) -> None:
        """Give the files their places, all or none; a link keeps pointing to its file.

        Raises:
            FileError: a place is taken by a folder or a protected file, or the system refuses; nothing was replaced.
        """
        places = {file: _place(self.target / file) for file in files}
        for file, place in places.items():
            _check_place(self.target / file, place)
        old = self.scratch / _OLD
        try:
            old.mkdir()
            moves: list[list[str]] = []
            for number, (file, place) in enumerate(places.items()):
                waiting, before = self.scratch / file, old / str(number)
                if place.exists():
                    shutil.copy2(place, before)
                    shutil.copymode(place, waiting)
                if place.parent != self.target.resolve():  # a link may lead to another disk, where no rename reaches
                    near = place.with_name(f".{place.name}.{self.scratch.name}")
                    shutil.copy2(waiting, near)
                    waiting.unlink()
                    waiting = near
                moves.append([str(waiting), str(place), str(before) if before.exists() else ""])
        except OSError as error:
            raise file_error(self.target, error, action="written to") from error
        _write_journal(self.scratch, "forward", moves)
        try:
            _forward(moves)
        except OSError as error:
            _write_journal(self.scratch, "back", moves)
            _back(moves)
            (self.scratch / _JOURNAL).unlink()
            named = Path(str(error.filename2 or error.filename or self.target))
            raise file_error(self.target / named.name, error, action="replaced, so nothing was") from error
        (self.scratch / _JOURNAL).unlink()


def finish(folder: Path) -> str:
    """Finish what an export into a folder left when it was killed; a sentence of what was done, empty for nothing.

    Raises:
        FileError: it can't be finished now.
    """
    said = ""
    try:
        rooms = sorted(folder.glob(f"{PREFIX}*"))
    except OSError:
        return ""
    for scratch in rooms:
        if not scratch.is_dir():
            continue
        try:
            lock = Lock(scratch / _LOCK)
        except OSError:
            continue  # its program is still at work
        try:
            said = _finish(scratch) or said
        except OSError as error:
            raise file_error(folder, error, action="finished, where an export was cut off,") from error
        finally:
            lock.release()
        shutil.rmtree(scratch, ignore_errors=True)
    return said


def _finish(scratch: Path) -> str:
    try:
        told = json.loads((scratch / _JOURNAL).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return "An export into this folder was cut off before it replaced anything; what was left of it is gone."
    if told["way"] == "forward":
        _forward(told["moves"])
        return "An export into this folder was cut off while it replaced the files; it has been completed."
    _back(told["moves"])
    return "An export into this folder was cut off; the files before it are back."


def _forward(moves: Sequence[Sequence[str]]) -> None:
    for waiting, place, _ in moves:
        if Path(waiting).exists():  # else it has its place already
            _replace(Path(waiting), Path(place))


def _back(moves: Sequence[Sequence[str]]) -> None:
    for waiting, place, before in moves:
        if before:
            near = Path(place).with_name(f".{Path(place).name}.back")
            shutil.copy2(before, near)
            _replace(near, Path(place))
        elif not Path(waiting).exists():  # it was moved to where nothing had been
            Path(place).unlink(missing_ok=True)
        else:
            Path(waiting).unlink(missing_ok=True)


def _replace(one: Path, place: Path) -> None:
    """Rename over a place, trying again for a second where another program holds it."""
    for i in range(_TRIES):
        try:
            one.replace(place)
        except PermissionError:
            if i == _TRIES - 1:
                raise
            time.sleep(_PAUSE_S)
        else:
            return


def _write_journal(scratch: Path, way: str, moves: Sequence[Sequence[str]]) -> None:
    part = scratch / f"{_JOURNAL}.part"
    with part.open("w", encoding="utf-8") as f:
        json.dump({"way": way, "moves": moves}, f)
        f.flush()
        os.fsync(f.fileno())
    part.replace(scratch / _JOURNAL)


def _place(path: Path) -> Path:
    try:
        return path.resolve()
    except RuntimeError:  # Python 3.11 and 3.12 say so for a link that leads to itself
        raise file_error(path, OSError(errno.ELOOP, os.strerror(errno.ELOOP)), action="written") from None


def _check_place(path: Path, place: Path) -> None:
    if place.is_dir():
        raise file_error(path, OSError(errno.EISDIR, ""), action="written")
    if place.exists() and not place.is_file():
        raise FileError(str(path), "is no plain file, so it is not replaced", hint="Choose another folder.")
    # A rename asks only for the folder's permission, so a file that its owner protected would be replaced.
    if place.exists() and not os.access(place, os.W_OK):
        raise file_error(path, OSError(errno.EACCES, ""), action="written")


def _umask() -> int:
    mask = os.umask(0o022)
    with suppress(OSError):
        os.umask(mask)
    return mask
