from __future__ import annotations

import csv
import json
import re
from io import StringIO
from pathlib import Path  # noqa: TC003 - pytest reads the annotations
from typing import TYPE_CHECKING

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from core.files.candidates.csv import MOST_ROWS, read_table
from core.files.candidates.file import LARGEST_BYTES, load_inserts, load_library, save_to_library
from core.files.project.demos import load_demo
from core.geometry.ovals.ovals import Family
from core.part.fields import RefusedError
from core.part.insert import Insert, Pressed, Rim, SqueezeLimits
from core.part.materials import Material
from core.words.errors import FileError
from core.words.lengths import Style, Unit, shower

if TYPE_CHECKING:
    from collections.abc import Sequence

SHOW = shower(Style.MM)
LIKE = Insert(
    "new",
    Family.OBROUND,
    219.2,
    139.6,
    Rim(15.0, 9.0, -0.5),
    61.5,
    end_radius=None,
    lid_rim=Rim(16.0, 9.0),
    pressed=None,
)


def table(text: str, like: Insert = LIKE, unit: Unit = Unit.MM) -> tuple[Insert, ...]:
    return read_table(text, like, unit, "list.csv")[0]


def remarks(text: str, like: Insert = LIKE) -> list[str]:
    return [remark.show(SHOW) for remark in read_table(text, like, Unit.MM, "list.csv")[1]]


def refusal(text: str, like: Insert = LIKE) -> str:
    with pytest.raises(FileError, match=r".\.") as caught:
        table(text, like)
    return caught.value.message(SHOW)


def written(rows: Sequence[Sequence[str]], dialect: type[csv.Dialect] = csv.excel, delimiter: str = ",") -> str:
    """As Python's own writer writes what spreadsheets read."""
    out = StringIO()
    csv.writer(out, dialect, delimiter=delimiter).writerows(rows)
    return out.getvalue()


MATERIAL_WORDS = "not stated, foam, sponge, soft rubber, hard rubber, cork, rigid"


# A table


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_a_table_is_read_in_plain_heads_whatever_parts_its_columns(delimiter: str) -> None:
    rows = [
        ["Width", "Name", "Shape", "Length [mm]", "Rim width", "Rim thickness", "Free height", "Kind", "End radius"],
        ["136,5", "ring, grey", "Four-arc oval", "214,0", "14", "8.5", "60", "soft", "45"],
    ]
    (insert,) = table(written(rows, delimiter=delimiter))
    assert insert == Insert(
        "ring, grey", Family.FOUR_ARC, 214.0, 136.5, Rim(14.0, 8.5, -0.5), 60.0, Material.NOT_STATED, end_radius=45.0
    )


def test_fractions_of_an_inch_are_read_from_the_cells_and_from_the_head() -> None:
    text = 'name;length;width [in];height\nA;8 5/8";5 1/2;"2 3/8"""\n'
    (insert,) = table(text)
    # 1 in = 25.4 mm exactly, NIST SP 811, appendix B.
    assert (insert.length, insert.width, insert.height) == (219.075, 139.7, 60.325)


def test_bare_numbers_are_in_the_projects_unit_and_that_is_said() -> None:
    inserts, said = read_table("name;length\nA;8 5/8\n", LIKE, Unit.INCH, "list.csv")
    assert inserts[0].length == pytest.approx(219.075)
    assert "lengths without a unit were read in inches" in [s.show(SHOW) for s in said]
    assert not any("without a unit" in text for text in remarks("name;length [mm]\nA;212\n"))


def test_missing_columns_and_empty_cells_are_as_in_the_new_insert_and_said() -> None:
    text = "length [mm];width [mm];rim width [mm]\n212;134;14\n213;;14\n"
    first, second = table(text)
    assert (first.name, second.name) == ("candidate 1", "candidate 2")
    assert (second.width, first.height, first.rim.thickness, first.family) == (139.6, 61.5, 9.0, Family.OBROUND)
    said = remarks(text)
    assert (
        "no column, so taken from “new”: shape obround, height 61.50 mm, rim thickness 9.00 mm, material not stated"
        in said
    )
    assert "empty in line 3, so taken from “new”: width 139.60 mm" in said
    assert "no column for the name: they are numbered" in said


def test_a_column_that_means_nothing_here_is_passed_over_and_said() -> None:
    assert "column 2, “price {EUR}”, is not used" in remarks("length;price {EUR}\n212;9\n")


def test_a_rim_in_the_table_stands_for_both_ends() -> None:
    assert table("length\n212\n")[0].lid_rim == LIKE.lid_rim
    assert table("length;rim\n212;14\n")[0].lid_rim is None


