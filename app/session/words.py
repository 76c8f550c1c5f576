"""How the window speaks of the project's fields: their labels are the schema's, who they belong to is said here."""

from __future__ import annotations

import re
from contextlib import suppress
from typing import TYPE_CHECKING, Final

from core import edits
from core.part.fields import FieldKind, field_of_group, fields_of
from core.part.project import Project
from core.words.errors import UserError
from core.words.lengths import Style, shower, unit_of

if TYPE_CHECKING:
    from core.part.fields import Field

_PREFIXES: Final = {
    "new_insert": "new insert",
    "old_insert": "old insert",
    "housing.base": "base",
    "housing.lid": "lid",
    "base": "base",
    "lid": "lid",
    "limits": "limit",
}


def unit_text(field: Field, style: Style) -> str:
    """The unit behind a field, as lengths are shown."""
    return field.unit or (str(unit_of(style)) if field.kind is FieldKind.LENGTH else "")


def spoken(project: Project, path: str) -> str:
    """A path as one says it: ``new insert: rim width``, ``left lug: pad``."""
    owner = next((name for start, name in _PREFIXES.items() if path == start or path.startswith(f"{start}.")), "")
    if found := re.match(r"(.*\[[^\]]*\])", path):
        with suppress(UserError):
            owner = str(getattr(edits.get_value(project, found[1]), "name", owner))
        if found[1] == path:
            return owner
    elif path in _PREFIXES:
        return owner
    label = _label(project, path)
    return f"{owner}: {label[:1].lower()}{label[1:]}" if owner else label


def said(error: UserError, path: str, project: Project, note: str = "") -> str:
    """A refusal beside the field at ``path``: in the user's unit, with the field's own name left out.

    Args:
        error: of the edit.
        path: of the field that was typed in; empty for none.
        project: for unit and names.
        note: what was typed there was read as.
    """
    text = error.message(shower(project.style))
    if path and text.startswith(f"{error.where}: ") and error.where in (path, ""):
        text = text.removeprefix(f"{error.where}: ")
    else:
        text = text.replace(error.where, spoken(project, error.where), 1) if _is_path(error.where) else text
    if note:
        field = spoken(project, path)
        text = f"{text.rstrip('.')}. {field[:1].upper()}{field[1:]} was {note}."
    return text[:1].upper() + text[1:]


def style_word(style: Style) -> str:
    """How a style of lengths reads in a menu."""
    return {Style.MM: "Millimetres", Style.INCH: "Inches, decimal", Style.FRACTION: "Inches, fractions"}[style]


def _label(project: Project, path: str) -> str:
    """The label of a path, also of one that isn't there (yet), or that begins at a piece."""
    with suppress(UserError):
        return edits.field_at(project, path).label
    plain = re.sub(r"\[[^\]]*\]", "", path)
    field = _by_type(plain) or _by_type(f"housing.{plain}")
    return plain.rpartition(".")[2].replace("_", " ").capitalize() if field is None else field.label


def _by_type(path: str) -> Field | None:
    field: Field | None = field_of_group(Project)
    for name in path.split("."):
        groups = () if field is None else (field.item or field).groups
        field = next((fields_of(group)[name] for group in groups if name in fields_of(group)), None)
    return field


def _is_path(text: str) -> bool:
    return re.fullmatch(r"[a-z_]+(\.[a-z_]+|\[[^\]]*\])*", text) is not None and ("." in text or text in _PREFIXES)
