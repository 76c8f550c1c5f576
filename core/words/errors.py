"""What the user can put right, as exceptions that carry values instead of finished sentences.

The window passes in how it shows a length, so nobody reads millimetres while working in inches. Programming mistakes
stay ``ValueError`` and ``TypeError``.
"""

from __future__ import annotations

import errno
from collections.abc import Callable
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from pathlib import Path

Show = Callable[[float], str]
"""How the window shows a length in mm, e.g. ``"3.20 mm"``."""


def _plain(mm: float) -> str:
    return f"{mm:.2f} mm"


class UserError(Exception):
    """Something the user can put right: says where, what, and what to do.

    Attributes:
        where: the field, the part or the file concerned.
        what: what is wrong there, without a full stop.
        hint: what to do about it, a whole sentence; may be empty.
    """

    # Subclasses set ``args`` to their own constructor's arguments: pickling calls the class with them, then
    # restores the attributes, keyword ones included.

    def __init__(self, where: str, what: str, *, hint: str = "") -> None:
        super().__init__(where, what)
        self.where, self.what, self.hint = where, what, hint

    def message(self, show: Show) -> str:  # noqa: ARG002 - subclasses that carry lengths use it
        """The whole sentence for the user, with lengths as ``show`` writes them."""
        return f"{self.where}: {self.what}. {self.hint}" if self.hint else f"{self.where}: {self.what}"

    def __str__(self) -> str:
        return self.message(_plain)


class LengthError(UserError):
    """A text that can't be read as a length.

    Attributes:
        text: what was typed.
        position: index of the offending character in ``text``; 0 if the text is empty.
    """

    def __init__(self, text: str, position: int, what: str, *, hint: str = "", where: str = "length") -> None:
        super().__init__(where, what, hint=hint)
        self.args = (text, position, what)
        self.text, self.position = text, position


class FoldsOverError(UserError):
    """An inward move is larger than the tightest radius of the curve."""

    def __init__(self, where: str, asked_mm: float, limit_mm: float) -> None:
        super().__init__(where, "the move folds the curve over")
        self.args = (where, asked_mm, limit_mm)
        self.asked_mm, self.limit_mm = asked_mm, limit_mm

    def message(self, show: Show) -> str:
        return (
            f"{self.where}: an inward move of {show(self.asked_mm)} folds the curve over; its tightest radius "
            f"is {show(self.limit_mm)}. Stay below that."
        )


class ImpossibleOvalError(UserError):
    """Sizes that no oval of the chosen kind can have.

    ``what`` and ``bound`` may hold the places ``{asked}`` and ``{bound}``, which are filled with ``asked_mm`` and
    ``bound_mm`` as the window shows lengths.

    Attributes:
        bound: what would be possible, without a full stop, e.g. ``"stay below {bound}"``.
    """

    def __init__(
        self, where: str, what: str, bound: str, *, asked_mm: float | None = None, bound_mm: float | None = None
    ) -> None:
        super().__init__(where, what)
        self.args = (where, what, bound)
        self.bound, self.asked_mm, self.bound_mm = bound, asked_mm, bound_mm

    def message(self, show: Show) -> str:
        text = f"{self.where}: {self.what}; {self.bound}."
        # Not str.format: a text may quote braces of its own.
        for place, mm in (("{asked}", self.asked_mm), ("{bound}", self.bound_mm)):
            if mm is not None:
                text = text.replace(place, show(mm))
        return text


class FileError(UserError):
    """A file that can't be read or written; ``where`` is its path, or the path inside the project file."""


class Cancelled(Exception):
    """The user, or a newer request, called off a long computation."""


_REASONS: Final[dict[int, tuple[str, str]]] = {
    errno.ENOENT: ("there is no such file or folder", "Check the name, or make the folder first."),
    errno.ENOTDIR: ("a part of the path is a file, not a folder", "Choose another folder."),
    errno.EEXIST: ("a file has this name", "Choose another folder."),
    errno.EISDIR: ("a folder has this name", "Choose another name."),
    errno.EACCES: ("you have no permission", "Choose another folder, or change the permissions."),
    errno.EPERM: ("you have no permission", "Choose another folder, or change the permissions."),
    errno.EROFS: ("the disk can only be read", "Choose a folder on another disk."),
    errno.ENOSPC: ("the disk is full", "Make room on it, or choose another disk."),
    errno.EDQUOT: ("your share of the disk is used up", "Make room on it, or choose another disk."),
    errno.ENAMETOOLONG: ("the name is too long", "Choose a shorter one."),
    errno.ELOOP: ("the path leads through links in a circle", "Choose another folder."),
    errno.EIO: ("the disk reports an error", "Choose another disk, and check this one."),
}


def file_error(path: Path, error: OSError, *, action: str) -> FileError:
    """What to say when the system refuses a file.

    Args:
        path: the file.
        error: the system's.
        action: what could not be done, e.g. ``"written"``.
    """
    reason, hint = _REASONS.get(error.errno or 0, (error.strerror or str(error), ""))
    return FileError(str(path), f"can't be {action}: {reason}", hint=hint)
