"""What the ways of measuring have in common: a narrow form on the left, a board in the middle in place of the plan."""

from __future__ import annotations

from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from pathlib import Path

    from PySide6.QtWidgets import QWidget

    from app.steps.step import Page


class Topic(Protocol):
    """One way of measuring."""

    @property
    def title(self) -> str:
        """Its name in a few words."""

    @property
    def form(self) -> Page:
        """What stands in the column on the left."""

    @property
    def board(self) -> QWidget:
        """What takes the middle."""

    def close_down(self) -> None:
        """Wait for whatever runs beside the window."""


class FileTopic(Topic, Protocol):
    """A way of measuring that begins with a file."""

    def open(self, path: Path) -> None:
        """Read a file beside the window."""
