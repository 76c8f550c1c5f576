"""The ovals an insert or a seat can have: their exact curves, and the same curves as lines and arcs.

Lengths and widths are the whole ones; a = length / 2 and b = width / 2 in the formulas. The long axis lies along X.
"""

from __future__ import annotations

from enum import StrEnum
from functools import lru_cache
from math import inf, isfinite
from typing import Any, Self

import numpy as np
from msgspec import Struct

from core.geometry.lines.outline import FloatArray, Outline, circle_outline
from core.geometry.ovals.families.circle import Circle
from core.geometry.ovals.families.ellipse import Ellipse
from core.geometry.ovals.families.four_arc import FourArc
from core.geometry.ovals.families.kind import LEAST, Kind, Shape
from core.geometry.ovals.families.measured import Measured
from core.geometry.ovals.families.obround import Obround
from core.geometry.ovals.families.rounded_rectangle import RoundedRectangle
from core.geometry.ovals.families.superellipse import Superellipse
from core.geometry.ovals.measured import Vertices, check_measured, measured_outline
from core.words.errors import ImpossibleOvalError

ARC_TOLERANCE = 0.0005
"""Tolerance [mm] for curves without arcs of their own: half a micrometre, so that a file stays under one."""

LONGEST = 2000.0
"""Longest oval [mm]; a typing mistake of a factor of ten or a thousand stops here."""


class Family(StrEnum):
    """The kinds of oval, by how their curve is made: the plainest first. A new one is a line here and its file.

    Attributes:
        kind: all that is particular to it.

    >>> Family("circle") is Family.CIRCLE, Family.OBROUND.kind.has_arcs, Family.ELLIPSE.kind.has_arcs
    (True, True, False)
    """

    _value_: str
    kind: Kind

    def __new__(cls, value: str, kind: Kind) -> Self:
        """A member that is its name in files, with its kind."""
        member = str.__new__(cls, value)
        member._value_, member.kind = value, kind
        return member

    CIRCLE = "circle", Circle()
    OBROUND = "obround", Obround()
    ELLIPSE = "ellipse", Ellipse()
    FOUR_ARC = "four_arc", FourArc()
    ROUNDED_RECTANGLE = "rounded_rectangle", RoundedRectangle()
    SUPERELLIPSE = "superellipse", Superellipse()
    MEASURED = "measured", Measured()


SIZED_FAMILIES = tuple(family for family in Family if family.kind.is_sized)
"""The families whose curve follows from a few sizes."""


class Oval(Struct, frozen=True):
    """An oval by its family and sizes.

    Attributes:
        family: how the curve is made.
        length: along X [mm].
        width: along Y [mm], at most the length.
        end_radius: of a four-arc oval's ends or of a rounded rectangle's corners [mm]. None is the family's usual
            one: the construction by the perpendicular bisector, or a quarter of the width.
        exponent: n of the superellipse |x / a|^n + |y / b|^n = 1 [1]; None is 2.5.
        vertices: of a measured outline, counter-clockwise round the origin; its bounds are length and width. Only the
            measured family has them.

    >>> Oval(Family.OBROUND, 60.0, 40.0).shape  # half length and half width
    Shape(a=30.0, b=20.0, own=None)
    """

    family: Family
    length: float
    width: float
    end_radius: float | None = None
    exponent: float | None = None
    vertices: Vertices | None = None

    @property
    def own(self) -> float | None:
        """The size of its family's own; None where it is the usual one, or there is none."""
        own = self.family.kind.own
        return None if own is None else getattr(self, own.field)

    @property
    def shape(self) -> Shape:
        """Its plain numbers."""
        return Shape(self.length / 2.0, self.width / 2.0, self.own)


def oval_of(family: Family, length: float, width: float, own: float | None = None) -> Oval:
    """The oval of a family by whole sizes [mm] and the size of the family's own.

    >>> oval_of(Family.SUPERELLIPSE, 60.0, 40.0, 3.0).exponent
    3.0
    """
    more: dict[str, Any] = {} if family.kind.own is None else {family.kind.own.field: own}
    return Oval(family, length, width, **more)


def check_oval(oval: Oval, where: str = "") -> None:
    """Nothing, if the oval can exist.

    Args:
        oval: to check.
        where: put before the field's name in the error, e.g. ``"new_insert."``.

    Raises:
        ImpossibleOvalError: a size is impossible; says which one and what would be possible.

    >>> check_oval(Oval(Family.ELLIPSE, 60.0, 40.0))
    """
    for field, size in (("length", oval.length), ("width", oval.width)):
        _check_size(where + field, field, size)
    if not oval.family.kind.is_sized:
        check_measured(oval.length, oval.width, oval.vertices, where)
        return
    kind = oval.family.kind
    if kind.is_round and oval.length != oval.width:
        raise ImpossibleOvalError(
            f"{where}width",
            f"a {kind.words} is {{asked}} wide but as long as {{bound}}",
            "make both the same, {bound}, or choose another kind of oval",
            asked_mm=oval.width,
            bound_mm=oval.length,
        )
    if oval.width > oval.length:
        raise ImpossibleOvalError(
            f"{where}width",
            "a width of {asked} is more than the length",
            "go up to the length, {bound}, or exchange the two",
            asked_mm=oval.width,
            bound_mm=oval.length,
        )
    if kind.own is not None and oval.own is not None:
        kind.check_own(where + kind.own.field, oval.own, oval.shape)


