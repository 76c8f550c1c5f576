from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely
from msgspec.structs import replace

from core.evaluate import evaluate
from core.files.project.demos import load_demo
from core.files.project.file import decode_project, encode_project
from core.geometry.ovals.ovals import Family, exact_length
from core.measure.candidates.compare import add_candidates, compare, make_new_insert
from core.part.insert import Insert, PlusMinus, Pressed, Rim
from core.part.materials import Material
from core.part.readings import Origin, SizeName, Source
from core.words.ends import End
from core.words.errors import Cancelled
from core.words.lengths import Style, shower
from core.words.verdicts import Verdict

if TYPE_CHECKING:
    from core.measure.candidates.results import Candidate, Comparison
    from core.part.project import Project

SHOW = shower(Style.MM)


@pytest.fixture(scope="module")
def project() -> Project:
    """The first demo: obround, yielding; old 212.0 × 134.0 × 58.0, rim 14.0."""
    return load_demo("compressor-intake")


@pytest.fixture(scope="module")
def same(project: Project) -> Insert:
    return replace(project.old_insert, name="same")


@pytest.fixture(scope="module")
def grown(project: Project) -> Insert:
    """2 mm larger all round outside, its rim 2 mm wider, so that it is the same inside."""
    old = project.old_insert
    rim = replace(old.rim, width=old.rim.width + 2.0)
    return replace(old, name="grown", length=old.length + 4.0, width=old.width + 4.0, rim=rim)


@pytest.fixture(scope="module")
def ellipse(project: Project) -> Insert:
    return replace(project.old_insert, name="ellipse", family=Family.ELLIPSE)


@pytest.fixture(scope="module")
def impossible(project: Project) -> Insert:
    return replace(project.old_insert, name="too wide", width=300.0)


@pytest.fixture(scope="module")
def comparison(project: Project, same: Insert, grown: Insert, ellipse: Insert, impossible: Insert) -> Comparison:
    return compare(project, (impossible, ellipse, grown, same, project.new_insert))


def found(comparison: Comparison, name: str) -> Candidate:
    return next(c for c in comparison.ranked if c.insert.name == name)


def ellipse_length(length: float, width: float) -> float:
    """4 a E(e²), the complete elliptic integral of the second kind, by scipy."""
    from scipy.special import ellipe

    a, b = length / 2.0, width / 2.0
    return float(4.0 * a * ellipe(1.0 - (b / a) ** 2))


def obround_length(length: float, width: float) -> float:
    """2 (L - W) + π W: two straight sides and one circle."""
    return 2.0 * (length - width) + pi * width


def test_every_candidate_is_listed_and_the_better_verdict_comes_first(comparison: Comparison) -> None:
    assert len(comparison.ranked) == 5
    assert sorted(c.index for c in comparison.ranked) == [0, 1, 2, 3, 4]
    ranks = [c.verdict.rank for c in comparison.ranked if c.error is None]
    assert ranks == sorted(ranks)
    assert len(set(ranks)) > 1


def test_the_verdict_is_the_one_that_the_project_has_with_it(comparison: Comparison, project: Project) -> None:
    for candidate in comparison.ranked[:-1]:
        result = evaluate(replace(project, new_insert=candidate.insert))
        assert candidate.verdict is result.overall
        assert len(candidate.conflicts) == len({(c.place.end, c.feature) for c in result.conflicts})


def test_the_old_insert_itself_moves_nothing_and_fits_the_castings(comparison: Comparison, project: Project) -> None:
    same = found(comparison, "same")
    assert same is comparison.ranked[0]
    assert same.greatest is None
    assert same.moving == ()
    assert same.rework is not None
    assert same.rework.is_possible
    assert same.rework.wall == project.housing.base.wall
    assert same.settling is not None
    assert same.settling.verdict is not Verdict.NO_GO


def test_a_curve_moves_by_its_normal_distance(comparison: Comparison) -> None:
    greatest = found(comparison, "grown").greatest
    assert greatest is not None
    assert greatest.name == "base: seat outer"
    assert greatest.by == pytest.approx(2.0, abs=1e-6)  # grown all round by as much
    assert greatest.how.show(SHOW) == "2.00 mm, base: seat outer, outward all round"


