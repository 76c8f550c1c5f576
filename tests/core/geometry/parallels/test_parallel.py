import sys
from math import inf, pi, sqrt, tan
from types import ModuleType

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from core.geometry.lines.outline import (
    FloatArray,
    Outline,
    Segments,
    as_circle,
    circle_outline,
    polygon_outline,
    rectangle_outline,
)
from core.geometry.ovals.distances import deviation
from core.geometry.ovals.ovals import (
    ARC_TOLERANCE,
    SIZED_FAMILIES,
    Family,
    Oval,
    exact_length,
    exact_points,
    least_radius,
    oval_outline,
)
from core.geometry.parallels.parallel import _cross, fold_limit, parallel, parallel_distance
from core.words.errors import FoldsOverError
from tests.support.ovals import exact_area

F = Family
ALL = [
    Oval(F.CIRCLE, 160.0, 160.0),
    Oval(F.OBROUND, 200.0, 120.0),
    Oval(F.ELLIPSE, 240.0, 150.0),
    Oval(F.FOUR_ARC, 200.0, 120.0),
    Oval(F.ROUNDED_RECTANGLE, 200.0, 120.0),
    Oval(F.SUPERELLIPSE, 240.0, 150.0),
    Oval(F.SUPERELLIPSE, 200.0, 120.0, exponent=6.0),
]
every_oval = pytest.mark.parametrize("oval", ALL, ids=lambda oval: oval.family.value)

QUARTER = tan(pi / 8)


def dumbbell() -> Outline:
    """Two discs of radius 20 about (±30, 0), blended by hollows of radius 30 about (0, ±40): neck 20, all smooth."""
    x, y = 30.0 - 20.0 * 0.6, 20.0 * 0.8
    round_ = tan(2 * np.arctan2(0.8, -0.6) / 4)
    hollow = -tan(2 * np.arctan2(0.6, 0.8) / 4)
    return Outline([(x, -y, round_), (x, y, hollow), (-x, y, round_), (-x, -y, hollow)])


DUMBBELL = dumbbell()


def sampled(outline: Outline, count: int = 3000) -> FloatArray:
    return outline.points_at(outline.length * np.arange(count) / count)


def worst_gap(moved: Outline, source: Outline, distance: float) -> float:
    """How far points of the moved outline are from being at the distance from the source."""
    return float(np.abs(source.signed_distance(sampled(moved)) - distance).max())


@st.composite
def moves(draw: st.DrawFn) -> tuple[Oval, float]:
    family = draw(st.sampled_from(SIZED_FAMILIES))
    length = draw(st.floats(30.0, 500.0))
    width = length if family is F.CIRCLE else length * draw(st.floats(0.2, 1.0))
    radius = draw(st.none() | st.floats(0.2, 0.9).map(lambda share: share * width / 2))
    oval = Oval(family, length, width, radius, draw(st.none() | st.floats(2.0, 8.0)))
    share = draw(st.floats(-0.98, 3.0))
    assume(abs(share) > 1e-3)
    return oval, share * (least_radius(oval) if share < 0 else 10.0)


# Steiner: area(d) = A + P d + pi d², length(d) = P + 2 pi d for convex outlines (Steiner, parallel bodies).


@pytest.mark.parametrize(
    ("a", "b", "d", "area", "length"),
    [
        pytest.param(100, 60, 6, 22025.8931, 548.2391, id="100, 60, +6, numerical integration"),
        pytest.param(100, 60, 10, 24269.1150, 573.3718, id="100, 60, +10, numerical integration"),
        pytest.param(100, 60, -10, 14058.3154, 447.7081, id="100, 60, -10, numerical integration"),
        pytest.param(100, 60, -30, 6360.7900, 322.0444, id="100, 60, -30, numerical integration"),
        pytest.param(2, 1, 0.25, 8.9016, 11.2592, id="2, 1, +0.25, numerical integration"),
    ],
)
def test_parallels_of_ellipses_against_worked_values(a: float, b: float, d: float, area: float, length: float) -> None:
    moved = parallel(oval_outline(Oval(F.ELLIPSE, 2 * a, 2 * b), 1e-5), d)
    assert moved.area == pytest.approx(area, abs=1e-4 + 1e-5 * length)
    assert moved.length == pytest.approx(length, abs=1e-4 + 1e-5 * 2 * pi)


