"""Bearing widths by elementary formulas for circles, and by brute force: dense samples of the pushed rim."""

from __future__ import annotations

from math import cos, hypot, pi, radians, sin
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from shapely import intersection, length, linestrings, prepare
from shapely.affinity import translate
from shapely.geometry import LineString, Polygon
from shapely.ops import unary_union

from core.features.hole import Hole
from core.features.kind import Follows
from core.fit.checks.bearing import check
from core.fit.seat.floor import seat_floor
from core.fit.seat.ring import Ring
from core.fit.seat.spans import Spans
from core.geometry.lines.outline import Outline, circle_outline
from core.geometry.ovals.ovals import Family
from core.geometry.regions.region import Region
from core.part.curve import HeldCurve
from core.part.housing import EarlierSeat, Lip, Opening
from core.part.materials import Material
from core.part.project import Choices, HoldInside, Mode
from core.words.lengths import Style, shower
from core.words.verdicts import Finding, Verdict
from tests.support.remedied import done, found, tried

if TYPE_CHECKING:
    from collections.abc import Callable

    from core.features.registry import Feature
    from core.fit.case import Case
    from core.geometry.lines.outline import FloatArray
    from core.part.housing import Piece
    from core.part.project import Project

    CaseOf = Callable[[Project], Case]

MM, INCH = shower(Style.MM), shower(Style.INCH)


def with_base(project: Project, **changes: object) -> Project:
    return replace(project, housing=replace(project.housing, base=replace(project.housing.base, **changes)))


def with_seat(project: Project, **changes: object) -> Project:
    return with_base(project, seat=replace(project.housing.base.seat, **changes))


def of_base(case: Case) -> tuple[Finding, Finding, Finding]:
    pushed, centred, area = check(case)[:3]
    assert pushed.name == "narrowest bearing, pushed over, base"
    assert centred.name == "narrowest bearing, centred, base"
    assert area.name == "bearing area, base"
    return pushed, centred, area


def travel(finding: Finding) -> float:
    return dict(finding.advice.lengths)["travel"]


def test_on_a_whole_floor_the_bearing_is_the_rim(round_project: Project, case_of: CaseOf) -> None:
    pushed, centred, area = of_base(case_of(round_project))
    assert [pushed.value, centred.value] == pytest.approx([10.0, 10.0])
    assert area.value == pytest.approx(pi * (50.0**2 - 40.0**2), rel=1e-12)
    assert travel(pushed) == pytest.approx(0.8)
    assert "pushed 0.80 mm to any side" in pushed.advice.show(MM)
    assert "mm" not in pushed.advice.show(INCH) + pushed.formula.show(INCH) + area.formula.show(INCH)


@pytest.mark.parametrize(
    ("outer", "inner", "fillet"),
    [(0.8, 0.8, 1.0), (0.5, 1.2, 1.5), (1.2, 0.5, 1.5), (0.8, 0.8, 3.0), (0.4, 2.0, 0.3), (0.0, 0.7, 0.5)],
)
def test_fillets_take_what_the_rim_reaches_over_them(
    round_project: Project, case_of: CaseOf, outer: float, inner: float, fillet: float
) -> None:
    pushed, centred, area = of_base(
        case_of(with_seat(round_project, gap_outer=outer, gap_inner=inner, corner_radius=fillet))
    )
    t = min(outer, inner)

    def past(gap: float) -> float:
        return max(0.0, fillet - gap)

    assert travel(pushed) == pytest.approx(t, abs=1e-9)
    assert centred.value == pytest.approx(10.0 - past(outer) - past(inner), abs=1e-9)
    # Towards the push the outer gap closes and the inner one opens; away from it the other way round.
    towards = past(outer - t) + past(inner + t)
    away = past(outer + t) + past(inner - t)
    assert pushed.value == pytest.approx(10.0 - max(towards, away), abs=1e-6)
    assert area.value == pytest.approx(pi * ((50.0 - past(outer)) ** 2 - (40.0 + past(inner)) ** 2), rel=1e-9)


