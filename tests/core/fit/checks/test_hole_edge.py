"""Metal round holes: distances by elementary geometry; 1.5 to 2 diameters from a centre is the usual practice."""

from __future__ import annotations

from math import hypot
from typing import TYPE_CHECKING

import numpy as np
import pytest
from msgspec.structs import replace

from core.evaluate import evaluate
from core.features.badge import Badge
from core.features.band import Band
from core.features.crossbar import Crossbar
from core.features.ground import Made
from core.features.hole import Hole
from core.features.kind import Follows
from core.features.lug import Lug
from core.features.stud.stud import Stud
from core.features.stud.threads import Thread
from core.fit.checks.hole_edge import MOST_FINDINGS, check
from core.words.ends import End
from core.words.lengths import Style, shower
from core.words.verdicts import Finding, Verdict
from tests.support.remedied import done, tried
from tests.support.wild import wild_project

if TYPE_CHECKING:
    from collections.abc import Callable

    from core.features.registry import Feature
    from core.fit.case import Case
    from core.part.project import Project

    CaseOf = Callable[[Project], Case]

MM, INCH = shower(Style.MM), shower(Style.INCH)

WALL = 20.0


@pytest.fixture
def broad(round_project: Project) -> Callable[..., Project]:
    """The round project with a wall 20 thick: the seat ends at 50.8, the outside at 70.8."""

    def made(*features: Feature, lid_features: tuple[Feature, ...] = (), **housing: object) -> Project:
        assert round_project.housing.lid is not None
        base = replace(round_project.housing.base, wall=WALL, features=features)
        lid = replace(round_project.housing.lid, wall=WALL, features=lid_features)
        return replace(round_project, housing=replace(round_project.housing, base=base, lid=lid, **housing))

    return made


def only(findings: tuple[Finding, ...]) -> Finding:
    (finding,) = findings
    return finding


@pytest.mark.parametrize(
    ("x", "value", "edge"),
    [
        (60.0, 9.2, "the seat's outer wall"),
        (58.8, 8.0, "the seat's outer wall"),
        (63.8, 7.0, "the outside"),
    ],
)
def test_from_the_centre_to_the_nearest_other_edge(
    broad: Callable[..., Project], case_of: CaseOf, x: float, value: float, edge: str
) -> None:
    finding = only(check(case_of(broad(Hole("screw", 0.0, x, 5.0, Made.DRILLED)))))
    assert finding.value == pytest.approx(value, abs=1e-9)
    assert finding.low == pytest.approx(7.5)
    assert edge in finding.advice.show(MM)
    assert finding.place.point == pytest.approx((0.0, x))
    assert finding.place.other is not None
    assert hypot(finding.place.other[0], finding.place.other[1] - x) == pytest.approx(value)
    assert "mm" not in finding.advice.show(INCH) + finding.formula.show(INCH)


@pytest.mark.parametrize(("diameter", "verdict"), [(6.0, Verdict.GO), (6.5, Verdict.MARGINAL), (6.7, Verdict.NO_GO)])
def test_verdict_against_a_multiple_of_the_diameter(
    broad: Callable[..., Project], case_of: CaseOf, diameter: float, verdict: Verdict
) -> None:
    finding = only(check(case_of(broad(Hole("screw", 60.8, 0.0, diameter, Made.DRILLED)))))
    assert finding.verdict is verdict
    assert finding.margin == pytest.approx(max(10.0 - 1.5 * diameter, 10.0 - 1.5 * diameter))


def test_two_holes_are_each_others_edge(broad: Callable[..., Project], case_of: CaseOf) -> None:
    holes = (Hole("one", 60.8, 4.0, 4.0), Hole("two", 60.8, -4.0, 6.0))
    findings = check(case_of(broad(*holes)))
    assert [f.value for f in findings] == pytest.approx([6.0, 5.0])  # two to one's edge, one to two's
    assert [f.verdict for f in findings] == [Verdict.NO_GO, Verdict.NO_GO]
    assert "two at the right: 6.00 mm from its centre to one's edge" in findings[0].advice.show(MM)


def test_a_hole_through_the_edge_of_the_metal_has_no_more_than_its_radius(
    broad: Callable[..., Project], case_of: CaseOf
) -> None:
    finding = only(check(case_of(broad(Hole("screw", 69.8, 0.0, 6.0, Made.DRILLED)))))
    assert finding.value == pytest.approx(3.0)
    assert finding.verdict is Verdict.NO_GO
    assert "screw at the right breaks through the outside; 9.00 mm wanted" in finding.advice.show(MM)


