"""The gap as the pointer reads it: at the station that it is nearest to."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

if TYPE_CHECKING:
    from collections.abc import Iterable

    from core.fit.gaps import GapProfile
    from core.geometry.lines.outline import Point
    from core.words.ends import End, Side

    Station = tuple[End, Side, int]


class GapReading(Struct, frozen=True):
    """The gap at one station, as the pointer reads it.

    Attributes:
        station: piece, wall, and index into the gap profile.
        gap: [mm]; ``along``: the station's distance along the rim [mm].
    """

    station: Station
    gap: float
    along: float


def nearest_gap(profiles: Iterable[GapProfile], at: Point, factor: int, reach: float) -> GapReading | None:
    """The gap at the station nearest to a place in plan; None away from the rim.

    Args:
        profiles: the gaps of both walls.
        at: the place [mm].
        factor: how many times wider than true the gap is drawn.
        reach: how far away a place still belongs to a station [mm].
    """
    x, y = at
    best: tuple[float, GapProfile, int] | None = None
    for profile in profiles:
        shown = profile.rim + (profile.wall - profile.rim) * (factor / 2.0)
        away = np.minimum(
            np.hypot(profile.rim[:, 0] - x, profile.rim[:, 1] - y), np.hypot(shown[:, 0] - x, shown[:, 1] - y)
        )
        index = int(away.argmin())
        if best is None or away[index] < best[0]:
            best = float(away[index]), profile, index
    if best is None or best[0] > reach:
        return None
    _, profile, index = best
    return GapReading((profile.end, profile.side, index), float(profile.gap[index]), float(profile.stations[index]))
