"""Squeeze of the soft rims between base and lid; play of a rigid insert; how far a single ring's insert stands out.

Closed gap G = base seat depth + lid seat depth + distance between the faces; squeeze = free height − G, as a length and
as % of the soft rims' own thickness, not of the whole insert. At the ends of the height's spread the rims are thicker
or thinner by the same amount: a rim of 14.0 ± 0.6 in a gap of 12.0 has (13.4 − 12.0) / 13.4 = 10.4 % at least.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf
from typing import TYPE_CHECKING

from core.fit.words import at_best, enough, is_rework
from core.housing import Stop
from core.insert_end import End
from core.project import HeightTo
from core.verdicts import Finding, Place, Sentence, Unit, Verdict, judge

if TYPE_CHECKING:
    from core.fit.case import Case
    from core.housing import Housing

KEY = "squeeze"

_NO_STOP = (
    "nothing stops the lid, so the nut's torque decides the squeeze and may bow the lid: fit a spacer, or let the "
    "faces meet"
)


def check(case: Case) -> tuple[Finding, ...]:
    """Squeeze at the free height and at both ends of its spread; play or standing out where nothing is squeezed."""
    if case.housing.lid is None:
        return (_standing(case),)
    closed = _closed(case.housing)
    height, spread = case.insert.height, case.insert.plus_minus.height
    judged = _squeezed if case.insert.is_yielding else _played
    findings = [judged(case, "", height, closed)]
    if spread > 0.0:
        findings += [
            judged(case, "least ", height - spread, closed),
            judged(case, "greatest ", height + spread, closed),
        ]
    return tuple(findings)


@dataclass(frozen=True, slots=True)
class _Closed:
    base: float
    lid: float
    faces: float

    @property
    def gap(self) -> float:
        return self.base + self.lid + self.faces

    def formula(self, result: str, **lengths: float) -> Sentence:
        return Sentence.of(
            f"closed gap = base {{base}} + lid {{lid}} + faces {{faces}} = {{gap}}; {result}",
            base=self.base,
            lid=self.lid,
            faces=self.faces,
            gap=self.gap,
            **lengths,
        )


def _closed(housing: Housing) -> _Closed:
    assert housing.lid is not None
    return _Closed(housing.base.seat.depth, housing.lid.seat.depth, housing.faces.distance)


def _remedy(case: Case, *, deeper: bool) -> tuple[str, str]:
    """What to do about the closed gap, with a field ``{by}``, and the project's path for it."""
    to = case.project.choices.height_to
    if is_rework(case) and not deeper:
        return "shim the seat floor by {by}, since metal can't be put back", "choices.height_to"
    if to is HeightTo.SPACER and case.housing.faces.stop is Stop.SPACER:
        return f"make the spacer {{by}} {'thicker' if deeper else 'thinner'}", "housing.faces.distance"
    end = End.LID if to is HeightTo.LID else End.BASE
    action = f"make the {end}'s seat {{by}} {'deeper' if deeper else 'shallower'}"
    changed = case.project.new_insert.height != case.project.old_insert.height
    if to is HeightTo.SQUEEZE and changed:
        return f"{action}, or let base, lid or spacer take the height change", "choices.height_to"
    return action, f"housing.{end}.seat.depth"


