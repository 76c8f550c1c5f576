"""Random, wild but valid projects: what random checks are held against.

Nothing about them is sensible but their sizes: holes break through seats, walls and openings, or touch each other;
features follow the machine into the way of what moves; outsides and openings are held; castings are reworked, some of
them for the second time; inserts are measured outlines, rigid, pressed; a lid may be missing. What the program refuses
as impossible is drawn anew, so that every project has a result.
"""

from __future__ import annotations

from itertools import count
from math import cos, hypot, pi, sin
from random import Random
from typing import TYPE_CHECKING

from core.features.badge import Badge
from core.features.band import Band
from core.features.crossbar import Crossbar
from core.features.ground import Made
from core.features.hole import Hole
from core.features.lug import Lug
from core.features.pocket import Pocket
from core.features.registry import FEATURES
from core.features.rib import Rib
from core.features.stud.kinds import StudKind
from core.features.stud.stud import Stud
from core.features.stud.threads import Thread
from core.metal.slabs import resolve
from core.new.part import ALUMINIUM
from core.part.check import check_project
from core.part.curve import HeldCurve
from core.part.housing import EarlierSeat, Faces, Housing, KeepOut, Lip, Opening, Piece, Seat, Stop, Tight
from core.part.project import Choices, HeightTo, Hold, HoldInside, Mode, Project
from core.resize.resize import resize
from core.words.errors import UserError
from tests.support.wild_inserts import wild_insert, wild_replacement

if TYPE_CHECKING:
    from collections.abc import Callable

    from core.features.kind import Follows
    from core.features.registry import Feature
    from core.geometry.lines.outline import Point


def wild_project(seed: int, *, reworked: bool | None = None) -> Project:
    """The random project of that number: the same one on every machine; with ``reworked``, only such or only others."""
    for attempt in count():
        rng = Random(f"{seed}/{attempt}")  # noqa: S311 - invented housings
        try:
            project = _Wild(rng, reworked=reworked).project()
            check_project(project)
            resolve(project.housing, project.old_insert)
            resized = resize(project.housing, project.old_insert, project.new_insert, project.choices, project.limits)
            resolve(resized.housing, project.new_insert)
        except UserError:
            continue
        return project
    raise AssertionError