@every_oval
@pytest.mark.parametrize("d", [-20.0, -3.2, 0.05, 3.2, 25.0])
def test_steiner_holds_for_every_family(oval: Oval, d: float) -> None:
    d = max(d, -0.9 * least_radius(oval))
    outline = oval_outline(oval)
    moved = parallel(outline, d)
    # Exactly, for the lines and arcs themselves ...
    assert moved.area == pytest.approx(outline.area + outline.length * d + pi * d * d, rel=1e-11)
    assert moved.length == pytest.approx(outline.length + 2 * pi * d, rel=1e-11)
    # ... and for the exact curve within the tolerance all along it.
    exact = exact_area(oval) + exact_length(oval) * d + pi * d * d
    assert moved.area == pytest.approx(exact, abs=ARC_TOLERANCE * moved.length)


@given(moves())
@settings(deadline=None, max_examples=50)
def test_steiner_holds_for_any_oval_and_move(move: tuple[Oval, float]) -> None:
    oval, d = move
    outline = oval_outline(oval)
    assume(-d < fold_limit(outline))
    moved = parallel(outline, d)
    assert moved.area == pytest.approx(outline.area + outline.length * d + pi * d * d, rel=1e-9, abs=1e-6)
    assert moved.length == pytest.approx(outline.length + 2 * pi * d, rel=1e-9)


# Distance.


@given(moves())
@settings(deadline=None, max_examples=50)
def test_every_point_of_a_parallel_is_at_the_distance(move: tuple[Oval, float]) -> None:
    oval, d = move
    outline = oval_outline(oval)
    assume(-d < fold_limit(outline))
    assert worst_gap(parallel(outline, d), outline, d) < 1e-8


@every_oval
@pytest.mark.parametrize("share", [-0.95, -0.3, 0.02, 0.5])
def test_a_parallel_is_within_the_tolerance_of_the_exact_parallel(oval: Oval, share: float) -> None:
    d = share * least_radius(oval)
    moved = parallel(oval_outline(oval), d)
    fitted = oval.family in (F.ELLIPSE, F.SUPERELLIPSE)
    assert deviation(oval, d, moved) <= (ARC_TOLERANCE * 1.001 if fitted else 1e-9)
    # The exact curve's own points moved along its own normals, without the helper: within a micrometre.
    points, normals = exact_points(oval, 5000)
    assert moved.nearest(points + d * normals).distance.max() <= 0.001


def test_the_design_ellipse_moved_3_2_is_within_a_micrometre_in_at_most_100_arcs() -> None:
    oval = Oval(F.ELLIPSE, 240.0, 150.0)
    moved = parallel(oval_outline(oval, 0.001), 3.2)
    assert len(moved) <= 100
    a, b, d = 120.0, 75.0, 3.2
    # x = (a + b d / q) cos t, y = (b + a d / q) sin t, q = sqrt(a² sin² t + b² cos² t): elementary,
    # the point (a cos t, b sin t) moved along the unit normal (b cos t, a sin t) / q.
    t = np.linspace(0.0, 2 * pi, 20001)
    q = np.sqrt((a * np.sin(t)) ** 2 + (b * np.cos(t)) ** 2)
    exact = np.column_stack(((a + b * d / q) * np.cos(t), (b + a * d / q) * np.sin(t)))
    assert moved.nearest(exact).distance.max() <= 0.001


