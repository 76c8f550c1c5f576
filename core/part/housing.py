"""The housing as it stands in a project: pieces, features, and what each feature follows.

Heights of a piece count from its outer face (z = 0) to its joint face (z = thickness = floor + seat depth), in the base
and in the lid alike; what is raised on the outer face has z below 0. Places are finished coordinates from the seat
centre, seen from the base's joint side for both pieces, so that a stud has one x and y in base and lid.
"""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, Annotated, TypeAlias

from msgspec import Meta

from core.geometry.ovals.ovals import Family, Oval, oval_outline
from core.geometry.parallels.parallel import parallel
from core.part.schema import Coordinate, Degrees, Extent, Factor, Name, Size, Thickness, Value, Vertex
from core.words.ends import End

if TYPE_CHECKING:
    from core.geometry.lines.outline import Outline


class Follows(StrEnum):
    """What a feature holds on to when the seat changes."""

    MACHINE = "machine"
    SEAT = "seat"
    OUTSIDE = "outside"
    SPREAD = "spread"
    CENTRE = "centre"


class Made(StrEnum):
    """Whether a hole is in the pattern or made in the casting."""

    CORED = "cored"
    DRILLED = "drilled"


class Stop(StrEnum):
    """What ends the closing of lid on base."""

    FACES = "faces"
    SPACER = "spacer"
    NONE = "none"


class Tight(StrEnum):
    """Whether a piece must hold back air or water between its seat and its outer face."""

    YES = "yes"
    NO = "no"


class HeldCurve(Value, frozen=True):
    """A curve that stays where it was: the parallel of an oval at a normal distance (+ outward) [mm]."""

    family: Family
    length: Size
    width: Size
    offset: Coordinate
    end_radius: Size | None = None
    exponent: Annotated[float, Meta(ge=2.0, le=10.0)] | None = None
    vertices: tuple[Vertex, ...] | None = None

    @property
    def oval(self) -> Oval:
        """The oval that the curve runs parallel to."""
        return Oval(self.family, self.length, self.width, self.end_radius, self.exponent, self.vertices)

    @classmethod
    def of(cls, oval: Oval, offset: float) -> HeldCurve:
        """The parallel of ``oval`` at ``offset`` [mm]."""
        return cls(oval.family, oval.length, oval.width, offset, oval.end_radius, oval.exponent, oval.vertices)

    def inward(self, distance: float) -> HeldCurve:
        """The parallel of this curve ``distance`` [mm] further in."""
        return HeldCurve.of(self.oval, self.offset - distance)

    def outline(self, where: str) -> Outline:
        """The curve itself, counter-clockwise."""
        return parallel(oval_outline(self.oval), self.offset, where=where)


class Seat(Value, frozen=True):
    """The annular recess that a rim sits in.

    Attributes:
        gap_outer, gap_inner: designed normal distances from rim to outer and inner wall [mm]; below 0 is interference.
        depth: from joint face to seat floor [mm].
        corner_radius: fillet between wall and floor [mm].
        depth_plus_minus: half the tolerance of the depth as it is made, both ways [mm].
    """

    gap_outer: Coordinate
    gap_inner: Coordinate
    depth: Thickness
    corner_radius: Extent = 0.0
    depth_plus_minus: Extent = 0.0


class Lip(Value, frozen=True):
    """The metal between seat and opening: its width in plan and its height above the seat floor [mm]."""

    width: Thickness
    height: Extent


class Opening(Value, frozen=True):
    """A through hole inside the lip; ``held`` is set when it keeps its outline while the lip's width changes."""

    held: HeldCurve | None = None


class EarlierSeat(Value, frozen=True):
    """The seat that a casting on the shelf already has: metal that is gone, whatever is cut now."""

    outer: HeldCurve
    inner: HeldCurve
    depth: Thickness
    lip_height: Extent


class Crossbar(Value, frozen=True, tag_field="kind", tag="crossbar"):
    """A strip across the opening.

    Attributes:
        angle: of the strip from +X [degrees].
        offset: of its middle line from the seat centre, to the left of its direction [mm].
        width, height: in plan, and from the outer face up [mm].
    """

    name: Name
    angle: Degrees
    offset: Coordinate
    width: Size
    height: Thickness
    follows: Follows = Follows.SPREAD


class Hole(Value, frozen=True, tag_field="kind", tag="hole"):
    """A through hole, cored or drilled, alone or in a boss.

    Attributes:
        boss: diameter of the boss round it [mm]; 0 is none.
        boss_height: from the outer face up [mm].
    """

    name: Name
    x: Coordinate
    y: Coordinate
    diameter: Size
    made: Made = Made.CORED
    boss: Extent = 0.0
    boss_height: Extent = 0.0
    follows: Follows = Follows.MACHINE


class Lug(Value, frozen=True, tag_field="kind", tag="lug"):
    """A fixing ear on the outside: a round pad, a neck to the wall, and a hole.

    Attributes:
        x, y: centre of pad and hole [mm].
        pad, hole: diameters [mm].
        neck: width of the strip that joins pad and wall [mm].
        height: from the outer face up [mm].
        fillet: radius where the neck meets the wall [mm].
    """

    name: Name
    x: Coordinate
    y: Coordinate
    pad: Size
    hole: Size
    neck: Size
    height: Thickness
    made: Made = Made.DRILLED
    fillet: Extent = 0.0
    follows: Follows = Follows.OUTSIDE


