from __future__ import annotations

import json
import os
import re
from typing import TYPE_CHECKING, Any, cast

import msgspec
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from core.files.project import file as project_file
from core.files.project.file import (
    LARGEST_BYTES,
    decode_project,
    encode_project,
    fingerprint,
    load_project,
    save_project,
)
from core.part.fields import Field, FieldKind, RefusedError, checked, field_of_group, fields_of
from core.part.housing import Housing, Piece
from core.part.insert import Insert
from core.part.migrations import MIGRATIONS
from core.part.project import FORMAT, Project
from core.part.schema import Value
from core.words.errors import FileError, UserError

if TYPE_CHECKING:
    from pathlib import Path

    from hypothesis.strategies import SearchStrategy

_texts = st.text(st.characters(codec="utf-8"), max_size=60)
_NAMES = {"name", "samples"}
_NAMES_DIFFER = {"features", "studs", "keep_outs"}


def _values(field: Field, name: str = "") -> SearchStrategy[Any]:
    """Whatever the schema says that a field may hold, its bounds included."""
    match field.kind:
        case FieldKind.TEXT:
            texts = _texts.map(lambda t: " ".join(t.split())) if name in _NAMES else _texts
            values: SearchStrategy[Any] = texts.filter(lambda t: len(t) >= field.shortest)
        case FieldKind.CHOICE:
            assert field.enum is not None
            values = st.sampled_from(list(field.enum))
        case FieldKind.GROUP:
            values = st.one_of([_groups(g) for g in field.groups])
        case FieldKind.LIST:
            assert field.item is not None
            unique = (lambda item: item.name) if name in _NAMES_DIFFER else None
            least, most = (0, 3) if field.count is None else (field.count, field.count)
            items = _values(field.item, name)
            values = st.lists(items, min_size=least, max_size=most, unique_by=unique).map(tuple)
        case _ if name == "format":
            values = st.just(FORMAT)
        case _:
            bound = field.over if field.least is None else field.least
            values = st.floats(bound, field.most, exclude_min=field.over is not None)
    return st.none() | values if field.is_optional else values


def _groups(group: type[Value]) -> SearchStrategy[Any]:
    return st.builds(group, **{name: _values(field, name) for name, field in fields_of(group).items()})


@pytest.fixture
def raw(small_project: Project) -> dict[str, Any]:
    return cast("dict[str, Any]", json.loads(encode_project(small_project)))


def _decode(raw: object) -> Project:
    return decode_project(json.dumps(raw).encode(), where="a.json")


@settings(deadline=None, max_examples=60, suppress_health_check=list(HealthCheck))
@given(project=_groups(Project))
def test_any_project_reads_back_as_it_was_written(project: Project) -> None:
    data = encode_project(project)
    assert decode_project(data, where="a.json") == project
    assert encode_project(decode_project(data, where="a.json")) == data


def test_the_file_is_indented_text_with_its_format_first(small_project: Project) -> None:
    lines = encode_project(small_project).decode().split("\n")
    assert lines[:3] == ["{", f'  "format": {FORMAT},', '  "name": "Test housing",']
    assert lines[-2:] == ["}", ""]
    assert any("cast in sand — öl" in line for line in lines)


def test_a_saved_project_is_loaded_again(small_project: Project, tmp_path: Path) -> None:
    save_project(small_project, tmp_path / "a.json")
    assert load_project(tmp_path / "a.json") == small_project


def test_a_mark_at_the_beginning_is_passed_over(small_project: Project) -> None:
    assert decode_project(b"\xef\xbb\xbf" + encode_project(small_project), where="a") == small_project


def test_whole_numbers_are_lengths_too(raw: dict[str, Any]) -> None:
    raw["new_insert"]["length"] = 220
    length = _decode(raw).new_insert.length
    assert isinstance(length, float)
    assert length == 220.0


