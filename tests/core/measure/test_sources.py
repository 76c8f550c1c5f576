"""Where sizes come from: taken, followed, typed over."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import pytest
from msgspec.structs import replace

from core import edits
from core.files.project.file import decode_project, encode_project
from core.geometry.ovals.ovals import Family, Oval
from core.measure.sources import is_overridden, is_plus_minus_typed, oval_sizes, read_sizes, take, take_readings
from core.new.part import two_piece
from core.part.insert import Insert, Rim
from core.part.materials import Material
from core.part.readings import Origin, Reading, ReadingKind, Readings, RubberClass, SizeName
from core.words.ends import End

if TYPE_CHECKING:
    from core.part.project import Project

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
    assert source.known_to == pytest.approx(4.303 * 0.3606 / 3**0.5, rel=5e-3)
    # The next one bought differs from the mean by its own spread as well: twice as much with three samples.
    assert source.plus_minus == pytest.approx(4.303 * 0.3606 * (1.0 + 1.0 / 3.0) ** 0.5, rel=5e-3)
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


@pytest.mark.parametrize("values", [("400", "40"), ("0.01", "0.01"), ("0.01", "9000")])
def test_a_slipped_digit_leaves_a_project_that_can_be_saved(project: Project, values: tuple[str, str]) -> None:
    # Two samples, t = 12.7: means 360 apart are known to +-2286, which no field of a file holds.
    after = edits.remove_item(taken(project), f"{NEW}.readings.rows[0].values[2]")
    for i, text in enumerate(values):
        after = edits.set_text(after, f"{NEW}.readings.rows[0].values[{i}]", text)
    assert decode_project(encode_project(after), where="a file") == after
    assert after.new_insert.length > 0.0


def one_sample(project: Project, material: Material, rubber: RubberClass | None = None) -> Insert:
    """The new insert with a single sample, its sizes taken from the readings."""
    before = project.new_insert.readings
    rows = tuple(replace(row, values=row.values[:1]) for row in before.rows)
    readings = replace(before, samples=("a",), rows=rows, rubber=rubber)
    return take_readings(replace(project.new_insert, readings=readings, material=material))


@pytest.mark.parametrize("material", list(Material))
def test_a_class_of_the_rubber_standard_stands_in_for_solid_rubber_only(project: Project, material: Material) -> None:
    new = one_sample(project, material)
    source = new.source(SizeName.LENGTH)
    assert source is not None
    if material in (Material.SOFT_RUBBER, Material.HARD_RUBBER):
        # ISO 3302-1, M3, over 160: +- 0.8 %; 1.9 times that, as both the sample and the next one may be off.
        assert source.plus_minus == pytest.approx(1.9 * 0.008 * 219.0, rel=1e-3)
        assert "class M3 of ISO 3302-1 stands in" in source.note
    else:
        assert source.plus_minus is None
        assert source.note == "1 sample"
        assert new.plus_minus == project.new_insert.plus_minus


def test_a_class_that_was_chosen_counts_whatever_the_rims_are_of(project: Project) -> None:
    source = one_sample(project, Material.FOAM, RubberClass.M4).source(SizeName.LENGTH)
    assert source is not None
    assert source.plus_minus == pytest.approx(1.9 * 0.015 * 219.0, rel=1e-3)  # ISO 3302-1, M4: 1.5 %


def test_another_material_brings_its_class_along(project: Project) -> None:
    before = edits.set_value(project, NEW, one_sample(project, Material.FOAM))
    after = edits.set_text(before, f"{NEW}.material", "soft_rubber")
    assert after.new_insert.plus_minus.length == pytest.approx(1.9 * 0.008 * 219.0, rel=1e-3)


def test_a_plus_minus_that_is_typed_over_stays_while_readings_follow(project: Project) -> None:
    before = edits.set_text(taken(project), f"{NEW}.plus_minus.length", "0.4")
    assert is_plus_minus_typed(before.new_insert, SizeName.LENGTH)
    after = edits.set_text(before, f"{NEW}.readings.rows[0].values[2]", "219.4")
    assert after.new_insert.length == 219.2
    assert after.new_insert.plus_minus.length == 0.4
    assert is_plus_minus_typed(after.new_insert, SizeName.LENGTH)
    back = take_readings(after.new_insert, SizeName.LENGTH)
    assert back.plus_minus.length == pytest.approx(4.303 * 0.2 * (4.0 / 3.0) ** 0.5, rel=5e-3)
    assert not is_plus_minus_typed(back, SizeName.LENGTH)


def test_the_rims_width_varies_by_as_much_as_that_rim_does_that_varies_more(project: Project) -> None:
    readings = project.new_insert.readings
    lid = Reading(K.RIM_WIDTH, (15.0, 15.4, 14.6), end=End.LID)
    both = take_readings(replace(project.new_insert, readings=replace(readings, rows=(*readings.rows, lid))))
    # t = 4.303 (NIST TN 1297, table B.1); the base's rim has s = 0.1, the lid's 0.4.
    assert both.plus_minus.rim_width == pytest.approx(4.303 * 0.4 * (4.0 / 3.0) ** 0.5, rel=5e-3)
    assert not is_plus_minus_typed(both, SizeName.RIM_WIDTH)


def test_a_scan_of_one_sample_is_no_plus_minus_of_the_next_one(project: Project) -> None:
    scanned = take(project.new_insert, {SizeName.LENGTH: 219.0}, Origin.SCAN, "", known_to={SizeName.LENGTH: 0.05})
    assert scanned.plus_minus == project.new_insert.plus_minus
    source = scanned.source(SizeName.LENGTH)
    assert source is not None
    assert (source.plus_minus, source.known_to) == (None, 0.05)


def old_file(project: Project, known: float) -> dict[str, Any]:
    """The project as a file of format 2 held it: ± was the mean's, and the usual class stood in everywhere."""
    raw: dict[str, Any] = json.loads(encode_project(project))
    insert = raw["new_insert"]
    insert["readings"]["rubber"] = "M3"
    for source in insert["sources"]:
        source["plus_minus"] = source.pop("known_to") or known
        if source["size"] in ("length", "width", "height"):
            insert["plus_minus"][source["size"]] = source["plus_minus"]
    insert["kind"] = "yielding"
    del insert["material"]
    limits = raw["limits"]
    for bound in ("least", "greatest"):
        limits[f"gap_{bound}"] = limits.pop(f"gap_outer_{bound}")
        del limits[f"gap_inner_{bound}"]
    return {**raw, "format": 2}


