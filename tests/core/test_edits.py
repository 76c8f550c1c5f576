from __future__ import annotations

import re
from time import perf_counter
from typing import TYPE_CHECKING

import msgspec
import numpy as np
import pytest

from core.edits import (
    add_item,
    field_at,
    get_value,
    parse_assignment,
    remove_item,
    rename,
    set_text,
    set_value,
    unique_name,
)
from core.features.badge import Badge
from core.features.hole import Hole
from core.geometry.ovals.ovals import Family
from core.part.curve import HeldCurve
from core.part.fields import FieldKind, RefusedError, fields_of
from core.part.housing import Stop
from core.part.insert import Rim
from core.part.materials import Material
from core.part.project import HeightTo, Mode
from core.part.schema import Value
from core.words.errors import LengthError, UserError
from core.words.lengths import Style

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from core.part.project import Project


def _leaves(value: object, path: str) -> Iterator[tuple[str, object]]:
    if isinstance(value, Value):
        for name in fields_of(type(value)):
            yield from _leaves(getattr(value, name), f"{path}.{name}" if path else name)
    elif isinstance(value, tuple):
        for i, item in enumerate(value):
            yield from _leaves(item, f"{path}[{i}]")
    elif path != "format":
        yield path, value


@pytest.mark.parametrize(
    "path",
    [
        "housing.lid.features[1].pad",
        "housing.lid.features[right lug].pad",
        'housing.lid.features["right lug"].pad',
    ],
)
def test_a_feature_is_found_by_place_and_by_name(small_project: Project, path: str) -> None:
    assert get_value(small_project, path) == 22.0
    changed = set_value(small_project, path, 24.0)
    assert get_value(changed, "housing.lid.features[1].pad") == 24.0
    assert set_value(changed, path, 22.0) == small_project


def test_every_value_can_be_read_and_set_to_what_it_is(small_project: Project) -> None:
    leaves = list(_leaves(small_project, ""))
    assert len(leaves) > 120
    for path, value in leaves:
        assert get_value(small_project, path) == value
        assert set_value(small_project, path, value) == small_project
        assert field_at(small_project, path).kind not in {FieldKind.GROUP, FieldKind.LIST} or value is None


def test_an_edit_leaves_the_project_before_as_it_was(small_project: Project) -> None:
    before = msgspec.to_builtins(small_project)
    changed = set_value(small_project, "new_insert.rim.width", 14.5)
    assert changed.new_insert.rim.width == 14.5
    assert changed.housing is small_project.housing
    assert msgspec.to_builtins(small_project) == before


def test_values_may_be_the_programs_own(small_project: Project) -> None:
    changed = set_value(small_project, "new_insert.rim.width", np.float64(14.5))
    assert type(changed.new_insert.rim.width) is float
    assert set_value(changed, "choices.height_to", HeightTo.LID).choices.height_to is HeightTo.LID
    held = HeldCurve(Family.OBROUND, 200.0, 100.0, 3.0)
    changed = set_value(small_project, "housing.lid.held_outside", held)
    assert get_value(changed, "housing.lid.held_outside") == held
    assert get_value(changed, "housing.lid.held_outside.offset") == 3.0


def test_groups_made_by_the_program_are_checked_inside(small_project: Project) -> None:
    held = HeldCurve(Family.OBROUND, -1.0, 100.0, 3.0)
    with pytest.raises(
        RefusedError, match=r"housing\.lid\.held_outside\.length: expected a length of at least 0\.10 mm, got -1"
    ):
        set_value(small_project, "housing.lid.held_outside", held)


def test_the_lids_rim_becomes_its_own_when_an_edit_reaches_into_it(small_project: Project) -> None:
    assert small_project.new_insert.lid_rim is None
    changed = set_text(small_project, "new_insert.lid_rim.width", "13 mm")
    assert changed.new_insert.lid_rim == Rim(13.0, small_project.new_insert.rim.thickness)
    assert changed.new_insert.rim == small_project.new_insert.rim
    assert set_text(changed, "new_insert.lid_rim", "none") == small_project
    with pytest.raises(UserError, match=r"^new_insert\.lid_rim: this is empty, so there is no “width” in it"):
        get_value(small_project, "new_insert.lid_rim.width")


