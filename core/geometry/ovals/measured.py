"""A measured outline as values: vertices that a file, a scan or a drawing gave, and what makes them usable."""

from __future__ import annotations

from functools import lru_cache
from typing import TypeAlias

import numpy as np

from core.geometry.lines.outline import Outline
from core.words.errors import ImpossibleOvalError

Vertices: TypeAlias = tuple[tuple[float, float, float], ...]
"""x, y [mm] and bulge of each vertex of a closed outline, as a value that can be hashed."""

# A measured outline's length and width in a file may have been rounded by so much [mm].
_SAME_SIZE = 1e-3
# Neighbouring vertices that are closer [mm] are one.
_APART = 1e-9


def check_measured(length: float, width: float, vertices: Vertices | None, where: str) -> None:
    """Nothing, if the outline can be: its bounds are its length and width [mm], and it does not cross itself.

    Raises:
        ImpossibleOvalError: says what is wrong, and what to do.

    >>> check_measured(6.0, 4.0, ((-3.0, -2.0, 0.0), (3.0, -2.0, 0.0), (3.0, 2.0, 0.0), (-3.0, 2.0, 0.0)), "insert.")
    """
    if vertices is None:
        raise ImpossibleOvalError(
            f"{where}family",
            "there is no measured outline yet",
            "take one from an outline file or a scan, or choose another kind of oval",
        )
    if len(vertices) < 2:  # a file may hold any number, and an edit may take them away one by one
        raise ImpossibleOvalError(
            f"{where}outline", "the measured outline has fewer than two vertices", "take the outline anew"
        )
    xy = np.array(vertices)[:, :2]
    if np.hypot(*(xy - np.roll(xy, -1, axis=0)).T).min() < _APART:
        raise ImpossibleOvalError(
            f"{where}outline", "two neighbouring vertices of the measured outline are the same", "take the outline anew"
        )
    outline = measured_outline(vertices)
    x0, y0, x1, y1 = outline.bounds
    for field, size, low, high in (("length", length, x0, x1), ("width", width, y0, y1)):
        if abs(size - (high - low)) > _SAME_SIZE or abs(low + high) > 2.0 * _SAME_SIZE:
            raise ImpossibleOvalError(
                where + field,
                f"a measured outline has its own {field}, {{bound}}, not {{asked}}",
                "choose another kind of oval to set sizes, or take the outline anew",
                asked_mm=size,
                bound_mm=high - low,
            )
    if outline.area <= 0.0 or not _is_simple(vertices):
        raise ImpossibleOvalError(
            f"{where}outline", "the measured outline crosses itself or runs clockwise", "take the outline anew"
        )


@lru_cache(maxsize=64)
def measured_outline(vertices: Vertices) -> Outline:
    """The outline of such vertices, made once.

    >>> measured_outline(((-3.0, -2.0, 0.0), (3.0, -2.0, 0.0), (3.0, 2.0, 0.0), (-3.0, 2.0, 0.0))).area
    24.0
    """
    return Outline(vertices)


@lru_cache(maxsize=64)
def _is_simple(vertices: Vertices) -> bool:
    import shapely  # noqa: PLC0415 - only measured outlines need it, and it costs the window's start

    # On chords within a micrometre: what crosses by less is no crossing that a cutter would see.
    return bool(shapely.Polygon(measured_outline(vertices).chords(1e-3)).is_valid)
