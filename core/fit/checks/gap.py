"""Gap between rim and seat walls, all the way round, with the inserts at the ends of their sizes' spread.

A rigid rim must clear its walls at every station. A yielding rim settles in its seat: what decides is the developed
length, mean gap = (seat length − rim length) / 2π (Steiner: a parallel at the distance d is 2πd longer). Where its
developed gap serves, a local gap outside the limits is marginal, not more, as long as the walls press the rim radially
no harder than its insert allows.

One wall guides the rim. In a casting from the shelf, whose metal can't be put back, a wide gap at the other wall alone
is marginal, not more, as long as the guiding wall serves and the rim bears all round; interference is not spared.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from core.fit.checks import bearing
from core.fit.gaps import has_wall
from core.fit.seat.extremes import has_spread, spread_gaps
from core.fit.words import is_rework
from core.words.ends import Side
from core.words.verdicts import Bound, Edit, Place, Remedy, Sentence, Verdict, worst
from core.words.whereabouts import whereabouts

if TYPE_CHECKING:
    from core.fit.case import Case
    from core.fit.gaps import GapProfile
    from core.words.ends import End
    from core.words.verdicts import Finding, Judged

KEY = "gap"

_EVEN_MM = 1e-6  # a gap that varies by less is the same all round
_REFILL = Remedy("fill the old seat there"), Remedy("cast anew")


def check(case: Case) -> tuple[Finding, ...]:
    """Least and greatest gap of each wall, one finding where they are alike; for a yielding rim the developed gap."""
    walls = [_Wall(case, profile) for profile in case.gaps if has_wall(case.housing.piece(profile.end), profile.side)]
    guiding = {w.profile.end: w for w in walls if w.profile.side is case.project.choices.guided_by}
    findings: list[Finding] = []
    for wall in walls:
        found = wall.findings()
        guide = guiding.get(wall.profile.end)
        if guide not in (None, wall) and wall.has_earlier_seat and any(_is_wide(f) for f in found):
            assert guide is not None
            serves = worst(f.verdict for f in guide.findings()) is not Verdict.NO_GO and _bears(case, wall.profile.end)
            found = [wall.guided_by(guide, f) if serves and _is_wide(f) else f for f in found]
        findings += found
    return tuple(findings)


def _is_wide(finding: Finding) -> bool:
    high = finding.high
    return finding.verdict is Verdict.NO_GO and high is not None and finding.value > high


def _bears(case: Case, end: End) -> bool:
    """Whether a piece's seat carries the rim as it must, pushed fully to any side."""
    return all(f.verdict is not Verdict.NO_GO for f in bearing.check(case) if f.place.end is end)


class _Reading(Struct, frozen=True):
    """A gap to judge, and the words for it.

    Attributes:
        typed: what it is without the spread [mm].
        other: the gap at the other end: the greatest beside the least, the least beside the greatest [mm].
    """

    name: str
    what: str
    bound: Bound
    typed: float
    other: float
    where: str


