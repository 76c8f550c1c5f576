"""The program as a shell calls it: its own process, its exit status, its two streams."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[3]
DEMO = ROOT / "assets" / "demos" / "compressor-intake.json"
RING = ROOT / "assets" / "demos" / "lens-ring.json"


def run(*arguments: str | Path, cwd: Path | None = None, **environment: str) -> subprocess.CompletedProcess[str]:
    env = {k: v for k, v in os.environ.items() if k not in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM")}
    env |= {"PYTHONPATH": str(ROOT), "PYTHONIOENCODING": "utf-8", **environment}
    return subprocess.run(
        [sys.executable, "-m", "app", *map(str, arguments)],
        cwd=cwd or ROOT,
        env=env,
        capture_output=True,
        encoding="utf-8",
        timeout=120,
        check=False,
    )


def checked(*arguments: str | Path) -> dict[str, Any]:
    done = run("check", *arguments, "--json")
    assert done.stderr == ""
    answer: dict[str, Any] = json.loads(done.stdout)
    return answer


def test_check_prints_changes_and_verdicts_and_says_go_by_its_exit_status() -> None:
    done = run("check", DEMO)
    assert done.returncode == 0
    assert "seat outer, length: 213.60 mm -> 220.80 mm (+7.20 mm)" in done.stdout
    assert "Fixed to the machine: throat left" in done.stdout
    assert "squeeze: 16.7 %" in done.stdout


def test_any_length_form_can_be_set() -> None:
    by = {
        text: next(
            v["value"]
            for v in checked(DEMO, "--set", f"new_insert.height={text}")["verdicts"]
            if v["name"] == "squeeze"
        )
        for text in ("61 mm", "6,1 cm", "61.0", "61 + 0.0")
    }
    assert len(set(by.values())) == 1


def test_the_json_of_check_has_values_limits_and_places() -> None:
    answer = checked(DEMO, "--set", "new_insert.width=141")
    assert answer["overall"] in ("go", "marginal", "no-go")
    assert {c["feature"] for c in answer["changes"] if c["changed"]} >= {"seat outer", "opening", "outside"}
    assert {v["check"] for v in answer["verdicts"]} >= {"gap", "bearing", "squeeze", "web", "keep-out", "stud"}
    gap = next(v for v in answer["verdicts"] if v["check"] == "gap")
    assert gap["low"] == pytest.approx(0.3)
    assert len(gap["place"]["point_mm"]) == 2


def test_a_no_go_is_exit_status_1() -> None:
    done = run("check", DEMO, "--set", "limits.web_least=30")
    assert done.returncode == 1
    assert "NO-GO" in done.stdout
    assert done.stderr == ""


def test_a_conflict_is_exit_status_1_and_named() -> None:
    done = run("check", DEMO, "--set", "new_insert.width=168", "--set", "new_insert.length=252")
    assert done.returncode == 1
    assert "stud" in done.stdout.split("Conflicts")[1].split("Verdicts")[0]


@pytest.mark.parametrize(
    ("assignment", "said"),
    [
        ("new_insert.rim.width=-3", "new_insert.rim.width: expected a length of at least 0.10 mm, got"),
        ("new_insert.lenght=3", "Did you mean “length”?"),
        ("new_insert.length=9 3/", "new_insert.length"),
        ("new_insert.width=300", "new_insert.width: a width of 300.00 mm is more than the length"),
        ("new_insert.rim.width=80", "new_insert.rim.width"),
        ("new_insert.length", "="),
        ("choices.hold=wal", "wall"),
    ],
)
def test_bad_input_is_exit_status_2_with_the_place_and_no_traceback(assignment: str, said: str) -> None:
    done = run("check", DEMO, "--set", assignment)
    assert done.returncode == 2
    assert said in done.stderr
    assert "Traceback" not in done.stderr
    assert done.stdout == ""


def test_files_that_cannot_be_read_are_exit_status_2(tmp_path: Path) -> None:
    torn = tmp_path / "torn.json"
    torn.write_bytes(DEMO.read_bytes()[:500])
    for path in (tmp_path / "absent.json", tmp_path, torn):
        done = run("check", path)
        assert done.returncode == 2
        assert str(path) in done.stderr
        assert "Traceback" not in done.stderr


def test_export_writes_files_that_a_reader_opens_and_lists_every_ring(tmp_path: Path) -> None:
    import ezdxf

    done = run("export", DEMO, "--to", tmp_path / "new" / "folder", "--r12", "--old", "--json")
    assert done.returncode == 0, done.stderr
    answer = json.loads(done.stdout)
    keys = {"file", "layer", "piece", "feature", "area_mm2", "length_mm", "deviation_mm"}
    keys |= {"cut", "z_from_mm", "z_to_mm"}
    assert all(ring.keys() >= keys for ring in answer["rings"])
    assert max(ring["deviation_mm"] for ring in answer["rings"]) <= 0.001
    assert {ring["piece"] for ring in answer["rings"]} == {"base", "lid"}
    for name in answer["files"]:
        path = tmp_path / "new" / "folder" / name
        assert path.stat().st_size > 0
        if path.suffix == ".dxf":
            document = ezdxf.readfile(path)  # type: ignore[attr-defined]
            assert document.dxfversion == ("AC1009" if "r12" in name else "AC1024")
            assert not document.audit().errors


def test_export_replaces_nothing_unasked(tmp_path: Path) -> None:
    assert run("export", RING, "--to", tmp_path).returncode == 0
    mine = next(tmp_path.glob("*.txt"))
    mine.write_text("mine", encoding="utf-8")
    done = run("export", RING, "--to", tmp_path)
    assert done.returncode == 2
    assert "--replace" in done.stderr
    assert mine.read_text(encoding="utf-8") == "mine"
    assert run("export", RING, "--to", tmp_path, "--replace").returncode == 0
    assert mine.read_text(encoding="utf-8") != "mine"


def test_export_into_a_file_is_exit_status_2(tmp_path: Path) -> None:
    there = tmp_path / "there"
    there.write_text("mine", encoding="utf-8")
    done = run("export", RING, "--to", there)
    assert done.returncode == 2
    assert str(there) in done.stderr
    assert there.read_text(encoding="utf-8") == "mine"


def test_the_demo_without_a_display_says_so_and_does_the_whole_job(tmp_path: Path) -> None:
    done = run("demo", "lens-ring", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert "no display" in done.stdout
    folder = tmp_path / "seatwright-demo" / "lens-ring"
    assert str(folder) in done.stdout
    assert {p.suffix for p in folder.iterdir()} == {".dxf", ".svg", ".md", ".txt"}
    again = run("demo", "lens-ring", cwd=tmp_path)
    assert again.returncode == 0, again.stderr
    assert {p.name for p in folder.parent.iterdir()} == {"lens-ring", "lens-ring-2"}


def test_an_unknown_demo_lists_those_there_are() -> None:
    done = run("demo", "lensring")
    assert done.returncode == 2
    assert "lens-ring" in done.stderr


def test_the_window_without_a_display_is_refused_in_words() -> None:
    done = run(DEMO)
    assert done.returncode == 2
    assert "no display" in done.stderr
    assert "Traceback" not in done.stderr


def test_a_display_that_does_not_answer_is_no_display() -> None:
    done = run(DEMO, DISPLAY=":987")
    assert done.returncode == 2
    assert "The display :987 does not answer." in done.stderr


def test_help_shows_the_forms_and_the_exit_status() -> None:
    for arguments in (("--help",), ("check", "--help")):
        done = run(*arguments)
        assert done.returncode == 0
        assert "PATH is the project file's own path" in done.stdout
        assert "exit status" in done.stdout


def test_a_terminal_without_our_signs_gets_their_ascii_forms_not_a_crash() -> None:
    done = run("check", DEMO, PYTHONIOENCODING="ascii")
    assert done.returncode == 0
    assert "mm^2" in done.stdout
    assert "?" not in done.stdout


def test_check_on_an_outline_file_names_the_command_for_it() -> None:
    done = run("check", DEMO.parent / "pump-strainer.dxf")
    assert done.returncode == 2
    assert "is an outline file, not a project. Read it with: seatwright outline FILE" in done.stderr


def test_a_mistyped_command_is_refused_and_the_one_that_was_meant_is_named() -> None:
    done = run("chekc")
    assert done.returncode == 2
    assert "there is no such command" in done.stderr
    assert "Did you mean check?" in done.stderr
    assert "The commands are demo, check" in run("frobnicate").stderr


def test_a_length_that_fails_says_what_it_was_read_as() -> None:
    done = run("check", DEMO, "--set", "new_insert.length=8 5/8")
    assert done.returncode == 2
    assert 'new_insert.length: read as 8.63 mm; inches need ".' in done.stderr
    assert "read as" not in run("check", DEMO, "--set", "new_insert.length=8 mm").stderr
