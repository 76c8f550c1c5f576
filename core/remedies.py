"""Remedies that work: each one that a check proposes is tried on the project before it is said.

A trial makes the remedy's edits and checks the project again, with the figures as the reader will see them, since those
are what is typed; the finding's own check comes first, and most that fails fails there. A remedy is said when its
finding is mended and nothing else has become as bad as what it mends. An amount that does not suffice is raised, up to
`_MOST` times what the check reckoned, and what is said then is about the least that does. A remedy without edits lies
outside the project, and is said as it is. Where nothing mends without harm, the first that mends is said with its harm.
"""

from __future__ import annotations

from collections import Counter
from functools import cached_property
from itertools import islice
from typing import TYPE_CHECKING, Final

from msgspec.structs import replace

from core.edits import set_value
from core.evaluate import case_of, conflicts_of
from core.fit.checks import CHECKS
from core.words.errors import UserError
from core.words.lengths import parse_length, show_length, shown_over, unit_of
from core.words.verdicts import Finding, Remedy, Sentence, Verdict, plain

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator

    from core.evaluate import Result
    from core.fit.case import Case
    from core.part.project import Project
    from core.resize.resize import Resized
    from core.words.ends import End
    from core.words.lengths import Style
    from core.words.verdicts import Edit

    Key = tuple[str, End | None, str]
    Tick = Callable[[float], None]

MOST_SAID: Final = 3
"""Remedies said of one finding."""

MOST_TRIED: Final = 12
"""Findings of one result that remedies are tried for, the worst of each check first: mending changes the others too."""

_MOST: Final = 4.0
_NARROWINGS: Final = 3  # of the range in which an amount that suffices is looked for


def remedied(result: Result, tick: Tick = lambda _part: None) -> Result:
    """The result with what to do in the advice of each finding that is not go, after trying it.

    Args:
        result: of `evaluate`.
        tick: told how much is done, 0 to 1; may raise `core.words.errors.Cancelled`.
    """
    if result.is_remedied:
        return result
    trials = _Trials(result, tick)
    findings = tuple(trials.remedied(finding) for finding in result.findings)
    return result.saying(findings)


class _Trial:
    """An edited project, of which no more is computed than is asked for."""

    def __init__(self, case: Case, resized: Resized) -> None:
        self._case, self._resized = case, resized
        self._found: dict[int, dict[Key, Verdict]] = {}
        self.names: dict[Key, str] = {}

    def verdicts(self, check: int) -> dict[Key, Verdict]:
        """What the check of that number finds."""
        if check not in self._found:
            findings = CHECKS[check](self._case)
            self._found[check] = _by_key(findings)
            self.names |= {finding.key: finding.name for finding in findings}
        return self._found[check]

    @cached_property
    def conflicts(self) -> frozenset[tuple[End | None, str]]:
        """Of which feature of which piece something is in the way."""
        return frozenset((c.place.end, c.feature) for c in conflicts_of(self._case, self._resized))


