"""Distances to rectangles by elementary geometry, and between polygons by a second program."""

from __future__ import annotations

from math import cos, hypot, pi, radians, sin
from typing import TYPE_CHECKING

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace
from shapely import make_valid, unary_union
from shapely.geometry import Polygon

from core.evaluate import evaluate
from core.features.kind import Follows
from core.features.lug import Lug
from core.fit.checks.keep_out import check, distance_to
from core.geometry.lines.outline import Outline, circle_outline
from core.geometry.ovals.ovals import Family, Oval, oval_outline
from core.metal.keep_outs import keep_out_outline
from core.part.housing import KeepOut
from core.part.insert import Rim
from core.part.project import Choices, Hold, Mode
from core.words.lengths import Style, shower
from core.words.verdicts import Finding, Verdict
from tests.support.remedied import done, found, tried
from tests.support.wild import wild_project

if TYPE_CHECKING:
    from collections.abc import Callable

    from core.fit.case import Case
    from core.part.project import Project

    CaseOf = Callable[[Project], Case]

MM, INCH = shower(Style.MM), shower(Style.INCH)

OUTSIDE = 50.0 + 0.8 + 6.0
"""Radius of the round project's outside."""


def with_keep_out(project: Project, *keep_outs: KeepOut) -> Project:
    return replace(project, housing=replace(project.housing, keep_outs=keep_outs))


def distance(project: Project, case_of: CaseOf, keep_out: KeepOut) -> Finding:
    finding, flush = check(case_of(with_keep_out(project, keep_out)))
    assert finding.name == f"distance to {keep_out.name}"
    assert flush.name == "base and lid flush"
    return finding


def test_an_edge_faces_the_outside(round_project: Project, case_of: CaseOf) -> None:
    finding = distance(round_project, case_of, KeepOut("pipe", 0.0, 80.0, 200.0, 30.0))
    assert finding.value == pytest.approx(65.0 - OUTSIDE, abs=1e-9)
    assert finding.place.point == pytest.approx((0.0, OUTSIDE), abs=1e-9)
    assert finding.place.other == pytest.approx((0.0, 65.0), abs=1e-9)
    assert finding.verdict is Verdict.GO
    assert "mm" not in finding.advice.show(INCH) + finding.formula.show(INCH)


@pytest.mark.parametrize("degrees", [0.0, 30.0, 77.0, 200.0])
def test_a_corner_faces_the_outside(round_project: Project, case_of: CaseOf, degrees: float) -> None:
    # A square of side 10 stands on its corner, 60 from the centre.
    away = 60.0 + 5.0 * 2.0**0.5
    x, y = away * cos(radians(degrees)), away * sin(radians(degrees))
    finding = distance(round_project, case_of, KeepOut("post", x, y, 10.0, 10.0, degrees + 45.0))
    assert finding.value == pytest.approx(60.0 - OUTSIDE, abs=1e-9)
    assert finding.place.other == pytest.approx((60.0 * cos(radians(degrees)), 60.0 * sin(radians(degrees))))


@pytest.mark.parametrize(
    ("edge", "verdict"),
    [(2.5, Verdict.GO), (2.1, Verdict.MARGINAL), (1.9, Verdict.NO_GO), (-3.0, Verdict.NO_GO)],
)
def test_verdicts_and_depth(round_project: Project, case_of: CaseOf, edge: float, verdict: Verdict) -> None:
    keep_out = KeepOut("pipe", 0.0, -(OUTSIDE + edge + 10.0), 100.0, 20.0)
    finding = distance(round_project, case_of, keep_out)
    assert finding.value == pytest.approx(edge, abs=1e-6)
    assert finding.margin == pytest.approx(edge - 2.0, abs=1e-6)
    assert finding.verdict is verdict
    if edge < 0.0:
        assert "the base's outside enters pipe at the bottom by 3.00 mm" in finding.advice.show(MM)
        assert finding.place.point == pytest.approx((0.0, -OUTSIDE), abs=1e-2)