@pytest.mark.parametrize(
    ("path", "text"),
    [
        ("", "path: nothing is written here"),
        ("new_insert.rim widht", "this path can't be read from “ widht” on"),
        ("new_insert..rim", "this path can't be read from “..rim” on"),
        ("[0].name", "this path can't be read from “[0].name” on"),
        ("housing.lid.features[1.pad", "this path can't be read from “[1.pad” on"),
        ("new_insert.rim.widht", "new_insert.rim.widht: there is no such field. Did you mean “width”?"),
        ("new_insert.rim.widht", "Fields there are width, thickness, outset."),
        ("new_insrt", "Did you mean “new_insert”? Fields there are name, old_insert,"),
        ("housing.lid.features[0].kind", "there is no such field"),
        ("housing.lid.features[3].pad", "housing.lid.features: there is no item 3; the last one is 2."),
        ("housing.lid.features[lef lug].pad", "nothing is called “lef lug” there. Did you mean “left lug”?"),
        (f"housing.lid.features[{'9' * 5000}].pad", "housing.lid.features: nothing is called"),
        ("housing.lid.features[qqq].pad", "Names there are left lug, right lug, rim band."),
        ('housing.lid.features["0"].pad', "nothing is called “0” there"),
        ("housing.lid.features.pad", "housing.lid.features is a list. Say which item is meant"),
        ("new_insert.rim[0]", "new_insert.rim is no list. End the path at new_insert.rim."),
        ("new_insert.length.mm", "new_insert.length is a single value, with nothing in it."),
        ("housing.lid.held_outside.offset", "housing.lid.held_outside: this is empty, so there is no “offset” in it."),
        ("housing.base.earlier_seat[0]", "this is empty, so there is no “item” in it"),
    ],
)
def test_a_path_that_leads_nowhere_is_refused_by_all(small_project: Project, path: str, text: str) -> None:
    edits: tuple[Callable[[], object], ...] = (
        lambda: get_value(small_project, path),
        lambda: set_value(small_project, path, 1.0),
        lambda: set_text(small_project, path, "1"),
        lambda: field_at(small_project, path),
    )
    for edit in edits:
        with pytest.raises(UserError, match=re.escape(text)):
            edit()


def test_an_empty_list_says_so(small_project: Project) -> None:
    empty = set_value(small_project, "housing.studs", ())
    with pytest.raises(UserError, match=r"housing\.studs: there is no item 0; the list is empty"):
        get_value(empty, "housing.studs[0]")
    with pytest.raises(UserError, match=r"nothing is called “left” there\. The list is empty"):
        get_value(empty, "housing.studs[left]")


def test_the_format_can_not_be_set(small_project: Project) -> None:
    with pytest.raises(RefusedError, match="format: this is the version of the file and can't be set"):
        set_value(small_project, "format", 1)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), 0, -3, 5000.0, "12", None, True])
def test_a_refused_value_is_refused_with_the_texts_of_the_file(small_project: Project, value: object) -> None:
    with pytest.raises(
        RefusedError, match=r"^new_insert\.rim\.width: expected a length (of at least|of at most|as a number)"
    ):
        set_value(small_project, "new_insert.rim.width", value)


def test_a_name_stands_for_one_thing_in_its_list(small_project: Project) -> None:
    with pytest.raises(
        RefusedError,
        match=r"features\[1\]\.name: “left lug” is already the name of housing\.lid\.features\[0\]\. Give one of the",
    ):
        rename(small_project, "housing.lid.features[right lug]", "left lug")
    with pytest.raises(RefusedError, match="“throat” is already the name"):
        add_item(small_project, "housing.base.features", Hole("throat", 0.0, 0.0, 5.0))
    with pytest.raises(RefusedError, match=r"housing\.keep_outs\[1\]\.name: “pipe” is already the name"):
        add_item(small_project, "housing.keep_outs", small_project.housing.keep_outs[0])


@pytest.mark.parametrize(
    ("style", "path", "text", "expected"),
    [
        (Style.MM, "new_insert.length", "219,2", 219.2),
        (Style.MM, "new_insert.length", '9 3/16"', 233.3625),
        (Style.INCH, "new_insert.length", "9 3/16", 233.3625),
        (Style.FRACTION, "new_insert.length", "233.4 mm", 233.4),
        (Style.INCH, "housing.base.seat.gap_outer", "-0.01", -0.254),
        (Style.INCH, "limits.marginal", "12,5 %", 12.5),
        (Style.INCH, "limits.hole_edge", "1,5", 1.5),
        (Style.INCH, "housing.base.features[long bar].angle", "−22.5 °", -22.5),
        (Style.MM, "new_insert.exponent", "2.6", 2.6),
        (Style.MM, "new_insert.exponent", "", None),
        (Style.MM, "choices.wall", "Keep", None),
        (Style.MM, "choices.wall", "none", None),
        (Style.MM, "choices.wall", "7.5", 7.5),
        (Style.MM, "housing.lid", "none", None),
        (Style.MM, "choices.mode", "Rework", Mode.REWORK),
        (Style.MM, "choices.mode", "new pattern", Mode.NEW_PATTERN),
        (Style.MM, "housing.faces.stop", "none", Stop.NONE),
        (Style.MM, "style", "fraction", Style.FRACTION),
        (Style.MM, "housing.studs[0].thread", "m8", "M8"),
        (Style.MM, "name", "  Pump ", "Pump"),
        (Style.MM, "notes", " none\n", " none\n"),
        (Style.MM, "notes", "", ""),
    ],
)
def test_a_typed_text_is_read_as_its_field_wants_it(
    small_project: Project, style: Style, path: str, text: str, expected: object
) -> None:
    project = set_value(small_project, "style", style)
    found = get_value(set_text(project, path, text), path)
    assert found == pytest.approx(expected, abs=1e-9) if isinstance(expected, float) else found == expected


