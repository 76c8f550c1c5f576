"""The cut of a whole result."""

from __future__ import annotations

from typing import TYPE_CHECKING

from core.metal.section.section import section

if TYPE_CHECKING:
    from core.evaluate import Result
    from core.geometry.lines.outline import Point
    from core.metal.section.section import Section


def cut_of(result: Result, start: Point, stop: Point) -> Section:
    """What a line through base, lid and insert shows."""
    return section(result.before, result.after, result.project.limits, start, stop)
