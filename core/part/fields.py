"""What each field of a project may hold, and what to say of a value that it can't hold.

The schema decides alone what is accepted; this file only reads it, so that a file, the command line and the window give
one sentence for one mistake.

Words used below:
    group: several named values, a struct in the program and braces in the file.
    tag: the value that names which of several groups is meant, e.g. ``"kind": "lug"``.
    raw: a value as it stands in the file, before the schema has accepted it.
"""

from __future__ import annotations

import re
from difflib import get_close_matches
from enum import Enum
from functools import cache
from itertools import islice
from typing import TYPE_CHECKING, Any, Final, cast, get_args

import msgspec
from msgspec import Struct, inspect

from core.words.errors import FileError
from core.words.lengths import Style, show_length

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

    from core.part.housing import Housing
    from core.part.schema import Value
    from core.words.errors import Show

_MOST_NAMED: Final = 5
_LONGEST_QUOTE: Final = 40
_HUGE: Final = 1e15  # no field takes a hundredth of it, and its digits would fill the message


class FieldKind(Enum):
    """How a field is typed in and described."""

    LENGTH = "length"
    PERCENT = "percent"
    DEGREES = "degrees"
    NUMBER = "number"
    CHOICE = "choice"
    TEXT = "text"
    GROUP = "group"
    LIST = "list"


KIND_UNITS: Final = {FieldKind.PERCENT: "%", FieldKind.DEGREES: "°"}
"""Behind what is typed in."""


class RefusedError(FileError):
    """A value that the schema does not accept, in a file or typed in.

    ``what`` may hold the place ``{bound}``, which is filled with ``bound_mm`` as the window shows lengths.

    Attributes:
        where: the field's path from the project.
    """

    def __init__(self, where: str, what: str, *, hint: str = "", bound_mm: float | None = None) -> None:
        super().__init__(where, what, hint=hint)
        self.bound_mm = bound_mm

    def message(self, show: Show) -> str:
        text = super().message(show)
        if self.bound_mm is None:
            return text
        bound = show(self.bound_mm)
        if self.bound_mm and not re.search("[1-9]", bound):  # in 64ths of an inch it is none
            bound = show_length(self.bound_mm, Style.INCH)
        # Not str.format: a refused text may hold braces of its own.
        return text.replace("{bound}", bound, 1)


class Field(Struct, frozen=True):
    """What the schema says of one field.

    Attributes:
        annotation: the type, for msgspec.
        is_required: whether a file must give it.
        is_optional: whether it may be None.
        over, least, most: bounds of a number, the first one exclusive.
        shortest, longest: number of characters of a text.
        enum: of a choice.
        groups: that a group may be; more than one are told apart by their tag.
        item: what each item of a list may be.
        count: how many items a list has, when they only count together.
        label: what it is called.
        meaning: what it is, in whole sentences; empty where nobody is shown it.
        more: what else is said of it beside its type, by `core.part.schema.says`.
    """

    annotation: Any
    kind: FieldKind
    is_required: bool
    is_optional: bool
    over: float | None = None
    least: float | None = None
    most: float | None = None
    shortest: int = 0
    longest: int | None = None
    enum: type[Enum] | None = None
    groups: tuple[type[Value], ...] = ()
    item: Field | None = None
    count: int | None = None
    label: str = ""
    meaning: str = ""
    more: Mapping[str, Any] = msgspec.field(default_factory=dict)

    @property
    def unit(self) -> str:
        """What stands behind a value; empty for a length, whose unit is the style's, and where there is none."""
        return self.more.get("unit") or KIND_UNITS.get(self.kind, "")

    def word(self, choice: str) -> str:
        """How one of the choices reads, or a value that was chosen."""
        return self.more.get("words", {}).get(choice) or choice.replace("_", " ")

    @property
    def choices(self) -> tuple[str, ...]:
        """What a choice may be, as it stands in the file; empty for every other kind."""
        return () if self.enum is None else tuple(member.value for member in self.enum)


