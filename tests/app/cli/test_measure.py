"""The commands that measure without a window."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest

from app.__main__ import main
from core.files.project.demos import FOLDER

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


def _by_hand(path: Path, *pairs: tuple[int, object]) -> str:
    """A DXF file, group code by group code."""
    path.write_text("".join(f"{code}\n{value}\n" for code, value in pairs), encoding="ascii")
    return str(path)


def _traps(path: Path) -> str:
    """A part of inches stated in a frame, turned by 30 degrees, with a wide line, a text, and a layer that is off."""
    layers = [(0, "SECTION"), (2, "TABLES"), (0, "TABLE"), (2, "LAYER"), (0, "LAYER"), (2, "DARK"), (70, 0), (62, -7)]
    pairs: list[tuple[int, object]] = [(0, "SECTION"), (2, "HEADER"), (9, "$INSUNITS"), (70, 1), (0, "ENDSEC"), *layers]
    pairs += [(0, "ENDTAB"), (0, "ENDSEC"), (0, "SECTION"), (2, "ENTITIES"), (0, "TEXT"), (8, "0"), (10, 3), (20, 4)]
    frame = [(0, 0), (420, 0), (420, 297), (0, 297)]
    pairs += [(0, "LWPOLYLINE"), (8, "0"), (90, 4), (70, 1), *(p for x, y in frame for p in ((10, x), (20, y)))]
    for scale in (1.0, 0.9, 0.75, 0.7):
        # An ellipse about (200, 140): its long half axis 100 turned by 30 degrees, the short one 60.
        axis = ((11, 86.60254037844386 * scale), (21, 50.0 * scale), (40, 0.6), (41, 0.0), (42, 6.283185307179586))
        pairs += [(0, "ELLIPSE"), (8, "0"), (10, 200), (20, 140), *axis]
    pairs += [(0, "CIRCLE"), (8, "DARK"), (10, 10), (20, 10), (40, 5), (0, "LINE"), (8, "0")]
    pairs += [(10, 20), (20, 20), (11, 20.1), (21, 20), (0, "ENDSEC"), (0, "EOF")]
    return _by_hand(path, *pairs)


def test_outline_as_json_says_all_that_it_says_in_words_with_kind_text_and_place(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = _traps(tmp_path / "a.dxf")
    assert main(["outline", file]) == 0
    told = capsys.readouterr().out
    assert main(["outline", file, "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    remarks = {remark["kind"]: remark for remark in said["remarks"]}
    assert set(remarks) == {"unit", "layer", "left out", "frame", "stray bit"}
    for remark in said["remarks"]:
        assert remark["text"] in told
        assert remark["text"].endswith(".")
        assert set(remark) == {"kind", "text", "place"}
    # Places are in mm, whatever the unit: the circle begins at (15, 10) in, the text stands at (3, 4) in.
    assert remarks["layer"]["place"] == pytest.approx({"x_mm": 15.0 * INCH, "y_mm": 10.0 * INCH})
    assert remarks["left out"]["place"] == pytest.approx({"x_mm": 3.0 * INCH, "y_mm": 4.0 * INCH})
    assert remarks["frame"]["place"] == pytest.approx({"x_mm": 210.0 * INCH, "y_mm": 148.5 * INCH})
    assert "states inches as its unit, but then the part is" in remarks["unit"]["text"]
    assert "In millimetres it would be" in remarks["unit"]["text"]


def test_outline_as_json_gives_centre_and_angle_of_what_was_recovered(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["outline", _traps(tmp_path / "a.dxf"), "--json", "--unit", "mm"]) == 0
    (seat,) = (loop for loop in json.loads(capsys.readouterr().out)["loops"] if loop["role"] == "seat outer")
    assert (seat["x_mm"], seat["y_mm"]) == pytest.approx((200.0, 140.0), abs=1e-3)
    assert seat["angle_degrees"] == pytest.approx(30.0, abs=1e-3)
    assert seat["length_mm"] == pytest.approx(180.0, abs=1e-3)
    assert seat["reason"]


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
