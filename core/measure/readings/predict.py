"""What an oval reads: jaws, widths, tape and the rest, in closed form.

a and b are the half axes. Directions are measured from the long axis. An oval is symmetric about both axes, so what
one quarter reads is read in all.
"""

from __future__ import annotations

from math import atan2, cos, inf, pi, radians, sin, sqrt
from typing import TYPE_CHECKING, NamedTuple

from core.geometry.ovals.ovals import USUAL_EXPONENT, Family, Oval, exact_length, four_arc_radii
from core.part.readings import OVAL_KINDS, ReadingKind

if TYPE_CHECKING:
    from collections.abc import Callable

    from core.part.readings import Reading

_NEEDS = {
    ReadingKind.JAWS: "angle",
    ReadingKind.WIDTH_AT: "along",
    ReadingKind.END_HEIGHT: "along",
    ReadingKind.TAPE: "along",
    ReadingKind.ROLL: "turns",
}


def lacks(row: Reading) -> str:
    """The field that a row needs and has not got; empty when it is complete."""
    field = _NEEDS.get(row.kind, "")
    if not field or getattr(row, field) is None:
        return field
    # A chord of nothing has no height.
    return field if row.kind is ReadingKind.END_HEIGHT and row.along == 0.0 else ""


class Shape(NamedTuple):
    """An oval as plain numbers, not checked: what a fit may pass through on its way.

    Attributes:
        a, b: half length and half width [mm].
        r: end radius or corner radius [mm]; 0 where the family has none.
        big: side radius of a four-arc oval [mm]; 0 for the others.
        n: exponent [1].
    """

    family: Family
    a: float
    b: float
    r: float = 0.0
    big: float = 0.0
    n: float = 2.0


def shape_of(oval: Oval) -> Shape:
    """The numbers of an oval.

    Raises:
        ValueError: a measured outline has no closed form.
    """
    a, b = oval.length / 2.0, oval.width / 2.0
    match oval.family:
        case Family.FOUR_ARC:
            r, big = four_arc_radii(oval.length, oval.width, oval.end_radius)
            return Shape(oval.family, a, b, r, big)
        case Family.ROUNDED_RECTANGLE:
            return Shape(oval.family, a, b, b / 2.0 if oval.end_radius is None else oval.end_radius)
        case Family.SUPERELLIPSE:
            return Shape(oval.family, a, b, n=USUAL_EXPONENT if oval.exponent is None else oval.exponent)
        case Family.MEASURED:
            raise ValueError("a measured outline has no closed form")
        case Family.CIRCLE | Family.OBROUND:
            return Shape(oval.family, a, b, b)
        case _:
            return Shape(oval.family, a, b)


def support(shape: Shape, angle: float) -> float:
    """Distance of the tangent from the centre, in the direction ``angle`` [rad] of its normal [mm].

    Source: rounded shapes (a - r) cos + (b - r) sin + r; ellipse sqrt(a² cos² + b² sin²); superellipse by the dual
    norm, of exponent n / (n - 1); four arcs from the centre of the arc that faces there.
    """
    c, s = abs(cos(angle)), abs(sin(angle))
    family, a, b, r, big, n = shape
    if family is Family.FOUR_ARC:
        # The joint's normal points from the side's centre (0, b - R) to the end's (a - r, 0).
        if s * (a - r) <= c * (big - b):
            return (a - r) * c + r
        return big - (big - b) * s
    if family is Family.ELLIPSE:
        return sqrt(a * a * c * c + b * b * s * s)
    if family is Family.SUPERELLIPSE:
        m = n / (n - 1.0)
        return float(((a * c) ** m + (b * s) ** m) ** (1.0 / m))
    return (a - r) * c + (b - r) * s + r


def half_width_at(shape: Shape, x: float) -> float:
    """Half the width at a distance ``x`` from the middle along the long axis [mm]; 0 beyond the ends."""
    family, a, b, r, big, n = shape
    if x >= a:
        return 0.0
    if family is Family.FOUR_ARC:
        if x * (big - r) <= big * (a - r):
            return _leg(big, x) - (big - b)
        return _leg(r, x - a + r)
    if family is Family.ELLIPSE:
        return b * _leg(1.0, x / a)
    if family is Family.SUPERELLIPSE:
        return float(b * (1.0 - (x / a) ** n) ** (1.0 / n))
    return b if x <= a - r else b - r + _leg(r, x - a + r)