@every_oval
@pytest.mark.parametrize("d", [-9.0, 12.0])
def test_a_parallel_agrees_with_a_buffer_of_fine_chords(oval: Oval, d: float) -> None:
    outline = oval_outline(oval)
    d = max(d, -0.9 * least_radius(oval))
    # A second opinion by a different program: GEOS, on chords fine to 10 nm, with 128 chords to a quarter.
    buffered = shapely.Polygon(outline.chords(1e-5)).buffer(d, quad_segs=128)
    moved = parallel(outline, d)
    fine = shapely.Polygon(moved.chords(1e-5))
    assert fine.symmetric_difference(buffered).area < 1e-3 * moved.length
    assert shapely.distance(buffered.exterior, shapely.points(sampled(moved, 1000))).max() < 1e-3
    assert moved.nearest(shapely.get_coordinates(buffered.exterior)).distance.max() < 1e-4


# Arcs and joints.


def test_arcs_keep_their_centres_and_change_their_radii_by_the_distance() -> None:
    for outline, d in ((oval_outline(ALL[3]), 7.0), (oval_outline(ALL[3]), -7.0), (DUMBBELL, 4.0), (DUMBBELL, -4.0)):
        before, after = outline.segments, parallel(outline, d).segments
        assert after.centre == pytest.approx(before.centre, abs=1e-10)
        assert after.radius == pytest.approx(before.radius + d * np.sign(before.bulge), rel=1e-12)
        assert (after.bulge == before.bulge).all()


def test_four_arc_ovals_move_to_four_arc_ovals() -> None:
    moved = parallel(oval_outline(Oval(F.FOUR_ARC, 230.0, 140.0, 50.0)), 6.5)
    expected = oval_outline(Oval(F.FOUR_ARC, 243.0, 153.0, 56.5))
    assert moved.vertices == pytest.approx(expected.vertices, abs=1e-11)


def test_moving_there_and_back_returns_the_outline() -> None:
    for oval in ALL:
        outline = oval_outline(oval)
        back = parallel(parallel(outline, 8.0), -8.0)
        assert back.vertices == pytest.approx(outline.vertices, abs=1e-11)


def test_sharp_corners_moved_outward_get_round_arcs() -> None:
    moved = parallel(rectangle_outline(0.0, 0.0, 40.0, 30.0), 5.0)
    expected = oval_outline(Oval(F.ROUNDED_RECTANGLE, 50.0, 40.0, 5.0)).moved(20.0, 15.0)
    assert len(moved) == 8
    assert moved.area == pytest.approx(expected.area, rel=1e-13)
    assert expected.nearest(sampled(moved)).distance.max() < 1e-12
    assert np.sort(moved.vertices[:, 2]) == pytest.approx([0, 0, 0, 0, *[QUARTER] * 4], abs=1e-15)


def test_a_lens_moved_outward_keeps_its_arcs_and_rounds_its_points() -> None:
    lens = Outline([(-30.0, 0.0, 0.4), (30.0, 0.0, 0.4)])
    moved = parallel(lens, 3.0)
    assert len(moved) == 4
    assert worst_gap(moved, lens, 3.0) < 1e-12
    assert moved.area == pytest.approx(lens.area + 3 * lens.length + 9 * pi, rel=1e-13)


def test_a_clockwise_outline_moves_away_from_its_inside_too() -> None:
    for outline in (oval_outline(ALL[2]), DUMBBELL, rectangle_outline(0.0, 0.0, 40.0, 30.0)):
        moved = parallel(outline.reversed(), 5.0)
        assert not moved.is_ccw
        expected = parallel(outline, 5.0)
        assert moved.area == pytest.approx(-expected.area, rel=1e-12)
        assert expected.nearest(sampled(moved)).distance.max() < 1e-10
    hole = oval_outline(ALL[1]).reversed()
    assert parallel(hole, -10.0).area == pytest.approx(-parallel(hole.reversed(), -10.0).area, rel=1e-12)


