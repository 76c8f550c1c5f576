"""Limit and margin of a check as they are read on screen, beside the value that `core.files.report.summary` writes."""

from __future__ import annotations

from functools import lru_cache
from math import isfinite
from typing import TYPE_CHECKING

from core.files.report.values import limits_text, value_text
from core.words.lengths import show_length

if TYPE_CHECKING:
    from core.words.lengths import Style
    from core.words.verdicts import Finding


@lru_cache(maxsize=4096)
def length_text(mm: float, style: Style, *, with_unit: bool = True, signed: bool = False) -> str:
    """`show_length`, remembered: after an edit some hundred lengths are shown anew, and most are what they were."""
    return show_length(mm, style, with_unit=with_unit, signed=signed)


_value_text = lru_cache(maxsize=1024)(value_text)


def found_text(finding: Finding, style: Style) -> str:
    """What was found."""
    return _value_text(finding.value, finding.unit, style)


def margin_text(finding: Finding, style: Style) -> str:
    """How far inside or outside the limits: ``0.12 mm to spare``, ``0.30 mm short``, ``0.30 mm over``."""
    if not isfinite(finding.margin):
        return ""
    size = _value_text(abs(finding.margin), finding.unit, style)
    if finding.margin >= 0.0:
        return f"{size} to spare"
    is_short = finding.low is not None and finding.value < finding.low
    return f"{size} short" if is_short else f"{size} over"


def band_text(finding: Finding, style: Style) -> str:
    """Limit and margin in one line; empty where nothing was asked for."""
    if finding.low is None and finding.high is None:
        return ""
    return ", ".join(text for text in (limits_text(finding, style), margin_text(finding, style)) if text)
