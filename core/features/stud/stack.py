"""Clamp studs: the length that a stack needs, how deep a hole is drilled for it, and how the length in use follows."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from core.features.stud.engagement import engagement_of
from core.features.stud.kinds import KINDS
from core.features.stud.threads import DIAMETER_MM, NUT_MM, PITCH_MM, POINT, RUN_OUT_PITCHES, TAP_DRILL_MM, WASHER_MM
from core.part.housing import Tight

if TYPE_CHECKING:
    from core.features.stud.stud import Stud
    from core.part.housing import Housing
    from core.part.project import Limits


def blind_depth(stud: Stud, housing: Housing, limits: Limits) -> float:
    """How deep a blind hole is drilled for more thread than is just wanted, without the drill's point [mm]."""
    wanted = engagement_of(housing.metal, limits) * DIAMETER_MM[stud.thread]
    return wanted * (1.0 + limits.marginal / 100.0) + RUN_OUT_PITCHES * PITCH_MM[stud.thread]


def usual_depth(stud: Stud, housing: Housing, limits: Limits) -> float | None:
    """A hole to begin with: blind where the base must be tight and is closed there, if it is thick enough [mm]."""
    depth = blind_depth(stud, housing, limits)
    left = housing.base.thickness - depth - POINT * TAP_DRILL_MM[stud.thread]
    wanted = max(limits.floor_least, housing.metal.least_section) * (1.0 + limits.marginal / 100.0)
    is_closed = housing.base.tight is Tight.YES and housing.base.opening is None
    return depth if is_closed and left >= wanted else None


def is_through(stud: Stud, thickness: float) -> bool:
    """Whether a stud's hole comes out of a base of a thickness [mm], if only with the drill's point."""
    if stud.hole_depth is None:
        return True
    return stud.hole_depth + POINT * TAP_DRILL_MM[stud.thread] >= thickness - 1e-9


class StudStack(Struct, frozen=True):
    """What a stud's length is made of, from the base's joint face up [mm].

    Attributes:
        engagement: thread in the base, below its joint face: what is wanted, or the screwed-in end that the stud has.
        faces: distance between the joint faces when closed.
        lid: thickness that it passes, with what is raised there on the lid's outer face.
        washer, nut: heights.
        showing: thread past the nut.
        uncounted: what of the engagement the stud's length does not count.
    """

    engagement: float
    faces: float
    lid: float
    washer: float
    nut: float
    showing: float
    uncounted: float = 0.0

    @property
    def over_all(self) -> float:
        """The least length of the whole stud [mm]."""
        return self.engagement + self.faces + self.lid + self.washer + self.nut + self.showing

    @property
    def length(self) -> float:
        """The least length of the stud, as its kind counts it [mm]."""
        return self.over_all - self.uncounted

    @property
    def under_nut(self) -> float:
        """From the base's joint face to the nut [mm]."""
        return self.faces + self.lid + self.washer


def stud_stack(housing: Housing, stud: Stud, limits: Limits, raised: float = 0.0) -> StudStack:
    """The stack of one stud.

    Args:
        housing: its closed distance, the lid's thickness and the metal count.
        stud: its thread and kind count.
        limits: engagement, and threads past the nut.
        raised: what lies under its washer over the lid, see `core.metal.slabs.raised_under` [mm].
    """
    thread, end = stud.thread, KINDS[stud.kind].screwed_in
    wanted = engagement_of(housing.metal, limits) * DIAMETER_MM[thread]
    return StudStack(
        wanted if end is None else end(thread),
        housing.faces.apart,
        0.0 if housing.lid is None else housing.lid.thickness + raised,
        WASHER_MM[thread],
        NUT_MM[thread],
        limits.threads_showing * PITCH_MM[thread],
        0.0 if end is None else end(thread),
    )


def followed_length(stud: Stud, was_needed: float, now_needed: float) -> float:
    """The length in use, moved by as many of its kind's lengths as the needed length moved [mm].

    A stud that the owner chose longer than needed stays as much longer, a length that is no standard one stays between
    its neighbours, and a change that is undone gives back the stud there was.
    """
    ladder = KINDS[stud.kind].ladder
    steps = ladder.rung(ladder.next(now_needed)) - ladder.rung(ladder.next(was_needed))
    return ladder.length(ladder.rung(stud.length) + round(steps)) if round(steps) else stud.length
