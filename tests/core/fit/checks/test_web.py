"""Thinnest metal: wall, lip and bars by their sizes, distances between circles by elementary geometry."""

from __future__ import annotations

from math import hypot
from typing import TYPE_CHECKING

import pytest
from msgspec.structs import replace

from core.evaluate import evaluate
from core.features.badge import Badge
from core.features.band import Band
from core.features.crossbar import Crossbar
from core.features.ground import Made
from core.features.hole import Hole
from core.features.lug import Lug
from core.features.pocket import Pocket
from core.features.rib import Rib
from core.fit.checks.web import MOST_FINDINGS, check
from core.geometry.ovals.ovals import Family
from core.part.curve import HeldCurve
from core.part.housing import Lip, Metal
from core.part.project import Choices, Hold, HoldInside, Mode
from core.words.lengths import Style, shower
from core.words.verdicts import Finding, Verdict
from tests.support.bases import with_base
from tests.support.remedied import done, tried
from tests.support.wild import wild_project

if TYPE_CHECKING:
    from collections.abc import Callable

    from core.features.registry import Feature
    from core.fit.case import Case
    from core.part.project import Project

    CaseOf = Callable[[Project], Case]

FIXED = ", if the machine allows it"
MM, INCH = shower(Style.MM), shower(Style.INCH)


def proposed(finding: Finding) -> dict[str, float]:
    """What is proposed, and by how much [mm]; `core.remedies` says what holds when it is tried."""
    return {remedy.text: round(remedy.by, 9) for remedy in finding.remedies}


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
    assert proposed(finding)["make the wall {by} thicker"] == 0.5
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
        "metal between the seat's outer wall and port's edge 2.00 mm at the top of the base; 4.00 mm wanted"
    )
    # A gap 2 mm narrower than 0.8 would be none, so it is not proposed.
    assert proposed(finding) == {
        f"move port {{by}} towards the top (90°), to x {{to}}, y {{to1}}{FIXED}": 2.0,
        f"make the hole of port {{to}} wide{FIXED}": 2.0,
    }
    assert finding.place.path == "choices.gap_outer"
    assert finding.place.feature == "port"


def test_two_holes_outside_and_opening(round_project: Project, case_of: CaseOf) -> None:
    two = thinnest(with_base(round_project, Hole("a", 60.8, 5.0, 8.0), Hole("b", 60.8, -5.0, 8.0), wall=20.0), case_of)
    assert two.value == pytest.approx(2.0)
    assert proposed(two)[f"move a {{by}} towards the top (90°), to x {{to}}, y {{to1}}{FIXED}"] == 2.0
    assert proposed(two)[f"move b {{by}} towards the bottom (270°), to x {{to}}, y {{to1}}{FIXED}"] == 2.0
    edge = thinnest(with_base(round_project, Hole("a", 65.3, 0.0, 8.0), wall=20.0), case_of)
    assert edge.value == pytest.approx(1.5)
    assert "metal between the outside and a's edge" in edge.advice.show(MM)
    assert list(proposed(edge)) == [
        "make the wall {by} thicker",
        f"move a {{by}} towards the left (180°), to x {{to}}, y {{to1}}{FIXED}",
        f"make the hole of a {{to}} wide{FIXED}",
    ]
    lip = thinnest(with_base(round_project, Hole("a", 28.0, 0.0, 4.0), lip=Lip(16.0, 6.0)), case_of)
    assert lip.value == pytest.approx(26.0 - 23.2)
    assert "metal between the opening's edge and a's edge" in lip.advice.show(MM)
    assert f"move a {{by}} towards the right (0°), to x {{to}}, y {{to1}}{FIXED}" in proposed(lip)


def test_a_pocket_close_to_the_seat_is_set_in(round_project: Project, case_of: CaseOf) -> None:
    base = replace(round_project.housing.base, opening=None, features=(Pocket("relief", 3.0, 5.0),))
    finding = thinnest(replace(round_project, housing=replace(round_project.housing, base=base)), case_of)
    assert finding.value == pytest.approx(3.0)
    assert proposed(finding) == {"set relief {by} further in": 1.0}
    assert finding.place.path == "housing.base.features[0].inset"


