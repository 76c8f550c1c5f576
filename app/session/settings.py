"""What the window remembers between runs; each choice is declared once, with its type and default.

What changes a result belongs to the project's file, never here.
"""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Final, Generic, TypeVar, cast

from msgspec import Struct
from PySide6.QtCore import QByteArray, QSettings

if TYPE_CHECKING:
    from collections.abc import Callable

T = TypeVar("T")

MOST_RECENT: Final = 8
"""So many projects fit the start page without scrolling."""


class Scheme(StrEnum):
    """The window's colours."""

    SYSTEM = "system"
    LIGHT = "light"
    DARK = "dark"


class Setting(Struct, Generic[T], frozen=True):
    """One remembered choice.

    Attributes:
        key: in the store, ``group/name``.
        default: what counts until something is remembered, and for whatever ``parse`` refuses.
        parse: from the store's own form; raises ``TypeError`` or ``ValueError``.
        form: to the store's own form.
    """

    key: str
    default: T
    parse: Callable[[object], T]
    form: Callable[[T], object]

    def get(self) -> T:
        """What is remembered; a bad stored value falls back to the default and never stops the start."""
        raw = _store().value(self.key)
        if raw is None:
            return self.default
        try:
            return self.parse(raw)
        except (TypeError, ValueError):
            return self.default

    def put(self, value: T) -> None:
        """Remember a value."""
        _store().setValue(self.key, self.form(value))


def _store() -> QSettings:
    # An ini file on every system: it can be read, mended and deleted without tools, and tests can lay it elsewhere.
    return QSettings(QSettings.Format.IniFormat, QSettings.Scope.UserScope, "Seatwright", "Seatwright")


def folder() -> Path:
    """Where the settings lie on this system."""
    return Path(_store().fileName()).parent


def _paths(raw: object) -> tuple[Path, ...]:
    # A list of one comes back from an ini file as a bare text.
    texts = [raw] if isinstance(raw, str) else raw
    if not isinstance(texts, list) or not all(isinstance(t, str) for t in texts):
        raise TypeError(f"expected a list of paths, not {raw!r}")
    return tuple(Path(t) for t in texts if t)[:MOST_RECENT]


def _bytes(raw: object) -> bytes:
    if not isinstance(raw, QByteArray):
        raise TypeError(f"expected bytes, not {raw!r}")
    return cast("bytes", raw.data())


def _truth(raw: object) -> bool:
    words = {"true": True, "false": False}
    return words[str(raw).lower()] if str(raw).lower() in words else _refuse(raw)


def _refuse(raw: object) -> bool:
    raise ValueError(f"expected true or false, not {raw!r}")


RECENT = Setting[tuple[Path, ...]]("files/recent", (), _paths, lambda paths: [str(p) for p in paths])
"""Projects opened or saved, newest first."""
FOLDER = Setting[str]("files/folder", "", str, str)
"""Where the last project was opened or saved; empty is the home folder."""
EXPORT_FOLDER = Setting[str]("export/folder", "", str, str)
"""Where outlines were written last; empty is the project's own folder."""
EXPORT_OLD_FORM = Setting("export/r12", default=False, parse=_truth, form=bool)
"""Whether the older form of the outlines is written as well."""
EXPORT_OLD_OUTLINES = Setting("export/old_outlines", default=False, parse=_truth, form=bool)
"""Whether the old outlines are written as well, on layers of their own."""
SHOW_KEPT = Setting("show/kept", default=False, parse=_truth, form=bool)
"""Whether the changes list shows what stayed."""
SHOW_LEGEND = Setting[str]("show/legend", "", str, str)
"""``yes`` or ``no``; empty shows the legend where the window is tall enough for it."""
GEOMETRY = Setting("window/geometry", default=b"", parse=_bytes, form=QByteArray)
"""Place and size of the window."""
SCHEME = Setting("show/colours", Scheme.SYSTEM, lambda raw: Scheme(str(raw)), str)
"""Light or dark."""


def remember_recent(path: Path) -> None:
    """Put a project first among the recent ones."""
    path = path.absolute()
    RECENT.put((path, *(p for p in RECENT.get() if p != path))[:MOST_RECENT])


def forget_recent(path: Path) -> None:
    """Leave a project out of the recent ones, e.g. because it is gone."""
    RECENT.put(tuple(p for p in RECENT.get() if p != path))