def test_a_file_cut_short_anywhere_is_refused_in_words(small_project: Project) -> None:
    data = encode_project(small_project)
    for end in range(0, len(data) - 2, 50):
        with pytest.raises(FileError, match=r"^a\.json: (is empty|ends too early|is not JSON|is not UTF-8)"):
            decode_project(data[:end], where="a.json")


@settings(deadline=None, max_examples=300, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(at=st.integers(0, 10_000), byte=st.integers(0, 255))
def test_one_wrong_byte_gives_a_project_or_a_file_error(small_project: Project, at: int, byte: int) -> None:
    data = bytearray(encode_project(small_project))
    data[at % len(data)] = byte
    try:
        assert isinstance(decode_project(bytes(data), where="a.json"), Project)
    except FileError as error:
        str(error).encode()


def _tree() -> SearchStrategy[object]:
    leaves = st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=5)
    return st.recursive(leaves, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner))


@settings(deadline=None, max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(name=st.sampled_from([*fields_of(Project), "housing.base", "housing.lid", "housing.studs"]), value=_tree())
def test_any_value_anywhere_gives_a_project_or_a_file_error_at_its_place(
    small_project: Project, name: str, value: object
) -> None:
    raw = json.loads(encode_project(small_project))
    *before, last = name.split(".")
    group = raw
    for key in before:
        group = group[key]
    group[last] = value
    error = _refused(raw)
    if isinstance(error, RefusedError):
        assert error.where.startswith(name)
        assert re.search("expected|no such field|half a character", error.what)
    else:
        assert error is None or name == "format"


def _refused(raw: object) -> FileError | None:
    try:
        _decode(raw)
    except FileError as error:
        return error
    return None


@pytest.mark.parametrize(
    ("path", "value", "text"),
    [
        ("new_insert.rim.width", -3, "new_insert.rim.width: expected a length of at least 0.10 mm, got -3"),
        ("new_insert.rim.width", 0.0, "new_insert.rim.width: expected a length of at least 0.10 mm, got 0"),
        ("new_insert.rim.width", 0.05, "new_insert.rim.width: expected a length of at least 0.10 mm, got 0.05"),
        (
            "new_insert.rim.width",
            "15 mm",
            "new_insert.rim.width: expected a length as a number in millimetres, got “15 mm”",
        ),
        ("new_insert.rim.width", True, "new_insert.rim.width: expected a length as a number in millimetres, got true"),
        ("new_insert.rim.width", None, "new_insert.rim.width: expected a length of at least 0.10 mm, got null"),
        ("new_insert.rim.width", 5000, "new_insert.rim.width: expected a length of at most 500.00 mm, got 5000"),
        ("new_insert.rim.width", 10**20, "expected a length of at most 500.00 mm, got a number that is far too large"),
        ("new_insert.rim.outset", -2500, "expected a length of at least -2000.00 mm, got -2500"),
        (
            "new_insert.rim.outset",
            [],
            "new_insert.rim.outset: expected a length as a number in millimetres, got a list in brackets [ ]",
        ),
        ("new_insert.exponent", 1.5, "new_insert.exponent: expected a number from 2 to 10, got 1.5"),
        ("new_insert.exponent", "2", "new_insert.exponent: expected a number from 2 to 10 or null, got “2”"),
        ("new_insert.squeeze.least", 120, "expected a percentage from 0 to 100, got 120"),
        ("new_insert.plus_minus.length", -1, "expected a length of 0 or more, got -1"),
        ("choices.wall", "keep", "choices.wall: expected a length as a number in millimetres or null, got “keep”"),
        ("choices.height_to", "lidd", "choices.height_to: expected one of base, lid, spacer, squeeze, got “lidd”"),
        ("choices.height_to", "lidd", "Did you mean “lid”?"),
        ("limits.hole_edge", 0, "limits.hole_edge: expected a number over 0 and up to 100, got 0"),
        ("name", "", "name: expected a text of 1 to 60 characters on one line, without blanks at its ends, got “”"),
        ("name", "x" * 61, f"got “{'x' * 39}…”"),
        ("name", 3, "name: expected a text of 1 to 60 characters on one line, without blanks at its ends, got 3"),
        ("name", "a\ud800", "name: character 2 of this text is half a character. Delete it and type it again."),
        ("notes", None, "notes: expected a text, got null"),
        ("housing.keep_outs.0.angle", 400, "expected an angle from -360 to 360 degrees, got 400"),
        ("housing.base", 3, "housing.base: expected named values in braces { }, got 3"),
        ("housing.lid", [], "housing.lid: expected named values in braces { } or null, got a list in brackets [ ]"),
        ("housing.studs", {}, "housing.studs: expected a list in brackets [ ], got named values in braces { }"),
        (
            "housing.lid.features.2.width",
            -1,
            "housing.lid.features[2].width: expected a length of at least 0.10 mm, got -1",
        ),
        ("housing.lid.features.1.kind", "lugg", "housing.lid.features[1].kind: expected one of crossbar, hole, lug,"),
        ("housing.lid.features.1.kind", "lugg", "got “lugg”. Did you mean “lug”?"),
        ("housing.lid.features.1.kind", 3, "housing.lid.features[1].kind: expected one of crossbar"),
        ("housing.lid.features.1", 3, "housing.lid.features[1]: expected named values in braces { }, got 3"),
        ("new_insert.rim.widht", 3, "new_insert.rim.widht: there is no such field. Did you mean “width”?"),
        ("new_insert.rim.widht", 3, "Fields there are width, thickness, outset."),
        ("housing.base.opening.heeld", 3, "there is no such field. Did you mean “held”? The field there is held."),
        ("xyz", 3, "xyz: there is no such field. Fields there are name, old_insert, new_insert"),
        ("housing.lid.features.1.name", "left lug", "housing.lid.features[1].name: “left lug” is already the name of"),
        ("housing.studs.1.name", "left stud", "housing.studs[1].name: “left stud” is already the name of"),
        ("format", True, f"format: expected a whole number from 1 to {FORMAT}, the version of the file"),
        ("format", 0, f"format: expected a whole number from 1 to {FORMAT}"),
    ],
)
def test_a_wrong_value_is_named_with_its_place_and_what_is_expected(
    raw: dict[str, Any], path: str, value: object, text: str
) -> None:
    *before, last = path.split(".")
    holder: Any = raw
    for key in before:
        holder = holder[int(key) if key.isdigit() else key]
    holder[int(last) if last.isdigit() else last] = value
    with pytest.raises(FileError, match=re.escape(text)):
        _decode(raw)


@pytest.mark.parametrize(
    ("path", "text"),
    [
        ("new_insert.length", "new_insert.length: this field is missing; expected a length of at least 0.10 mm"),
        ("housing.metal", "housing.metal: this field is missing; expected named values in braces { }"),
        ("housing.lid.features.0.kind", "features[0].kind: this field is missing; expected one of crossbar, hole, lug"),
        ("format", "a.json: is JSON but no project: its “format” is missing"),
    ],
)
def test_a_missing_field_is_named(raw: dict[str, Any], path: str, text: str) -> None:
    *before, last = path.split(".")
    holder: Any = raw
    for key in before:
        holder = holder[int(key) if key.isdigit() else key]
    del holder[last]
    with pytest.raises(FileError, match=re.escape(text)):
        _decode(raw)


def test_a_field_with_a_usual_value_may_be_missing(raw: dict[str, Any]) -> None:
    del raw["limits"]
    assert _decode(raw).limits.gap_outer_least == 0.3


def test_further_mistakes_are_named_too(raw: dict[str, Any]) -> None:
    raw["new_insert"]["length"] = -1
    raw["new_insert"]["rim"]["width"] = "x"
    with pytest.raises(FileError, match=r"length: expected .*, got -1\. Put right as well: new_insert\.rim\.width\.$"):
        _decode(raw)
    for name in ("wall", "floor", "edge_radius", "lip"):
        raw["housing"]["base"][name] = -1
    with pytest.raises(FileError, match=r"Put right as well: (\S+, ){3}\S+ and more\.$"):
        _decode(raw)


def test_lengths_in_a_refusal_are_shown_as_the_user_reads_them(raw: dict[str, Any]) -> None:
    raw["new_insert"]["length"] = 5000
    with pytest.raises(UserError, match=r"^new_insert\.length: ") as caught:
        _decode(raw)
    assert "at most 78.74 in," in caught.value.message(lambda mm: f"{mm / 25.4:.2f} in")


@pytest.mark.parametrize(
    ("data", "match"),
    [
        pytest.param(b"", "is empty", id="empty"),
        pytest.param(b" \n", "is empty", id="blank"),
        pytest.param(b'{"a": 1,\n "b" 2}', "is not JSON at line 2, column 6: expecting ':' delimiter", id="colon"),
        pytest.param(b'{"a": 1,\n "b": "x', "ends too early, in what begins at line 2, column 7", id="text cut short"),
        pytest.param(b'{"a": 1,\n', "ends too early, in what begins at line 2", id="cut short"),
        pytest.param(b"{} x", "is not JSON at line 1, column 4", id="more behind it"),
        pytest.param(b"[1]", "is JSON but no project, which begins with a brace", id="list"),
        pytest.param(b'{"a": 1,\n"\xff": 2}', "is not UTF-8 text: line 2, byte 2", id="latin 1"),
        pytest.param('{"a": 1}'.encode("utf-16"), "is not UTF-8 text: line 1, byte 1", id="utf-16"),
        pytest.param(b'{"a": 1.5, "a": 2}', "“a” is given twice in one place, as 1.5 and as 2. Delete one", id="twice"),
        pytest.param(b"[" * 100_000, "too deep in one another", id="deep lists"),
        pytest.param(b'{"a":' * 100_000, "too deep in one another", id="deep braces"),
        pytest.param(b"\x89PNG\r\n\x1a\n\0\0", "is not UTF-8 text", id="a picture"),
        pytest.param(b" " * (LARGEST_BYTES + 1), "is larger than 8 MB, so it is no project", id="large"),
        pytest.param(b'{"format": 7}', "format 7; this Seatwright reads formats up to .* newer Seatwright", id="newer"),
        pytest.param(b'{"format": "1"}', "format: expected a whole number from 1", id="format is a text"),
    ],
)
def test_what_is_no_project_is_refused_in_words(data: bytes, match: str) -> None:
    with pytest.raises(FileError, match=match):
        decode_project(data, where="a.json")


@pytest.mark.parametrize("number", [b"NaN", b"Infinity", b"-Infinity", b"1e400", b"-1e400", b"9" * 350, b"9" * 9000])
def test_what_is_no_finite_number_is_refused_at_its_place(small_project: Project, number: bytes) -> None:
    data = encode_project(small_project).replace(b"219.2", number)
    with pytest.raises(FileError, match=r"^new_insert\.length: expected a length .*, got (nan|a number that is far)"):
        decode_project(data, where="a.json")


def test_an_older_format_is_brought_to_the_newest(raw: dict[str, Any], monkeypatch: pytest.MonkeyPatch) -> None:
    def from_1(old: dict[str, Any]) -> dict[str, Any]:
        return {**old, "name": old["title"]}

    def from_2(old: dict[str, Any]) -> dict[str, Any]:
        return {k: v for k, v in old.items() if k != "title"}

    monkeypatch.setattr(project_file, "FORMAT", 3)
    monkeypatch.setitem(MIGRATIONS, 1, (from_1,))
    monkeypatch.setitem(MIGRATIONS, 2, (from_2,))
    raw["title"] = raw.pop("name")
    assert _decode({**raw, "format": 1}).name == "Test housing"
    assert _decode({**raw, "format": 1}).format == 3
    with pytest.raises(
        FileError, match=r"a\.json: is damaged: it can't be brought from format 1 to 2\. When the file was saved"
    ):
        _decode({"format": 1})


def test_there_is_a_migration_for_each_older_format() -> None:
    assert sorted(MIGRATIONS) == list(range(1, FORMAT))


def test_a_file_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FileError, match=r"a\.json: can't be read: there is no such file or folder"):
        load_project(tmp_path / "a.json")
    with pytest.raises(FileError, match="can't be read: a folder has this name"):
        load_project(tmp_path)


