"""What may be done about a bearing that is too narrow: candidates, each of which is tried before it is said."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from core.features.alongside import Alongside
from core.features.ground import POCKET
from core.fit.seat.ring import TIE_MM, Push, Ring
from core.fit.ways_out.curves import set_in, thicker_wall, wider_lip
from core.fit.ways_out.moves import bore_remedies, owner_of
from core.fit.words import is_rework, lip_path, path_of
from core.words.verdicts import Edit, Remedy

if TYPE_CHECKING:
    from core.fit.case import Case
    from core.geometry.lines.outline import FloatArray
    from core.metal.order import Part
    from core.metal.slabs import ResolvedPiece
    from core.part.housing import Piece

_BESIDE_MM = 1.0  # from a wall, where a hole is moved past it


def bearing_remedies(
    case: Case, resolved: ResolvedPiece, piece: Piece, ring: Ring, push: Push, target: float
) -> tuple[Remedy, ...]:
    """Candidates that widen the narrowest bearing to ``target`` [mm], the likeliest first."""
    if ring.width < target - TIE_MM:
        return (Remedy("the rim itself is no wider, so accept a narrower bearing, or choose a wider rim"),)
    short = target - push.width
    open_floor = _open_floor(case, resolved, ring, push, short) if push.hollow > TIE_MM else ()
    walls = _walls(resolved, piece, push, ring.width, target)
    first, second = (open_floor, walls) if push.hollow >= max(push.outer, push.inner) else (walls, open_floor)
    return (*first, *second, *_less_travel(piece, push, short))


def bearing_path(case: Case, resolved: ResolvedPiece, piece: Piece, ring: Ring, push: Push) -> str:
    """The project's path of the value that decides a bearing."""
    if ring.width < case.limits.bearing_least - TIE_MM or push.missing <= TIE_MM:
        return "limits.bearing_least"
    if push.hollow >= max(push.outer, push.inner):
        part = open_part(resolved, ring, push)
        return lip_path(case) if part is None else path_of(case, part, resolved.end)
    side, gap = ("outer", piece.seat.gap_outer) if push.outer >= push.inner else ("inner", piece.seat.gap_inner)
    return f"choices.gap_{side}" if gap < 0.0 else f"housing.{resolved.end}.seat.corner_radius"


def open_part(resolved: ResolvedPiece, ring: Ring, push: Push) -> Part | None:
    """The smallest part that took the metal under the narrowest bearing away, the outside where it never reached there.

    None where the floor is not open.
    """
    at = ring.open_place(push)
    if at is None:
        return None
    took = [p for p in resolved.parts if not p.adds and p.z0 < resolved.floor and p.outline.contains([at])[0]]
    outside = next(part for part in resolved.parts if part.kind == "outside")
    return min(took, key=lambda part: abs(part.outline.area), default=outside)


def _walls(resolved: ResolvedPiece, piece: Piece, push: Push, width: float, target: float) -> tuple[Remedy, ...]:
    """Smaller fillets, or a wider gap at the wall that the rim rides up on."""
    remedies, short = [], target - push.width
    for side, past, gap in (
        ("outer", push.outer, piece.seat.gap_outer),
        ("inner", push.inner, piece.seat.gap_inner),
    ):
        if past > TIE_MM:
            edit = Edit(f"choices.gap_{side}", start=gap, per=1.0)
            reason = "the rim rides up on the wall: " if gap < 0.0 else ""
            remedies.append(Remedy(f"{reason}make the {side} gap {{by}} wider, {{to}}", (edit,), short))
    radius = piece.seat.corner_radius
    # The rim lies over one fillet at first, over both where they are large; pushing closes one gap and opens the other.
    gaps = [piece.seat.gap_outer, piece.seat.gap_inner if piece.lip.height > 0.0 else piece.seat.gap_outer + width]
    room = width - target
    greatest = min(room + max(min(gaps) - push.travel, 0.0), (room + sum(gaps)) / 2.0)
    less = min(max(radius - greatest, short / 2.0), radius)
    if push.outer + push.inner > TIE_MM and radius > 0.0:
        edit = Edit(f"housing.{resolved.end}.seat.corner_radius", start=radius, per=-1.0)
        fillet = Remedy("make the seat's corner radius {by} smaller, {to}", (edit,), less)
        remedies.insert(len(remedies) if min(piece.seat.gap_outer, piece.seat.gap_inner) < 0.0 else 0, fillet)
    return tuple(remedies)


def _less_travel(piece: Piece, push: Push, short: float) -> tuple[Remedy, ...]:
    """A narrower gap, where the rim came off its floor by being pushed."""
    if push.travel <= TIE_MM or push.hollow <= TIE_MM:
        return ()
    sides = [("outer", piece.seat.gap_outer)]
    if piece.lip.height > 0.0:
        sides.append(("inner", piece.seat.gap_inner))
    side, gap = min(sides, key=lambda s: s[1])
    edit = Edit(f"choices.gap_{side}", start=gap, per=-1.0)
    return (Remedy(f"make the {side} gap {{by}} narrower, {{to}}", (edit,), short),) if gap > short else ()


def _open_floor(case: Case, resolved: ResolvedPiece, ring: Ring, push: Push, short: float) -> tuple[Remedy, ...]:
    """What closes a floor that is open there."""
    part, end = open_part(resolved, ring, push), resolved.end
    if is_rework(case) or (part is not None and part.kind == "old seat"):  # a casting may be one already
        return (Remedy("the casting is open there and metal can't be put back, so accept it or cast anew"),)
    if part is None:
        return ()
    if part.kind == "opening":
        return tuple(wider_lip(case, end, short))
    if part.kind == "outside":
        return tuple(thicker_wall(case, end, short))
    owner = owner_of(case, part, end)
    if part.kind == POCKET and isinstance(owner, Alongside):
        return tuple(set_in(owner, path_of(case, part, end), short))
    assert part.centre is not None
    p, q = np.array(push.outer_end), np.array(push.inner_end)
    inward = (q - p) / ring.width
    # Out of the rim's way by the shorter way: inward where the hole's middle lies inside the rim's.
    is_inside = float((np.array(part.centre) - (p + q) / 2.0) @ inward) >= 0.0
    ways = (inward, -inward) if is_inside else (-inward, inward)
    near, far = (
        bore_remedies(case, part, end, (float(way[0]), float(way[1])), _out_of_the_way(resolved, part, way, short))
        for way in ways
    )
    return (*near, *(remedy for remedy in far[:1] if remedy not in near))


def _out_of_the_way(resolved: ResolvedPiece, part: Part, way: FloatArray, short: float) -> float:
    """How far a hole must move [mm]: by what is short, but past a wall that would run through it then."""
    at = np.array([part.centre])
    by = short
    for wall in resolved.walls:
        before, after = wall.signed_distance(np.concatenate((at, at + short * way))).tolist()
        if abs(after) < part.radius:
            by = max(by, short + part.radius + (after if after < before else -after) + _BESIDE_MM)
    return by