def test_hollow_corners_moved_inward_get_round_arcs() -> None:
    # An L with its convex corners rounded and its hollow one sharp.
    r, h = 10.0, QUARTER
    ell = Outline(
        [
            (r, 0.0, 0.0), (100 - r, 0.0, h), (100.0, r, 0.0), (100.0, 40 - r, h), (100 - r, 40.0, 0.0),
            (40.0, 40.0, 0.0),
            (40.0, 90 - r, h), (40 - r, 90.0, 0.0), (r, 90.0, h), (0.0, 90 - r, 0.0), (0.0, r, h),
        ]
    )  # fmt: skip
    moved = parallel(ell, -4.0)
    assert len(moved) == 12
    assert worst_gap(moved, ell, -4.0) < 1e-12
    with pytest.raises(FoldsOverError, match=r"inward move of 4\.00 mm .* radius is 0\.00 mm"):
        parallel(ell, 4.0)


def test_joints_that_turn_a_little_are_mitred() -> None:
    # A square with rounded corners whose arcs all fall short of a quarter turn by 1 mrad.
    h = tan((pi / 2 - 1e-3) / 4)
    outline = Outline(
        [
            (-20.0, -30.0, 0.0), (20.0, -30.0, h), (30.0, -20.0, 0.0), (30.0, 20.0, h),
            (20.0, 30.0, 0.0), (-20.0, 30.0, h), (-30.0, 20.0, 0.0), (-30.0, -20.0, h),
        ]
    )  # fmt: skip
    for d in (6.0, -6.0):
        moved = parallel(outline, d)
        assert len(moved) == 8
        assert moved.segments.radius == pytest.approx(outline.segments.radius + d, rel=1e-6)
        assert worst_gap(moved, outline, d) < abs(d) * 1e-7
    assert fold_limit(outline) == pytest.approx(10.0, abs=0.01)


def test_mitres_that_eat_a_segment_are_a_fold() -> None:
    # A convex joint 1.8 mrad sharp on both sides of a line of 0.01 mm: gone after 5.6 mm.
    turn = 1.8e-3
    x = 0.01 * np.cos(turn)
    y = 0.01 * np.sin(turn)
    c, s = np.cos(2 * turn), np.sin(2 * turn)
    end = np.array([50.01 + x, y]) + 50.0 * np.array([c, s])
    normal = np.array([-s, c])
    far = end + 100.0 * normal
    rest = (pi - 2 * turn) / 2
    outline = Outline(
        [
            (0.0, 0.0, 0.0), (50.0, 0.0, 0.0), (50.0 + x, y, 0.0), (end[0], end[1], tan(pi / 4)),
            (far[0], far[1], 0.0), (0.0, 100.0, tan(rest / 2)),
        ]
    )  # fmt: skip
    assert parallel(outline, -1.0).is_ccw
    with pytest.raises(FoldsOverError, match="folds the curve over"):
        parallel(outline, -8.0)


# Limits.


@pytest.mark.parametrize(
    ("oval", "limit"),
    [
        pytest.param(Oval(F.ELLIPSE, 200.0, 120.0), 36.0, id="ellipse 100, 60: b²/a"),
        pytest.param(Oval(F.ELLIPSE, 300.0, 150.0), 37.5, id="ellipse 150, 75: b²/a"),
        pytest.param(Oval(F.OBROUND, 200.0, 120.0), 60.0, id="obround: half the width"),
        pytest.param(Oval(F.FOUR_ARC, 200.0, 120.0), 44.67619, id="four-arc: end radius"),
        pytest.param(Oval(F.ROUNDED_RECTANGLE, 200.0, 120.0, 17.0), 17.0, id="rounded rectangle: corner radius"),
    ],
)
def test_the_limit_of_an_inward_move_is_the_tightest_radius(oval: Oval, limit: float) -> None:
    outline = oval_outline(oval)
    # The end arc of a fit is the mean over its length, so a little wider than the curve's very end.
    assert fold_limit(outline) == pytest.approx(limit, rel=1e-3)
    assert parallel(outline, -0.999 * limit).is_ccw
    shown = f"{fold_limit(outline):.2f}".replace(".", r"\.")
    asked = f"{1.01 * limit:.2f}".replace(".", r"\.")
    text = rf"^seat: an inward move of {asked} mm folds the curve over; its tightest radius is {shown} mm\. Stay below"
    with pytest.raises(FoldsOverError, match=text) as caught:
        parallel(outline, -1.01 * limit, where="seat")
    assert caught.value.asked_mm == pytest.approx(1.01 * limit)
    assert caught.value.limit_mm == fold_limit(outline)


