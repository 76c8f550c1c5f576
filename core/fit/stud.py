"""Stud length from the stack that it passes, and the thread that the base has room for.

The stud in use is the one there was, moved by as many standard lengths as the stack moved. It must not be shorter than
its stack; one more than two standard lengths longer than the next standard sticks out for nothing.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from core.fit.words import enough
from core.insert_end import End
from core.studs import DIAMETER_MM, next_standard, stud_stack
from core.verdicts import Finding, Place, Sentence, Unit, Verdict, judge, plain

if TYPE_CHECKING:
    from core.fit.case import Case
    from core.housing import Stud, Thread

KEY = "stud"

_SLACK_MM = 1e-6
_RUNGS = 2  # standard lengths past the next standard that still pass


def check(case: Case) -> tuple[Finding, ...]:
    """Length and engagement; studs that are alike share their findings."""
    groups: dict[tuple[Thread, float, float], list[int]] = {}
    before = case.before.housing.studs
    for i, stud in enumerate(case.housing.studs):
        groups.setdefault((stud.thread, before[i].length, stud.length), []).append(i)
    findings: list[Finding] = []
    for group in groups.values():
        findings.append(_length(case, group))
        findings.append(_engagement(case, group))
    return tuple(findings)


def _named(case: Case, group: list[int]) -> tuple[Stud, str, str]:
    """The first stud of the group, and the words for the group and for its verb's number."""
    stud = case.housing.studs[group[0]]
    more = len(group) - 1
    return stud, f"{plain(stud.name)} and {more} more" if more else plain(stud.name), f" ×{len(group)}" if more else ""


def _length(case: Case, group: list[int]) -> Finding:
    stud, names, times = _named(case, group)
    limits = case.limits
    stack = stud_stack(case.housing, stud, engagement=limits.engagement, threads_showing=limits.threads_showing)
    was, now, needed = case.before.housing.studs[group[0]].length, stud.length, stack.length
    standard = longest = next_standard(needed)
    for _ in range(_RUNGS):
        longest = next_standard(longest + _SLACK_MM)
    if now < needed - _SLACK_MM:
        verdict = Verdict.NO_GO
        text = f"{names}: {{now}} long, {{short}} too short for the stack of {{needed}}: fit {{standard}}"
    elif now > longest + _SLACK_MM:
        verdict = Verdict.MARGINAL
        text = f"{names}: {{now}} long where {{standard}} does; {{over}} more than the stack needs: fit {{standard}}"
    else:
        verdict = Verdict.GO
        text = f"{names}: {{now}} covers the stack of {{needed}}"
    text += "; it was {was}" if was != now else "; it stays as it was"
    return Finding(
        KEY,
        f"stud length, {stud.thread}{times}",
        verdict,
        now,
        Unit.LENGTH,
        needed,
        longest,
        min(now - needed, longest - now) if verdict is not Verdict.GO else max(min(now - needed, longest - now), 0.0),
        _place(case, group, "length"),
        Sentence.of(
            text,
            now=now,
            needed=needed,
            standard=standard,
            was=was,
            short=max(needed - now, 0.0),
            over=max(now - needed, 0.0),
        ),
        Sentence.of(
            "thread {engagement} + faces {faces} + lid {lid} + washer {washer} + nut {nut} + showing {showing} "
            "= {needed}; next standard {standard}",
            engagement=stack.engagement,
            faces=stack.faces,
            lid=stack.lid,
            washer=stack.washer,
            nut=stack.nut,
            showing=stack.showing,
            needed=needed,
            standard=standard,
        ),
    )


def _engagement(case: Case, group: list[int]) -> Finding:
    stud, names, times = _named(case, group)
    diameter = DIAMETER_MM[stud.thread]
    wanted = case.limits.engagement * diameter
    # The boss is as high as the base is thick; a deeper thread would have no metal.
    value = case.housing.base.thickness
    verdict, margin = judge(value, low=wanted, high=None, marginal_percent=case.limits.marginal)
    if verdict is Verdict.GO:
        text = f"{names}: the base is {{value}} thick there, room for {{wanted}} of thread"
    else:
        reads = "only {value} of base" if verdict is Verdict.NO_GO else "just {value} of base"
        remedy = "make the base's floor {short} thicker or take a smaller thread"
        text = f"{names}: {reads} for {{wanted}} of thread: {remedy}"
    band = case.limits.marginal / 100.0
    short = max(wanted * (1.0 if verdict is Verdict.NO_GO else 1.0 + band) - value, 0.0)
    return Finding(
        KEY,
        f"thread in the base, {stud.thread}{times}",
        verdict,
        value,
        Unit.LENGTH,
        wanted,
        None,
        margin,
        _place(case, group, "thread") if verdict is Verdict.GO else _place(case, group, "", path="housing.base.floor"),
        Sentence.of(text, value=value, wanted=wanted, short=enough(case, short)),
        Sentence.of(
            f"base thickness = floor {{floor}} + seat depth {{depth}} = {{value}}; {case.limits.engagement:g} × "
            "diameter {diameter} = {wanted}",
            floor=case.housing.base.floor,
            depth=case.housing.base.seat.depth,
            value=value,
            diameter=diameter,
            wanted=wanted,
        ),
    )


def _place(case: Case, group: list[int], field: str, *, path: str = "") -> Place:
    stud = case.housing.studs[group[0]]
    return Place(End.BASE, (stud.x, stud.y), feature=stud.name, path=path or f"housing.studs[{group[0]}].{field}")
