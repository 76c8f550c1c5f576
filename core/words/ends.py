"""The two pieces of a housing, the two ends of the insert that sit in them, and the two walls of each seat."""

from __future__ import annotations

from enum import StrEnum


class End(StrEnum):
    """The two pieces of a housing, and the two ends of the insert that sit in them."""

    BASE = "base"
    LID = "lid"


class Side(StrEnum):
    """The two walls of a seat."""

    OUTER = "outer"
    INNER = "inner"