@every_oval
def test_fits_keep_the_exact_least_radius_nearly(oval: Oval) -> None:
    assert fold_limit(oval_outline(oval)) == pytest.approx(least_radius(oval), rel=3e-3)


def test_at_the_limit_itself_the_arcs_vanish() -> None:
    moved = parallel(oval_outline(Oval(F.ROUNDED_RECTANGLE, 200.0, 120.0, 17.0)), -17.0)
    assert len(moved) == 4
    assert moved.area == pytest.approx(166.0 * 86.0, rel=1e-12)
    assert moved.bounds == pytest.approx((-83.0, -43.0, 83.0, 43.0), abs=1e-9)
    four = Oval(F.FOUR_ARC, 230.0, 140.0, 50.0)
    lens = parallel(oval_outline(four), -50.0)
    assert len(lens) == 2
    assert lens.area == pytest.approx(exact_area(four) - 50 * exact_length(four) + 2500 * pi, rel=1e-9)
    hollow = parallel(DUMBBELL, 29.9)
    assert len(hollow) == 4
    assert len(parallel(DUMBBELL, 30.0)) == 2


@pytest.mark.parametrize("oval", [Oval(F.CIRCLE, 50.0, 50.0), Oval(F.OBROUND, 80.0, 50.0)])
def test_at_the_limit_nothing_is_left_of_circle_and_obround(oval: Oval) -> None:
    with pytest.raises(FoldsOverError, match=r"tightest radius is 25\.00 mm"):
        parallel(oval_outline(oval), -25.0)
    assert parallel(oval_outline(oval), -24.999).area > 0.0


def test_corners_have_no_room_inward() -> None:
    square = rectangle_outline(0.0, 0.0, 10.0, 10.0)
    assert fold_limit(square) == 0.0
    with pytest.raises(FoldsOverError, match=r"^outline: an inward move of 1\.00 mm .* radius is 0\.00 mm"):
        parallel(square, -1.0)
    star = polygon_outline([(0.0, 0.0), (10.0, 3.0), (20.0, 0.0), (10.0, 20.0)])
    with pytest.raises(FoldsOverError, match="folds the curve over"):
        parallel(star, 1.0)


def test_a_hollow_arc_limits_an_outward_move() -> None:
    assert fold_limit(DUMBBELL) == pytest.approx(20.0)
    assert worst_gap(parallel(DUMBBELL, 29.0), DUMBBELL, 29.0) < 1e-9
    with pytest.raises(FoldsOverError, match="folds the curve over") as caught:
        parallel(DUMBBELL, 31.0)
    assert caught.value.limit_mm == pytest.approx(30.0)


def test_a_neck_that_closes_is_a_fold_though_no_arc_vanishes() -> None:
    assert worst_gap(parallel(DUMBBELL, -9.99), DUMBBELL, -9.99) < 1e-9
    for asked in (10.01, 12.0, 19.0):
        with pytest.raises(FoldsOverError, match="folds the curve over") as caught:
            parallel(DUMBBELL, -asked)
        assert caught.value.limit_mm == pytest.approx(10.0, abs=2e-3)
    with pytest.raises(FoldsOverError, match="folds the curve over") as caught:
        parallel(DUMBBELL.reversed(), -12.0)
    assert caught.value.limit_mm == pytest.approx(10.0, abs=2e-3)


