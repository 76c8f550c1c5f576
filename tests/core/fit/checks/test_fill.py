"""Room for the rim, against areas of sections that shapely measures on fine chords, and volumes (Pappus, Steiner)."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely
from msgspec.structs import replace

from core.edits import set_value
from core.evaluate import evaluate
from core.files.project.demos import load_demo
from core.fit.checks.fill import check
from core.geometry.ovals.ovals import Family
from core.part.insert import PlusMinus
from core.part.materials import MATERIALS, Material
from core.words.ends import End
from core.words.lengths import Style, shower
from core.words.verdicts import Unit, Verdict
from tests.support.remedied import done, found, tried

if TYPE_CHECKING:
    from collections.abc import Callable

    from core.fit.case import Case
    from core.geometry.lines.outline import Outline
    from core.part.project import Project

    CaseOf = Callable[[Project], Case]

MM, INCH = shower(Style.MM), shower(Style.INCH)
NAME = "room for the rim, base"


def of(project: Project, material: Material, **insert: object) -> Project:
    return replace(project, new_insert=replace(project.new_insert, material=material, **insert))


def ring(outer: Outline, inner: Outline) -> shapely.Polygon:
    return shapely.Polygon(outer.chords(1e-4), [inner.chords(1e-4)])


def closed_rims(case: Case) -> float:
    """The height that both rims have left when the lid is down: closed height less the insert's stiff middle [mm]."""
    h, insert = case.housing, case.insert
    assert h.lid is not None
    soft = insert.rim_at(End.BASE).thickness + insert.rim_at(End.LID).thickness
    return h.base.seat.depth + h.lid.seat.depth + h.faces.distance - (insert.height - soft)


def test_demo_1_is_108_percent_full_which_foam_can_be_and_solid_rubber_can_not() -> None:
    project = load_demo("compressor-intake")
    assert project.new_insert.material is Material.FOAM
    assert not any(f.check == "fill" for f in evaluate(project).findings)
    for end in End:
        project = set_value(project, f"housing.{end}.seat.depth_plus_minus", 0.0)
    exact = replace(project.new_insert, plus_minus=PlusMinus(), material=Material.SOFT_RUBBER)
    solid = found(replace(project, new_insert=exact), NAME)
    # By hand: a rim of 15 × 9, squeezed by 3 of 18, in a seat of 15 + 0.8 + 0.8: 15 × 9 / (16.6 × 7.5).
    assert solid.value == pytest.approx(100.0 * 15.0 * 9.0 / (16.6 * 7.5), abs=1e-6)
    assert round(solid.value) == 108
    assert solid.verdict is Verdict.NO_GO
    assert solid.advice.show(MM).startswith(
        "the rim fills 108 % of the base's closed seat; at most 95 % is wanted, since solid rubber keeps its volume"
    )


@pytest.mark.parametrize("family", [Family.CIRCLE, Family.OBROUND, Family.ELLIPSE, Family.ROUNDED_RECTANGLE])
@pytest.mark.parametrize("gaps", [(0.8, 0.8), (2.5, 2.5)])
def test_fill_is_the_rims_volume_over_the_closed_seats(
    round_project: Project, case_of: CaseOf, family: Family, gaps: tuple[float, float]
) -> None:
    length = 100.0 if family is Family.CIRCLE else 150.0
    insert = replace(round_project.new_insert, family=family, length=length, material=Material.SOFT_RUBBER)
    choices = replace(round_project.choices, gap_outer=gaps[0], gap_inner=gaps[1])
    case = case_of(replace(round_project, old_insert=insert, new_insert=insert, choices=choices))
    for finding, piece, thickness in zip(check(case), case.after.pieces, (10.0, 10.0), strict=True):
        c = piece.curves
        # Equal gaps on both sides: rim and seat have one middle line, so the volumes go as the sections.
        rim = ring(c.rim_outer, c.rim_inner).area * thickness
        seat = ring(c.seat_outer, c.seat_inner).area * closed_rims(case) * thickness / 20.0
        assert finding.value == pytest.approx(100.0 * rim / seat, rel=2e-5)
        assert finding.unit is Unit.PERCENT


@pytest.mark.parametrize("gaps", [(0.6, 1.4), (2.0, 0.5)])
def test_fill_is_that_of_a_section_through_rim_and_seat(
    round_project: Project, case_of: CaseOf, gaps: tuple[float, float]
) -> None:
    choices = replace(round_project.choices, gap_outer=gaps[0], gap_inner=gaps[1])
    case = case_of(of(replace(round_project, choices=choices), Material.HARD_RUBBER))
    c = case.after.base.curves
    cut = shapely.LineString([(0.0, 0.0), (80.0, 0.0)])  # a radius: normal to rim and walls
    rim = ring(c.rim_outer, c.rim_inner).intersection(cut).length * 10.0
    seat = ring(c.seat_outer, c.seat_inner).intersection(cut).length * closed_rims(case) / 2.0
    assert check(case)[0].value == pytest.approx(100.0 * rim / seat, rel=1e-4)


