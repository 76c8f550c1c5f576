"""The curves of a piece that run parallel to the insert's oval: rim, seat, outside, opening."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from core.geometry.parallels.parallel import parallel
from core.part.insert import rim_outlines
from core.words.errors import FoldsOverError

if TYPE_CHECKING:
    from core.geometry.lines.outline import Outline
    from core.part.housing import HeldCurve, Piece
    from core.part.insert import Insert
    from core.words.ends import End


@dataclass(frozen=True, slots=True)
class Curves:
    """Counter-clockwise outlines of one piece around one insert.

    Attributes:
        opening: None when the piece has none, or when it would fold over (see ``folded``).
        folded: what went wrong with the opening, when it did.
    """

    rim_outer: Outline
    rim_inner: Outline
    seat_outer: Outline
    seat_inner: Outline
    outside: Outline
    opening: Outline | None
    folded: FoldsOverError | None = None

    @property
    def inside(self) -> Outline:
        """What spreads follow: the opening, or the seat's inner wall where there is none."""
        return self.seat_inner if self.opening is None else self.opening


def curves(piece: Piece, insert: Insert, end: End) -> Curves:
    """The curves of ``piece`` around ``insert``.

    Raises:
        FoldsOverError: rim or seat wall would fold over; without them there is no piece.
    """
    rim_outer, rim_inner = rim_outlines(insert, end)
    seat_outer = parallel(rim_outer, piece.seat.gap_outer, where=f"housing.{end}.seat.gap_outer")
    seat_inner = parallel(rim_inner, -piece.seat.gap_inner, where=f"housing.{end}.seat.gap_inner")
    if piece.held_outside is None:
        outside = parallel(seat_outer, piece.wall, where=f"housing.{end}.wall")
    else:
        outside = piece.held_outside.outline(f"housing.{end}.held_outside")
    opening, folded = None, None
    if piece.opening is not None:
        try:
            opening = held_or_parallel(piece.opening.held, seat_inner, -piece.lip.width, f"housing.{end}.lip.width")
        except FoldsOverError as error:
            folded = error
    return Curves(rim_outer, rim_inner, seat_outer, seat_inner, outside, opening, folded)


def held_or_parallel(held: HeldCurve | None, source: Outline, distance: float, where: str) -> Outline:
    """The held curve where there is one, else the parallel of ``source`` at ``distance`` [mm].

    Raises:
        FoldsOverError: an inward move past the tightest radius.
    """
    return parallel(source, distance, where=where) if held is None else held.outline(where)
