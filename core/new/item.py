"""A new feature, stud or keep-out to begin with: sensible at once, then made true field by field.

The sizes are starting points taken from the piece that it is added to (common practice, no source).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from msgspec.structs import replace

from core.edits import unique_name
from core.features.stud.kinds import KINDS
from core.features.stud.stack import CLEARANCE_MM, stud_stack, usual_depth
from core.geometry.ovals.ovals import Family
from core.metal.curves import curves
from core.part.housing import Badge, Band, Crossbar, Hole, KeepOut, Lug, Pocket, Rib, Stud, Thread
from core.part.insert import Insert, Rim

if TYPE_CHECKING:
    from core.geometry.lines.outline import Outline
    from core.part.housing import Feature, Piece
    from core.part.project import Project
    from core.words.ends import End

FEATURE_KINDS: Final = ("crossbar", "hole", "lug", "pocket", "band", "rib", "badge")
"""What can be added to a piece, in the order of a menu."""


def new_feature(project: Project, end: End, kind: str) -> Feature:
    """A feature of that kind for a piece, with a name that its list does not have yet.

    Raises:
        ValueError: there is no such kind, or no such piece.
        UserError: the piece has no shape to place it in.
    """
    piece = project.housing.piece(end)
    if piece is None:
        raise ValueError(f"there is no {end}")
    name = unique_name(project, f"housing.{end}.features", kind)
    c = curves(piece, project.old_insert, end)
    if kind == "lug":
        return _lug(name, piece, c.outside)
    made: dict[str, Feature] = {
        "crossbar": Crossbar(name, angle=0.0, offset=0.0, width=8.0, height=piece.floor),
        "hole": Hole(name, 0.0, 0.0, 6.0, boss=18.0, boss_height=piece.floor),
        "pocket": Pocket(name, inset=piece.lip.width + 2.0, floor=max(piece.floor * 0.75, 0.5)),
        "band": Band(name, inset=3.0, width=4.0, height=2.0),
        "rib": Rib(name, angle=0.0, offset=0.0, width=4.0, height=2.0, inset=3.0),
        "badge": Badge(name, length=_part(c.inside, 0.4), width=_part(c.inside, 0.2), height=2.0),
    }
    if kind not in made:
        raise ValueError(f"there is no feature of kind {kind}; choose one of {', '.join(FEATURE_KINDS)}")
    return made[kind]


def new_stud(project: Project) -> Stud:
    """A clamp stud at the centre, as long as its stack needs."""
    name = unique_name(project, "housing.studs", "stud")
    stud = Stud(name, 0.0, 0.0, Thread.M6, 20.0, round(3.4 * CLEARANCE_MM[Thread.M6], 1))
    needed = stud_stack(project.housing, stud, project.limits).length
    depth = usual_depth(stud, project.housing, project.limits)
    return replace(stud, length=KINDS[stud.kind].ladder.next(needed), hole_depth=depth)


def new_keep_out(project: Project) -> KeepOut:
    """A neighbour's space beyond the outside, clear of it by twice the margin."""
    name = unique_name(project, "housing.keep_outs", "keep-out")
    outside = curves(project.housing.base, project.old_insert, project.housing.ends[0]).outside
    _, _, x1, _ = outside.bounds
    width = 20.0
    return KeepOut(name, x1 + 2.0 * project.limits.keep_out_margin + width / 2.0, 0.0, width, 2.0 * width)


def _lug(name: str, piece: Piece, outside: Outline) -> Lug:
    """An ear beyond the long axis' end."""
    pad = 20.0
    _, _, x1, _ = outside.bounds
    return Lug(name, x1 + pad / 2.0, 0.0, pad, 6.6, 0.7 * pad, piece.floor + 2.0, fillet=3.0)


def _part(outline: Outline, part: float) -> float:
    x0, _, x1, _ = outline.bounds
    return round((x1 - x0) * part, 1)


def starting_insert() -> Insert:
    """An insert to describe a new part from: a soft-rimmed obround of a common size, all of it to be typed over."""
    return Insert("insert", Family.OBROUND, 200.0, 120.0, Rim(12.0, 10.0), 55.0)
