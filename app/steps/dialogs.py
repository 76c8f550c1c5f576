"""The questions that a window asks, handed in as callables, so that tests answer them without touching Qt."""

from __future__ import annotations

from enum import Enum
from typing import TYPE_CHECKING

from msgspec import Struct

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from PySide6.QtPrintSupport import QPrinter
    from PySide6.QtWidgets import QWidget


class Unsaved(Enum):
    """What to do with edits that are not saved."""

    SAVE = "save"
    DISCARD = "discard"
    CANCEL = "cancel"


class Overtaken(Enum):
    """What to do when another program has written the file since it was opened."""

    REPLACE = "replace"
    SAVE_AS = "save as"
    CANCEL = "cancel"


class MeasuringDialogs(Struct, frozen=True):
    """The questions for files, each with the window that asks it; None is a change of mind."""

    ask_drawing: Callable[[QWidget], Path | None]
    ask_picture: Callable[[QWidget], Path | None]
    ask_candidates: Callable[[QWidget], Path | None]
    ask_candidates_target: Callable[[QWidget], Path | None]


class Dialogs(Struct, frozen=True):
    """The questions that a window asks, each with the window that asks it."""

    ask_open: Callable[[QWidget, Path], Path | None]
    ask_save: Callable[[QWidget, Path], Path | None]
    ask_folder: Callable[[QWidget, Path], Path | None]
    ask_unsaved: Callable[[QWidget, str], Unsaved]
    ask_overtaken: Callable[[QWidget, Path], Overtaken]
    ask_replace: Callable[[QWidget, str], bool]
    tell: Callable[[QWidget, str, str], None]
    open_folder: Callable[[Path], bool]
    ask_printer: Callable[[QWidget], QPrinter | None]
    inform: Callable[[QWidget, str, str], None]
    measuring: MeasuringDialogs