def test_a_keep_out_inside_the_outside_is_entered_as_deep_as_it_lies(round_project: Project, case_of: CaseOf) -> None:
    finding = distance(round_project, case_of, KeepOut("pipe", 20.0, 0.0, 4.0, 4.0))
    # The middle of its inner edge is the deepest.
    assert finding.value == pytest.approx(-(OUTSIDE - 18.0), abs=1e-6)


def test_the_lugs_count(round_project: Project, case_of: CaseOf) -> None:
    lug = Lug("ear {1}", 70.0, 0.0, pad=20.0, hole=6.0, neck=12.0, height=10.0)
    base = replace(round_project.housing.base, features=(lug,))
    project = replace(round_project, housing=replace(round_project.housing, base=base))
    finding = distance(project, case_of, KeepOut("bracket", 91.5, 0.0, 20.0, 50.0))
    assert finding.value == pytest.approx(1.5, abs=1e-9)
    assert finding.place.path == "housing.base.features[0]"
    assert "the base's ear {1} is 1.50 mm from bracket at the right; 2.00 mm wanted" in finding.advice.show(MM)
    remedy, last = finding.remedies
    assert last.text == "find bracket another place"
    text = "move it {by} towards the left (180°), to x {to}, y {to1}"
    assert remedy.text == f"{text} as built"  # it follows the outside
    assert remedy.by == pytest.approx(0.5)
    after = case_of(done(with_keep_out(project, KeepOut("bracket", 91.5, 0.0, 20.0, 50.0)), remedy))
    assert check(after)[0].value == pytest.approx(2.0)


def test_beside_a_lug_the_nearest_place_is_found_though_no_edge_of_the_keep_out_parts_them(
    round_project: Project, case_of: CaseOf
) -> None:
    lug = Lug("ear", 70.0, 0.0, pad=20.0, hole=6.0, neck=12.0, height=10.0)
    base = replace(round_project.housing.base, features=(lug,))
    project = replace(round_project, housing=replace(round_project.housing, base=base))
    # In the corner between outside and lug: a square whose lower left corner is at (62, 15).
    finding = distance(project, case_of, KeepOut("post", 66.0, 19.0, 8.0, 8.0))
    to_pad = hypot(70.0 - 70.0, 15.0 - 0.0) - 10.0
    to_outside = hypot(62.0, 15.0) - OUTSIDE
    assert finding.value == pytest.approx(min(to_pad, to_outside), abs=1e-6)


@pytest.mark.parametrize(
    ("choices", "path"),
    [
        (Choices(), "choices.hold"),
        (Choices(hold=Hold.OUTSIDE), "choices.hold"),
        (Choices(mode=Mode.REWORK), "choices.mode"),
    ],
)
def test_what_to_change(round_project: Project, case_of: CaseOf, choices: Choices, path: str) -> None:
    keep_out = KeepOut("pipe", 0.0, 78.0, 100.0, 40.0)
    finding = distance(replace(round_project, choices=choices), case_of, keep_out)
    assert finding.verdict is Verdict.NO_GO
    assert finding.place.path == path


@settings(deadline=None, max_examples=150)
@given(
    x=st.floats(-160.0, 160.0),
    y=st.floats(-120.0, 120.0),
    length=st.floats(2.0, 120.0),
    width=st.floats(2.0, 60.0),
    angle=st.floats(-180.0, 180.0),
)
def test_distance_against_polygons(x: float, y: float, length: float, width: float, angle: float) -> None:
    rectangle = keep_out_outline(KeepOut("k", x, y, length, width, angle))
    outline = oval_outline(Oval(Family.FOUR_ARC, 180.0, 110.0, 40.0))
    near = distance_to(outline, rectangle)
    shape = Polygon(outline.chords(1e-4))
    expected = shape.distance(Polygon(rectangle.vertices[:, :2]))
    if expected > 0.0:
        assert near.distance == pytest.approx(expected, abs=2e-4)
        assert hypot(near.at[0] - near.other[0], near.at[1] - near.other[1]) == pytest.approx(near.distance)
        assert outline.nearest([near.at]).distance[0] == pytest.approx(0.0, abs=1e-6)
    else:
        assert near.distance <= 0.0


