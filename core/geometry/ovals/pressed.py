"""A soft rim pressed to another oval: what stays is its developed length.

It assumes that the rim bends freely and neither stretches, nor is upset, nor buckles out of its plane: good for a small
change of shape of a rim that is long against its width (common practice, no source).
"""

from __future__ import annotations

from functools import lru_cache
from math import pi

from core.geometry.ovals.families.kind import LEAST
from core.geometry.ovals.ovals import LONGEST, Family, Oval, exact_length
from core.words.errors import ImpossibleOvalError

_EXACT_MM = 1e-12


@lru_cache(maxsize=256)
def pressed_oval(
    free: Oval, family: Family, width: float, end_radius: float | None = None, exponent: float | None = None
) -> Oval:
    """The oval of a family and a width whose developed length is that of ``free``.

    Args:
        free: the oval that the rim has on the table.
        family: of the shape that it is pressed to; not a measured one.
        width: of that shape [mm].
        end_radius: of that shape, where its family has one [mm].
        exponent: of that shape, where its family has one.

    Raises:
        ImpossibleOvalError: no such oval has this developed length; says the greatest width.

    >>> round(pressed_oval(Oval(Family.OBROUND, 60.0, 40.0), Family.CIRCLE, 1.0).length * pi - 40.0 * pi, 6)
    40.0
    """
    developed = exact_length(free)
    if not family.kind.is_sized:
        raise ImpossibleOvalError("family", "a rim can't be pressed to a measured outline", "choose a kind of oval")
    if family.kind.is_round:
        return Oval(family, developed / pi, developed / pi)

    def length_of(length: float) -> float:
        return exact_length(Oval(family, length, width, end_radius, exponent))

    # As wide as long is the shortest oval of its width; one that is longer by half the length in hand is too long.
    shortest, longest = width, min(width + developed / 2.0, LONGEST)
    if length_of(shortest) > developed:
        raise ImpossibleOvalError(
            "width",
            "an oval {asked} wide is longer all round than the rim, even where it is no longer than wide",
            "stay below {bound}",
            asked_mm=width,
            bound_mm=max(width * developed / length_of(shortest), LEAST),
        )
    from scipy.optimize import brentq

    length = float(brentq(lambda size: length_of(size) - developed, shortest, longest, xtol=_EXACT_MM, rtol=1e-15))
    return Oval(family, length, width, end_radius, exponent)


def grown_to(shape: Oval, developed: float) -> Oval:
    """The oval all of whose sizes are those of ``shape`` grown all round until its developed length is as given.

    Length and width grow by twice the same distance, an end radius by once, so that circle, obround, four-arc oval and
    rounded rectangle stay exactly parallel to ``shape``.

    Raises:
        ImpossibleOvalError: it would have to shrink to nothing.

    >>> round(grown_to(Oval(Family.CIRCLE, 10.0, 10.0), 12.0 * pi).length, 9)
    12.0
    """
    from scipy.optimize import brentq

    def grown(by: float) -> Oval:
        radius = None if shape.end_radius is None else shape.end_radius + by
        return Oval(shape.family, shape.length + 2.0 * by, shape.width + 2.0 * by, radius, shape.exponent)

    if not shape.family.kind.is_sized:
        raise ImpossibleOvalError("family", "a rim can't be pressed to a measured outline", "choose a kind of oval")
    # A parallel at the distance d is 2 pi d longer (Steiner); the families that only nearly move in parallel are near.
    about = (developed - exact_length(shape)) / (2.0 * pi)
    room = (shape.width if shape.end_radius is None else min(shape.width, 2.0 * shape.end_radius)) / 2.0
    low, high = max(about - abs(about) * 0.5 - 1.0, 1e-3 - room), about + abs(about) * 0.5 + 1.0
    if exact_length(grown(low)) > developed or high <= low:
        raise ImpossibleOvalError("width", "the rim is too short to take this shape", "choose another shape")
    return grown(float(brentq(lambda by: exact_length(grown(by)) - developed, low, high, xtol=_EXACT_MM, rtol=1e-15)))