def test_another_shape_does_not_take_over_the_sizes_of_the_new_inserts_own() -> None:
    like = replace(LIKE, family=Family.FOUR_ARC, end_radius=40.0)
    assert table("shape;length\nobround;212\n", like)[0].end_radius is None
    assert table("length\n212\n", like)[0].end_radius == 40.0


def test_a_candidate_lies_free_and_has_no_readings_of_the_new_insert() -> None:
    like = load_demo("compressor-intake").new_insert
    like = replace(like, pressed=Pressed(Family.OBROUND, 138.0))
    (insert,) = table("length\n212\n", like)
    assert insert.pressed is None
    assert insert.readings.rows == ()
    assert insert.sources == ()


@pytest.mark.parametrize(
    ("words", "material"),
    [
        ("foam", Material.FOAM),
        ("Hard rubber", Material.HARD_RUBBER),
        ("rubber", Material.NOT_STATED),  # solid or foamed? It does not say
        ("yielding", Material.NOT_STATED),
        ("glass", Material.RIGID),
    ],
)
@pytest.mark.parametrize("head", ["material", "Rims", "kind"])
def test_the_rims_material_is_read_in_plain_words(head: str, words: str, material: Material) -> None:
    (insert,) = table(f"length;{head}\n212;{words}\n")
    assert insert.material is material


def test_a_rim_of_another_material_does_not_take_over_the_squeeze_limits_of_the_new_inserts() -> None:
    like = replace(LIKE, material=Material.FOAM, squeeze=SqueezeLimits(12.0, 18.0))
    soft, foam = table("length;rims\n212;soft rubber\n212;foam\n", like)
    assert soft.squeeze_wanted == (15.0, 30.0)
    assert foam.squeeze_wanted == (12.0, 18.0)


def test_a_library_of_the_first_format_is_read_and_its_soft_rims_are_of_no_stated_material(tmp_path: Path) -> None:
    path = tmp_path / "old.json"
    sizes = {"name": "a", "family": "circle", "length": 100, "width": 100, "height": 40}
    rim = {"rim": {"width": 9, "thickness": 9}}
    inserts = [
        {**sizes, **rim, "kind": "yielding", "squeeze": {"least": 10, "greatest": 25}},
        {**sizes, **rim, "kind": "rigid", "squeeze": {"least": 10, "greatest": 40}},
    ]
    path.write_text(json.dumps({"format": 1, "inserts": inserts}))
    first, second = load_library(path)
    assert (first.material, first.squeeze) == (Material.NOT_STATED, SqueezeLimits())
    assert (second.material, second.squeeze) == (Material.RIGID, SqueezeLimits(10.0, 40.0))


def test_an_old_librarys_plus_minus_is_made_that_of_the_next_one_bought(tmp_path: Path) -> None:
    rows = [{"kind": "height", "values": [61.4, 61.5, 61.6]}]
    insert = {
        "name": "a", "family": "obround", "length": 219.0, "width": 139.0, "height": 61.5, "kind": "yielding",
        "rim": {"width": 15.0, "thickness": 9.0}, "plus_minus": {"height": 0.2487},
        "readings": {"samples": ["a", "b", "c"], "rows": rows, "rubber": "M3"},
        "sources": [{"size": "height", "origin": "readings", "note": "mean of 3 samples", "plus_minus": 0.2487}],
    }  # fmt: skip
    path = tmp_path / "old.json"
    path.write_text(json.dumps({"format": 1, "inserts": [insert]}))
    (read,) = load_library(path)
    # t = 4.303 for 2 degrees of freedom (NIST TN 1297, table B.1), s = 0.1; twice the mean's interval for 3 samples.
    assert read.plus_minus.height == pytest.approx(4.303 * 0.1 * (4.0 / 3.0) ** 0.5, rel=5e-3)
    assert read.readings.rubber is None


def test_a_circle_needs_one_size() -> None:
    (insert,) = table("shape;length\nround;80\n")
    assert (insert.family, insert.length, insert.width) == (Family.CIRCLE, 80.0, 80.0)


def test_a_circle_without_a_width_lacks_nothing() -> None:
    for text in ("shape;length;width\nround;80;\n", "shape;length\nround;80\n", "shape;width\nround;80\n"):
        (insert,) = table(text)
        assert (insert.length, insert.width) == (80.0, 80.0)
        assert not any("width 139.60" in remark or "length 219.20" in remark for remark in remarks(text))