class _Wall:
    """One rim against one wall of its seat, and the words for it."""

    def __init__(self, case: Case, profile: GapProfile) -> None:
        self.case, self.profile = case, profile
        self.insert = case.insert
        piece, resolved = case.housing.piece(profile.end), case.after.piece(profile.end)
        assert piece is not None
        assert resolved is not None
        self.piece, self.resolved = piece, resolved
        is_outer = profile.side is Side.OUTER
        self.designed = piece.seat.gap_outer if is_outer else piece.seat.gap_inner
        self.has_earlier_seat = piece.earlier_seat is not None
        is_ring = case.housing.lid is None
        self.what = "bedding gap" if is_ring and not self.insert.is_yielding else "gap"
        self.wall = f"{profile.side} wall" if is_ring else f"{profile.end}'s {profile.side} wall"
        self.path = f"choices.gap_{profile.side}"
        self.low, self.high = case.limits.gap(profile.side)
        self.tight, self.loose = spread_gaps(case, profile)

    def findings(self) -> list[Finding]:
        tight, loose = self.tight, self.loose
        if loose.greatest - tight.least <= _EVEN_MM:
            found = [self._local(self.what, tight, tight.least_at, self.low, self.high)]
        else:
            found = [
                self._local(f"least {self.what}", tight, tight.least_at, self.low, None),
                self._local(f"greatest {self.what}", loose, loose.greatest_at, None, self.high),
            ]
        if self.insert.is_yielding:
            if tight.developed_mean == loose.developed_mean:
                found.append(self._by_length("developed", tight, self.low, self.high))
            else:
                found.append(self._by_length("least developed", tight, self.low, None))
                found.append(self._by_length("greatest developed", loose, None, self.high))
        return found

    def guided_by(self, guide: _Wall, finding: Finding) -> Finding:
        """The answer for a gap that is wide while the other wall guides the rim and the rim bears."""
        advice = finding.advice.then(
            "; ",
            Sentence(
                f"the {guide.wall} guides the rim and it bears on the floor all round, so this alone is no reason to "
                "give the casting up"
            ),
        )
        return replace(finding, verdict=Verdict.MARGINAL, advice=advice)

    def _local(self, name: str, at_end: GapProfile, at: int, low: float | None, high: float | None) -> Finding:
        """The gap at one station, with the insert at one end of its spread."""
        value = float((at_end.gap if low is None else at_end.tightest)[at])
        typed = self.profile
        nominal = typed.greatest if low is None else typed.least
        other = self.tight.least if low is None else self.loose.greatest
        rim = (float(at_end.rim[at, 0]), float(at_end.rim[at, 1]))
        wall = (float(at_end.wall[at, 0]), float(at_end.wall[at, 1]))
        is_even = at_end.greatest - at_end.least <= _EVEN_MM
        where = "all round" if is_even else f"{whereabouts(rim, self.resolved.curves.seat_outer)} of"
        formula = Sentence.of(
            f"normal distance from rim to {self.wall}, {len(typed.gap)} stations: least {{least}}, mean {{mean}}, "
            "greatest {greatest}; designed {designed}",
            least=typed.least,
            mean=typed.mean,
            greatest=typed.greatest,
            designed=self.designed,
        )
        if has_spread(self.insert):
            formula = formula.then(
                "; with the spread of the sizes ",
                Sentence.of("{from} to {to}", **{"from": self.tight.least, "to": self.loose.greatest}),
            )
        place = Place(self.profile.end, rim, wall, feature=f"seat {self.profile.side}", path=self.path)
        reading = _Reading(name, self.what, Bound(value, low, high), nominal, other, where)
        return self._finding(reading, at_end, place, formula)

    def _by_length(self, name: str, at_end: GapProfile, low: float | None, high: float | None) -> Finding:
        """The developed gap of a yielding rim."""
        what, is_outer = f"developed {self.what}", self.profile.side is Side.OUTER
        outline, order = (
            (self.resolved.walls[0], "wall {wall} − rim {rim}")
            if is_outer
            else (self.resolved.walls[1], "rim {rim} − wall {wall}")
        )
        value = at_end.developed_mean
        formula = Sentence.of(
            f"developed gap = ({order}) / 2π = {{value}}",
            wall=at_end.wall_length,
            rim=at_end.rim_length,
            value=value,
        )
        place = Place(self.profile.end, outline=outline, feature=f"seat {self.profile.side}", path=self.path)
        typed, other = self.profile.developed_mean, (self.tight if low is None else self.loose).developed_mean
        reading = _Reading(f"{name} {self.what}", what, Bound(value, low, high), typed, other, "all round")
        return self._finding(reading, None, place, formula)

    def _finding(self, r: _Reading, at_end: GapProfile | None, place: Place, formula: Sentence) -> Finding:
        """The answer for one reading; ``at_end`` is given for a local one, which a yielding rim may settle."""
        judged, value = r.bound.judged(self.case.limits.marginal), r.bound.value
        advice = self._reads(r, judged.verdict)
        remedies = () if judged.is_go else self._remedies(r, judged)
        if at_end is not None and judged.verdict is Verdict.NO_GO and self._settles(value, at_end):
            judged, advice = judged.but(Verdict.MARGINAL), self._settling(value, r.where, at_end)
        name = f"{r.name}, {self.wall}"
        return judged.finding(check=KEY, name=name, place=place, advice=advice, formula=formula, remedies=remedies)

    def _settles(self, value: float, at_end: GapProfile) -> bool:
        """Whether a yielding rim may give way here: its developed gap serves, and it is not pressed too hard."""
        if not self.insert.is_yielding:
            return False
        mean = Bound(at_end.developed_mean, self.low, self.high).judged()
        return mean.is_go and self._pressed_percent(value) <= self.insert.squeeze_wanted[1]

    def _pressed_percent(self, value: float) -> float:
        return max(-value, 0.0) / self.insert.rim_at(self.profile.end).width * 100.0

    def _settling(self, value: float, where: str, at_end: GapProfile) -> Sentence:
        press = f", pressed by {self._pressed_percent(value):.1f} % of its width" if value < 0.0 else ""
        reads = "interference {size}" if value < 0.0 else f"{self.what} {{size}}"
        return Sentence.of(
            f"{reads} {where} the {self.wall}{press}; the rim is soft and its developed gap of {{mean}} serves, so "
            "it settles: try the real rim in the seat before cutting",
            size=abs(value),
            mean=at_end.developed_mean,
        )

    def _reads(self, r: _Reading, verdict: Verdict) -> Sentence:
        """What was read, and what is wanted."""
        value, low, high = r.bound.value, r.bound.low, r.bound.high
        reads = f"{r.what if value >= 0.0 else 'interference'} {{value}} {r.where} the {self.wall}"
        lengths = {"value": abs(value)}
        if abs(value - r.typed) > _EVEN_MM:
            reads += " with the spread of the sizes, {typed} without"
            lengths["typed"] = r.typed
        if verdict is Verdict.GO and low is not None and high is not None:
            return Sentence.of(f"{reads}, within {{low}} to {{high}}", **lengths, low=low, high=high)
        is_tight = _is_tight(r.bound)
        limit = low if is_tight else high
        assert limit is not None
        if verdict is Verdict.MARGINAL:
            text = f"{reads}; close to the {'least' if is_tight else 'greatest'} of {{limit}}"
        else:
            reads += ", so the rim doesn't go in" if verdict is Verdict.NO_GO and value < 0.0 else ""
            text = f"{reads}; at {'least' if is_tight else 'most'} {{limit}} is wanted"
        return Sentence.of(text, **lengths, limit=limit)

    def _remedies(self, r: _Reading, judged: Judged) -> tuple[Remedy, ...]:
        is_tight, value = _is_tight(r.bound), r.bound.value
        limit = r.bound.low if is_tight else r.bound.high
        assert limit is not None
        band = abs(limit) * judged.band
        verb = "machine" if is_rework(self.case) else "make"
        # Where the old seat is further out than the new cut, the cut counts only from there on.
        by = limit + band - min(value, self.designed) if is_tight else value - limit + band
        edit = Edit(self.path, start=self.designed, per=1.0 if is_tight else -1.0)
        how = "wider" if is_tight else "narrower"
        remedies: tuple[Remedy, ...] = (
            Remedy(f"{verb} the seat's {self.profile.side} gap {{by}} {how}, {{to}}", (edit,), by),
        )
        over = r.other + by - self.high if is_tight else self.low - r.other + by
        if over > _EVEN_MM and not self.has_earlier_seat and self.profile.there is None:
            remedies = ()  # what one end gains the other lacks
        if not is_tight and self.profile.there is not None:
            remedies = (*remedies, Remedy("mend the wall that is gone there first"))
        if not is_tight and self.has_earlier_seat and r.typed > self.designed + _EVEN_MM:
            remedies = _REFILL
        typed = replace(r.bound, value=r.typed).judged(self.case.limits.marginal)
        is_better = typed.verdict.rank < judged.verdict.rank
        return (*remedies, Remedy("measure more samples")) if is_better else remedies


def _is_tight(b: Bound) -> bool:
    """Whether the least limit is the nearer one."""
    return b.low is not None and (b.high is None or b.value - b.low < b.high - b.value)
