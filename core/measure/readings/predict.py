"""What an oval reads: jaws, widths, tape and the rest, in closed form.

Directions are measured from the long axis. An oval is symmetric about both axes, so what one quarter reads is read in
all.
"""

from __future__ import annotations

from math import cos, pi, radians, sin, sqrt
from typing import TYPE_CHECKING

from core.part.readings import OVAL_KINDS, ReadingKind

if TYPE_CHECKING:
    from collections.abc import Callable

    from core.geometry.ovals.families.kind import Kind, Shape
    from core.geometry.ovals.ovals import Oval
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
    if not oval.family.kind.is_sized:
        raise ValueError("a measured outline has no closed form")
    return reads(oval.family.kind, oval.shape, row)


def developed_length(oval: Oval) -> float:
    """Length once round of an oval that need not be checked [mm]."""
    return oval.family.kind.length(oval.shape)


def reads(kind: Kind, shape: Shape, row: Reading) -> float:
    """What the numbers of an oval read where a complete row of the oval was read [mm]; see ``predicted``."""
    return _READS[row.kind](kind, shape, row)


def _jaws(kind: Kind, shape: Shape, row: Reading) -> float:
    angle = radians(row.angle or 0.0)
    return 2.0 * kind.support(shape, abs(cos(angle)), abs(sin(angle)))


def _width_at(kind: Kind, shape: Shape, row: Reading) -> float:
    x = row.along or 0.0
    return 2.0 * kind.half_width_at(shape, x) if x < shape.a else 0.0


_READS: dict[ReadingKind, Callable[[Kind, Shape, Reading], float]] = {
    ReadingKind.LENGTH: lambda _, shape, __: 2.0 * shape.a,
    ReadingKind.WIDTH: lambda _, shape, __: 2.0 * shape.b,
    ReadingKind.JAWS: _jaws,
    ReadingKind.WIDTH_AT: _width_at,
    ReadingKind.END_RADIUS: lambda kind, shape, _: kind.gauge_radius(shape),
    ReadingKind.END_HEIGHT: lambda kind, shape, row: kind.end_height(shape, min((row.along or 0.0) / 2.0, shape.b)),
    ReadingKind.CORNER_GAP: lambda kind, shape, _: sqrt(2.0) * kind.support(shape, sqrt(0.5), sqrt(0.5)) - shape.a,
    ReadingKind.TAPE: lambda kind, shape, row: kind.length(shape) + pi * (row.along or 0.0),
    ReadingKind.ROLL: lambda kind, shape, row: (row.turns or 1) * kind.length(shape),
}