def test_interference_takes_bearing_and_leaves_no_travel(round_project: Project, case_of: CaseOf) -> None:
    pushed, centred, _ = of_base(case_of(with_seat(round_project, gap_outer=-0.5)))
    assert [pushed.value, centred.value] == pytest.approx([9.5, 9.5])
    assert travel(pushed) == pytest.approx(0.0, abs=1e-6)
    assert "though the insert can't move" in pushed.advice.show(MM)


def test_without_a_lip_the_opening_ends_the_floor_and_the_outer_wall_the_travel(
    round_project: Project, case_of: CaseOf
) -> None:
    project = with_seat(with_base(round_project, lip=Lip(0.5, 0.0)), gap_outer=2.0, gap_inner=0.2)
    pushed, centred, area = of_base(case_of(project))
    assert travel(pushed) == pytest.approx(2.0)
    assert centred.value == pytest.approx(10.0)  # the floor begins 0.7 inside the rim
    assert pushed.value == pytest.approx(10.0 - (2.0 - 0.7), abs=1e-6)
    assert area.value == pytest.approx(pi * (50.0**2 - 40.0**2), rel=1e-6)


@pytest.mark.parametrize("degrees", [0.0, 33.0, 140.0, 251.0])
def test_the_worst_direction_is_found_where_a_hole_lies_just_inside_the_rim(
    round_project: Project, case_of: CaseOf, degrees: float
) -> None:
    # A hole of 3, its centre 39.7 from the middle: the lip's edge, which the rim comes over when pushed across.
    at = (38.0 * cos(radians(degrees)), 38.0 * sin(radians(degrees)))
    hole = Hole("drain", *at, 3.0)
    project = with_seat(with_base(round_project, features=(hole,)), gap_outer=1.0, gap_inner=1.0)
    pushed, centred, _ = of_base(case_of(project))
    assert centred.value == pytest.approx(10.0)  # the hole ends at 39.5, the rim begins at 40
    assert pushed.value == pytest.approx(10.0 - 0.5, abs=2e-3)  # the rim's edge comes to 39
    worst = round(degrees + 180.0) % 360
    assert f"({worst}°)" in pushed.advice.show(MM)
    assert pushed.place.point is not None
    assert hypot(*pushed.place.point) == pytest.approx(49.0, abs=1e-3)


def test_a_hole_in_the_floor_is_named_with_its_path(round_project: Project, case_of: CaseOf) -> None:
    project = with_base(round_project, features=(Hole("drain {1}", 45.0, 0.0, 7.0),))
    pushed, centred, area = of_base(case_of(project))
    assert centred.value == pytest.approx(3.0, abs=1e-3)
    assert pushed.value == pytest.approx(3.0, abs=1e-3)
    assert pushed.verdict is Verdict.NO_GO
    assert pushed.place.path == "housing.base.features[0]"
    said = tried(project, pushed.name)
    assert "since the machine fixes drain {1}" in said.advice.show(MM)
    assert area.value == pytest.approx(pi * (50.0**2 - 40.0**2) - pi * 3.5**2, rel=5e-4)


@pytest.mark.parametrize(
    ("x", "towards", "least"), [(41.0, "towards the left (180°)", 2.5), (48.0, "towards the right (0°)", 3.5)]
)
def test_a_hole_in_the_floor_that_is_free_to_move_goes_the_shorter_way_and_far_enough(
    round_project: Project, x: float, towards: str, least: float
) -> None:
    # A floor without a lip; the rim lies from 40 to 50, a hole of 7 may leave 8 of it. Of a hole at 48 the wall's metal
    # takes the rest, once it has been moved past the wall at 50.8 altogether.
    hole = Hole("drain", x, 0.0, 7.0, follows=Follows.CENTRE)
    project = with_base(round_project, features=(hole,), lip=Lip(6.0, 0.0), opening=None, wall=20.0)
    project = replace(project, limits=replace(project.limits, bearing_least=8.0, hole_edge=0.1, web_least=0.1))
    said = tried(project, "narrowest bearing, centred, base")
    move = next(remedy for remedy in said.remedies if remedy.text.startswith("move drain"))
    assert towards in move.text
    assert move.by >= least - 1e-9
    mended = done(project, move)
    assert found(mended, said.name).verdict is not Verdict.NO_GO


