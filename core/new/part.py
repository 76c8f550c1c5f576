"""A new part from a described shape: complete from the first second, to be made true field by field.

The sizes are starting points round the insert (common practice, no source): half a millimetre to one of gap a side, a
wall and a floor that run in sand, a squeeze in the middle of what the rims want. A rim of solid rubber has a wider gap
inside, into which it can swell.
"""

from __future__ import annotations

from math import ceil

from msgspec.structs import replace

from core.features.band import Band
from core.features.crossbar import Crossbar
from core.features.ground import Made
from core.features.hole import Hole
from core.features.kind import Follows
from core.features.lug import Lug
from core.features.stud.engagement import ENGAGEMENT
from core.features.stud.kinds import STANDARD
from core.features.stud.stack import stud_stack, usual_depth
from core.features.stud.stud import Stud
from core.features.stud.threads import CLEARANCE_MM, DIAMETER_MM, Thread
from core.geometry.parallels.parallel import fold_limit
from core.metal.curves import curves
from core.part.housing import Faces, Housing, Lip, Metal, MetalKind, Opening, Piece, Seat, Stop, Tight
from core.part.insert import Insert, rim_outlines
from core.part.materials import MATERIALS
from core.part.project import Choices, HeightTo, Limits, Project
from core.words.ends import End
from core.words.lengths import Style

ALUMINIUM = Metal("aluminium-silicon", 2.68, 4.0, MetalKind.ALUMINIUM)
"""Density of Al-Si7Mg as data sheets print it, 2.68 g/cm³; least section: common practice for a small sand casting."""
BRONZE = Metal("silicon bronze", 8.36, 3.0, MetalKind.BRONZE)
"""Density of silicon bronze as data sheets print it, 0.302 lb/in³; least section: common practice."""

_GAP_YIELDING = 0.8
_GAP_RIGID = 0.6
_LOW_IN_BAND = 1.0 / 6.0
_CLEAR_OF_MARGINAL = 1.12  # a limit over a value, so that the value isn't marginal
_WALL = 6.0
_FLOOR = 6.0
_LIP = 6.0
_LEAST_LIP = 4.5
_BOSS = 3.4  # boss of a stud, in diameters of its clearance hole
_ENGAGEMENT = ENGAGEMENT[ALUMINIUM.kind].factor


def two_piece(insert: Insert, name: str = "New housing", style: Style = Style.MM) -> Project:
    """A base and a lid around ``insert``, drawn together by one stud through the middle where there is room for it.

    Old and new insert are the same: nothing has to change yet.

    Raises:
        FoldsOverError: the rim is too wide for its oval.
        ImpossibleOvalError: the sizes make no oval.
    """
    gap = _GAP_YIELDING if insert.is_yielding else _GAP_RIGID
    depth = min(insert.rim.thickness + 2.0, 0.4 * insert.height)
    soft = insert.rim_at(End.BASE).thickness + insert.rim_at(End.LID).thickness
    wanted = _squeeze(insert) if insert.is_yielding else -0.01
    apart = max(insert.height - wanted * soft - 2.0 * depth, 0.0)
    faces = Faces(Stop.SPACER if apart > 0.0 else Stop.FACES, apart)
    gap_inner = _gap_inner(insert, gap, wanted)
    room = _room_inside(insert, gap_inner)
    lip = _lip(room)
    seat = Seat(gap_outer=gap, gap_inner=gap_inner, depth=depth)
    bare = Piece(floor=_FLOOR, seat=seat, wall=_WALL, lip=Lip(lip or _LIP, min(depth, insert.rim.thickness)))
    lid = replace(bare, features=(Band("edge band", inset=4.0, width=5.0, height=2.0),))
    lugs = _lugs(bare, insert)
    thread = _thread(room - (lip or 0.0), bare.thickness)
    if thread is None:
        housing = Housing(base=replace(bare, features=lugs, tight=Tight.YES), lid=lid, faces=faces, metal=ALUMINIUM)
    else:
        boss = _boss(thread)
        stud = Stud("clamp stud", 0.0, 0.0, thread, 10.0, boss)
        base = replace(bare, features=lugs, tight=Tight.YES)
        if lip is not None:
            bar = Crossbar("crossbar", angle=90.0, offset=0.0, width=max(boss * 0.75, 8.0), height=_FLOOR)
            base = replace(base, opening=Opening(), features=(bar, *lugs))
        housing = Housing(base=base, lid=lid, faces=faces, metal=ALUMINIUM)
        need = stud_stack(housing, stud, Limits()).length
        stud = replace(stud, length=STANDARD.next(need), hole_depth=usual_depth(stud, housing, Limits()))
        housing = replace(housing, studs=(stud,))
    to = HeightTo.SPACER if faces.stop is Stop.SPACER else HeightTo.BASE
    new = replace(insert, name="new insert")
    limits = _limits(insert)
    if gap_inner > gap:
        greatest = max(limits.gap_inner_greatest, ceil(gap_inner * _CLEAR_OF_MARGINAL))
        limits = replace(limits, gap_inner_greatest=float(greatest))
    return Project(name, insert, new, housing, Choices(height_to=to), limits, style)


