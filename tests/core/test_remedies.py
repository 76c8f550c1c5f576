"""What is said was tried: a remedy that does not mend its finding, or that harms something else, is not said."""

from __future__ import annotations

from typing import TYPE_CHECKING

import msgspec
import numpy as np
import pytest
from msgspec.structs import replace

from core.edits import set_text, set_value
from core.evaluate import Result, evaluate
from core.files.project.demos import load_demo
from core.remedies import MOST_SAID, remedied
from core.words.errors import Cancelled
from core.words.lengths import Style, parse_length, show_length, shower, unit_of
from core.words.verdicts import Edit, Finding, Remedy, Sentence, Verdict
from tests.support.wild import wild_project

if TYPE_CHECKING:
    from core.part.project import Project

LIP_MM = 2.0037
NAME = "thinnest metal, lid"
MM = shower(Style.MM)


def _thin(style: Style = Style.MM) -> Project:
    """A lid whose thinnest metal is its lip of 2 mm; 4 are wanted."""
    project = load_demo("compressor-intake")
    assert project.housing.lid is not None
    housing = replace(project.housing, studs=(), lid=replace(project.housing.lid, features=()))
    return set_value(replace(project, housing=housing, style=style), "choices.lip", LIP_MM)


@pytest.fixture(scope="module")
def thin() -> Result:
    result = evaluate(_thin())
    assert _found(result).verdict is Verdict.NO_GO
    return result


def _found(result: Result) -> Finding:
    return next(f for f in result.findings if f.name == NAME)


def _with(result: Result, *remedies: Remedy) -> Result:
    """The result, with remedies of the test's own for the thin lip and none for anything else."""
    findings = (
        msgspec.structs.replace(f, advice=Sentence("thin"), remedies=remedies)
        if f.name == NAME
        else msgspec.structs.replace(f, remedies=())
        for f in result.findings
    )
    return result.saying(tuple(findings), is_remedied=False)


def _wider(text: str, by: float, path: str = "choices.lip", start: float = LIP_MM) -> Remedy:
    return Remedy(text, (Edit(path, start=start, per=1.0),), by)


def test_a_remedy_that_mends_is_said_with_its_figure(thin: Result) -> None:
    finding = _found(remedied(_with(thin, _wider("make the lip {by} wider", 2.0))))
    assert finding.advice.show(MM) == "thin: make the lip 2.00 mm wider"
    assert finding.place.path == "choices.lip"


def test_an_amount_that_does_not_suffice_is_raised_until_it_does(thin: Result) -> None:
    (remedy,) = _found(remedied(_with(thin, _wider("make the lip {by} wider", 1.2)))).remedies
    assert evaluate(set_value(_thin(), "choices.lip", LIP_MM + remedy.by)).findings != thin.findings
    assert 1.99 <= remedy.by < 1.2 * 2.0  # 1.9963 are missing


@pytest.mark.parametrize("style", list(Style))
@pytest.mark.parametrize("text", ["{by}", "{to}"])
def test_the_figure_as_it_reads_mends_when_it_is_typed(style: Style, text: str) -> None:
    project = _thin(style)
    said = _found(remedied(_with(evaluate(project), _wider(text, 1.9)))).advice
    shown = show_length(dict(said.lengths)[text.strip("{}")], style)
    typed = shown if text == "{to}" else f"{LIP_MM!r} mm + {shown}"
    mended = evaluate(set_text(project, "choices.lip", typed))
    assert _found(mended).verdict is not Verdict.NO_GO


def test_a_remedy_that_does_nothing_is_not_said(thin: Result) -> None:
    thicker = _wider("make the wall {by} thicker", 2.0, "choices.wall", 8.0)
    same = Remedy("hold the wall", (Edit("choices.hold", value=thin.project.choices.hold),))
    finding = _found(remedied(_with(thin, thicker, same, _wider("make the lip {by} wider", 2.0))))
    assert finding.advice.show(MM) == "thin: make the lip 2.00 mm wider"


def test_a_remedy_that_asks_for_the_impossible_is_not_said(thin: Result) -> None:
    narrower = Remedy("make the lip {by} narrower", (Edit("choices.lip", start=LIP_MM, per=-1.0),), 3.0)
    nowhere = Remedy("make it better", (Edit("choices.no_such_thing", value=1.0),))
    finding = _found(remedied(_with(thin, narrower, nowhere)))
    assert finding.advice.show(MM) == "thin; none of the usual remedies mends it"
    assert finding.remedies == ()