def test_advice_for_fillet_narrow_rim_and_interference(round_project: Project, case_of: CaseOf) -> None:
    sharp = with_seat(round_project, corner_radius=7.0)
    wide = of_base(case_of(sharp))[0]
    assert wide.verdict is Verdict.NO_GO
    assert wide.place.path == "housing.base.seat.corner_radius"
    said = tried(sharp, wide.name)
    assert "make the seat's corner radius" in said.advice.show(MM)
    assert found(done(sharp, said.remedies[0]), wide.name).verdict is not Verdict.NO_GO
    narrow = replace(round_project, limits=replace(round_project.limits, bearing_least=12.0))
    finding = of_base(case_of(narrow))[1]
    assert finding.place.path == "limits.bearing_least"
    assert "the rim itself is no wider" in tried(narrow, finding.name).advice.show(MM)
    tight = with_seat(replace(round_project, limits=replace(round_project.limits, bearing_least=9.8)), gap_outer=-0.5)
    assert of_base(case_of(tight))[1].place.path == "choices.gap_outer"


@pytest.mark.parametrize(("limit", "verdict"), [(9.0, Verdict.GO), (9.5, Verdict.MARGINAL), (10.1, Verdict.NO_GO)])
def test_verdicts(round_project: Project, case_of: CaseOf, limit: float, verdict: Verdict) -> None:
    project = replace(round_project, limits=replace(round_project.limits, bearing_least=limit))
    assert of_base(case_of(project))[0].verdict is verdict


def reworked(project: Project, **new: object) -> Project:
    insert = replace(project.new_insert, **new)
    return replace(project, new_insert=insert, choices=Choices(mode=Mode.REWORK))


def test_an_old_seat_that_is_wider_lets_the_rim_go_further(round_project: Project, case_of: CaseOf) -> None:
    # The old seat reaches to 50.8, the new rim to 49; the inner wall, machined from 40.0 - 0.8 to 38.2, guides it.
    pushed, _, _ = of_base(case_of(reworked(round_project, length=98.0, width=98.0)))
    assert travel(pushed) == pytest.approx(0.8, abs=1e-6)


def test_without_a_lip_a_boss_that_is_higher_than_the_floor_stops_the_rim(
    round_project: Project, case_of: CaseOf
) -> None:
    # The rim's inner edge is at 40, the boss reaches to 39, the outer gap is 2.
    boss = Hole("post", 30.0, 0.0, 4.0, boss=18.0, boss_height=10.0)
    project = with_seat(with_base(round_project, features=(boss,), lip=Lip(6.0, 0.0), opening=None), gap_outer=2.0)
    case = case_of(project)
    ring = Ring(case.insert, case.after.base, seat_floor(case.after.base, case.housing.base))
    assert ring._travel(pi) == pytest.approx(1.0, abs=1e-2)
    assert ring._travel(0.0) == pytest.approx(2.0, abs=1e-6)
    assert not ring.is_even


# --- brute force -------------------------------------------------------------------------------------------------


def polygon(outline: Outline) -> Polygon:
    return Polygon(outline.chords(5e-4))


