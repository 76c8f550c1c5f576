"""What each loop of an old drawing is: a first guess, the user's correction, and the ovals that follow from either."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec.structs import replace

from core.geometry.lines.outline import as_circle
from core.geometry.ovals.ovals import Family, Oval, check_oval
from core.geometry.ovals.pose import Pose
from core.measure.drawing.housing.guess import OVALS, Guess
from core.measure.drawing.ovals.measure import signed_from, spread_of
from core.measure.drawing.ovals.recover import TOLERANCE, recover, recover_most, recover_points, samples
from core.measure.drawing.progress import no_tick, part_of
from core.measure.drawing.results import Recovered, Role, Sorted
from core.words.errors import ImpossibleOvalError

if TYPE_CHECKING:
    from collections.abc import Collection

    from core.geometry.lines.outline import Outline
    from core.measure.drawing.progress import Tick
    from core.measure.drawing.results import Loop, Loops

_ONE_OF_A_KIND: Final = (Role.OUTSIDE, Role.SEAT_OUTER, Role.SEAT_INNER, Role.OPENING)


def sort_loops(loops: Loops, tolerance: float = TOLERANCE, tick: Tick = no_tick) -> Sorted:
    """Roles of all loops at a first guess, each with its reason, and what the ovals and holes among them are.

    Args:
        loops: of a drawing, nested.
        tolerance: within which a loop is an oval or a circle [mm], > 0.
        tick: told the part that is done, once a loop; may raise.

    Raises:
        Cancelled: by ``tick``.
    """
    guess = Guess(loops, tolerance, part_of(tick, 0.0, 0.5))
    guessed = guess.roles() if loops.loops else {}
    roles = {number: role for number, (role, _) in guessed.items()}
    return _with_ovals(Sorted(loops, roles, guessed, {}, tolerance), roles, part_of(tick, 0.5, 1.0))


def with_role(found: Sorted, number: int, role: Role) -> Sorted:
    """The user's correction: one loop in another role, recovered for it.

    Of outside, seat and opening there is one each: a loop that had the role until now is ignored from here on.

    Raises:
        ValueError: there is no loop of that number.
    """
    if number not in found.roles:
        raise ValueError(f"there is no loop {number}")
    roles = dict(found.roles)
    if role in _ONE_OF_A_KIND:
        roles |= {other: Role.IGNORED for other, own in roles.items() if own is role}
    roles[number] = role
    changed = {n for n, own in roles.items() if own is not found.roles[n]}
    if any(Role.SEAT_OUTER in (roles[n], found.roles[n]) for n in changed):
        # The outside is recovered by the seat that it runs along.
        changed |= {n for n, own in roles.items() if own is Role.OUTSIDE}
    return _with_ovals(replace(found, roles=roles), changed)


def _with_ovals(found: Sorted, changed: Collection[int], tick: Tick = no_tick) -> Sorted:
    """The loops with some of them recovered again: the outside last, as it is seen by the seat that it runs along."""
    recovered = dict(found.recovered)
    for done, number in enumerate(sorted(changed, key=lambda n: found.roles[n] is Role.OUTSIDE)):
        tick(done / len(changed))
        recovered.pop(number, None)
        seat = next((recovered.get(n) for n, role in found.roles.items() if role is Role.SEAT_OUTER), None)
        oval = _recovered(found.loops.loop(number), found.roles[number], found.tolerance, seat)
        if oval is not None:
            recovered[number] = oval.with_off(found.loops.loop(number).off)
    return replace(found, recovered=recovered)


def _recovered(loop: Loop, role: Role, tolerance: float, seat: Recovered | None) -> Recovered | None:
    """What a loop is in its role; None where its shape says nothing, or makes no oval of a usual size."""
    try:
        if role is Role.HOLE:
            exact = as_circle(loop.outline)
            if exact is not None:  # most are: a sieve has thousands, and a fit takes long
                oval = Oval(Family.CIRCLE, 2.0 * exact[1], 2.0 * exact[1])
                check_oval(oval)
                return Recovered(oval, exact[0], 0.0, 0.0, 0.0, ((oval, 0.0),))
            return recover(loop.outline, tolerance, (Family.CIRCLE,))
        if role in OVALS:
            return recover(loop.outline, tolerance)
        if role is Role.OUTSIDE:
            return _outside_oval(loop.outline, tolerance, seat)
    except ImpossibleOvalError:
        pass
    return None


def _outside_oval(outline: Outline, tolerance: float, seat: Recovered | None) -> Recovered:
    """The oval that an outside keeps to but for its lugs: most easily seen where it runs along the seat."""
    if seat is not None:
        points = samples(outline, 720).points
        signed = signed_from(seat.oval, Pose(seat.centre, seat.angle).into(points))
        spread = spread_of(signed, tolerance)
        if spread.is_mostly:
            found = recover_points(points[np.abs(signed - spread.middle) <= tolerance], tolerance)
            if found.oval.family.kind.is_sized:
                return found
    return recover_most(outline, tolerance)
