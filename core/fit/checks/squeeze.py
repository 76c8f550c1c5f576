"""Squeeze of the soft rims between base and lid; play of a rigid insert; how far a single ring's insert stands out.

Closed height G = base seat depth + lid seat depth + distance between the faces; squeeze = free height − G, as a length
and as % of the soft rims' own thickness, not of the whole insert. At the ends of the height's spread the rims are
thicker or thinner by the same amount, and both seats are as deep or as shallow as their tolerances let them be: a rim
of 14.0 ± 0.6 in 11.5 ± 0.5 has (13.4 − 12.0) / 13.4 = 10.4 % at least and (14.6 − 11.0) / 14.6 = 24.7 % at most.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from core.fit.ways_out.depth import depth_remedies
from core.fit.words import at_best
from core.part.housing import Stop
from core.words.ends import End
from core.words.lengths import MINUS
from core.words.verdicts import Bound, Edit, Place, Remedy, Sentence, Unit, Verdict

if TYPE_CHECKING:
    from core.fit.case import Case
    from core.part.housing import Housing
    from core.words.verdicts import Finding

KEY = "squeeze"

_NO_STOP = "nothing stops the lid, so the nut's torque decides the squeeze and may bow the lid"
_FIT_A_STOP = (
    Remedy("fit a spacer as thick as the faces are apart", (Edit("housing.faces.stop", Stop.SPACER),)),
    Remedy("let the faces meet", (Edit("housing.faces.stop", Stop.FACES), Edit("housing.faces.distance", 0.0))),
)


def check(case: Case) -> tuple[Finding, ...]:
    """Squeeze at the sizes typed and at both ends of their spread; play or standing out where nothing is squeezed."""
    if case.housing.lid is None:
        return (_standing(case),)
    judged = _squeezed if case.insert.is_yielding else _played
    return tuple(judged(case, closing) for closing in closings(case))


class Closing(Struct, frozen=True):
    """One insert between one base and one lid, drawn down.

    Attributes:
        which: ``least``, ``greatest``, or empty for the sizes that were typed.
        height: free height of the insert [mm].
        base, lid, faces: what the closed height is made of, as typed [mm].
        deeper: by how much both seats together are deeper than typed [mm].
        soft: thickness of both soft rims together [mm].
    """

    which: str
    height: float
    base: float
    lid: float
    faces: float
    deeper: float
    soft: float

    @property
    def closed(self) -> float:
        """Closed height, between the two seat floors [mm]."""
        return self.base + self.lid + self.faces + self.deeper

    @property
    def squeeze(self) -> float:
        """What the rims give way together [mm]; below 0 it is play."""
        return self.height - self.closed

    @property
    def name(self) -> str:
        """The check's name for it."""
        return f"{self.which} squeeze".lstrip()

    def formula(self, result: str, **lengths: float) -> Sentence:
        """Where the closed height comes from, and then ``result``."""
        off = f" {'+' if self.deeper > 0.0 else '−'} tolerance of the depths {{off}}" if self.deeper else ""
        return Sentence.of(
            f"closed height = base {{base}} + lid {{lid}} + faces {{faces}}{off} = {{closed}}; {result}",
            base=self.base,
            lid=self.lid,
            faces=self.faces,
            off=abs(self.deeper),
            closed=self.closed,
            height=self.height,
            **lengths,
        )


def closings(case: Case) -> tuple[Closing, ...]:
    """As typed; and with the least and the greatest squeeze that the spread of height and depths can make."""
    housing, insert = case.housing, case.insert
    soft = insert.rim_at(End.BASE).thickness + insert.rim_at(End.LID).thickness
    off, depths = insert.plus_minus.height, depth_spread(housing)
    whiches = (("", 0.0), ("least", -1.0), ("greatest", 1.0)) if off > 0.0 or depths > 0.0 else (("", 0.0),)
    assert housing.lid is not None
    return tuple(
        Closing(
            which,
            insert.height + sign * off,
            housing.base.seat.depth,
            housing.lid.seat.depth,
            housing.faces.apart,
            -sign * depths,
            soft + sign * off,
        )
        for which, sign in whiches
    )


def depth_spread(housing: Housing) -> float:
    """By how much both seats together may be deeper or shallower than designed [mm]."""
    return sum(piece.seat.depth_plus_minus for end in housing.ends if (piece := housing.piece(end)) is not None)