def brute_force(case: Case, piece: Piece, directions: int) -> float:
    """The narrowest bearing over all directions, from polygons and nothing of the check's own."""
    resolved = case.after.base
    c = resolved.curves
    rim_out, rim_in = polygon(c.rim_outer), polygon(c.rim_inner)
    wall_out, wall_in = polygon(c.seat_outer), polygon(c.seat_inner)
    below = resolved.region_at(resolved.floor - 1e-6)
    assert below is not None
    fillet = piece.seat.corner_radius
    guided = piece.lip.height > 0.0
    floor = wall_out.buffer(-fillet, quad_segs=90)
    if guided:
        floor = floor.difference(wall_in.buffer(fillet, quad_segs=90))
    floor = floor.difference(unary_union([polygon(loop.reversed()) for loop in below.loops if loop.area < 0.0]))
    room, post = wall_out.buffer(1e-3), wall_in.buffer(-1e-3)
    prepare(room)
    prepare(floor)
    stations = np.arange(300) / 300.0 * c.rim_outer.length
    outside, normals = c.rim_outer.points_at(stations), c.rim_outer.normals_at(stations)
    inside = outside - case.insert.rim.width * normals
    worst = np.inf
    for angle in np.arange(directions) * (2.0 * pi / directions):
        d = np.array([cos(angle), sin(angle)])
        low, high = 0.0, 4.0
        while high - low > 1e-3:
            t = (low + high) / 2.0
            clear = room.contains(translate(rim_out, *(t * d)))
            clear = clear and (not guided or translate(rim_in, *(t * d)).contains(post))
            low, high = (t, high) if clear else (low, t)
        lines = linestrings(np.stack((outside, inside), axis=1) + low * d)
        worst = min(worst, float(length(intersection(lines, floor)).min()))
    return worst


@pytest.mark.parametrize("family", [Family.OBROUND, Family.ELLIPSE, Family.FOUR_ARC])
@pytest.mark.parametrize(
    ("seat", "lip", "features"),
    [
        pytest.param((0.8, 0.6, 1.5), Lip(6.0, 6.0), (), id="fillets"),
        pytest.param((1.5, 2.5, 0.0), Lip(0.8, 0.0), (), id="no lip, opening near"),
        pytest.param((1.5, 1.0, 1.2), Lip(6.0, 6.0), (Hole("drain", 10.0, 38.5, 4.0),), id="hole at the inner edge"),
        pytest.param((1.5, 1.0, 1.2), Lip(6.0, 6.0), (Hole("drain", 52.0, 31.0, 5.0),), id="hole in the floor"),
    ],
)
def test_against_brute_force(
    round_project: Project,
    case_of: CaseOf,
    family: Family,
    seat: tuple[float, float, float],
    lip: Lip,
    features: tuple[Feature, ...],
) -> None:
    insert = replace(round_project.new_insert, family=family, length=150.0, width=100.0, material=Material.RIGID)
    project = with_seat(
        with_base(replace(round_project, old_insert=insert, new_insert=insert), lip=lip, features=features),
        gap_outer=seat[0],
        gap_inner=seat[1],
        corner_radius=seat[2],
    )
    case = case_of(project)
    piece = case.housing.base
    value = of_base(case)[0].value
    found = brute_force(case, piece, 16)
    # The check must be as low as any of the tried directions; it may find a worse one between them.
    assert value <= found + 0.02
    assert value >= found - 0.12


def test_a_wall_that_is_not_parallel_is_measured_on_the_curves(round_project: Project, case_of: CaseOf) -> None:
    # A seat from the shelf with another oval, wider than the new one everywhere but at the ends.
    insert = replace(round_project.new_insert, family=Family.OBROUND, length=150.0, width=100.0)
    project = with_seat(replace(round_project, old_insert=insert, new_insert=insert), corner_radius=1.0)
    oval = insert.oval
    wider = HeldCurve(Family.ELLIPSE, 152.0, 108.0, 0.0)
    earlier = EarlierSeat(wider, HeldCurve.of(oval, -10.8), 12.0, 6.0)
    case = case_of(with_base(project, earlier_seat=earlier))
    pushed, _, _ = of_base(case)
    outer = max(case.after.base.curves.seat_outer.bounds[3], 54.0)
    assert travel(pushed) <= max(outer - 50.0, 0.8) + 1e-6
    assert travel(pushed) >= 0.8 - 1e-6