@cache
def fields_of(group: type[Value]) -> dict[str, Field]:
    """The fields of a group by name, in the order of the file."""
    return {f.name: _field(f.type, is_required=f.required, name=f.name) for f in msgspec.structs.fields(group)}


@cache
def field_of_group(group: type[Value]) -> Field:
    """A field that must hold this group: what a whole project is."""
    return _field(group, is_required=True)


def checked(raw: object, field: Field, where: str, *, got: str | None = None) -> object:
    """A value as the field holds it.

    Args:
        raw: as it stands in the file, or the program's own value.
        field: that is to hold it.
        where: the field's path; empty for the whole project.
        got: how to quote the value when it is refused, e.g. as it was typed; its own form by default.

    Raises:
        RefusedError: the field can't hold it; the first mistake, and the places of up to four more.
    """
    try:
        _refuse_half_characters(raw, where)
        return msgspec.convert(raw, field.annotation)
    except msgspec.ValidationError as error:
        found = list(islice(_refusals(raw, field, where, got), _MOST_NAMED + 1))
        # The schema is the judge: what it refuses stays refused even if no sentence here fits.
        first = found[0] if found else RefusedError(where, str(error))
    if len(found) > 1:
        more = ", ".join(e.where for e in found[1:_MOST_NAMED]) + (" and more" if len(found) > _MOST_NAMED else "")
        first.hint = f"{first.hint} Put right as well: {more}.".lstrip()
    raise first


def did_you_mean(word: str, options: Iterable[str]) -> str:
    """The sentence that proposes the option nearest to a word; empty if none is near."""
    by_folded = {option.casefold(): option for option in options}
    near = get_close_matches(word.casefold(), by_folded, n=1)
    return f"Did you mean “{by_folded[near[0]]}”?" if near else ""


def unknown_field(group: type[Value], name: str, where: str) -> RefusedError:
    """What to say of a name that is no field of the group at ``where``."""
    names = fields_of(group)
    listed = f"{'Fields there are' if len(names) > 1 else 'The field there is'} {', '.join(names)}."
    return RefusedError(
        join(where, name), "there is no such field", hint=f"{did_you_mean(name, names)} {listed}".strip()
    )


def refuse_repeated_names(housing: Housing) -> None:
    """Check that a name stands for one thing in each list.

    Raises:
        RefusedError: two items of a list have the same name; its place is the later one.
    """
    for where, items in (
        ("housing.base.features", housing.base.features),
        ("housing.lid.features", housing.lid.features if housing.lid is not None else ()),
        ("housing.studs", housing.studs),
        ("housing.keep_outs", housing.keep_outs),
    ):
        first: dict[str, int] = {}
        for i, item in enumerate(items):
            if (earlier := first.setdefault(item.name, i)) != i:
                raise RefusedError(
                    f"{where}[{i}].name",
                    f"{_quoted(item.name)} is already the name of {where}[{earlier}]",
                    hint="Give one of the two another name.",
                )


def join(where: str, name: str) -> str:
    """The path of a named field in the group at ``where``."""
    return f"{where}.{name}" if where else name