@pytest.mark.parametrize("seed", range(8))
def test_no_rim_within_its_spread_fills_the_seat_more_than_is_said(
    round_project: Project, case_of: CaseOf, seed: int
) -> None:
    rng = np.random.default_rng(seed)
    height, width, depth = rng.uniform(0.0, [0.8, 0.5, 0.4])
    project = of(round_project, Material.SOFT_RUBBER, plus_minus=PlusMinus(height=height, rim_width=width))
    assert project.housing.lid is not None
    base = replace(project.housing.base, seat=replace(project.housing.base.seat, depth_plus_minus=depth))
    case = case_of(replace(project, housing=replace(project.housing, base=base)))
    c = case.after.base.curves
    seat = ring(c.seat_outer, c.seat_inner).area
    fills = []
    corners = np.array(np.meshgrid(*[(-1.0, 1.0)] * 3)).reshape(3, -1).T
    for h, w, d in np.concatenate((corners, rng.uniform(-1.0, 1.0, (200, 3)))):
        middle = c.rim_inner.length + c.rim_outer.length
        rim = (10.0 + w * width) * middle / 2.0 * (20.0 + h * height)  # a rim about the same middle line
        fills.append(100.0 * rim / (seat * (closed_rims(case) + d * depth)))
    assert max(fills) == pytest.approx(check(case)[0].value, rel=1e-5)


@pytest.mark.parametrize("material", list(Material))
def test_only_what_is_or_may_be_solid_rubber_needs_room(
    round_project: Project, case_of: CaseOf, material: Material
) -> None:
    findings = check(case_of(of(round_project, material)))  # 10 / (11.6 × 0.825) = 104 %
    if MATERIALS[material].is_solid_rubber:
        assert {f.verdict for f in findings} == {Verdict.NO_GO}
    elif material is Material.NOT_STATED:
        assert {f.verdict for f in findings} == {Verdict.MARGINAL}
    else:
        assert findings == ()


def test_an_overfull_rim_of_no_stated_material_says_that_it_wants_one(round_project: Project) -> None:
    finding = tried(round_project, NAME)
    assert finding.verdict is Verdict.MARGINAL
    assert finding.place.path == "new_insert.material"
    assert finding.advice.show(MM) == (
        "the rim fills 104 % of the base's closed seat; at most 95 % is wanted, should it be of solid rubber, which "
        "keeps its volume: choose what the rims are made of, with the insert's sizes"
    )


def test_a_rim_with_room_is_go_whatever_it_is_made_of(round_project: Project, case_of: CaseOf) -> None:
    choices = replace(round_project.choices, gap_outer=2.5, gap_inner=2.5)  # 10 / (15 × 0.825) = 81 %
    for material in (Material.NOT_STATED, Material.SOFT_RUBBER):
        finding = check(case_of(of(replace(round_project, choices=choices), material)))[0]
        assert (finding.verdict, round(finding.value)) == (Verdict.GO, 81)


def test_a_ring_without_a_lid_or_without_a_lip_holds_no_rubber_in(
    round_project: Project, ring_project: Project, case_of: CaseOf
) -> None:
    assert check(case_of(of(ring_project, Material.SOFT_RUBBER))) == ()
    base = replace(round_project.housing.base, lip=replace(round_project.housing.base.lip, height=0.0))
    project = replace(round_project, housing=replace(round_project.housing, base=base))
    assert [f.name for f in check(case_of(of(project, Material.SOFT_RUBBER)))] == ["room for the rim, lid"]


def test_a_seat_closed_to_nothing_leaves_no_room_and_no_infinity(round_project: Project, case_of: CaseOf) -> None:
    flat = set_value(of(round_project, Material.SOFT_RUBBER), "new_insert.height", 62.0)
    flat = replace(flat, choices=set_value(flat, "choices.height_to", "squeeze").choices)
    finding = check(case_of(flat))[0]
    assert finding.verdict is Verdict.NO_GO
    assert np.isfinite(finding.value)
    assert "no room at all" in finding.advice.show(MM)


def test_a_wider_seat_makes_room_where_the_gap_may_be_wider(round_project: Project) -> None:
    limits = replace(round_project.limits, gap_inner_greatest=4.0, open_area=0.8)
    project = of(replace(round_project, limits=limits), Material.SOFT_RUBBER)
    finding = tried(project, NAME)
    first = finding.remedies[0]
    assert finding.place.path == "choices.gap_inner"
    assert "make the seat's inner gap" in finding.advice.show(MM)
    assert found(done(project, first), NAME).verdict.rank < finding.verdict.rank
    assert "{" not in finding.advice.show(INCH)
