"""Remedies that move the closed height: a seat deeper or shallower, a spacer, or where a change of height goes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from core.fit.words import is_rework
from core.part.housing import Stop
from core.part.project import HeightTo
from core.words.ends import End
from core.words.verdicts import Edit, Remedy

if TYPE_CHECKING:
    from core.fit.case import Case


def depth_remedies(case: Case, by: float, *, deeper: bool) -> tuple[Remedy, ...]:
    """What makes the closed height ``by`` greater or less [mm], the part that takes the height change first."""
    choices, housing = case.project.choices, case.project.housing
    remedies: list[Remedy] = []
    ends = [End.LID, End.BASE] if choices.height_to is HeightTo.LID else [End.BASE, End.LID]
    if deeper or not is_rework(case):
        remedies += [_seat(case, end, by, deeper=deeper) for end in ends]
    else:
        remedies.append(Remedy("shim the seat floor, since metal can't be put back"))
    if housing.faces.stop is Stop.SPACER:
        sign, more = (1.0, "thicker") if deeper else (-1.0, "thinner")
        edit = Edit("housing.faces.distance", start=housing.faces.distance, per=sign)
        at = 0 if choices.height_to is HeightTo.SPACER else len(remedies)
        remedies.insert(at, Remedy(f"make the spacer {{by}} {more}", (edit,), by))
    if choices.height_to is HeightTo.SQUEEZE and case.project.new_insert.height != case.project.old_insert.height:
        remedies.insert(0, Remedy("let the base take the height change", (Edit("choices.height_to", HeightTo.BASE),)))
    return tuple(remedies)


def _seat(case: Case, end: End, by: float, *, deeper: bool) -> Remedy:
    """One seat deeper or shallower; a casting's floor gets thinner by it."""
    built = case.project.housing.piece(end)
    assert built is not None
    sign = 1.0 if deeper else -1.0
    edits = [Edit(f"housing.{end}.seat.depth", start=built.seat.depth, per=sign)]
    if is_rework(case):
        edits.append(Edit(f"housing.{end}.floor", start=built.floor, per=-sign))
    verb = "machine" if is_rework(case) else "make"
    return Remedy(f"{verb} the {end}'s seat {{by}} {'deeper' if deeper else 'shallower'}", tuple(edits), by)