def slotted(mouth: float) -> Outline:
    """A block of 100 x 60 with a slot of the width ``mouth`` and a round bottom from above, all corners rounded."""
    r, h, m = 5.0, QUARTER, mouth / 2
    return Outline(
        [
            (-50 + r, 0.0, 0.0), (50 - r, 0.0, h), (50.0, r, 0.0), (50.0, 60 - r, h), (50 - r, 60.0, 0.0),
            (m + r, 60.0, h), (m, 60 - r, 0.0), (m, 30.0, -1.0), (-m, 30.0, 0.0), (-m, 60 - r, h),
            (-m - r, 60.0, 0.0), (-50 + r, 60.0, h), (-50.0, 60 - r, 0.0), (-50.0, r, h),
        ]
    )  # fmt: skip


@pytest.mark.parametrize("mouth", [4.0, 12.0])
def test_a_slot_that_closes_is_a_fold(mouth: float) -> None:
    block = slotted(mouth)
    assert worst_gap(parallel(block, 0.49 * mouth), block, 0.49 * mouth) < 1e-9
    with pytest.raises(FoldsOverError, match="folds the curve over") as caught:
        parallel(block, 0.51 * mouth)
    assert caught.value.limit_mm == pytest.approx(mouth / 2, rel=1e-3)


def walked(*steps: tuple[float, float]) -> Outline:
    """The smooth outline of a walk from the origin along +X: (length, 0) for a line, (radius, sweep) for an arc."""
    at, heading = 0j, 1 + 0j
    vertices = []
    for size, sweep in steps:
        vertices.append((at.real, at.imag, tan(sweep / 4)))
        half = np.exp(0.5j * sweep)
        at += heading * half * (2 * size * abs(np.sin(sweep / 2)) if sweep else size)
        heading *= half * half
    assert abs(at) < 1e-9
    assert abs(heading - 1) < 1e-9
    return Outline(vertices)


def test_a_neck_is_found_where_no_vertex_and_no_middle_of_an_arc_lies() -> None:
    # A long bar with a lopsided dent in its top; the deepest place is at 40 of the 70 degrees of the hollow arc.
    forty, thirty = np.radians(40.0), np.radians(30.0)
    down, up = 50.0 * (1 - np.cos(forty)), 50.0 * (1 - np.cos(thirty))
    across = 50.0 * (np.sin(forty) + np.sin(thirty))
    right, left = (25.0 + down) / 2, (25.0 + up) / 2
    bar = walked(
        (150.0, 0.0), (right, pi), (50.0, 0.0), (20.0, forty), (30.0, -forty - thirty), (20.0, thirty),
        (100.0 - across, 0.0), (left, pi),
    )  # fmt: skip
    assert worst_gap(parallel(bar, -12.49), bar, -12.49) < 1e-9
    with pytest.raises(FoldsOverError, match="folds the curve over") as caught:
        parallel(bar, -12.51)
    assert caught.value.limit_mm == pytest.approx(12.5, abs=1e-4)


@given(st.lists(st.tuples(st.floats(-10, 10), st.floats(-10, 10)), min_size=4, max_size=4), st.data())
@settings(deadline=None, max_examples=100)
def test_segments_cross_where_their_fine_chords_do(points: list[tuple[float, float]], data: st.DataObject) -> None:
    p = np.array(points)
    assume(np.hypot(*(p[2:] - p[:2]).T).min() > 1.0)
    bulge = np.array([data.draw(st.sampled_from([0.0, 0.3, -0.7, 1.0, 1.8])) for _ in range(2)])
    s = Segments.of(p[:2], p[2:], bulge)
    t = np.linspace(0.0, 1.0, 2001)
    first, second = (
        shapely.LineString(s.points(np.full(len(t), i), np.append(t[:-1], 1.0) * s.length[i])) for i in range(2)
    )
    gap = first.distance(second)
    # Within the sagitta of the chords only a crossing well inside both counts.
    assume(gap > 1e-3 or first.crosses(second))
    assume(gap > 1e-3 or min(shapely.distance(second, e) for e in shapely.points(p[[0, 2]])) > 1e-2)
    assume(gap > 1e-3 or min(shapely.distance(first, e) for e in shapely.points(p[[1, 3]])) > 1e-2)
    for order in ((0, 1), (1, 0)):
        assert _cross(s, *order) == first.crosses(second)


