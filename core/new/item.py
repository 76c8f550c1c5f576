"""A new feature, stud or keep-out to begin with: sensible at once, then made true field by field.

The sizes are starting points taken from the piece that it is added to (common practice, no source).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace

from core.edits import unique_name
from core.features.registry import FEATURES
from core.features.stud.kinds import KINDS
from core.features.stud.stack import stud_stack, usual_depth
from core.features.stud.stud import Stud
from core.geometry.ovals.ovals import Family
from core.metal.curves import curves
from core.metal.order import ground_of
from core.part.housing import KeepOut
from core.part.insert import Insert, Rim

if TYPE_CHECKING:
    from core.features.registry import Feature
    from core.part.project import Project
    from core.words.ends import End


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
    if kind not in FEATURES:
        raise ValueError(f"there is no feature of kind {kind}; choose one of {', '.join(FEATURES)}")
    return FEATURES[kind].first(name, ground_of(piece, curves(piece, project.old_insert, end), end))


def new_stud(project: Project) -> Stud:
    """A clamp stud at the centre, as long as its stack needs."""
    name = unique_name(project, "housing.studs", "stud")
    base, end = project.housing.base, project.housing.ends[0]
    stud = Stud.first(name, ground_of(base, curves(base, project.old_insert, end), end))
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


def starting_insert() -> Insert:
    """An insert to describe a new part from: a soft-rimmed obround of a common size, all of it to be typed over."""
    return Insert("insert", Family.OBROUND, 200.0, 120.0, Rim(12.0, 10.0), 55.0)
