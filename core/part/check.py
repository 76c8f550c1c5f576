"""What a project's schema can't say: sizes that must agree with each other. Raised before any geometry is made."""

from __future__ import annotations

from typing import TYPE_CHECKING

from core.geometry.ovals.ovals import check_oval
from core.words.ends import End, Side
from core.words.errors import FileError, ImpossibleOvalError

if TYPE_CHECKING:
    from core.part.insert import Insert
    from core.part.project import Project


def check_project(project: Project) -> None:
    """Refuse what no housing can be.

    Raises:
        ImpossibleOvalError: an insert's oval; the path and the bound are named.
        FileError: a feature that follows what its kind can't, or limits the wrong way round.
    """
    for name in ("old_insert", "new_insert"):
        insert: Insert = getattr(project, name)
        check_oval(insert.free_oval, f"{name}.")
        _check_pressed(insert, name)
        least, greatest = insert.squeeze_wanted
        if insert.is_yielding and least > greatest:
            where = f"{name}.squeeze.{'least' if insert.squeeze.least is not None else 'greatest'}"
            what = f"squeeze of at least {least:g} % and at most {greatest:g} % can't both be"
            raise FileError(where, what, hint="An empty limit is what the material wants.")
    for side in Side:
        least, greatest = project.limits.gap(side)
        if least > greatest:
            raise FileError(f"limits.gap_{side}_least", f"must not be over limits.gap_{side}_greatest")
    for end in End:
        piece = project.housing.piece(end)
        if piece is None:
            continue
        for i, feature in enumerate(piece.features):
            allowed = feature.may_follow
            if feature.follows not in allowed:
                path = f"housing.{end}.features[{i}].follows"
                raise FileError(path, f"a {feature.word()} can follow {', '.join(allowed)}, not {feature.follows}")


def _check_pressed(insert: Insert, name: str) -> None:
    """Refuse to press what can't be pressed."""
    if insert.pressed is None:
        return
    if not insert.is_yielding:
        raise FileError(
            f"{name}.pressed", "a rigid rim keeps its shape", hint="Leave it free, or choose a soft material."
        )
    try:
        check_oval(insert.oval, f"{name}.pressed.")
    except ImpossibleOvalError as error:
        if not error.where.startswith(name):
            error.where = f"{name}.pressed.{error.where}"
        raise