def test_the_ring_round_a_hole_is_its_boss_or_pad(round_project: Project, case_of: CaseOf) -> None:
    hole = Hole("eye", 0.0, 0.0, 6.0, Made.DRILLED, boss=12.0)
    finding = thinnest(with_base(round_project, hole), case_of)
    assert finding.value == pytest.approx(3.0)
    assert finding.place.path == "housing.base.features[0].boss"
    assert proposed(finding) == {"make its boss {to} wide": 1.0, f"make the hole of eye {{to}} wide{FIXED}": 1.0}
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
    from core.geometry.regions.webs import thinnest as of_region

    case = case_of(intake_project)
    findings = check(case)
    for piece in case.after.pieces:
        found = [of_region(slab.region) for slab in piece.slabs if slab.z1 > 0.0]
        least = min(web.width_mm for web in found if web is not None)
        assert in_plan(findings, piece.end)[0].value == pytest.approx(least, abs=1e-9)


@pytest.mark.parametrize(
    ("choices", "path", "words"),
    [
        (Choices(wall=3.0), "choices.wall", "make the wall {by} thicker"),
        (Choices(wall=3.0, hold=Hold.OUTSIDE), "choices.hold", "let the outside follow the seat"),
        (Choices(lip=3.0), "choices.lip", "make the lip {by} wider"),
        (Choices(lip=3.0, hold_inside=HoldInside.OPENING), "choices.hold_inside", "let the opening follow the seat"),
        (Choices(mode=Mode.REWORK), "choices.mode", "cast anew"),
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
    assert words in proposed(finding)


def with_bore(project: Project, x: float) -> Project:
    """A bore in a plate with much room round it but on its right, where the outside is at 80.8."""
    hole = Hole("bore", x, 0.0, 8.0, Made.DRILLED)
    return with_base(project, hole, wall=30.0)


@pytest.mark.parametrize("x", [73.5, 76.8, 78.0])
def test_moved_as_it_is_said_a_bore_is_clear_of_the_edge_that_it_was_near_or_past(
    round_project: Project, x: float
) -> None:
    project = with_bore(round_project, x)
    found = tried(project, "thinnest metal, base")
    (moved,) = [remedy for remedy in found.remedies if remedy.text.startswith("move")]
    assert moved.text == f"move bore {{by}} towards the left (180°), to x {{to}}, y {{to1}}{FIXED}"
    assert moved.by == pytest.approx(4.0 - (80.8 - 4.0 - x), abs=0.01)
    after = evaluate(done(project, moved))
    assert next(f for f in after.findings if f.name == "thinnest metal, base").verdict is not Verdict.NO_GO


def test_where_the_outside_is_held_a_thicker_wall_is_not_said(round_project: Project) -> None:
    """It does nothing; letting the outside go does."""
    insert = replace(round_project.new_insert, length=105.0, width=105.0)
    project = replace(round_project, new_insert=insert, choices=Choices(hold=Hold.OUTSIDE))
    found = tried(project, "thinnest metal, base")
    assert found.value == pytest.approx(3.5)
    said = [remedy.text for remedy in found.remedies]
    assert "let the outside follow the seat" in said
    assert not any(text.startswith("make the wall") for text in said)


def test_a_gap_narrower_than_the_least_is_not_proposed(round_project: Project, case_of: CaseOf) -> None:
    held = HeldCurve(Family.CIRCLE, 102.0, 102.0, 0.0)  # the seat's outer wall is at 50.8, the outside at 51
    project = with_base(round_project, held_outside=held)
    finding = thinnest(replace(project, choices=Choices(hold=Hold.OUTSIDE)), case_of)
    assert finding.value == pytest.approx(0.2)
    assert list(proposed(finding)) == [
        "let the outside follow the seat",
    ]


def mends(seed: int) -> int:
    """The remedies of a wild project's thinnest metal, each applied as it is said; how many there were."""
    project = wild_project(seed)
    count = 0
    for end in project.housing.ends:
        name = f"thinnest metal, {end}"
        if not any(f.name == name for f in evaluate(project).findings):
            continue
        found = tried(project, name)
        for remedy in found.remedies:
            if remedy.edits:
                count += 1
                after = evaluate(done(project, remedy)).findings
                same = [f.verdict.rank for f in after if f.key == found.key]
                assert max(same, default=0) < found.verdict.rank, (seed, remedy.text)
    return count


def test_over_wild_projects_what_is_said_of_the_thinnest_metal_mends_it() -> None:
    assert sum(map(mends, (2, 6, 7, 9, 11))) > 0


@pytest.mark.hard
@pytest.mark.parametrize("block", range(20))
def test_over_many_wild_projects_what_is_said_of_the_thinnest_metal_mends_it(block: int) -> None:
    assert sum(mends(seed) for seed in range(10 * block + 100, 10 * block + 110)) > 0
