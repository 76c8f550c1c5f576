"""A new part from a described shape: complete from the first second, to be made true field by field.

The sizes are starting points round the insert (common practice, no source): half a millimetre to one of gap a side, a
wall and a floor that run in sand, a squeeze in the middle of what the rims want.
"""

from __future__ import annotations

from msgspec.structs import replace

from core.curves import curves
from core.housing import (
    Band,
    Crossbar,
    Faces,
    Follows,
    Hole,
    Housing,
    Lip,
    Lug,
    Made,
    Metal,
    Opening,
    Piece,
    Seat,
    Stop,
    Stud,
    Thread,
)
from core.insert import End, Insert, RimKind, rim_outlines
from core.lengths import Style
from core.parallel import fold_limit
from core.project import Choices, HeightTo, Project
from core.studs import DIAMETER_MM, next_standard, stud_stack

ALUMINIUM = Metal("aluminium-silicon", 2.68, 4.0)
"""Density of Al-Si7Mg as data sheets print it, 2.68 g/cm³; least section: common practice for a small sand casting."""
BRONZE = Metal("silicon bronze", 8.36, 3.0)
"""Density of silicon bronze as data sheets print it, 0.302 lb/in³; least section: common practice."""

_GAP_YIELDING = 0.8
_GAP_RIGID = 0.6
_WALL = 6.0
_FLOOR = 6.0
_LIP = 6.0
_THREAD = Thread.M6
_ENGAGEMENT = 2.0


def two_piece(insert: Insert, name: str = "New housing", style: Style = Style.MM) -> Project:
    """A base and a lid around ``insert``, drawn together by one stud through the middle.

    Old and new insert are the same: nothing has to change yet.

    Raises:
        FoldsOverError: the rim is too wide for its oval.
        ImpossibleOvalError: the sizes make no oval.
    """
    gap = _GAP_YIELDING if insert.is_yielding else _GAP_RIGID
    depth = min(insert.rim.thickness + 2.0, 0.4 * insert.height)
    soft = insert.rim_at(End.BASE).thickness + insert.rim_at(End.LID).thickness
    wanted = (insert.squeeze.least + insert.squeeze.greatest) / 200.0 if insert.is_yielding else -0.01
    apart = max(insert.height - wanted * soft - 2.0 * depth, 0.0)
    faces = Faces(Stop.SPACER if apart > 0.0 else Stop.FACES, apart)
    lip = _lip(insert, gap)
    seat = Seat(gap_outer=gap, gap_inner=gap, depth=depth)
    bare = Piece(floor=_FLOOR, seat=seat, wall=_WALL, lip=Lip(lip, min(depth, insert.rim.thickness)))
    # A little over 1.5 diameters of metal round the stud, so that a new part is not marginal at once.
    boss = 3.4 * DIAMETER_MM[_THREAD]
    bar = Crossbar("crossbar", angle=90.0, offset=0.0, width=max(boss * 0.75, 8.0), height=_FLOOR)
    base = replace(bare, opening=Opening(), features=(bar, *_lugs(bare, insert)))
    lid = replace(bare, features=(Band("edge band", inset=4.0, width=5.0, height=2.0),))
    housing = Housing(base=base, lid=lid, faces=faces, metal=ALUMINIUM)
    stud = Stud("clamp stud", 0.0, 0.0, _THREAD, 10.0, boss)
    need = stud_stack(housing, stud, engagement=_ENGAGEMENT, threads_showing=1.0).length
    housing = replace(housing, studs=(replace(stud, length=next_standard(need)),))
    to = HeightTo.SPACER if faces.stop is Stop.SPACER else HeightTo.BASE
    return Project(name, insert, replace(insert, name="new insert"), housing, Choices(height_to=to), style=style)


def single_ring(insert: Insert, name: str = "New ring", style: Style = Style.MM) -> Project:
    """One ring with a seat for ``insert``, open in the middle, with six drilled holes round the seat.

    Raises:
        FoldsOverError: the rim is too wide for its oval.
        ImpossibleOvalError: the sizes make no oval.
    """
    gap = _GAP_YIELDING if insert.kind is RimKind.YIELDING else _GAP_RIGID
    hole = 5.5
    wall = 5.0 * hole
    # The rim lies flat: there is no inner wall, and the opening starts where the floor ends.
    seat = Seat(gap_outer=gap, gap_inner=0.0, depth=insert.height)
    bare = Piece(floor=_FLOOR, seat=seat, wall=wall, lip=Lip(min(1.0, _lip(insert, 0.0)), 0.0), opening=Opening())
    outside = curves(bare, insert, End.BASE).outside
    ring = outside.length / 6.0
    places = outside.points_at([outside.axis_station + ring * (i + 0.5) for i in range(6)])
    inward = outside.normals_at([outside.axis_station + ring * (i + 0.5) for i in range(6)])
    holes = tuple(
        Hole(f"screw {i + 1}", float(p[0] - n[0] * wall / 2.0), float(p[1] - n[1] * wall / 2.0), hole, Made.DRILLED)
        for i, (p, n) in enumerate(zip(places, inward, strict=True))
    )
    housing = Housing(base=replace(bare, features=holes), metal=BRONZE)
    return Project(name, insert, replace(insert, name="new insert"), housing, style=style)


def _lip(insert: Insert, gap: float) -> float:
    """As wide a lip as the usual, where the oval's inside has room for it."""
    room = min(fold_limit(rim_outlines(insert, end)[1]) for end in End) - gap
    return min(_LIP, 0.4 * max(room, 0.5))


def _lugs(piece: Piece, insert: Insert) -> tuple[Lug, ...]:
    """Four ears on the diagonals, fixed to the machine."""
    outside = curves(piece, insert, End.BASE).outside
    quarter = outside.length / 4.0
    lugs: list[Lug] = []
    for i in range(4):
        station = [outside.axis_station + quarter * (i + 0.5)]
        foot, out = outside.points_at(station)[0], outside.normals_at(station)[0]
        x, y = float(foot[0] + 12.0 * out[0]), float(foot[1] + 12.0 * out[1])
        lugs.append(Lug(f"lug {i + 1}", x, y, 22.0, 6.6, 16.0, 10.0, fillet=4.0, follows=Follows.MACHINE))
    return tuple(lugs)
