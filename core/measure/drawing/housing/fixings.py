"""Holes, bosses and lugs of an old drawing, as seen from the seat's own axes."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from core.features.ground import Made
from core.features.hole import Hole
from core.features.kind import Follows
from core.features.lug import Lug
from core.geometry.ovals.ovals import oval_outline
from core.measure.drawing.housing.as_insert import tidy
from core.measure.drawing.ovals.bars import Ear, ear_guessed, ear_round
from core.measure.drawing.ovals.measure import signed_from
from core.measure.drawing.ovals.recover import circle_of, distance_of
from core.measure.drawing.results import Role
from core.words.verdicts import Sentence

if TYPE_CHECKING:
    from core.features.registry import Feature
    from core.geometry.lines.outline import Point
    from core.geometry.ovals.ovals import Oval
    from core.geometry.ovals.pose import Pose
    from core.measure.drawing.results import Sorted
    from core.part.housing import Piece


# Larger holes are cored, whatever the others are [mm]: a bench's drills end here (common practice, no source).
_LARGEST_DRILL: Final = 20.0


class Fixing(Struct, frozen=True):
    """What a plan does not tell of lugs and holes.

    Attributes:
        wall: from the seat to the outside [mm].
        height: of lugs, from the outer face up [mm].
        made: how the holes are made, but for those that are too large to drill or lie on a layer of cored ones.
    """

    wall: float
    height: float
    made: Made


def fixings(
    found: Sorted, pose: Pose, oval: Oval, piece: Piece, how: Fixing
) -> tuple[tuple[Feature, ...], list[Sentence]]:
    """The holes of a drawing: alone, in a boss, or in a lug, all held by the machine; and remarks on them.

    Args:
        found: loops with their roles.
        pose: of the seat in the drawing.
        oval: of the insert, about the seat's centre.
        piece: the seat, the floor and the lip that they stand by.
        how: they are made.
    """
    reader = _Fixings(found, pose, oval, piece, how)
    for number in [n for n, role in found.roles.items() if role is Role.HOLE]:
        reader.read(number)
    return (*reader.holes, *reader.lugs), reader.remarks


class _Fixings:
    def __init__(self, found: Sorted, pose: Pose, oval: Oval, piece: Piece, how: Fixing) -> None:
        self.found, self.pose, self.oval, self.piece, self.how = found, pose, oval, piece, how
        self.edge = piece.seat.gap_outer + how.wall
        self.holes: list[Hole] = []
        self.lugs: list[Lug] = []
        self.remarks: list[Sentence] = []
        outside = [n for n, role in found.roles.items() if role is Role.OUTSIDE]
        self.outside = pose.outline(found.loops.loop(outside[0]).outline).oriented(ccw=True) if outside else None
        self.rounds = self._rounds()

    def _rounds(self) -> list[tuple[Point, float]]:
        """Centres and diameters of the rounds that are nothing else: bosses, where a hole is about the same centre."""
        ignored = [self.found.loops.loop(n) for n, role in self.found.roles.items() if role is Role.IGNORED]
        circles = (circle_of(loop.outline, self.found.tolerance) for loop in ignored)
        return [(self.pose.place(circle[0]), circle[1]) for circle in circles if circle is not None]

    def read(self, number: int) -> None:
        """One loop that is a hole."""
        tolerance = self.found.tolerance
        recovered = self.found.recovered.get(number)
        if recovered is None or recovered.worst > tolerance:
            self.remarks.append(Sentence(f"Outline {number} is no round hole within the tolerance; it is left out."))
            return
        at, diameter = self.pose.place(recovered.centre), tidy(recovered.oval.length)
        away = float(signed_from(self.oval, np.array([at]))[0])
        bosses = [d for centre, d in self.rounds if distance_of(centre, at) <= 2.0 * tolerance and d > diameter]
        boss = min(bosses, default=0.0)
        ear = self._ear(number, at, away, diameter, boss)
        is_cored = "cored" in self.found.loops.loop(number).layer.lower() or diameter > _LARGEST_DRILL
        made = Made.CORED if is_cored else self.how.made
        if ear is not None and ear.neck > 0.0:
            self._add_lug(at, diameter, ear, made)
            return
        if ear is not None:
            boss = boss or ear.pad
        # Inside the seat a boss stands as high as the lip does; in the wall it goes right through.
        height = self.piece.floor + self.piece.lip.height if boss and away < 0.0 else 0.0
        name = f"hole {len(self.holes) + 1}"
        self.holes.append(Hole(name, tidy(at[0]), tidy(at[1]), diameter, made, tidy(boss), height, Follows.MACHINE))

    def _ear(self, number: int, at: Point, away: float, diameter: float, boss: float) -> Ear | None:
        """What stands out of the outside round a hole beyond the seat; None for a hole in wall or floor."""
        if self.outside is None or away <= self.piece.seat.gap_outer:
            return None
        toward = oval_outline(self.oval).foot_of(at).at
        ear = ear_round(self.outside, at, toward, self.found.tolerance)
        if ear is not None or away + diameter / 2.0 <= self.edge:
            return ear
        ear = ear_guessed(self.outside, at, toward, diameter)
        if boss:
            ear = replace(ear, pad=boss, neck=0.7 * boss)
        what = f"Outline {number}: the outside has no arc about this hole; its lug's pad is taken to be {{pad}} across."
        self.remarks.append(Sentence.of(what, pad=ear.pad))
        return ear

    def _add_lug(self, at: Point, hole: float, ear: Ear, made: Made) -> None:
        name, height = f"lug {len(self.lugs) + 1}", self.how.height
        pad, neck, fillet = tidy(ear.pad), tidy(ear.neck), tidy(ear.fillet)
        self.lugs.append(Lug(name, tidy(at[0]), tidy(at[1]), pad, hole, neck, height, made, fillet, Follows.MACHINE))
