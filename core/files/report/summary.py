"""A result in plain text, and as the values that the command line prints as JSON."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from core.features.stud.kinds import KINDS
from core.features.stud.stud import bore
from core.words.findings import limits_text, value_text
from core.words.lengths import show_length, shower

if TYPE_CHECKING:
    from core.evaluate import Result
    from core.features.stud.stud import Stud
    from core.words.verdicts import Place


def as_text(result: Result) -> str:
    """Changes, conflicts and verdicts, a line each."""
    style = result.project.style
    show = shower(style)
    lines = [f"{result.project.name}: {result.overall.upper()}", "", "Changes"]
    changed = [c for c in result.changes if c.is_change]
    for c in changed:
        was, now = (("–" if v is None else show(v)) for v in (c.was, c.now))
        by = show_length(c.by, style, signed=True)
        lines.append(f"  {c.end or 'both'}: {c.feature}, {c.quantity}: {was} -> {now} ({by}); {c.why}")
    if not changed:
        lines.append("  none")
    kept = [c.feature for c in result.changes if not c.is_change and "fixed to the machine" in c.why]
    if kept:
        lines += ["", f"Fixed to the machine: {', '.join(dict.fromkeys(kept))}"]
    lines += ["", "Conflicts"]
    lines += [f"  {c.feature}: {c.what.show(show)}" for c in result.conflicts] or ["  none"]
    lines += ["", "Verdicts"]
    for f in result.findings:
        value = value_text(f.value, f.unit, style)
        lines.append(f"  {f.verdict:<8} {f.name}: {value} ({limits_text(f, style)}); {f.advice.show(show)}")
    return "\n".join(lines)


def as_builtins(result: Result) -> dict[str, Any]:
    """Changes, conflicts and verdicts as plain values; lengths in mm."""
    show = shower(result.project.style)
    return {
        "project": result.project.name,
        "overall": str(result.overall),
        "changes": [
            {
                "piece": None if c.end is None else str(c.end),
                "feature": c.feature,
                "quantity": c.quantity,
                "was_mm": c.was,
                "now_mm": c.now,
                "by_mm": c.by,
                "why": c.why,
                "changed": c.is_change,
            }
            for c in result.changes
        ],
        "conflicts": [
            {"feature": c.feature, "what": c.what.show(show), "place": _place(c.place)} for c in result.conflicts
        ],
        "studs": [_stud(stud, result) for stud in result.after.housing.studs],
        "verdicts": [
            {
                "check": f.check,
                "name": f.name,
                "verdict": str(f.verdict),
                "value": _finite(f.value),
                "unit": str(f.unit),
                "low": f.low,
                "high": f.high,
                "margin": _finite(f.margin),
                "place": _place(f.place),
                "advice": f.advice.show(show),
                "formula": f.formula.show(show),
            }
            for f in result.findings
        ],
    }


def _stud(stud: Stud, result: Result) -> dict[str, Any]:
    kind = KINDS[stud.kind]
    return {
        "name": stud.name,
        "thread": str(stud.thread),
        "kind": str(stud.kind),
        "length_mm": stud.length,
        "counted": kind.counts,
        "holes": [
            {
                "piece": str(end),
                "purpose": hole.purpose,
                "drill_mm": hole.diameter,
                "depth_mm": hole.depth,
                "through": hole.depth is None,
            }
            for end in result.after.housing.ends
            for hole in (bore(stud, end),)
        ],
    }


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None


def _place(place: Place) -> dict[str, Any]:
    return {
        "piece": None if place.end is None else str(place.end),
        "point_mm": place.point,
        "other_mm": place.other,
        "feature": place.feature,
        "path": place.path,
    }