def test_a_large_file_is_not_read_whole(tmp_path: Path) -> None:
    with (tmp_path / "a.json").open("wb") as f:
        f.truncate(2**36)
    with pytest.raises(FileError, match="is larger than 8 MB"):
        load_project(tmp_path / "a.json")


def test_a_project_that_could_not_be_read_again_is_not_written(small_project: Project, tmp_path: Path) -> None:
    path = tmp_path / "a.json"
    save_project(small_project, path)
    before = path.read_bytes()
    for name, value, match in (
        ("notes", "x" * LARGEST_BYTES, "is larger than 8 MB"),
        ("name", "", "name: expected a text"),
        ("format", FORMAT + 1, "newer Seatwright"),
    ):
        with pytest.raises(FileError, match=match):
            save_project(msgspec.structs.replace(small_project, **{name: value}), path)
    assert path.read_bytes() == before
    assert [p.name for p in tmp_path.iterdir()] == ["a.json"]


def test_a_project_that_reads_back_differently_is_a_mistake_of_the_program(
    small_project: Project, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    other = msgspec.structs.replace(small_project, name="other")
    monkeypatch.setattr(project_file, "decode_project", lambda *_, **__: other)
    with pytest.raises(ValueError, match="reads back differently"):
        save_project(small_project, tmp_path / "a.json")


def test_the_fingerprint_tells_a_changed_file(tmp_path: Path) -> None:
    path = tmp_path / "a.json"
    assert fingerprint(path) is None
    path.write_bytes(b"1")
    first = fingerprint(path)
    assert first == fingerprint(path)
    path.write_bytes(b"12")
    assert fingerprint(path) != first
    second = fingerprint(path)
    assert second is not None
    os.utime(path, ns=(second[0] + 1000, second[0] + 1000))
    assert fingerprint(path) != second


def test_every_field_of_the_schema_has_words() -> None:
    seen: set[type[Value]] = set()
    todo: list[type[Value]] = [Project]
    while todo:
        group = todo.pop()
        seen.add(group)
        for field in fields_of(group).values():
            inner = field if field.item is None else field.item
            todo += [g for g in inner.groups if g not in seen]
    assert {Insert, Housing, Piece} <= seen


class _Odd(Value, frozen=True):
    """A value that the schema has no words for."""

    when: bytes


def test_a_field_without_words_is_a_mistake_of_the_program() -> None:
    with pytest.raises(TypeError, match="the schema has no words for"):
        fields_of(_Odd)


def test_a_value_of_the_program_that_no_file_holds_is_named_by_its_kind() -> None:
    with pytest.raises(RefusedError, match=r"a: expected named values in braces { }, got a bytes"):
        checked(b"1", field_of_group(Insert), "a")


def test_what_the_schema_refuses_stays_refused_without_a_sentence_of_our_own() -> None:
    odd = Field(int, FieldKind.GROUP, is_required=True, is_optional=False, groups=(Piece,))
    with pytest.raises(RefusedError, match="a: Expected `int`"):
        checked(
            {
                "floor": 1,
                "seat": {"gap_outer": 0, "gap_inner": 0, "depth": 1},
                "wall": 1,
                "lip": {"width": 1, "height": 0},
            },
            odd,
            "a",
        )
