from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QRect, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.session import settings
from app.shell.start_page import ONE, Card, Sketch
from app.shell.window import MainWindow
from app.widgets.choice_field import ChoiceField
from app.widgets.fields import TextField
from core.files.project.demos import demo_names
from core.files.project.file import save_project
from core.geometry.ovals.ovals import Family

if TYPE_CHECKING:
    from pathlib import Path

    from pytestqt.qtbot import QtBot

    from app.shell.start_page import StartPage
    from core.part.project import Project
    from tests.app.conftest import Answers


@pytest.fixture
def fresh(qtbot: QtBot, answers: Answers) -> MainWindow:
    """A window without a project."""
    made = MainWindow(dialogs=answers.dialogs())
    qtbot.addWidget(made)
    made.resize(1280, 800)
    with qtbot.waitExposed(made):
        made.show()
    made.activateWindow()
    return made


@pytest.fixture
def page(fresh: MainWindow) -> StartPage:
    assert fresh.start_page is not None
    return fresh.start_page


def retype(page: StartPage, path: str, text: str) -> TextField:
    entry = page.form.find_field(path)
    assert isinstance(entry, TextField)
    entry.setFocus()
    entry.selectAll()
    QTest.keyClicks(entry, text)
    return entry


def test_without_a_project_there_is_nothing_to_save_or_undo(fresh: MainWindow) -> None:
    assert fresh.session is None
    assert not fresh.save_action.isEnabled()
    assert not fresh.export_action.isEnabled()
    assert not fresh.undo_action.isEnabled()
    assert fresh.windowTitle() == "Seatwright"


def test_every_demo_is_offered_and_the_first_one_opens(fresh: MainWindow, page: StartPage) -> None:
    assert len(page.demo_cards) == len(demo_names())
    QTest.mouseClick(page.demo_cards[0], Qt.MouseButton.LeftButton)
    assert fresh.session is not None
    assert fresh.session.project.name == page.demo_cards[0].text()
    assert fresh.session.path is None
    assert fresh.stack.currentWidget() is fresh.workspace


@pytest.mark.parametrize("size", [(1280, 800), (1920, 1080)])
def test_what_is_said_of_a_demo_is_never_cut_off(fresh: MainWindow, page: StartPage, size: tuple[int, int]) -> None:
    fresh.resize(*size)
    QApplication.processEvents()
    for card in page.demo_cards:
        sketch = card.findChild(Sketch)
        assert sketch is not None
        metrics = card.fontMetrics()
        words = QRect(0, 0, card.width() - 2 * metrics.height(), 10_000)
        tall = metrics.boundingRect(words, Qt.TextFlag.TextWordWrap, card.accessibleDescription()).height()
        title = round(metrics.height() * 1.2)
        assert sketch.geometry().bottom() + title + tall <= card.height(), card.text()
        assert sketch.height() > 3 * metrics.height()


def test_a_part_is_described_and_begins_complete(fresh: MainWindow, page: StartPage) -> None:
    retype(page, "new_insert.length", "180")
    retype(page, "new_insert.width", "95,5")
    QTest.mouseClick(page.start_button, Qt.MouseButton.LeftButton)
    assert fresh.session is not None
    project = fresh.session.project
    assert (project.old_insert.length, project.old_insert.width) == (180.0, 95.5)
    assert (project.new_insert.length, project.new_insert.width) == (180.0, 95.5)
    assert project.housing.lid is not None
    assert fresh.session.result.findings
    assert not fresh.session.result.conflicts


def test_a_ring_is_described_with_its_family_and_unit(fresh: MainWindow, page: StartPage) -> None:
    QTest.mouseClick(page.kind.button(ONE), Qt.MouseButton.LeftButton)
    family = page.form.find_field("new_insert.family")
    assert family is not None
    family.setCurrentIndex(family.findData("circle"))  # type: ignore[union-attr]
    family.activated.emit(family.currentIndex())  # type: ignore[union-attr]
    page.draft.change("", lambda p: p)
    style = page.form.find_field("style")
    QTest.mouseClick(style.button("in"), Qt.MouseButton.LeftButton)  # type: ignore[union-attr]
    retype(page, "new_insert.length", "6")
    QTest.mouseClick(page.start_button, Qt.MouseButton.LeftButton)
    assert fresh.session is not None
    insert = fresh.session.project.new_insert
    assert insert.family is Family.CIRCLE
    assert insert.length == insert.width == pytest.approx(152.4)
    assert fresh.session.project.housing.lid is None
    assert str(fresh.session.project.style) == "in"


def test_an_impossible_description_is_refused_beside_its_field(page: StartPage) -> None:
    entry = retype(page, "new_insert.rim.width", "80")
    assert entry.text() == "80"
    assert page.draft.project.new_insert.rim.width == 8.0
    QTest.keyClick(entry, Qt.Key.Key_Return)
    assert page.draft.refusal is not None


def test_recent_projects_are_on_the_shelf_and_open(
    qtbot: QtBot, fresh: MainWindow, page: StartPage, project: Project, tmp_path: Path
) -> None:
    path = tmp_path / "shelf.seatwright"
    save_project(project, path)
    settings.remember_recent(path)
    fresh.show_start()
    (card,) = [c for c in page.findChildren(Card) if c.text() == "shelf"]
    qtbot.waitUntil(card.isVisible)
    QTest.mouseClick(card, Qt.MouseButton.LeftButton)
    assert fresh.session is not None
    assert fresh.session.path == path


def test_the_start_page_can_be_left_again_without_losing_the_project(window: MainWindow) -> None:
    session = window.session
    window.start_action.trigger()
    assert window.stack.currentWidget() is window.start_page
    assert window.back_action.isVisible()
    window.back_action.trigger()
    assert window.stack.currentWidget() is window.workspace
    assert window.session is session


def test_beginning_anew_asks_about_unsaved_changes_first(window: MainWindow, answers: Answers) -> None:
    assert window.session is not None
    window.session.set_text("new_insert.length", "203", "length")
    window.start_action.trigger()
    assert window.start_page is not None
    QTest.mouseClick(window.start_page.start_button, Qt.MouseButton.LeftButton)
    assert answers.asked == ["unsaved"]
    assert window.session.project.name == "New housing"


def test_the_start_page_leads_back_to_the_open_project(window: MainWindow) -> None:
    window.show_start()
    page = window.start_page
    assert page is not None
    assert window.session is not None
    name = window.session.project.name
    back = next(card for card in page.findChildren(Card) if card.text() == name)
    QTest.mouseClick(back, Qt.MouseButton.LeftButton)
    assert window.stack.currentWidget() is window.workspace


def test_a_shape_that_no_sizes_make_is_not_offered(page: StartPage) -> None:
    shape = page.form.find_field("new_insert.family")
    assert isinstance(shape, ChoiceField)
    offered = [shape.itemText(i) for i in range(shape.count())]
    assert "obround" in offered
    assert "measured outline" not in offered
