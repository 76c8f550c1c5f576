"""What was read off an insert: a table of readings, one row each, one column a sample. Kept in the project."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

from core.part.schema import Count, Degrees, Extent, Grams, Name, Note, Read, Step, Value, says
from core.words.ends import End


class ReadingKind(StrEnum):
    """What a row of readings is of."""

    LENGTH = "length"
    WIDTH = "width"
    JAWS = "jaws"
    WIDTH_AT = "width_at"
    END_RADIUS = "end_radius"
    END_HEIGHT = "end_height"
    CORNER_GAP = "corner_gap"
    TAPE = "tape"
    ROLL = "roll"
    RIM_WIDTH = "rim_width"
    RIM_THICKNESS = "rim_thickness"
    HEIGHT = "height"


OVAL_KINDS = (
    ReadingKind.LENGTH, ReadingKind.WIDTH, ReadingKind.JAWS, ReadingKind.WIDTH_AT, ReadingKind.END_RADIUS,
    ReadingKind.END_HEIGHT, ReadingKind.CORNER_GAP, ReadingKind.TAPE, ReadingKind.ROLL,
)  # fmt: skip
"""The readings that say something of the oval."""


class Instrument(StrEnum):
    """What a row was read with."""

    CALLIPER = "calliper"
    RULE = "rule"
    TAPE = "tape"
    GAUGE = "gauge"


class RubberClass(StrEnum):
    """Classes of ISO 3302-1 for moulded solid rubber, finest first."""

    M1 = "M1"
    M2 = "M2"
    M3 = "M3"
    M4 = "M4"


class Resolution(Value, frozen=True):
    """Smallest step that each instrument shows [mm]."""

    calliper: Annotated[
        Step, says("Calliper", "This is the smallest step that the calliper shows. It is a part of every ±.")
    ] = 0.02
    rule: Annotated[
        Step, says("Steel rule", "This is the smallest step that is read off the rule. It is a part of every ±.")
    ] = 0.5
    tape: Annotated[
        Step, says("Tape", "This is the smallest step that is read off the tape. It is a part of every ±.")
    ] = 1.0
    gauge: Annotated[
        Step, says("Radius gauges", "This is the step from one gauge of the set to the next. It is a part of every ±.")
    ] = 0.5

    def of(self, instrument: Instrument) -> float:
        """The step of one instrument [mm]."""
        step: float = getattr(self, instrument.value)
        return step


class Reading(Value, frozen=True):
    """One row: one quantity, at one place, of every sample.

    Attributes:
        kind: which quantity.
        values: one a sample, in the samples' order; None where it was not read, missing at the end alike [mm].
        place: the user's own word for where, as "left end"; several rows of one kind are several places.
        instrument: that it was read with.
        angle: of the direction that the jaws measure along, from the insert's long axis [degrees]; for ``jaws``.
        along: distance from the middle along the long axis for ``width_at``, the chord for ``end_height``, the tape's
            thickness for ``tape`` [mm].
        turns: rolled, for ``roll``.
        weight: of the plate on the insert, for ``height`` [g]; None or 0 is free height.
        end: whose rim, for ``rim_width`` and ``rim_thickness``; None is both.
    """

    kind: ReadingKind
    values: tuple[Read | None, ...] = ()
    place: Note = ""
    instrument: Instrument = Instrument.CALLIPER
    angle: Degrees | None = None
    along: Extent | None = None
    turns: Count | None = None
    weight: Grams | None = None
    end: End | None = None


class Readings(Value, frozen=True):
    """The table of readings of one insert.

    Attributes:
        samples: names of the samples, one a column.
        resolution: of the instruments.
        rubber: the class that stands in for the spread while there are fewer than three samples; None for what the
            insert's material has: a class where it is solid rubber, which the standard is for, and none elsewhere.
    """

    samples: tuple[Name, ...] = ()
    rows: tuple[Reading, ...] = ()
    resolution: Resolution = Resolution()
    rubber: Annotated[
        RubberClass | None,
        says(
            "Rubber class",
            "This is the class of ISO 3302-1 that stands in for the spread of fewer than three samples. The standard "
            "is for solid rubber only.",
            words={"": "as the material"},
        ),
    ] = None

    def of(self, *kinds: ReadingKind) -> tuple[tuple[int, Reading], ...]:
        """The rows of some kinds with their numbers, in order."""
        return tuple((i, row) for i, row in enumerate(self.rows) if row.kind in kinds)


class SizeName(StrEnum):
    """The sizes of an insert that can come from somewhere."""

    FAMILY = "family"
    LENGTH = "length"
    WIDTH = "width"
    END_RADIUS = "end_radius"
    EXPONENT = "exponent"
    OUTLINE = "outline"
    HEIGHT = "height"
    RIM_WIDTH = "rim.width"
    RIM_THICKNESS = "rim.thickness"
    LID_RIM_WIDTH = "lid_rim.width"
    LID_RIM_THICKNESS = "lid_rim.thickness"


class Origin(StrEnum):
    """Where a size comes from; one without an origin was typed in."""

    READINGS = "readings"
    DRAWING = "drawing"
    SCAN = "scan"
    CANDIDATE = "candidate"


class Source(Value, frozen=True):
    """Where one size of an insert comes from.

    Attributes:
        note: in words, as "boss-side.dxf, outline 2" or "mean of 3 samples".
        plus_minus: of the next one bought: half width of its 95 % interval; None where that is not known [mm].
        known_to: half width of the size's own 95 % interval, where it is known [mm].
    """

    size: SizeName
    origin: Origin
    note: Note = ""
    plus_minus: Extent | None = None
    known_to: Extent | None = None
