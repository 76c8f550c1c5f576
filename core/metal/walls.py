"""The walls of a seat as they stand: on a casting from the shelf, what the old seat and the new cut leave together."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from core.geometry.regions.closing import combine
from core.geometry.regions.region import Step

if TYPE_CHECKING:
    from core.features.ground import Curves
    from core.geometry.lines.outline import Outline

_ON_MM = 1e-5  # a place of a wall this near to metal has metal behind it


@lru_cache(maxsize=64)
def standing_walls(curves: Curves, earlier: tuple[Outline, Outline] | None) -> tuple[Outline, Outline]:
    """Outer and inner wall, counter-clockwise: metal that is gone stays gone.

    The outer wall is the edge of the union of the old seat and the new one, the inner wall that of the intersection of
    what both leave standing inside. Ovals about one centre leave one of each; of more the largest counts.

    Args:
        curves: around the new insert.
        earlier: outer and inner wall of the seat that was there before; None where there was none.
    """
    if earlier is None:
        return curves.seat_outer, curves.seat_inner
    outer = combine([curves.seat_outer, earlier[0]], [Step(add=True, inside=(0,)), Step(add=True, inside=(1,))])
    inner = combine([curves.seat_inner, earlier[1]], [Step(add=True, inside=(0, 1))])
    return outer.loops[0], inner.loops[0] if inner.loops else curves.seat_inner