def test_throats_are_left_to_the_webs_and_drilled_holes_are_not(broad: Callable[..., Project], case_of: CaseOf) -> None:
    throat = Hole("throat", 0.0, 0.0, 24.0)
    assert check(case_of(broad(lid_features=(throat,)))) == ()
    drilled = replace(throat, made=Made.DRILLED)
    assert only(check(case_of(broad(lid_features=(drilled,))))).low == pytest.approx(36.0)


def test_a_lug_is_judged_by_its_pad(broad: Callable[..., Project], case_of: CaseOf) -> None:
    lug = Lug("ear", 84.8, 0.0, pad=18.0, hole=6.6, neck=12.0, height=10.0)
    finding = only(check(case_of(broad(lug))))
    assert finding.value == pytest.approx(9.0)
    assert finding.verdict is Verdict.NO_GO
    assert finding.place.path == "housing.base.features[0].pad"
    assert "9.00 mm from its centre to its own pad's edge" in finding.advice.show(MM)
    assert "make its pad 1.80 mm larger" in tried(broad(lug), finding.name).advice.show(MM)
    bigger = replace(lug, pad=18.0 + 1.8)
    assert only(check(case_of(broad(bigger)))).verdict is Verdict.MARGINAL


def test_of_a_stud_the_hole_that_is_in_the_piece_counts(broad: Callable[..., Project], case_of: CaseOf) -> None:
    """M8: the tapped hole is 8 wide in the base, whatever its drill was; clearance 9.0 in the lid (ISO 273, medium)."""
    bar = Crossbar("bar", 0.0, 0.0, 30.0, 6.0)
    project = broad(bar, studs=(Stud("stud", 0.0, 0.0, Thread.M8, 80.0, 22.0),))
    lid, base = sorted(check(case_of(project)), key=lambda f: f.place.end is not End.LID)
    assert base.low == pytest.approx(1.5 * 8.0)
    assert lid.low == pytest.approx(1.5 * 9.0)
    # Over the bar the boss stands alone in the opening: its own edge is the nearest.
    assert base.value == pytest.approx(11.0)
    assert lid.value == pytest.approx(11.0)
    assert lid.place.path == "housing.studs[0].boss"
    assert (base.verdict, lid.verdict) == (Verdict.NO_GO, Verdict.NO_GO)
    assert "its own boss's edge" in lid.advice.show(MM)


def test_its_own_boss_is_said_of_nothing_else(broad: Callable[..., Project], case_of: CaseOf) -> None:
    bare = Hole("bare", 60.8, 0.0, 7.0, Made.DRILLED)
    in_wall = Hole(
        "sunk", -60.8, 0.0, 7.0, Made.DRILLED, 12.0, 10.0
    )  # its boss lies in the wall, and has no edge there
    narrow = Lug("ear", 0.0, 84.8, pad=40.0, hole=9.0, neck=20.0, height=10.0)
    for feature in (bare, in_wall):
        text = only(check(case_of(broad(feature)))).advice.show(MM)
        assert "from its centre to the outside" in text
        assert "own" not in text
    assert "pad" in only(check(case_of(broad(narrow)))).advice.show(MM)


@pytest.mark.parametrize(
    "hole",
    [
        Hole("screw", 55.0, 0.0, 5.0, Made.DRILLED),
        Hole("screw", 66.0, 0.0, 5.0, Made.DRILLED, follows=Follows.SEAT),
        Hole("screw", -36.0, -44.0, 5.0, Made.DRILLED),
        Hole("screw", 74.0, 0.0, 5.0, Made.DRILLED),
        Hole("screw", 60.8, 0.0, 9.0, Made.DRILLED),
    ],
    ids=["near the seat", "near the outside", "aslant", "in the air", "too large"],
)
def test_every_remedy_for_a_hole_mends_it(broad: Callable[..., Project], hole: Hole) -> None:
    project = broad(hole)
    finding = tried(project, "metal round screw, base")
    assert finding.verdict is not Verdict.GO
    assert finding.remedies
    for remedy in finding.remedies:
        again = evaluate(done(project, remedy))
        assert all(f.verdict.rank < finding.verdict.rank for f in again.findings if f.name == "metal round screw, base")


def test_a_move_says_which_way_how_far_and_where_to(broad: Callable[..., Project]) -> None:
    """4.2 from the seat's outer wall where 7.5 is wanted: 3.3 outwards, to 58.3."""
    project = broad(Hole("screw", 55.0, 0.0, 5.0, Made.DRILLED))
    text = tried(project, "metal round screw, base").advice.show(MM)
    assert "move it 3.30 mm towards the right (0°), to x 58.30 mm, y 0.00 mm" in text


# A second opinion: by dense samples of every edge but the hole's own


