"""Gap between rim and seat walls, all the way round.

A rigid rim must clear its walls at every station. A yielding rim settles in its seat: what decides is the developed
length, mean gap = (seat length − rim length) / 2π (Steiner: a parallel at the distance d is 2πd longer). Where its
developed gap serves, a local gap outside the limits is marginal, not more, as long as the walls press the rim radially
no harder than its insert allows.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from core.fit.words import enough, is_rework, whereabouts
from core.insert_end import Side
from core.lengths import shown_over
from core.verdicts import Finding, Place, Sentence, Unit, Verdict, judge

if TYPE_CHECKING:
    from core.fit.case import Case
    from core.gaps import GapProfile

KEY = "gap"

_EVEN_MM = 1e-6  # a gap that varies by less is the same all round


def check(case: Case) -> tuple[Finding, ...]:
    """Least and greatest gap of each wall, one finding where they are alike; for a yielding rim the developed gap."""
    findings: list[Finding] = []
    for profile in case.gaps:
        piece = case.housing.piece(profile.end)
        assert piece is not None
        if profile.side is Side.INNER and piece.lip.height <= 0.0:
            continue  # no lip, no inner wall: the floor runs on to the opening
        findings += _Wall(case, profile).findings()
    return tuple(findings)


class _Wall:
    """One rim against one wall of its seat, and the words for it."""

    def __init__(self, case: Case, profile: GapProfile) -> None:
        self.case, self.profile = case, profile
        self.limits, self.insert = case.limits, case.insert
        piece = case.housing.piece(profile.end)
        resolved = case.after.piece(profile.end)
        assert piece is not None
        assert resolved is not None
        self.curves, self.walls = resolved.curves, resolved.walls
        seat = piece.seat
        self.designed = seat.gap_outer if profile.side is Side.OUTER else seat.gap_inner
        self.has_earlier_seat = piece.earlier_seat is not None
        self.rim_width = self.insert.rim_at(profile.end).width
        is_ring = case.housing.lid is None
        self.what = "bedding gap" if is_ring and not self.insert.is_yielding else "gap"
        self.wall = f"{profile.side} wall" if is_ring else f"{profile.end}'s {profile.side} wall"
        self.path = f"choices.gap_{profile.side}"
        self.cut = "machine" if is_rework(case) else "make"
        self.developed = profile.developed_mean

    def findings(self) -> list[Finding]:
        profile = self.profile
        low, high = self.limits.gap(profile.side)
        least, greatest = profile.least_at, profile.greatest_at
        if float(profile.gap[greatest] - profile.tightest[least]) <= _EVEN_MM:
            found = [self._local(self.what, least, low, high, where="all round")]
        else:
            found = [
                self._local(f"least {self.what}", least, low, None),
                self._local(f"greatest {self.what}", greatest, None, high),
            ]
        if self.insert.is_yielding:
            found.append(self._by_length())
        return found

    def _local(self, name: str, at: int, low: float | None, high: float | None, where: str = "") -> Finding:
        profile = self.profile
        value = float((profile.gap if low is None else profile.tightest)[at])
        rim = (float(profile.rim[at, 0]), float(profile.rim[at, 1]))
        wall = (float(profile.wall[at, 0]), float(profile.wall[at, 1]))
        where = where or f"{whereabouts(rim, self.curves.seat_outer)} of"
        verdict, margin = judge(value, low=low, high=high, marginal_percent=self.limits.marginal)
        if verdict is Verdict.NO_GO and self._settles(value):
            verdict = Verdict.MARGINAL
            advice, path = self._settling(value, where), self.path
        else:
            advice, path = self._advice(_Reading(self.what, value, where, low, high, verdict))
        formula = Sentence.of(
            f"normal distance from rim to {self.wall}, {len(profile.gap)} stations: least {{least}}, mean {{mean}}, "
            "greatest {greatest}; designed {designed}",
            least=float(profile.tightest[profile.least_at]),
            mean=profile.mean,
            greatest=float(profile.gap[profile.greatest_at]),
            designed=self.designed,
        )
        place = Place(profile.end, rim, wall, feature=f"seat {profile.side}", path=path)
        return Finding(
            KEY, f"{name}, {self.wall}", verdict, value, Unit.LENGTH, low, high, margin, place, advice, formula
        )

    def _by_length(self) -> Finding:
        """The developed gap of a yielding rim."""
        profile, value = self.profile, self.developed
        low, high = self.limits.gap(profile.side)
        verdict, margin = judge(value, low=low, high=high, marginal_percent=self.limits.marginal)
        what = f"developed {self.what}"
        advice, path = self._advice(_Reading(what, value, "all round", low, high, verdict))
        outline, order = (
            (self.walls[0], "wall {wall} − rim {rim}")
            if profile.side is Side.OUTER
            else (self.walls[1], "rim {rim} − wall {wall}")
        )
        formula = Sentence.of(
            f"developed gap = ({order}) / 2π = {{value}}",
            wall=profile.wall_length,
            rim=profile.rim_length,
            value=value,
        )
        place = Place(profile.end, outline=outline, feature=f"seat {profile.side}", path=path)
        return Finding(
            KEY, f"{what}, {self.wall}", verdict, value, Unit.LENGTH, low, high, margin, place, advice, formula
        )

    def _settles(self, value: float) -> bool:
        """Whether a yielding rim may give way here: its developed gap serves, and it is not pressed too hard."""
        if not self.insert.is_yielding:
            return False
        low, high = self.limits.gap(self.profile.side)
        mean, _ = judge(self.developed, low=low, high=high, marginal_percent=0.0)
        return mean is Verdict.GO and self._pressed_percent(value) <= self.insert.squeeze_wanted[1]

    def _pressed_percent(self, value: float) -> float:
        return max(-value, 0.0) / self.rim_width * 100.0

    def _settling(self, value: float, where: str) -> Sentence:
        press = f", pressed by {self._pressed_percent(value):.1f} % of its width" if value < 0.0 else ""
        reads = "interference {size}" if value < 0.0 else f"{self.what} {{size}}"
        return Sentence.of(
            f"{reads} {where} the {self.wall}{press}; the rim yields and its developed gap of {{mean}} serves, so "
            "it settles: try the real rim in the seat before cutting",
            size=abs(value),
            mean=self.developed,
        )

    def _advice(self, r: _Reading) -> tuple[Sentence, str]:
        """What to do, and the project's path to do it at."""
        reads = f"{r.what if r.value >= 0.0 else 'interference'} {{value}} {r.where} the {self.wall}"
        size = abs(r.value)
        if r.verdict is Verdict.GO:
            if r.low is not None and r.high is not None:
                text = f"{reads}, within {{low}} to {{high}}"
                return Sentence.of(text, value=size, low=r.low, high=r.high), self.path
            limit = r.high if r.low is None else r.low
            assert limit is not None
            text = f"{reads}; at {'most' if r.low is None else 'least'} {{limit}} is wanted"
            return Sentence.of(text, value=size, limit=limit), self.path
        if r.low is not None and (r.high is None or r.value - r.low < r.high - r.value):
            return self._wider(r, reads, r.low), self.path
        assert r.high is not None
        if self.has_earlier_seat and r.value > self.designed + _EVEN_MM:
            text = (
                f"{reads}, where the casting's old seat is; at most {{limit}} wanted: metal can't be put back, so fill "
                "the old seat there or cast anew"
            )
            return Sentence.of(text, value=size, limit=r.high), "choices.mode"
        return self._narrower(r, reads, r.high), self.path

    def _wider(self, r: _Reading, reads: str, low: float) -> Sentence:
        if r.verdict is Verdict.NO_GO:
            wanted, target = "{limit} wanted", low
            reads += ", so the rim doesn't go in" if r.value < 0.0 else ""
        else:
            wanted, target = "close to the least of {limit}", low + abs(low) * self.limits.marginal / 100.0
        return Sentence.of(
            f"{reads}; {wanted}: {self.cut} the seat's {self.profile.side} gap {{short}} wider, {{to}}",
            value=abs(r.value),
            limit=low,
            short=enough(self.case, target - self.designed),
            to=shown_over(target, self.case.project.style),
        )

    def _narrower(self, r: _Reading, reads: str, high: float) -> Sentence:
        if r.verdict is Verdict.NO_GO:
            wanted, target = "at most {limit} wanted", high
        else:
            wanted, target = "close to the greatest of {limit}", high - abs(high) * self.limits.marginal / 100.0
        return Sentence.of(
            f"{reads}; {wanted}: {self.cut} the seat's {self.profile.side} gap {{over}} narrower, {{to}}",
            value=abs(r.value),
            limit=high,
            over=enough(self.case, self.designed - target),
            to=-shown_over(-target, self.case.project.style),
        )


@dataclass(frozen=True, slots=True)
class _Reading:
    """A gap that was judged, and the words for it."""

    what: str
    value: float
    where: str
    low: float | None
    high: float | None
    verdict: Verdict