def test_another_shape_moves_its_curves_even_with_the_same_length_and_width(
    comparison: Comparison, project: Project
) -> None:
    old = project.old_insert
    ellipse = found(comparison, "ellipse")
    assert ellipse.outgrown is not None
    t = np.linspace(0.0, 2.0 * pi, 4001)
    ring = shapely.LinearRing(np.stack((old.length / 2.0 * np.cos(t), old.width / 2.0 * np.sin(t)), axis=1))
    # GEOS as a second opinion: stations of the old rim against a fine polygon of the ellipse.
    distance = shapely.distance(shapely.points(ellipse.outgrown.rim), ring)
    assert -ellipse.outgrown.gap.min() == pytest.approx(distance.max(), abs=1e-3)
    assert ellipse.greatest is not None
    assert abs(ellipse.greatest.by) >= distance.max() - 1e-3


def test_reworked_castings_lose_the_growth_of_their_wall(comparison: Comparison, project: Project) -> None:
    rework = found(comparison, "grown").rework
    assert rework is not None
    assert rework.wall is not None
    # Nothing but the seat moves, so the wall gets thinner by what the seat grows.
    assert rework.wall == pytest.approx(project.housing.base.wall - 2.0, abs=1e-6)
    assert rework.thinnest is not None
    assert rework.thinnest.value <= rework.wall + 1e-9


def test_a_casting_whose_old_seat_is_too_large_can_not_be_reworked(comparison: Comparison) -> None:
    rework = found(comparison, "ellipse").rework
    assert rework is not None
    assert not rework.is_possible
    assert "metal can't be put back" in rework.says.show(SHOW)


def test_a_yielding_rim_settles_by_its_developed_length_whatever_its_shape(project: Project) -> None:
    old, seat = project.old_insert, project.housing.base.seat
    seat_length = obround_length(old.length + 2.0 * seat.gap_outer, old.width + 2.0 * seat.gap_outer)
    fitting = replace(old, name="fitting", family=Family.ELLIPSE, length=222.0, width=139.0)
    fitting = replace(fitting, plus_minus=PlusMinus())
    gap = (seat_length - ellipse_length(222.0, 139.0)) / (2.0 * pi)
    (candidate,) = compare(project, (fitting,)).ranked
    assert candidate.settling is not None
    limits = project.limits

    def margin(found: float) -> float:
        return min(found - limits.gap_outer_least, limits.gap_outer_greatest - found)

    # Of a ring between two walls, the one gains what the other loses; the worse of the two is told.
    both = (gap, seat.gap_outer + seat.gap_inner - gap)
    assert candidate.settling.gap == pytest.approx(min(both, key=margin), abs=1e-3)
    assert margin(candidate.settling.gap) > 0.0
    assert candidate.settling.verdict is not Verdict.NO_GO
    said = candidate.settling.says.show(SHOW)
    assert "settles" in said
    assert "bends freely and neither stretches nor buckles" in said


def test_the_next_one_bought_decides_whether_it_settles_not_the_one_measured(project: Project) -> None:
    exact = replace(project.old_insert, name="like the old one", plus_minus=PlusMinus())
    spread = replace(exact, name="within 1.4 mm", plus_minus=PlusMinus(1.4, 1.4))  # its gap of 0.8 ± 0.7, 0.3 wanted
    settling = {c.insert.name: c.settling for c in compare(project, (exact, spread)).ranked}
    first, second = settling[exact.name], settling[spread.name]
    assert first is not None
    assert second is not None
    assert (first.gap, second.gap) == pytest.approx((0.8, 0.8), abs=1e-6)
    assert first.verdict is not Verdict.NO_GO
    assert second.verdict is Verdict.NO_GO
    assert "0.10 mm to 1.50 mm over the spread of its sizes" in second.says.show(SHOW)


