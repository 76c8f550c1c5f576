"""Sample housings for the checks: simple enough for elementary formulas, and one with everything in it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from core.features.badge import Badge
from core.features.band import Band
from core.features.crossbar import Crossbar
from core.features.ground import Made
from core.features.hole import Hole
from core.features.lug import Lug
from core.features.pocket import Pocket
from core.features.rib import Rib
from core.features.stud.stud import Stud
from core.features.stud.threads import Thread
from core.fit.case import Case
from core.fit.gaps import gap_profiles
from core.geometry.ovals.ovals import Family
from core.metal.slabs import resolve
from core.part.housing import Faces, Housing, KeepOut, Lip, Metal, Opening, Piece, Seat, Stop
from core.part.insert import Insert, Rim
from core.part.materials import Material
from core.part.project import Choices, Project
from core.resize.resize import resize

if TYPE_CHECKING:
    from collections.abc import Callable

ALUMINIUM = Metal("aluminium", density=2.7, least_section=3.0)


def _case(project: Project) -> Case:
    resized = resize(project.housing, project.old_insert, project.new_insert, project.choices, project.limits)
    after = resolve(resized.housing, project.new_insert)
    before = resolve(project.housing, project.old_insert)
    return Case(project, before, after, gap_profiles(after, after))


@pytest.fixture(scope="session")
def case_of() -> Callable[[Project], Case]:
    """What `evaluate` hands to the checks."""
    return _case


@pytest.fixture(scope="session")
def round_project() -> Project:
    """A round insert, 100 over a rim 10 wide, between a base with an opening and a lid; no features at all."""
    rim = Rim(width=10.0, thickness=10.0)
    insert = Insert("round", Family.CIRCLE, 100.0, 100.0, rim, height=40.0)
    seat = Seat(gap_outer=0.8, gap_inner=0.8, depth=12.0)
    base = Piece(floor=6.0, seat=seat, wall=6.0, lip=Lip(6.0, 6.0), opening=Opening())
    lid = Piece(floor=6.0, seat=seat, wall=6.0, lip=Lip(6.0, 6.0))
    faces = Faces(Stop.SPACER, 12.5)  # closed height 36.5, squeeze 3.5 of 20
    housing = Housing(base=base, lid=lid, metal=ALUMINIUM, faces=faces)
    return Project("Round", insert, insert, housing)


@pytest.fixture(scope="session")
def ring_project() -> Project:
    """A single ring round a rigid ellipse."""
    insert = Insert("glass", Family.ELLIPSE, 150.0, 100.0, Rim(9.0, 5.0), 5.0, material=Material.RIGID)
    seat = Seat(gap_outer=0.6, gap_inner=0.6, depth=5.0)
    base = Piece(floor=6.0, seat=seat, wall=9.0, lip=Lip(5.0, 0.0), opening=Opening())
    return Project("Ring", insert, insert, Housing(base=base, metal=ALUMINIUM))


@pytest.fixture(scope="session")
def intake_project() -> Project:
    """Base and lid round an obround insert, with every kind of feature; the new insert is a little larger."""
    seat = Seat(gap_outer=0.8, gap_inner=0.8, depth=20.0, corner_radius=1.0)
    lugs = tuple(
        Lug(f"lug {i + 1}", x, y, pad=24.0, hole=6.6, neck=18.0, height=12.0, fillet=4.0)
        for i, (x, y) in enumerate([(95.0, 72.0), (-95.0, 72.0), (-95.0, -72.0), (95.0, -72.0)])
    )
    base = Piece(
        floor=7.0,
        seat=seat,
        wall=8.0,
        lip=Lip(7.0, 8.0),
        opening=Opening(),
        features=(
            *lugs,
            Crossbar("left bar", angle=90.0, offset=32.0, width=14.0, height=7.0),
            Crossbar("right bar", angle=90.0, offset=-32.0, width=14.0, height=7.0),
            Badge("badge", 50.0, 24.0, 1.0),
            Crossbar("long bar", angle=0.0, offset=0.0, width=12.0, height=7.0),
        ),
    )
    lid = Piece(
        floor=6.0,
        seat=seat,
        wall=8.0,
        lip=Lip(7.0, 8.0),
        features=(
            Pocket("relief", inset=12.0, floor=5.0),
            Band("band", inset=4.0, width=6.0, height=2.0),
            Rib("rib", 0.0, 20.0, 6.0, 2.0, 4.0),
            Hole("left throat", -62.0, 0.0, 24.0),
            Hole("right throat", 62.0, 0.0, 24.0),
            Hole("sight hole", 0.0, -20.0, 8.0, Made.DRILLED, 28.0, 9.0),
        ),
    )
    housing = Housing(
        base=base,
        lid=lid,
        metal=ALUMINIUM,
        faces=Faces(Stop.SPACER, 14.0),  # closed height 54, squeeze 4 of 24
        studs=(
            Stud("left stud", -32.0, 0.0, Thread.M6, 70.0, 22.0),
            Stud("right stud", 32.0, 0.0, Thread.M6, 70.0, 22.0),
        ),
        keep_outs=(KeepOut("pipe", 0.0, 110.0, 60.0, 40.0), KeepOut("bracket", -140.0, 0.0, 20.0, 60.0, 15.0)),
    )
    old = Insert("old", Family.OBROUND, 212.0, 134.0, Rim(14.0, 12.0), 58.0)
    new = Insert("new", Family.OBROUND, 219.2, 139.6, Rim(15.0, 12.0), 61.5)
    return Project("Intake", old, new, housing, Choices())
