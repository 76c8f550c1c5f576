"""What a check answers: verdict, value, limit, margin, place and a sentence that says what to do."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, Final

from msgspec import Struct
from msgspec.structs import replace

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from core.geometry.lines.outline import Outline, Point
    from core.words.ends import End


class Verdict(StrEnum):
    """The three verdicts, best first."""

    GO = "go"
    MARGINAL = "marginal"
    NO_GO = "no-go"

    @property
    def rank(self) -> int:
        """0 for go, 1 for marginal, 2 for no-go."""
        return _RANK[self]


_RANK = {Verdict.GO: 0, Verdict.MARGINAL: 1, Verdict.NO_GO: 2}
WORDS: Final = {Verdict.GO: "Go", Verdict.MARGINAL: "Marginal", Verdict.NO_GO: "No-go"}
"""The verdicts where they stand by themselves."""


def worst(verdicts: Iterable[Verdict]) -> Verdict:
    """The worst of the verdicts; go when there is none."""
    return max(verdicts, key=lambda v: v.rank, default=Verdict.GO)


class Unit(StrEnum):
    """Units of the values that checks give; lengths are shown in the project's own unit."""

    LENGTH = "mm"
    AREA = "mm²"
    PERCENT = "%"
    VELOCITY = "m/s"
    NONE = ""


def counted(count: int, one: str, more: str = "") -> str:
    """A number with its word in singular or plural: ``1 outline``, ``3 outlines``, ``2 vertices``."""
    return f"{count} {one if count == 1 else more or f'{one}s'}"


def plain(name: str) -> str:
    """A name that the user typed, safe inside a sentence's text: its braces stay braces."""
    return name.replace("{", "{{").replace("}", "}}")


class Sentence(Struct, frozen=True):
    """A text with lengths in it that are shown in whatever unit the reader works in.

    Attributes:
        text: with a field like ``{short}`` for each length.
        lengths: the lengths [mm] by name.
    """

    text: str
    lengths: tuple[tuple[str, float], ...] = ()

    @classmethod
    def of(cls, text: str, **lengths: float) -> Sentence:
        """The sentence with its lengths given by name [mm]."""
        return cls(text, tuple(lengths.items()))

    def show(self, show: Callable[[float], str]) -> str:
        """The text with every length shown by ``show``."""
        fields: Mapping[str, str] = {name: show(value) for name, value in self.lengths}
        return self.text.format_map(fields)

    def then(self, text: str, other: Sentence) -> Sentence:
        """This sentence, ``text``, and another one; lengths of the same name stay apart."""
        theirs, taken = other.text, {name for name, _ in self.lengths}
        lengths = list(self.lengths)
        for name, value in other.lengths:
            own = name
            while own in taken:
                own = f"{own}_"
            theirs = theirs.replace(f"{{{name}}}", f"{{{own}}}")
            taken.add(own)
            lengths.append((own, value))
        return Sentence(f"{self.text}{text}{theirs}", tuple(lengths))


class Place(Struct, frozen=True):
    """Where something is: for the drawing to mark, and to go to.

    Attributes:
        end: the piece; None for the housing as a whole.
        point: the place in plan [mm]; None when it is nowhere in particular.
        other: the far end of a measured distance, when there is one [mm].
        outline: an outline to light up, when the place is a whole feature.
        feature: name of the feature, when there is one.
        path: the project's own path of the value to change, when there is one.
    """

    end: End | None = None
    point: Point | None = None
    other: Point | None = None
    outline: Outline | None = None
    feature: str = ""
    path: str = ""


class Edit(Struct, frozen=True):
    """One value of the project that a remedy sets, or moves with its amount.

    Attributes:
        path: of the value, as `core.edits` reads it.
        value: what it becomes, unless ``per`` moves it.
        start: what counts now [mm], which need not stand in the project: a choice that is empty means as built.
        per: how much it moves for each millimetre of the remedy's amount, with its sign; 0 sets ``value``.
    """

    path: str
    value: object = None
    start: float = 0.0
    per: float = 0.0


class Remedy(Struct, frozen=True):
    """One thing to do about a finding, as a check proposes it: what is said of it is tried first, see `core.remedies`.

    Attributes:
        text: what to do, as a clause that follows a colon: ``make the lip {by} wider``. ``{by}`` is the amount;
            ``{to}``, ``{to1}``, ``{to2}`` … are what the first, second, third … of the edits' values become. A text
            without any of them is a remedy all the same: ``let the outside follow the seat``.
        edits: what the project is tried with; none for what lies outside it (``cast anew``), which is said as it is
            and so names no amount.
        by: the amount that should mend it [mm], over 0; the trial says more where that is not enough. 0 for edits
            that move nothing.
    """

    text: str
    edits: tuple[Edit, ...] = ()
    by: float = 0.0


