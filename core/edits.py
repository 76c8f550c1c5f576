"""Edits of a project through paths: what a field of the window and ``--set PATH=VALUE`` both do.

A path names a field from the project inwards: ``new_insert.rim.width``, ``housing.lid.features[2].width`` (counted from
0), or by name ``housing.lid.features[left lug].width``; quotes keep a name whole that holds a bracket or is a number,
``features["2"]``. Every edit gives a new project that has passed the check of the file.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final, NoReturn, cast

import msgspec
from msgspec import Struct
from msgspec.structs import replace

from core.measure.sources import settled
from core.part.fields import (
    KIND_UNITS,
    Field,
    FieldKind,
    RefusedError,
    checked,
    did_you_mean,
    field_of_group,
    fields_of,
    refuse_repeated_names,
    unknown_field,
)
from core.part.insert import Insert
from core.part.numbers import refuse_too_many
from core.part.project import Project
from core.part.schema import Value
from core.words.errors import LengthError, UserError
from core.words.lengths import Unit, parse_length, show_length, unit_of

if TYPE_CHECKING:
    from collections.abc import Sequence

_EMPTY_WORDS: Final = frozenset({"", "none", "keep"})
"""Typed into a field that may be None."""

_STANDS_IN: Final[dict[tuple[type[Value], str], str]] = {
    (Insert, "lid_rim"): "rim",
    (Insert, "pressed"): "as_pressed",
}
"""What counts in place of a group that isn't there, and is copied when an edit reaches into it."""

_LONGEST_NAME: Final = 60

_STEP = re.compile(
    r'(?:^|\.)(?P<name>[a-z_][a-z0-9_]*)|\[(?:(?P<index>[0-9]{1,9})|"(?P<quoted>[^"]*)"|(?P<plain>[^\[\]"]+))\]'
)
_NUMBER = re.compile(r"[+-]?(?:[0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)")
_NUMBER_EXAMPLES: Final = {FieldKind.PERCENT: "12.5 %", FieldKind.DEGREES: "22.5°", FieldKind.NUMBER: "1.5"}


class _Step(Struct, frozen=True):
    """One step of a path: a field's name, an item's index, or an item's name; ``path`` leads up to and over it."""

    path: str
    field_name: str = ""
    index: int | None = None
    item_name: str = ""


class _Spot(Struct, frozen=True):
    """What a step stands on: the group or list that holds it, its key there, its field, and the value."""

    holder: Value | tuple[Value, ...]
    key: str | int
    field: Field
    value: object
    path: str


def get_value(project: Project, path: str) -> object:
    """The value at a path.

    Raises:
        UserError: the path leads nowhere.
    """
    return _walked(project, path)[-1].value


def set_value(project: Project, path: str, value: object, *, got: str | None = None) -> Project:
    """A project with another value at a path.

    Where the path leads through a rim of the lid that is like the base's, the lid gets a rim of its own.

    Args:
        project: stays as it is.
        path: of a field or of an item of a list.
        value: as the program holds it, or as it stands in a file.
        got: how to quote the value when it is refused, e.g. as it was typed.

    Raises:
        UserError: the path leads nowhere.
        RefusedError: the field can't hold the value.
    """
    spots = _spots_to_change(project, path)
    end = spots[-1]
    new = checked(_builtin(value), end.field, end.path, got=got)
    return settled(project, _rebuilt(spots, new))


def set_text(project: Project, path: str, text: str) -> Project:
    """A project with what was typed at a path, read as the field there wants it.

    Lengths are in the unit of the project's style unless they carry one; percentages, angles and plain numbers may have
    a decimal comma; choices are read in small or capital letters; ``none``, ``keep`` or nothing empties a field that
    may be empty.

    Raises:
        UserError: the path leads nowhere, or the text can't be read.
        RefusedError: the field can't hold the value.
    """
    spot = _spots_to_change(project, path)[-1]
    return set_value(project, path, _read(text, spot, project), got=f"“{text.strip()}”")


def read_as(project: Project, path: str, text: str) -> str:
    """What a length typed without its unit was read as: ``read as 8.63 mm; inches need "``, to be said when it fails.

    Empty where the text is no length, or carries its unit.
    """
    if field_at(project, path).kind is not FieldKind.LENGTH:
        return ""
    unit = unit_of(project.style)
    try:
        here, there = (parse_length(text, one) for one in (unit, Unit.INCH if unit is Unit.MM else Unit.MM))
    except LengthError:
        return ""
    if here == there:
        return ""
    other = 'inches need "' if unit is Unit.MM else "millimetres need mm"
    return f"read as {show_length(here, project.style)}; {other}"


