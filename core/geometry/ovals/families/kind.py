"""What a kind of oval tells of itself. Each kind is a class in a file of its own here, and a line of `Family`.

The long axis lies along X. By symmetry the first quarter is enough for distances and supports.
"""

from __future__ import annotations

from math import inf, isfinite, sqrt
from typing import TYPE_CHECKING, ClassVar, NamedTuple

import numpy as np

from core.words.errors import ImpossibleOvalError

if TYPE_CHECKING:
    from core.geometry.lines.outline import FloatArray, Outline

LEAST = 0.1
"""Least length and width [mm]."""

SAME = 1e-9
"""Sizes this close [mm] are the same size: a corner radius of half the width leaves no flat end."""

Near = tuple["FloatArray", "FloatArray", "FloatArray"]
"""Distances (m,) [mm], + outside, and the x and y (m,) of the unit normals there."""


class Shape(NamedTuple):
    """An oval as plain numbers, not checked: what a fit may pass through on its way.

    Attributes:
        a, b: half length and half width [mm].
        own: the size of its kind's own, as the field holds it [mm or 1]; None is the usual one.

    >>> Shape(30.0, 20.0)
    Shape(a=30.0, b=20.0, own=None)
    """

    a: float
    b: float
    own: float | None = None


class Own(NamedTuple):
    """A size that a kind has besides length and width.

    Attributes:
        field: of an oval that holds it.
        words: how it is spoken of.
        low, high, start: what a fit may try, and where it begins.
        is_share: low, high and start are parts of half the width, and the size is a length.

    >>> Own("end_radius", "end radius", low=0.1, high=0.9, start=0.5).is_share
    True
    """

    field: str
    words: str
    low: float
    high: float
    start: float
    is_share: bool = True


class Kind:
    """A kind of oval with length and width; lengths are in mm.

    Attributes:
        words: how it is spoken of.
        names: what else it may be called in a table.
        own: the size that it has besides length and width.
        special_cases: kinds that this one can turn into; the circle is one of all of them.
        is_round: as wide as long.
        is_sized: it follows from a few sizes.
        has_arcs: its exact curve consists of lines and arcs.
        is_constructed: its own size usually follows from length and width, by a craftsman's construction.
        bends: it comes near to any oval of which corners may be left out.
    """

    words: ClassVar[str]
    names: ClassVar[tuple[str, ...]] = ()
    own: ClassVar[Own | None] = None
    special_cases: ClassVar[tuple[type[Kind], ...]] = ()
    is_round: ClassVar = False
    is_sized: ClassVar = True
    has_arcs: ClassVar = True
    is_constructed: ClassVar = False
    bends: ClassVar = False

    def has(self, field: str) -> bool:
        """Whether a field of an oval counts."""
        if field in ("length", "width"):
            return self.is_sized
        return self.own is not None and self.own.field == field

    def contains(self, other: Kind) -> bool:
        """Whether whatever fits the other kind is fitted by this one too."""
        return type(other) in self.special_cases or (other.is_round and not self.is_round)

    def check_own(self, where: str, own: float, shape: Shape) -> None:
        """Nothing, if the size of the kind's own can be; ``where`` leads up to the field.

        Raises:
            ImpossibleOvalError: says what would be possible.
        """

    def usual(self, shape: Shape) -> float | None:
        """The size of its own that it has where none is given; None where it has none."""
        return None

    def is_circle(self, shape: Shape) -> bool:
        """Whether it is no more than a circle."""
        return shape.a - shape.b <= SAME / 2.0

    def outline(self, shape: Shape, tolerance: float) -> Outline:
        """Lines and arcs within a tolerance of it, counter-clockwise; it is no circle."""
        raise self._no_formula()

    def distances(self, shape: Shape, x: FloatArray, y: FloatArray) -> Near:
        """How far points of the first quarter are off, those outside the circles of curvature's centres."""
        raise self._no_formula()

    def support(self, shape: Shape, c: float, s: float) -> float:
        """Distance from the centre of the tangent whose normal is (c, s), in the first quarter."""
        raise self._no_formula()

    def support_rates(self, shape: Shape, c: FloatArray, s: FloatArray) -> Near:
        """Derivatives (m,) of the support at normals of the first quarter by half length, half width and own size.

        Where a size grows, the curve moves along its normal by as much as its support does, so these are also the rates
        of normal distances, with the other sign.
        """
        raise self._no_formula()

    def length(self, shape: Shape) -> float:
        """Length once round [mm]."""
        raise self._no_formula()

    def least_radius(self, shape: Shape) -> float:
        """Smallest radius of curvature [mm], of a kind without arcs."""
        raise self._no_formula()

    def greatest_radius(self, shape: Shape) -> float:
        """Greatest radius of curvature [mm], of a kind without arcs; infinite where it is straight, if at a point."""
        raise self._no_formula()

    def points(self, shape: Shape, n: int) -> tuple[FloatArray, FloatArray]:
        """(n, 2) dense points, counter-clockwise from +X, and their unit normals (n, 2), of a kind without arcs."""
        raise self._no_formula()

    def half_width_at(self, shape: Shape, x: float) -> float:
        """Half the width at a distance below the half length from the middle along the long axis [mm]."""
        raise self._no_formula()

    def end_height(self, shape: Shape, y: float) -> float:
        """Height of the end over a chord across it, whose half is at most the half width [mm]."""
        raise self._no_formula()

    def gauge_radius(self, shape: Shape) -> float:
        """What a radius gauge reads at the end, or at a corner [mm]."""
        raise self._no_formula()

    def _no_formula(self) -> ValueError:
        return ValueError(f"no formula for the {self.words}")


def check_radius(where: str, name: str, radius: float, b: float) -> None:
    """Nothing, if a radius is not too small for half a width [mm].

    Raises:
        ImpossibleOvalError: it is, or is no number.

    >>> check_radius("end_radius", "end radius", 5.0, 20.0)
    """
    if not isfinite(radius):
        raise ImpossibleOvalError(where, f"the {name} is not a number", "give a length, or none for the usual one")
    least = min(LEAST, b) / 10.0
    if radius < least:
        raise ImpossibleOvalError(
            where,
            f"{'an' if name[0] in 'aeiou' else 'a'} {name} of {{asked}} is too small",
            "give at least {bound}",
            asked_mm=radius,
            bound_mm=least,
        )


def from_arc(x: FloatArray, y: FloatArray, radius: float | FloatArray) -> Near:
    """From the arc about the origin.

    >>> [found.tolist() for found in from_arc(np.array([6.0]), np.array([8.0]), 5.0)]
    [[5.0], [0.6], [0.8]]
    """
    away = np.hypot(x, y)
    safe = np.where(away > 0.0, away, 1.0)
    return away - radius, x / safe, y / safe


def leg(hypotenuse: float, other: float) -> float:
    """The third side of a right-angled triangle; 0 where there is none.

    >>> leg(5.0, 3.0)
    4.0
    """
    return sqrt(max(hypotenuse * hypotenuse - other * other, 0.0))


def arc_radius(chord: float, height: float) -> float:
    """Radius of the arc over a chord, from its height: c² / 8q + q / 2 [mm]; infinite for a height of 0.

    >>> arc_radius(8.0, 2.0)  # 4² = 2 (2 r - 2)
    5.0
    """
    return chord * chord / (8.0 * height) + height / 2.0 if height > 0.0 else inf