def test_a_rim_that_is_too_long_for_the_seat_does_not_settle_in_it(comparison: Comparison) -> None:
    settling = found(comparison, "new insert").settling
    assert settling is not None
    assert settling.verdict is Verdict.NO_GO
    old, new = comparison.project.old_insert, comparison.project.new_insert
    gap = comparison.project.housing.base.seat.gap_outer
    seat = obround_length(old.length + 2.0 * gap, old.width + 2.0 * gap)
    expected = (seat - obround_length(new.length, new.width)) / (2.0 * pi)
    assert settling.gap == pytest.approx(expected, abs=1e-6)
    assert "does not settle" in settling.says.show(SHOW)


def test_settling_also_counts_the_squeeze_at_the_depths_as_built(project: Project, same: Insert) -> None:
    tall = replace(same, name="tall", height=same.height + 6.0)
    (candidate,) = compare(project, (tall,)).ranked
    assert candidate.settling is not None
    assert candidate.settling.squeeze is not None
    faces, lid = project.housing.faces.distance, project.housing.lid
    assert lid is not None
    closed = project.housing.base.seat.depth + lid.seat.depth + faces
    # Squeeze = free height − closed height, over both soft rims.
    percent = 100.0 * (tall.height - closed) / (2.0 * tall.rim.thickness)
    assert candidate.settling.squeeze.value >= percent - 1e-9
    assert candidate.settling.verdict is Verdict.NO_GO


def test_pressed_to_the_old_shape_it_is_larger_all_round_by_its_longer_rim(
    comparison: Comparison, project: Project
) -> None:
    old, new = project.old_insert, project.new_insert
    pressed = found(comparison, "new insert").pressed
    assert pressed is not None
    # Steiner: a parallel at the distance d is 2πd longer.
    growth = (obround_length(new.length, new.width) - obround_length(old.length, old.width)) / (2.0 * pi)
    assert pressed.growth == pytest.approx(growth, abs=1e-9)
    shape = replace(new, pressed=pressed.pressed)
    assert shape.oval.width == pytest.approx(old.width + 2.0 * growth, abs=1e-6)
    assert exact_length(shape.oval) == pytest.approx(exact_length(new.oval), abs=1e-9)


def test_what_already_has_the_old_shape_is_not_pressed_to_it(comparison: Comparison) -> None:
    assert found(comparison, "grown").pressed is None
    assert found(comparison, "ellipse").pressed is not None


def test_a_rigid_candidate_neither_settles_nor_is_pressed(project: Project) -> None:
    (candidate,) = compare(project, (replace(project.new_insert, material=Material.RIGID),)).ranked
    assert candidate.settling is None
    assert candidate.pressed is None


def test_an_impossible_candidate_is_listed_last_with_its_reason(comparison: Comparison) -> None:
    last = comparison.ranked[-1]
    assert last.insert.name == "too wide"
    assert last.error is not None
    assert last.error.message(SHOW).startswith("width: a width of 300.00 mm is more than the length")
    assert last.rims is None
    assert last.verdict is Verdict.NO_GO


def test_a_rim_that_folds_over_is_impossible_and_says_the_limit(project: Project, same: Insert) -> None:
    fat = replace(same, name="fat", rim=Rim(same.width * 0.6, 9.0))
    (candidate,) = compare(project, (fat,)).ranked
    assert candidate.error is not None
    # An obround's tightest radius is half its width.
    assert candidate.error.message(SHOW).startswith(f"rim width: an inward move of {SHOW(same.width * 0.6)}")
    assert SHOW(same.width / 2.0) in candidate.error.message(SHOW)


def test_each_place_is_told_by_the_first_thing_that_differs(comparison: Comparison) -> None:
    texts = [c.because.show(SHOW) for c in comparison.ranked]
    assert texts[0].startswith(f"ahead of “{comparison.ranked[1].insert.name}”: ")
    for i in range(1, 4):
        above, own = comparison.ranked[i - 1], comparison.ranked[i]
        assert f"“{above.insert.name}”" in texts[i]
        if own.verdict is not above.verdict:
            assert texts[i] == f"behind “{above.insert.name}”: {own.verdict} against {above.verdict}"
    assert texts[-1] == "listed last, since it is impossible"