@pytest.mark.parametrize(
    ("path", "text", "match"),
    [
        (
            "new_insert.rim.width",
            "-3 mm",
            r"^new_insert\.rim\.width: expected a length of at least 0\.10 mm, got “-3 mm”$",
        ),
        ("new_insert.rim.width", "9 m", r"a length of at most 500\.00 mm, got “9 m”$"),
        ("limits.marginal", "120 %", r"^limits\.marginal: expected a percentage from 0 to 100, got “120 %”$"),
        ("limits.marginal", "12 mm", r"“12 mm” can't be read as a number\. Write one such as 12\.5 %"),
        ("limits.marginal", "1e1", "can't be read as a number"),
        ("limits.marginal", "", r"limits\.marginal: nothing is written here\. Write a number such as 12\.5 %"),
        ("limits.hole_edge", "1.5.5", r"can't be read as a number\. Write one such as 1\.5"),
        ("housing.keep_outs[pipe].angle", "x", r"housing\.keep_outs\[0\]\.angle: .* such as 22\.5°"),
        ("choices.height_to", "sqeeze", r"expected one of base, .*, got “sqeeze”\. Did you mean “squeeze”\?$"),
        ("choices.height_to", "SQEEZE", r"Did you mean “squeeze”\?$"),
        ("choices.height_to", "", r"expected one of base, lid, spacer, squeeze, got “”$"),
        (
            "name",
            "  ",
            r"^name: expected a text of 1 to 60 characters on one line, without blanks at its ends, got “”$",
        ),
        ("housing.metal", "x", r"^housing\.metal: this holds several values\. Set one of them: housing\.metal\.name, "),
        ("housing.studs", "x", r"^housing\.studs: this holds several values$"),
        ("format", "1", "^format: this is the version of the file"),
    ],
)
def test_a_text_that_does_not_fit_is_quoted_as_typed(small_project: Project, path: str, text: str, match: str) -> None:
    with pytest.raises(UserError, match=match):
        set_text(small_project, path, text)


def test_a_text_that_is_no_length_keeps_its_place_and_position(small_project: Project) -> None:
    with pytest.raises(LengthError, match=r"^new_insert\.length: “mn” is not a unit") as caught:
        set_text(small_project, "new_insert.length", "212 mn")
    assert caught.value.position == 4


@pytest.mark.parametrize(
    ("path", "kind", "choices", "optional"),
    [
        ("new_insert.length", FieldKind.LENGTH, (), False),
        ("new_insert.end_radius", FieldKind.LENGTH, (), True),
        ("new_insert.lid_rim.width", FieldKind.LENGTH, (), False),
        ("new_insert.lid_rim", FieldKind.GROUP, (), True),
        ("new_insert.exponent", FieldKind.NUMBER, (), True),
        ("new_insert.material", FieldKind.CHOICE, tuple(Material), False),
        ("new_insert.plus_minus.height", FieldKind.LENGTH, (), False),
        ("new_insert.squeeze.least", FieldKind.PERCENT, (), True),
        ("housing.base.features[0].angle", FieldKind.DEGREES, (), False),
        ("housing.base.features[throat].made", FieldKind.CHOICE, ("cored", "drilled"), False),
        ("housing.metal.density", FieldKind.NUMBER, (), False),
        ("housing.studs", FieldKind.LIST, (), False),
        ("choices.height_to", FieldKind.CHOICE, ("base", "lid", "spacer", "squeeze"), False),
        ("choices.gap_outer", FieldKind.LENGTH, (), True),
        ("limits.threads_showing", FieldKind.NUMBER, (), False),
        ("notes", FieldKind.TEXT, (), False),
    ],
)
def test_a_field_knows_how_it_is_typed_in(
    small_project: Project, path: str, kind: FieldKind, choices: tuple[str, ...], *, optional: bool
) -> None:
    field = field_at(small_project, path)
    assert (field.kind, field.choices, field.is_optional) == (kind, choices, optional)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("new_insert.length=219.2 mm", ("new_insert.length", "219.2 mm")),
        (" name = a = b ", ("name", "a = b")),
        ("notes=", ("notes", "")),
        ('notes=say "a=b"', ("notes", 'say "a=b"')),
        ("housing.lid.features[a=b].pad=1", ("housing.lid.features[a=b].pad", "1")),
        ('housing.lid.features["a]=b"].pad=1', ('housing.lid.features["a]=b"].pad', "1")),
    ],
)
def test_an_assignment_is_parted_at_the_first_sign_outside_brackets(text: str, expected: tuple[str, str]) -> None:
    assert parse_assignment(text) == expected