class _Trials:
    """The remedies of one result's findings, each edited project resized once."""

    def __init__(self, result: Result, tick: Tick) -> None:
        self._project, self._tick = result.project, tick
        open_ones = [f for f in result.findings if f.remedies and f.verdict is not Verdict.GO]
        # Among what is as bad, each check has its first before any has its next.
        nth: Counter[tuple[str, Verdict]] = Counter()
        turns: list[tuple[int, int]] = []
        for finding in open_ones:
            turns.append((-finding.verdict.rank, nth[finding.check, finding.verdict]))
            nth[finding.check, finding.verdict] += 1
        in_turn = sorted(range(len(open_ones)), key=turns.__getitem__)
        self._tried_ones = [open_ones[i] for i in in_turn[:MOST_TRIED]]
        self._now = _Trial(result.case, result.resized)
        self._trials: dict[Project, _Trial | None] = {}
        self._done = 0

    def remedied(self, finding: Finding) -> Finding:
        """The finding with the remedies that hold, in its advice too."""
        if finding.verdict is Verdict.GO or not finding.remedies:
            return replace(finding, remedies=())
        if all(finding is not one for one in self._tried_ones):
            text = f"{finding.advice.text}; mend “{plain(self._tried_ones[0].name)}” first, then look here again"
            return replace(finding, advice=replace(finding.advice, text=text), remedies=())
        tried = (self._tried(finding, remedy) for remedy in finding.remedies)
        holding = list(islice((found for found in tried if found is not None), MOST_SAID))
        self._done += 1
        said = [sentence for _, sentence in holding]
        if not any(remedy.edits for remedy, _ in holding):
            said += self._at_a_cost(finding)
        advice = finding.advice if said else finding.advice.then("; ", Sentence("none of the usual remedies mends it"))
        for i, sentence in enumerate(said):
            advice = advice.then(", or " if i else ": ", sentence)
        first = next((edit.path for remedy, _ in holding for edit in remedy.edits), finding.place.path)
        remedies = tuple(remedy for remedy, _ in holding)
        place = replace(finding.place, path=first)
        return replace(
            finding, advice=advice, remedies=remedies, place=place, lack=finding.advice, ways=tuple(said)
        )  # fmt: skip

    def _at_a_cost(self, finding: Finding) -> Iterator[Sentence]:
        """Where no edit mends without harm: the first one that mends, with what it harms."""
        own = self._own_check(finding)
        for remedy in finding.remedies:
            for factor in (1.0, 1.3, _MOST) if remedy.by > 0.0 else (1.0,):
                by = shown_over(factor * remedy.by, self._project.style) if remedy.by > 0.0 else 0.0
                enough = replace(remedy, by=by)
                trial = self._trial_of(enough) if remedy.edits else None
                if trial is None or trial.verdicts(own).get(finding.key, Verdict.GO).rank >= finding.verdict.rank:
                    continue
                said, harm = self._sentence(enough), self._harm(finding, trial)
                yield replace(said, text=f"{said.text}, but that harms {harm}" if harm else said.text)
                return

    def _harm(self, finding: Finding, trial: _Trial) -> str:
        """What a trial has made as bad as what it mends, if anything: the first by its name, and how many more."""
        names = [feature for _, feature in sorted(trial.conflicts - self._now.conflicts, key=str)]
        for check in range(len(CHECKS)):
            names += [trial.names[key] for key in self._worse(check, finding.verdict.rank, trial)]
        if not names:
            return ""
        first, more = plain(names[0]), len(names) - 1
        return f"“{first}”" + (f" and {more} more" if more else "")

    def _tried(self, finding: Finding, remedy: Remedy) -> tuple[Remedy, Sentence] | None:
        """The remedy with an amount that suffices, and its sentence; None when there is none."""
        if not remedy.edits:
            return remedy, Sentence(remedy.text)
        if remedy.by <= 0.0:
            return (remedy, self._sentence(remedy)) if self._mends(finding, remedy) else None
        style = self._project.style
        enough = replace(remedy, by=shown_over(remedy.by, style))
        if not self._mends(finding, enough):
            least, enough = enough.by, replace(remedy, by=shown_over(_MOST * remedy.by, style))
            if not self._mends(finding, enough):
                # What is right half-way may be too much at the end: a hole that is moved reaches the other side.
                enough = replace(remedy, by=shown_over(1.3 * remedy.by, style))
                if not self._mends(finding, enough):
                    return None
            for _ in range(_NARROWINGS):
                middle = replace(remedy, by=shown_over((least + enough.by) / 2.0, style))
                if self._mends(finding, middle):
                    enough = middle
                else:
                    least = middle.by
        return enough, self._sentence(enough)

    def _mends(self, finding: Finding, remedy: Remedy) -> bool:
        trial = self._trial_of(remedy)
        return trial is not None and self._is_mended(finding, trial)

    def _trial_of(self, remedy: Remedy) -> _Trial | None:
        """The project with a remedy done; None where it can't be, or changes nothing."""
        self._tick(self._done / len(self._tried_ones))
        project = self._edited(remedy)
        if project is None or project == self._project:
            return None
        if project not in self._trials:
            self._trials[project] = _trial(project)
        return self._trials[project]

    def _own_check(self, finding: Finding) -> int:
        return next(i for i in range(len(CHECKS)) if finding.key in self._now.verdicts(i))

    def _is_mended(self, finding: Finding, trial: _Trial) -> bool:
        if trial.verdicts(self._own_check(finding)).get(finding.key, Verdict.GO).rank >= finding.verdict.rank:
            return False
        if not trial.conflicts <= self._now.conflicts:
            return False
        return not any(self._worse(i, finding.verdict.rank, trial) for i in range(len(CHECKS)))

    def _worse(self, check: int, bad: int, trial: _Trial) -> list[Key]:
        """What has become as bad as what is mended."""
        was = self._now.verdicts(check)
        return [key for key, v in trial.verdicts(check).items() if v.rank >= bad > was.get(key, Verdict.GO).rank]

    def _edited(self, remedy: Remedy) -> Project | None:
        project = self._project
        try:
            for edit, value in zip(remedy.edits, self._values(remedy), strict=True):
                project = set_value(project, edit.path, value)
        except UserError:
            return None
        return project

    def _values(self, remedy: Remedy) -> tuple[object, ...]:
        """What the edits set: amounts that the text shows as they are read there."""
        return tuple(
            _value(edit, remedy, self._project.style, is_shown=_to(i) in remedy.text)
            for i, edit in enumerate(remedy.edits)
        )

    def _sentence(self, remedy: Remedy) -> Sentence:
        values = self._values(remedy)
        lengths = {f"to{i or ''}": v for i, v in enumerate(values) if isinstance(v, float) and _to(i) in remedy.text}
        if "{by}" in remedy.text:
            lengths["by"] = remedy.by
        return Sentence(remedy.text, tuple(lengths.items()))


def _to(i: int) -> str:
    return f"{{to{i or ''}}}"


def _value(edit: Edit, remedy: Remedy, style: Style, *, is_shown: bool) -> object:
    if edit.per == 0.0:
        return edit.value
    value = edit.start + edit.per * remedy.by
    if not is_shown:
        return value
    if len(remedy.edits) == 1:  # rounded to the side that does no less
        return shown_over(value, style) if edit.per > 0.0 else -shown_over(-value, style)
    return parse_length(show_length(value, style), unit_of(style))


def _by_key(findings: Iterable[Finding]) -> dict[Key, Verdict]:
    """The worst verdict of each thing that the findings are about."""
    found: dict[Key, Verdict] = {}
    for finding in findings:
        known = found.get(finding.key, Verdict.GO)
        found[finding.key] = max(known, finding.verdict, key=lambda v: v.rank)
    return found


def _trial(project: Project) -> _Trial | None:
    try:
        return _Trial(*case_of(project))
    except UserError:
        return None
