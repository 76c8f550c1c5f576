"""Stud length from the stack that it passes, and the thread that the base has room for.

The stud in use is the one there was, moved by as many of its kind's lengths as the stack moved. It must not be shorter
than its stack; one more than two lengths longer than the next one sticks out for nothing, and the nut of a double-ended
stud must not run out of thread on its way down.
"""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING

from msgspec.structs import replace

from core.features.stud.engagement import ENGAGEMENT, engagement_of
from core.features.stud.kinds import KINDS, StudKind, nut_thread
from core.features.stud.stack import blind_depth, followed_length, stud_stack
from core.features.stud.stud import bore
from core.features.stud.threads import DIAMETER_MM, PITCH_MM, RUN_OUT_PITCHES, Thread
from core.metal.slabs import raised_under
from core.words.ends import End
from core.words.verdicts import Bound, Edit, Judged, Place, Remedy, Sentence, Verdict, plain

if TYPE_CHECKING:
    from core.features.stud.stud import Stud
    from core.fit.case import Case
    from core.words.verdicts import Finding

KEY = "stud"

_SLACK_MM = 1e-6
_RUNGS = 2  # lengths past the next one that still pass
_SIZES = 2  # smaller threads that are tried


def check(case: Case) -> tuple[Finding, ...]:
    """Length and engagement; studs that are alike share their findings."""
    groups: dict[tuple[object, ...], list[int]] = {}
    raised_by = raised_under(case.after.lid, case.housing.studs)
    before = case.before.housing.studs
    for i, stud in enumerate(case.housing.studs):
        alike = (stud.thread, stud.kind, before[i].length, stud.length, stud.hole_depth)
        groups.setdefault(alike, []).append(i)
    findings: list[Finding] = []
    for group in groups.values():
        stands: dict[float, list[int]] = {}
        for i in group:
            stands.setdefault(raised_by[i], []).append(i)
        findings += [_length(case, alike, raised) for raised, alike in stands.items()]
        findings.append(_engagement(case, group))
    return tuple(findings)


def _named(case: Case, group: list[int]) -> tuple[Stud, str, str]:
    """The first stud of the group, the words for the group, and how many there are."""
    stud = case.housing.studs[group[0]]
    more = len(group) - 1
    return stud, f"{plain(stud.name)} and {more} more" if more else plain(stud.name), f" ×{len(group)}" if more else ""


def _length(case: Case, group: list[int], raised: float) -> Finding:
    stud, names, times = _named(case, group)
    kind = KINDS[stud.kind]
    stack = stud_stack(case.housing, stud, case.limits, raised)
    was, now, needed = case.before.housing.studs[group[0]].length, stud.length, stack.length
    fitting = kind.ladder.next(needed)
    longest = kind.ladder.length(kind.ladder.rung(fitting) + _RUNGS)
    # Where its thread ends, the nut stands still, whether it has reached the washer or not.
    reach = inf if kind.screwed_in is None else stack.under_nut + nut_thread(stud.kind, stud.thread, now)
    reach -= _proud(stud)
    verdict, text = _length_words(stud, (now, needed, longest, reach))
    text += "; it was {was}" if was != now else "; it stays as it was"
    high = min(longest, reach)
    margin = min(now - needed, high - now)
    judged = Judged(Bound(now, needed, high), verdict, max(margin, 0.0) if verdict is Verdict.GO else margin)
    on_it, over_it = (" and what is raised on it", ", on a raised face") if raised > 0.0 else ("", "")
    lengths = {"short": max(needed - now, 0.0), "over": max(now - needed, 0.0), "lost": max(now - reach, 0.0)}
    finding = judged.finding(
        check=KEY,
        name=f"stud length, {stud.thread}{times}{over_it}",
        place=_place(case, group, "length"),
        advice=Sentence.of(f"{names}: {text}", now=now, needed=needed, fitting=fitting, was=was, **lengths),
        formula=Sentence.of(
            f"thread {{engagement}} + faces {{faces}} + lid{on_it} {{lid}} + washer {{washer}} + nut {{nut}} + showing "
            f"{{showing}} = {{all}} over all; the length counts {{needed}} {kind.counts}: {kind.words}",
            engagement=stack.engagement,
            faces=stack.faces,
            lid=stack.lid,
            washer=stack.washer,
            nut=stack.nut,
            showing=stack.showing,
            all=stack.over_all,
            needed=needed,
        ),
        remedies=() if judged.is_go else (_fitting(case, group, fitting),),
    )
    return finding.about(_subject(case, group, "length"))


def _length_words(stud: Stud, sizes: tuple[float, float, float, float]) -> tuple[Verdict, str]:
    """What is said of a stud's length, of the one needed, the longest one that passes, and where its thread ends."""
    kind, (now, needed, longest, reach) = KINDS[stud.kind], sizes
    next_one = f"{{fitting}} is the next length that {'it is cut to' if kind.is_cut else 'is standard'}"
    if now < needed - _SLACK_MM:
        text = f"{{now}} {kind.counts} is {{short}} too short for the stack of {{needed}}; {next_one}"
        return Verdict.NO_GO, text
    if now > reach + _SLACK_MM:
        text = f"the nut runs out of thread {{lost}} over the washer; {{now}} {kind.counts} is {{over}} more "
        return Verdict.NO_GO, f"{text}than the stack needs, and {next_one}"
    if now > longest + _SLACK_MM:
        return Verdict.MARGINAL, f"{{now}} {kind.counts} is {{over}} more than the stack needs; {next_one}"
    text = f"{{now}} {kind.counts} covers the stack of {{needed}}"
    return Verdict.GO, text + ("" if kind.ladder.has(now) else f"; it is no standard length, {next_one}")