@pytest.mark.parametrize("hold", list(Hold))
@pytest.mark.parametrize("grown", [0.0, 4.0])
def test_every_remedy_for_a_keep_out_clears_it(round_project: Project, hold: Hold, grown: float) -> None:
    new = replace(round_project.new_insert, length=100.0 + grown, width=100.0 + grown)
    project = replace(round_project, new_insert=new, choices=replace(round_project.choices, hold=hold))
    project = with_keep_out(project, KeepOut("pipe", 0.0, OUTSIDE + (22.5 if grown else 21.5), 100.0, 40.0))
    finding = tried(project, "distance to pipe")
    if grown and hold is Hold.OUTSIDE:
        assert finding.verdict is Verdict.GO  # it stays where it was
        return
    assert finding.verdict is Verdict.NO_GO
    assert finding.remedies
    for remedy in finding.remedies[:-1]:  # the last is to find the pipe another place
        assert found(done(project, remedy), "distance to pipe").verdict is not Verdict.NO_GO


def test_a_lug_in_a_neighbours_space_goes_out_the_way_it_is_nearest_to(round_project: Project) -> None:
    lug = Lug("ear", 70.0, 0.0, pad=20.0, hole=6.0, neck=12.0, height=10.0, follows=Follows.MACHINE)
    base = replace(round_project.housing.base, features=(lug,))
    project = replace(round_project, housing=replace(round_project.housing, base=base))
    finding = tried(with_keep_out(project, KeepOut("bracket", 89.0, 0.0, 20.0, 50.0)), "distance to bracket")
    assert "enters bracket at the right by 1.00 mm" in finding.advice.show(MM)
    assert "move it 3.00 mm towards the left (180°), to x 67.00 mm, y 0.00 mm" in finding.advice.show(MM)


def test_two_lugs_that_are_too_near_are_moved_together(round_project: Project) -> None:
    lugs = tuple(
        Lug(name, x, 75.0, pad=20.0, hole=6.0, neck=12.0, height=10.0, follows=Follows.MACHINE)
        for name, x in (("left ear", -30.0), ("right ear", 30.0))
    )
    base = replace(round_project.housing.base, features=lugs)
    project = replace(round_project, housing=replace(round_project.housing, base=base))
    finding = tried(with_keep_out(project, KeepOut("pipe", 0.0, 96.5, 100.0, 20.0)), "distance to pipe")
    assert finding.value == pytest.approx(1.5)
    first = finding.remedies[0]
    assert first.by == pytest.approx(0.5)
    assert "left ear" in first.text
    assert "right ear" in first.text
    mended = found(done(with_keep_out(project, KeepOut("pipe", 0.0, 96.5, 100.0, 20.0)), first), "distance to pipe")
    assert mended.value == pytest.approx(2.0)


def _hold_keep_outs(seeds: range) -> int:
    """Distances of wild projects against shapely on fine chords: of the union of all that stands over the face."""
    checked = 0
    for seed in seeds:
        project = wild_project(seed)
        result = evaluate(project)
        findings = [f for f in result.findings if f.check == "keep-out" and f.name.startswith("distance to ")]
        if not findings:
            continue
        body = unary_union(
            [
                make_valid(slab.region.polygon(1e-4))
                for piece in result.after.pieces
                for slab in piece.slabs
                if slab.z1 > 0.0 and not slab.region.is_empty
            ]
        )
        for finding, keep_out in zip(findings, project.housing.keep_outs, strict=True):
            rectangle = Polygon(keep_out_outline(keep_out).vertices[:, :2])
            away = body.distance(rectangle)
            if away > 1e-3:
                assert finding.value == pytest.approx(away, abs=1e-3)
            else:
                assert finding.value < 2e-3
            checked += 1
    return checked


