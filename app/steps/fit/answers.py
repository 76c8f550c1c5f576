"""Conflicts and findings as rows of a list, and what the overall verdict says of them."""

from __future__ import annotations

from collections import Counter
from functools import partial
from typing import TYPE_CHECKING

from app.widgets import explain
from app.widgets.row import Line, Row, Text
from core.resize.gathered import gathered
from core.resize.resize import Conflict
from core.words.colours import VERDICT_INKS
from core.words.findings import alike, band_text, found_text
from core.words.lengths import Style, shower
from core.words.verdicts import WORDS, Finding, Verdict

if TYPE_CHECKING:
    from collections.abc import Sequence

    from app.widgets.explain import Explanation
    from core.evaluate import Result
    from core.part.project import Project

Answer = Conflict | Finding


def answer_rows(result: Result, *, worst_first: bool, is_brief: bool) -> tuple[Row, ...]:
    """Rows of all conflicts, then of the findings: the worst first, or in the order of the checks.

    Args:
        result: what they are of.
        worst_first: then those that read the same share a row.
        is_brief: one line each, but for the open one.
    """
    project = result.project
    rows = [_conflict_row(conflict, project, is_brief=is_brief) for conflict in gathered(result.conflicts)]
    if worst_first:
        groups = alike(sorted(result.findings, key=_urgency), project.style)
    else:
        groups = tuple((finding,) for finding in result.findings)
    rows += [_finding_row(finding, others, project, is_brief=is_brief) for finding, *others in groups]
    return tuple(rows)


def counts_text(result: Result) -> str:
    """``2 conflicts; 1 no-go, 3 marginal, 19 go``; what stands in one feature's way is one conflict."""
    counts = Counter(finding.verdict for finding in result.findings)
    of_checks = ", ".join(f"{counts[v]} {v}" for v in sorted(Verdict, key=lambda v: -v.rank) if counts[v])
    n = len(gathered(result.conflicts))
    return f"{n} conflict{'s' if n > 1 else ''}; {of_checks}" if n else of_checks


def as_sentence(answer: Answer, style: Style, others: Sequence[Finding] = ()) -> str:
    """The whole answer as one text, to be read aloud or copied, with the others that read the same."""
    if isinstance(answer, Conflict):
        return f"Conflict, {_on_piece(answer)}: {answer.what.show(shower(style))}"
    band = band_text(answer, style)
    names = ", ".join(finding.name for finding in (answer, *others))
    return f"{WORDS[answer.verdict]}, {names}: {found_text(answer, style)}" + (f" ({band})" if band else "")


def _conflict_row(conflict: Conflict, project: Project, *, is_brief: bool) -> Row:
    """What is in the way, and what to do."""
    what = conflict.what.show(shower(project.style))
    name = _capital(_on_piece(conflict))
    first, second = Line(Text(name)), Line(Text(what, "quiet"), Text("Conflict", "no_go"))
    return Row(
        key=("conflict", conflict.place.end, conflict.feature),
        value=conflict,
        mark=Verdict.NO_GO,
        lines=(Line(Text(f"{name}: {what}")),) if is_brief else (first, second),
        opened=lambda: (first, second, Line(Text(_sentence(what)), is_apart=True)),
        said=partial(as_sentence, conflict, project.style),
        sheet=lambda: explain.Explanation(
            f"Conflict: {_on_piece(conflict)}", what, "Found on the metal, before and after."
        ),
    )


def _finding_row(finding: Finding, others: Sequence[Finding], project: Project, *, is_brief: bool) -> Row:
    """Name and value; limit and margin below; what to do, the formula and where else it is the same when open."""
    style, verdict = project.style, finding.verdict
    more = (f" and {len(others)} more", f" +{len(others)}") if others else ("", "")
    found = Text(found_text(finding, style), is_bold=True)
    first = Line(Text(_capital(finding.name), more=more), right=(found,))
    second = Line(Text(band_text(finding, style), "quiet"), Text(WORDS[verdict], VERDICT_INKS[verdict]))

    def opened() -> tuple[Line, ...]:
        show = shower(style)
        same = f"The same: {', '.join(other.name for other in others)}." if others else ""
        texts = (
            Text(_sentence(finding.advice.show(show))), Text(finding.formula.show(show), "quiet"), Text(same)
        )  # fmt: skip
        return (first, second, *(Line(text, is_apart=True) for text in texts if text.words))

    def sheet() -> Explanation:
        return explain.of_finding(project, finding)

    return Row(
        key=(finding.check, finding.name, finding.place.feature),
        value=finding,
        mark=verdict,
        lines=(first,) if is_brief else (first, second),
        opened=opened,
        said=partial(as_sentence, finding, style, others),
        sheet=sheet,
    )


def _on_piece(conflict: Conflict) -> str:
    return conflict.feature if conflict.place.end is None else f"{conflict.feature}, {conflict.place.end}"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _sentence(text: str) -> str:
    return _capital(text) + ("" if text.endswith(".") else ".")


def _urgency(finding: Finding) -> tuple[int, float]:
    """The worst verdicts first, then the least margin as a part of its limit."""
    bounds: Sequence[float] = [abs(b) for b in (finding.low, finding.high) if b]
    return (-finding.verdict.rank, finding.margin / min(bounds) if bounds else finding.margin)
