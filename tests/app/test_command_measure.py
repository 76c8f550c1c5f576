"""The commands that measure without a window."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

from app.__main__ import main
from core.files.demos import FOLDER

if TYPE_CHECKING:
    from pathlib import Path

DRAWING = str(FOLDER / "pump-strainer.dxf")
PROJECT = str(FOLDER / "pump-strainer.json")
INCH = 25.4


def test_outline_tells_every_loop_and_every_fault(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["outline", DRAWING]) == 0
    told = capsys.readouterr().out.lower()
    for words in ("9 outlines, in inch", "seat outer", "crossbar edge", "drawn more than once", "stray bit"):
        assert words in told


def test_outline_as_json_gives_the_recovered_oval(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["outline", DRAWING, "--json"]) == 0
    loops = json.loads(capsys.readouterr().out)["loops"]
    (seat,) = (loop for loop in loops if loop["role"] == "seat outer")
    # The insert's 9 3/16 in and a gap of 1/32 in at both ends.
    assert seat["family"] == "four_arc"
    assert seat["length_mm"] == pytest.approx((9.1875 + 2 / 32) * INCH, abs=1e-3)


def test_a_file_without_a_unit_asks_for_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "points.csv"
    file.write_text("0,0\n100,0\n100,60\n0,60\n")
    assert main(["outline", str(file)]) == 2
    assert "--unit" in capsys.readouterr().err
    assert main(["outline", str(file), "--unit", "mm"]) == 0
    assert "100.00 mm × 60.00 mm" in capsys.readouterr().out


def test_study_tells_sizes_and_the_family(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["study", PROJECT]) == 0
    told = capsys.readouterr().out
    assert "four-arc oval" in told
    assert "next one" in told
    assert main(["study", PROJECT, "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["new"]["decision"] == "decided"


def test_compare_ranks_the_candidates(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", PROJECT]) == 0
    told = capsys.readouterr().out
    assert told.index("1  ") < told.index("2  ")
    assert main(["compare", PROJECT, "--json"]) == 0
    assert len(json.loads(capsys.readouterr().out)) == 2


def test_compare_without_candidates_says_where_to_add_them(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", str(FOLDER / "lens-ring.json")]) == 2
    assert "Candidates" in capsys.readouterr().err
