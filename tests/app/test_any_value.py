"""Whatever stands in the project, the window's drawings are painted, and empty metal is drawn as empty and told."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from app.drawing.base.legend import Legend
from app.drawing.gap.chart import GapChart
from app.drawing.plan.view import PlanView
from app.drawing.section.view import SectionView
from app.session.session import Session
from core.edits import add_item
from core.evaluate import evaluate
from core.features.hole import Hole
from core.files.project.demos import load_demo
from core.words.ends import End
from core.words.errors import UserError
from tests.core.test_any_value import wildly_edited

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from core.part.project import Project

VIEWS = (PlanView, SectionView, GapChart, Legend)


def painted(qtbot: QtBot, project: Project) -> None:
    """Paint every drawing of a project, of both pieces."""
    try:
        evaluate(project)
    except UserError:
        return
    session = Session(project)
    for kind in VIEWS:
        view = kind(session)
        qtbot.addWidget(view)
        view.resize(700, 500)
        for end in project.housing.ends:
            session.show_end(end)
            assert not view.grab().isNull()


@pytest.mark.parametrize("seed", range(12))
def test_any_value_is_drawn(qtbot: QtBot, seed: int) -> None:
    painted(qtbot, wildly_edited(seed))


@pytest.mark.hard
@pytest.mark.parametrize("first", range(1000, 3000, 50))
def test_any_value_is_drawn_in_thousands(qtbot: QtBot, first: int) -> None:
    for seed in range(first, first + 50):
        painted(qtbot, wildly_edited(seed))


def test_a_piece_without_metal_is_drawn_as_empty_and_told(qtbot: QtBot) -> None:
    project = add_item(load_demo("compressor-intake"), "housing.base.features", Hole("big", 0.0, 0.0, 420.0))
    painted(qtbot, project)
    session = Session(project)
    cut = SectionView(session)
    qtbot.addWidget(cut)
    assert session.shown_end is End.BASE
    assert cut.title.endswith("No metal is left of the base.")