def test_concentric_arcs_do_not_cross() -> None:
    ends = np.array([[2.0, 0.0], [3.0, 0.0]])
    assert not _cross(Segments.of(ends, -ends, np.ones(2)), 0, 1)


@given(size=st.floats(0.05, 29.5), inward=st.booleans())
@settings(deadline=None, max_examples=60)
def test_a_hollow_outline_moves_truly_or_not_at_all(*, size: float, inward: bool) -> None:
    d = -size if inward else size
    assume(not inward or abs(size - 10.0) > 1e-5)
    if inward and size > 10.0:
        with pytest.raises(FoldsOverError, match="folds the curve over"):
            parallel(DUMBBELL, d)
        return
    moved = parallel(DUMBBELL, d)
    assert shapely.Polygon(moved.chords(1e-3)).is_valid
    assert worst_gap(moved, DUMBBELL, d) < 1e-8


def test_no_inward_limit_without_an_outward_bend() -> None:
    three = Outline([(0.0, 0.0, -0.3), (30.0, 0.0, -0.3), (15.0, 26.0, -0.3)])
    assert fold_limit(three) == 0.0
    assert fold_limit(circle_outline((0.0, 0.0), 4.0)) == pytest.approx(4.0)


# Trimmed.


def fake_trimmed(monkeypatch: pytest.MonkeyPatch, pieces: tuple[Outline, ...]) -> list[tuple[Outline, float]]:
    asked: list[tuple[Outline, float]] = []

    def trimmed_parallel(outline: Outline, distance: float) -> tuple[Outline, ...]:
        asked.append((outline, distance))
        return pieces

    module = ModuleType("core.geometry.parallels.trimmed")
    module.__dict__["trimmed_parallel"] = trimmed_parallel
    monkeypatch.setitem(sys.modules, "core.geometry.parallels.trimmed", module)
    return asked


def test_trimmed_asks_for_the_trimmed_curve_only_where_it_would_fold(monkeypatch: pytest.MonkeyPatch) -> None:
    small, large = circle_outline((0.0, 0.0), 3.0), circle_outline((9.0, 0.0), 4.0)
    asked = fake_trimmed(monkeypatch, (small, large.reversed(), small))
    assert parallel(DUMBBELL, -5.0, trimmed=True) == parallel(DUMBBELL, -5.0)
    assert not asked
    assert parallel(DUMBBELL, -16.0, trimmed=True) == large.reversed()
    assert asked == [(DUMBBELL, -16.0)]


def test_trimmed_with_nothing_left_is_an_error(monkeypatch: pytest.MonkeyPatch) -> None:
    fake_trimmed(monkeypatch, ())
    with pytest.raises(FoldsOverError, match=r"^lip: an inward move of 21\.00 mm folds .* radius is 20\.00 mm"):
        parallel(DUMBBELL, -21.0, where="lip", trimmed=True)


# Manners.


def test_no_move_returns_the_outline_itself_and_repeats_are_remembered() -> None:
    outline = oval_outline(ALL[2])
    assert parallel(outline, 0.0) is outline
    assert parallel(outline, 1.5) is parallel(Outline(outline.vertices), 1.5)


@pytest.mark.parametrize("distance", [inf, -inf, float("nan")])
def test_a_move_must_be_finite(distance: float) -> None:
    with pytest.raises(ValueError, match="distance must be finite, not"):
        parallel(DUMBBELL, distance)


# Scaling instead of moving.


def wrong_by_scaling(oval: Oval, distance: float) -> float:
    """How far [mm] the oval with twice the distance added to length and width is off the true parallel.

    A given end radius grows by the distance, which is right for arcs; the usual ones follow from the new sizes.

    """
    radius = None if oval.end_radius is None else oval.end_radius + distance
    grown = Oval(oval.family, oval.length + 2.0 * distance, oval.width + 2.0 * distance, radius, oval.exponent)
    points, normals = exact_points(oval, 4096)
    return float(oval_outline(grown).segments.nearest(points + distance * normals)[0].max())


