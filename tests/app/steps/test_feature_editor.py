from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

import app.session.results
from app.widgets.choice_field import ChoiceField
from app.widgets.fields import TextField
from core.edits import field_at
from core.features.registry import FEATURES
from core.words.ends import End

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from app.session.session import Session
    from app.shell.window import MainWindow
    from app.shell.workspace import Workspace
    from app.steps.feature_editor import ItemList


@pytest.fixture
def board(window: MainWindow) -> Workspace:
    assert window.workspace is not None
    window.workspace.go_to(1)
    return window.workspace


@pytest.fixture
def session(board: Workspace) -> Session:
    return board.session


@pytest.fixture
def base(board: Workspace) -> ItemList:
    return board.steps[1].lists[0]


@pytest.mark.parametrize("kind", FEATURES)
def test_each_kind_is_added_shown_proved_and_removed(session: Session, base: ItemList, kind: str) -> None:
    before = session.project
    assert base.add(kind)
    added = session.project.housing.base.features[-1]
    assert str(added.__struct_config__.tag) == kind
    assert session.result.project == session.project
    assert session.undo_stack.undoText() == f"add {kind}"
    line = base.lines[-1]
    assert line.is_open
    assert line.button.text().startswith(added.name)
    QTest.mouseClick(line.remove_button, Qt.MouseButton.LeftButton)
    assert session.project == before
    assert session.undo_stack.undoText() == f"remove {added.name}"
    session.undo_stack.undo()
    assert base.lines[-1].name == added.name


def test_what_is_clicked_while_the_model_computes_is_what_is_removed_and_edited(
    qtbot: QtBot, session: Session, base: ItemList, monkeypatch: pytest.MonkeyPatch
) -> None:
    for kind in ("hole", "hole", "hole", "hole"):
        assert base.add(kind)
    names = [line.name for line in base.lines]
    monkeypatch.setattr(app.session.results, "SLOW_S", -1.0)
    session._results.seconds.append(1.0)
    last = len(names) - 1
    entry = base.find_field(f"housing.base.features[{last}].diameter")
    assert isinstance(entry, TextField)
    for gone in (0, 1):
        QTest.mouseClick(base.lines[gone].remove_button, Qt.MouseButton.LeftButton)
        assert session.is_busy
        assert [line.name for line in base.lines] == names  # what is seen is the list before
    entry.setFocus()
    entry.selectAll()
    QTest.keyClicks(entry, "3.3")
    qtbot.waitUntil(lambda: not session.is_busy and session.project == session.wanted)
    left = session.project.housing.base.features
    assert [feature.name for feature in left] == names[2:]
    assert [feature.name for feature in left if getattr(feature, "diameter", 0.0) == 3.3] == [names[-1]]


def test_the_menu_offers_every_kind(base: ItemList) -> None:
    menu = base.add_button.menu()
    assert [action.text() for action in menu.actions()] == list(FEATURES)


def test_a_features_sizes_name_and_what_it_follows_are_edited_in_place(
    session: Session, board: Workspace, base: ItemList
) -> None:
    assert board.reach("housing.base.features[0].width")
    width = QApplication.focusWidget()
    assert isinstance(width, TextField)
    width.selectAll()
    QTest.keyClicks(width, "9,5")
    assert session.project.housing.base.features[0].width == 9.5  # type: ignore[union-attr]
    name = base.find_field("housing.base.features[0].name")
    assert isinstance(name, TextField)
    name.setFocus()
    name.selectAll()
    QTest.keyClicks(name, "long bar")
    assert session.project.housing.base.features[0].name == "long bar"
    assert name.text() == "long bar"
    assert base.lines[0].button.text() == "long bar"
    base.lines[0].close_up()
    assert base.lines[0].button.text() == "long bar  ·  crossbar, follows spread"
    follows = base.find_field("housing.base.features[0].follows")
    assert isinstance(follows, ChoiceField)
    offered = [str(follows.itemData(i)) for i in range(follows.count())]
    assert offered == [str(f) for f in FEATURES["crossbar"].may_follow]
    follows.activated.emit(offered.index("machine"))
    assert str(session.project.housing.base.features[0].follows) == "machine"


def test_a_name_that_another_feature_has_is_refused(qtbot: QtBot, session: Session, base: ItemList) -> None:
    name = base.find_field("housing.base.features[1].name")
    assert isinstance(name, TextField)
    name.setFocus()
    name.selectAll()
    with qtbot.waitSignal(session.refused) as blocker:
        QTest.keyClicks(name, "lug 2")
    assert blocker.args is not None
    assert "is already the name of" in blocker.args[1]
    assert session.project.housing.base.features[1].name == "lug "[:3]


def test_opening_a_feature_points_at_it_and_closes_the_others(qtbot: QtBot, session: Session, base: ItemList) -> None:
    base.lines[0].open()
    with qtbot.waitSignal(session.pointed) as blocker:
        QTest.mouseClick(base.lines[1].button, Qt.MouseButton.LeftButton)
    assert blocker.args is not None
    assert blocker.args[0].feature == base.lines[1].name
    assert blocker.args[0].end is End.BASE
    assert not base.lines[0].is_open
    assert base.lines[1].is_open


def test_the_list_follows_the_piece_that_is_shown(session: Session, board: Workspace) -> None:
    step = board.steps[1]
    base, lid = step.lists[:2]
    session.show_end(End.LID)
    assert lid.isVisible()
    assert not base.isVisible()
    session.ask_for("housing.base.features[0].width")
    assert session.shown_end is End.BASE
    assert base.isVisible()


@pytest.mark.parametrize(("index", "word"), [(2, "stud"), (3, "keep-out")])
def test_studs_and_keep_outs_are_added_and_removed(session: Session, board: Workspace, index: int, word: str) -> None:
    items = board.steps[1].lists[index]
    before = session.project
    count = len(items.lines)
    assert items.add(word)
    assert len(items.lines) == count + 1
    assert items.remove(count)
    assert session.project == before
    assert len(items.lines) == count


def test_a_refused_addition_is_said_at_the_foot(
    window: MainWindow, base: ItemList, monkeypatch: pytest.MonkeyPatch, session: Session
) -> None:
    same = session.project.housing.base.features[0]
    monkeypatch.setattr(base, "_makers", [("hole", lambda _project: same)])
    assert not base.add("hole")
    assert "is already the name of" in window.hint.text()


@pytest.mark.parametrize(
    "path", ["housing.metal.kind", "housing.base.tight", "housing.studs[0].kind", "housing.studs[0].hole_depth"]
)
def test_what_studs_and_tight_pieces_need_is_typed_in_here(board: Workspace, path: str) -> None:
    field = board.steps[1].find_field(path)
    assert field is not None
    assert field.path == path
    assert field_at(board.session.project, path).meaning.endswith(".")


def test_an_empty_limit_of_thread_shows_what_the_metal_wants(board: Workspace) -> None:
    board.go_to(2)
    field = board.parts.verdicts.find_field("limits.engagement")
    assert isinstance(field, TextField)
    assert (field.text(), field.placeholderText()) == ("", "2, by the metal")
