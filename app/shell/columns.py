"""How the window's columns share its width; pure figures, in pixels at a reading size of 13 and scaled with it."""

from __future__ import annotations

from typing import Final, NamedTuple

READING: Final = 13.0
"""The reading size that the figures below are for [px]."""
_WIDE, _NARROW, _LOW = 1500, 1180, 640


class Columns(NamedTuple):
    """Widths [px]; 0 is no column of its own.

    Attributes:
        left: the form's, or the list's.
        verdict: the list's own column; 0 where the verdict is a band and its list opens over the form.
        is_low: whether there is little height, so that lines are shared.
    """

    left: int
    verdict: int
    is_low: bool

    @property
    def has_band(self) -> bool:
        """Whether the verdict is a band over the sheet."""
        return self.verdict == 0


def columns(width: float, height: float, em: float, least_form: int = 0) -> Columns:
    """The columns of a window.

    Args:
        width: of the window [px].
        height: of the window [px].
        em: the reading size [px].
        least_form: what the widest form needs [px].
    """
    unit = em / READING
    left, verdict = (288, 304) if width >= _WIDE * unit else (272, 280) if width >= _NARROW * unit else (256, 0)
    return Columns(max(round(left * unit), least_form), round(verdict * unit), height < _LOW * unit)