def field_at(project: Project, path: str) -> Field:
    """What the schema says of the field at a path; the project tells which feature a list holds there.

    Raises:
        UserError: the path leads nowhere.
    """
    spots = _walked(project, path, with_stand_ins=True)
    field = spots[-1].field
    # A list may say other things of its items than the items' own group does.
    meanings = spots[-3].field.more.get("meanings", {}) if len(spots) > 2 else {}
    meaning = meanings.get(spots[-1].key)
    return field if meaning is None else replace(field, meaning=meaning)


def parse_assignment(text: str) -> tuple[str, str]:
    """Path and text of ``new_insert.length=219.2 mm``; an ``=`` in brackets belongs to the path.

    Raises:
        UserError: the text is no assignment.
    """
    hint = "Write PATH=VALUE, such as new_insert.length=219.2 mm."
    found = re.match(r'((?:\["[^"]*"\]|\[[^\]"]*\]|[^=\[])*)=', text)
    if found is None:
        raise UserError(text, "an = between path and value is missing", hint=hint)
    if not (path := found[1].strip()):
        raise UserError(text, "the path before the = is missing", hint=hint)
    return path, text[found.end() :].strip()


def add_item(project: Project, path: str, item: Value) -> Project:
    """A project with one more item at the end of the list at a path.

    Raises:
        UserError: the path leads to no list.
        RefusedError: the list can't hold the item, or holds one of that name.
    """
    spots = _spots_to_change(project, path)
    items, field = _list_at(spots[-1])
    new = checked(_builtin(item), field, f"{spots[-1].path}[{len(items)}]")
    return settled(project, _rebuilt(spots, (*items, new)))


def remove_item(project: Project, path: str) -> Project:
    """A project without the list's item at a path such as ``housing.lid.features[2]``.

    Raises:
        UserError: the path leads to no item of a list.
    """
    *before, end = _spots_to_change(project, path)
    if not isinstance(end.holder, tuple):
        raise UserError(end.path, "only an item of a list can be removed", hint="Give its place, such as [0].")
    if before and before[-1].field.count is not None:
        raise UserError(end.path, "these numbers only count together", hint=f"Remove {before[-1].path} as a whole.")
    assert isinstance(end.key, int)
    return settled(project, _rebuilt(before, (*end.holder[: end.key], *end.holder[end.key + 1 :])))


def rename(project: Project, path: str, name: str) -> Project:
    """A project in which what stands at a path bears another name.

    Raises:
        UserError: the path leads nowhere.
        RefusedError: it has no name, or another one in its list has this one.
    """
    return set_text(project, f"{path}.name", name)


def unique_name(project: Project, path: str, stem: str) -> str:
    """A name that no item of the list at a path has yet: the stem itself, or with the next free number behind it.

    Raises:
        UserError: the path leads to no list.
    """
    items, _ = _list_at(_walked(project, path)[-1])
    taken = {getattr(item, "name", "") for item in items}
    name, n = stem[:_LONGEST_NAME], 2
    if found := re.fullmatch(r"(.*\S)\s+([0-9]{1,4})", name):  # a copy of "lug 2" is "lug 3", not "lug 2 2"
        stem, n = found[1], int(found[2])
    while name in taken:
        name = f"{stem[: _LONGEST_NAME - len(f' {n}')]} {n}"
        n += 1
    return name


def _steps(path: str) -> list[_Step]:
    steps: list[_Step] = []
    at = 0
    while at < len(path):
        found = _STEP.match(path, at)
        if found is None or (at == 0 and found["name"] is None):
            raise UserError(
                path,
                f"this path can't be read from “{path[at : at + 20]}” on",
                hint="Write it as new_insert.rim.width or housing.lid.features[0].width.",
            )
        at = found.end()
        index = None if found["index"] is None else int(found["index"])
        item_name = next((n for n in (found["quoted"], found["plain"]) if n is not None), "")
        steps.append(_Step(path[:at], found["name"] or "", index, item_name))
    if not steps:
        raise UserError("path", "nothing is written here", hint="Write it as new_insert.rim.width.")
    return steps


def _walked(project: Project, path: str, *, with_stand_ins: bool = False) -> list[_Spot]:
    """The spots on the way along a path; a stand-in can take the place of what isn't there."""
    steps = _steps(path)
    spots: list[_Spot] = []
    value: object = project
    field = field_of_group(Project)
    where = ""  # counted, however the path was written
    for step in steps:
        if with_stand_ins and value is None and spots and isinstance(spots[-1].holder, Value):
            stand_in = _STANDS_IN.get((type(spots[-1].holder), str(spots[-1].key)))
            value = getattr(spots[-1].holder, stand_in) if stand_in is not None else None
        if value is None:
            name = step.field_name or "item"
            raise UserError(where, f"this is empty, so there is no “{name}” in it", hint="Add it as a whole first.")
        if step.field_name:
            if not isinstance(value, Value):
                _refuse_step(step, where, field)
            known = fields_of(type(value))
            if step.field_name not in known:
                raise unknown_field(type(value), step.field_name, where)
            holder: Value | tuple[Value, ...] = value
            key: str | int = step.field_name
            field, value = known[step.field_name], getattr(value, step.field_name)
        else:
            if not isinstance(value, tuple) or field.item is None:
                _refuse_step(step, where, field)
            holder, key = value, _item_at(value, step, where)
            field, value = field.item, value[key]
        where = f"{where}[{key}]" if isinstance(key, int) else f"{where}.{key}".lstrip(".")
        spots.append(_Spot(holder, key, field, value, where))
    return spots


