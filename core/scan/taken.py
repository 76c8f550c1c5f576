"""What is taken from a scan into the project."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from msgspec.structs import replace

from core.ovals import Family
from core.readings.values import Origin, SizeName
from core.scan.asked import Aslant
from core.sources import oval_sizes, take

if TYPE_CHECKING:
    from core.insert import Insert
    from core.project import Project
    from core.scan.asked import Fitted

_DIGITS: Final = 3  # a micrometre: further digits of a fit say nothing


def taken(project: Project, owner: str, fitted: Fitted, picture: str) -> Project:
    """The project with an insert of the fitted shape.

    Args:
        project: to take it for.
        owner: ``old_insert`` or ``new_insert``.
        fitted: what was fitted.
        picture: name of its file.
    """
    oval = fitted.result.oval
    sizes = oval_sizes(oval)
    if oval.family is not Family.MEASURED:  # an outline's bounds must stay its own
        sizes = {name: round(value, _DIGITS) if isinstance(value, float) else value for name, value in sizes.items()}
    known = {name: round(estimate.expanded, _DIGITS + 1) for name, estimate in fitted.result.sizes if name in sizes}
    known.pop(SizeName.EXPONENT, None)  # no length
    insert: Insert = project.old_insert if owner == "old_insert" else project.new_insert
    made = take(insert, sizes, Origin.SCAN, note(fitted, picture), known_to=known)
    return replace(project, **{owner: made})


def note(fitted: Fitted, picture: str) -> str:
    """Where the sizes come from, in a line."""
    view = fitted.view
    scale = "put right by four corners" if isinstance(view, Aslant) else view.note
    parts = [picture]
    if fitted.differences:
        parts.append("mean with the scan turned by 180°")
    if fitted.excess is not None:
        parts.append("pencil line taken off")
    return "; ".join((*parts, scale))