def _field(annotation: Any, *, is_required: bool, name: str = "") -> Field:  # noqa: ANN401 - it has no type of its own
    info, told, extra = _unwrapped(inspect.type_info(annotation))
    plain = annotation if not told and not extra else get_args(annotation)[0]
    members = info.types if isinstance(info, inspect.UnionType) else (info,)
    is_optional = any(isinstance(m, inspect.NoneType) for m in members)
    kept = [m for m in members if not isinstance(m, inspect.NoneType)]
    kept[0], own, own_extra = _unwrapped(kept[0])
    told, extra = {**own, **told}, {**own_extra, **extra}
    if is_optional:  # the list itself, where it may be None
        plain = next(a for a in get_args(plain) if a is not type(None))
    label = told.get("title") or name.replace("_", " ").capitalize()
    said = {"label": label, "meaning": told.get("description", ""), "more": extra}

    def field(kind: FieldKind, **more: Any) -> Field:  # noqa: ANN401 - passed on to Field, which names them
        return Field(annotation, kind, is_required, is_optional, **said, **more)

    match kept[0]:
        case inspect.FloatType(gt=over, ge=least, le=most) | inspect.IntType(gt=over, ge=least, le=most):
            return field(FieldKind(extra.get("kind", "number")), over=over, least=least, most=most)
        case inspect.StrType(min_length=shortest, max_length=longest):
            return field(FieldKind.TEXT, shortest=shortest or 0, longest=longest)
        case inspect.EnumType(cls=enum):
            return field(FieldKind.CHOICE, enum=enum)
        case inspect.TupleType(item_types=items):  # a few numbers of one kind that only count together
            return field(FieldKind.LIST, item=_field(get_args(plain)[0], is_required=True), count=len(items))
        case inspect.VarTupleType():
            return field(FieldKind.LIST, item=_field(get_args(plain)[0], is_required=True))
        case inspect.StructType():
            groups = tuple(cast("type[Value]", m.cls) for m in kept if isinstance(m, inspect.StructType))
            return field(FieldKind.GROUP, groups=groups)
    raise TypeError(f"the schema has no words for {annotation}")


def _unwrapped(info: inspect.Type) -> tuple[inspect.Type, dict[str, Any], dict[str, Any]]:
    """A type without what is said of it: the type, title and description, and what else there is."""
    if not isinstance(info, inspect.Metadata):
        return info, {}, {}
    return info.type, info.extra_json_schema or {}, info.extra or {}


def _refuse_half_characters(raw: object, where: str) -> None:
    """Refuse texts that no file can hold: JSON's escapes and the clipboard can carry half a surrogate pair."""
    match raw:
        case str():
            try:
                raw.encode()
            except UnicodeEncodeError as error:
                raise RefusedError(
                    where,
                    f"character {error.start + 1} of this text is half a character",
                    hint="Delete it and type it again.",
                ) from None
        case dict():
            for key, value in raw.items():
                # The key of an unknown field may be such a text itself, and a message must be printable.
                _refuse_half_characters(key, where)
                _refuse_half_characters(value, join(where, key) if isinstance(key, str) else where)
        case list() | tuple():
            for i, value in enumerate(raw):
                _refuse_half_characters(value, f"{where}[{i}]")


def _refusals(raw: object, field: Field, where: str, got: str | None = None) -> Iterator[RefusedError]:
    """Every mistake in a raw value, in the order of the schema."""
    if raw is None and field.is_optional:
        return
    if field.kind is FieldKind.GROUP and isinstance(raw, dict):
        yield from _group_refusals(raw, field, where)
    elif field.item is not None and isinstance(raw, list | tuple) and field.count in (None, len(raw)):
        for i, item in enumerate(raw):
            yield from _refusals(item, field.item, f"{where}[{i}]")
    elif not _is_accepted(raw, field):
        yield _refusal(raw, field, where, got)


def _is_accepted(raw: object, field: Field) -> bool:
    try:
        msgspec.convert(raw, field.annotation)
    except msgspec.ValidationError:
        return False
    return True


