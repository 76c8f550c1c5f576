"""The gap in one line: a value where it is even, else from where to where, and which walls."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from core.fit.gaps import GapProfile

EVEN_MM: Final = 0.05
"""A gap that differs by no more is one value: nobody files less."""


def gap_line(profiles: Sequence[GapProfile], figure: Callable[[float], str]) -> str:
    """``Gap 0.80 all round, both walls, base and lid``; ``Gap 0.55 to 1.04, outer wall; 0.60, inner wall``.

    Args:
        profiles: of every wall; none where there is no gap to speak of.
        figure: shows a length.
    """
    if not profiles:
        return "Gap: none is left"
    least = min(float(profile.gap.min()) for profile in profiles)
    greatest = max(float(profile.gap.max()) for profile in profiles)
    if greatest - least <= EVEN_MM:
        walls = "both walls" if len({profile.side for profile in profiles}) > 1 else f"{profiles[0].side} wall"
        ends = dict.fromkeys(str(profile.end) for profile in profiles)
        return f"Gap {figure((least + greatest) / 2.0)} all round, {walls}, {' and '.join(ends)}"
    said: dict[str, dict[str, None]] = {}
    for profile in profiles:
        low, high = float(profile.gap.min()), float(profile.gap.max())
        value = figure((low + high) / 2.0) if high - low <= EVEN_MM else f"{figure(low)} to {figure(high)}"
        said.setdefault(value, {})[f"{profile.side} wall"] = None
    return "Gap " + "; ".join(f"{value}, {' and '.join(walls)}" for value, walls in said.items())