def test_of_two_alike_the_smaller_move_is_ahead(project: Project, same: Insert) -> None:
    a, b = (replace(same, name=name, height=same.height + more) for name, more in (("a", 0.4), ("b", 0.2)))
    ranked = compare(project, (a, b)).ranked
    assert [c.insert.name for c in ranked] == ["b", "a"]
    assert ranked[1].because.show(SHOW) == "behind “b”: a greatest move of 0.40 mm against 0.20 mm"
    twins = compare(project, (a, replace(a, name="twin"))).ranked
    assert twins[1].because.show(SHOW).startswith("level with “a”")


def test_the_reasons_are_read_in_the_readers_unit_even_beside_braces_in_a_name(project: Project, same: Insert) -> None:
    odd = replace(same, name="{by} of it", height=same.height + 1.0)
    for candidate in compare(project, (odd, project.new_insert)).ranked:
        for sentence in (*candidate.reasons, candidate.because):
            text = sentence.show(shower(Style.FRACTION))
            assert " mm" not in text
            assert "{" not in text.replace("{by} of it", "")


def test_the_work_is_told_step_by_step_and_can_be_called_off(project: Project, same: Insert) -> None:
    told: list[float] = []
    compare(project, (same, replace(same, name="twin")), told.append)
    assert told == sorted(told)
    assert told[0] == 0.0
    assert told[-1] == 1.0

    def stop(part: float) -> None:
        if part >= 0.5:
            raise Cancelled("by the test")

    with pytest.raises(Cancelled, match="by the test"):
        compare(project, (same, replace(same, name="twin")), stop)


def test_a_ring_without_a_lid_is_compared_too() -> None:
    ring = load_demo("lens-ring")
    (candidate,) = compare(ring, (ring.new_insert,)).ranked
    assert candidate.error is None
    assert candidate.settling is None
    assert candidate.check("squeeze") is not None
    assert candidate.check("stud") is None


def test_a_candidate_and_the_new_insert_change_places_and_nothing_is_lost(project: Project, ellipse: Insert) -> None:
    before = replace(project, candidates=(replace(ellipse, name="other"), ellipse))
    after = make_new_insert(before, 1)
    assert after.new_insert.name == "ellipse"
    assert (after.new_insert.length, after.new_insert.family) == (ellipse.length, ellipse.family)
    assert after.candidates == (before.candidates[0], project.new_insert)
    back = make_new_insert(after, 1)
    assert back.candidates == before.candidates
    assert (back.new_insert.oval, back.new_insert.rim) == (project.new_insert.oval, project.new_insert.rim)
    assert decode_project(encode_project(after), where="file") == after


def test_the_new_insert_says_that_its_sizes_come_from_the_candidate(project: Project, ellipse: Insert) -> None:
    read = replace(ellipse, sources=(Source(SizeName.LENGTH, Origin.READINGS, "3 samples"),))
    new = make_new_insert(replace(project, candidates=(read,)), 0).new_insert
    width, length = new.source(SizeName.WIDTH), new.source(SizeName.LENGTH)
    assert width is not None
    assert (width.origin, width.note) == (Origin.CANDIDATE, "ellipse")
    assert length is not None
    assert length.origin is Origin.READINGS  # what is known better stays
    assert new.source(SizeName.END_RADIUS) is None  # an ellipse has none


def test_a_name_that_is_taken_gets_a_number(project: Project, same: Insert) -> None:
    named = replace(same, name=project.new_insert.name)
    after = make_new_insert(replace(project, candidates=(same, named)), 0)
    assert [c.name for c in after.candidates] == [f"{named.name} 2", named.name]
    many = add_candidates(project, (same, same, same))
    assert [c.name for c in many.candidates] == ["same", "same 2", "same 3"]


def test_a_candidate_can_be_taken_pressed(comparison: Comparison, project: Project, ellipse: Insert) -> None:
    candidate = found(comparison, "ellipse")
    assert candidate.pressed is not None
    after = make_new_insert(replace(project, candidates=(ellipse,)), 0, candidate.pressed.pressed)
    assert isinstance(after.new_insert.pressed, Pressed)
    result = evaluate(after)
    assert result.overall is candidate.pressed.verdict
    rim = result.after.base.curves.rim_outer
    assert rim.length == pytest.approx(ellipse_length(ellipse.length, ellipse.width), abs=1e-3)
    assert result.gap(End.BASE, result.gaps[0].side) is not None
