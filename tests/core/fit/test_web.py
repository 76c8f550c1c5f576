"""Thinnest metal: wall, lip and bars by their sizes, distances between circles by elementary geometry."""

from __future__ import annotations

from math import hypot
from typing import TYPE_CHECKING

import pytest
from msgspec.structs import replace

from core.fit.web import MOST_FINDINGS, check
from core.housing import Badge, Band, Crossbar, Hole, Lip, Lug, Made, Metal, Pocket, Rib
from core.lengths import Style, shower
from core.project import Choices, Hold, HoldInside, Mode
from core.verdicts import Finding, Verdict

if TYPE_CHECKING:
    from collections.abc import Callable

    from core.fit.case import Case
    from core.housing import Feature
    from core.project import Project

    CaseOf = Callable[[Project], Case]

MM, INCH = shower(Style.MM), shower(Style.INCH)


def with_base(project: Project, *features: Feature, **changes: object) -> Project:
    base = replace(project.housing.base, features=features, **changes)
    return replace(project, housing=replace(project.housing, base=base))


def in_plan(findings: tuple[Finding, ...], end: str = "base") -> list[Finding]:
    return [f for f in findings if f.place.other is not None and f.name.endswith(end)]


def thinnest(project: Project, case_of: CaseOf) -> Finding:
    finding = in_plan(check(case_of(project)))[0]
    assert finding.name == "thinnest metal, base"
    return finding


@pytest.mark.parametrize(
    ("wall", "lip", "value", "words", "path"),
    [
        (6.0, 7.0, 6.0, "wall 6.00 mm", "choices.wall"),
        (7.0, 5.5, 5.5, "lip 5.50 mm", "choices.lip"),
    ],
)
def test_wall_and_lip(
    round_project: Project, case_of: CaseOf, wall: float, lip: float, value: float, words: str, path: str
) -> None:
    finding = thinnest(with_base(round_project, wall=wall, lip=Lip(lip, 6.0)), case_of)
    assert finding.value == pytest.approx(value, abs=1e-9)
    assert finding.advice.show(MM).startswith(words)
    assert finding.place.path == path
    point, other = finding.place.point, finding.place.other
    assert point is not None
    assert other is not None
    assert hypot(point[0] - other[0], point[1] - other[1]) == pytest.approx(value)
    assert hypot(*point) == pytest.approx(50.8 if "wall" in path else 39.2, abs=1e-6) or hypot(*other) == pytest.approx(
        50.8 if "wall" in path else 39.2, abs=1e-6
    )


@pytest.mark.parametrize(
    ("wall", "verdict"), [(4.5, Verdict.GO), (4.3, Verdict.MARGINAL), (4.0, Verdict.MARGINAL), (3.9, Verdict.NO_GO)]
)
def test_verdicts(round_project: Project, case_of: CaseOf, wall: float, verdict: Verdict) -> None:
    assert thinnest(with_base(round_project, wall=wall), case_of).verdict is verdict


def test_the_alloy_may_ask_for_more_than_the_user(round_project: Project, case_of: CaseOf) -> None:
    housing = replace(round_project.housing, metal=Metal("iron", 7.2, 6.5))
    finding = thinnest(replace(round_project, housing=housing), case_of)
    assert (finding.low, finding.verdict) == (6.5, Verdict.NO_GO)
    assert "wall 6.00 mm" in finding.advice.show(MM)
    assert "make the wall 0.50 mm thicker" in finding.advice.show(MM)
    assert "mm" not in finding.advice.show(INCH) + finding.formula.show(INCH)


@pytest.mark.parametrize(
    ("feature", "value", "words", "path"),
    [
        pytest.param(
            Crossbar("bar {a}", 90.0, 0.0, 3.5, 6.0), 3.5, "width of bar {a} 3.50 mm", "features[0].width", id="bar"
        ),
        pytest.param(Badge("badge", 9.0, 3.0, 1.0), 3.0, "width of badge 3.00 mm", "features[0].width", id="badge"),
    ],
)
def test_a_features_own_width(
    round_project: Project, case_of: CaseOf, feature: Feature, value: float, words: str, path: str
) -> None:
    finding = thinnest(with_base(round_project, feature), case_of)
    assert finding.value == pytest.approx(value, abs=1e-6)
    assert finding.advice.show(MM).startswith(words)
    assert finding.place.path == f"housing.base.{path}"
    assert finding.verdict is Verdict.NO_GO


@pytest.mark.parametrize(
    "raised",
    [
        pytest.param(Band("band", 2.0, 1.5, 2.0), id="band"),
        pytest.param(Rib("rib", 0.0, 48.0, 1.5, 2.0, 2.0), id="rib"),
    ],
)
def test_what_is_raised_on_the_outer_face_stands_on_the_plate_and_is_no_web(
    round_project: Project, case_of: CaseOf, raised: Feature
) -> None:
    assert thinnest(with_base(round_project, raised), case_of) == thinnest(with_base(round_project), case_of)


def test_a_hole_beside_the_seat_names_both_and_the_gap(round_project: Project, case_of: CaseOf) -> None:
    hole = Hole("port", 0.0, 62.8, 20.0)  # from 52.8 on: 2 from the seat's wall at 50.8
    finding = thinnest(with_base(round_project, hole, wall=30.0), case_of)
    assert finding.value == pytest.approx(2.0, abs=1e-6)
    assert finding.advice.show(MM) == (
        "metal between the seat's outer wall and port's edge 2.00 mm at the top of the base; 4.00 mm wanted: narrow "
        "the seat's outer gap by 2.00 mm, or move port away or make it smaller"
    )
    assert finding.place.path == "choices.gap_outer"
    assert finding.place.feature == "port"


