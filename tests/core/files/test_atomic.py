from __future__ import annotations

import errno
import os
import re
from pathlib import Path
from typing import TYPE_CHECKING, Any, NoReturn

import pytest

from core.files import atomic
from core.files.atomic import write_atomically
from core.words.errors import FileError

if TYPE_CHECKING:
    from collections.abc import Callable


def _raising(number: int) -> Callable[..., NoReturn]:
    def refuse(*_args: Any, **_kwargs: Any) -> NoReturn:  # noqa: ANN401 - stands in for any system call
        raise OSError(number, os.strerror(number))

    return refuse


def _names(folder: Path) -> set[str]:
    return {p.name for p in folder.iterdir()}


def test_a_new_file_is_written_and_nothing_else(tmp_path: Path) -> None:
    write_atomically(tmp_path / "a.json", b"new")
    assert (tmp_path / "a.json").read_bytes() == b"new"
    assert _names(tmp_path) == {"a.json"}


def test_the_version_before_is_kept(tmp_path: Path) -> None:
    for data in (b"1", b"2", b"3"):
        write_atomically(tmp_path / "a.json", data)
    assert (tmp_path / "a.json").read_bytes() == b"3"
    assert (tmp_path / "a.json~").read_bytes() == b"2"
    assert _names(tmp_path) == {"a.json", "a.json~"}


def test_the_version_before_is_not_kept_when_not_wanted(tmp_path: Path) -> None:
    write_atomically(tmp_path / "a.dxf", b"1")
    write_atomically(tmp_path / "a.dxf", b"2", keep_previous=False)
    assert _names(tmp_path) == {"a.dxf"}


def test_a_link_keeps_pointing_to_the_file(tmp_path: Path) -> None:
    (tmp_path / "far").mkdir()
    (tmp_path / "far" / "a.json").write_bytes(b"old")
    (tmp_path / "link").symlink_to(tmp_path / "far" / "a.json")
    write_atomically(tmp_path / "link", b"new")
    assert (tmp_path / "link").is_symlink()
    assert (tmp_path / "far" / "a.json").read_bytes() == b"new"


def test_the_permissions_of_the_file_stay(tmp_path: Path) -> None:
    (tmp_path / "a.json").write_bytes(b"old")
    (tmp_path / "a.json").chmod(0o640)
    write_atomically(tmp_path / "a.json", b"new")
    assert (tmp_path / "a.json").stat().st_mode & 0o777 == 0o640


@pytest.mark.parametrize("name", ["replace", "fsync", "open", "copy2"])
@pytest.mark.parametrize(
    ("number", "match"),
    [
        (errno.ENOSPC, r"a\.json: can't be written: the disk is full\. Make room on it"),
        (errno.EACCES, r"a\.json: can't be written: you have no permission\. Choose another folder"),
        (errno.EROFS, r"a\.json: can't be written: the disk can only be read\. Choose a folder on another disk"),
        (errno.EBUSY, rf"a\.json: can't be written: {re.escape(os.strerror(errno.EBUSY))}$"),
    ],
)
def test_whatever_the_system_refuses_the_old_file_is_untouched(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str, number: int, match: str
) -> None:
    path = tmp_path / "a.json"
    write_atomically(path, b"older")
    write_atomically(path, b"old")
    owner: Any = {"replace": Path, "open": Path, "fsync": os, "copy2": atomic}[name]
    with monkeypatch.context() as patch:
        patch.setattr(owner, name, _raising(number))
        with pytest.raises(FileError, match=match):
            write_atomically(path, b"new")
    assert path.read_bytes() == b"old"
    assert (tmp_path / "a.json~").read_bytes() == b"older"
    assert _names(tmp_path) == {"a.json", "a.json~"}