@pytest.mark.parametrize(
    ("a", "b", "d", "wrong"),
    [
        pytest.param(120, 75, 3.2, 0.084, id="240 x 150 moved 3.2"),
        pytest.param(100, 60, 6, 0.177, id="100, 60, wall 6"),
        pytest.param(100, 60, 10, 0.282, id="100, 60, wall 10"),
        pytest.param(100, 50, 5, 0.268, id="100, 50, wall 5"),
        pytest.param(90, 45, 8, 0.408, id="90, 45, wall 8"),
        pytest.param(75, 25, 6, 0.712, id="75, 25, wall 6"),
    ],
)
def test_larger_axes_are_not_a_parallel(a: float, b: float, d: float, wrong: float) -> None:
    assert wrong_by_scaling(Oval(F.ELLIPSE, 2 * a, 2 * b), d) == pytest.approx(wrong, abs=1e-3)


def test_larger_axes_are_right_for_arcs_whose_radii_grow_along() -> None:
    assert wrong_by_scaling(Oval(F.CIRCLE, 50.0, 50.0), 3.0) < 1e-12
    assert wrong_by_scaling(Oval(F.OBROUND, 80.0, 50.0), -3.0) < 1e-12
    assert wrong_by_scaling(Oval(F.FOUR_ARC, 230.0, 140.0, 50.0), 6.0) < 1e-11
    assert wrong_by_scaling(Oval(F.ROUNDED_RECTANGLE, 230.0, 140.0, 50.0), 6.0) < 1e-11
    # The usual corner radius, a quarter of the width, grows by half the move only.
    assert wrong_by_scaling(Oval(F.ROUNDED_RECTANGLE, 200.0, 120.0), 6.0) == pytest.approx(3 * (sqrt(2) - 1), abs=1e-3)


def test_a_moved_circle_is_a_circle() -> None:
    found = as_circle(parallel(circle_outline((3.0, 4.0), 10.0), 2.5))
    assert found is not None
    assert found[0] == pytest.approx((3.0, 4.0), abs=1e-12)
    assert found[1] == pytest.approx(12.5)


@pytest.mark.parametrize("family", SIZED_FAMILIES)
@pytest.mark.parametrize("distance", [3.2, -1.5, -14.0])
def test_the_distance_of_a_parallel_is_recognised(family: Family, distance: float) -> None:
    outline = oval_outline(Oval(family, 240.0, 240.0 if family is Family.CIRCLE else 150.0))
    found = parallel_distance(outline, parallel(outline, distance))
    assert found == pytest.approx(distance, abs=1e-11)
    # It is what measuring tells, at every station of the outline.
    points = outline.points_at(np.linspace(0.0, outline.length, 97))
    assert parallel(outline, distance).segments.nearest(points)[0] == pytest.approx(abs(distance), abs=1e-9)


@pytest.mark.parametrize(
    "other",
    [
        pytest.param(oval_outline(Oval(Family.OBROUND, 242.0, 151.0)), id="other growth in length and width"),
        pytest.param(oval_outline(Oval(Family.OBROUND, 240.0, 150.0)).moved(0.01, 0.0), id="moved"),
        pytest.param(oval_outline(Oval(Family.ELLIPSE, 242.0, 152.0)), id="another family"),
    ],
)
def test_what_is_no_parallel_is_not_taken_for_one(other: Outline) -> None:
    assert parallel_distance(oval_outline(Oval(Family.OBROUND, 240.0, 150.0)), other) is None


def test_a_corner_or_a_hollow_makes_no_plain_parallel() -> None:
    square = rectangle_outline(0.0, 0.0, 10.0, 10.0)
    assert parallel_distance(square, square.moved(0.0, 0.0)) is None
