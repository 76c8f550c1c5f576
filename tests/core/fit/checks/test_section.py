"""Thinnest metal in section: heights by the sizes that make them, and by columns sampled over random projects."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
from msgspec.structs import replace

from core.evaluate import evaluate
from core.features.badge import Badge
from core.features.band import Band
from core.features.crossbar import Crossbar
from core.features.hole import Hole
from core.features.lug import Lug
from core.features.pocket import Pocket
from core.features.stud.stud import Stud
from core.features.stud.threads import TAP_DRILL_MM, Thread
from core.fit.checks.section import check
from core.geometry.ovals.ovals import Family
from core.metal.slabs import SAME_HEIGHT_MM
from core.part.curve import HeldCurve
from core.part.housing import Lip
from core.part.project import Choices, Mode
from core.remedies import remedied
from core.words.lengths import Style, shower
from core.words.verdicts import Finding, Verdict
from tests.support.bases import with_base
from tests.support.columns import columns
from tests.support.wild import wild_project

if TYPE_CHECKING:
    from collections.abc import Callable

    from core.features.registry import Feature
    from core.fit.case import Case
    from core.part.project import Project

    CaseOf = Callable[[Project], Case]

MM = shower(Style.MM)


def section(project: Project, case_of: CaseOf) -> list[Finding]:
    return [f for f in check(case_of(project)) if f.place.other is None and f.name.endswith("base")]


def test_the_least_height_of_metal_is_told(round_project: Project, case_of: CaseOf) -> None:
    (finding,) = section(round_project, case_of)
    assert finding.name == "floor under the seat, base"
    assert finding.value == 6.0
    assert finding.place.path == "housing.base.floor"
    (finding,) = section(with_base(round_project, Crossbar("bar", 0.0, 0.0, 12.0, 5.0)), case_of)
    assert (finding.name, finding.value) == ("height of bar, base", 5.0)
    assert finding.place.path == "housing.base.features[0].height"


def test_every_height_below_the_limit_is_told(round_project: Project, case_of: CaseOf) -> None:
    project = with_base(
        round_project,
        Crossbar("bar", 0.0, 0.0, 12.0, 3.5),
        Lug("ear", 70.0, 0.0, 20.0, 6.0, 12.0, 3.0),
        floor=3.8,
    )
    findings = section(project, case_of)
    assert [f.name for f in findings] == ["height of ear, base", "height of bar, base", "floor under the seat, base"]
    assert {f.verdict for f in findings} == {Verdict.NO_GO}
    assert findings[0].advice.show(MM) == "height of ear of the base: 3.00 mm of metal; 4.00 mm wanted"
    said = next(f for f in remedied(evaluate(project)).findings if f.name == "height of ear, base")
    assert said.advice.show(MM).endswith("; 4.00 mm wanted: make it 1.00 mm thicker")
    assert said.place.path == "housing.base.features[1].height"


def test_a_pocket_floor_counts(intake_project: Project, case_of: CaseOf) -> None:
    findings = check(case_of(intake_project))
    relief = next(f for f in findings if f.name == "floor under relief, lid")
    assert relief.value == 5.0
    assert relief.place.path == "housing.lid.features[0].floor"


def test_a_reworked_floor_can_not_be_thickened(round_project: Project, case_of: CaseOf) -> None:
    taller = replace(round_project.new_insert, height=43.0)
    project = replace(round_project, new_insert=taller, choices=Choices(mode=Mode.REWORK))
    (finding,) = section(project, case_of)
    assert finding.value == pytest.approx(3.0)
    assert finding.verdict is Verdict.NO_GO
    assert finding.place.path == "choices.height_to"


RING = HeldCurve(Family.CIRCLE, 90.0, 90.0, 0.0)  # between the seat's walls at 39.2 and 50.8


@pytest.mark.parametrize(
    ("feature", "name", "value", "path"),
    [
        pytest.param(
            Hole("eye", 30.0, 0.0, 4.0, boss=16.0, boss_height=3.5),
            "height of eye, base",
            3.5,
            "features[0].boss_height",
            id="a boss that stands out into the opening is as thick as it is high",
        ),
        pytest.param(
            Badge("sign", 30.0, 30.0, 0.0),
            "floor under the seat, base",
            6.0,
            "floor",
            id="a badge over the opening is as thick as floor and bars",
        ),
        pytest.param(
            Band("band", 0.0, 30.0, 2.0),
            "floor under the seat, base",
            8.0,
            "floor",
            id="plate and the band raised on it count as one",
        ),
        pytest.param(
            Pocket("relief", 1.0, 3.0, held=RING),
            "floor under relief, base",
            3.0,
            "features[0].floor",
            id="a pocket that is deeper than the seat leaves less where it runs into it",
        ),
    ],
)
def test_one_rule_for_all_metal(
    round_project: Project, case_of: CaseOf, feature: Feature, name: str, value: float, path: str
) -> None:
    findings = section(with_base(round_project, feature), case_of)
    assert findings[0].name == name
    assert findings[0].value == pytest.approx(value, abs=1e-9)
    assert findings[0].place.path == f"housing.base.{path}"


def test_what_lies_in_other_metal_has_no_height_of_its_own(round_project: Project, case_of: CaseOf) -> None:
    (finding,) = section(with_base(round_project, Hole("eye", 54.0, 0.0, 2.0, boss=5.0, boss_height=3.0)), case_of)
    assert (finding.name, finding.value) == ("floor under the seat, base", 6.0)


def test_a_lip_and_a_plate_that_are_low_are_told(round_project: Project, case_of: CaseOf) -> None:
    seat = replace(round_project.housing.base.seat, depth=0.6)
    project = with_base(round_project, floor=3.0, seat=seat, lip=Lip(6.0, 0.3))
    assert [(f.name, round(f.value, 9), f.place.path) for f in section(project, case_of)] == [
        ("floor under the seat, base", 3.0, "housing.base.floor"),
        ("height of the lip, base", 3.3, "housing.base.lip.height"),
        ("thickness, base", 3.6, "housing.base.floor"),
    ]
    closed = with_base(round_project, opening=None, floor=3.0, lip=Lip(6.0, 0.0))
    assert [f.name for f in section(closed, case_of)] == ["floor under the seat, base"]
    closed = with_base(round_project, opening=None, floor=3.0, lip=Lip(6.0, 0.5))
    assert [f.name for f in section(closed, case_of)][1:] == ["floor inside the lip, base"]


def test_metal_that_is_swallowed_altogether_is_told(round_project: Project, case_of: CaseOf) -> None:
    (finding,) = section(with_base(round_project, Hole("throat", 0.0, 0.0, 420.0)), case_of)
    assert (finding.name, finding.value, finding.verdict) == ("metal of the base", 0.0, Verdict.NO_GO)
    assert finding.advice.show(MM).startswith("no metal is left of the base")


def columns_agree(project: Project, case_of: CaseOf, places: int) -> None:
    """Held against metal and air sampled over the plan, without slabs (see `tests.support.columns`)."""
    case = case_of(project)
    limit = max(case.limits.floor_least, case.housing.metal.least_section)
    findings = check(case)
    for piece in case.after.pieces:
        mine = [f for f in findings if f.place.end is piece.end]
        own = case.housing.piece(piece.end)
        assert own is not None
        x0, y0, x1, y1 = piece.curves.outside.bounds
        at = np.random.default_rng(places).uniform((x0 - 25, y0 - 25), (x1 + 25, y1 + 25), (places, 2))
        seen = {round(z1 - z0, 5) for z0, z1, _ in columns(piece, own, case.housing.studs, at).runs()}
        if mine[0].name == f"metal of the {piece.end}":
            assert not seen
            continue
        told = {round(f.value, 5) for f in mine}
        assert min(seen, default=1e9) >= min(told) - SAME_HEIGHT_MM
        at = np.array([f.place.point for f in mine])
        there = columns(piece, own, case.housing.studs, at)
        for i, finding in enumerate(mine):
            heights = [z1 - z0 for z0, z1, over in there.runs() if over[i]]
            points = [0.0]  # a drill's point has 118° over all, and no columns of its own
            points += [TAP_DRILL_MM[s.thread] / 2.0 / np.tan(np.radians(59.0)) for s in case.housing.studs]
            is_blind = finding.name.startswith("floor under the hole of ")
            left = [max(h - p, 0.0) for h in heights for p in points[is_blind : None if is_blind else 1]]
            assert any(h == pytest.approx(finding.value, abs=5e-3) for h in left), finding.name
            assert finding.verdict is not Verdict.GO or finding.value >= limit - 1e-9


@pytest.mark.parametrize("seed", range(60))
def test_the_heights_told_are_those_of_sampled_columns(case_of: CaseOf, seed: int) -> None:
    columns_agree(wild_project(seed), case_of, 2000)


@pytest.mark.hard
@pytest.mark.parametrize("first", range(0, 2000, 100))
def test_the_heights_told_are_those_of_sampled_columns_in_thousands(case_of: CaseOf, first: int) -> None:
    for seed in range(first, first + 100):
        columns_agree(wild_project(seed), case_of, 6000)


def test_heights_that_differ_by_less_than_a_thousandth_are_one(round_project: Project, case_of: CaseOf) -> None:
    bars = (Crossbar("one", 0.0, 0.0, 12.0, 6.0 + 4e-4), Crossbar("two", 90.0, 0.0, 12.0, 0.1 + 5.9 + 1e-15))
    slabs = case_of(with_base(round_project, *bars)).after.base.slabs
    assert [(slab.z0, slab.z1) for slab in slabs] == [(0.0, 6.0), (6.0, 12.0), (12.0, 18.0)]


@pytest.mark.parametrize(
    ("tolerance", "left", "verdict"), [(0.5, 5.5, "go"), (1.7, 4.3, "marginal"), (2.1, 3.9, "no-go")]
)
def test_a_seat_that_is_cut_as_deep_as_it_may_be_leaves_less_floor(
    round_project: Project, case_of: CaseOf, tolerance: float, left: float, verdict: str
) -> None:
    seat = replace(round_project.housing.base.seat, depth_plus_minus=tolerance)
    (finding,) = section(with_base(round_project, seat=seat), case_of)
    assert (finding.name, finding.verdict) == ("floor under the seat, base", Verdict(verdict))
    assert finding.value == pytest.approx(left)
    assert "the tolerance of the seat's depth taken off" in finding.advice.show(MM)


def test_many_low_things_that_are_high_enough_hide_no_floor_that_is_not(
    round_project: Project, case_of: CaseOf
) -> None:
    # Of 4 mm that are wanted nine lugs have 4.3; the floor of 4.4 has 3.9 where its seat is as deep as it may be.
    ways = np.arange(9) * (2.0 * np.pi / 9.0)
    lugs = [Lug(f"ear {k}", 70.0 * np.cos(a), 70.0 * np.sin(a), 20.0, 6.0, 12.0, 4.3) for k, a in enumerate(ways)]
    seat = replace(round_project.housing.base.seat, depth_plus_minus=0.5)
    findings = section(with_base(round_project, *lugs, floor=4.4, seat=seat), case_of)
    assert [f.name for f in findings] == ["floor under the seat, base"]
    assert findings[0].value == pytest.approx(3.9)
    assert findings[0].verdict is Verdict.NO_GO


@pytest.mark.parametrize(
    ("depth", "left", "verdict"),
    [  # M8: drill 6.75, so its 118° point is 3.375 / tan 59° = 2.03 high; the base is 18 thick
        (11.5, 4.47, Verdict.GO),
        (11.8, 4.17, Verdict.MARGINAL),
        (13.5, 2.47, Verdict.NO_GO),
    ],
)
def test_under_a_blind_hole_the_metal_ends_at_the_drills_point(
    round_project: Project, case_of: CaseOf, depth: float, left: float, verdict: Verdict
) -> None:
    assert 6.75 / 2.0 / np.tan(np.radians(59.0)) == pytest.approx(2.03, abs=0.01)
    stud = Stud("stud", 0.0, 0.0, Thread.M8, 60.0, 20.0, hole_depth=depth)
    project = replace(round_project, housing=replace(round_project.housing, studs=(stud,)))
    (finding,) = section(project, case_of)
    assert finding.name == "floor under the hole of stud, base"
    assert finding.value == pytest.approx(left, abs=0.02)
    assert finding.verdict is verdict
    if verdict is Verdict.NO_GO:
        said = next(f for f in remedied(evaluate(project)).findings if f.name == finding.name)
        assert "drill its hole" in said.advice.show(MM)
        assert "the drill's point 2.0" in finding.formula.show(MM)
