"""What checks are about, as a caster asks it: does it go in, does it bear, does the metal hold, is there room.

A concern gathers the findings of some checks with the limits that they are held against; what is well of it fits one
line, with the finding that has the least to spare.
"""

from __future__ import annotations

from math import isfinite
from typing import TYPE_CHECKING, Final

from msgspec import Struct

from core.fit.checks import (
    bearing,
    fill,
    gap,
    hole_edge,
    keep_out,
    knife_edge,
    open_area,
    overhang,
    spread,
    squeeze,
    stud,
    tight,
    web,
)
from core.words.findings import found_text
from core.words.verdicts import Unit, Verdict, worst

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from core.words.ends import End
    from core.words.lengths import Style
    from core.words.verdicts import Finding


class Concern(Struct, frozen=True):
    """What some checks are about.

    Attributes:
        title: one word.
        checks: the keys of their findings.
        limits: names of fields of the project's limits, those that belong side by side in one row.
    """

    title: str
    checks: frozenset[str]
    limits: tuple[tuple[str, ...], ...]


CONCERNS: Final = (
    Concern(
        "Gap",
        frozenset({gap.KEY}),
        (("gap_outer_least", "gap_outer_greatest"), ("gap_inner_least", "gap_inner_greatest")),
    ),
    Concern("Bearing", frozenset({bearing.KEY}), (("bearing_least",),)),
    Concern("Squeeze", frozenset({squeeze.KEY, fill.KEY, spread.KEY}), (("fill",),)),
    Concern(
        "Metal",
        frozenset({web.KEY, knife_edge.KEY, overhang.KEY}),
        (("web_least",), ("floor_least",)),
    ),
    Concern("Holes", frozenset({hole_edge.KEY, tight.KEY}), (("hole_edge",),)),
    Concern("Neighbours", frozenset({keep_out.KEY}), (("keep_out_margin",), ("flush",))),
    Concern("Studs", frozenset({stud.KEY}), (("engagement",), ("threads_showing",))),
    Concern("Opening", frozenset({open_area.KEY}), (("open_area",), ("flow",), ("face_velocity",))),
)
"""In the order in which they are listed; each check belongs to one."""


class Standing(Struct, frozen=True):
    """How a concern stands in one result.

    Attributes:
        findings: of it, in the order of the checks; at least one.
    """

    concern: Concern
    findings: tuple[Finding, ...]

    @property
    def verdict(self) -> Verdict:
        """The worst of it."""
        return worst(finding.verdict for finding in self.findings)

    @property
    def tightest(self) -> Finding | None:
        """The finding that goes with the least to spare; None where no limit was asked for.

        Of what has one unit the least margin, of several units the one that is the smallest part of its limit. A count
        has nothing to spare.
        """
        judged = [f for f in self.well if isfinite(f.margin) and f.unit is not Unit.NONE]
        least = {
            unit: min((f for f in judged if f.unit is unit), key=lambda f: f.margin)
            for unit in {f.unit for f in judged}
        }
        return min(least.values(), key=tightness, default=None)

    @property
    def well(self) -> tuple[Finding, ...]:
        """What goes."""
        return tuple(finding for finding in self.findings if finding.verdict is Verdict.GO)


def standings(findings: Iterable[Finding]) -> tuple[Standing, ...]:
    """The concerns that some findings are about, in their order."""
    found = tuple(findings)
    mine = ((concern, tuple(f for f in found if f.check in concern.checks)) for concern in CONCERNS)
    return tuple(Standing(concern, those) for concern, those in mine if those)


def concern_of(finding: Finding) -> Concern:
    """The concern that a finding belongs to."""
    return next(concern for concern in CONCERNS if finding.check in concern.checks)


def tightness(finding: Finding) -> float:
    """The margin as a part of the nearest limit, or the margin itself where a limit is 0."""
    bounds = [abs(bound) for bound in (finding.low, finding.high) if bound]
    return finding.margin / min(bounds) if bounds else finding.margin


def urgency(finding: Finding) -> tuple[int, float]:
    """The worst verdicts first, then what has the least to spare."""
    return -finding.verdict.rank, tightness(finding)


def gauge(finding: Finding) -> float | None:
    """Where a value lies on a scale from 0 to 1; None where there is no limit.

    Between two limits as it lies between them. With one limit, which is an end of the scale, the middle is as far from
    it as the limit is from 0 (one unit where the limit is 0), and the other end is farther than any value.
    """
    low, high, value = finding.low, finding.high, finding.value
    if low is not None and high is not None:
        return min(max((value - low) / (high - low), 0.0), 1.0) if high > low else 0.5
    if low is None and high is None:
        return None
    limit = low if low is not None else high
    assert limit is not None
    beyond = max(finding.margin, 0.0)
    far = beyond / (beyond + (abs(limit) or 1.0)) if isfinite(beyond) else 1.0
    return far if low is not None else 1.0 - far


class Together(Struct, frozen=True):
    """Findings that read the same but for their place.

    Attributes:
        name: of all of them, as ``least gap, outer wall, both``.
    """

    name: str
    findings: tuple[Finding, ...]


def together(findings: Sequence[Finding], style: Style) -> tuple[Together, ...]:
    """Findings in their order, those of base and lid that read the same, and alike ones of several places, as one.

    Alike are those of one check, verdict, shown value and shown limits, whose names begin with one word.
    """
    groups: dict[tuple[object, ...], list[Finding]] = {}
    for finding in findings:
        what = finding.name.split()[0].rstrip(",")
        key = (finding.check, what, finding.verdict, found_text(finding, style), finding.low, finding.high)
        groups.setdefault(key, []).append(finding)
    return tuple(Together(_name(group), tuple(group)) for group in groups.values())


def _name(group: Sequence[Finding]) -> str:
    first = group[0]
    if len(group) == 1:
        return first.name
    heads = dict.fromkeys(finding.name.partition(", ")[0] for finding in group)
    first_head, *more = heads
    what = f"{first_head} and {more[0]}" if len(more) == 1 else first_head + (f" +{len(more)}" if more else "")
    where: dict[str, set[End]] = {}
    for finding in group:
        end = finding.place.end
        place = finding.name.partition(", ")[2]
        if end is not None:
            place = place.replace(f"{end}'s ", "").removesuffix(str(end)).removesuffix(", ")
            where.setdefault(place, set()).add(end)
        else:
            where.setdefault(place, set())
    alike = {frozenset(ends) for ends in where.values()}
    ends = next(iter(alike)) if len(alike) == 1 else frozenset()
    places = " and ".join(place for place in where if place)
    of = " and ".join(sorted(ends))
    return ", ".join(text for text in (what, places, of) if text)