class Finding(Struct, frozen=True):
    """The answer of one check for one thing.

    Attributes:
        check: the check's key, as ``gap`` or ``bearing``.
        name: what was checked, as it is read on screen.
        value: what was found, in ``unit``.
        low, high: the limits, in ``unit``; None where there is none.
        margin: how far inside the limits the value is (below 0: outside), in ``unit``.
        advice: what was read and what is wanted, or why all is well; `core.remedies` adds what to do.
        formula: where the value comes from, with the project's own figures in it.
        remedies: what may be done about it, the best first.
        lack: the advice without what to do; None where nothing has been tried.
        ways: what to do, each tried, as clauses; the advice says them in one sentence.
        subject: what it is about, where the name alone does not tell it again after an edit (as *thinnest metal*,
            which is elsewhere then); empty where the name does.
    """

    check: str
    name: str
    verdict: Verdict
    value: float
    unit: Unit
    low: float | None
    high: float | None
    margin: float
    place: Place
    advice: Sentence
    formula: Sentence
    remedies: tuple[Remedy, ...] = ()
    subject: str = ""
    lack: Sentence | None = None
    ways: tuple[Sentence, ...] = ()

    @property
    def key(self) -> tuple[str, End | None, str]:
        """What tells this finding again after an edit."""
        return self.check, self.place.end, self.subject or self.name

    def about(self, subject: str) -> Finding:
        """The same with its ``subject`` told."""
        return replace(self, subject=subject)


class Bound(Struct, frozen=True):
    """A value and the limits that it is held against, in ``unit``; None where there is no limit."""

    value: float
    low: float | None = None
    high: float | None = None
    unit: Unit = Unit.LENGTH

    def judged(self, marginal_percent: float = 0.0) -> Judged:
        """Held against its limits, see `judge`."""
        verdict, margin = judge(self.value, low=self.low, high=self.high, marginal_percent=marginal_percent)
        return Judged(self, verdict, margin, marginal_percent / 100.0 if verdict is Verdict.MARGINAL else 0.0)


class Judged(Struct, frozen=True):
    """A value that was held against its limits.

    Attributes:
        margin: how far inside the limits the value is (below 0: outside).
        band: the part of its limit that a value must keep off it, where it only came close; 0 where it did not.
    """

    bound: Bound
    verdict: Verdict
    margin: float
    band: float = 0.0

    @property
    def is_go(self) -> bool:
        """Whether nothing is to be done."""
        return self.verdict is Verdict.GO

    @property
    def aim(self) -> float:
        """The least value that would be well."""
        assert self.bound.low is not None
        return self.bound.low * (1.0 + self.band)

    @property
    def short(self) -> float:
        """What the value lacks to be well."""
        return self.aim - self.bound.value

    def but(self, verdict: Verdict) -> Judged:
        """The same with a verdict that more than the limits decides."""
        return replace(self, verdict=verdict)

    def finding(
        self,
        *,
        check: str,
        name: str,
        place: Place,
        advice: Sentence,
        formula: Sentence,
        remedies: tuple[Remedy, ...] = (),
    ) -> Finding:
        """What a check answers of it."""
        b = self.bound
        return Finding(
            check, name, self.verdict, b.value, b.unit, b.low, b.high, self.margin, place, advice, formula, remedies
        )


def judge(value: float, *, low: float | None, high: float | None, marginal_percent: float) -> tuple[Verdict, float]:
    """Verdict and margin of a value against its limits.

    A value outside is no-go. Inside, it is marginal when its margin is less than ``marginal_percent`` of the limit it
    is nearest to (a bound of 0 makes no margin marginal).
    """
    margins: list[tuple[float, float]] = []
    if low is not None:
        margins.append((value - low, abs(low)))
    if high is not None:
        margins.append((high - value, abs(high)))
    if not margins:
        return Verdict.GO, float("inf")
    margin, _ = min(margins)
    # Rounding of a size that meets its limit exactly must not turn it into a no-go.
    slack = 1e-9 * max(1.0, *(bound for _, bound in margins))
    if margin < -slack:
        return Verdict.NO_GO, margin
    tight = any(room < bound * marginal_percent / 100.0 - slack for room, bound in margins)
    return (Verdict.MARGINAL if tight else Verdict.GO), max(margin, 0.0)
