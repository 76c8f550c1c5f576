"""A soft insert's heights under several weights, carried on to none.

Two weights are joined by a straight line. Soft things stiffen as they are pressed, so that three weights or more show a
bend: the parabola through them is followed. No load line is quite a parabola: how far the true one may stray from it is
taken from rims that are pressed as round bodies are, with depth as weight^(2/3) (Hertz; Johnson, Contact Mechanics,
4.2, from memory).
"""

from __future__ import annotations

from math import sqrt
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from core.measure.readings.statistics import deviation_of, mean_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from core.geometry.lines.outline import FloatArray

_COVERAGE = 2.0  # standard uncertainties of a bend
_HERTZ = 2.0 / 3.0


class LoadLine(Struct, frozen=True):
    """One sample's heights under two weights or more.

    Attributes:
        weights: [g], two of them different.
        heights: under each [mm].
        instruments: standard uncertainty of each height [mm].
    """

    weights: tuple[float, ...]
    heights: tuple[float, ...]
    instruments: tuple[float, ...]

    @property
    def straight(self) -> float:
        """Height without any weight along the straight line [mm]."""
        return float(_gains(self.weights, 1) @ self.heights)

    @property
    def instrument(self) -> float:
        """Standard uncertainty of that from the instruments [mm]."""
        return float(np.linalg.norm(_gains(self.weights, 1) * self.instruments))

    @property
    def falls(self) -> bool:
        """Whether more weight lowers it, or does nothing that the instruments could tell."""
        return self.straight >= mean_of(self.heights) - _COVERAGE * max(self.instruments)

    @property
    def has_bend(self) -> bool:
        """Whether there are weights enough to show a bend."""
        return len(set(self.weights)) > 2

    @property
    def bend(self) -> float:
        """How much higher than the line the parabola is without any weight [mm]."""
        return float(self._bending @ self.heights)

    @property
    def bend_by_instruments(self) -> float:
        """Standard uncertainty of the bend from the instruments [mm]."""
        return float(np.linalg.norm(self._bending * self.instruments))

    @property
    def stray(self) -> float:
        """How far Hertz' load line lies from the parabola without any weight, as part of the bend; 1 at least."""
        depths = np.array(self.weights) ** _HERTZ
        return max(abs(float(_gains(self.weights, 2) @ depths)) / abs(float(self._bending @ depths)), 1.0)

    @property
    def _bending(self) -> FloatArray:
        return _gains(self.weights, 2) - _gains(self.weights, 1)


def bend_of(lines: Sequence[LoadLine]) -> tuple[float, float]:
    """The bend that several samples have in common, and how far off it may be at the most [mm].

    0 and 0 where no sample was read under three weights: the line is taken to be straight.
    """
    bent = [line for line in lines if line.has_bend]
    if not bent:
        return 0.0, 0.0
    bends = [line.bend for line in bent]
    chance = max(line.bend_by_instruments for line in bent)
    if (spread := deviation_of(bends)) is not None:
        chance = max(chance, spread / sqrt(len(bends)))
    bend = mean_of(bends)
    return bend, max(line.stray for line in bent) * (abs(bend) + _COVERAGE * chance)


def _gains(weights: Sequence[float], degree: int) -> FloatArray:
    """(n,) what each height counts at no weight, in the curve of a degree through all of them by least squares."""
    scaled = np.array(weights) / max(weights)  # keeps the powers tame
    gains: FloatArray = np.linalg.pinv(np.vander(scaled, degree + 1, increasing=True))[0]
    return gains
