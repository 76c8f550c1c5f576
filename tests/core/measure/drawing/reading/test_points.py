"""Text files with points, in the many ways that they are written."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np
import pytest

from core.measure.drawing.reading.read import read_drawing
from core.measure.drawing.results import DrawingUnit
from core.words.errors import Cancelled, FileError
from tests.core.measure.drawing.dxf_text import texts

if TYPE_CHECKING:
    from pathlib import Path

SQUARE = [[0.0, 0.0], [120.5, 0.0], [120.5, 80.25], [0.0, 80.25]]


def _path(tmp_path: Path, text: str | bytes, name: str = "outline.csv") -> Path:
    path = tmp_path / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def _rows(separator: str, *, comma: bool = False) -> str:
    rows = [separator.join(str(v) for v in row) for row in SQUARE]
    return "\n".join(rows).replace(".", "," if comma else ".")


@pytest.mark.parametrize(
    "text",
    [
        _rows(","), _rows(", "), _rows(";"), _rows(";", comma=True), _rows("\t"), _rows("\t", comma=True), _rows(" "),
        _rows("    ", comma=True), _rows(" ; "), _rows(",").replace("\n", ",\n"), "x,y\n" + _rows(","),
        "# traced from the lid\n" + _rows(","), "\n\n" + _rows(",") + "\n\n", _rows(",") + "\n0,0\n",
        _rows(",").replace("\n", "\r\n"), '"x";"y"\n' + _rows(";", comma=True), _rows(",").replace("80.25", "8.025e1"),
    ],
)  # fmt: skip
def test_all_ways_to_write_two_columns_mean_the_same(tmp_path: Path, text: str) -> None:
    drawing = read_drawing(_path(tmp_path, text))
    assert len(drawing.strokes) == 1
    stroke = drawing.strokes[0]
    assert stroke.vertices.tolist() == [[x, y, 0.0] for x, y in SQUARE]
    assert stroke.is_closed
    assert not stroke.is_fitted
    assert (drawing.unit, drawing.guess) == (None, DrawingUnit.MM)


@pytest.mark.parametrize("name", ["a.csv", "a.txt", "a.pts", "points"])
def test_any_name_will_do(tmp_path: Path, name: str) -> None:
    assert len(read_drawing(_path(tmp_path, _rows(","), name)).strokes) == 1


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "latin-1"])
def test_any_encoding_with_its_mark_is_read(tmp_path: Path, encoding: str) -> None:
    text = "# Gehäuse\nx;y\n" + _rows(";", comma=True)
    assert read_drawing(_path(tmp_path, text.encode(encoding))).strokes[0].vertices[2].tolist() == [120.5, 80.25, 0.0]


@pytest.mark.parametrize(
    ("head", "unit"),
    [
        ("x [mm],y [mm]", DrawingUnit.MM), ("X (in), Y (in)", DrawingUnit.INCH), ("x/cm,y/cm", DrawingUnit.CM),
        ("x_mm,y_mm", DrawingUnit.MM), ('x ["],y ["]', DrawingUnit.INCH), ("x inch,y inch", DrawingUnit.INCH),
        ("# unit: inches", DrawingUnit.INCH), ("# Units are mm\nx,y", DrawingUnit.MM), ("x,y", None),
        ("# points in order", None),
    ],
)  # fmt: skip
def test_a_header_may_say_the_unit(tmp_path: Path, head: str, unit: DrawingUnit | None) -> None:
    drawing = read_drawing(_path(tmp_path, f"{head}\n{_rows(',')}"))
    assert drawing.unit is unit


def test_a_header_says_which_column_is_which(tmp_path: Path) -> None:
    text = "no;y [mm];x [mm];z\n1;0;0;5\n2;0;120,5;5\n3;80,25;120,5;6\n4;80,25;0;7\n"
    drawing = read_drawing(_path(tmp_path, text))
    assert drawing.strokes[0].vertices[:, :2].tolist() == SQUARE
    assert drawing.unit is DrawingUnit.MM


@pytest.mark.parametrize("mark", [",", ", ", ";", "\t", " ; "])
def test_decimal_commas_in_quotes_are_read_whatever_parts_the_values_and_said(tmp_path: Path, mark: str) -> None:
    rows = [mark.join(f'"{v}"'.replace(".", ",") for v in row) for row in SQUARE]
    drawing = read_drawing(_path(tmp_path, "\n".join(rows)))
    assert drawing.strokes[0].vertices[:, :2].tolist() == SQUARE
    assert "Commas in the numbers were read as decimal signs: the first point is 0; 0." in texts(drawing)


def test_quotes_round_some_values_do_no_harm_and_both_kinds_of_sign_in_one_are_refused(tmp_path: Path) -> None:
    half = '"0,0",0,"a, b"\n"120,5",0,"a, b"\n120.5,"80,25","a, b"\n"0",80.25,"a, b"\n'
    assert read_drawing(_path(tmp_path, half)).strokes[0].vertices[:, :2].tolist() == SQUARE
    with pytest.raises(FileError, match="line 2: a coordinate should be a number"):
        read_drawing(_path(tmp_path, '"0,0","0,0"\n"1,120.5","0,0"\n"1,120.5","80,25"\n'))


def test_decimal_points_are_said_nothing_of(tmp_path: Path) -> None:
    assert "decimal signs" not in texts(read_drawing(_path(tmp_path, _rows(","))))


@pytest.mark.parametrize(
    "head",
    [
        "northing,easting", "N,E", "N [m],E [m]", "North;East", "Y,X", "y [mm] x [mm]", "# N E", "# northing, easting",
        '"N","E"', "# y, x", "Northing_mm,Easting_mm",
    ],
)  # fmt: skip
def test_northing_before_easting_is_y_before_x_and_said(tmp_path: Path, head: str) -> None:
    text = "\n".join(f"{y},{x}" for x, y in SQUARE)
    drawing = read_drawing(_path(tmp_path, f"{head}\n{text}\n"))
    assert drawing.strokes[0].vertices[:, :2].tolist() == SQUARE
    assert "the second coordinate of each line is x" in texts(drawing)


@pytest.mark.parametrize(
    "head", ["easting,northing", "E,N", "x,y", "# e n", "# N is the number of points, E. the maker"]
)
def test_easting_before_northing_is_x_before_y(tmp_path: Path, head: str) -> None:
    drawing = read_drawing(_path(tmp_path, f"{head}\n{_rows(',')}"))
    assert drawing.strokes[0].vertices[:, :2].tolist() == SQUARE
    assert "second coordinate" not in texts(drawing)


def test_a_surveyors_list_leaves_numbers_and_heights_out(tmp_path: Path) -> None:
    rows = "\n".join(f"{i},{y},{x},31.5{i}" for i, (x, y) in enumerate(SQUARE))
    drawing = read_drawing(_path(tmp_path, f"Point,Northing,Easting,Elevation\n{rows}\n"))
    assert drawing.strokes[0].vertices[:, :2].tolist() == SQUARE


def test_beside_x_and_y_n_is_the_number_of_the_point(tmp_path: Path) -> None:
    rows = "\n".join(f"{i},{x},{y}" for i, (x, y) in enumerate(SQUARE))
    drawing = read_drawing(_path(tmp_path, f"n,x,y\n{rows}\n"))
    assert drawing.strokes[0].vertices[:, :2].tolist() == SQUARE


def test_a_header_that_names_other_things_is_told_and_what_may_be_wrong_then(tmp_path: Path) -> None:
    drawing = read_drawing(_path(tmp_path, f"along,across\n{_rows(',')}"))
    assert drawing.strokes[0].vertices[:, :2].tolist() == SQUARE
    assert "The header (along, across) does not say which column is x" in texts(drawing)
    assert "mirrored" in texts(drawing)


@pytest.mark.parametrize(
    "text",
    [
        "0,0\n9,0\n9,9\n\n2,2\n3,2\n3,3\n", "0,0,a\n9,0,a\n9,9,a\n2,2,b\n3,2,b\n3,3,b\n",
        "x,y,loop\n0,0,1\n9,0,1\n9,9,1\n2,2,2\n3,2,2\n3,3,2\n", "x,y,\n0,0,\n9,0,\n9,9,\n,,\n2,2,\n3,2,\n3,3,\n",
    ],
)  # fmt: skip
def test_a_blank_line_or_a_third_column_begins_the_next_outline(tmp_path: Path, text: str) -> None:
    first, second = read_drawing(_path(tmp_path, text)).strokes
    assert first.vertices[:, :2].tolist() == [[0, 0], [9, 0], [9, 9]]
    assert second.vertices[:, :2].tolist() == [[2, 2], [3, 2], [3, 3]]


def test_an_open_outline_is_closed_and_told_and_one_that_comes_back_is_not(tmp_path: Path) -> None:
    round_again = "0,0\n9,0\n9,9\n0,0\n"
    assert read_drawing(_path(tmp_path, round_again)).remarks == ()
    drawing = read_drawing(_path(tmp_path, f"{round_again}\n2,2\n3,2\n3,3\n"))
    assert texts(drawing) == "The last point was joined with the first by a straight line (1 outline)."


def test_points_that_are_there_twice_running_count_once(tmp_path: Path) -> None:
    assert len(read_drawing(_path(tmp_path, "0,0\n0,0\n9,0\n9,0\n9,9\n")).strokes[0].vertices) == 3


def test_two_points_are_no_outline_and_told(tmp_path: Path) -> None:
    drawing = read_drawing(_path(tmp_path, _rows(",") + "\n\n1,1\n2,2\n"))
    assert len(drawing.strokes) == 1
    assert "Left out: 1 outline of fewer than three points." in texts(drawing)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("0,0\n9,0\n9,x\n", "line 3: a coordinate should be a number, and there is “9,x”"),
        ("0,0\n9\n9,9\n", "line 2: there should be x and y"),
        ("0,0\n9,0\n\n9,nan\n", "line 4: a coordinate should be a finite number"),
        ("0,0\n9,0\n9,1e300\n", "line 3: a coordinate should be a finite number"),
        ("1,5,2,5\n3,5,4,5\n", "line 1: there should be"),
        ("x [mm],y [in]\n0,0\n", "line 1: x and y should have the same unit"),
        ("0,0,0.1\n9,0,0.2\n9,9,0.3\n0,9,0.4\n1,9,0.5\n", "third column should tell the outlines apart"),
        ("just a letter\n", "no outline of at least three points"),
        ("0,0\n9,9\n", "no outline of at least three points"),
        (b"\xff\xfe0", "breaks off in the middle of a character"),
        (b"0,0\n" * 2000 + b"\0", "holds no text"),
    ],
)
def test_what_can_not_be_read_is_refused_with_its_line(tmp_path: Path, text: str | bytes, words: str) -> None:
    path = _path(tmp_path, text)
    with pytest.raises(FileError, match=re.escape(words)) as caught:
        read_drawing(path)
    assert caught.value.where == str(path)
    assert caught.value.hint


def test_a_file_that_is_too_large_is_refused(tmp_path: Path) -> None:
    path = _path(tmp_path, "0,0\n")
    with path.open("r+b") as file:
        file.truncate(65 * 2**20)
    path.write_bytes(b"0,0\n" * (65 * 2**18))
    with pytest.raises(FileError, match="the file has 65 MB"):
        read_drawing(path)


def test_many_points_are_read_and_can_be_called_off(tmp_path: Path) -> None:
    t = np.linspace(0.0, 2.0 * np.pi, 50_000, endpoint=False)
    text = "\n".join(f"{x!r},{y!r}" for x, y in zip(np.cos(t).tolist(), np.sin(t).tolist(), strict=True))
    path = _path(tmp_path, text)
    seen: list[float] = []
    assert len(read_drawing(path, seen.append).strokes[0].vertices) == 50_000
    assert seen == sorted(seen)
    assert len(seen) > 10

    def tick(_: float) -> None:
        raise Cancelled("by the test")

    with pytest.raises(Cancelled, match="by the test"):
        read_drawing(path, tick)
