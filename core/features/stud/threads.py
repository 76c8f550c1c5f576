"""Coarse metric threads: what is drilled, screwed and laid on for each."""

from __future__ import annotations

from enum import StrEnum


class Thread(StrEnum):
    """Coarse metric threads that a clamp stud may have."""

    M3 = "M3"
    M4 = "M4"
    M5 = "M5"
    M6 = "M6"
    M8 = "M8"
    M10 = "M10"
    M12 = "M12"


def diameter(thread: Thread) -> float:
    """Nominal diameter [mm]."""
    return float(thread[1:])


DIAMETER_MM = {thread: diameter(thread) for thread in Thread}

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

# ISO 7089, nominal outside diameter d2 (from memory).
WASHER_ACROSS_MM = {
    Thread.M3: 7.0,
    Thread.M4: 9.0,
    Thread.M5: 10.0,
    Thread.M6: 12.0,
    Thread.M8: 16.0,
    Thread.M10: 20.0,
    Thread.M12: 24.0,
}

# Diameter less pitch: the usual drill for a coarse thread (common practice; from memory).
TAP_DRILL_MM = {thread: DIAMETER_MM[thread] - PITCH_MM[thread] for thread in Thread}

# Threads that a bottoming tap leaves unfinished at the end of a blind hole (common practice, no source).
RUN_OUT_PITCHES = 3.0
# Height of a twist drill's point as a part of its diameter: 118° over all, so half of it over the tangent of 59°.
POINT = 0.3
