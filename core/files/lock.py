"""A lock that the system lets go of when its program ends, however it ends."""

from __future__ import annotations

import sys
from contextlib import suppress
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path


class Lock:
    """Holds a file for as long as this object, or its program, lives."""

    def __init__(self, path: Path) -> None:
        """Take the lock.

        Raises:
            OSError: another program holds it, or the file can't be made.
        """
        self._file = path.open("a+b")
        try:
            if sys.platform == "win32":
                import msvcrt  # noqa: PLC0415 - this system's own

                msvcrt.locking(self._file.fileno(), msvcrt.LK_NBLCK, 1)
            else:
                import fcntl  # noqa: PLC0415 - as above

                fcntl.flock(self._file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            self._file.close()
            raise

    def release(self) -> None:
        """Let go."""
        with suppress(OSError):
            self._file.close()