def _spots_to_change(project: Project, path: str) -> list[_Spot]:
    spots = _walked(project, path, with_stand_ins=True)
    if spots[0].key == "format":
        raise RefusedError("format", "this is the version of the file and can't be set")
    return spots


def _refuse_step(step: _Step, where: str, field: Field) -> NoReturn:
    if field.kind is FieldKind.LIST:
        raise UserError(step.path, f"{where} is a list", hint=f"Say which item is meant, such as {where}[0].")
    what = "no list" if not step.field_name else "a single value, with nothing in it"
    raise UserError(step.path, f"{where} is {what}", hint=f"End the path at {where}.")


def _item_at(items: Sequence[object], step: _Step, where: str) -> int:
    if step.index is not None:
        if step.index < len(items):
            return step.index
        what = f"there is no item {step.index}; " + (
            f"the last one is {len(items) - 1}" if items else "the list is empty"
        )
        raise UserError(where, what, hint="Items are counted from 0.")
    names = [str(getattr(item, "name", "")) for item in items]
    if step.item_name in names:
        return names.index(step.item_name)
    listed = f"Names there are {', '.join(names)}." if names else "The list is empty."
    hint = f"{did_you_mean(step.item_name, names)} {listed}".strip()
    raise UserError(where, f"nothing is called “{step.item_name}” there", hint=hint)


def _rebuilt(spots: list[_Spot], new: object) -> Project:
    """The project with another value at the last spot."""
    for spot in reversed(spots):
        if isinstance(spot.holder, tuple):
            assert isinstance(spot.key, int)
            new = (*spot.holder[: spot.key], new, *spot.holder[spot.key + 1 :])
        else:
            new = msgspec.structs.replace(spot.holder, **{str(spot.key): new})
    project = cast("Project", new)
    if spots[0].key == "housing":
        refuse_repeated_names(project.housing)
    refuse_too_many(project)
    return project


def _list_at(spot: _Spot) -> tuple[tuple[Value, ...], Field]:
    if not isinstance(spot.value, tuple) or spot.field.item is None:
        raise UserError(spot.path, "this is no list")
    return spot.value, spot.field.item


def _builtin(value: object) -> object:
    """A value as a file would hold it, so that the check sees into groups made by the program."""
    if isinstance(value, float):
        return float(value)  # numpy's float64 is one, but not for msgspec
    return msgspec.to_builtins(value)


def _read(text: str, spot: _Spot, project: Project) -> object:
    """What a typed text stands for, in the form of a file."""
    field, typed = spot.field, text.strip()
    if field.is_optional and typed.casefold() in _EMPTY_WORDS:
        return None
    match field.kind:
        case FieldKind.LENGTH:
            try:
                return parse_length(text, unit_of(project.style))
            except LengthError as error:
                error.where = spot.path
                raise
        case FieldKind.PERCENT | FieldKind.DEGREES | FieldKind.NUMBER:
            return _read_number(typed, spot)
        case FieldKind.CHOICE:
            folded = re.sub(r"[\s-]+", "_", typed.casefold())
            return next((c for c in field.choices if c.casefold() == folded), typed)
        case FieldKind.TEXT:
            return typed if field.shortest else text  # a name has no blanks around it, notes may
        case FieldKind.GROUP | FieldKind.LIST:
            names = fields_of(type(spot.value)) if isinstance(spot.value, Value) else {}
            hint = f"Set one of them: {', '.join(f'{spot.path}.{name}' for name in names)}." if names else ""
            raise UserError(spot.path, "this holds several values", hint=hint)


def _read_number(typed: str, spot: _Spot) -> float:
    kind = spot.field.kind
    number = typed.removesuffix(KIND_UNITS.get(kind, "")).rstrip().replace("−", "-")
    if not number:
        raise UserError(spot.path, "nothing is written here", hint=f"Write a number such as {_NUMBER_EXAMPLES[kind]}.")
    if _NUMBER.fullmatch(number) is None:
        raise UserError(
            spot.path,
            f"“{typed}” can't be read as a number",
            hint=f"Write one such as {_NUMBER_EXAMPLES[kind]}, with no other unit and no marks between thousands.",
        )
    return float(number.replace(",", "."))