def test_a_mixed_table_lends_a_width_to_those_that_are_no_circles() -> None:
    text = "shape;length;width\nround;80;\nobround;212;\n"
    assert [insert.width for insert in table(text)] == [80.0, 139.6]
    assert "empty in line 3, so taken from “new”: width 139.60 mm" in remarks(text)


@pytest.mark.parametrize(
    ("row", "expected"),
    [("round;80;90", "is a circle of two sizes"), ("round;;", "is a circle without a diameter")],
)
def test_a_circle_of_two_sizes_or_none_is_refused(row: str, expected: str) -> None:
    assert f"line 2: {expected}" in refusal(f"shape;length;width\n{row}\n")


@pytest.mark.parametrize(
    "lead", ["sep=;\n", '"sep=;"\r\n', "SEP=;\r\n", "\n sep=; \n"], ids=["bare", "quoted", "capital", "late"]
)
def test_a_first_line_says_what_parts_the_columns(lead: str) -> None:
    # More commas than semicolons: the line is what tells.
    (insert,) = table(f"{lead}name;length, overall;length;a,b,c,d\nA;1;212,5;x\n")
    assert (insert.name, insert.length) == ("A", 212.5)
    assert "line 3" in refusal("sep=;\nname;length\nA;2x\n")


def test_a_separator_of_another_kind_counts_as_well() -> None:
    assert table("sep=|\nname|length\nA|212\n")[0].length == 212.0
    assert table("sep=\t\nname\tlength\nA\t212\n")[0].length == 212.0


@pytest.mark.parametrize(
    ("row", "expected"),
    [
        (
            "B;wet;1",
            f"left out: line 3, column 2 (“kind”): expected one of {MATERIAL_WORDS}, got “wet”",
        ),
        ("B;soft;21200", "left out: line 3, column 3 (“length”): expected a length of at most 2000.00 mm, got “21200”"),
        ("B;soft;-1", "left out: line 3, column 3 (“length”): expected a length of at least 0.10 mm, got “-1”"),
        ("B;soft;212;5", "left out: line 3: has 4 cells where the heads are 3"),
        ('B;soft;"8 5"8', "left out: line 3: can't be parted into cells"),
        ('"B;soft;212', "left out: line 3: can't be parted into cells"),
        (
            "B{x};{bound};212",
            f"left out: line 3, column 2 (“kind”): expected one of {MATERIAL_WORDS}, got “{{bound}}”",
        ),
    ],
)
def test_one_bad_row_is_left_out_and_named_and_the_others_are_read(row: str, expected: str) -> None:
    text = f"name;kind;length\nA;soft;210\n{row}\nC;soft;212\nD;hard;213\n"
    assert [(insert.name, insert.length) for insert in table(text)] == [("A", 210.0), ("C", 212.0), ("D", 213.0)]
    assert any(remark.startswith(expected) for remark in remarks(text))


def test_many_bad_rows_are_named_by_their_lines() -> None:
    text = "name;length\n" + "A;212\nB;x\n" * 8
    said = [remark for remark in remarks(text) if "left out" in remark]
    assert len(said) == 6
    assert said[-1] == "left out as well: line 13, line 15, line 17"
    assert len(table(text)) == 8


def test_quotes_that_never_close_do_not_hang(tmp_path: Path) -> None:
    path = tmp_path / "quotes.csv"
    path.write_text("length\n" + '"212\n' * 300_000, "utf-8")
    with pytest.raises(FileError, match="line 2: can't be parted into cells"):
        load_inserts(path, LIKE, Style.MM)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("length;shape\n212;oval\n", "line 2, column 2 (“shape”): expected one of circle, obround"),
        ("length;kind\n212;wet\n", "line 2, column 2 (“kind”): expected one of not stated, foam, "),
        ("name;length\n\nA;2x\n", "line 3, column 2 (“length”): “2x”: “x” is not a unit"),
        ("length\n21200\n", "line 2, column 1 (“length”): expected a length of at most 2000.00 mm, got “21200”"),
        ("length\n-3\n", "line 2, column 1 (“length”): expected a length of at least 0.10 mm, got “-3”"),
        ("exponent;length\n12;80\n", "line 2, column 1 (“exponent”): expected a number from 2 to 10"),
        ("exponent;length\ntwo;80\n", "“two” can't be read as a number"),
        (f"name;length\n{'n' * 61};80\n", "column 1 (“name”): expected a text of 1 to 60 characters"),
        ("length;long axis\n1;2\n", "line 1, column 2 (“long axis”): means the same as column 1, “length”"),
        ("length [cm]\n1\n", "line 1, column 1 (“length [cm]”): “cm” is no unit that can stand in a head"),
        ("a;b\n1;2\n", "line 1: no head of it is a size of an insert. Heads can be name, shape, length"),
        ("length\n", "has heads, but no insert under them"),
        ("\n \n", "is empty"),
        ('length\n"212\n', "line 2: can't be parted into cells"),
        ("name,length\nA,212,5\n", "line 2: has 3 cells where the heads are 2. With decimal commas"),
    ],
)
def test_what_can_not_be_read_is_told_with_its_place(text: str, expected: str) -> None:
    assert expected in refusal(text)


