"""The checks, one module each, all of one signature: ``check(case) -> findings``."""

from __future__ import annotations

from typing import TYPE_CHECKING

from core.fit.checks import (
    bearing,
    corner,
    fill,
    gap,
    hole_edge,
    keep_out,
    knife_edge,
    open_area,
    overhang,
    section,
    spread,
    squeeze,
    stud,
    tight,
    wall_gone,
    web,
)

if TYPE_CHECKING:
    from collections.abc import Callable

    from core.fit.case import Case
    from core.words.verdicts import Finding

CHECKS: tuple[Callable[[Case], tuple[Finding, ...]], ...] = (
    gap.check,
    wall_gone.check,
    bearing.check,
    squeeze.check,
    fill.check,
    spread.check,
    web.check,
    knife_edge.check,
    section.check,
    corner.check,
    overhang.check,
    hole_edge.check,
    keep_out.check,
    stud.check,
    tight.check,
    open_area.check,
)
"""In the order in which they are told."""
