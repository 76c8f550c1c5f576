"""The project: everything that the user decided, and nothing that can be computed."""

from __future__ import annotations

from enum import StrEnum

from core.part.housing import Housing
from core.part.insert import Insert
from core.part.schema import Coordinate, Extent, Factor, Flow, Name, Percent, Size, Thickness, Value, Velocity
from core.words.ends import Side
from core.words.lengths import Style

FORMAT = 3


class Mode(StrEnum):
    """A new pattern is cut, or castings from the shelf are machined out."""

    NEW_PATTERN = "new_pattern"
    REWORK = "rework"


class Hold(StrEnum):
    """What stays when the seat's outer wall moves."""

    WALL = "wall"
    OUTSIDE = "outside"


class HoldInside(StrEnum):
    """What stays when the seat's inner wall moves."""

    LIP = "lip"
    OPENING = "opening"


class HeightTo(StrEnum):
    """Where a change of the insert's free height goes."""

    BASE = "base"
    LID = "lid"
    SPACER = "spacer"
    SQUEEZE = "squeeze"


class Choices(Value, frozen=True):
    """How the housing follows the new insert. None means: as the housing has it now.

    Attributes:
        guided_by: the seat wall that the rim is placed by; the other one only has to stay clear.
    """

    mode: Mode = Mode.NEW_PATTERN
    hold: Hold = Hold.WALL
    hold_inside: HoldInside = HoldInside.LIP
    height_to: HeightTo = HeightTo.BASE
    gap_outer: Coordinate | None = None
    gap_inner: Coordinate | None = None
    wall: Thickness | None = None
    lip: Thickness | None = None
    guided_by: Side = Side.OUTER


class Limits(Value, frozen=True):
    """What the checks ask for. Lengths in mm.

    Attributes:
        gap_outer_least, gap_outer_greatest: between rim and the seat's outer wall; the inner ones alike.
        bearing_least: narrowest bearing round the ring with the insert pushed over.
        fill: of a closed seat by a rim of solid rubber.
        hole_edge: metal from a hole's centre to an edge, as a multiple of its diameter.
        keep_out_margin: between the outside and a keep-out.
        flush: greatest step between base and lid outside at the joint.
        engagement: stud thread in the base, as a multiple of its diameter; None is as its metal wants it.
        threads_showing: past the nut.
        open_area: least new open area as a part of the old.
        flow: through the opening [m³/h]; None when no flow matters.
        face_velocity: greatest mean velocity in the opening [m/s].
        marginal: part of a limit within which a margin is only marginal.
    """

    gap_outer_least: Coordinate = 0.3
    gap_outer_greatest: Size = 1.5
    gap_inner_least: Coordinate = 0.3
    gap_inner_greatest: Size = 1.5
    bearing_least: Thickness = 5.0
    fill: Percent = 95.0
    web_least: Thickness = 4.0
    floor_least: Thickness = 4.0
    hole_edge: Factor = 1.5
    keep_out_margin: Extent = 2.0
    flush: Extent = 0.5
    engagement: Factor | None = None
    threads_showing: Factor = 1.0
    open_area: Factor = 1.0
    flow: Flow | None = None
    face_velocity: Velocity = 10.0
    marginal: Percent = 10.0

    def gap(self, side: Side) -> tuple[float, float]:
        """Least and greatest gap between rim and a wall of its seat [mm]."""
        if side is Side.OUTER:
            return self.gap_outer_least, self.gap_outer_greatest
        return self.gap_inner_least, self.gap_inner_greatest


class Project(Value, frozen=True):
    """A housing built for an old insert, the new insert, and how the one follows the other.

    Attributes:
        housing: as it was built around ``old_insert``.
        candidates: possible replacements besides the new insert, to be compared.
        style: how lengths are shown; a bare number typed in is in its unit.
    """

    name: Name
    old_insert: Insert
    new_insert: Insert
    housing: Housing
    choices: Choices = Choices()
    limits: Limits = Limits()
    style: Style = Style.MM
    notes: str = ""
    candidates: tuple[Insert, ...] = ()
    format: int = FORMAT