def test_a_disk_that_fills_up_while_the_version_before_is_copied_costs_neither(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "a.json"
    write_atomically(path, b"older")
    write_atomically(path, b"old")

    def half(_source: Path, target: Path) -> NoReturn:
        target.write_bytes(b"o")
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(atomic, "copy2", half)
    with pytest.raises(FileError, match="disk is full"):
        write_atomically(path, b"new")
    assert path.read_bytes() == b"old"
    assert (tmp_path / "a.json~").read_bytes() == b"older"
    assert _names(tmp_path) == {"a.json", "a.json~"}


def test_a_folder_of_that_name_is_refused(tmp_path: Path) -> None:
    (tmp_path / "a.json").mkdir()
    with pytest.raises(FileError, match=r"can't be written: a folder has this name\. Choose another name"):
        write_atomically(tmp_path / "a.json", b"new")
    assert _names(tmp_path) == {"a.json"}


def test_a_folder_in_the_way_of_the_version_before_is_refused(tmp_path: Path) -> None:
    (tmp_path / "a.json").write_bytes(b"old")
    (tmp_path / "a.json~").mkdir()
    with pytest.raises(FileError, match="a folder has this name"):
        write_atomically(tmp_path / "a.json", b"new")
    assert (tmp_path / "a.json").read_bytes() == b"old"
    assert _names(tmp_path) == {"a.json", "a.json~"}


def test_a_missing_folder_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FileError, match=r"no such file or folder\. Check the name, or make the folder first"):
        write_atomically(tmp_path / "none" / "a.json", b"new")
    assert _names(tmp_path) == set()


def test_a_file_in_place_of_the_folder_is_refused(tmp_path: Path) -> None:
    (tmp_path / "file").write_bytes(b"old")
    with pytest.raises(FileError, match="a part of the path is a file, not a folder"):
        write_atomically(tmp_path / "file" / "a.json", b"new")


def test_a_file_protected_by_its_owner_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "a.json").write_bytes(b"old")
    monkeypatch.setattr(os, "access", lambda *_: False)
    with pytest.raises(FileError, match="you have no permission"):
        write_atomically(tmp_path / "a.json", b"new")
    assert (tmp_path / "a.json").read_bytes() == b"old"


def test_a_name_that_is_too_long_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FileError, match=r"the name is too long\. Choose a shorter one"):
        write_atomically(tmp_path / ("a" * 300), b"new")


def test_links_in_a_circle_are_refused(tmp_path: Path) -> None:
    (tmp_path / "a").symlink_to(tmp_path / "b")
    (tmp_path / "b").symlink_to(tmp_path / "a")
    with pytest.raises(FileError, match="links in a circle"):
        write_atomically(tmp_path / "a", b"new")


def test_what_is_no_plain_file_is_refused(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(FileError, match="no plain file"):
        write_atomically(tmp_path / "pipe", b"x")


def test_what_a_killed_program_left_is_taken_away_and_what_another_writes_now_is_not(tmp_path: Path) -> None:
    old, new, other = (tmp_path / name for name in (".a.txt.1f00.part", ".a.txt.2f00.part", ".b.txt.1f00.part"))
    for path in (old, new, other):
        path.write_bytes(b"half")
    for path in (old, other):
        os.utime(path, (0, 0))
    write_atomically(tmp_path / "a.txt", b"whole")
    assert sorted(p.name for p in tmp_path.iterdir()) == [".a.txt.2f00.part", ".b.txt.1f00.part", "a.txt"]


@pytest.mark.skipif(not hasattr(os, "fork"), reason="needs fork")
def test_two_programs_that_write_one_file_never_fail_and_nobody_sees_half_of_it(tmp_path: Path) -> None:
    path = tmp_path / "shared.txt"
    whole = [bytes([65 + i]) * 200_000 for i in range(2)]
    write_atomically(path, whole[0])
    children = []
    for data in whole:
        child = os.fork()
        if child == 0:
            try:
                for _ in range(40):
                    write_atomically(path, data)
            except BaseException:  # noqa: BLE001 - whatever it is, the parent has to hear of it
                os._exit(1)
            os._exit(0)
        children.append(child)
    seen = {path.read_bytes() for _ in range(400)}
    assert seen <= set(whole)
    assert [os.waitpid(child, 0)[1] for child in children] == [0, 0]
    assert sorted(p.name for p in tmp_path.iterdir()) == ["shared.txt", "shared.txt~"]