def _squeezed(case: Case, closing: Closing) -> Finding:
    low, high = case.insert.squeeze_wanted
    if closing.soft <= 0.0:
        return _without_rim(closing, low, high)
    value = 100.0 * closing.squeeze / closing.soft
    judged = Bound(value, low, high, Unit.PERCENT).judged(case.limits.marginal)
    too_much = high - value < value - low
    percent = f"{value:.1f} %".replace("-", MINUS)
    of_it = f" at the {closing.which}" if closing.which else ""
    reads = (
        f"squeeze {{squeeze}}{of_it}, {percent} of the soft rims"
        if closing.squeeze > 0.0
        else f"no squeeze{of_it}: the rims have {{squeeze}} of play"
    )
    remedies: tuple[Remedy, ...] = ()
    if judged.is_go:
        text = f"{reads}, within {low:g} to {high:g} %"
    else:
        target = high * (1.0 - judged.band) if too_much else judged.aim
        limit = f"at most {high:g} %" if too_much else f"at least {low:g} %"
        text = f"{reads}; {limit} is wanted{'' if judged.verdict is Verdict.NO_GO else ', and it comes close'}"
        if _can_fit(case, low, high):
            remedies = depth_remedies(case, abs(value - target) / 100.0 * closing.soft, deeper=too_much)
        if case.housing.faces.stop is Stop.FACES and case.housing.faces.distance > 0.0:
            remedies = (*_FIT_A_STOP[:1], *remedies)  # a thickness that was typed for no spacer
        if closing.which and judged.verdict is Verdict.NO_GO:
            remedies = (*remedies, _closer(case))
    path = _path(remedies)
    if case.housing.faces.stop is Stop.NONE:
        if judged.is_go:
            remedies, path = _FIT_A_STOP, "housing.faces.stop"
        judged = judged.but(at_best(judged.verdict, Verdict.MARGINAL))
        text = f"{text}; {_NO_STOP}"
    formula = closing.formula(
        f"height {{height}} − closed height = {{squeeze}}, over soft rims {{soft}} = {percent}",
        squeeze=closing.squeeze,
        soft=closing.soft,
    )
    advice = Sentence.of(text, squeeze=abs(closing.squeeze))
    return judged.finding(
        check=KEY, name=closing.name, place=Place(path=path), advice=advice, formula=formula, remedies=remedies
    )


def _can_fit(case: Case, low: float, high: float) -> bool:
    """Whether some closed height brings both ends of the spread within the limits: else none is worth naming."""
    more = max(low / 100.0 * c.soft - c.squeeze for c in closings(case))
    return more <= min(high / 100.0 * c.soft - c.squeeze for c in closings(case))


def _path(remedies: tuple[Remedy, ...]) -> str:
    """Where the squeeze is changed first."""
    return next((edit.path for remedy in remedies for edit in remedy.edits), "housing.base.seat.depth")


def _closer(case: Case) -> Remedy:
    """What narrows the spread, which no size of the housing does."""
    known = ["measure more samples"] if case.insert.plus_minus.height > 0.0 else []
    held = ["hold the seats' depths closer"] if depth_spread(case.housing) > 0.0 else []
    return Remedy(", or ".join(known + held))


def _without_rim(closing: Closing, low: float, high: float) -> Finding:
    """The answer where the spread of the height is more than the soft rims: nothing is left that could be squeezed."""
    text = "at a free height of {height} no soft rim is left: its spread is more than the rims"
    judged = Bound(0.0, low, high, Unit.PERCENT).judged().but(Verdict.NO_GO)
    return judged.finding(
        check=KEY,
        name=closing.name,
        place=Place(path="new_insert.plus_minus.height"),
        advice=Sentence.of(text, height=closing.height),
        formula=closing.formula("soft rims at a free height of {height} = {soft}", soft=closing.soft),
        remedies=(Remedy("measure more samples"),),
    )


def _played(case: Case, closing: Closing) -> Finding:
    play, seat = -closing.squeeze, min(closing.base, closing.lid)
    judged = Bound(play, 0.0, seat).judged(case.limits.marginal)
    remedies: tuple[Remedy, ...] = ()
    if judged.is_go:
        text = "the rigid insert has {play} of play when closed; it is not squeezed"
    elif play > 0.0:
        than = "as much as" if judged.verdict is Verdict.NO_GO else "close to what"
        text = f"the rigid insert has {{play}} of play when closed, {than} the shallower seat is deep, {{seat}}"
        text += ": it can slip out of it"
        remedies = depth_remedies(case, play - seat * (1.0 - judged.band), deeper=False)
    else:
        text = "the rigid insert is {play} too high for the closed height and would be crushed"
        remedies = depth_remedies(case, -play, deeper=True)
    path = _path(remedies)
    if case.housing.faces.stop is Stop.NONE:
        if judged.is_go:
            remedies, path = _FIT_A_STOP, "housing.faces.stop"
        judged = judged.but(at_best(judged.verdict, Verdict.MARGINAL))
        text = f"{text}; nothing stops the lid but the insert"
    # The tallest insert between the shallowest seats has the least play.
    name = {"least": "greatest play", "greatest": "least play"}.get(closing.which, "play")
    return judged.finding(
        check=KEY,
        name=name,
        place=Place(path=path),
        advice=Sentence.of(text, play=abs(play), seat=seat),
        formula=closing.formula("closed height − height {height} = {play}", play=play),
        remedies=remedies,
    )


def _standing(case: Case) -> Finding:
    seat, height = case.housing.base.seat, case.insert.height
    proud, spread = height - seat.depth, seat.depth_plus_minus + case.insert.plus_minus.height
    if abs(proud) < 1e-9:
        text = "the insert is level with the joint face"
    elif proud > 0.0:
        text = "the insert stands {proud} proud of the joint face"
    else:
        text = "the insert lies {proud} under the joint face"
    text += ", give or take {spread}; nothing squeezes it" if spread > 0.0 else "; nothing squeezes it"
    judged = Bound(abs(proud)).judged()
    return judged.finding(
        check=KEY,
        name=f"insert {'below' if proud < 0.0 else 'above'} the joint face",
        place=Place(End.BASE, path="housing.base.seat.depth"),
        advice=Sentence.of(text, proud=abs(proud), spread=spread),
        formula=Sentence.of(
            "height {height} − seat depth {depth} = {proud}", height=height, depth=seat.depth, proud=proud
        ),
    )