@pytest.mark.parametrize(
    ("text", "match"),
    [
        ("new_insert.length", "new_insert.length: an = between path and value is missing. Write PATH=VALUE, such as"),
        ("features[a=1", "an = between path and value is missing"),
        (" =3", "the path before the = is missing"),
    ],
)
def test_what_is_no_assignment_is_refused(text: str, match: str) -> None:
    with pytest.raises(UserError, match=re.escape(match)):
        parse_assignment(text)


def test_an_odd_name_is_found_in_quotes(small_project: Project) -> None:
    for name in ("2", "a]b", "x [new]", "a.b = c"):
        changed = rename(small_project, "housing.lid.features[0]", name)
        assert get_value(changed, f'housing.lid.features["{name}"].pad') == 22.0


def test_an_item_is_added_and_removed(small_project: Project) -> None:
    badge = Badge("badge", 40.0, 20.0, 1.0)
    more = add_item(small_project, "housing.lid.features", badge)
    assert get_value(more, "housing.lid.features[3]") == badge
    assert remove_item(more, "housing.lid.features[badge]") == small_project
    fewer = remove_item(small_project, "housing.lid.features[1]")
    assert fewer.housing.lid is not None
    assert [f.name for f in fewer.housing.lid.features] == ["left lug", "rim band"]


def test_an_item_that_the_list_can_not_hold_is_refused(small_project: Project) -> None:
    with pytest.raises(RefusedError, match=r"^housing\.lid\.features\[3\]\.height: expected a length of 0 or more"):
        add_item(small_project, "housing.lid.features", Badge("badge", 40.0, 20.0, -1.0))
    with pytest.raises(RefusedError, match=r"^housing\.studs\[2\]\.width: there is no such field"):
        add_item(small_project, "housing.studs", Badge("badge", 40.0, 20.0, 1.0))
    with pytest.raises(UserError, match=r"^housing\.lid: this is no list"):
        add_item(small_project, "housing.lid", Badge("badge", 40.0, 20.0, 1.0))
    with pytest.raises(UserError, match=r"^housing\.lid: only an item of a list can be removed"):
        remove_item(small_project, "housing.lid")


def test_what_has_a_name_is_renamed(small_project: Project) -> None:
    assert rename(small_project, "housing.metal", " bronze ").housing.metal.name == "bronze"
    with pytest.raises(UserError, match="there is no such field"):
        rename(small_project, "housing.faces", "x")


@pytest.mark.parametrize(
    ("stem", "expected"),
    [
        ("boss", "boss"),
        ("left lug", "left lug 2"),
        ("left lug 2", "left lug 2"),
        ("a" * 80, "a" * 60),
    ],
)
def test_a_new_name_is_free(small_project: Project, stem: str, expected: str) -> None:
    assert unique_name(small_project, "housing.lid.features", stem) == expected


def test_new_names_count_on(small_project: Project) -> None:
    project = small_project
    for stem in ("lug", "lug", "lug 2", "b" * 60, "b" * 60):
        name = unique_name(project, "housing.lid.features", stem)
        project = add_item(project, "housing.lid.features", Badge(name, 40.0, 20.0, 1.0))
    assert project.housing.lid is not None
    names = [f.name for f in project.housing.lid.features][3:]
    assert names == ["lug", "lug 2", "lug 3", "b" * 60, "b" * 58 + " 2"]
    with pytest.raises(UserError, match="this is no list"):
        unique_name(project, "housing.lid", "lug")


def test_an_edit_is_faster_than_a_drag_needs(small_project: Project) -> None:
    def seconds() -> float:
        start = perf_counter()
        set_value(small_project, "housing.lid.features[left lug].pad", 23.0)
        return perf_counter() - start

    assert min(seconds() for _ in range(50)) < 0.3e-3


def test_a_number_of_a_measured_vertex_is_not_removed_alone(small_project: Project) -> None:
    square = ((-50.0, -30.0, 0.0), (50.0, -30.0, 0.0), (50.0, 30.0, 0.0), (-50.0, 30.0, 0.0))
    project = set_value(small_project, "new_insert.outline", square)
    with pytest.raises(UserError, match=r"only count together. Remove new_insert.outline\[0\] as a whole"):
        remove_item(project, "new_insert.outline[0][1]")
    assert remove_item(project, "new_insert.outline[0]").new_insert.outline == square[1:]
