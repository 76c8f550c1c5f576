"""What the lists put together."""

from __future__ import annotations

from typing import TYPE_CHECKING

from app.steps.fit.answers import cards
from app.steps.fit.verdict_panel import VerdictPanel
from core.edits import set_text
from core.evaluate import evaluate
from core.files.project.demos import load_demo
from core.remedies import remedied
from core.resize.gathered import gathered
from core.resize.resize import Conflict
from core.words.ends import End
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


def test_cards_tell_all_that_is_not_go_the_worst_first_and_name_those_that_read_the_same() -> None:
    result = remedied(evaluate(set_text(load_demo("lens-ring"), "new_insert.length", "250")))
    rows = cards(result)
    bad = [f for f in result.findings if f.verdict is not Verdict.GO]
    said = " ".join(row.said() for row in rows)
    assert all(finding.name in said for finding in bad)
    found = [row.value for row in rows if isinstance(row.value, Finding)]
    ranks = [finding.verdict.rank for finding in found]
    assert ranks == sorted(ranks, reverse=True)
    assert len(found) < len(bad)
    for row in rows:
        words = [line.left.words for line in row.lines]
        if isinstance(row.value, Finding):
            show = shower(Style.MM)
            assert all(way.show(show) in words for way in row.value.ways)
            lack = row.value.lack if row.value.ways else row.value.advice  # or that nothing mends it
            assert lack is not None
            assert any(lack.show(show)[1:] in text for text in words)


def test_of_two_cards_with_one_name_the_chosen_one_stays_chosen_when_remedies_come(
    qtbot: QtBot, session: Session
) -> None:
    panel = VerdictPanel(session)
    qtbot.addWidget(panel)
    panel.show()
    project = load_demo("compressor-intake")
    for number in (1, 2):  # the throats run into each other: a knife edge at either end of what they share
        project = set_text(project, f"housing.base.features[{number}].diameter", "90")
    session.open(project, None, evaluate(project))
    names = [a.name if isinstance(a, Finding) else "" for a in panel.listed()]
    last = max(i for i, name in enumerate(names) if name.startswith("knife edge"))
    panel.answers.choose(last)
    session.remedied.emit()
    assert panel.answers.currentIndex().row() == last
