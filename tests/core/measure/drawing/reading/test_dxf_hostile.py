"""Files that are broken, endless or no drawings at all: each is refused with what, where and what to do, or bounded."""

from __future__ import annotations

import re
from math import pi
from typing import TYPE_CHECKING

import numpy as np
import pytest

from core.geometry.lines.outline import Outline
from core.measure.drawing.reading import dxf, dxf_tags
from core.measure.drawing.reading.read import read_drawing
from core.words.errors import Cancelled, FileError
from tests.core.measure.drawing.dxf_text import Pairs, block, entity, insert, line, pairs_text, section, texts, write

if TYPE_CHECKING:
    from pathlib import Path


def _refusal(path: Path) -> str:
    with pytest.raises(FileError, match=re.escape(str(path))) as caught:
        read_drawing(path)
    error = caught.value
    assert error.where == str(path)
    assert error.hint.endswith(".")
    return error.what


def test_an_empty_file_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "a.dxf"
    path.touch()
    assert _refusal(path) == "the file is empty"


def test_a_missing_file_and_a_folder_are_refused(tmp_path: Path) -> None:
    assert "can't be read: No such file" in _refusal(tmp_path / "none.dxf")
    assert "can't be read: Is a directory" in _refusal(tmp_path)


@pytest.mark.parametrize("name", ["a.dxf", "a.csv", "a.bin"])
def test_a_binary_file_posing_as_a_drawing_is_refused(tmp_path: Path, name: str) -> None:
    path = tmp_path / name
    path.write_bytes(b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR" + bytes(range(256)) * 40)
    assert "holds no text" in _refusal(path)


def test_a_text_that_is_no_dxf_is_refused_with_the_line(tmp_path: Path) -> None:
    path = tmp_path / "a.dxf"
    path.write_text("Dear customer,\nhere is your drawing.\n")
    assert "line 1 should hold a whole number, a group code, and holds “Dear customer," in _refusal(path)


def test_a_damaged_line_is_named(tmp_path: Path) -> None:
    path = write(tmp_path / "a.dxf", section("ENTITIES", line(0, 0, 1, 0), line(0, 0, 5, 5)))
    lines = path.read_text().split("\n")
    lines[16] = "#?%"
    path.write_text("\n".join(lines))
    assert "line 17 should hold a whole number" in _refusal(path)


def test_a_file_without_sections_or_lines_is_refused(tmp_path: Path) -> None:
    assert "no section" in _refusal(write(tmp_path / "a.dxf"))
    only_text = write(tmp_path / "b.dxf", section("ENTITIES", entity("TEXT", (1, "hello"))))
    assert "no lines or arcs in it to make an outline of (Left out: text (1).)" in _refusal(only_text)


@pytest.mark.parametrize("part", [0.3, 0.6, 0.95])
def test_a_file_that_breaks_off_is_refused(tmp_path: Path, part: float) -> None:
    path = write(tmp_path / "a.dxf", section("ENTITIES", *(line(i, 0, i + 1, 0) for i in range(50))))
    text = path.read_text().split("\n")
    path.write_text("\n".join(text[: int(part * len(text)) // 2 * 2]))
    assert "breaks off in the section ENTITIES" in _refusal(path)


@pytest.mark.parametrize("part", [0.2, 0.5, 0.9])
@pytest.mark.parametrize("version", ["R12", "R2010"])
def test_a_binary_dxf_that_breaks_off_is_refused(tmp_path: Path, version: str, part: float) -> None:
    from ezdxf.filemanagement import new

    doc = new(version)
    for i in range(200):
        doc.modelspace().add_circle((i, 0), 50.0)
    path = tmp_path / "a.dxf"
    doc.saveas(path, fmt="bin")
    data = path.read_bytes()
    end = data.rindex(b"CIRCLE")
    path.write_bytes(data[: int(part * end)])
    assert "breaks off" in _refusal(path)


@pytest.mark.parametrize("value", ["nan", "inf", "-1e999", "1e300", "twelve", ""])
def test_a_coordinate_that_is_no_usable_number_costs_its_entity_only(tmp_path: Path, value: str) -> None:
    bad: Pairs = [(10, value), (20, 0)]
    polyline: Pairs = [(90, 2), (70, 0), (10, 0), (20, 0), (10, 5), (20, value)]
    old = [entity("POLYLINE", (70, 0)), entity("VERTEX", (10, 0), (20, value)), entity("VERTEX", (10, 1), (20, 1))]
    path = write(
        tmp_path / "a.dxf",
        section(
            "ENTITIES", line(0, 0, 90, 0), entity("LINE", *bad, (11, 1), (21, 1)), entity("CIRCLE", *bad, (40, 3)),
            entity("LWPOLYLINE", *polyline), *old, entity("SEQEND"),
            entity("ELLIPSE", *bad, (11, 1), (21, 1), (40, 0.5)), entity("INSERT", (2, "B"), *bad),
            entity("SPLINE", (71, 1), (40, 0), (40, 0), (40, 1), (40, 1), *bad, (10, 1), (20, 1)),
        ),
    )  # fmt: skip
    drawing = read_drawing(path)
    assert [s.source for s in drawing.strokes] == ["LINE on layer 0"]
    told = texts(drawing)
    for kind in ("LINE", "CIRCLE", "LWPOLYLINE", "POLYLINE", "ELLIPSE", "INSERT", "SPLINE"):
        reason = "lies more than" if value == "1e300" else "has a coordinate that is no finite number"
        assert f"Left out: {kind} that {reason}" in told
    assert "(1; the one that begins at line 17)" in told


def test_sizes_that_make_no_sense_cost_their_entity_only(tmp_path: Path) -> None:
    path = write(
        tmp_path / "a.dxf",
        section(
            "ENTITIES", line(0, 0, 90, 0), line(5, 5, 5, 5), entity("CIRCLE", (10, 0), (20, 0), (40, 0)),
            entity("ARC", (10, 0), (20, 0), (40, -3), (50, 0), (51, 90)), entity("LWPOLYLINE", (10, 1), (20, 1)),
            entity("LWPOLYLINE", (10, 0), (20, 0), (42, 1e200), (10, 5), (20, 0)), entity("POLYLINE", (70, 64)),
            entity("ELLIPSE", (10, 0), (20, 0), (11, 0), (21, 0), (40, 1)), entity("CIRCLE", (40, 3)),
            entity("SPLINE", (71, 3), (40, 0), (10, 0), (20, 0)), insert("B", 0, 0, (41, 0)),
            entity("SPLINE", (71, 1), (40, 1), (40, 1), (40, 0), (40, 0), (10, 0), (20, 0), (10, 5), (20, 5)),
            entity("SPLINE", (71, 1), (40, 0), (40, 0), (40, 1), (40, 1), (10, 7), (20, 7), (10, 7), (20, 7)),
        ),
    )  # fmt: skip
    drawing = read_drawing(path)
    assert len(drawing.strokes) == 1
    assert len(drawing.remarks) == 12
    for words in (
        "LINE that has no length (1;", "CIRCLE that has the radius 0 (1;", "ARC that has the radius -3",
        "LWPOLYLINE that has fewer than two", "LWPOLYLINE that has an arc without a usable bulge", "a mesh in space",
        "an ellipse without width", "CIRCLE that lacks the value of group code 10", "which don't suit each other",
        "a block scaled to nothing", "knots that run back", "SPLINE that has no length",
    ):  # fmt: skip
        assert words in texts(drawing)


@pytest.mark.parametrize("way", [("A",), ("B", "A"), ("B", "C", "D", "A")])
def test_a_block_that_holds_itself_is_refused(tmp_path: Path, way: tuple[str, ...]) -> None:
    names = ("A", *way)
    blocks = [block(name, line(0, 0, 1, 0), insert(inner)) for name, inner in zip(names, way, strict=False)]
    path = write(tmp_path / "a.dxf", section("BLOCKS", *blocks), section("ENTITIES", insert("A")))
    assert _refusal(path).startswith("the block A holds itself")


@pytest.mark.parametrize("content", [line(0, 0, 1, 0), []])
def test_blocks_that_unfold_without_bound_are_refused_at_once(tmp_path: Path, content: Pairs) -> None:
    blocks = [block("B0", content)]
    blocks += [block(f"B{i}", *[insert(f"B{i - 1}")] * 10) for i in range(1, 30)]  # 10^29 of them
    path = write(tmp_path / "a.dxf", section("BLOCKS", *blocks), section("ENTITIES", line(0, 0, 9, 0), insert("B29")))
    assert _refusal(path) == "the drawing unfolds to more than 1,000,000 lines and arcs"


def test_rows_and_columns_without_bound_are_refused_at_once(tmp_path: Path) -> None:
    many = insert("B", 0, 0, (70, 32767), (71, 32767), (44, 1), (45, 1))
    path = write(tmp_path / "a.dxf", section("BLOCKS", block("B", line(0, 0, 1, 0))), section("ENTITIES", many))
    assert "unfolds to more than" in _refusal(path)


def test_blocks_in_blocks_deeper_than_any_drawing_are_refused(tmp_path: Path) -> None:
    blocks = [block("B0", line(0, 0, 1, 0)), *(block(f"B{i}", insert(f"B{i - 1}")) for i in range(1, 5000))]
    path = write(tmp_path / "a.dxf", section("BLOCKS", *blocks), section("ENTITIES", insert("B4999")))
    assert "more than 64 deep" in _refusal(path)


def test_a_block_that_is_not_there_is_told(tmp_path: Path) -> None:
    path = write(tmp_path / "a.dxf", section("ENTITIES", line(0, 0, 9, 0), insert("GONE")))
    assert texts(read_drawing(path)) == "Left out: blocks that the file does not hold (GONE)."


def test_an_unused_block_does_no_harm(tmp_path: Path) -> None:
    unused = block("A", insert("A"), entity("TEXT", (1, "x")))
    path = write(tmp_path / "a.dxf", section("BLOCKS", unused), section("ENTITIES", line(0, 0, 9, 0)))
    assert read_drawing(path).remarks == ()


def test_a_file_of_two_gigabytes_is_refused_before_it_is_read(tmp_path: Path) -> None:
    path = tmp_path / "a.dxf"
    with path.open("wb") as file:
        file.write(b"  0\nSECTION\n  2\nENTITIES\n")
        file.truncate(2 * 2**30)  # a hole: takes no room on the disk
    assert "the file has 2048 MB" in _refusal(path)


def test_more_vertices_than_the_bound_are_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(dxf_tags, "_MAX_TAGS", 40_000)
    pairs = [(10, 1), (20, 2)] * 60_000
    path = tmp_path / "a.dxf"
    path.write_text(pairs_text([(0, "SECTION"), (2, "ENTITIES"), *entity("LWPOLYLINE", *pairs)]))
    assert "has more than 40,000 values" in _refusal(path)


def _large(path: Path, n: int) -> Path:
    t = np.linspace(0.0, 2.0 * np.pi, n, endpoint=False)
    points = np.column_stack((100.0 * np.cos(t), 70.0 * np.sin(t))).tolist()
    pairs = [pair for x, y in points for pair in ((10, x), (20, y))]
    return write(path, section("ENTITIES", entity("LWPOLYLINE", (90, n), (70, 1), *pairs), line(0, 0, 9, 0)))


def test_a_hundred_thousand_vertices_are_read_whole_and_the_way_is_told(tmp_path: Path) -> None:
    seen: list[float] = []
    drawing = read_drawing(_large(tmp_path / "a.dxf", 100_000), seen.append)
    assert Outline(drawing.strokes[0].vertices).area == pytest.approx(pi * 7000.0, rel=1e-8)
    assert seen == sorted(seen)
    assert seen[-1] == 1.0
    assert len(seen) > 12


@pytest.mark.parametrize("after", [1, 5])
def test_reading_can_be_called_off(tmp_path: Path, after: int) -> None:
    left = after

    def tick(_: float) -> None:
        nonlocal left
        left -= 1
        if left == 0:
            raise Cancelled("by the test")

    with pytest.raises(Cancelled, match="by the test"):
        read_drawing(_large(tmp_path / "a.dxf", 100_000), tick)


def test_more_entities_than_any_drawing_are_refused_as_they_come(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(dxf, "_MOST_RECORDS", 2000)
    path = write(tmp_path / "a.dxf", section("ENTITIES", *[line(0, 0, 1, 0)] * 2100))
    assert _refusal(path) == "the file holds more than 2,000 entities and vertices"


def test_records_without_a_section_are_not_read_to_their_end(tmp_path: Path) -> None:
    # A binary file of nothing but zeros is a record every two bytes.
    path = tmp_path / "a.dxf"
    path.write_bytes(b"AutoCAD Binary DXF\r\n\x1a\0" + bytes(4 * 2**20))
    seen: list[float] = []
    with pytest.raises(FileError, match="no section"):
        read_drawing(path, seen.append)
    assert max(seen) < 0.1


@pytest.mark.filterwarnings("ignore::RuntimeWarning")
def test_a_curve_too_wild_for_arcs_costs_itself_only(tmp_path: Path) -> None:
    rng = np.random.default_rng(1)
    n = 20_000
    knots = [(40, k) for k in (*[0] * 4, *range(1, n - 3), *[n - 3] * 4)]
    points = [pair for x, y in rng.uniform(0.0, 1e6, (n, 2)).tolist() for pair in ((10, x), (20, y), (30, 0))]
    spline = entity("SPLINE", (70, 8), (71, 3), (72, len(knots)), (73, n), *knots, *points)
    drawing = read_drawing(write(tmp_path / "a.dxf", section("ENTITIES", line(0, 0, 9, 0), spline)))
    assert len(drawing.strokes) == 1
    assert "too wild a curve" in texts(drawing)