def test_a_remedy_that_makes_something_else_no_go_is_said_with_its_harm_only(thin: Result) -> None:
    harmful = Remedy(
        "make the lip {to} wide and the wall thin",
        (Edit("choices.lip", start=LIP_MM, per=1.0), Edit("choices.wall", value=1.0)),
        2.5,
    )
    walls = [f for f in evaluate(set_value(_thin(), "choices.wall", 1.0)).findings if f.check == "web"]
    assert any(f.verdict is Verdict.NO_GO and f.place.end != _found(thin).place.end for f in walls)
    finding = _found(remedied(_with(thin, harmful)))
    assert finding.remedies == ()
    assert finding.advice.show(MM).startswith("thin: make the lip 4.50 mm wide and the wall thin, but that harms “")
    better = _found(remedied(_with(thin, harmful, _wider("make the lip {by} wider", 2.0))))
    assert better.advice.show(MM) == "thin: make the lip 2.00 mm wider"


def test_what_lies_outside_the_project_is_said_as_it_is(thin: Result) -> None:
    finding = _found(remedied(_with(thin, _wider("make the lip {by} wider", 2.0), Remedy("cast the lid anew"))))
    assert finding.advice.show(MM) == "thin: make the lip 2.00 mm wider, or cast the lid anew"


def test_what_is_go_keeps_its_advice_and_tries_nothing(thin: Result) -> None:
    def tick(_part: float) -> None:
        raise AssertionError("something was tried")

    with_none = remedied(_with(thin), tick)
    assert [f.advice for f in with_none.findings if f.name != NAME] == [
        f.advice for f in thin.findings if f.name != NAME
    ]
    assert remedied(with_none) is with_none


def test_trying_can_be_called_off(thin: Result) -> None:
    def tick(_part: float) -> None:
        raise Cancelled("by the test")

    with pytest.raises(Cancelled, match="by the test"):
        remedied(_with(thin, _wider("make the lip {by} wider", 2.0)), tick)


def test_two_sentences_with_lengths_of_one_name_stay_apart() -> None:
    joined = Sentence.of("{by} here", by=1.0).then(", or ", Sentence.of("{by} there", by=2.0))
    assert joined.show(MM) == "1.00 mm here, or 2.00 mm there"


def _as_read(remedy: Remedy, advice: Sentence, project: Project) -> Project:
    """The project with a remedy's figures typed in as the advice shows them."""
    show, unit = shower(project.style), unit_of(project.style)

    def typed(mm: float) -> float:
        return parse_length(show(mm), unit)

    for i, edit in enumerate(remedy.edits):
        value = edit.value
        if edit.per != 0.0:
            mm = edit.start + edit.per * typed(remedy.by)
            if f"{{to{i or ''}}}" in remedy.text:
                named = [length for name, length in advice.lengths if name.rstrip("_") == f"to{i or ''}"]
                mm = typed(named[np.argmin(np.abs(np.array(named) - mm))])
            value = mm
        project = set_value(project, edit.path, value)
    return project


def _said_and_true(seed: int) -> tuple[int, list[str]]:
    """How many remedies are said of a wild project, and those that don't mend, or harm."""
    project = wild_project(seed)
    before = remedied(evaluate(project))
    was = {f.key: f.verdict.rank for f in before.findings}
    blocked = {(c.place.end, c.feature) for c in before.conflicts}
    said, wrong = 0, []
    for finding in before.findings:
        for remedy in finding.remedies:
            if not remedy.edits:
                continue
            said += 1
            after = evaluate(_as_read(remedy, finding.advice, project))
            ranks: dict[object, int] = {}
            for f in after.findings:
                ranks[f.key] = max(ranks.get(f.key, 0), f.verdict.rank)
            bad = finding.verdict.rank
            mended = ranks.get(finding.key, 0) < bad
            harmed = any(rank >= bad > was.get(key, 0) for key, rank in ranks.items())  # type: ignore[call-overload]
            if not mended or harmed or {(c.place.end, c.feature) for c in after.conflicts} - blocked:
                wrong.append(f"{seed}: {finding.name}: {finding.advice.show(shower(project.style))}")
    return said, wrong


@pytest.mark.parametrize("seed", range(3))
def test_every_remedy_that_is_said_mends_its_finding_when_it_is_typed(seed: int) -> None:
    said, wrong = _said_and_true(seed)
    assert wrong == []
    assert said > 0


@pytest.mark.hard
def test_every_remedy_that_is_said_mends_its_finding_in_many_projects() -> None:
    found = [_said_and_true(seed) for seed in range(3, 400)]
    assert [text for _, wrong in found for text in wrong] == []


def test_what_outdoes_many_that_lie_outside_the_project_is_said_after_them(thin: Result) -> None:
    outside = [Remedy(f"cast it anew {n}") for n in range(MOST_SAID)]
    finding = _found(remedied(_with(thin, *outside, _wider("make the lip {by} wider", 2.0))))
    assert finding.advice.show(MM).endswith("cast it anew 2, or make the lip 2.00 mm wider")
