"""What the lists put together."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.steps.fit.verdict_panel import AnswerList
from core.edits import set_text
from core.evaluate import evaluate
from core.files.project.demos import load_demo
from core.resize.gathered import gathered
from core.resize.resize import Conflict
from core.words.ends import End
from core.words.findings import alike
from core.words.lengths import Style, shower
from core.words.verdicts import Finding, Place, Sentence, Verdict

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from app.session.session import Session

_BASE = Place(End.BASE, (1.0, 2.0))


def test_what_stands_in_one_features_way_is_one_conflict_with_each_thing_said_once() -> None:
    conflicts = [
        Conflict("screw 1", Sentence.of("screw 1: the wall runs through it, {deep} deep; move it", deep=1.0), _BASE),
        Conflict("screw 2", Sentence("screw 2: the wall has passed over it; move it"), _BASE),
        Conflict(
            "screw 1",
            Sentence.of("screw 1: the edge runs through it, {deep} deep; move it, or hold that wall", deep=2.0),
            _BASE,
        ),
        Conflict("screw 1", Sentence("elsewhere"), Place(End.LID)),
    ]
    found = gathered(conflicts)
    assert [(c.feature, c.place.end) for c in found] == [
        ("screw 1", End.BASE),
        ("screw 2", End.BASE),
        ("screw 1", End.LID),
    ]
    assert found[0].what.show(shower(Style.MM)) == (
        "the wall runs through it, 1.00 mm deep; the edge runs through it, 2.00 mm deep; move it, or hold that wall"
    )
    assert found[0].place == _BASE
    assert found[2].what.text == "elsewhere"


def test_findings_that_read_the_same_are_one_group_and_none_is_lost() -> None:
    findings = evaluate(set_text(load_demo("lens-ring"), "new_insert.length", "250")).findings
    groups = alike(findings, Style.MM)
    assert sorted(f.name for group in groups for f in group) == sorted(f.name for f in findings)
    (worst,) = [group for group in groups if group[0].check == "hole edge" and group[0].verdict is Verdict.NO_GO]
    assert len(worst) == 4
    assert all(len(group) != 2 for group in groups)


def test_a_row_names_those_that_read_the_same(qtbot: QtBot, session: Session) -> None:
    panel, whole = AnswerList(session), AnswerList(session, worst_first=False)
    qtbot.addWidget(panel)
    qtbot.addWidget(whole)
    (first, *_) = (row for row in panel.rows.rows if row.lines[0].left.more[0])
    assert isinstance(first.value, Finding)
    groups = alike(session.result.findings, Style.MM)
    assert sum(len(group) for group in groups) == len(whole.answers())
    assert len(groups) == len(panel.answers()) < len(whole.answers())
    (others,) = (group[1:] for group in groups if first.value in group)
    assert first.lines[0].left.more == (f" and {len(others)} more", f" +{len(others)}")
    assert first.opened is not None
    same = first.opened()[-1].left.words
    assert same.startswith("The same: ")
    assert all(other.name in first.said() and other.name in same for other in others)


def test_of_two_rows_with_one_name_the_chosen_one_stays_chosen_when_remedies_come(
    qtbot: QtBot, session: Session
) -> None:
    panel = AnswerList(session)
    qtbot.addWidget(panel)
    panel.show()
    project = load_demo("compressor-intake")
    for number in (1, 2):  # the throats run into each other: a knife edge at either end of what they share
        project = set_text(project, f"housing.base.features[{number}].diameter", "90")
    session.open(project, None, evaluate(project))
    names = [a.name if isinstance(a, Finding) else "" for a in panel.answers()]
    first, second = (i for i, name in enumerate(names) if name.startswith("knife edge"))
    assert names[first] == names[second]
    panel.choose(second)
    session.remedied.emit()
    assert panel.currentIndex().row() == second
    session.edit("a wider gap", set_text(project, "limits.web_least", "4.1"))
    assert panel.currentIndex().row() == second
