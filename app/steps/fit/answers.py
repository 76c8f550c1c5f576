"""What is not go as cards: conflicts, no-go and marginal findings, each whole, with what to do about it."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from app.widgets import explain
from app.widgets.row import Line, Row, Text
from core.fit.checks.concerns import together, urgency
from core.resize.gathered import gathered
from core.resize.resize import Conflict
from core.words.colours import VERDICT_INKS
from core.words.findings import band_text, found_text, margin_text
from core.words.lengths import Style, shower
from core.words.verdicts import WORDS, Finding, Verdict, counted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from core.evaluate import Result
    from core.fit.checks.concerns import Together
    from core.part.project import Project

Answer = Conflict | Finding
_ARROW = Text("→", "highlight")


def cards(result: Result, *, is_short: bool = False) -> tuple[Row, ...]:
    """A card for each conflict, then for what is not go, the worst first; short ones without their sentences."""
    project = result.project
    found = sorted((f for f in result.findings if f.verdict is not Verdict.GO), key=urgency)
    conflicts = [_conflict_card(conflict, project) for conflict in gathered(result.conflicts)]
    return (*conflicts, *(_card(group, project, is_short=is_short) for group in together(found, project.style)))


def value_rows(findings: Sequence[Finding], project: Project) -> tuple[Row, ...]:
    """What was found, those joined that read the same: name and value in a line."""
    return tuple(_value_row(group, project) for group in together(findings, project.style))


def counts_text(result: Result) -> str:
    """``1 conflict, 4 of 29 checks not go``; what stands in one feature's way is one conflict."""
    all_of = len(result.findings)
    verdicts = [finding.verdict for finding in result.findings if finding.verdict is not Verdict.GO]
    conflicts = len(gathered(result.conflicts))
    said = [counted(conflicts, "conflict")] if conflicts else []
    if Verdict.NO_GO in verdicts:
        said.append(f"{len(verdicts)} of {counted(all_of, 'check')} not go")
    elif verdicts:
        said.append(f"{len(verdicts)} of {counted(all_of, 'check')} {'is' if len(verdicts) == 1 else 'are'} close")
    elif not conflicts:
        said.append(f"all {counted(all_of, 'check')}")
    return ", ".join(said)


def as_sentence(answer: Answer, style: Style, others: Sequence[Finding] = ()) -> str:
    """The whole answer as one text, to be read aloud or copied, with the others that read the same."""
    if isinstance(answer, Conflict):
        return f"Conflict, {_on_piece(answer)}: {answer.what.show(shower(style))}"
    band = band_text(answer, style)
    names = ", ".join(finding.name for finding in (answer, *others))
    said = f"{WORDS[answer.verdict]}, {names}: {found_text(answer, style)}" + (f" ({band})" if band else "")
    return said if answer.verdict is Verdict.GO else f"{said}. {capital(answer.advice.show(shower(style)))}"


def capital(text: str) -> str:
    """A text as it begins a line."""
    return text[:1].upper() + text[1:]


def _conflict_card(conflict: Conflict, project: Project) -> Row:
    """What is in the way, and what to do."""
    reason, _, remedy = conflict.what.show(shower(project.style)).partition("; ")
    where = "" if conflict.place.end is None else f"in the {conflict.place.end}"
    ways = (Line(Text(remedy, "highlight"), _ARROW, is_apart=True),) if remedy else ()
    return Row(
        key=("conflict", conflict.place.end, conflict.feature),
        value=conflict,
        mark=Verdict.NO_GO,
        lines=(
            Line(Text(capital(conflict.feature), is_bold=True)),
            Line(Text(where, "quiet"), Text("Conflict", "no_go", is_bold=True)),
            Line(Text(_sentence(reason))),
            *ways,
        ),
        said=partial(as_sentence, conflict, project.style),
        sheet=lambda: explain.Explanation(
            f"Conflict: {_on_piece(conflict)}", conflict.what.show(shower(project.style)),
            "Found on the metal, before and after.",
        ),
        is_card=True,
    )  # fmt: skip


def _card(group: Together, project: Project, *, is_short: bool) -> Row:
    """Name and value, verdict and margin, what is missing, and what to do."""
    style, finding = project.style, group.findings[0]
    show = shower(style)
    word = Text(WORDS[finding.verdict], VERDICT_INKS[finding.verdict], is_bold=True)
    lines = [
        Line(Text(capital(group.name), is_bold=True), right=(Text(found_text(finding, style), is_bold=True),)),
        Line(Text(margin_text(finding, style), "quiet"), word),
    ]
    if not is_short:
        lack = finding.lack if finding.ways and finding.lack is not None else finding.advice  # or that nothing mends it
        lines.append(Line(Text(_sentence(lack.show(show)))))
    lines += [Line(Text(way.show(show), "highlight"), _ARROW, is_apart=not i) for i, way in enumerate(finding.ways)]
    return Row(
        key=(finding.check, group.name, finding.place.feature),
        value=finding,
        mark=finding.verdict,
        lines=tuple(lines),
        said=partial(as_sentence, finding, style, group.findings[1:]),
        sheet=partial(explain.of_finding, project, finding),
        is_card=True,
    )


def _value_row(group: Together, project: Project) -> Row:
    style, finding = project.style, group.findings[0]
    show = shower(style)
    first = Line(Text(capital(group.name)), right=(Text(found_text(finding, style)),))

    def opened() -> tuple[Line, ...]:
        texts = (
            Text(band_text(finding, style), "quiet"),
            Text(_sentence(finding.advice.show(show))),
            Text(finding.formula.show(show), "quiet"),
        )
        return (first, *(Line(text, is_apart=True) for text in texts if text.words))

    return Row(
        key=(finding.check, group.name, finding.place.feature),
        value=finding,
        lines=(first,),
        opened=opened,
        said=partial(as_sentence, finding, style, group.findings[1:]),
        sheet=partial(explain.of_finding, project, finding),
        is_block=True,
    )


def _on_piece(conflict: Conflict) -> str:
    return conflict.feature if conflict.place.end is None else f"{conflict.feature}, {conflict.place.end}"


def _sentence(text: str) -> str:
    return capital(text) + ("" if text.endswith(".") else ".")
