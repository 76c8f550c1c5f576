"""What checks found as it is read: values in the project's own unit, and their limits."""

from __future__ import annotations

from functools import lru_cache
from math import isfinite
from typing import TYPE_CHECKING, Final, assert_never

from core.words.lengths import ABOUT, MINUS, Style, show_length
from core.words.verdicts import Unit

if TYPE_CHECKING:
    from core.words.verdicts import Finding

_MM_PER_INCH: Final = 25.4
_SMALL_MM: Final = _MM_PER_INCH / 8.0


def value_text(value: float, unit: Unit, style: Style) -> str:
    """A check's value with its unit; ``none`` where there is none."""
    if not isfinite(value):
        return "none"
    match unit:
        case Unit.LENGTH:
            shown = show_length(value, style)
            # What is small is judged in thousandths: half a sixty-fourth is most of a gap.
            return show_length(value, Style.INCH) if ABOUT in shown and abs(value) < _SMALL_MM else shown
        case Unit.AREA:
            text = f"{value:.0f} mm²" if style is Style.MM else f"{value / _MM_PER_INCH**2:.3f} in²"
        case Unit.PERCENT:
            text = f"{value:.1f} %"
        case Unit.NONE if value.is_integer():  # a count
            text = f"{value:.0f}"
        case Unit.NONE | Unit.VELOCITY:
            text = f"{value:.2f} {unit.value}".rstrip()
        case _:
            assert_never(unit)
    return text.replace("-", MINUS)


def limits_text(finding: Finding, style: Style) -> str:
    """The limits of a finding in words: ``0.30 mm to 1.50 mm``, ``at least 4.00 mm``."""
    low = None if finding.low is None else value_text(finding.low, finding.unit, style)
    high = None if finding.high is None else value_text(finding.high, finding.unit, style)
    if low is not None and high is not None:
        return f"{low} to {high}"
    if low is not None:
        return f"at least {low}"
    return "no limit" if high is None else f"at most {high}"


_shown = lru_cache(maxsize=1024)(value_text)  # after an edit most values are what they were


def found_text(finding: Finding, style: Style) -> str:
    """What was found."""
    return _shown(finding.value, finding.unit, style)


def margin_text(finding: Finding, style: Style) -> str:
    """How far inside or outside the limits: ``0.12 mm to spare``, ``0.30 mm short``, ``0.30 mm over``."""
    if not isfinite(finding.margin):
        return ""
    size = _shown(abs(finding.margin), finding.unit, style)
    if finding.margin >= 0.0:
        return f"{size} to spare"
    is_short = finding.low is not None and finding.value < finding.low
    return f"{size} short" if is_short else f"{size} over"


def band_text(finding: Finding, style: Style) -> str:
    """Limit and margin in one line; empty where nothing was asked for."""
    if finding.low is None and finding.high is None:
        return ""
    return ", ".join(text for text in (limits_text(finding, style), margin_text(finding, style)) if text)
