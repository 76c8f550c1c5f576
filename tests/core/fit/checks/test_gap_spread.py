"""The gap over the spread of an insert's sizes, against inserts drawn from within it and measured by shapely."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely
from msgspec.structs import replace

from core.evaluate import evaluate
from core.files.project.demos import load_demo
from core.fit.checks.gap import check
from core.geometry.ovals.ovals import Family, exact_length, measured_oval, oval_outline
from core.part.insert import Insert, PlusMinus, Pressed, Rim, rim_outlines
from core.part.materials import Material
from core.part.project import Choices, Mode
from core.words.ends import End, Side
from core.words.lengths import Style, shower
from core.words.verdicts import Finding, Verdict
from tests.support.remedied import tried

if TYPE_CHECKING:
    from collections.abc import Callable

    from core.fit.case import Case
    from core.geometry.lines.outline import Outline
    from core.part.project import Project

    CaseOf = Callable[[Project], Case]

MM = shower(Style.MM)
CHORD = 2e-4


def by_name(findings: tuple[Finding, ...]) -> dict[str, Finding]:
    return {f.name: f for f in findings}


def ring_of(outline: Outline) -> shapely.LinearRing:
    return shapely.LinearRing(outline.chords(CHORD))


def measured(rim: Outline, wall: Outline, side: Side) -> tuple[float, float]:
    """Least and greatest clearance of a rim's edge from a wall, at its chords' ends, by shapely [mm]."""
    line = ring_of(wall)
    body = shapely.Polygon(line)
    shapely.prepare(body)
    points = shapely.points(rim.chords(0.02))
    away = shapely.distance(points, line)
    clear = np.where(shapely.contains(body, points) == (side is Side.OUTER), away, -away)
    return float(clear.min()), float(clear.max())


def drawn(rng: np.random.Generator, insert: Insert, count: int) -> list[Insert]:
    """Inserts from within the spread: the corners of its box, then any."""
    spread = insert.plus_minus
    half = np.array([spread.length, spread.width, spread.rim_width])
    corners = np.array(np.meshgrid(*[(-1.0, 1.0)] * 3)).reshape(3, -1).T
    inserts = []
    for length, width, rim in np.concatenate((corners, rng.uniform(-1.0, 1.0, (count, 3)))) * half:
        own_width = length if insert.family is Family.CIRCLE else width
        inserts.append(
            replace(
                insert,
                length=insert.length + length,
                width=insert.width + own_width,
                rim=replace(insert.rim, width=insert.rim.width + rim),
            )
        )
    return inserts


FAMILIES = [Family.CIRCLE, Family.OBROUND, Family.ELLIPSE, Family.FOUR_ARC, Family.ROUNDED_RECTANGLE]


@pytest.mark.parametrize("family", [*FAMILIES, Family.SUPERELLIPSE])
@pytest.mark.parametrize("seed", range(2))
def test_no_insert_within_its_spread_has_a_gap_outside_what_is_said_and_some_reach_it(
    round_project: Project, case_of: CaseOf, family: Family, seed: int
) -> None:
    rng = np.random.default_rng([seed, FAMILIES.index(family) if family in FAMILIES else 9])
    length = rng.uniform(90.0, 200.0)
    width = length if family is Family.CIRCLE else length * rng.uniform(0.6, 0.9)
    built = Insert("x", family, length, width, Rim(10.0, 10.0), 40.0)
    limits = rng.uniform(0.0, [0.8, 0.8, 0.3])
    if family is Family.CIRCLE:
        limits[1] = limits[0]
    new = replace(built, length=length + 0.4, width=width + (0.4 if family is Family.CIRCLE else 0.1))
    new = replace(new, plus_minus=PlusMinus(length=limits[0], width=limits[1], rim_width=limits[2]))
    # Reworked to a seat that is not parallel to the rim: the gap differs all the way round.
    choices = Choices(mode=Mode.REWORK, gap_outer=0.3, gap_inner=0.3)
    project = replace(round_project, old_insert=built, new_insert=new, choices=choices)
    said = by_name(check(case_of(project)))
    piece = case_of(project).after.base
    found: dict[Side, list[tuple[float, float]]] = {side: [] for side in Side}
    lengths: dict[Side, list[float]] = {side: [] for side in Side}
    for insert in drawn(rng, new, 6):
        for side, rim, wall in zip(Side, rim_outlines(insert, End.BASE), piece.walls, strict=True):
            found[side].append(measured(rim, wall, side))
            longer = ring_of(wall).length - ring_of(rim).length
            lengths[side].append((longer if side is Side.OUTER else -longer) / (2.0 * np.pi))
    for side in Side:
        wall_name = f"base's {side} wall"
        least, greatest = min(f[0] for f in found[side]), max(f[1] for f in found[side])
        assert said[f"least gap, {wall_name}"].value == pytest.approx(least, abs=2e-3)
        assert said[f"greatest gap, {wall_name}"].value == pytest.approx(greatest, abs=2e-3)
        assert said[f"least developed gap, {wall_name}"].value == pytest.approx(min(lengths[side]), abs=1e-3)
        assert said[f"greatest developed gap, {wall_name}"].value == pytest.approx(max(lengths[side]), abs=1e-3)


def test_by_hand_a_round_rim_loses_half_its_diameters_spread_and_inside_its_widths_too(
    round_project: Project, case_of: CaseOf
) -> None:
    insert = replace(round_project.new_insert, plus_minus=PlusMinus(length=0.4, width=0.4, rim_width=0.15))
    said = by_name(check(case_of(replace(round_project, new_insert=insert))))
    values = {name: f.value for name, f in said.items() if "base's" in name}
    # Radii: ± 0.2 outside; inside ± 0.2 ∓ 0.15, at worst 0.35.
    assert values == pytest.approx(
        {
            "least gap, base's outer wall": 0.6,
            "greatest gap, base's outer wall": 1.0,
            "least developed gap, base's outer wall": 0.6,
            "greatest developed gap, base's outer wall": 1.0,
            "least gap, base's inner wall": 0.45,
            "greatest gap, base's inner wall": 1.15,
            "least developed gap, base's inner wall": 0.45,
            "greatest developed gap, base's inner wall": 1.15,
        }
    )
    assert said["least gap, base's outer wall"].advice.show(MM) == (
        "gap 0.60 mm all round the base's outer wall with the spread of the sizes, 0.80 mm without; at least 0.30 mm "
        "is wanted"
    )


def test_a_pressed_rims_spread_is_that_of_its_developed_length(round_project: Project, case_of: CaseOf) -> None:
    free = Insert("x", Family.CIRCLE, 100.0, 100.0, Rim(6.0, 10.0), 40.0, plus_minus=PlusMinus(0.3, 0.3))
    insert = replace(free, pressed=Pressed(Family.OBROUND, 90.0))
    project = replace(round_project, old_insert=insert, new_insert=insert)
    said = by_name(check(case_of(project)))
    # The ring's length changes by π × 0.3 either way, so its developed gap by half of 0.3, whatever its shape.
    assert said["least developed gap, base's outer wall"].value == pytest.approx(0.8 - 0.15, abs=1e-6)
    assert said["greatest developed gap, base's outer wall"].value == pytest.approx(0.8 + 0.15, abs=1e-6)
    # All of it goes into the pressed length: 2 ΔL = π × 0.3, half of that at each end.
    assert said["least gap, base's outer wall"].value == pytest.approx(0.8 - np.pi * 0.3 / 4.0, abs=1e-6)
    assert exact_length(insert.oval) == pytest.approx(np.pi * 100.0)


def test_a_measured_outline_is_stretched_both_ways(round_project: Project, case_of: CaseOf) -> None:
    oval = measured_oval(oval_outline(load_demo("compressor-intake").new_insert.oval))
    insert = Insert(
        "x", Family.MEASURED, oval.length, oval.width, Rim(10.0, 10.0), 40.0, outline=oval.vertices,
        plus_minus=PlusMinus(0.5, 0.3, rim_width=0.1),
    )  # fmt: skip
    case = case_of(replace(round_project, old_insert=insert, new_insert=insert))
    said = by_name(check(case))
    piece = case.after.base
    points = rim_outlines(insert, End.BASE)[0].chords(1e-3)
    found: dict[Side, list[tuple[float, float]]] = {side: [] for side in Side}
    for sign in (-1.0, 1.0):
        grown = shapely.Polygon(points * (1.0 + sign * np.array([0.5 / oval.length, 0.3 / oval.width])))
        outer, inner = grown.exterior, grown.buffer(-(10.0 - sign * 0.1), quad_segs=200).exterior
        for side, ring, wall in ((Side.OUTER, outer, piece.walls[0]), (Side.INNER, inner, piece.walls[1])):
            away = shapely.distance(shapely.points(np.array(ring.segmentize(0.5).coords)), ring_of(wall))
            found[side].append((float(away.min()), float(away.max())))
    for side in Side:
        name = f"base's {side} wall"
        assert said[f"least gap, {name}"].value == pytest.approx(min(f[0] for f in found[side]), abs=4e-3)
        assert said[f"greatest gap, {name}"].value == pytest.approx(max(f[1] for f in found[side]), abs=4e-3)


@pytest.mark.parametrize(
    "spread", [PlusMinus(300.0, 300.0), PlusMinus(0.0, 0.0, rim_width=30.0), PlusMinus(0.0, 60.0), PlusMinus(5.0, 0.0)]
)
def test_any_spread_gets_an_answer(round_project: Project, case_of: CaseOf, spread: PlusMinus) -> None:
    for family in (Family.CIRCLE, Family.ELLIPSE, Family.OBROUND):
        insert = replace(round_project.new_insert, family=family, plus_minus=spread)
        found = check(case_of(replace(round_project, old_insert=insert, new_insert=insert)))
        assert np.isfinite([f.value for f in found]).all()
        assert {f.verdict for f in found} >= {Verdict.NO_GO}


def test_a_gap_that_only_the_spread_spoils_also_says_to_measure_more(round_project: Project) -> None:
    insert = replace(round_project.new_insert, plus_minus=PlusMinus(length=1.2, width=1.2))
    project = replace(round_project, new_insert=insert)
    finding = tried(project, "least gap, base's outer wall")
    assert finding.verdict is Verdict.NO_GO
    assert [r.text for r in finding.remedies][-1] == "measure more samples"
    assert len(finding.remedies) == 2  # 0.2 to 1.4: a gap 0.1 wider reaches from 0.3 to 1.5
    wider = replace(insert, plus_minus=PlusMinus(length=1.4, width=1.4))  # 0.1 to 1.5: no gap serves both ends
    for name in ("least gap, base's outer wall", "greatest developed gap, base's outer wall"):
        finding = tried(replace(project, new_insert=wider), name)
        assert finding.verdict is not Verdict.GO
        assert [r.text for r in finding.remedies] == ["measure more samples"]


# The wall that guides


def reworked(project: Project, guided_by: Side, change: float, **insert: object) -> Project:
    """A casting machined out for an insert that is ``change`` longer and wider, and has a rim of another width."""
    old = project.old_insert
    new = replace(old, length=old.length + change, width=old.width + change, **insert)
    return replace(project, new_insert=new, choices=Choices(mode=Mode.REWORK, guided_by=guided_by))


def gap_verdicts(project: Project, words: str) -> set[Verdict]:
    return {f.verdict for f in evaluate(project).findings if f.check == "gap" and words in f.name}


@pytest.mark.parametrize("material", [Material.FOAM, Material.RIGID])
@pytest.mark.parametrize(
    ("side", "change", "rim"),
    [(Side.INNER, 0.0, 8.5), (Side.OUTER, -3.0, 8.5)],  # a narrower rim leaves the other wall 1.5 mm further off
)
def test_a_wide_gap_at_the_wall_that_does_not_guide_is_marginal_in_a_rework_that_bears(
    round_project: Project, material: Material, side: Side, change: float, rim: float
) -> None:
    other = Side.OUTER if side is Side.INNER else Side.INNER
    rims = {"rim": Rim(rim, 10.0), "material": material}
    guided = reworked(round_project, other, change, **rims)
    assert gap_verdicts(guided, f"{other} wall") <= {Verdict.GO, Verdict.MARGINAL}
    assert gap_verdicts(guided, f"{side} wall") == {Verdict.MARGINAL}
    said = next(f for f in evaluate(guided).findings if f.name == f"gap, base's {side} wall")
    assert said.value == pytest.approx(2.3)
    assert f"the base's {other} wall guides the rim and it bears on the floor all round" in said.advice.show(MM)
    # Guided by that wall itself it is no-go, and so it is in a new pattern, where the gap can be made as wanted.
    assert gap_verdicts(reworked(round_project, side, change, **rims), f"{side} wall") == {Verdict.NO_GO}
    made = replace(round_project, choices=replace(Choices(guided_by=other), **{f"gap_{side}": 2.3}))
    assert Verdict.NO_GO in gap_verdicts(made, f"{side} wall")


def test_a_rim_that_does_not_bear_is_not_spared_its_wide_gap(round_project: Project) -> None:
    project = reworked(round_project, Side.OUTER, 0.0, rim=Rim(8.5, 10.0), material=Material.FOAM)
    strict = replace(project, limits=replace(project.limits, bearing_least=8.6))
    assert gap_verdicts(strict, "inner wall") == {Verdict.NO_GO}


def test_a_wall_that_does_not_serve_guides_nothing(round_project: Project) -> None:
    project = reworked(round_project, Side.OUTER, 0.0, rim=Rim(8.5, 10.0), material=Material.FOAM)
    strict = replace(project, limits=replace(project.limits, gap_outer_greatest=0.5))
    assert gap_verdicts(strict, "inner wall") == {Verdict.NO_GO}


@pytest.mark.parametrize("guided_by", list(Side))
def test_interference_stays_no_go_whichever_wall_guides(round_project: Project, guided_by: Side) -> None:
    project = reworked(round_project, guided_by, 2.4, rim=Rim(13.0, 10.0), material=Material.RIGID)
    project = replace(project, choices=replace(project.choices, gap_outer=-0.2, gap_inner=-0.2))
    for side in Side:
        assert Verdict.NO_GO in gap_verdicts(project, f"{side} wall")


def test_limits_of_one_wall_leave_the_other_alone(round_project: Project, case_of: CaseOf) -> None:
    project = replace(round_project, limits=replace(round_project.limits, gap_inner_least=0.9, gap_inner_greatest=3.0))
    verdicts = {name: f.verdict for name, f in by_name(check(case_of(project))).items() if "base's" in name}
    assert verdicts["gap, base's outer wall"] is Verdict.GO
    assert verdicts["gap, base's inner wall"] is Verdict.NO_GO