def test_an_old_file_does_not_keep_the_spread_of_the_mean(project: Project) -> None:
    now = taken(project)
    raw = old_file(now, 0.0)
    assert raw["new_insert"]["plus_minus"]["length"] == pytest.approx(now.new_insert.plus_minus.length / 2.0, rel=5e-3)
    assert decode_project(json.dumps(raw).encode(), where="a.json").new_insert == now.new_insert


def test_an_old_file_of_one_sample_has_no_class_any_more_and_no_narrower_spread(project: Project) -> None:
    now = replace(project, new_insert=one_sample(project, Material.FOAM))
    read = decode_project(json.dumps(old_file(now, 1.98)).encode(), where="a.json").new_insert
    source = read.source(SizeName.LENGTH)
    assert source is not None
    assert source.plus_minus is None
    assert read.readings.rubber is None
    assert read.plus_minus.length == pytest.approx(1.98 * 2.0**0.5, abs=1e-3)


def test_an_old_files_plus_minus_that_was_typed_over_stays(project: Project) -> None:
    raw = old_file(taken(project), 0.0)
    raw["new_insert"]["plus_minus"]["length"] = 0.3
    read = decode_project(json.dumps(raw).encode(), where="a.json").new_insert
    assert read.plus_minus.length == 0.3
    assert read.plus_minus.width == taken(project).new_insert.plus_minus.width


def test_an_old_files_spread_of_a_size_that_was_typed_over_is_widened_too(project: Project) -> None:
    now = taken(project)
    raw = old_file(now, 0.0)
    insert = raw["new_insert"]
    insert["length"], insert["sources"] = 220.0, [s for s in insert["sources"] if s["size"] != "length"]
    read = decode_project(json.dumps(raw).encode(), where="a.json").new_insert
    assert read.length == 220.0
    assert read.plus_minus.length == now.new_insert.plus_minus.length


def test_a_size_that_is_no_longer_read_says_so(project: Project) -> None:
    rows = taken(project).new_insert.readings.rows
    height = next(i for i, row in enumerate(rows) if row.kind is K.HEIGHT)
    after = edits.remove_item(taken(project), f"{NEW}.readings.rows[{height}]")
    assert after.new_insert.height == taken(project).new_insert.height
    assert after.new_insert.source(SizeName.HEIGHT) is None
    assert after.new_insert.source(SizeName.LENGTH) is not None
