from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from app.session import settings

if TYPE_CHECKING:
    from PySide6.QtWidgets import QApplication


def test_what_was_never_set_has_its_default(qapp: QApplication) -> None:
    assert qapp is not None
    assert settings.RECENT.get() == ()
    assert settings.SHOW_KEPT.get() is False
    assert settings.GEOMETRY.get() == b""


def test_each_kind_of_setting_comes_back_as_it_was_put(tmp_path: Path) -> None:
    settings.SHOW_KEPT.put(True)
    settings.GEOMETRY.put(b"\x00\x01\xff")
    settings.FOLDER.put(str(tmp_path))
    assert settings.SHOW_KEPT.get() is True
    assert settings.GEOMETRY.get() == b"\x00\x01\xff"
    assert settings.FOLDER.get() == str(tmp_path)


def test_a_bad_stored_value_falls_back_to_the_default() -> None:
    settings._store().setValue(settings.SHOW_KEPT.key, "perhaps")
    settings._store().setValue(settings.GEOMETRY.key, "no bytes")
    assert settings.SHOW_KEPT.get() is False
    assert settings.GEOMETRY.get() == b""


def test_recent_projects_are_newest_first_each_once_and_few(tmp_path: Path) -> None:
    paths = [tmp_path / f"{i}.seatwright" for i in range(10)]
    for path in (*paths, paths[4]):
        settings.remember_recent(path)
    recent = settings.RECENT.get()
    assert recent[:3] == (paths[4], paths[9], paths[8])
    assert len(recent) == settings.MOST_RECENT == len(set(recent))


def test_a_single_recent_project_comes_back_and_can_be_forgotten(tmp_path: Path) -> None:
    path = tmp_path / "only one.seatwright"
    settings.remember_recent(path)
    assert settings.RECENT.get() == (path,)
    settings.forget_recent(path)
    assert settings.RECENT.get() == ()


def test_a_relative_path_is_remembered_whole() -> None:
    settings.remember_recent(Path("here.seatwright"))
    assert settings.RECENT.get()[0].is_absolute()
