"""The values of a DXF record by group code, each checked before it is used."""

from __future__ import annotations

from math import hypot, isfinite
from typing import TYPE_CHECKING, Final

import numpy as np

from core.measure.drawing.reading.dxf_shapes import UnusableError

if TYPE_CHECKING:
    from core.geometry.lines.outline import FloatArray
    from core.measure.drawing.reading.dxf_tags import Record

FARTHEST: Final = 1e7
"""Coordinates beyond this are a mistake: ten kilometres in millimetres [the drawing's unit]."""

_LEVEL: Final = 1e-6
# What climbs by less than this part of its size is meant to be flat.
SLOPE: Final = 1e-3
NO_NUMBER: Final = "has a coordinate that is no finite number"
_TOO_FAR: Final = f"lies more than {FARTHEST:,.0f} units away"
NOT_FLAT: Final = "does not lie flat in the drawing's plane"
NO_LENGTH: Final = "has no length"


class Fields:
    """The values of a record by group code, of which the first counts."""

    def __init__(self, record: Record) -> None:
        self._first = dict(zip(reversed(record.codes), reversed(record.values), strict=True))

    def number(self, code: int, default: float | None = None) -> float:
        """A number.

        Raises:
            UnusableError: it is missing, or no finite number.
        """
        value = self._first.get(code, default)
        if value is None:
            raise UnusableError(f"lacks the value of group code {code}")
        return finite(value)

    def whole(self, code: int, default: int = 0) -> int:
        """A whole number.

        Raises:
            UnusableError: it is none.
        """
        return int(self.number(code, default))

    def text(self, code: int, default: str = "") -> str:
        """A text without its line end."""
        return str(self._first.get(code, default)).strip()

    def place(self, code: int) -> FloatArray:
        """(2,) the point whose x has the code, and y the code + 10.

        Raises:
            UnusableError: it is none, or too far away.
        """
        return np.array(self.xy(code))

    def xy(self, code: int) -> tuple[float, float]:
        """As ``place``, as plain numbers: quicker where there are many.

        Raises:
            UnusableError: it is none, or too far away.
        """
        x, y = self.number(code), self.number(code + 10)
        if abs(x) > FARTHEST or abs(y) > FARTHEST:
            raise UnusableError(_TOO_FAR)
        return x, y

    def is_mirrored(self) -> bool:
        """Whether the extrusion direction is -Z.

        Raises:
            UnusableError: it is neither that nor +Z.
        """
        if 210 not in self._first and 230 not in self._first:
            return False
        x, y, z = self.number(210, 0.0), self.number(220, 0.0), self.number(230, 1.0)
        if not hypot(x, y) <= _LEVEL * abs(z):
            raise UnusableError(NOT_FLAT)
        return z < 0.0


def finite(value: object) -> float:
    """A value as a number.

    Raises:
        UnusableError: it is no finite one.
    """
    try:
        number = float(value)  # type: ignore[arg-type] # whatever it is, it is tried
    except (TypeError, ValueError):
        raise UnusableError(NO_NUMBER) from None
    if not isfinite(number):
        raise UnusableError(NO_NUMBER)
    return number


def near(points: FloatArray) -> FloatArray:
    """The points themselves.

    Raises:
        UnusableError: one is no finite number, or too far away.
    """
    if not np.isfinite(points).all():
        raise UnusableError(NO_NUMBER)
    if np.abs(points).max() > FARTHEST:
        raise UnusableError(_TOO_FAR)
    return points


def check_level(heights: FloatArray, points: FloatArray) -> None:
    """Refuse what runs through space.

    Raises:
        UnusableError: the heights (n,) of the points (n, 2) differ by too much.
    """
    if len(heights) == len(points) and np.ptp(heights) > SLOPE * np.ptp(points, axis=0).max():
        raise UnusableError(NOT_FLAT)


def column(record: Record, code: int) -> FloatArray:
    """All values of a group code.

    Raises:
        UnusableError: one is no finite number.
    """
    return np.array([finite(v) for c, v in zip(record.codes, record.values, strict=True) if c == code])


def xy(record: Record, code: int) -> FloatArray:
    """(n, 2) all points whose x has the code, and y the code + 10.

    Raises:
        UnusableError: they are not complete, or one is no finite number or too far away.
    """
    x, y = column(record, code), column(record, code + 10)
    if len(x) != len(y):
        raise UnusableError("lacks a coordinate")
    return near(np.column_stack((x, y))) if len(x) else np.empty((0, 2))
