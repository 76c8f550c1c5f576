"""What the tests of the project, its file and its edits share."""

from __future__ import annotations

import pytest

from core.features.band import Band
from core.features.crossbar import Crossbar
from core.features.hole import Hole
from core.features.lug import Lug
from core.features.stud.stud import Stud
from core.features.stud.threads import Thread
from core.geometry.ovals.ovals import Family
from core.part.housing import Housing, KeepOut, Lip, Metal, Opening, Piece, Seat
from core.part.insert import Insert, Rim
from core.part.project import Project


@pytest.fixture(scope="session")
def small_project() -> Project:
    """An obround insert between a base and a lid, a few features in each; immutable, so one serves all tests."""
    seat = Seat(gap_outer=0.8, gap_inner=0.9, depth=12.0, corner_radius=1.0)
    base = Piece(
        floor=6.0,
        seat=seat,
        wall=8.0,
        lip=Lip(width=6.0, height=4.0),
        opening=Opening(),
        features=(
            Crossbar("long bar", angle=0.0, offset=0.0, width=10.0, height=6.0),
            Hole("throat", x=-30.0, y=0.0, diameter=20.0, boss=34.0, boss_height=9.0),
        ),
    )
    lid = Piece(
        floor=5.0,
        seat=seat,
        wall=8.0,
        lip=Lip(width=6.0, height=4.0),
        features=(
            Lug("left lug", x=-125.0, y=10.0, pad=22.0, hole=8.5, neck=14.0, height=9.0),
            Lug("right lug", x=125.0, y=10.0, pad=22.0, hole=8.5, neck=14.0, height=9.0),
            Band("rim band", inset=3.0, width=6.0, height=2.0),
        ),
    )
    return Project(
        name="Test housing",
        old_insert=Insert("old", Family.OBROUND, 212.0, 134.0, Rim(14.0, 10.0), 58.0),
        new_insert=Insert("new", Family.OBROUND, 219.2, 139.6, Rim(15.0, 10.5), 61.5),
        housing=Housing(
            base=base,
            metal=Metal("aluminium", density=2.7, least_section=4.0),
            lid=lid,
            studs=(
                Stud("left stud", -60.0, 0.0, Thread.M6, 90.0, 16.0),
                Stud("right", 60.0, 0.0, Thread.M6, 90.0, 16.0),
            ),
            keep_outs=(KeepOut("pipe", 0.0, 120.0, 40.0, 20.0),),
        ),
        notes="cast in sand — öl",
    )