def test_a_measured_outline_can_not_be_lent_to_a_table() -> None:
    like = replace(LIKE, family=Family.MEASURED, outline=((100.0, 0.0, 1.0), (-100.0, 0.0, 1.0)))
    assert "Add a column “shape”" in refusal("length\n212\n", like)
    assert table("shape;length\nellipse;212\n", like)[0].outline is None


def test_a_table_is_bounded() -> None:
    rows = "212\n" * MOST_ROWS
    assert len(table(f"length\n{rows}")) == MOST_ROWS
    assert f"has more than {MOST_ROWS} inserts" in refusal(f"length\n{rows}212\n")


@given(st.text(alphabet=st.sampled_from('name;length,"\t\n\r 0123/.mm[]in{}\x0b\u2028“'), max_size=200))
def test_any_text_is_a_table_or_is_refused_with_a_reason(text: str) -> None:
    told: list[str] = []
    try:
        inserts, said = read_table(text, LIKE, Unit.MM, "list.csv")
        told += [insert.name for insert in inserts] + [remark.show(SHOW) for remark in said]
    except FileError as error:
        told.append(error.message(SHOW))
    assert told
    assert all(told)


# A library


def test_a_library_gives_back_what_was_saved(tmp_path: Path) -> None:
    path = tmp_path / "library.json"
    inserts = (LIKE, replace(LIKE, name="other", height=58.0))
    assert save_to_library(inserts, path) == inserts
    assert load_library(path) == inserts
    assert load_inserts(path, LIKE, Style.MM).inserts == inserts
    raw = json.loads(path.read_text("utf-8"))  # the standard library's reader as a second opinion
    assert raw["format"] == 2
    assert [insert["name"] for insert in raw["inserts"]] == ["new", "other"]


def test_saving_keeps_what_the_library_held_and_the_version_before(tmp_path: Path) -> None:
    path = tmp_path / "library.json"
    save_to_library((LIKE, replace(LIKE, name="kept")), path)
    before = path.read_bytes()
    higher = replace(LIKE, height=62.0)
    assert [i.name for i in save_to_library((higher,), path)] == ["kept", "new"]
    assert load_library(path)[1].height == 62.0
    assert path.with_name("library.json~").read_bytes() == before


@pytest.mark.parametrize(
    ("content", "expected"),
    [
        ('{"name": "a project"}', "is JSON but no library"),
        ("[1, 2]", "is JSON but no library"),
        ('{"format": 3, "inserts": []}', "is a library of format 3; this Seatwright reads formats up to 2"),
        ('{"format": "1", "inserts": []}', "format: expected a whole number from 1 to 2, the version of the file"),
        ('{"format": 1,\n "inserts": [1,]}', "is not JSON at line 2, column 16"),
        ('{"format": 1, "inserts": [', "ends too early"),
        ('{"format": 1, "inserts": [{"name": "a"}]}', "inserts[0].family: this field is missing"),
        ('{"format": 1, "inserts": [], "more": 1}', "more: there is no such field"),
        ("[" * 100_000, "deep"),
    ],
)
def test_a_file_that_is_no_library_is_refused_and_not_overwritten(tmp_path: Path, content: str, expected: str) -> None:
    path = tmp_path / "other.json"
    path.write_text(content, "utf-8")
    with pytest.raises(FileError, match=re.escape(expected)):
        load_inserts(path, LIKE, Style.MM)
    with pytest.raises(FileError, match=re.escape(expected)):
        save_to_library((LIKE,), path)
    assert path.read_text("utf-8") == content


def test_a_value_out_of_bounds_is_refused_with_its_place(tmp_path: Path) -> None:
    path = tmp_path / "library.json"
    save_to_library((LIKE,), path)
    path.write_text(path.read_text("utf-8").replace("219.2", "99999"), "utf-8")
    with pytest.raises(RefusedError, match=r"^inserts\[0\]\.length: expected a length of at most 2000\.00 mm, got 9"):
        load_library(path)


