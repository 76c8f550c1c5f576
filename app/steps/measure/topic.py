"""What the ways of measuring have in common: a narrow form on the left, a board in the middle in place of the plan."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from PySide6.QtWidgets import QWidget

    from app.steps.step import Page


@dataclass(frozen=True)
class MeasuringDialogs:
    """The questions for files, each with the window that asks it; None is a change of mind."""

    ask_drawing: Callable[[QWidget], Path | None]
    ask_picture: Callable[[QWidget], Path | None]
    ask_candidates: Callable[[QWidget], Path | None]
    ask_candidates_target: Callable[[QWidget], Path | None]


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
