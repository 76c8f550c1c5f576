"""What the commands write reaches any console, and what can't be read or written is said in words."""

from __future__ import annotations

import io
import json
import os
import re
import subprocess
import sys
from itertools import product
from pathlib import Path

import pytest

from app.__main__ import main
from core.files.project.demos import FOLDER

ROOT = FOLDER.parents[1]
DEMO, DRAWING = FOLDER / "compressor-intake.json", FOLDER / "pump-strainer.dxf"
STRAINER = FOLDER / "pump-strainer.json"
ENCODINGS = ("ascii", "cp437", "cp850", "cp1252", "utf-8")


def said(monkeypatch: pytest.MonkeyPatch, encoding: str, *arguments: str) -> tuple[str, str]:
    """What reaches a console of that encoding: its output, and its errors."""
    streams = [io.TextIOWrapper(io.BytesIO(), encoding=encoding, newline="\n") for _ in range(2)]
    for name, stream in zip(("stdout", "stderr"), streams, strict=True):
        monkeypatch.setattr(sys, name, stream)
    main(arguments)
    for stream in streams:
        stream.flush()
    out, err = (stream.buffer.getvalue().decode(encoding) for stream in streams)
    return out, err


@pytest.mark.parametrize("encoding", ENCODINGS)
def test_no_sign_is_lost_on_any_console(monkeypatch: pytest.MonkeyPatch, tmp_path: Path, encoding: str) -> None:
    raw = json.loads(DEMO.read_text(encoding="utf-8"))
    raw["name"] = "− ≤ × ≈ → … ± ° µ 9¾ é ⅛ 图 \u202e"
    file = tmp_path / "part.json"
    file.write_text(json.dumps(raw), encoding="utf-8")
    out, err = said(monkeypatch, encoding, "check", str(file), "--set", "new_insert.length=209.2")
    assert err == ""
    name, whole = out.splitlines()[0], out
    if encoding == "ascii":
        assert "- <= x ~ -> ... +/-  deg u 9 3/4 e 1/8 \\u56fe \\u202e" in name
        # What shrinks keeps its sign: as many minus signs as UTF-8 shows.
        full, _ = said(monkeypatch, "utf-8", "check", str(file), "--set", "new_insert.length=209.2")
        minus = re.compile(r"\([-−]\d")
        assert len(minus.findall(whole)) == len(minus.findall(full)) > 0
    assert "?" not in whole


@pytest.mark.parametrize("encoding", ENCODINGS)
def test_errors_lose_no_sign(monkeypatch: pytest.MonkeyPatch, encoding: str) -> None:
    _, err = said(monkeypatch, encoding, "outline", str(DRAWING), "--join", "−3 × 图")
    assert "--join" in err
    assert "?" not in err
    assert re.search("[-−]3 [x×] (图|u56fe)".replace("u56fe", r"\\u56fe"), err)


def test_a_name_steers_no_terminal(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    raw = json.loads(DEMO.read_text(encoding="utf-8"))
    raw["name"] = "red \x1b[31m bell \x07 back \x9b2J end"
    file = tmp_path / "part.json"
    file.write_text(json.dumps(raw), encoding="utf-8")
    out, _ = said(monkeypatch, "utf-8", "check", str(file))
    assert "red \\x1b[31m bell \\x07 back \\x9b2J end" in out.splitlines()[0]
    _, err = said(monkeypatch, "utf-8", "check", "\x1b[31m.json")
    assert "\x1b" not in err


@pytest.mark.parametrize("command", [("check", DEMO), ("study", STRAINER), ("compare", STRAINER), ("outline", DRAWING)])
def test_json_is_ascii_on_every_console(monkeypatch: pytest.MonkeyPatch, command: tuple[str, Path]) -> None:
    answers = []
    for encoding in ("ascii", "utf-8"):
        out, err = said(monkeypatch, encoding, command[0], str(command[1]), "--json")
        assert err == ""
        assert out.isascii()
        answers.append(json.loads(out))
    assert answers[0] == answers[1]


def shell(script: str, *, cwd: Path = ROOT) -> subprocess.CompletedProcess[str]:
    """The program as ``$seatwright`` in a shell's script, whose status is the program's."""
    env = {k: v for k, v in os.environ.items() if k not in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM")}
    env |= {"PYTHONPATH": str(ROOT), "seatwright": f"{sys.executable} -m app"}
    env |= {"demo": str(DEMO), "drawing": str(DRAWING)}
    return subprocess.run(
        ["bash", "-c", script], cwd=cwd, env=env, capture_output=True, text=True, timeout=120, check=False
    )


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="a system without a device that is always full")
@pytest.mark.parametrize(
    ("script", "words"),
    [
        ("$seatwright check $demo | true; exit ${PIPESTATUS[0]}", "closed"),
        ("$seatwright outline $drawing --json > /dev/full", "the disk is full"),
        ("$seatwright check --help > /dev/full", "the disk is full"),
        ("$seatwright check $demo >&-", "is closed"),
        ("d=$(mktemp -d); cd $d; rmdir $d; $seatwright export $demo --to x", "x"),
        ("d=$(mktemp -d); cd $d; rmdir $d; $seatwright check part.json", "part.json"),
    ],
)
def test_an_output_or_a_folder_that_fails_is_said_with_status_2(script: str, words: str) -> None:
    done = shell(script)
    assert done.returncode == 2, done.stderr
    assert words in done.stderr
    assert "Traceback" not in done.stderr
    assert "Exception ignored" not in done.stderr
    assert "fault in the program" not in done.stderr


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="a system without a device that is always full")
def test_errors_that_nobody_can_read_keep_their_status() -> None:
    assert shell("$seatwright check absent.json 2>/dev/full").returncode == 2
    assert shell("$seatwright check absent.json 2>&-").returncode == 2


