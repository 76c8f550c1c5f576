"""The demo projects that ship with the program: our own scenarios, invented data."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from core.files.project.file import load_project
from core.words.errors import FileError

if TYPE_CHECKING:
    from core.part.project import Project

FOLDER = Path(__file__).resolve().parents[3] / "assets" / "demos"


def demo_names() -> tuple[str, ...]:
    """The demos' short names, the first of them the one to start with."""
    return ("compressor-intake", "lens-ring", "pump-strainer")


def load_demo(name: str) -> Project:
    """The demo of that short name.

    Raises:
        FileError: there is no such demo, or its file is not there.
    """
    if name not in demo_names():
        raise FileError(f"demo {name}", "there is no such demo", hint=f"Choose one of: {', '.join(demo_names())}.")
    return load_project(FOLDER / f"{name}.json")
