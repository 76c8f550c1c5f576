"""Remedies that move a feature, or make a hole smaller: which way, how far, and to what place."""

from __future__ import annotations

from math import atan2, hypot
from typing import TYPE_CHECKING

from msgspec.structs import replace

from core.edits import get_value
from core.features.kind import Follows
from core.fit.words import follows_of, is_rework, path_of
from core.words.verdicts import Edit, Remedy, plain
from core.words.whereabouts import direction_words

if TYPE_CHECKING:
    from core.features.registry import Feature
    from core.features.stud.stud import Stud
    from core.fit.case import Case
    from core.geometry.lines.outline import Point
    from core.metal.order import Part
    from core.words.ends import End

MOST_SMALLER = 2.0 / 3.0
"""Of its diameter that a hole is made smaller by, at most: what is left would not do its work."""

_SAME_MM = 1e-9


def moved_by(case: Case, path: str, way: Point, by: float) -> Remedy | None:
    """Move what stands at ``path`` by an amount [mm] along ``way``; None where that is no way at all.

    The project holds the place as it was built; what follows seat or outside goes on from there.
    """
    size = hypot(*way)
    if size < _SAME_MM or by <= 0.0:
        return None
    x, y = get_value(case.project, f"{path}.x"), get_value(case.project, f"{path}.y")
    assert isinstance(x, float)
    assert isinstance(y, float)
    parts = (("x", x, way[0] / size), ("y", y, way[1] / size))
    edits = tuple(
        Edit(f"{path}.{axis}", start=at, per=per) if abs(per) > _SAME_MM else Edit(f"{path}.{axis}", at)
        for axis, at, per in parts
    )
    follows = get_value(case.project, f"{path}.follows")
    text = f"move it {{by}} towards {direction_words(atan2(way[1], way[0]))}, to x {{to}}, y {{to1}}"
    if follows is Follows.MACHINE:
        text += ", if the machine allows it"
    elif follows is not Follows.CENTRE:
        text += " as built"
    return Remedy(text, edits, by)


def owner_of(case: Case, part: Part, end: End) -> Feature | Stud | None:
    """The feature or stud that a part belongs to, as it is built; None for the curves of the piece."""
    owner, _, index = part.path.rstrip("]").partition("[")
    built = case.project.housing.piece(end)
    if owner == "studs":
        return case.project.housing.studs[int(index)]
    return built.features[int(index)] if owner == "features" and built is not None else None


def bore_remedies(case: Case, part: Part, end: End, way: Point, by: float) -> tuple[Remedy, ...]:
    """What gets a hole out of the way: move it along ``way`` by ``by`` [mm], or make it smaller.

    What the machine fixes neither moves nor changes its size; it may be let go. A casting's holes are there.
    """
    owner = owner_of(case, part, end)
    if is_rework(case) or owner is None or not owner.hole_field:
        return ()
    path, name = path_of(case, part, end), plain(part.name)
    if follows_of(case, part, end) is Follows.MACHINE:
        follow = Edit(f"{path}.follows", Follows.SEAT)
        return (
            Remedy(f"let {name} follow the seat, if the machine allows it", (follow,)),
            Remedy(f"choose another insert, since the machine fixes {name}"),
        )
    remedies = []
    if (moved := moved_by(case, path, way, by)) is not None:
        remedies.append(replace(moved, text=moved.text.replace("move it", f"move {name}", 1)))
    if owner.bore > 0.0:
        smaller = Edit(f"{path}.{owner.hole_field}", start=owner.bore, per=-1.0)
        what = name if owner.hole_field == "diameter" else f"the hole of {name}"
        remedies.append(Remedy(f"make {what} {{by}} smaller, {{to}}", (smaller,), 2.0 * by))
    return tuple(remedies)
