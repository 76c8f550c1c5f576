"""The two pieces of a housing, and the two ends of the insert that sit in them."""

from __future__ import annotations

from enum import StrEnum


class End(StrEnum):
    """The two pieces of a housing, and the two ends of the insert that sit in them."""

    BASE = "base"
    LID = "lid"