def single_ring(insert: Insert, name: str = "New ring", style: Style = Style.MM) -> Project:
    """One ring with a seat for ``insert``, open in the middle, with six drilled holes round the seat.

    Raises:
        FoldsOverError: the rim is too wide for its oval.
        ImpossibleOvalError: the sizes make no oval.
    """
    gap = _GAP_YIELDING if insert.is_yielding else _GAP_RIGID
    hole = 5.5
    wall = 5.0 * hole
    # The rim lies flat: there is no inner wall, and the opening starts where the floor ends.
    seat = Seat(gap_outer=gap, gap_inner=0.0, depth=insert.height)
    bare = Piece(
        floor=_FLOOR, seat=seat, wall=wall, lip=Lip(min(1.0, 0.4 * _room_inside(insert, 0.0)), 0.0), opening=Opening()
    )
    outside = curves(bare, insert, End.BASE).outside
    ring = outside.length / 6.0
    places = outside.points_at([outside.axis_station + ring * (i + 0.5) for i in range(6)])
    inward = outside.normals_at([outside.axis_station + ring * (i + 0.5) for i in range(6)])
    holes = tuple(
        Hole(f"screw {i + 1}", float(p[0] - n[0] * wall / 2.0), float(p[1] - n[1] * wall / 2.0), hole, Made.DRILLED)
        for i, (p, n) in enumerate(zip(places, inward, strict=True))
    )
    housing = Housing(base=replace(bare, features=holes, tight=Tight.YES), metal=BRONZE)
    return Project(name, insert, replace(insert, name="new insert"), housing, limits=_limits(insert), style=style)


def _squeeze(insert: Insert) -> float:
    """A squeeze to begin with, as a part of the soft rims: in the middle of what they want.

    Of solid rubber, which keeps its volume and fills its seat the more it is squeezed, not far over the least.
    """
    least, greatest = insert.squeeze_wanted
    part = _LOW_IN_BAND if MATERIALS[insert.material].is_solid_rubber else 0.5
    return (least + part * (greatest - least)) / 100.0


def _gap_inner(insert: Insert, gap_outer: float, squeeze: float) -> float:
    """The gap at the inner wall [mm]: like the outer one's, or what leaves a rim of solid rubber room to swell.

    The outer wall guides the rim, so a wide inner gap costs no more than room; half of what there is stays.
    """
    if not MATERIALS[insert.material].is_solid_rubber:
        return gap_outer
    filled = Limits().fill / 100.0 / _CLEAR_OF_MARGINAL
    widest = max(insert.rim_at(end).width for end in End)
    wanted = widest / (filled * (1.0 - squeeze)) - widest - gap_outer
    return max(min(ceil(wanted * 10.0) / 10.0, _room_inside(insert, 0.0) / 2.0), gap_outer)


def _room_inside(insert: Insert, gap: float) -> float:
    """How far a parallel of the seat's inner wall can go inward before it folds over [mm]."""
    return max(min(fold_limit(rim_outlines(insert, end)[1]) for end in End) - gap, 0.5)


def _lip(room: float) -> float | None:
    """As wide a lip as the usual, or as runs in sand; None where an opening inside it would be a slit [mm]."""
    return next((lip for lip in (_LIP, _LEAST_LIP) if lip <= 0.6 * room), None)


def _thread(room: float, thickness: float) -> Thread | None:
    """The thread of a stud in the middle whose boss and thread find room; None where none does."""
    fits = (
        thread
        for thread in (Thread.M6, Thread.M5, Thread.M4, Thread.M3)
        if _boss(thread) / 2.0 + 1.0 <= room and _ENGAGEMENT * DIAMETER_MM[thread] * 1.1 <= thickness
    )
    return next(fits, None)


def _boss(thread: Thread) -> float:
    """Diameter of a stud's boss [mm]: a little over what hole edge and thinnest metal ask, so as not to be marginal."""
    return max(_BOSS * CLEARANCE_MM[thread], CLEARANCE_MM[thread] + 2.0 * _LEAST_LIP)


def _limits(insert: Insert) -> Limits:
    """The usual limits; of a narrow rim, half its width has to bear."""
    usual = Limits()
    narrowest = min(insert.rim_at(end).width for end in End)
    return replace(usual, bearing_least=min(usual.bearing_least, narrowest / 2.0))


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