def _squeezed(case: Case, which: str, height: float, closed: _Closed) -> Finding:
    insert = case.insert
    limits = insert.squeeze_wanted
    soft = insert.rim_at(End.BASE).thickness + insert.rim_at(End.LID).thickness + height - insert.height
    squeeze = height - closed.gap
    if soft <= 0.0:
        return _without_rim(which, height, closed, limits, soft)
    value = 100.0 * squeeze / soft
    low, high = limits
    verdict, margin = judge(value, low=low, high=high, marginal_percent=case.limits.marginal)
    deeper = high - value < value - low
    remedy, path = _remedy(case, deeper=deeper)
    percent = f"{value:.1f} %"
    reads = (
        f"squeeze {{squeeze}}, {percent} of the soft rims"
        if squeeze > 0.0
        else "no squeeze: the rims have {squeeze} of play"
    )
    if verdict is Verdict.GO:
        text, by = f"{reads}, within {low:g} to {high:g} %", 0.0
    else:
        band = 0.0 if verdict is Verdict.NO_GO else case.limits.marginal / 100.0
        target = high * (1.0 - band) if deeper else low * (1.0 + band)
        by = abs(value - target) / 100.0 * soft
        near = "" if verdict is Verdict.NO_GO else "close to "
        wanted = f"{near}the {'greatest' if deeper else 'least'} of {(high if deeper else low):g} %"
        text = f"{reads}; {wanted}: {remedy}"
        if which and verdict is Verdict.NO_GO:
            text += ", or measure the free height closer"
    if case.housing.faces.stop is Stop.NONE:
        verdict = at_best(verdict, Verdict.MARGINAL)
        text = f"{text}; {_NO_STOP}"
        path = "housing.faces.stop"
    return Finding(
        KEY,
        f"{which}squeeze",
        verdict,
        value,
        Unit.PERCENT,
        low,
        high,
        margin,
        Place(path=path),
        Sentence.of(text, squeeze=abs(squeeze), by=enough(case, by)),
        closed.formula(
            f"height {{height}} − gap = {{squeeze}}, over soft rims {{soft}} = {percent}",
            height=height,
            squeeze=squeeze,
            soft=soft,
        ),
    )


def _without_rim(which: str, height: float, closed: _Closed, limits: tuple[float, float], soft: float) -> Finding:
    """The answer where the spread of the height is more than the soft rims: nothing is left that could be squeezed."""
    text = "at a free height of {height} no soft rim is left: its spread is more than the rims; measure it closer"
    return Finding(
        KEY,
        f"{which}squeeze",
        Verdict.NO_GO,
        0.0,
        Unit.PERCENT,
        *limits,
        -limits[0],
        Place(path="new_insert.plus_minus.height"),
        Sentence.of(text, height=height),
        closed.formula("soft rims at a free height of {height} = {soft}", height=height, soft=soft),
    )


def _played(case: Case, which: str, height: float, closed: _Closed) -> Finding:
    play = closed.gap - height
    verdict, margin = judge(play, low=0.0, high=None, marginal_percent=case.limits.marginal)
    remedy, path = _remedy(case, deeper=True)
    if verdict is Verdict.GO:
        text = "the rigid insert has {play} of play when closed; it is not squeezed"
    else:
        text = f"the rigid insert is {{play}} too high for the closed gap and would be crushed: {remedy}"
    if case.housing.faces.stop is Stop.NONE:
        verdict = at_best(verdict, Verdict.MARGINAL)
        text = f"{text}; nothing stops the lid but the insert: fit a spacer or let the faces meet"
        path = "housing.faces.stop"
    # The tallest insert has the least play.
    name = {"least ": "play of the lowest insert", "greatest ": "play of the tallest insert"}.get(which, "play")
    return Finding(
        KEY,
        name,
        verdict,
        play,
        Unit.LENGTH,
        0.0,
        None,
        margin,
        Place(path=path),
        Sentence.of(text, play=abs(play), by=enough(case, -play)),
        closed.formula("gap − height {height} = {play}", height=height, play=play),
    )


def _standing(case: Case) -> Finding:
    depth, height = case.housing.base.seat.depth, case.insert.height
    proud = height - depth
    if abs(proud) < 1e-9:
        text = "the insert is level with the joint face"
    elif proud > 0.0:
        text = "the insert stands {proud} proud of the joint face; nothing squeezes it"
    else:
        text = "the insert lies {proud} under the joint face; nothing squeezes it"
    return Finding(
        KEY,
        f"insert {'below' if proud < 0.0 else 'above'} the joint face",
        Verdict.GO,
        abs(proud),
        Unit.LENGTH,
        None,
        None,
        inf,
        Place(End.BASE, path="housing.base.seat.depth"),
        Sentence.of(text, proud=abs(proud)),
        Sentence.of("height {height} − seat depth {depth} = {proud}", height=height, depth=depth, proud=proud),
    )
