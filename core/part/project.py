"""The project: everything that the user decided, and nothing that can be computed."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

from core.part.housing import Housing
from core.part.insert import Insert
from core.part.schema import Coordinate, Extent, Factor, Flow, Name, Percent, Size, Thickness, Value, Velocity, says
from core.words.ends import Side
from core.words.lengths import Style
from core.words.verdicts import Sentence

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

    mode: Annotated[
        Mode,
        says(
            "Make",
            "You cut a new pattern, or machine castings from the shelf out: then nothing else moves and the wall only "
            "gets thinner.",
            words={Mode.NEW_PATTERN: "a new pattern", Mode.REWORK: "a rework"},
        ),
    ] = Mode.NEW_PATTERN
    hold: Annotated[
        Hold,
        says(
            "Outside, hold",
            "This says what stays when the seat's outer wall moves: the wall's thickness, or the outside's outline.",
        ),
    ] = Hold.WALL
    hold_inside: Annotated[
        HoldInside,
        says(
            "Inside, hold",
            "This says what stays when the seat's inner wall moves: the lip's width, or the opening's outline.",
        ),
    ] = HoldInside.LIP
    height_to: Annotated[
        HeightTo,
        says(
            "Height goes to",
            "This says where a change of the insert's free height goes. 'Squeeze' leaves the metal as it is.",
        ),
    ] = HeightTo.BASE
    gap_outer: Annotated[
        Coordinate | None,
        says("Outer gap", "This is the outer gap of the new seat. An empty field keeps what the housing has."),
    ] = None
    gap_inner: Annotated[
        Coordinate | None,
        says("Inner gap", "This is the inner gap of the new seat. An empty field keeps what the housing has."),
    ] = None
    wall: Annotated[
        Thickness | None,
        says("Wall", "This is the wall of the new housing. An empty field keeps what the housing has."),
    ] = None
    lip: Annotated[
        Thickness | None, says("Lip", "This is the lip of the new housing. An empty field keeps what the housing has.")
    ] = None
    guided_by: Annotated[
        Side,
        says(
            "Rim guided by",
            "This is the seat wall that places the rim. In a rework, a wide gap at the other wall alone is no reason "
            "to give the casting up while the rim bears fully.",
        ),
    ] = Side.OUTER


_OURS = "our own, without a published source; set it to what your shop knows"
_LEAST_METAL = f"{_OURS}; the alloy's least section counts as well"


def _usual_gap(bound: str) -> Sentence:
    """Where the default of a least or greatest gap comes from, with what is usual [mm a side]."""
    return Sentence.of(f"usual is {{from}} to {{to}} a side; the {bound} is {_OURS}", **{"from": 0.5, "to": 1.0})


class Limits(Value, frozen=True):
    """What the checks ask for. Lengths in mm. ``spoken`` is what the report calls it, ``origin`` its default's.

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

    gap_outer_least: Annotated[
        Coordinate,
        says(
            "Outer gap, least",
            "This is the least gap between the rim and the seat's outer wall, for the largest insert that is bought. "
            "Below 0 allows that much interference.",
            spoken="least outer gap",
            origin=_usual_gap("least"),
        ),
    ] = 0.3
    gap_outer_greatest: Annotated[
        Size,
        says(
            "Outer gap, greatest",
            "This is the greatest gap between the rim and the seat's outer wall, for the smallest insert that is "
            "bought. Beyond it the insert lies loose and dust gets past.",
            spoken="greatest outer gap",
            origin=_usual_gap("greatest"),
        ),
    ] = 1.5
    gap_inner_least: Annotated[
        Coordinate,
        says(
            "Inner gap, least",
            "This is the least gap between the rim and the seat's inner wall. Below 0 allows that much interference.",
            spoken="least inner gap",
            origin=_usual_gap("least"),
        ),
    ] = 0.3
    gap_inner_greatest: Annotated[
        Size,
        says(
            "Inner gap, greatest",
            "This is the greatest gap between the rim and the seat's inner wall. Where the outer wall guides the rim, "
            "it may be wider than the outer one.",
            spoken="greatest inner gap",
            origin=_usual_gap("greatest"),
        ),
    ] = 1.5
    bearing_least: Annotated[
        Thickness,
        says(
            "Bearing, least",
            "This is the narrowest rim on the floor, with the insert pushed fully to any side.",
            spoken="narrowest bearing",
            origin=Sentence(_OURS),
        ),
    ] = 5.0
    fill: Annotated[
        Percent,
        says(
            "Seat filled, most",
            "This says how much of the closed seat a rim may fill. Solid rubber keeps its volume, so a rim without "
            "room to swell can't be squeezed. Foam, sponge and cork do without.",
            spoken="rim's fill of its closed seat",
            origin=Sentence("common practice, no source; printed guides for round seals in grooves ask for 85 to 90 %"),
        ),
    ] = 95.0
    web_least: Annotated[
        Thickness,
        says(
            "Thinnest metal, least",
            "This is the least metal between any two surfaces.",
            spoken="thinnest metal",
            origin=Sentence(_LEAST_METAL),
        ),
    ] = 4.0
    floor_least: Annotated[
        Thickness,
        says(
            "Floor, least",
            "This is the least metal under the seat floor.",
            spoken="metal under the seat",
            origin=Sentence(_LEAST_METAL),
        ),
    ] = 4.0
    hole_edge: Annotated[
        Factor,
        says(
            "Hole to edge",
            "This is the least distance from a hole's centre to the nearest edge.",
            "× diameter",
            spoken="hole centre to edge",
            origin=Sentence("1.5 to 2 diameters are common practice"),
        ),
    ] = 1.5
    keep_out_margin: Annotated[
        Extent,
        says(
            "Keep-out margin",
            "This is the least distance between the outside and a neighbour's space.",
            spoken="distance from keep-outs",
            origin=Sentence(_OURS),
        ),
    ] = 2.0
    flush: Annotated[
        Extent,
        says(
            "Flush within",
            "This is the greatest step between base and lid at the joint.",
            spoken="step between lid and base",
            origin=Sentence(_OURS),
        ),
    ] = 0.5
    engagement: Annotated[
        Factor | None,
        says(
            "Thread in base",
            "This says how much of a stud's thread must be in the base. Empty takes what its metal wants: 2 diameters "
            "in aluminium, 1.5 in bronze and iron.",
            "× diameter",
            spoken="stud thread in the base",
            origin=Sentence(
                "as the metal wants it: 2 diameters in aluminium, magnesium and zinc, 1.5 in bronze, brass and iron"
            ),
        ),
    ] = None
    threads_showing: Annotated[
        Factor,
        says(
            "Past the nut",
            "These are the turns of thread that show past the nut.",
            "× pitch",
            spoken="threads past the nut",
            origin=Sentence("one or more is common practice"),
        ),
    ] = 1.0
    open_area: Annotated[
        Factor,
        says(
            "Open area, least",
            "This is the least open area, as a part of the old one.",
            "× old",
            spoken="open area, new to old",
            origin=Sentence("not below the old one is common practice"),
        ),
    ] = 1.0
    flow: Annotated[
        Flow | None,
        says(
            "Flow",
            "This is what flows through the opening. Leave it empty when no flow matters.",
            "m³/h",
            spoken="flow through the opening",
            origin=Sentence("yours; without one, no velocity is checked"),
        ),
    ] = None
    face_velocity: Annotated[
        Velocity,
        says(
            "Face velocity",
            "This is the greatest mean velocity in the opening.",
            "m/s",
            spoken="greatest velocity in the opening",
            origin=Sentence(_OURS),
        ),
    ] = 10.0
    marginal: Annotated[
        Percent,
        says(
            "Marginal within",
            "A margin smaller than this part of its limit is only marginal.",
            "% of the limit",
            spoken="marginal within",
            origin=Sentence(_OURS),
        ),
    ] = 10.0

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
    style: Annotated[
        Style,
        says(
            "Lengths in",
            "This says how lengths are shown. A bare number typed in is in this unit.",
            words={Style.INCH: "inches", Style.FRACTION: "fractions"},
        ),
    ] = Style.MM
    notes: Annotated[str, says("Notes", "This is anything worth keeping with the project; it is printed with it.")] = ""
    candidates: Annotated[
        tuple[Insert, ...],
        says(
            meanings={
                "height": "This is the height over both rims, unsqueezed, as the catalogue gives it or as you measured "
                "it."
            }
        ),
    ] = ()
    format: int = FORMAT
