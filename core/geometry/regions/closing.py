"""Combinations of areas whose outlines may nearly coincide: what can't be closed is tried again, parted by a hair."""

from __future__ import annotations

from math import sin
from typing import TYPE_CHECKING, TypeVar

from core.geometry.regions.region import Arrangement, UnclosedError

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from core.geometry.lines.outline import Outline
    from core.geometry.regions.region import Region, Step

PARTED_MM = 2e-5
"""How far outlines are moved, at most, that lie so near to each other that the area between them can't be closed."""

_PARTINGS = 6

_T = TypeVar("_T")


def closing(outlines: Sequence[Outline], do: Callable[[Arrangement], _T]) -> _T:
    """What ``do`` makes of the outlines' arrangement; where they nearly coincide, of outlines parted by a hair.

    Curves that run along each other within rounding, over a crossing at a vertex, can leave a boundary that misses a
    side. Scaled apart, each by its own part of `PARTED_MM`, they meet or don't.

    Raises:
        UnclosedError: an outline crosses itself, so that no parting helps.

    >>> from core.geometry.lines.outline import rectangle_outline
    >>> from core.geometry.regions.region import Step
    >>> closing([rectangle_outline(0, 0, 3, 4)], lambda arrangement: arrangement.fold([Step(True, (0,))]).area)
    12.0
    """
    for parting in range(_PARTINGS - 1):
        try:
            return do(Arrangement(_parted(outlines, parting)))
        except UnclosedError:
            continue
    return do(Arrangement(_parted(outlines, _PARTINGS - 1)))


def _parted(outlines: Sequence[Outline], parting: int) -> Sequence[Outline]:
    """The outlines themselves, or each a little larger or smaller than it is, another way each time."""
    if parting == 0:
        return outlines
    number = {outline: k for k, outline in enumerate(dict.fromkeys(outlines))}
    parted: list[Outline] = []
    for outline in outlines:
        x0, y0, x1, y1 = outline.bounds
        by = PARTED_MM * sin(number[outline] * 2.4 + 1.7 * parting)
        size = max(x1 - x0, y1 - y0) / 2.0
        parted.append(outline.scaled(1.0 + by / size, ((x0 + x1) / 2.0, (y0 + y1) / 2.0)))
    return parted


def combine(outlines: Sequence[Outline], steps: Sequence[Step]) -> Region:
    """The area that is left after the steps; see ``Arrangement.fold`` and ``closing``.

    >>> from core.geometry.lines.outline import rectangle_outline
    >>> from core.geometry.regions.region import Step
    >>> plate, window = rectangle_outline(0, 0, 10, 10), rectangle_outline(2, 2, 5, 6)
    >>> combine([plate, window], [Step(add=True, inside=(0,)), Step(add=False, inside=(1,))]).area
    88.0
    """
    return closing(outlines, lambda arrangement: arrangement.fold(steps))
