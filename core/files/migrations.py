"""What brings a project file of an older format to the next one.

A format changes in several respects at once; each is a small function of its own over the file's raw groups.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from collections.abc import Callable

Raw = dict[str, Any]
"""A group of a file as JSON gives it."""

STEPS_TO_2: Final[tuple[Callable[[Raw], Raw], ...]] = ()
"""Readings, sources, measured outlines, pressed rims and candidates came with 2; a file of 1 has none of them."""

STEPS_TO_3: Final[tuple[Callable[[Raw], Raw], ...]] = ()

MIGRATIONS: Final[dict[int, tuple[Callable[[Raw], Raw], ...]]] = {1: STEPS_TO_2, 2: STEPS_TO_3}
"""By version: what brings a file of that version to the next. There is an entry for each version before `FORMAT`."""