def measured_oval(outline: Outline) -> Oval:
    """The oval of the measured family that an outline is, moved so that the middle of its bounds is the origin.

    Args:
        outline: closed, not crossing itself, its long axis along X.

    Raises:
        ImpossibleOvalError: it is wider than long, or too small or large.

    >>> oval = measured_oval(Outline([[0, 0, 0], [6, 0, 0], [6, 4, 0], [0, 4, 0]]))
    >>> oval.length, oval.width, oval.vertices[0]
    (6.0, 4.0, (-3.0, -2.0, 0.0))
    """
    x0, y0, x1, y1 = outline.bounds
    moved = outline.oriented(ccw=True).moved(-(x0 + x1) / 2.0, -(y0 + y1) / 2.0)
    x0, y0, x1, y1 = moved.bounds
    rows = tuple((float(x), float(y), float(bulge)) for x, y, bulge in moved.vertices)
    oval = Oval(Family.MEASURED, x1 - x0, y1 - y0, vertices=rows)
    check_oval(oval)
    return oval


def _check_size(where: str, name: str, size: float) -> None:
    if not isfinite(size):
        raise ImpossibleOvalError(where, f"the {name} is not a number", "give a length")
    if size <= 0.0:
        raise ImpossibleOvalError(
            where, f"a {name} of {{asked}} is not positive", "give more than {bound}", asked_mm=size, bound_mm=0.0
        )
    if size < LEAST:
        raise ImpossibleOvalError(
            where, f"a {name} of {{asked}} is too small", "give at least {bound}", asked_mm=size, bound_mm=LEAST
        )
    if size > LONGEST:
        raise ImpossibleOvalError(
            where, f"a {name} of {{asked}} is too large", "give at most {bound}", asked_mm=size, bound_mm=LONGEST
        )


def oval_outline(oval: Oval, tolerance: float = ARC_TOLERANCE) -> Outline:
    """The oval as lines and arcs, counter-clockwise round the origin and exactly symmetric about both axes.

    Circle, obround, four-arc oval and rounded rectangle are exact; ellipse and superellipse become tangent-continuous
    arcs within the tolerance, starting on the +X axis.

    Args:
        oval: the oval.
        tolerance: greatest deviation of the arcs from the curve [mm], > 0.

    Raises:
        ImpossibleOvalError: the oval can't exist.
        ValueError: the tolerance is not positive.

    >>> round(oval_outline(Oval(Family.OBROUND, 60.0, 40.0)).area - 400.0 * np.pi, 6)  # 20 x 40 and a circle
    800.0
    """
    return _oval_outline(oval, tolerance)


@lru_cache(maxsize=1024)
def _oval_outline(oval: Oval, tolerance: float) -> Outline:
    check_oval(oval)
    if not tolerance > 0:
        raise ValueError(f"tolerance must be positive, not {tolerance}")
    kind, shape = oval.family.kind, oval.shape
    if oval.vertices is not None and not kind.is_sized:
        return measured_outline(oval.vertices)
    return circle_outline((0.0, 0.0), shape.a) if kind.is_circle(shape) else kind.outline(shape, tolerance)


def has_arcs(oval: Oval) -> bool:
    """Whether the exact curve itself consists of lines and arcs.

    >>> has_arcs(Oval(Family.OBROUND, 60.0, 40.0)), has_arcs(Oval(Family.ELLIPSE, 60.0, 40.0))
    (True, False)
    """
    return oval.family.kind.has_arcs


@lru_cache(maxsize=1024)
def exact_length(oval: Oval) -> float:
    """Length of the exact curve [mm].

    Raises:
        ImpossibleOvalError: the oval can't exist.

    >>> round(exact_length(Oval(Family.CIRCLE, 10.0, 10.0)) / np.pi, 9)
    10.0
    """
    check_oval(oval)
    return oval_outline(oval).length if has_arcs(oval) else oval.family.kind.length(oval.shape)


@lru_cache(maxsize=16)  # the parallels of one oval are compared one after the other
def exact_points(oval: Oval, n: int) -> tuple[FloatArray, FloatArray]:
    """(n, 2) dense points on the exact curve [mm], counter-clockwise, and (n, 2) its unit outward normals there.

    Raises:
        ImpossibleOvalError: the oval can't exist.

    >>> points, normals = exact_points(Oval(Family.ELLIPSE, 6.0, 4.0), 4)
    >>> np.abs(points).round(9).tolist()
    [[3.0, 0.0], [0.0, 2.0], [3.0, 0.0], [0.0, 2.0]]
    """
    check_oval(oval)
    if not has_arcs(oval):
        return oval.family.kind.points(oval.shape, n)
    outline = oval_outline(oval)
    stations = outline.length * np.arange(n) / n
    return outline.points_at(stations), outline.normals_at(stations)


@lru_cache(maxsize=1024)
def least_radius(oval: Oval) -> float:
    """Smallest radius of curvature of the exact curve [mm]: how far it can move inward without folding over.

    Raises:
        ImpossibleOvalError: the oval can't exist.

    >>> round(least_radius(Oval(Family.ELLIPSE, 8.0, 4.0)), 9)  # 2² / 4
    1.0
    """
    check_oval(oval)
    if not has_arcs(oval):
        return oval.family.kind.least_radius(oval.shape)
    s = oval_outline(oval).segments
    # Of a measured outline only what bends outward folds when it moves inward.
    return float(s.radius[s.bulge > 0.0].min(initial=inf))


def greatest_radius(oval: Oval) -> float:
    """Greatest radius of curvature of the exact curve [mm]; infinite where it is straight, if only at a point.

    Raises:
        ImpossibleOvalError: the oval can't exist.

    >>> round(greatest_radius(Oval(Family.ELLIPSE, 8.0, 4.0)), 9)  # 4² / 2
    8.0
    """
    check_oval(oval)
    if not has_arcs(oval):
        return oval.family.kind.greatest_radius(oval.shape)
    return float(oval_outline(oval).segments.radius.max())
