"""The housing as it stands in a project: pieces, features, and what each feature follows.

Heights of a piece count from its outer face (z = 0) to its joint face (z = thickness = floor + seat depth), in the base
and in the lid alike; what is raised on the outer face has z below 0. Places are finished coordinates from the seat
centre, seen from the base's joint side for both pieces, so that a stud has one x and y in base and lid.
"""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

from core.features.registry import Feature
from core.features.stud.stud import Stud
from core.part.curve import HeldCurve
from core.part.schema import Angle, Coordinate, Extent, Factor, Name, Size, Thickness, Value, X, Y, says
from core.words.ends import End


class Stop(StrEnum):
    """What ends the closing of lid on base."""

    FACES = "faces"
    SPACER = "spacer"
    NONE = "none"


class Tight(StrEnum):
    """Whether a piece must hold back air or water between its seat and its outer face."""

    YES = "yes"
    NO = "no"


class Seat(Value, frozen=True):
    """The annular recess that a rim sits in.

    Attributes:
        gap_outer, gap_inner: designed normal distances from rim to outer and inner wall [mm]; below 0 is interference.
        depth: from joint face to seat floor [mm].
        corner_radius: fillet between wall and floor [mm].
        depth_plus_minus: half the tolerance of the depth as it is made, both ways [mm].
    """

    gap_outer: Annotated[
        Coordinate,
        says(
            "Outer gap",
            "This is the normal distance from the rim to the seat's outer wall, as designed. Below 0 the rim is "
            "pressed in.",
        ),
    ]
    gap_inner: Annotated[
        Coordinate, says("Inner gap", "This is the normal distance from the rim to the seat's inner wall, as designed.")
    ]
    depth: Annotated[Thickness, says("Seat depth", "This is the depth from the joint face down to the seat floor.")]
    corner_radius: Annotated[
        Extent, says("Floor corner", "This is the fillet between seat wall and floor. The rim must not ride up on it.")
    ] = 0.0
    depth_plus_minus: Annotated[
        Extent,
        says(
            "Seat depth ±",
            "This says how much deeper or shallower than this the seat may be made. Both seats' tolerances and the "
            "spread of the insert's height together make the least and greatest squeeze.",
        ),
    ] = 0.0


class Lip(Value, frozen=True):
    """The metal between seat and opening: its width in plan and its height above the seat floor [mm]."""

    width: Annotated[Thickness, says("Lip width", "This is the metal between the seat's inner wall and the opening.")]
    height: Annotated[Extent, says("Lip height", "This is the height of the lip above the seat floor.")]


class Opening(Value, frozen=True):
    """A through hole inside the lip; ``held`` is set when it keeps its outline while the lip's width changes."""

    held: HeldCurve | None = None


class EarlierSeat(Value, frozen=True):
    """The seat that a casting on the shelf already has: metal that is gone, whatever is cut now."""

    outer: HeldCurve
    inner: HeldCurve
    depth: Thickness
    lip_height: Extent


class Piece(Value, frozen=True):
    """Base or lid.

    Attributes:
        floor: metal under the seat floor [mm].
        wall: normal distance from the seat's outer wall to the outside [mm].
        edge_radius: rounding of the outside's edges [mm].
        held_outside: set when the outside keeps its outline while the wall changes.
        earlier_seat: set when the piece is a casting from the shelf, to be reworked.
        tight: whether nothing may leak through it.
    """

    floor: Annotated[Thickness, says("Floor", "This is the metal under the seat floor.")]
    seat: Seat
    wall: Annotated[Thickness, says("Wall", "This is the metal between the seat's outer wall and the outside.")]
    lip: Lip
    opening: Opening | None = None
    edge_radius: Annotated[
        Extent,
        says(
            "Edge radius",
            "This is the rounding of the outside's edges. A large one eats into the corner between wall and floor.",
        ),
    ] = 0.0
    features: Annotated[
        tuple[Feature, ...], says("Features", "This says what is added to the piece, or taken from it.")
    ] = ()
    held_outside: HeldCurve | None = None
    earlier_seat: EarlierSeat | None = None
    tight: Annotated[
        Tight,
        says(
            "Must be tight",
            "This says whether nothing may leak through this piece. Holes right through it inside the seat are then "
            "pointed out.",
        ),
    ] = Tight.NO

    @property
    def thickness(self) -> float:
        """From outer face to joint face [mm]."""
        return self.floor + self.seat.depth


class Faces(Value, frozen=True):
    """How lid and base meet: what stops them, and the thickness of a spacer between the joint faces [mm]."""

    stop: Annotated[
        Stop,
        says(
            "Stopped by",
            "This says what ends the closing of lid on base. Without a hard stop the nut's torque sets the squeeze "
            "and bows the lid.",
            words={Stop.FACES: "joint faces", Stop.SPACER: "a spacer", Stop.NONE: "the nut only"},
        ),
    ] = Stop.FACES
    distance: Annotated[
        Extent,
        says(
            "Faces apart",
            "This is what is left between the joint faces when the lid is drawn down: the thickness of a spacer.",
        ),
    ] = 0.0

    @property
    def apart(self) -> float:
        """The distance left between the joint faces when the lid is drawn down [mm]: none where they meet."""
        return 0.0 if self.stop is Stop.FACES else self.distance


class KeepOut(Value, frozen=True):
    """A rectangle in the machine's space that the outside must not enter; ``angle`` is of its length from +X."""

    name: Name
    x: X
    y: Y
    length: Annotated[Size, says("Length", "This is the length of the space that belongs to a neighbour.")]
    width: Annotated[Size, says("Width", "This is the width of the space that belongs to a neighbour.")]
    angle: Angle = 0.0


class MetalKind(StrEnum):
    """What sort of metal an alloy is, as far as threads in it care."""

    ALUMINIUM = "aluminium"
    MAGNESIUM = "magnesium"
    ZINC = "zinc"
    BRASS = "brass"
    BRONZE = "bronze"
    GREY_IRON = "grey_iron"
    DUCTILE_IRON = "ductile_iron"
    NOT_STATED = "not_stated"


class Metal(Value, frozen=True):
    """The alloy: its density [g/cm³], the least section that it is cast in [mm], and its sort."""

    name: Annotated[Name, says("Alloy", "This is the alloy that is poured.")]
    density: Annotated[Factor, says("Density", "It gives the weight of the casting.", "g/cm³")]
    least_section: Annotated[
        Thickness, says("Least section", "This is the thinnest section that this alloy is cast in.")
    ]
    kind: Annotated[
        MetalKind,
        says(
            "Sort of metal",
            "It decides how much thread a stud wants in the base. A metal that is not stated wants as much as the "
            "weakest one does.",
        ),
    ] = MetalKind.NOT_STATED


class Housing(Value, frozen=True):
    """What is cast around the insert: two pieces, or one ring with a seat when there is no lid."""

    base: Piece
    metal: Metal
    lid: Piece | None = None
    faces: Faces = Faces()
    studs: tuple[Stud, ...] = ()
    keep_outs: tuple[KeepOut, ...] = ()

    def piece(self, end: End) -> Piece | None:
        """The base, or the lid if there is one."""
        return self.base if end is End.BASE else self.lid

    @property
    def ends(self) -> tuple[End, ...]:
        """The pieces that there are."""
        return (End.BASE,) if self.lid is None else (End.BASE, End.LID)
