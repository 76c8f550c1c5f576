"""The curves of a piece that run parallel to the insert's oval: rim, seat, outside, opening."""

from __future__ import annotations

from typing import TYPE_CHECKING

from core.features.ground import Curves
from core.geometry.parallels.parallel import parallel
from core.part.curve import held_or_parallel
from core.part.insert import rim_outlines
from core.words.errors import FoldsOverError

if TYPE_CHECKING:
    from core.part.housing import Piece
    from core.part.insert import Insert
    from core.words.ends import End


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