def test_a_library_does_not_grow_beyond_what_can_be_compared(tmp_path: Path) -> None:
    path = tmp_path / "library.json"
    many = tuple(replace(LIKE, name=f"n{i}") for i in range(MOST_ROWS))
    save_to_library(many, path)
    with pytest.raises(FileError, match=f"would hold {MOST_ROWS + 1} inserts"):
        save_to_library((LIKE,), path)
    assert len(load_library(path)) == MOST_ROWS


# Any file


def test_a_file_of_two_gigabytes_is_refused_by_its_size(tmp_path: Path) -> None:
    path = tmp_path / "huge.csv"
    with path.open("wb") as f:
        f.truncate(2 * 1024**3)  # sparse: it takes no room
    with pytest.raises(FileError, match=f"is larger than {LARGEST_BYTES // 1024**2} MB"):
        load_inserts(path, LIKE, Style.MM)


def test_a_picture_is_refused_by_its_content(tmp_path: Path) -> None:
    path = tmp_path / "ring.csv"
    path.write_bytes(b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR")  # how a PNG begins (RFC 2083)
    with pytest.raises(FileError, match="is no text, so it is no table or library"):
        load_inserts(path, LIKE, Style.MM)


def test_a_folder_and_a_name_that_is_not_there_are_refused(tmp_path: Path) -> None:
    for path in (tmp_path, tmp_path / "none.csv"):
        with pytest.raises(FileError, match="can't be read"):
            load_inserts(path, LIKE, Style.MM)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_what_spreadsheets_write_is_read_in_their_encodings(tmp_path: Path, encoding: str) -> None:
    path = tmp_path / "list.csv"
    path.write_text("name;length\nHülse;212\n", encoding)
    read = load_inserts(path, LIKE, Style.MM)
    assert read.inserts[0].name == "Hülse"
    assert any("Windows-1252" in remark.text for remark in read.remarks) == (encoding == "cp1252")


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "latin-1"])
def test_a_library_in_another_encoding_is_read_and_never_added_to(tmp_path: Path, encoding: str) -> None:
    path = tmp_path / "library.json"
    save_to_library((replace(LIKE, name="Hülse ö"),), path)
    text = path.read_text("utf-8")
    path.write_text(text, encoding)
    read = load_inserts(path, LIKE, Style.MM)
    assert read.inserts[0].name == "Hülse ö"
    assert any("Windows-1252" in remark.text for remark in read.remarks) == (encoding == "latin-1")
    if encoding in ("latin-1", "utf-16"):
        with pytest.raises(FileError, match=r"is not UTF-8 text at line|is not JSON at line 1"):
            save_to_library((LIKE,), path)
        assert path.read_text(encoding) == text


def test_a_bad_insert_of_a_library_is_left_out_and_named_but_never_written_over(tmp_path: Path) -> None:
    path = tmp_path / "library.json"
    save_to_library(tuple(replace(LIKE, name=n) for n in ("A", "B", "C")), path)
    raw = json.loads(path.read_text("utf-8"))
    raw["inserts"][1]["length"] = 99999
    path.write_text(json.dumps(raw), "utf-8")
    read = load_inserts(path, LIKE, Style.MM)
    assert [insert.name for insert in read.inserts] == ["A", "C"]
    assert [remark.show(SHOW) for remark in read.remarks] == [
        "left out: inserts[1].length: expected a length of at most 2000.00 mm, got 99999"
    ]
    before = path.read_bytes()
    with pytest.raises(RefusedError, match=r"^inserts\[1\]\.length"):
        save_to_library((LIKE,), path)
    assert path.read_bytes() == before


def test_a_circle_of_a_library_needs_no_width(tmp_path: Path) -> None:
    path = tmp_path / "library.json"
    save_to_library((replace(LIKE, family=Family.CIRCLE, length=80.0, width=80.0),), path)
    raw = json.loads(path.read_text("utf-8"))
    del raw["inserts"][0]["width"]
    path.write_text(json.dumps(raw), "utf-8")
    assert load_inserts(path, LIKE, Style.MM).inserts[0].width == 80.0
    assert load_library(path)[0].width == 80.0


@given(st.binary(max_size=300) | st.text(max_size=200).map(lambda text: ("{" + text).encode("utf-8", "replace")))
def test_any_bytes_are_inserts_or_refused_with_a_reason(tmp_path_factory: pytest.TempPathFactory, data: bytes) -> None:
    path = tmp_path_factory.getbasetemp() / "any.csv"
    path.write_bytes(data)
    told = ""
    try:
        told = str(load_inserts(path, LIKE, Style.MM).inserts)
    except FileError as error:
        told = error.message(SHOW)
    assert told
