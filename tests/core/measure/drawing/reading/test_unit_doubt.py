"""A unit that makes the finished part too small or too large is doubted, whoever said it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from core.measure.drawing.housing.roles import sort_loops
from core.measure.drawing.loops.nest import find_loops
from core.measure.drawing.reading.read import read_drawing
from core.measure.drawing.remarks import Remark, RemarkKind
from core.measure.drawing.results import DrawingUnit
from core.measure.drawing.said import remarks_on
from tests.core.measure.drawing.dxf_text import Pairs, entity, header, section, write

if TYPE_CHECKING:
    from pathlib import Path

CODES = {DrawingUnit.INCH: 1, DrawingUnit.MM: 4, DrawingUnit.CM: 5, DrawingUnit.METRE: 6, None: 0}


def _box(length: float, width: float, at: float = 0.0) -> Pairs:
    corners = ((at, at), (at + length, at), (at + length, at + width), (at, at + width))
    return entity("LWPOLYLINE", (90, 4), (70, 1), *(pair for x, y in corners for pair in ((10, x), (20, y))))


def _doubts(path: Path, unit: DrawingUnit | None = None) -> list[Remark]:
    drawing = read_drawing(path)
    taken = unit or drawing.unit or drawing.guess
    found = sort_loops(find_loops(drawing, taken))
    return [remark for remark in remarks_on(drawing, found, taken) if remark.kind == RemarkKind.UNIT]


def _dxf(tmp_path: Path, unit: DrawingUnit | None, *records: Pairs) -> Path:
    return write(tmp_path / "a.dxf", header(INSUNITS=(70, CODES[unit])), section("ENTITIES", *records))


def test_a_part_of_150_mm_in_a_file_that_states_inches_would_be_3_81_m_and_is_doubted(tmp_path: Path) -> None:
    (doubt,) = _doubts(_dxf(tmp_path, DrawingUnit.INCH, _box(150.0, 100.0), _box(60.0, 40.0, 20.0)))
    assert "The file states inches as its unit, but then the part is 3810.00 mm by 2540.00 mm" in doubt.text
    assert "In millimetres it would be 150.00 mm by 100.00 mm." in doubt.text
    assert doubt.at == pytest.approx((75.0 * 25.4, 50.0 * 25.4))


@pytest.mark.parametrize(
    ("stated", "size", "likely"),
    [
        (DrawingUnit.CM, 150.0, "millimetres"), (DrawingUnit.METRE, 240.0, "millimetres"),
        (DrawingUnit.MM, 9.4, "inches"), (DrawingUnit.MM, 24.0, "centimetres"), (DrawingUnit.INCH, 0.3, "metres"),
    ],
)  # fmt: skip
def test_every_implausible_size_is_doubted_and_what_it_may_be_is_named(
    tmp_path: Path, stated: DrawingUnit, size: float, likely: str
) -> None:
    (doubt,) = _doubts(_dxf(tmp_path, stated, _box(size, 0.6 * size)))
    assert f"In {likely} it would be" in doubt.text


@pytest.mark.parametrize(("unit", "size"), [(DrawingUnit.MM, 240.0), (DrawingUnit.INCH, 9.4), (DrawingUnit.CM, 24.0)])
def test_a_usual_size_is_not_doubted(tmp_path: Path, unit: DrawingUnit, size: float) -> None:
    assert not _doubts(_dxf(tmp_path, unit, _box(size, 0.6 * size)))


def _rounds(*diameters: float) -> list[Pairs]:
    return [entity("CIRCLE", (10, 12), (20, 8), (40, d / 2.0)) for d in diameters]


def test_the_part_counts_and_not_the_sheet_round_it(tmp_path: Path) -> None:
    # A part of 24 on a sheet of 84.1 x 59.4, all in centimetres and said to be millimetres: the sheet alone would pass.
    (doubt,) = _doubts(_dxf(tmp_path, DrawingUnit.MM, _box(84.1, 59.4, -30.0), *_rounds(24.0, 22.0, 18.0, 16.0)))
    assert "the part is 24.00 mm by 24.00 mm" in doubt.text
    # And a large sheet round a part of a usual size is no reason to doubt.
    sheet = _box(1189.0, 841.0, -300.0)
    assert not _doubts(_dxf(tmp_path, DrawingUnit.MM, sheet, *_rounds(240.0, 220.0, 180.0, 160.0)))


@pytest.mark.parametrize("head", ["x [in],y [in]", "# unit: inches\nx,y"])
def test_a_unit_that_a_list_of_points_states_is_doubted_too(tmp_path: Path, head: str) -> None:
    path = tmp_path / "a.csv"
    path.write_text(f"{head}\n0,0\n150,0\n150,100\n0,100\n", encoding="utf-8")
    (doubt,) = _doubts(path)
    assert "The file states inches" in doubt.text


def test_a_unit_that_the_user_chose_is_doubted_too(tmp_path: Path) -> None:
    for path in (_dxf(tmp_path, DrawingUnit.MM, _box(150.0, 100.0)), _dxf(tmp_path, None, _box(150.0, 100.0))):
        assert not _doubts(path)
        (doubt,) = _doubts(path, DrawingUnit.INCH)
        assert doubt.text.startswith("Inches were chosen as the file's unit, but then the part is 3810.00 mm")


def test_a_unit_that_was_guessed_is_doubted_where_none_suits(tmp_path: Path) -> None:
    (doubt,) = _doubts(_dxf(tmp_path, None, _box(0.001, 0.001)))
    assert "states no unit" in doubt.text


def test_a_drawing_too_small_for_any_outline_is_doubted_as_a_whole(tmp_path: Path) -> None:
    # In metres said to be millimetres the sides of 0.24 stay apart, but those of a micrometre do not.
    (doubt,) = _doubts(_dxf(tmp_path, DrawingUnit.MM, _box(0.0024, 0.0015)))
    assert "the whole drawing is 0.00 mm" in doubt.text or "the part is" in doubt.text