def _fitting(case: Case, group: list[int], length: float) -> Remedy:
    """The lengths as built from which the studs come out at a length: what the project holds is what there was."""
    edits: list[Edit] = []
    for i in group:
        before = case.before.housing.studs[i]
        was = stud_stack(case.before.housing, before, case.limits).length
        now = stud_stack(case.housing, before, case.limits).length
        built = followed_length(replace(before, length=length), now, was)
        edits.append(Edit(f"housing.studs[{i}].length", built))
    return Remedy(f"fit {'studs' if len(group) > 1 else 'a stud'} of that next length", tuple(edits))


def _cut(stud: Stud) -> float:
    """The full thread that a blind hole has [mm]; endless in a hole right through."""
    depth = bore(stud, End.BASE).depth
    return inf if depth is None else max(depth - RUN_OUT_PITCHES * PITCH_MM[stud.thread], 0.0)


def _proud(stud: Stud) -> float:
    """How much of a screwed-in end finds no thread in its blind hole, so that the stud stands higher by it [mm]."""
    end = KINDS[stud.kind].screwed_in
    return 0.0 if end is None else max(end(stud.thread) - _cut(stud), 0.0)


def _room(case: Case, stud: Stud) -> tuple[float, str]:
    """The thread that can be engaged [mm], and what ends it, as words after the length."""
    base = case.housing.base
    room = [(base.thickness, "of base there")]
    if stud.hole_depth is not None:
        room.append((min(_cut(stud), base.thickness), "of full thread in its blind hole"))
    end = KINDS[stud.kind].screwed_in
    if end is not None:
        room.append((end(stud.thread), "of screwed-in end"))
    return min(room)


def _engagement(case: Case, group: list[int]) -> Finding:
    stud, names, times = _named(case, group)
    metal, factor = ENGAGEMENT[case.housing.metal.kind], engagement_of(case.housing.metal, case.limits)
    wanted = factor * DIAMETER_MM[stud.thread]
    value, what = _room(case, stud)
    judged = Bound(value, low=wanted).judged(case.limits.marginal)
    if judged.is_go:
        text = f"{names}: {{value}} {what}, room for the {{wanted}} of thread that is wanted"
    else:
        just = "only" if judged.verdict is Verdict.NO_GO else "just"
        text = f"{names}: {just} {{value}} {what} for {{wanted}} of thread"
    whose = "the limit" if case.limits.engagement is not None else f"{metal.metal}: {metal.origin}"
    finding = judged.finding(
        check=KEY,
        name=f"thread in the base, {stud.thread}{times}",
        place=_place(case, group, "thread") if judged.is_go else _place(case, group, "", path="housing.base.floor"),
        advice=Sentence.of(text, value=value, wanted=wanted),
        formula=Sentence.of(
            f"{factor:g} × diameter {{diameter}} = {{wanted}}, for {whose}; base thickness = floor {{floor}} + seat "
            "depth {depth}",
            floor=case.housing.base.floor,
            depth=case.housing.base.seat.depth,
            diameter=DIAMETER_MM[stud.thread],
            wanted=wanted,
        ),
        remedies=() if judged.is_go else _more_thread(case, group, judged.short),
    )
    return finding.about(_subject(case, group, "thread"))


def _more_thread(case: Case, group: list[int], short: float) -> tuple[Remedy, ...]:
    stud = case.housing.studs[group[0]]
    base = case.project.housing.base
    remedies: list[Remedy] = []
    studs, holes = ("studs", "their holes") if len(group) > 1 else ("a stud", "its hole")
    if KINDS[stud.kind].screwed_in is not None:
        for kind in (StudKind.END_1_25_D, StudKind.END_2_D, StudKind.THREADED):
            if kind is not stud.kind:
                words = KINDS[kind].words
                remedies.append(Remedy(f"take {studs} {words}", _each(group, "kind", kind)))
    if stud.hole_depth is not None:
        deep = blind_depth(stud, case.housing, case.limits)
        remedies.append(Remedy(f"drill {holes} {{to}} deep", _each(group, "hole_depth", deep)))
        remedies.append(Remedy(f"drill {holes} right through", _each(group, "hole_depth", None)))
    floor = Edit("housing.base.floor", start=base.floor, per=1.0)
    remedies.append(Remedy("make the base's floor {by} thicker", (floor,), short))
    smaller = [thread for thread in Thread if DIAMETER_MM[thread] < DIAMETER_MM[stud.thread]]
    remedies += [
        Remedy(f"take {thread} instead", _each(group, "thread", thread)) for thread in smaller[: -_SIZES - 1 : -1]
    ]
    return tuple(remedies)


def _each(group: list[int], field: str, value: object) -> tuple[Edit, ...]:
    return tuple(Edit(f"housing.studs[{i}].{field}", value) for i in group)


def _subject(case: Case, group: list[int], what: str) -> str:
    return f"{what} of {case.housing.studs[group[0]].name}"


def _place(case: Case, group: list[int], field: str, *, path: str = "") -> Place:
    stud = case.housing.studs[group[0]]
    return Place(End.BASE, (stud.x, stud.y), feature=stud.name, path=path or f"housing.studs[{group[0]}].{field}")
