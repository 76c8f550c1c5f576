"""What the tests of the written files share: our own invented housings, resized once a family."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

import pytest
from msgspec.structs import replace

from core.evaluate import Result, evaluate
from core.features.badge import Badge
from core.features.band import Band
from core.features.crossbar import Crossbar
from core.features.ground import Made
from core.features.hole import Hole
from core.features.kind import Follows
from core.features.lug import Lug
from core.features.pocket import Pocket
from core.features.rib import Rib
from core.features.stud.stud import Stud
from core.features.stud.threads import Thread
from core.geometry.ovals.ovals import Family
from core.part.housing import Housing, KeepOut, Lip, Metal, Opening, Piece, Seat
from core.part.insert import Insert, Rim
from core.part.materials import Material
from core.part.project import Choices, Mode, Project

if TYPE_CHECKING:
    from collections.abc import Callable

_SEAT = Seat(gap_outer=0.8, gap_inner=0.9, depth=24.0, corner_radius=1.0)


def _two_pieces(family: Family) -> Project:
    base = Piece(
        floor=6.0,
        seat=_SEAT,
        wall=8.0,
        lip=Lip(width=6.0, height=4.0),
        opening=Opening(),
        features=(
            Crossbar("long bar", angle=0.0, offset=0.0, width=10.0, height=6.0),
            Crossbar("cross bar", angle=90.0, offset=0.0, width=12.0, height=6.0),
            Hole("throat", x=-30.0, y=0.0, diameter=20.0, boss=34.0, boss_height=9.0),
            Lug("right lug", x=130.0, y=10.0, pad=26.0, hole=8.5, neck=14.0, height=9.0, fillet=5.0),
            Lug("left lug", x=-130.0, y=10.0, pad=26.0, hole=8.5, neck=14.0, height=9.0, made=Made.CORED),
        ),
    )
    lid = Piece(
        floor=5.0,
        seat=replace(_SEAT, depth=22.0),
        wall=8.0,
        lip=Lip(width=6.0, height=4.0),
        features=(
            Pocket("relief", inset=12.0, floor=4.0),
            Band("rim band", inset=3.0, width=6.0, height=2.0),
            Rib("left rib", angle=90.0, offset=50.0, width=6.0, height=2.0, inset=14.0),
            Badge("badge", length=60.0, width=30.0, height=1.5),
        ),
    )
    return Project(
        name="Test housing",
        old_insert=Insert("old one", family, 212.0, 134.0, Rim(14.0, 14.0), 50.0),
        new_insert=Insert("new one", family, 219.2, 139.6, Rim(15.0, 15.0), 53.0),
        housing=Housing(
            base=base,
            metal=Metal("aluminium", density=2.7, least_section=4.0),
            lid=lid,
            studs=(
                Stud("left stud", -60.0, 0.0, Thread.M6, 60.0, 22.0),
                Stud("right stud", 60.0, 0.0, Thread.M6, 60.0, 22.0),
            ),
            keep_outs=(KeepOut("pipe <A>", 0.0, 120.0, 40.0, 20.0, 30.0),),
        ),
        notes="cast in sand | öl",
    )


def _one_ring() -> Project:
    ring = Piece(
        floor=5.0,
        seat=Seat(gap_outer=0.6, gap_inner=0.6, depth=7.0),
        wall=6.0,
        lip=Lip(width=4.0, height=3.0),
        opening=Opening(),
        features=(Hole("dowel", x=0.0, y=-62.6, diameter=2.5, made=Made.DRILLED, follows=Follows.OUTSIDE),),
    )
    return Project(
        name="Lens ring",
        old_insert=Insert("old glass", Family.ELLIPSE, 150.0, 118.0, Rim(9.0, 6.0), 6.0, material=Material.RIGID),
        new_insert=Insert("new glass", Family.ELLIPSE, 151.6, 119.0, Rim(9.5, 6.0), 6.0, material=Material.RIGID),
        housing=Housing(base=ring, metal=Metal("bronze", density=8.8, least_section=3.0)),
    )


@cache
def _evaluated(family: Family | None, mode: Mode) -> Result:
    project = _one_ring() if family is None else _two_pieces(family)
    return evaluate(replace(project, choices=Choices(mode=mode)))


@pytest.fixture(scope="session")
def project_of() -> Callable[[Family], Project]:
    """A two-piece housing around an insert of the family."""
    return _two_pieces


@pytest.fixture(scope="session")
def result_of() -> Callable[[Family], Result]:
    """What follows from the two-piece housing of a family."""
    return lambda family: _evaluated(family, Mode.NEW_PATTERN)


@pytest.fixture(scope="session")
def result() -> Result:
    """The two-piece housing around an obround insert."""
    return _evaluated(Family.OBROUND, Mode.NEW_PATTERN)


@pytest.fixture(scope="session")
def reworked() -> Result:
    """The same, with castings from the shelf reworked."""
    return _evaluated(Family.OBROUND, Mode.REWORK)


@pytest.fixture(scope="session")
def lens_ring() -> Result:
    """One ring around a rigid ellipse."""
    return _evaluated(None, Mode.NEW_PATTERN)
