"""Clamp studs: their tables, the length that a stack needs, and the next standard length."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil
from typing import TYPE_CHECKING

from core.housing import Thread

if TYPE_CHECKING:
    from core.housing import Housing, Stud

DIAMETER_MM = {thread: float(thread[1:]) for thread in Thread}

# Coarse pitches: ISO 261 series as printed with ISO 4032:2001, Table 1.
PITCH_MM = {
    Thread.M3: 0.5,
    Thread.M4: 0.7,
    Thread.M5: 0.8,
    Thread.M6: 1.0,
    Thread.M8: 1.25,
    Thread.M10: 1.5,
    Thread.M12: 1.75,
}

# ISO 273, medium series.
CLEARANCE_MM = {
    Thread.M3: 3.4,
    Thread.M4: 4.5,
    Thread.M5: 5.5,
    Thread.M6: 6.6,
    Thread.M8: 9.0,
    Thread.M10: 11.0,
    Thread.M12: 13.5,
}

# ISO 4032, greatest nut height m.
NUT_MM = {
    Thread.M3: 2.4,
    Thread.M4: 3.2,
    Thread.M5: 4.7,
    Thread.M6: 5.2,
    Thread.M8: 6.8,
    Thread.M10: 8.4,
    Thread.M12: 10.8,
}

# ISO 7089, nominal washer thickness h.
WASHER_MM = {
    Thread.M3: 0.5,
    Thread.M4: 0.8,
    Thread.M5: 1.0,
    Thread.M6: 1.6,
    Thread.M8: 1.6,
    Thread.M10: 2.0,
    Thread.M12: 2.5,
}

# Diameter less pitch: the usual drill for a coarse thread (common practice; from memory).
TAP_DRILL_MM = {thread: DIAMETER_MM[thread] - PITCH_MM[thread] for thread in Thread}

# Nominal lengths of bolts and studs, ISO 888 (from memory): by 5 to 70, by 10 to 160, by 20 to 500.
STANDARD_LENGTHS_MM = tuple(float(n) for n in (*range(10, 70, 5), *range(70, 160, 10), *range(160, 501, 20)))


@dataclass(frozen=True, slots=True)
class StudStack:
    """What a stud's length is made of, from the base's joint face up [mm].

    Attributes:
        engagement: thread in the base, below its joint face.
        faces: distance between the joint faces when closed.
        lid: thickness that it passes.
        washer, nut: heights.
        showing: thread past the nut.
    """

    engagement: float
    faces: float
    lid: float
    washer: float
    nut: float
    showing: float

    @property
    def length(self) -> float:
        """The least length of the stud [mm]."""
        return self.engagement + self.faces + self.lid + self.washer + self.nut + self.showing


def stud_stack(housing: Housing, stud: Stud, *, engagement: float, threads_showing: float) -> StudStack:
    """The stack of one stud.

    Args:
        housing: its closed distance and the lid's thickness count.
        stud: its thread counts.
        engagement: of the thread in the base, as a multiple of its diameter.
        threads_showing: turns of thread past the nut.
    """
    thread = stud.thread
    return StudStack(
        engagement * DIAMETER_MM[thread],
        housing.faces.distance,
        0.0 if housing.lid is None else housing.lid.thickness,
        WASHER_MM[thread],
        NUT_MM[thread],
        threads_showing * PITCH_MM[thread],
    )


def next_standard(length: float) -> float:
    """The next standard length, at least ``length`` [mm]; past the table, the next multiple of 20."""
    fits = (standard for standard in STANDARD_LENGTHS_MM if standard >= length - 1e-9)
    return next(fits, 20.0 * ceil(length / 20.0 - 1e-9))


def _rung(length: float) -> int:
    """Place of a length on the ladder of standard lengths, continued by 20 past its end."""
    top = STANDARD_LENGTHS_MM[-1]
    if length > top:
        return len(STANDARD_LENGTHS_MM) - 1 + ceil((length - top) / 20.0 - 1e-9)
    return next(i for i, standard in enumerate(STANDARD_LENGTHS_MM) if standard >= length - 1e-9)


def followed_length(length: float, was_needed: float, now_needed: float) -> float:
    """The length in use, moved by as many standard steps as the needed length moved [mm].

    A stud that the owner chose longer than needed stays as much longer, and a change that is undone gives back the
    stud there was.
    """
    steps = _rung(now_needed) - _rung(was_needed)
    if steps == 0:
        return length
    rung = max(0, _rung(length) + steps)
    last = len(STANDARD_LENGTHS_MM) - 1
    return STANDARD_LENGTHS_MM[rung] if rung <= last else STANDARD_LENGTHS_MM[-1] + 20.0 * (rung - last)
