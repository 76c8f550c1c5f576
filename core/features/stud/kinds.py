"""The kinds of studs: what their length counts, how much of them is screwed in, and the lengths they are had in.

Nominal lengths are those that ISO 4014:2011 prints (hexagon bolts, lengths after ISO 888), from 12 mm on; DIN 938:1995
and DIN 939:1995 have the same for studs up to 200 mm. What DIN 938 has in brackets (14, 18, 22, 28, 85, 95) or alone
(75, 170, 190) is left out: a stud of the next length is had everywhere. Lengths under 12 mm are ISO 4017's (from
memory).
"""

from __future__ import annotations

from bisect import bisect_right
from enum import StrEnum
from math import floor, log2
from typing import TYPE_CHECKING, Final

from msgspec import Struct

from core.features.stud.threads import Thread, diameter

if TYPE_CHECKING:
    from collections.abc import Callable

STANDARD_LENGTHS_MM: Final = tuple(
    float(n) for n in (2, 3, 4, 5, 6, 8, 10, 12, 16, *range(20, 70, 5), *range(70, 160, 10), *range(160, 501, 20))
)
"""Preferred nominal lengths; past the last one it goes on by 20."""

_STEP_PAST_MM: Final = 20.0
_SAME_MM: Final = 1e-9


class Ladder:
    """The lengths that a kind of stud is had in, as rungs; a length between two of them stands between their rungs."""

    def __init__(self, lengths: tuple[float, ...], step: float) -> None:
        """A ladder of ``lengths`` that goes on by ``step`` past their ends [mm]."""
        self._lengths, self._step = lengths, step

    def rung(self, length: float) -> float:
        """Where a length stands on the ladder; whole on a rung."""
        rungs = self._lengths
        if length < rungs[0]:  # by halves, so that no way down leads past nothing
            return log2(length / rungs[0])
        if length >= rungs[-1]:
            return len(rungs) - 1 + (length - rungs[-1]) / self._step
        i = bisect_right(rungs, length) - 1
        return i + (length - rungs[i]) / (rungs[i + 1] - rungs[i])

    def length(self, rung: float) -> float:
        """The length at a place on the ladder [mm]."""
        rungs = self._lengths
        if rung < 0.0:
            return rungs[0] * float(2.0**rung)
        if rung >= len(rungs) - 1:
            return rungs[-1] + (rung - len(rungs) + 1) * self._step
        i = floor(rung)
        return rungs[i] + (rung - i) * (rungs[i + 1] - rungs[i])

    def next(self, length: float) -> float:
        """The next length that is had, at least ``length`` [mm]."""
        rung = self.rung(length)
        whole = round(rung)
        if abs(self.length(whole) - length) <= _SAME_MM:
            return self.length(whole)
        return self.length(floor(rung) + 1.0)

    def has(self, length: float) -> bool:
        """Whether a length is had."""
        return abs(self.next(length) - length) <= _SAME_MM


STANDARD: Final = Ladder(STANDARD_LENGTHS_MM, _STEP_PAST_MM)
_WHOLE_MM: Final = Ladder((1.0, 2.0), 1.0)


class StudKind(StrEnum):
    """How a stud is made, and so what its length counts; `KINDS` tells the rest."""

    THREADED = "threaded"
    CUT_ROD = "cut_rod"
    END_1_D = "end_1d"
    END_1_25_D = "end_1.25d"
    END_2_D = "end_2d"


SHORT_WORDS: Final = {
    StudKind.THREADED: "threaded full length",
    StudKind.CUT_ROD: "rod, cut to length",
    StudKind.END_1_D: "double-ended, 1 d in",
    StudKind.END_1_25_D: "double-ended, 1.25 d in",
    StudKind.END_2_D: "double-ended, 2 d in",
}
"""How they read in a list to choose from."""


class KindOfStud(Struct, frozen=True):
    """What is particular to one kind of stud.

    Attributes:
        words: what it is.
        counts: what its length counts, as it follows a length in a sentence.
        ladder: the lengths that it is had in.
        screwed_in: the length of its screwed-in end, which its length does not count [mm]; None where it counts all,
            and is screwed in as far as is wanted.
        is_cut: whether it is cut to any whole millimetre, and not bought in standard lengths.
    """

    words: str
    counts: str
    ladder: Ladder
    screwed_in: Callable[[Thread], float] | None = None
    is_cut: bool = False


# Stud ends as DIN 939:1995 prints them, from M4 on; M3 by the rule of 1.25 diameters.
_END_1_25: Final = {
    Thread.M3: 3.75,
    Thread.M4: 5.0,
    Thread.M5: 6.5,
    Thread.M6: 7.5,
    Thread.M8: 10.0,
    Thread.M10: 12.0,
    Thread.M12: 15.0,
}
_OVER_ALL, _WITHOUT = "over all", "without the screwed-in end"

KINDS: Final = {
    StudKind.THREADED: KindOfStud("threaded full length", _OVER_ALL, STANDARD),
    StudKind.CUT_ROD: KindOfStud("threaded rod, cut to length", _OVER_ALL, _WHOLE_MM, is_cut=True),
    StudKind.END_1_D: KindOfStud("double-ended, 1 d screwed in (DIN 938)", _WITHOUT, STANDARD, diameter),
    StudKind.END_1_25_D: KindOfStud(
        "double-ended, 1.25 d screwed in (DIN 939)", _WITHOUT, STANDARD, _END_1_25.__getitem__
    ),
    StudKind.END_2_D: KindOfStud(
        "double-ended, 2 d screwed in (DIN 835)", _WITHOUT, STANDARD, lambda t: 2.0 * diameter(t)
    ),
}
"""Stud ends: 1 d as DIN 938:1995 prints them; 2 d after DIN 835 (from memory)."""


def nut_thread(kind: StudKind, thread: Thread, length: float) -> float:
    """Thread at the nut's end of a stud of a nominal length [mm]; all of it where it is threaded full length.

    DIN 938:1995, b2, as ISO 4014's b: 2 d + 6 up to 125 mm, + 12 up to 200, + 25 above.
    """
    if KINDS[kind].screwed_in is None:
        return length
    return 2.0 * diameter(thread) + (6.0 if length <= 125.0 else 12.0 if length <= 200.0 else 25.0)
