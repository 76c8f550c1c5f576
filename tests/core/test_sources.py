"""Where sizes come from: taken, followed, typed over."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from msgspec.structs import replace

from core import edits
from core.files.project_file import decode_project, encode_project
from core.insert import Insert, Rim
from core.new_part import two_piece
from core.ovals import Family, Oval
from core.readings.values import Origin, Reading, ReadingKind, Readings, SizeName
from core.sources import is_overridden, oval_sizes, read_sizes, take, take_readings

if TYPE_CHECKING:
    from core.project import Project

K = ReadingKind
NEW = "new_insert"


@pytest.fixture
def project() -> Project:
    rows = (
        Reading(K.LENGTH, (219.0, 219.2, 219.7)),
        Reading(K.WIDTH, (139.5, 139.6, 139.7)),
        Reading(K.HEIGHT, (61.4, 61.5, 61.6)),
        Reading(K.RIM_WIDTH, (15.0, 15.1, 14.9)),
    )
    insert = Insert("soft", Family.OBROUND, 212.0, 134.0, Rim(14.0, 10.0), 58.0)
    made = two_piece(insert)
    return replace(made, new_insert=replace(made.new_insert, readings=Readings(("a", "b", "c"), rows)))


def taken(project: Project) -> Project:
    return edits.set_value(project, NEW, take_readings(project.new_insert))


def test_sizes_are_the_means_of_the_readings_to_the_micrometre(project: Project) -> None:
    new = taken(project).new_insert
    assert (new.length, new.width, new.height, new.rim.width) == (219.3, 139.6, 61.5, 15.0)


def test_each_says_where_it_comes_from_and_its_spread_is_kept(project: Project) -> None:
    new = taken(project).new_insert
    source = new.source(SizeName.LENGTH)
    assert source is not None
    assert source.origin is Origin.READINGS
    assert "3 samples" in source.note
    # t = 4.303 for 2 degrees of freedom (NIST TN 1297, table B.1), s = 0.3606, n = 3; the instrument adds little.
    assert source.plus_minus == pytest.approx(4.303 * 0.3606 / 3**0.5, rel=5e-3)
    assert new.plus_minus.length == source.plus_minus


def test_a_size_typed_over_loses_its_source_and_is_marked(project: Project) -> None:
    after = edits.set_text(taken(project), f"{NEW}.length", "220")
    assert after.new_insert.source(SizeName.LENGTH) is None
    assert is_overridden(after.new_insert, SizeName.LENGTH)
    assert not is_overridden(after.new_insert, SizeName.WIDTH)
    assert after.new_insert.readings == project.new_insert.readings


def test_a_further_reading_moves_the_sizes_that_come_from_readings(project: Project) -> None:
    before = edits.set_text(taken(project), f"{NEW}.width", "140")
    after = edits.set_text(before, f"{NEW}.readings.rows[0].values[2]", "219.4")
    assert after.new_insert.length == 219.2
    assert after.new_insert.width == 140.0


def test_readings_that_nothing_was_taken_from_move_nothing(project: Project) -> None:
    after = edits.set_text(project, f"{NEW}.readings.rows[0].values[0]", "219.9")
    assert after.new_insert.length == project.new_insert.length


def test_letting_the_readings_count_again_takes_the_mark_away(project: Project) -> None:
    over = edits.set_text(taken(project), f"{NEW}.length", "220")
    back = take_readings(over.new_insert, SizeName.LENGTH)
    assert back.length == 219.3
    assert not is_overridden(back, SizeName.LENGTH)


def test_an_oval_from_a_scan_brings_all_its_sizes(project: Project) -> None:
    sizes = oval_sizes(Oval(Family.FOUR_ARC, 220.0, 140.0, 50.0))
    scanned = take(project.new_insert, sizes, Origin.SCAN, "rim.png, 300 DPI")
    assert scanned.free_oval == Oval(Family.FOUR_ARC, 220.0, 140.0, 50.0)
    assert {source.size for source in scanned.sources} == set(sizes)


def test_a_missing_reading_leaves_the_others_to_count(project: Project) -> None:
    after = edits.set_text(taken(project), f"{NEW}.readings.rows[0].values[2]", "")
    assert after.new_insert.length == 219.1
    assert set(read_sizes(after.new_insert)) >= {SizeName.LENGTH, SizeName.WIDTH}


@pytest.mark.parametrize("values", [("400", "40"), ("0.0001", "0.0001"), ("0.0001", "2000")])
def test_a_slipped_digit_leaves_a_project_that_can_be_saved(project: Project, values: tuple[str, str]) -> None:
    # Two samples, t = 12.7: means 360 apart are known to +-2286, which no field of a file holds.
    after = edits.remove_item(taken(project), f"{NEW}.readings.rows[0].values[2]")
    for i, text in enumerate(values):
        after = edits.set_text(after, f"{NEW}.readings.rows[0].values[{i}]", text)
    assert decode_project(encode_project(after), where="a file") == after
    assert after.new_insert.length > 0.0


def test_a_size_that_is_no_longer_read_says_so(project: Project) -> None:
    rows = taken(project).new_insert.readings.rows
    height = next(i for i, row in enumerate(rows) if row.kind is K.HEIGHT)
    after = edits.remove_item(taken(project), f"{NEW}.readings.rows[{height}]")
    assert after.new_insert.height == taken(project).new_insert.height
    assert after.new_insert.source(SizeName.HEIGHT) is None
    assert after.new_insert.source(SizeName.LENGTH) is not None