class _Wild:
    """One project in the making.

    Attributes:
        old: the insert that the housing is built around.
        twins: places and diameters of holes that there are already, for holes that repeat or touch them.
    """

    def __init__(self, rng: Random, *, reworked: bool | None) -> None:
        self.rng = rng
        self.is_ring = self.chance(0.25)
        self.is_reworked = self.chance(0.35) if reworked is None else reworked
        self.is_single = self.is_ring or self.chance(0.15)
        self.old = wild_insert(rng, is_rigid=self.is_ring)
        self.twins: list[tuple[float, float, float]] = []

    def project(self) -> Project:
        """All of it."""
        base = self.piece()
        lid = None if self.is_single else self.piece()
        studs = () if self.is_single or self.chance(0.5) else tuple(self.stud(i) for i in range(self.rng.randint(1, 3)))
        faces = Faces(self.rng.choice(list(Stop)), self.rng.choice([0.0, self.rng.uniform(5.0, 40.0)]))
        outs = tuple(self.keep_out(i) for i in range(self.rng.choice([0, 0, 1, 2])))
        housing = Housing(base, ALUMINIUM, lid, faces, studs, outs)
        return Project("wild", self.old, wild_replacement(self.rng, self.old), housing, self.choices())

    def chance(self, part: float) -> bool:
        """True in this part of the cases."""
        return self.rng.random() < part

    def piece(self) -> Piece:
        """A base or a lid with up to eight features of any kind."""
        rng = self.rng
        lip = rng.choice([rng.uniform(0.4, 3.0), rng.uniform(3.0, 10.0)])
        seat = Seat(self.gap(), self.gap(), rng.uniform(3.0, 16.0), rng.choice([0.0, 0.0, 0.5, 1.0, 2.5, 4.0]))
        height = 0.0 if self.is_ring or self.chance(0.1) else rng.choice([rng.uniform(0.5, 9.0), seat.depth])
        opening = Opening(self.held(-lip) if self.chance(0.2) else None) if self.chance(0.65) else None
        wall = rng.uniform(1.5, 12.0)
        kinds: list[Callable[[Piece, int], Feature]]
        kinds = [self.hole, self.hole, self.throat, self.twin, self.lug, self.pocket, self.band, self.rib, self.badge]
        kinds += [self.crossbar, self.crossbar] if opening is not None else []
        most = 3 if self.is_ring else 8
        bare = Piece(rng.uniform(2.0, 10.0), seat, wall, Lip(lip, height), opening)
        features = tuple(rng.choice(kinds)(bare, i) for i in range(rng.randint(0, most)))
        return Piece(
            bare.floor,
            seat,
            wall,
            bare.lip,
            opening,
            rng.choice([0.0, 1.0, 3.0]),
            features,
            held_outside=self.held(self.old.rim.width + wall) if self.chance(0.15) else None,
            earlier_seat=self.earlier(seat) if self.chance(0.1) else None,
            tight=Tight.YES if wall < 7.0 else Tight.NO,
        )

    def gap(self) -> float:
        """A seat's gap: most of them clear, some none, some pressed."""
        return self.rng.choice([0.0, -self.rng.uniform(0.0, 1.0), *[self.rng.uniform(0.1, 2.5) for _ in range(5)]])

    def held(self, beyond: float) -> HeldCurve:
        """A curve held since an earlier change: parallel to the rim of this insert, or of one of about its size."""
        rim = self.old.rim
        oval = self.old.oval if self.chance(0.5) else wild_replacement(self.rng, self.old).oval
        inward = rim.width if beyond < 0.0 else 0.0
        outward = beyond - rim.width if beyond > 0.0 else beyond
        return HeldCurve.of(oval, rim.outset - inward + outward + self.rng.uniform(-3.0, 3.0))

    def earlier(self, seat: Seat) -> EarlierSeat:
        """The seat of a casting that was machined out once already."""
        rim, rng = self.old.rim, self.rng
        oval = self.old.oval if self.chance(0.4) else wild_replacement(rng, self.old).oval
        outer = HeldCurve.of(oval, rim.outset + rng.uniform(-2.0, 3.0))
        inner = outer.inward(rim.width + rng.uniform(-1.0, 4.0))
        return EarlierSeat(outer, inner, seat.depth * rng.uniform(0.6, 1.0), rng.choice([0.0, seat.depth / 2.0]))

    def follows(self, kind: str) -> Follows:
        """Something that a feature of this kind can follow."""
        return self.rng.choice(FEATURES.get(kind, Stud).may_follow)

    def place(self, piece: Piece) -> Point:
        """Somewhere on one of the curves, where things merge: opening, lip, seat, wall, outside; or anywhere in it."""
        rim, rng = self.old.rim, self.rng
        inner = -rim.width - piece.seat.gap_inner
        outward = rng.choice(
            [
                inner - piece.lip.width,
                inner - piece.lip.width / 2.0,
                -rim.width / 2.0,
                rng.uniform(-rim.width, 0.0),
                piece.seat.gap_outer,
                piece.seat.gap_outer + piece.wall,
                rng.uniform(-self.old.width / 2.0, piece.wall + 5.0),
            ]
        )
        angle = rng.choice([rng.uniform(0.0, 2.0 * pi), rng.randrange(8) * pi / 4.0])
        x, y = self.old.length / 2.0 + outward, self.old.width / 2.0 + outward
        return x * cos(angle), y * sin(angle)

    def hole(self, piece: Piece, i: int) -> Hole:
        """A fixing hole, with or without a boss."""
        rng = self.rng
        boss = rng.choice([0.0, 0.0, rng.uniform(8.0, 24.0)])
        return self.bored(piece, i, rng.uniform(2.5, 12.0), boss)

    def throat(self, piece: Piece, i: int) -> Hole:
        """A large cored hole."""
        return self.bored(piece, i, self.rng.choice([self.rng.uniform(15.0, 45.0), self.rng.uniform(45.0, 90.0)]), 0.0)

    def bored(self, piece: Piece, i: int, diameter: float, boss: float) -> Hole:
        """A hole of a diameter, anywhere."""
        x, y = self.place(piece)
        self.twins.append((x, y, diameter))
        height = self.rng.choice([0.0, piece.floor, self.rng.uniform(2.0, 12.0)])
        made = self.rng.choice(list(Made))
        return Hole(f"hole {i}", x, y, diameter, made, boss, height, self.follows("hole"))

    def twin(self, piece: Piece, i: int) -> Hole:
        """A hole that repeats one that there is, touches it, or runs into it."""
        if not self.twins:
            return self.hole(piece, i)
        x, y, diameter = self.rng.choice(self.twins)
        away, angle = (
            self.rng.choice([0.0, 1.0, self.rng.uniform(0.5, 1.3)]) * diameter,
            self.rng.uniform(0.0, 2.0 * pi),
        )
        return Hole(f"twin {i}", x + away * cos(angle), y + away * sin(angle), diameter, follows=self.follows("hole"))

    def lug(self, piece: Piece, i: int) -> Lug:
        """An ear near the outside, or half in it."""
        rng = self.rng
        pad, angle = rng.uniform(10.0, 30.0), rng.uniform(0.0, 2.0 * pi)
        beyond = piece.seat.gap_outer + piece.wall + rng.uniform(-pad / 2.0, pad)
        x, y = (self.old.length / 2.0 + beyond) * cos(angle), (self.old.width / 2.0 + beyond) * sin(angle)
        hole, neck = pad * rng.uniform(0.2, 0.7), pad * rng.uniform(0.4, 1.0)
        height, fillet = min(rng.uniform(3.0, 14.0), piece.thickness), rng.choice([0.0, 0.0, 3.0])
        return Lug(f"lug {i}", x, y, pad, hole, neck, height, rng.choice(list(Made)), fillet, self.follows("lug"))

    def pocket(self, piece: Piece, i: int) -> Pocket:
        """A relief that leaves a wide lip, a thin one, or none."""
        rng = self.rng
        inset = rng.choice([piece.lip.width, rng.uniform(0.2, 3.0), rng.uniform(3.0, 12.0)])
        held = self.held(-inset) if self.chance(0.2) else None
        return Pocket(f"pocket {i}", inset, piece.floor * rng.uniform(0.3, 1.2), self.follows("pocket"), held)

    def band(self, piece: Piece, i: int) -> Band:
        """A raised band, flush with the outside or within it."""
        rng = self.rng
        inset, width = rng.choice([0.0, rng.uniform(0.0, 6.0)]), rng.uniform(1.0, 8.0)
        held = self.held(self.old.rim.width + piece.wall - inset) if self.chance(0.2) else None
        return Band(f"band {i}", inset, width, rng.uniform(0.5, 4.0), self.follows("band"), held)

    def rib(self, piece: Piece, i: int) -> Rib:
        """A raised rib, some past the middle of nowhere."""
        rng = self.rng
        offset = rng.choice([0.0, rng.uniform(-0.5, 0.5) * self.old.width])
        inset = rng.choice([0.0, piece.wall, rng.uniform(0.0, 8.0)])
        angle = self.angle()
        return Rib(f"rib {i}", angle, offset, rng.uniform(1.5, 10.0), rng.uniform(0.5, 4.0), inset, self.follows("rib"))

    def crossbar(self, piece: Piece, i: int) -> Crossbar:
        """A bar across the opening, along its edge, or past it."""
        rng = self.rng
        offset, height = rng.choice([0.0, rng.uniform(-0.5, 0.5) * self.old.width]), rng.uniform(2.0, piece.thickness)
        return Crossbar(f"bar {i}", self.angle(), offset, rng.uniform(2.0, 30.0), height, self.follows("crossbar"))

    def badge(self, piece: Piece, i: int) -> Badge:
        """A pad in the middle, or one that reaches into the seat."""
        rng = self.rng
        x, y = (0.0, 0.0) if self.chance(0.6) else self.place(piece)
        width = self.old.width * rng.uniform(0.1, 0.6)
        length = rng.choice([width, width * rng.uniform(1.0, 2.0)])
        return Badge(f"badge {i}", length, width, rng.choice([0.0, 1.0, 3.0]), x, y, self.follows("badge"))

    def angle(self) -> float:
        """Of a bar or a rib [degrees]."""
        return self.rng.choice([0.0, 90.0, self.rng.uniform(-180.0, 180.0)])

    def stud(self, i: int) -> Stud:
        """A clamp stud inside, in the wall, or beside the housing."""
        rng, old = self.rng, self.old
        part, angle = rng.choice([0.0, rng.uniform(0.0, 0.8), rng.uniform(0.8, 1.3)]), rng.uniform(0.0, 2.0 * pi)
        x, y = part * old.length / 2.0 * cos(angle), part * old.width / 2.0 * sin(angle)
        thread, boss = rng.choice(list(Thread)), rng.uniform(8.0, 30.0)
        length, follows = rng.choice([30.0, 60.0, 70.0, 77.0]), self.follows("stud")
        more = Random(f"{x}")  # noqa: S311 - of its own, so that all other projects stay what they were
        depth = more.choice([None, more.uniform(3.0, 20.0)])
        return Stud(f"stud {i}", x, y, thread, length, boss, follows, more.choice(list(StudKind)), depth)

    def keep_out(self, i: int) -> KeepOut:
        """A neighbour near the outside."""
        rng, angle = self.rng, self.rng.uniform(0.0, 2.0 * pi)
        reach = hypot(self.old.length, self.old.width) / 2.0 * rng.uniform(0.8, 1.3)
        x, y = reach * cos(angle), reach * sin(angle)
        return KeepOut(f"neighbour {i}", x, y, rng.uniform(10.0, 60.0), rng.uniform(10.0, 60.0), self.angle())

    def choices(self) -> Choices:
        """What is held, where the height goes, and what is typed over."""
        rng = self.rng
        takers = [HeightTo.BASE, HeightTo.SQUEEZE] if self.is_single else list(HeightTo)
        return Choices(
            Mode.REWORK if self.is_reworked else Mode.NEW_PATTERN,
            rng.choice(list(Hold)),
            rng.choice(list(HoldInside)),
            rng.choice(takers),
            rng.choice([None, None, self.gap()]),
            rng.choice([None, None, self.gap()]),
            rng.choice([None, None, None, rng.uniform(1.5, 12.0)]),
            rng.choice([None, None, None, rng.uniform(0.4, 10.0)]),
        )
