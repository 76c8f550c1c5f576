"""The gap with inserts at the ends of their sizes' spread: as long and wide, and with as wide a rim, as it allows.

An oval that is longer or wider holds the smaller one inside it, so the largest insert comes nearest to the outer wall
all the way round, and the smallest one stays furthest from it; at the inner wall it is the other way, and the rim's
width counts as well. An outline that has no sizes of its own (a measured one), or that would be no oval any more, is
stretched along both axes instead, to the first order of the stretch.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from msgspec import structs
from msgspec.structs import replace

from core.fit.gaps import edge_gap
from core.geometry.lines.outline import Outline
from core.geometry.ovals.ovals import check_oval, measured_oval
from core.part.insert import PlusMinus, rim_outlines
from core.words.ends import End, Side
from core.words.errors import UserError

if TYPE_CHECKING:
    from core.fit.case import Case
    from core.fit.gaps import GapProfile
    from core.metal.slabs import ResolvedPiece
    from core.part.insert import Insert, Rim


_LEAST_MM = 1e-3  # of a rim that its spread would leave nothing of


def has_spread(insert: Insert) -> bool:
    """Whether the gap depends on more than the sizes typed."""
    spread = insert.plus_minus
    return max(spread.length, spread.width, spread.rim_width) > 0.0


def spread_gaps(case: Case, profile: GapProfile) -> tuple[GapProfile, GapProfile]:
    """One wall's gap with the rim that comes nearest to it, and with the one that stays furthest."""
    if not has_spread(case.insert):
        return profile, profile
    piece = case.after.piece(profile.end)
    assert piece is not None
    nearest = 1.0 if profile.side is Side.OUTER else -1.0
    tight, loose = (_gap(case.insert, piece, profile, sign) for sign in (nearest, -nearest))
    return tight, loose


def at_the_end(insert: Insert, sign: float) -> Insert:
    """The largest insert within the spread of length and width (``sign`` 1), or the smallest (−1).

    Raises:
        UserError: it has no oval.
    """
    spread = insert.plus_minus
    length, width = spread.length, spread.width
    if insert.family.kind.is_round:
        length = width = max(length, width)
    if insert.outline is not None and not insert.family.kind.is_sized:
        stretch = 1.0 + sign * np.array([length / insert.length, width / insert.width, 0.0])
        oval = measured_oval(Outline(np.array(insert.outline) * stretch))  # its arcs keep their sweep: near enough
        return structs.replace(
            insert, length=oval.length, width=oval.width, outline=oval.vertices, plus_minus=PlusMinus()
        )
    made = structs.replace(
        insert,
        length=insert.length + sign * length,
        width=insert.width + sign * width,
        plus_minus=PlusMinus(),
    )
    check_oval(made.free_oval)
    return made


def narrowest(insert: Insert) -> tuple[Insert, ...]:
    """Inserts with rims as narrow as the spread allows: the smallest and the largest.

    Those that can't be are left out. Small rims are pushed furthest over; large ones ride up on the walls' fillets.
    """
    if not has_spread(insert):
        return ()
    found = []
    for sign in (-1.0, 1.0):
        try:
            made = at_the_end(insert, sign)
            rims = [_narrower(made.rim, insert), None if made.lid_rim is None else _narrower(made.lid_rim, insert)]
            made = structs.replace(made, rim=rims[0], lid_rim=rims[1])
            for end in End:
                rim_outlines(made, end)
        except UserError:
            continue
        found.append(made)
    return tuple(found)


def _narrower(rim: Rim, insert: Insert) -> Rim:
    return structs.replace(rim, width=max(rim.width - insert.plus_minus.rim_width, _LEAST_MM))


@lru_cache(maxsize=64)
def _rim(insert: Insert, end: End, sign: float) -> tuple[Outline, Outline]:
    """Outlines of the largest rim, with its inner edge furthest out (``sign`` 1), or of the smallest."""
    made = at_the_end(insert, sign)
    thinner = -sign * insert.plus_minus.rim_width
    rim = made.rim_at(end)
    own = structs.replace(rim, width=rim.width + thinner)
    return rim_outlines(structs.replace(made, rim=own, lid_rim=None), end)


def _gap(insert: Insert, piece: ResolvedPiece, profile: GapProfile, sign: float) -> GapProfile:
    spread = insert.plus_minus
    if insert.family.kind.is_sized and insert.rim_at(piece.end).width > spread.rim_width:
        try:
            rim = _rim(insert, piece.end, sign)
        except UserError:
            pass
        else:
            return edge_gap(rim[profile.side is Side.INNER], piece, profile.side)
    return _stretched(insert, profile, sign)


def _stretched(insert: Insert, profile: GapProfile, sign: float) -> GapProfile:
    """The profile of the rim's outline stretched by the spread, along the long axis and across it."""
    spread = insert.plus_minus
    along = np.array([spread.length / insert.length, spread.width / insert.width]) * sign
    steps = np.roll(profile.rim, -1, axis=0) - np.roll(profile.rim, 1, axis=0)
    ahead = steps / np.maximum(np.hypot(*steps.T), 1e-12)[:, None]
    out = np.column_stack((ahead[:, 1], -ahead[:, 0]))
    rim = insert.rim_at(profile.end)
    is_outer = profile.side is Side.OUTER
    # What is stretched is the insert's oval; the rim's edges keep their distances from it.
    oval = profile.rim + out * ((0.0 if is_outer else rim.width) - rim.outset)
    moved = (np.abs(oval * out) * along).sum(axis=1)
    longer = float((ahead**2 * along).sum(axis=1).mean()) * profile.rim_length
    if not is_outer:
        moved += sign * spread.rim_width
        longer += 2.0 * np.pi * sign * spread.rim_width
    nearer = moved if is_outer else -moved
    cut = None if profile.cut is None else profile.cut - nearer
    return replace(profile, gap=profile.gap - nearer, cut=cut, rim_length=profile.rim_length + longer)