def test_the_demo_finds_a_folder_where_its_own_was_deleted(tmp_path: Path) -> None:
    done = shell(f"d=$(mktemp -d); cd $d; rmdir $d; TMPDIR={tmp_path} $seatwright demo")
    assert done.returncode == 0, done.stderr
    assert "instead" in done.stderr
    assert "Written to" in done.stdout


WILD = ("", " ", "-1", "0", "nan", "1e999", "−", "x" * 5000, "\0", "/dev/null", "/", "[[", "a=b", "=", "🪑", "\udcff")
OPTIONS = {
    ("check", str(DEMO)): ("--set",),
    ("export", str(DEMO)): ("--to", "--set"),
    ("outline", str(DRAWING)): ("--unit", "--join", "--within"),
    ("scan", "/dev/null"): ("--dpi", "--edge", "--level", "--turned", "--project", "--to", "--family"),
    ("demo",): ("",),
    ("study",): ("",),
    ("compare",): ("",),
    ("check",): ("",),
    ("outline",): ("",),
    ("scan",): ("",),
}


@pytest.mark.parametrize("command", OPTIONS, ids=" ".join)
def test_wild_values_of_every_option_are_refused_in_words(
    command: tuple[str, ...], capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.chdir(tmp_path)
    for option, value in product(OPTIONS[command], WILD):
        arguments = [*command, f"{option}={value}" if option else value]
        if value == "/" and option == "--to":
            continue  # root may write there
        if command[0] == "export" and option == "--set":
            arguments.append("--to=out")
        try:
            status = main(arguments)
        except SystemExit as left:
            status = int(str(left.code))
        told = capsys.readouterr()
        if status == 0 and (command[0], option, value) in FINE:
            continue
        assert status == 2, (arguments, told.err)
        assert told.err, arguments
        assert "fault in the program" not in told.err, (arguments, told.err)


FINE = {
    ("outline", "--join", "0"),
    ("export", "--to", "-1"),
    ("export", "--to", "0"),
    ("export", "--to", "nan"),
    ("export", "--to", "1e999"),
    ("export", "--to", "−"),
    ("export", "--to", "[["),
    ("export", "--to", "a=b"),
    ("export", "--to", "="),
    ("export", "--to", "🪑"),
    ("export", "--to", "\udcff"),
}


@pytest.mark.parametrize("command", ["check", "study", "compare", "outline", "scan"])
def test_files_that_are_none_are_refused_in_words(
    command: str, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    locked = tmp_path / "locked.json"
    locked.symlink_to(locked)  # a circle: unreadable for everybody
    for file in ("/", str(tmp_path), "/dev/null", str(locked), str(tmp_path / "absent"), str(DEMO / "below")):
        assert main([command, file]) == 2
        told = capsys.readouterr()
        assert told.out == ""
        assert told.err.startswith("seatwright: ")
        assert "fault in the program" not in told.err, (file, told.err)