def test_keep_outs_of_wild_projects_by_polygons() -> None:
    assert _hold_keep_outs(range(25)) > 8


@pytest.mark.hard
def test_keep_outs_of_thousands_of_wild_projects_by_polygons() -> None:
    _hold_keep_outs(range(25, 2060))


def test_a_bar_across_the_whole_oval_is_entered() -> None:
    circle = circle_outline((0.0, 0.0), 30.0)
    bar = keep_out_outline(KeepOut("bar", 0.0, 5.0, 100.0, 6.0))
    assert distance_to(circle, bar).distance < 0.0


def test_touching_is_no_distance() -> None:
    circle = circle_outline((0.0, 0.0), 30.0)
    assert distance_to(circle, keep_out_outline(KeepOut("k", 35.0, 0.0, 10.0, 10.0))).distance == pytest.approx(
        0.0, abs=1e-6
    )


def two_walls(project: Project, base: float, lid: float) -> Project:
    assert project.housing.lid is not None
    housing = replace(
        project.housing,
        base=replace(project.housing.base, wall=base),
        lid=replace(project.housing.lid, wall=lid),
    )
    return replace(project, housing=housing)


@pytest.mark.parametrize(
    ("base", "lid", "value", "words"),
    [
        (6.0, 6.0, 0.0, "base and lid are flush all round"),
        (6.3, 6.0, 0.3, "the base stands 0.30 mm out from the lid"),
        (6.0, 6.3, 0.3, "the lid stands 0.30 mm out from the base"),
    ],
)
def test_the_step_at_the_joint(
    round_project: Project, case_of: CaseOf, base: float, lid: float, value: float, words: str
) -> None:
    (finding,) = check(case_of(two_walls(round_project, base, lid)))
    assert finding.value == pytest.approx(value, abs=1e-9)
    assert finding.verdict is Verdict.GO
    assert finding.high == 0.5
    assert words in finding.advice.show(MM)


def test_a_lid_that_loses_its_flush_joint_is_no_go(round_project: Project, case_of: CaseOf) -> None:
    # The new insert's lid rim is 1 wider than its base rim; as built both were alike.
    new = replace(round_project.new_insert, lid_rim=Rim(10.0, 10.0, outset=1.0))
    (finding,) = check(case_of(replace(round_project, new_insert=new)))
    assert finding.value == pytest.approx(1.0)
    assert finding.verdict is Verdict.NO_GO
    assert finding.place.path == "housing.base.wall"
    assert "the lid stands 1.00 mm out from the base" in finding.advice.show(MM)


def test_a_joint_that_never_was_flush_is_told_and_not_judged(round_project: Project, case_of: CaseOf) -> None:
    (finding,) = check(case_of(two_walls(round_project, 9.0, 6.0)))
    assert finding.value == pytest.approx(3.0)
    assert finding.verdict is Verdict.GO
    assert finding.high is None
    assert "it stood 3.00 mm out as built" in finding.advice.show(MM)


def test_a_single_ring_has_no_joint(ring_project: Project, case_of: CaseOf) -> None:
    assert check(case_of(ring_project)) == ()


def test_the_rectangle_of_a_keep_out() -> None:
    outline: Outline = keep_out_outline(KeepOut("k", 10.0, 5.0, 20.0, 8.0, 90.0))
    assert outline.bounds == pytest.approx((6.0, -5.0, 14.0, 15.0))
    assert outline.area == pytest.approx(160.0)
    turned = keep_out_outline(KeepOut("k", 0.0, 0.0, 20.0, 8.0, 30.0))
    assert turned.area == pytest.approx(160.0)
    assert turned.bounds[2] == pytest.approx(10.0 * cos(pi / 6.0) + 4.0 * sin(pi / 6.0))
