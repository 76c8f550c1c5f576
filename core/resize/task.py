"""One piece to be resized, and what both ways of doing it measure: a new pattern, and a casting machined out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from msgspec import Struct
from msgspec.structs import replace

from core.geometry.regions.webs import closest
from core.part.curve import HeldCurve

if TYPE_CHECKING:
    from collections.abc import Callable

    from core.geometry.lines.outline import Outline
    from core.part.housing import Lip, Piece, Seat
    from core.part.insert import Insert
    from core.part.project import Choices
    from core.words.ends import End
    from core.words.verdicts import Place, Sentence

SAME_MM: Final = 1e-9
"""What two ways of adding the same lengths may differ by."""
_GONE_MM = 1e-6  # what stands for a wall or a lip that is gone: a width is over 0


class Task(Struct, frozen=True):
    """A piece as built round the old insert, to go round the new one.

    Attributes:
        seat: as it shall be.
        tell: of a conflict: what it is named by, what is in the way and what to do, and where.
    """

    piece: Piece
    end: End
    old: Insert
    new: Insert
    choices: Choices
    seat: Seat
    tell: Callable[[str, Sentence, Place], None]

    @property
    def outer(self) -> HeldCurve:
        """The seat's outer wall as built."""
        return HeldCurve.of(self.old.oval, seat_offset(self.piece, self.old, self.end))

    @property
    def inner(self) -> HeldCurve:
        """The seat's inner wall as built."""
        return HeldCurve.of(self.old.oval, inner_offset(self.piece, self.old, self.end))

    @property
    def outside(self) -> HeldCurve:
        """The outside as built."""
        return self.piece.held_outside or self.outer.inward(-self.piece.wall)

    @property
    def opening(self) -> HeldCurve | None:
        """The opening as built."""
        opening = self.piece.opening
        return None if opening is None else opening.held or self.inner.inward(self.piece.lip.width)


def seat_offset(piece: Piece, insert: Insert, end: End) -> float:
    """Normal distance of the seat's outer wall from the insert's oval [mm]."""
    return insert.rim_at(end).outset + piece.seat.gap_outer


def inner_offset(piece: Piece, insert: Insert, end: End) -> float:
    """Normal distance of the seat's inner wall from the insert's oval [mm], below 0."""
    rim = insert.rim_at(end)
    return rim.outset - rim.width - piece.seat.gap_inner


def least_between(inside: Outline, outside: Outline) -> float:
    """The thinnest metal between two outlines [mm]; next to none where one breaks through the other."""
    if not outside.contains(inside.vertices[:, :2]).all():
        return _GONE_MM
    return max(closest(inside, outside).width_mm, _GONE_MM)


def lip_left(lip: Lip, inner: Outline, opening: Outline | None) -> Lip:
    """The lip as wide as it is where it is thinnest; as it was where there is no opening to end it."""
    return lip if opening is None else replace(lip, width=least_between(opening, inner))
