"""The journal: an entry is whole or the one before, whatever stands in its folder."""

from __future__ import annotations

import os
import signal
import time
from contextlib import suppress
from itertools import count
from typing import TYPE_CHECKING

import numpy as np
import pytest
from msgspec.structs import replace

from core.files.project.demos import load_demo
from core.files.project.journal import SUFFIX, entries, give_up, keep, read_entry
from core.words.errors import FileError

if TYPE_CHECKING:
    from pathlib import Path

    from core.part.project import Project


@pytest.fixture(scope="module")
def intake_project() -> Project:
    return load_demo("compressor-intake")


def test_what_was_kept_is_read_again_the_newest_first(tmp_path: Path, intake_project: Project) -> None:
    keep(tmp_path / f"a{SUFFIX}", intake_project, None, 10.0)
    keep(tmp_path / f"b{SUFFIX}", replace(intake_project, name="later"), tmp_path / "part.seatwright", 20.5)
    first, second = entries(tmp_path)
    assert (first.project.name, first.source, first.kept) == ("later", tmp_path / "part.seatwright", 20.5)
    assert (second.project, second.source) == (intake_project, None)
    give_up(first.place)
    give_up(first.place)
    assert [entry.place for entry in entries(tmp_path)] == [second.place]


def test_what_is_no_entry_is_not_offered(tmp_path: Path, intake_project: Project) -> None:
    good = tmp_path / f"good{SUFFIX}"
    keep(good, intake_project, None, 1.0)
    data = good.read_bytes()
    for name, content in (("empty", b""), ("half", data[: len(data) // 2]), ("noise", bytes(range(256)) * 4)):
        (tmp_path / f"{name}{SUFFIX}").write_bytes(content)
    (tmp_path / f"folder{SUFFIX}").mkdir()
    assert [entry.place for entry in entries(tmp_path)] == [good]
    assert entries(tmp_path / "nowhere") == ()


def test_a_folder_that_cannot_be_made_is_said(tmp_path: Path, intake_project: Project) -> None:
    (tmp_path / "taken").write_text("a file")
    with pytest.raises(FileError, match="can't be made"):
        keep(tmp_path / "taken" / "in" / f"a{SUFFIX}", intake_project, None, 1.0)


def _killed(place: Path, project: Project, after: float) -> int:
    """Keep one part after another in a child until it is killed; the number that was kept before."""
    reader, writer = os.pipe()
    child = os.fork()
    if child == 0:
        with suppress(BaseException):
            for i in count(1):
                keep(place, replace(project, name=f"part {i}"), None, float(i))
                os.write(writer, b".")
        os._exit(0)
    os.close(writer)
    os.read(reader, 1)  # the first is there
    time.sleep(after)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    done = 1
    while chunk := os.read(reader, 65536):
        done += len(chunk)
    os.close(reader)
    return done


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")
@pytest.mark.parametrize("rounds", [8, pytest.param(300, marks=pytest.mark.hard)])
def test_killed_at_any_moment_the_entry_is_the_last_or_the_next(
    tmp_path: Path, intake_project: Project, rounds: int
) -> None:
    rng = np.random.default_rng(7)
    place = tmp_path / f"one{SUFFIX}"
    for _ in range(rounds):
        done = _killed(place, intake_project, float(rng.uniform(0.0, 0.03)))
        entry = read_entry(place)
        assert entry is not None
        assert entry.project.name in (f"part {done}", f"part {done + 1}")