def test_a_held_opening_that_eats_the_floor_names_the_lip(round_project: Project, case_of: CaseOf) -> None:
    project = with_base(round_project, opening=Opening(HeldCurve(Family.CIRCLE, 84.0, 84.0, 0.0)), lip=Lip(6.0, 6.0))
    project = replace(project, limits=replace(project.limits, bearing_least=9.0))
    case = case_of(replace(project, choices=Choices(hold_inside=HoldInside.OPENING)))
    _, centred, _ = of_base(case)
    assert centred.value == pytest.approx(8.0, abs=1e-6)  # the opening's radius is 42, the rim begins at 40
    assert centred.verdict is Verdict.NO_GO
    assert centred.place.path == "choices.hold_inside"


# --- how much of a span lies in a region --------------------------------------------------------------------------


def inside(outline: Outline, origin: FloatArray, along: FloatArray, length: float) -> FloatArray:
    """How much of each span lies inside an outline, asked for where it lies and by way of a move."""
    region = Region((outline.oriented(ccw=True),), (frozenset(),))
    here: FloatArray = Spans(region, origin, along, length, 0.0).lengths(np.zeros((1, 2)))[0]
    away = np.array([[3.0, -2.0], [0.0, 0.0]])
    moved = Spans(region, origin - away[0], along, length, 4.0).lengths(away)
    np.testing.assert_allclose(moved[0], here, atol=1e-7)
    return here


@settings(deadline=None, max_examples=200)
@given(
    angle=st.floats(0.0, 6.3),
    x=st.floats(-12.0, 12.0),
    y=st.floats(-12.0, 12.0),
    bulges=st.lists(st.floats(-0.35, 1.6), min_size=4, max_size=4),
    span=st.floats(0.1, 60.0),
)
def test_length_inside_an_outline_against_polygons(
    angle: float, x: float, y: float, bulges: list[float], span: float
) -> None:
    corners = [(-20.0, -16.0), (20.0, -16.0), (20.0, 16.0), (-20.0, 16.0)]
    outline = Outline([(*p, b) for p, b in zip(corners, bulges, strict=True)])
    shape = Polygon(outline.chords(1e-5))
    if not shape.is_valid:
        return
    d = np.array([[cos(angle), sin(angle)]])
    origin = np.array([[x, y]]) - d * span / 2.0
    line = LineString([origin[0], origin[0] + d[0] * span])
    assert inside(outline, origin, d, span)[0] == pytest.approx(line.intersection(shape).length, abs=0.05)


def test_length_inside_a_circle_is_its_chord() -> None:
    circle = circle_outline((0.0, 0.0), 5.0)
    at = np.linspace(-6.0, 6.0, 25)
    origin = np.column_stack((np.full(25, -10.0), at))
    along = np.tile([1.0, 0.0], (25, 1))
    chords = 2.0 * np.sqrt(np.maximum(25.0 - at * at, 0.0))
    assert inside(circle, origin, along, 20.0) == pytest.approx(chords, abs=1e-3)
    assert inside(circle, origin, along, 10.0) == pytest.approx(chords / 2.0, abs=1e-3)
    half = Spans(Region((circle,), (frozenset(),)), np.zeros((1, 2)), along[:1], 9.0, 0.0)
    assert half.lengths(np.zeros((1, 2)))[0] == pytest.approx([5.0])


def test_a_span_says_where_it_comes_into_a_region() -> None:
    circle = Region((circle_outline((10.0, 0.0), 5.0),), (frozenset(),))
    origin = np.array([[0.0, 0.0], [0.0, 6.0], [7.0, 0.0], [14.0, 0.0]])
    entries = Spans(circle, origin, np.tile([1.0, 0.0], (4, 1)), 12.0, 0.0).entries()
    assert entries == pytest.approx([5.0, np.inf, 0.0, 0.0])
