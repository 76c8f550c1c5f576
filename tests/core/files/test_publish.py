"""Files that are published together: all new or all as they were, killed at any moment, links included."""

from __future__ import annotations

import os
import signal
import time
from contextlib import suppress
from pathlib import Path

import numpy as np
import pytest

from core.files import publish
from core.files.publish import PREFIX, Room, finish
from core.words.errors import FileError

NAMES = tuple(f"file-{i}.txt" for i in range(7))


def _put(folder: Path, word: str, names: tuple[str, ...] = NAMES) -> None:
    with Room(folder) as room:
        for name in names:
            (room.scratch / name).write_text(f"{word} {name}")
        room.publish(names)


def _words(folder: Path) -> set[str]:
    return {(folder / name).read_text().split()[0] for name in NAMES if (folder / name).exists()}


def test_new_files_take_the_places_and_nothing_is_left_behind(tmp_path: Path) -> None:
    _put(tmp_path, "one")
    _put(tmp_path, "two")
    assert _words(tmp_path) == {"two"}
    assert sorted(p.name for p in tmp_path.iterdir()) == sorted(NAMES)
    assert finish(tmp_path) == ""


def test_a_link_keeps_pointing_to_its_file_also_in_another_folder(tmp_path: Path) -> None:
    there, here = tmp_path / "there", tmp_path / "here"
    there.mkdir()
    here.mkdir()
    (there / "kept.txt").write_text("old")
    (here / NAMES[2]).symlink_to(there / "kept.txt")
    _put(here, "new")
    assert (here / NAMES[2]).is_symlink()
    assert (there / "kept.txt").read_text() == f"new {NAMES[2]}"
    assert [p.name for p in there.iterdir()] == ["kept.txt"]


def test_rights_stay_those_of_the_file_that_was_there(tmp_path: Path) -> None:
    _put(tmp_path, "one")
    (tmp_path / NAMES[0]).chmod(0o640)
    _put(tmp_path, "two")
    assert (tmp_path / NAMES[0]).stat().st_mode & 0o777 == 0o640


@pytest.mark.parametrize("at", [0, 3, 6])
@pytest.mark.parametrize("before", ["", "one"])
def test_one_that_another_program_holds_leaves_all_as_they_were(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, at: int, before: str
) -> None:
    if before:
        _put(tmp_path, "one")
    monkeypatch.setattr(publish, "_PAUSE_S", 0.0)
    real, tries = Path.replace, []

    def held(self: Path, target: Path) -> Path:
        if Path(target).name == NAMES[at] and "back" not in self.name:
            tries.append(1)
            raise PermissionError(13, "held", str(self), None, str(target))
        return real(self, target)

    monkeypatch.setattr(Path, "replace", held)
    with pytest.raises(FileError, match=NAMES[at]):
        _put(tmp_path, "two")
    monkeypatch.undo()
    assert len(tries) == 10
    assert _words(tmp_path) == ({before} if before else set())
    assert not list(tmp_path.glob(f"{PREFIX}*"))


@pytest.mark.parametrize("kind", ["folder", "fifo"])
def test_what_is_no_plain_file_is_refused_before_anything_moves(tmp_path: Path, kind: str) -> None:
    _put(tmp_path, "one")
    (tmp_path / NAMES[3]).unlink()
    if kind == "folder":
        (tmp_path / NAMES[3]).mkdir()
    else:
        os.mkfifo(tmp_path / NAMES[3])
    with pytest.raises(FileError, match=NAMES[3]):
        _put(tmp_path, "two")
    left = {p.read_text().split()[0] for p in tmp_path.glob("*.txt") if p.is_file()}
    assert left == {"one"}


def test_what_a_program_at_work_has_waiting_is_left_alone(tmp_path: Path) -> None:
    with Room(tmp_path) as room:
        (room.scratch / "a.txt").write_text("waits")
        assert finish(tmp_path) == ""
        assert (room.scratch / "a.txt").exists()


def _killed(folder: Path, word: str, after: float) -> None:
    ready, go = os.pipe()
    child = os.fork()
    if child == 0:
        with suppress(BaseException):
            os.write(go, b".")
            _put(folder, word)
        os._exit(0)
    os.read(ready, 1)
    time.sleep(after)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    os.close(ready)
    os.close(go)


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")
@pytest.mark.parametrize("rounds", [12, pytest.param(300, marks=pytest.mark.hard)])
def test_killed_at_any_moment_every_file_is_new_or_every_old_one_is_there(tmp_path: Path, rounds: int) -> None:
    rng = np.random.default_rng(3)
    word = "start"
    _put(tmp_path, word)
    seen = set()
    for i in range(rounds):
        _killed(tmp_path, f"round{i}", float(rng.uniform(0.0, 0.008)))
        said = finish(tmp_path)
        found = _words(tmp_path)
        assert found in ({word}, {f"round{i}"}), said
        (word,) = found
        seen.add(said)
        assert sorted(p.name for p in tmp_path.iterdir()) == sorted(NAMES)
    assert len(seen) > 1