def test_two_holes_outside_and_opening(round_project: Project, case_of: CaseOf) -> None:
    two = thinnest(with_base(round_project, Hole("a", 60.8, 5.0, 8.0), Hole("b", 60.8, -5.0, 8.0), wall=20.0), case_of)
    assert two.value == pytest.approx(2.0)
    assert "move a and b 2.00 mm apart" in two.advice.show(MM)
    edge = thinnest(with_base(round_project, Hole("a", 65.3, 0.0, 8.0), wall=20.0), case_of)
    assert edge.value == pytest.approx(1.5)
    assert "metal between the outside and a's edge" in edge.advice.show(MM)
    lip = thinnest(with_base(round_project, Hole("a", 28.0, 0.0, 4.0), lip=Lip(16.0, 6.0)), case_of)
    assert lip.value == pytest.approx(26.0 - 23.2)
    assert "metal between the opening's edge and a's edge" in lip.advice.show(MM)


def test_a_pocket_close_to_the_seat_is_set_in(round_project: Project, case_of: CaseOf) -> None:
    base = replace(round_project.housing.base, opening=None, features=(Pocket("relief", 3.0, 5.0),))
    finding = thinnest(replace(round_project, housing=replace(round_project.housing, base=base)), case_of)
    assert finding.value == pytest.approx(3.0)
    assert "set relief 1.00 mm further in" in finding.advice.show(MM)
    assert finding.place.path == "housing.base.features[0].inset"


def test_the_ring_round_a_hole_is_its_boss_or_pad(round_project: Project, case_of: CaseOf) -> None:
    hole = Hole("eye", 0.0, 0.0, 6.0, Made.DRILLED, boss=12.0)
    finding = thinnest(with_base(round_project, hole), case_of)
    assert finding.value == pytest.approx(3.0)
    assert finding.place.path == "housing.base.features[0].boss"
    assert "make the boss 2.00 mm larger" in finding.advice.show(MM)
    lug = Lug("ear", 70.0, 0.0, pad=13.0, hole=7.0, neck=10.0, height=10.0)
    finding = thinnest(with_base(round_project, lug), case_of)
    assert finding.value == pytest.approx(3.0)
    assert finding.place.path == "housing.base.features[0].pad"


def test_every_pair_below_the_limit_is_told_once_thinnest_first(round_project: Project, case_of: CaseOf) -> None:
    bars = (Crossbar("one", 90.0, 12.0, 3.5, 6.0), Crossbar("two", 90.0, -12.0, 3.0, 9.0))
    findings = in_plan(check(case_of(with_base(round_project, *bars, wall=3.8))))
    assert [f.name for f in findings] == ["thinnest metal, base", "width of one, base", "wall, base"]
    assert [f.value for f in findings] == pytest.approx([3.0, 3.5, 3.8])
    many = [Hole(f"h{i}", -25.0 + 6.0 * i, 0.0, 5.0) for i in range(9)]
    crowd = in_plan(check(case_of(with_base(round_project, *many, Badge("bar", 66.0, 16.0, 0.0)))))
    assert len(crowd) <= MOST_FINDINGS
    assert crowd[0].value == pytest.approx(1.0)


def test_each_slab_alone_gives_the_same_least(intake_project: Project, case_of: CaseOf) -> None:
    from core.webs import thinnest as of_region

    case = case_of(intake_project)
    findings = check(case)
    for piece in case.after.pieces:
        found = [of_region(slab.region) for slab in piece.slabs if slab.z1 > 0.0]
        least = min(web.width_mm for web in found if web is not None)
        assert in_plan(findings, piece.end)[0].value == pytest.approx(least, abs=1e-9)


@pytest.mark.parametrize(
    ("choices", "path", "words"),
    [
        (Choices(wall=3.0), "choices.wall", "make the wall 1.00 mm thicker"),
        (Choices(wall=3.0, hold=Hold.OUTSIDE), "choices.hold", "make the wall"),
        (Choices(lip=3.0), "choices.lip", "make the lip 1.00 mm wider"),
        (Choices(lip=3.0, hold_inside=HoldInside.OPENING), "choices.hold_inside", "make the lip"),
        (Choices(mode=Mode.REWORK), "choices.mode", "the casting's outside stays"),
    ],
)
def test_what_to_change_depends_on_what_is_held(
    round_project: Project, case_of: CaseOf, choices: Choices, path: str, words: str
) -> None:
    project = with_base(round_project, wall=4.5, lip=Lip(4.8, 6.0))
    grown = 2.0 if choices.mode is Mode.REWORK or choices.hold is Hold.OUTSIDE else 0.0
    insert = replace(project.new_insert, length=100.0 + grown, width=100.0 + grown)
    if choices.hold_inside is HoldInside.OPENING:
        insert = replace(insert, rim=replace(insert.rim, width=11.5))
    finding = thinnest(replace(project, new_insert=insert, choices=choices), case_of)
    assert finding.verdict is Verdict.NO_GO
    assert finding.place.path == path
    assert words in finding.advice.show(MM)
