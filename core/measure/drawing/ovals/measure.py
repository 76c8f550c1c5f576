"""Normal distances of an old drawing's curves from the insert's oval, and whether they run parallel to it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct

from core.geometry.ovals.distances import oval_distances
from core.geometry.ovals.ovals import oval_outline

if TYPE_CHECKING:
    from core.geometry.lines.outline import FloatArray
    from core.geometry.ovals.ovals import Oval

_MOST: Final = 0.4
"""Part of an outside that must run parallel to the seat; the rest are lugs and bosses that stand out from it."""
_ALL: Final = 0.95


class Spread(Struct, frozen=True):
    """How far a curve runs from an oval, + outside [mm].

    Attributes:
        middle: the distance that most of it keeps.
        low, high: least and greatest.
        share: the part of it that keeps ``middle`` within the tolerance [1].
    """

    middle: float
    low: float
    high: float
    share: float

    @property
    def is_parallel(self) -> bool:
        """Whether it keeps its distance but for a joint here and there."""
        return self.share >= _ALL

    @property
    def is_mostly(self) -> bool:
        """Whether it keeps its distance but for what stands out from it."""
        return self.share >= _MOST


def signed_from(oval: Oval, points: FloatArray) -> FloatArray:
    """Distances (n,) [mm] of points (n, 2) from an oval about the origin, below 0 inside."""
    if not oval.family.kind.is_sized:
        return oval_outline(oval).signed_distance(points)
    return oval_distances(oval, points)[0]


def spread_of(distances: FloatArray, tolerance: float) -> Spread:
    """The distance that most of some evenly spaced places (n,) keep within ± the tolerance [mm], and their spread."""
    ranked = np.sort(distances)
    last = np.searchsorted(ranked, ranked + 2.0 * tolerance, side="right")
    count = last - np.arange(len(ranked))
    first = int(count.argmax())
    kept = ranked[first : int(last[first])]
    return Spread(float(np.median(kept)), float(ranked[0]), float(ranked[-1]), len(kept) / len(ranked))
