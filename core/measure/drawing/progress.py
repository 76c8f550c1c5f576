"""How long work tells how far it has come, and is called off."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeAlias

Tick: TypeAlias = Callable[[float], None]
"""Called now and then with the part of the work that is done, 0 to 1; may raise ``core.words.errors.Cancelled``."""


def no_tick(_: float) -> None:
    """For those who do not want to know."""


def part_of(tick: Tick, begin: float, end: float) -> Tick:
    """A tick for a stretch of the work, from ``begin`` to ``end`` of the whole."""

    def inner(fraction: float) -> None:
        tick(begin + (end - begin) * fraction)

    return inner