def _group_refusals(raw: dict[object, object], field: Field, where: str) -> Iterator[RefusedError]:
    group, tag_field = field.groups[0], field.groups[0].__struct_config__.tag_field
    if tag_field is not None:
        by_tag = {str(g.__struct_config__.tag): g for g in field.groups}
        tag = raw.get(tag_field)
        if not (isinstance(tag, str) and tag in by_tag):
            what = f"expected one of {', '.join(by_tag)}, got {_quoted(tag)}"
            if tag_field not in raw:
                what = f"this field is missing; expected one of {', '.join(by_tag)}"
            hint = did_you_mean(tag, by_tag) if isinstance(tag, str) else ""
            yield RefusedError(join(where, tag_field), what, hint=hint)
            return
        group = by_tag[tag]
    known = fields_of(group)
    for key in raw:
        if key not in known and key != tag_field:
            yield unknown_field(group, str(key), where)
    for name, inner in known.items():
        if name in raw:
            yield from _refusals(raw[name], inner, join(where, name))
        elif inner.is_required:
            expected, bound_mm = _expectation(None, inner)
            what = f"this field is missing; expected {expected}"
            yield RefusedError(join(where, name), what, bound_mm=bound_mm)


def _refusal(raw: object, field: Field, where: str, got: str | None) -> RefusedError:
    expected, bound_mm = _expectation(raw, field)
    hint = did_you_mean(raw, field.choices) if isinstance(raw, str) else ""
    return RefusedError(where, f"expected {expected}, got {got or _quoted(raw)}", hint=hint, bound_mm=bound_mm)


def _expectation(raw: object, field: Field) -> tuple[str, float | None]:
    """What a field expects, in words, and the length to show in them."""
    number = raw if isinstance(raw, int | float) and not isinstance(raw, bool) else None
    bound_mm = None
    if field.kind is FieldKind.LENGTH:
        if raw is not None and number is None:
            return "a length as a number in millimetres" + (" or null" if field.is_optional else ""), None
        if field.most is not None and number is not None and number > field.most:
            bound_mm = field.most
        elif field.least and not (number is not None and number >= field.least):  # no number is not over it either
            bound_mm = field.least
    if bound_mm is not None:
        or_null = " or null" if field.is_optional and number is None else ""
        return f"a length of at {'most' if bound_mm == field.most else 'least'} {{bound}}{or_null}", bound_mm
    words = {
        FieldKind.LENGTH: f"a length {_half_range_words(field)}".rstrip(),
        FieldKind.PERCENT: f"a percentage {_range_words(field)}",
        FieldKind.DEGREES: f"an angle {_range_words(field)} degrees",
        FieldKind.NUMBER: f"a number {_range_words(field)}".rstrip(),
        FieldKind.CHOICE: f"one of {', '.join(field.choices)}",
        FieldKind.TEXT: f"a text{_size_words(field)}",
        FieldKind.LIST: "a list in brackets [ ]" if field.count is None else f"{field.count} values in brackets [ ]",
        FieldKind.GROUP: "named values in braces { }",
    }
    may_be_null = field.is_optional and number is None
    return words[field.kind] + (" or null" if may_be_null else ""), None


def _half_range_words(field: Field) -> str:
    return "over 0" if field.over == 0 else "of 0 or more" if field.least == 0 else ""


def _size_words(field: Field) -> str:
    if field.longest is None:
        return ""
    return f" of {field.shortest} to {field.longest} characters on one line, without blanks at its ends"


def _range_words(field: Field) -> str:
    if field.over is not None:
        return f"over {field.over:g}" + ("" if field.most is None else f" and up to {field.most:g}")
    if field.least is None:
        return ""
    return f"of {field.least:g} or more" if field.most is None else f"from {field.least:g} to {field.most:g}"


def _quoted(raw: object) -> str:
    """A refused value as a message shows it: numbers bare, texts in quotes and cut short."""
    match raw:
        case None:
            text = "null"
        case bool():
            text = "true" if raw else "false"
        case str():
            text = f"“{raw if len(raw) <= _LONGEST_QUOTE else raw[: _LONGEST_QUOTE - 1] + '…'}”"
        case int() | float() if abs(raw) >= _HUGE:
            text = "a number that is far too large"
        case int():
            text = f"{raw}"
        case float():
            text = f"{raw:.15g}"
        case dict():
            text = "named values in braces { }"
        case list() | tuple():
            text = "a list in brackets [ ]"
        case _:
            text = f"a {type(raw).__name__}"
    return text
