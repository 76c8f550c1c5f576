"""Layouts that only put things in a row or a column."""

from __future__ import annotations

from typing import TypeVar

from PySide6.QtWidgets import QBoxLayout

Box = TypeVar("Box", bound=QBoxLayout)


def bare(box: Box, spacing: int | None = None) -> Box:
    """A box without margins, and with the style's spacing where none is given."""
    box.setContentsMargins(0, 0, 0, 0)
    if spacing is not None:
        box.setSpacing(spacing)
    return box
