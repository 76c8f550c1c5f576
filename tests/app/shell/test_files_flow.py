from __future__ import annotations

import os
from typing import TYPE_CHECKING

import pytest

from app.session import settings
from app.shell.window import MainWindow
from app.steps.dialogs import Overtaken, Unsaved
from core.files.project.file import load_project, save_project

if TYPE_CHECKING:
    from pathlib import Path

    from pytestqt.qtbot import QtBot

    from app.session.session import Session
    from core.part.project import Project
    from tests.app.conftest import Answers


@pytest.fixture
def session(window: MainWindow) -> Session:
    assert window.session is not None
    return window.session


def change(session: Session, mm: float = 203.0) -> None:
    assert session.set_text("new_insert.length", str(mm), "length")


def test_a_project_is_saved_under_the_name_given_and_opens_again_as_it_was(
    window: MainWindow, session: Session, answers: Answers, tmp_path: Path
) -> None:
    change(session)
    answers.save = tmp_path / "housing"
    assert window.isWindowModified()
    window.save_action.trigger()
    path = tmp_path / "housing.seatwright"
    assert load_project(path) == session.project
    assert session.path == path
    assert not window.isWindowModified()
    assert "housing.seatwright" in window.windowTitle()
    change(session, 205.0)
    assert window.isWindowModified()
    answers.open = path
    window.open_action.trigger()
    assert session.project.new_insert.length == 203.0
    assert answers.asked == ["save", "unsaved", "open"]


def test_undo_back_to_what_was_saved_is_not_modified(
    window: MainWindow, session: Session, answers: Answers, tmp_path: Path
) -> None:
    answers.save = tmp_path / "a.seatwright"
    window.save_action.trigger()
    change(session)
    assert window.isWindowModified()
    window.undo_action.trigger()
    assert not window.isWindowModified()


def test_saving_again_asks_nothing_and_keeps_the_version_before(
    window: MainWindow, session: Session, answers: Answers, tmp_path: Path
) -> None:
    answers.save = tmp_path / "a.seatwright"
    window.save_action.trigger()
    change(session)
    window.save_action.trigger()
    assert answers.asked == ["save"]
    assert load_project(tmp_path / "a.seatwright").new_insert.length == 203.0
    assert load_project(tmp_path / "a.seatwright~").new_insert.length == 200.0


@pytest.mark.parametrize(
    ("answer", "closes", "saves"),
    [(Unsaved.SAVE, True, True), (Unsaved.DISCARD, True, False), (Unsaved.CANCEL, False, False)],
)
def test_closing_asks_about_unsaved_changes(
    window: MainWindow,
    session: Session,
    answers: Answers,
    tmp_path: Path,
    *,
    answer: Unsaved,
    closes: bool,
    saves: bool,
) -> None:
    change(session)
    answers.unsaved, answers.save = answer, tmp_path / "a.seatwright"
    assert window.close() is closes
    assert (tmp_path / "a.seatwright").exists() is saves
    assert answers.asked[0] == "unsaved"
    answers.unsaved = Unsaved.DISCARD


def test_a_save_that_is_called_off_keeps_the_window_open(
    window: MainWindow, session: Session, answers: Answers
) -> None:
    change(session)
    answers.unsaved, answers.save = Unsaved.SAVE, None
    assert not window.close()
    answers.unsaved = Unsaved.DISCARD


def test_closing_an_unchanged_project_asks_nothing(window: MainWindow, answers: Answers) -> None:
    assert window.close()
    assert answers.asked == []


def test_a_broken_file_is_told_with_its_place_and_the_open_project_stays(
    window: MainWindow, session: Session, answers: Answers, project: Project, tmp_path: Path
) -> None:
    path = tmp_path / "broken.seatwright"
    save_project(project, path)
    path.write_text(path.read_text(encoding="utf-8").replace('"width": 120.0', '"width": "wide"', 1), encoding="utf-8")
    settings.remember_recent(path)
    answers.open = path
    window.open_action.trigger()
    assert session.project == project
    title, text = answers.told[0]
    assert title == "The project was not opened"
    assert text.startswith("old_insert.width: expected a length as a number in millimetres")
    assert settings.RECENT.get() == ()


def test_a_file_whose_sizes_make_no_housing_is_told_and_the_open_project_stays(
    window: MainWindow, session: Session, answers: Answers, project: Project, tmp_path: Path
) -> None:
    path = tmp_path / "impossible.seatwright"
    save_project(project, path)
    path.write_text(path.read_text(encoding="utf-8").replace('"width": 120.0', '"width": 900.0', 1), encoding="utf-8")
    answers.open = path
    window.open_action.trigger()
    assert session.project == project
    assert "900.00 mm is more than the length" in answers.told[0][1]


def test_a_file_that_can_not_be_written_is_told_and_the_project_stays_modified(
    window: MainWindow, session: Session, answers: Answers, tmp_path: Path
) -> None:
    change(session)
    answers.save = tmp_path / "no such folder" / "a.seatwright"
    window.save_action.trigger()
    assert answers.told[0][0] == "The project was not saved"
    assert "there is no such file or folder" in answers.told[0][1]
    assert window.isWindowModified()


@pytest.fixture
def overtaken(window: MainWindow, session: Session, answers: Answers, tmp_path: Path) -> Path:
    """The project's file, written by another program after it was saved here, with an edit here since."""
    answers.save = path = tmp_path / "a.seatwright"
    window.save_action.trigger()
    path.write_bytes(path.read_bytes() + b"\n")
    os.utime(path, ns=(1, 1))
    change(session)
    return path


def test_replacing_a_file_that_another_program_wrote_is_asked_first(
    window: MainWindow, answers: Answers, overtaken: Path
) -> None:
    assert window.flow.was_overtaken
    answers.overtaken = Overtaken.CANCEL
    window.save_action.trigger()
    assert answers.asked[-1] == "overtaken"
    assert load_project(overtaken).new_insert.length == 200.0
    assert window.isWindowModified()
    answers.overtaken = Overtaken.REPLACE
    window.save_action.trigger()
    assert load_project(overtaken).new_insert.length == 203.0
    assert not window.flow.was_overtaken


def test_saving_beside_it_leaves_the_other_programs_file_alone(
    window: MainWindow, answers: Answers, overtaken: Path, tmp_path: Path
) -> None:
    answers.overtaken, answers.save = Overtaken.SAVE_AS, tmp_path / "b.seatwright"
    window.save_action.trigger()
    assert load_project(overtaken).new_insert.length == 200.0
    assert load_project(tmp_path / "b.seatwright").new_insert.length == 203.0


def test_recent_projects_are_offered_in_the_menu_and_open(
    window: MainWindow, session: Session, project: Project, tmp_path: Path
) -> None:
    path = tmp_path / "shelf.seatwright"
    save_project(project, path)
    settings.remember_recent(path)
    window.recent_menu.aboutToShow.emit()
    (action,) = window.recent_menu.actions()
    assert action.text() == "shelf.seatwright"
    action.trigger()
    assert session.path == path


def test_a_window_opened_with_a_path_saves_there(
    qtbot: QtBot, project: Project, answers: Answers, tmp_path: Path
) -> None:
    path = tmp_path / "given.seatwright"
    save_project(project, path)
    window = MainWindow(project, path, dialogs=answers.dialogs())
    qtbot.addWidget(window)
    assert not window.flow.was_overtaken
    assert window.session is not None
    change(window.session)
    window.save_action.trigger()
    assert answers.asked == []
    assert load_project(path).new_insert.length == 203.0