def end_height(shape: Shape, chord: float) -> float:
    """Height of the end over a chord across it [mm]; for a chord over the whole width that of the end's cap."""
    family, a, b, r, big, n = shape
    y = min(chord / 2.0, b)
    if family is Family.FOUR_ARC:
        if y * (big - r) <= r * (big - b):
            return r - _leg(r, y)
        return a - _leg(big, y + big - b)
    if family is Family.ELLIPSE:
        return a - a * _leg(1.0, y / b)
    if family is Family.SUPERELLIPSE:
        return float(a - a * (1.0 - (y / b) ** n) ** (1.0 / n))
    return 0.0 if y <= b - r else r - _leg(r, y - b + r)


def developed_length(shape: Shape) -> float:
    """Length once round [mm]; four arcs 4 (R alpha + r (pi / 2 - alpha)), tan alpha = (a - r) / (R - b)."""
    family, a, b, r, big, n = shape
    if family is Family.FOUR_ARC:
        alpha = atan2(a - r, big - b)
        return 4.0 * (big * alpha + r * (pi / 2.0 - alpha))
    if family in (Family.ELLIPSE, Family.SUPERELLIPSE):
        exponent = n if family is Family.SUPERELLIPSE else None
        return exact_length(Oval(family, 2.0 * max(a, b), 2.0 * min(a, b), exponent=exponent))
    return 4.0 * (a - r) + 4.0 * (b - r) + 2.0 * pi * r


def end_radius(shape: Shape) -> float:
    """What a radius gauge reads at the end [mm].

    The radius of curvature at the end of the long axis: b² / a of an ellipse, b of an obround. On a rounded rectangle
    it is held to the corner. A superellipse is flat at its very end, where no gauge fits: it is read as the circle
    through the end and the two places half the width apart, where a gauge touches.
    """
    family, a, b, r, _, _ = shape
    if family is Family.ELLIPSE:
        return b * b / a
    if family is Family.SUPERELLIPSE:
        return arc_radius(b, end_height(shape, b))
    return r


def arc_radius(chord: float, height: float) -> float:
    """Radius of the arc over a chord, from its height: c² / 8q + q / 2 [mm]; infinite for a height of 0."""
    return chord * chord / (8.0 * height) + height / 2.0 if height > 0.0 else inf


CORNER = sqrt(2.0) + 1.0
"""Radius of an end arc nested in a square corner, over the gap that it leaves at the corner's apex [1]."""


def predicted(oval: Oval, row: Reading) -> float:
    """What an oval reads where a row was read [mm], as the instrument shows it.

    Jaws read the distance of two parallel tangents. A tape runs at half its thickness outside, so it reads the length
    and pi times the thickness; rolling reads the length as many times as it was turned. The corner gap is the distance
    from the apex of a square corner, in which the end lies with the long axis on the diagonal, to the rim:
    sqrt(2) times the support at 45°, less a; for an end arc that is (sqrt(2) - 1) times its radius.

    Raises:
        ValueError: the row is not one of the oval, or lacks its angle, place or turns; or the outline is measured.
    """
    if row.kind not in OVAL_KINDS or lacks(row):
        raise ValueError(f"{row.kind} without its {lacks(row)}" if lacks(row) else f"{row.kind} is not of the oval")
    return reads(shape_of(oval), row)


def reads(shape: Shape, row: Reading) -> float:
    """What the numbers of an oval read where a complete row of the oval was read [mm]; see ``predicted``."""
    return _READS[row.kind](shape, row)


_READS: dict[ReadingKind, Callable[[Shape, Reading], float]] = {
    ReadingKind.LENGTH: lambda shape, _: 2.0 * shape.a,
    ReadingKind.WIDTH: lambda shape, _: 2.0 * shape.b,
    ReadingKind.JAWS: lambda shape, row: 2.0 * support(shape, radians(row.angle or 0.0)),
    ReadingKind.WIDTH_AT: lambda shape, row: 2.0 * half_width_at(shape, row.along or 0.0),
    ReadingKind.END_RADIUS: lambda shape, _: end_radius(shape),
    ReadingKind.END_HEIGHT: lambda shape, row: end_height(shape, row.along or 0.0),
    ReadingKind.CORNER_GAP: lambda shape, _: sqrt(2.0) * support(shape, pi / 4.0) - shape.a,
    ReadingKind.TAPE: lambda shape, row: developed_length(shape) + pi * (row.along or 0.0),
    ReadingKind.ROLL: lambda shape, row: (row.turns or 1) * developed_length(shape),
}


def _leg(hypotenuse: float, leg: float) -> float:
    return sqrt(max(hypotenuse * hypotenuse - leg * leg, 0.0))
