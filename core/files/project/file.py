"""The project file: JSON that is versioned, checked on reading, and replaced whole.

A file is read, brought to the newest form, and checked; the rest of the program sees only that form.
"""

from __future__ import annotations

import json
from math import inf
from typing import TYPE_CHECKING, Final, cast

import msgspec

from core.files.atomic import write_atomically
from core.measure.sources import with_next_spread
from core.part.fields import checked, field_of_group, refuse_repeated_names
from core.part.migrations import MIGRATIONS
from core.part.numbers import refuse_too_many
from core.part.project import FORMAT, Project
from core.words.errors import FileError, file_error

if TYPE_CHECKING:
    from pathlib import Path

    from core.part.migrations import Raw

_MEAN_SPREAD: Final = 2  # up to this format a ± from readings was the mean's, not that of the next one bought

LARGEST_BYTES: Final = 8 * 1024 * 1024
"""A larger file is not read: the demo projects have a thousandth of it."""


_OUTLINES: Final = "an outline file", "outline", "From an old outline file"
_PICTURE: Final = "a picture", "scan", "Measure, Scan"
_OTHER_FILES: Final = {
    **dict.fromkeys((".dxf", ".csv"), _OUTLINES),
    **dict.fromkeys((".png", ".jpg", ".jpeg", ".tif", ".tiff"), _PICTURE),
}
"""By ending, what is read elsewhere: what it is, its command, and its place in the window."""


def load_project(path: Path) -> Project:
    """The project in a file.

    Raises:
        FileError: the file can't be read or is no project; it names the place and what is expected there.
    """
    try:
        with path.open("rb") as f:
            data = f.read(LARGEST_BYTES + 1)
    except OSError as error:
        raise file_error(path, error, action="read") from error
    if other := _OTHER_FILES.get(path.suffix.lower()):
        kind, command, page = other
        hint = f"Read it with: seatwright {command} FILE; in the window, choose {page}."
        raise FileError(str(path), f"is {kind}, not a project", hint=hint)
    return decode_project(data, where=str(path))


def decode_project(data: bytes, *, where: str) -> Project:
    """The project that a file's content stands for.

    Args:
        data: the content, UTF-8 with or without a mark at its beginning.
        where: the file's name, for errors that concern it as a whole.

    Raises:
        FileError: the content is no project; it names the place and what is expected there.
    """
    if len(data) > LARGEST_BYTES:
        mb = LARGEST_BYTES // 1024**2
        raise FileError(where, f"is larger than {mb} MB, so it is no project", hint="Choose another file.")
    try:
        parsed = _parsed(data, where)
        project = cast("Project", checked(_migrated(parsed, where), field_of_group(Project), ""))
    except RecursionError:
        raise FileError(where, "lists or braces stand too deep in one another", hint="Choose another file.") from None
    refuse_repeated_names(project.housing)
    refuse_too_many(project)
    return with_next_spread(project) if parsed["format"] <= _MEAN_SPREAD else project


def save_project(project: Project, path: Path) -> None:
    """Write a project; the version before stays beside it as ``name~``.

    Raises:
        FileError: the file can't be written, or could not be read again; the old one is untouched.
    """
    data = encode_project(project)
    if decode_project(data, where=str(path)) != project:
        raise ValueError("the project reads back differently from what was written")
    write_atomically(path, data)


def encode_project(project: Project) -> bytes:
    """The content of a project's file: indented JSON, its format first, the rest in the order of the schema."""
    raw = msgspec.to_builtins(project)
    return msgspec.json.format(msgspec.json.encode({"format": raw.pop("format"), **raw}), indent=2) + b"\n"


def fingerprint(path: Path) -> tuple[int, int] | None:
    """Time of the last change [ns] and size of a file, to see whether another program has written it; None if gone."""
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_mtime_ns, found.st_size


class _RepeatedError(Exception):
    """A name stands twice in one group; JSON readers would keep the last one in silence."""


def _parsed(data: bytes, where: str) -> Raw:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        column = error.start - data.rfind(b"\n", 0, error.start)
        raise FileError(
            where, f"is not UTF-8 text: line {line}, byte {column}", hint="Save it as UTF-8, or choose another file."
        ) from None
    try:
        raw = json.loads(text, object_pairs_hook=_group, parse_int=_whole)
    except json.JSONDecodeError as error:
        raise FileError(where, _json_words(error), hint=_JSON_HINT) from None
    except _RepeatedError as error:
        raise FileError(where, str(error), hint="Delete one of the two.") from None
    if not isinstance(raw, dict):
        raise FileError(where, "is JSON but no project, which begins with a brace {", hint="Choose another file.")
    return raw


_JSON_HINT: Final = (
    "Put it right there; when the file was saved before, the version before stands beside it with a ~ behind its name."
)


def _json_words(error: json.JSONDecodeError) -> str:
    if not error.doc.strip():
        return "is empty"
    place = f"line {error.lineno}, column {error.colno}"
    if error.pos >= len(error.doc.rstrip()) or error.msg.startswith("Unterminated string"):
        return f"ends too early, in what begins at {place}"
    return f"is not JSON at {place}: {error.msg[0].lower()}{error.msg[1:]}"


def _group(pairs: list[tuple[str, object]]) -> dict[str, object]:
    group = dict(pairs)
    if len(group) < len(pairs):
        seen: dict[str, object] = {}
        for name, value in pairs:
            if name in seen:
                first, second = (json.dumps(v, ensure_ascii=False)[:40] for v in (seen[name], value))
                raise _RepeatedError(f"“{name}” is given twice in one place, as {first} and as {second}")
            seen[name] = value
    return group


def _whole(digits: str) -> int | float:
    # Python refuses to read a few thousand digits as an int; as a float they are merely too large for every field.
    return int(digits) if len(digits) < 20 else float(digits) if len(digits) < 400 else inf


def _migrated(raw: Raw, where: str) -> Raw:
    """A file's content in the newest form."""
    if "format" not in raw:
        raise FileError(where, "is JSON but no project: its “format” is missing", hint="Choose another file.")
    version = raw["format"]
    if isinstance(version, bool) or not isinstance(version, int) or version < 1:
        raise FileError("format", f"expected a whole number from 1 to {FORMAT}, the version of the file")
    if version > FORMAT:
        raise FileError(
            where,
            f"is a project of format {version}; this Seatwright reads formats up to {FORMAT}",
            hint="Open it with a newer Seatwright.",
        )
    for older in range(version, FORMAT):
        try:
            for step in MIGRATIONS[older]:
                raw = step(raw)
        except (AttributeError, IndexError, KeyError, TypeError, ValueError) as error:
            raise FileError(
                where,
                f"is damaged: it can't be brought from format {older} to {older + 1}",
                hint="When the file was saved before, the version before stands beside it with a ~ behind its name.",
            ) from error
        raw = {**raw, "format": older + 1}
    return raw
