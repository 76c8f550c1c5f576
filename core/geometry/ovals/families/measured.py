"""An outline that was measured: its vertices are what it is, and no formula holds for it."""

from __future__ import annotations

from core.geometry.ovals.families.kind import Kind


class Measured(Kind):
    """See `core.geometry.ovals.measured`."""

    words = "measured outline"
    is_sized = False