def _hold_hole_edges(seeds: range) -> int:
    checked = 0
    for seed in seeds:
        result = evaluate(wild_project(seed))
        for finding in result.findings:
            if finding.check != "hole edge" or not finding.name.startswith("metal round ") or finding.value <= 0.0:
                continue
            end, at = finding.place.end, finding.place.point
            assert end is not None
            assert at is not None
            piece = result.after.piece(end)
            assert piece is not None
            name = finding.name.removeprefix("metal round ").rpartition(",")[0]
            hole = next(p for p in piece.parts if p.kind == "hole" and p.name == name)
            tapped = {s.name: float(s.thread[1:]) for s in result.after.housing.studs if end is End.BASE}
            diameter = tapped.get(name, 2.0 * hole.radius)
            assert finding.low == pytest.approx(result.project.limits.hole_edge * diameter)
            nearest = np.inf
            for slab in piece.slabs:
                if slab.z1 <= 0.0:
                    continue
                edges = [
                    loop.points_at(np.concatenate((loop.starts[:-1], loop.length * np.arange(4000) / 4000)))
                    for loop in slab.region.loops
                ]
                if not edges:
                    continue
                away = np.hypot(*(np.concatenate(edges) - at).T)
                own = np.abs(away - hole.radius) < 1e-6
                if own.sum() > 1:  # the hole goes through this slab
                    nearest = min(nearest, float(away[~own].min(initial=np.inf)))
            # Samples stray a little from the nearest place, and never come nearer than it. Where edges end on the
            # hole's own, the next sample along them is a step further.
            breaks_through = finding.value <= hole.radius + 1e-6
            assert nearest >= finding.value - 1e-6 or breaks_through
            assert nearest <= finding.value + (0.5 if breaks_through else 0.05)
            checked += 1
    return checked


def test_hole_edges_of_wild_projects_by_dense_samples() -> None:
    assert _hold_hole_edges(range(25)) > 25


@pytest.mark.hard
def test_hole_edges_of_thousands_of_wild_projects_by_dense_samples() -> None:
    _hold_hole_edges(range(25, 2060))


def test_only_heights_that_the_hole_passes_count(broad: Callable[..., Project], case_of: CaseOf) -> None:
    # The lip's hole ends with the lip; above it the edge of the seat is none of its business.
    hole = Hole("screw", 60.8, 0.0, 5.0, Made.DRILLED)
    band = Band("band", inset=7.4, width=3.0, height=2.0)
    with_band = only(check(case_of(broad(hole, band))))
    assert with_band.value == pytest.approx(10.0)  # the band on the face, 1.1 from the centre, holds nothing


def test_a_hole_to_be_drilled_in_the_air_is_no_go_and_a_cored_one_is_nothing(
    broad: Callable[..., Project], case_of: CaseOf
) -> None:
    finding = only(check(case_of(broad(Hole("screw", 0.0, 0.0, 5.0, Made.DRILLED)))))
    assert finding.verdict is Verdict.NO_GO
    assert "no metal" in finding.advice.show(MM)
    assert check(case_of(broad(Hole("screw", 0.0, 0.0, 5.0, Made.CORED)))) == ()


@pytest.mark.parametrize(("boss", "on"), [(6.0, True), (5.0, True), (4.0, False)])
def test_a_drilled_hole_must_lie_on_its_boss(
    broad: Callable[..., Project], case_of: CaseOf, boss: float, *, on: bool
) -> None:
    findings = check(case_of(broad(Hole("screw", 60.8, 0.0, 5.0, Made.DRILLED, boss, 10.0))))
    off = [f for f in findings if f.name == "screw on its boss, base"]
    assert bool(off) is not on
    if off:
        assert off[0].value == pytest.approx(-0.5)
        assert off[0].verdict is Verdict.NO_GO
        assert off[0].place.path == "housing.base.features[0].boss"


def test_the_tightest_is_told_and_every_other_that_is_not_well(broad: Callable[..., Project], case_of: CaseOf) -> None:
    well = [Hole(f"well {i}", 60.8 * (1 if i else -1), 0.0, 3.0) for i in range(2)]
    assert len(check(case_of(broad(*well)))) == 1
    ill = [Hole(f"ill {i}", -20.0 + 5.0 * i, 58.0, 3.0) for i in range(MOST_FINDINGS + 2)]
    findings = check(case_of(broad(*ill)))
    assert len(findings) == MOST_FINDINGS
    assert [f.margin for f in findings] == sorted(f.margin for f in findings)


def test_a_badge_in_the_opening_is_metal_for_its_hole(broad: Callable[..., Project], case_of: CaseOf) -> None:
    project = broad(Badge("badge", 20.0, 20.0, 1.0), Hole("eye {x}", 0.0, 0.0, 5.0, Made.DRILLED))
    finding = only(check(case_of(project)))
    assert finding.value == pytest.approx(10.0)
    assert "eye {x} at the centre: 10.00 mm from its centre to badge's edge" in finding.advice.show(MM)
