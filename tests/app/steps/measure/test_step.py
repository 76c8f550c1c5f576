"""The switch between the ways to measure, in the real window."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLineEdit

from app.shell.window import MainWindow
from app.steps.measure.step import CANDIDATES, DRAWING, READINGS, SCAN, SIZES
from core.files.project.demos import FOLDER, load_demo
from core.geometry.ovals.ovals import exact_length
from core.part.insert import Pressed
from core.part.readings import SizeName

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pytestqt.qtbot import QtBot

    from app.shell.drawing_page import DrawingPage
    from app.shell.workspace import Workspace
    from tests.app.conftest import Answers


@pytest.fixture
def window(qtbot: QtBot, answers: Answers) -> Iterator[MainWindow]:
    made = MainWindow(load_demo("pump-strainer"), dialogs=answers.dialogs())
    made.resize(1280, 800)
    made.show()
    qtbot.waitExposed(made)
    yield made
    made.close()


@pytest.fixture
def board(window: MainWindow) -> Workspace:
    assert window.workspace is not None
    return window.workspace


@pytest.mark.parametrize("way", [READINGS, DRAWING, SCAN, CANDIDATES])
def test_each_way_brings_its_form_and_its_board(board: Workspace, way: str) -> None:
    QTest.mouseClick(board.measure.ways._words[way], Qt.MouseButton.LeftButton)
    topic = board.measure.topic(way)
    assert topic.form.isVisible()
    assert board.middle.currentWidget() is topic.board
    assert not board.measure.sizes.isVisible()


def test_the_drawings_come_back_with_the_sizes_and_with_the_other_steps(board: Workspace) -> None:
    board.measure.choose(READINGS)
    board.go_to(1)
    assert board.middle.currentWidget() is board.sheet
    board.go_to(0)
    assert board.middle.currentWidget() is board.measure.topic(READINGS).board
    board.measure.choose(SIZES)
    assert board.middle.currentWidget() is board.sheet


def test_opening_another_project_lets_the_boards_go(qtbot: QtBot, window: MainWindow, board: Workspace) -> None:
    board.measure.choose(CANDIDATES)
    window.flow.open_demo("lens-ring")
    qtbot.waitUntil(lambda: board.middle.count() == 1)
    assert board.middle.currentWidget() is board.sheet


def test_typing_over_a_reading_shows_a_mark_and_one_click_lets_the_reading_count(board: Workspace) -> None:
    sizes, session = board.measure.sizes, board.session
    assert not sizes.where_from.use_button.isVisible()
    session.set_text("new_insert.length", '9 1/2"', "length")
    assert "△ new length" in sizes.where_from.typed_over.text()
    QTest.mouseClick(sizes.where_from.use_button, Qt.MouseButton.LeftButton)
    assert session.project.new_insert.source(SizeName.LENGTH) is not None
    assert not sizes.where_from.use_button.isVisible()


def test_pressing_to_the_old_shape_keeps_the_developed_length_and_can_be_undone(board: Workspace) -> None:
    sizes, session = board.measure.sizes, board.session
    free = session.project.new_insert
    sizes.unfold(sizes.press_button)
    QTest.mouseClick(sizes.press_button, Qt.MouseButton.LeftButton)
    pressed = session.project.new_insert
    assert isinstance(pressed.pressed, Pressed)
    assert exact_length(pressed.oval) == pytest.approx(exact_length(free.oval), abs=1e-6)
    assert sizes.pressed_size.text().startswith("The new rim lies pressed as four-arc oval")
    session.undo()
    assert session.project.new_insert == free


def test_a_rigid_insert_has_no_squeeze_fields_and_an_empty_one_shows_what_the_material_wants(board: Workspace) -> None:
    sizes, session = board.measure.sizes, board.session
    fields = {field.path: field for field in sizes.fields()}
    old, new = fields["old_insert.squeeze.least"], fields["new_insert.squeeze.least"]
    session.ask_for(new.path)  # opens the fold
    assert new.isVisible()
    assert isinstance(new, QLineEdit)
    assert (new.text(), new.placeholderText()) == ("", "10")
    session.set_text("new_insert.material", "soft rubber", "material")
    assert new.placeholderText() == "15"
    session.set_text("new_insert.material", "rigid", "material")
    assert old.isVisible()
    assert not new.isVisible()
    session.set_text("old_insert.material", "rigid", "material")
    assert not old.isVisible()


def test_an_old_outline_file_becomes_a_part_from_the_start_page(
    qtbot: QtBot, window: MainWindow, answers: Answers
) -> None:
    answers.measure = FOLDER / "pump-strainer.dxf"
    _drawing_page(window).topic.part_made.emit(load_demo("lens-ring"))
    qtbot.waitUntil(lambda: window.session is not None and window.session.project.name == load_demo("lens-ring").name)
    assert window.drawing_page is None
    assert window.stack.currentWidget() is window.workspace


def test_the_way_back_from_an_outline_file_leads_to_the_start_page(window: MainWindow) -> None:
    page = _drawing_page(window)
    QTest.mouseClick(page.back_button, Qt.MouseButton.LeftButton)
    assert window.stack.currentWidget() is window.start_page
    assert window.drawing_page is None


def _drawing_page(window: MainWindow) -> DrawingPage:
    window.show_start()
    assert window.start_page is not None
    QTest.mouseClick(window.start_page.drawing_button, Qt.MouseButton.LeftButton)
    page = window.drawing_page
    assert page is not None
    assert window.stack.currentWidget() is page
    return page
