"""Random but sensible housings for the property tests, and the yardsticks that measure the result."""

from __future__ import annotations

from typing import TYPE_CHECKING

from hypothesis import strategies as st

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
from core.geometry.ovals.ovals import SIZED_FAMILIES, Family
from core.new.part import ALUMINIUM
from core.part.housing import Faces, Housing, Lip, Opening, Piece, Seat, Stop
from core.part.insert import Insert, Rim
from core.part.materials import Material
from core.part.project import Choices, HeightTo, Hold, HoldInside, Limits, Mode, Project

if TYPE_CHECKING:
    from hypothesis.strategies import DrawFn, SearchStrategy

    from core.features.registry import Feature

LIMITS = Limits()


@st.composite
def inserts(draw: DrawFn, around: Insert | None = None) -> Insert:
    """An insert; a replacement of the same sort of size as ``around`` when one is given, of any family."""
    family = draw(st.sampled_from(SIZED_FAMILIES))
    length = draw(st.floats(120.0, 320.0)) if around is None else around.length + draw(st.floats(-9.0, 9.0))
    ratio = draw(st.floats(0.5, 0.95))
    width = length * ratio if around is None else min(around.width + draw(st.floats(-9.0, 9.0)), 0.97 * length)
    if family is Family.CIRCLE:
        width = length
    end_radius = None
    if family is Family.ROUNDED_RECTANGLE:
        end_radius = draw(st.floats(0.42, 0.49)) * width
    rim = Rim(draw(st.floats(4.0, 16.0)), draw(st.floats(5.0, 12.0)), draw(st.sampled_from([0.0, 0.0, -0.5])))
    lid_rim = draw(st.none() | st.just(Rim(rim.width + 1.0, rim.thickness, 0.25)))
    height = draw(st.floats(30.0, 80.0)) if around is None else around.height + draw(st.floats(-4.0, 4.0))
    kind = draw(st.sampled_from([Material.RIGID, Material.FOAM, Material.SOFT_RUBBER, Material.NOT_STATED]))
    exponent = draw(st.floats(2.1, 3.5)) if family is Family.SUPERELLIPSE else None
    return Insert("insert", family, length, width, rim, height, kind, end_radius, exponent, lid_rim)


@st.composite
def pieces(draw: DrawFn, insert: Insert) -> Piece:
    """A piece with one feature of each kind that it can have."""
    lip = draw(st.floats(2.0, 5.0))
    seat = Seat(draw(st.floats(0.2, 1.2)), draw(st.floats(0.2, 1.2)), draw(st.floats(6.0, 14.0)))
    a, b = insert.length / 2.0, insert.width / 2.0
    features: list[Feature] = [
        Lug("ear", a + 20.0, 0.0, 20.0, 7.0, 14.0, 8.0, follows=draw(st.sampled_from([Follows.OUTSIDE, Follows.SEAT]))),
        Lug("fixed ear", 0.0, -(b + 24.0), 20.0, 7.0, 14.0, 8.0, follows=Follows.MACHINE),
        Hole("screw", 0.0, b + 9.0, 4.0, Made.DRILLED, follows=draw(st.sampled_from([Follows.SEAT, Follows.OUTSIDE]))),
        Band("band", draw(st.floats(2.0, 4.0)), 3.0, 1.5),
    ]
    has_opening = draw(st.booleans())
    if has_opening:
        features += [
            Crossbar("bar", 90.0, draw(st.floats(-0.2, 0.2)) * a, 7.0, 8.0),
            Crossbar("long bar", 0.0, draw(st.floats(-0.2, 0.2)) * b, 6.0, 8.0),
            Badge("badge", 0.3 * a, 0.25 * b, 1.0),
        ]
    else:
        features += [
            Pocket("pocket", lip, 3.0),
            Hole("throat", 0.2 * a, 0.1 * b, 0.3 * b, Made.CORED, follows=Follows.MACHINE),
            Hole("middle", 0.0, -0.1 * b, 5.0, Made.CORED, follows=Follows.CENTRE),
            Rib("rib", 90.0, draw(st.floats(-0.3, 0.3)) * a, 4.0, 1.5, 5.0),
        ]
    return Piece(
        floor=draw(st.floats(5.0, 9.0)),
        seat=seat,
        wall=draw(st.floats(5.0, 12.0)),
        lip=Lip(lip, draw(st.floats(2.0, 6.0))),
        opening=Opening() if has_opening else None,
        features=tuple(features),
    )


@st.composite
def projects(draw: DrawFn) -> Project:
    """A whole project."""
    old = draw(inserts())
    new = draw(inserts(old))
    studs = (Stud("stud", old.length / 2.0 * 0.8 + 30.0, old.width / 2.0 + 16.0, Thread.M6, 70.0, 16.0),)
    housing = Housing(
        base=draw(pieces(old)),
        lid=draw(pieces(old)),
        metal=ALUMINIUM,
        faces=Faces(Stop.SPACER, draw(st.floats(12.0, 40.0))),
        studs=studs,
    )
    return Project("random", old, new, housing, draw(choices()))


def choices() -> SearchStrategy[Choices]:
    """What is held, in a new pattern."""
    return st.builds(
        Choices,
        mode=st.just(Mode.NEW_PATTERN),
        hold=st.sampled_from(list(Hold)),
        hold_inside=st.sampled_from(list(HoldInside)),
        height_to=st.sampled_from(list(HeightTo)),
    )