class Pocket(Value, frozen=True, tag_field="kind", tag="pocket"):
    """An interior relief pocket, open to the joint side: ``inset`` from the seat's inner wall, ``floor`` left [mm].

    ``held`` is set when it follows the machine: its edge, as it was.
    """

    name: Name
    inset: Thickness
    floor: Thickness
    follows: Follows = Follows.SEAT
    held: HeldCurve | None = None


class Band(Value, frozen=True, tag_field="kind", tag="band"):
    """A raised band on the outer face, parallel to the outside: ``inset`` from it, ``width`` wide, ``height`` high.

    ``held`` is set when it follows the machine: its outer edge, as it was.
    """

    name: Name
    inset: Extent
    width: Size
    height: Thickness
    follows: Follows = Follows.OUTSIDE
    held: HeldCurve | None = None


class Rib(Value, frozen=True, tag_field="kind", tag="rib"):
    """A raised straight rib on the outer face, ending ``inset`` inside the outside; placed as a crossbar is."""

    name: Name
    angle: Degrees
    offset: Coordinate
    width: Size
    height: Thickness
    inset: Extent
    follows: Follows = Follows.SPREAD


class Badge(Value, frozen=True, tag_field="kind", tag="badge"):
    """The centre badge area: an obround or round pad raised on the outer face, over the opening too [mm]."""

    name: Name
    length: Size
    width: Size
    height: Extent
    x: Coordinate = 0.0
    y: Coordinate = 0.0
    follows: Follows = Follows.CENTRE


ALLOWED_FOLLOWS: dict[str, tuple[Follows, ...]] = {
    "crossbar": (Follows.SPREAD, Follows.MACHINE, Follows.CENTRE),
    "hole": tuple(Follows),
    "lug": (Follows.OUTSIDE, Follows.MACHINE, Follows.SEAT),
    "pocket": (Follows.SEAT, Follows.MACHINE),
    "band": (Follows.OUTSIDE, Follows.MACHINE),
    "rib": (Follows.SPREAD, Follows.OUTSIDE, Follows.MACHINE, Follows.CENTRE),
    "badge": (Follows.CENTRE, Follows.MACHINE, Follows.SPREAD),
    "stud": (Follows.MACHINE, Follows.OUTSIDE, Follows.SEAT, Follows.SPREAD, Follows.CENTRE),
}
"""What each kind of feature can hold on to."""

Feature: TypeAlias = Crossbar | Hole | Lug | Pocket | Band | Rib | Badge


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

    floor: Thickness
    seat: Seat
    wall: Thickness
    lip: Lip
    opening: Opening | None = None
    edge_radius: Extent = 0.0
    features: tuple[Feature, ...] = ()
    held_outside: HeldCurve | None = None
    earlier_seat: EarlierSeat | None = None
    tight: Tight = Tight.NO

    @property
    def thickness(self) -> float:
        """From outer face to joint face [mm]."""
        return self.floor + self.seat.depth


class Thread(StrEnum):
    """Coarse metric threads that a clamp stud may have."""

    M3 = "M3"
    M4 = "M4"
    M5 = "M5"
    M6 = "M6"
    M8 = "M8"
    M10 = "M10"
    M12 = "M12"


class StudKind(StrEnum):
    """How a stud is made, and so what its length counts; `core.features.stud.kinds` tells the rest."""

    THREADED = "threaded"
    CUT_ROD = "cut_rod"
    END_1_D = "end_1d"
    END_1_25_D = "end_1.25d"
    END_2_D = "end_2d"


class Stud(Value, frozen=True):
    """A clamp stud, tapped into a boss of the base and passing the lid.

    Attributes:
        length: of the stud that is in use [mm], as its kind counts it.
        boss: diameter of its bosses in base and lid [mm].
        hole_depth: of the drilled hole that is tapped, from the base's joint face, without its point [mm]; None is
            right through.
    """

    name: Name
    x: Coordinate
    y: Coordinate
    thread: Thread
    length: Size
    boss: Size
    follows: Follows = Follows.MACHINE
    kind: StudKind = StudKind.THREADED
    hole_depth: Size | None = None


class Faces(Value, frozen=True):
    """How lid and base meet: what stops them, and the thickness of a spacer between the joint faces [mm]."""

    stop: Stop = Stop.FACES
    distance: Extent = 0.0

    @property
    def apart(self) -> float:
        """The distance left between the joint faces when the lid is drawn down [mm]: none where they meet."""
        return 0.0 if self.stop is Stop.FACES else self.distance


class KeepOut(Value, frozen=True):
    """A rectangle in the machine's space that the outside must not enter; ``angle`` is of its length from +X."""

    name: Name
    x: Coordinate
    y: Coordinate
    length: Size
    width: Size
    angle: Degrees = 0.0


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

    name: Name
    density: Factor
    least_section: Thickness
    kind: MetalKind = MetalKind.NOT_STATED


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
