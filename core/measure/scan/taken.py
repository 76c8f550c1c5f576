"""What is taken from a scan into the project."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from msgspec.structs import replace

from core.measure.scan.results import Aslant
from core.measure.sources import is_plus_minus_typed, oval_sizes, plus_minus_of, take
from core.part.readings import Origin, SizeName

if TYPE_CHECKING:
    from collections.abc import Collection

    from core.measure.scan.asked import Fitted
    from core.part.insert import Insert
    from core.part.project import Project

_DIGITS: Final = 3  # a micrometre: further digits of a fit say nothing


def taken(
    project: Project, owner: str, fitted: Fitted, picture: str, only: Collection[SizeName] | None = None
) -> Project:
    """The project with an insert of the fitted shape.

    Args:
        project: to take it for.
        owner: ``old_insert`` or ``new_insert``.
        fitted: what was fitted.
        picture: name of its file.
        only: the sizes to take; None is all of them and the shape. An outline can only be taken whole.
    """
    oval = fitted.result.oval
    sizes = oval_sizes(oval)
    if oval.family.kind.is_sized:  # an outline's bounds must stay its own
        sizes = {name: round(value, _DIGITS) if isinstance(value, float) else value for name, value in sizes.items()}
    if only is not None and oval.family.kind.is_sized:
        sizes = {name: value for name, value in sizes.items() if name in only}
    known = {name: round(estimate.expanded, _DIGITS + 1) for name, estimate in fitted.result.sizes if name in sizes}
    known.pop(SizeName.EXPONENT, None)  # no length
    insert: Insert = project.old_insert if owner == "old_insert" else project.new_insert
    # The next one bought is known no better than the one that was scanned.
    spread = {name: max(half, _before(insert, name)) for name, half in known.items()}
    made = take(insert, sizes, Origin.SCAN, note(fitted, picture), plus_minus=spread, known_to=known)
    return replace(project, **{owner: made})


def _before(insert: Insert, size: SizeName) -> float:
    """The ± that the insert has for a size, but for one that came with an earlier scan and was not typed over [mm]."""
    source = insert.source(size)
    if source is not None and source.origin is Origin.SCAN and not is_plus_minus_typed(insert, size):
        return 0.0
    return plus_minus_of(insert, size) or 0.0


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
