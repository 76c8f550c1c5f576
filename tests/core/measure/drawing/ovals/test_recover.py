from __future__ import annotations

from math import degrees, pi, radians

import numpy as np
import pytest

from core.geometry.lines.outline import Outline, circle_outline, polygon_outline, rectangle_outline
from core.geometry.ovals.distances import oval_distances
from core.geometry.ovals.ovals import Family, Oval, exact_points, measured_oval, oval_outline
from core.geometry.ovals.pose import Pose, least_rectangle
from core.geometry.parallels.parallel import parallel
from core.geometry.regions.closing import combine
from core.geometry.regions.region import Step
from core.measure.drawing.ovals.recover import circle_of, is_chords, recover, recover_most, recover_points, samples
from core.words.errors import ImpossibleOvalError
from tests.support.loops import chords_of, noisy, placed

WITH_ARCS = [
    pytest.param(Oval(Family.CIRCLE, 80.0, 80.0), id="circle"),
    pytest.param(Oval(Family.OBROUND, 212.0, 134.0), id="obround"),
    pytest.param(Oval(Family.OBROUND, 100.5, 100.0), id="obround nearly round"),
    pytest.param(Oval(Family.FOUR_ARC, 240.0, 140.0, 45.0), id="four-arc of the shop's table"),
    pytest.param(Oval(Family.FOUR_ARC, 238.125, 139.7, 47.625), id="four-arc in 64ths"),
    pytest.param(Oval(Family.ROUNDED_RECTANGLE, 200.0, 120.0, 30.0), id="rounded rectangle"),
    pytest.param(Oval(Family.ROUNDED_RECTANGLE, 120.0, 120.0, 30.0), id="rounded square"),
]
WITHOUT_ARCS = [
    pytest.param(Oval(Family.ELLIPSE, 182.0, 122.0), id="ellipse"),
    pytest.param(Oval(Family.SUPERELLIPSE, 200.0, 130.0, None, 2.6), id="superellipse"),
]


def sizes(oval: Oval) -> list[float]:
    return [oval.length, oval.width, oval.end_radius or 0.0, oval.exponent or 0.0]


def corners_on(oval: Oval, count: int) -> Outline:
    points, _ = exact_points(oval, count)
    return polygon_outline(points)


@pytest.mark.parametrize("oval", WITH_ARCS)
def test_an_oval_of_lines_and_arcs_comes_back_exactly_wherever_it_lies(oval: Oval) -> None:
    # The truth is the oval that was drawn: sizes, place and angle are put in and must come out.
    found = recover(placed(oval_outline(oval)))
    assert found.oval.family is oval.family
    assert sizes(found.oval) == pytest.approx(sizes(oval), abs=1e-6)
    assert found.centre == pytest.approx((317.0, -52.0), abs=1e-6)
    assert found.worst < 1e-6
    assert not found.of_chords
    turn = degrees(found.angle) - (0.0 if oval.family is Family.CIRCLE else 30.0)
    # A square has its long axis either way; a circle has none.
    step = 90.0 if oval.length == oval.width else 180.0
    assert (turn + 45.0) % step == pytest.approx(45.0, abs=1e-5)


@pytest.mark.parametrize("oval", WITHOUT_ARCS)
def test_an_ellipse_written_as_arcs_is_an_ellipse_within_their_tolerance(oval: Oval) -> None:
    found = recover(placed(oval_outline(oval)))  # arcs within half a micrometre
    assert found.oval.family is oval.family
    assert sizes(found.oval) == pytest.approx(sizes(oval), abs=1e-3)
    assert found.worst <= 0.0006


@pytest.mark.parametrize("oval", [*WITH_ARCS, *WITHOUT_ARCS])
@pytest.mark.parametrize("turn", [90.0, -75.0])
def test_an_oval_of_64_chords_is_told_by_its_corners(oval: Oval, turn: float) -> None:
    found = recover(placed(corners_on(oval, 64), turn, (-40.0, 11.0)))
    assert found.oval.family is oval.family
    assert sizes(found.oval) == pytest.approx(sizes(oval), abs=1e-5)
    assert found.of_chords


def test_the_chords_of_an_obrounds_straight_sides_count_all_along() -> None:
    # Both ends as 32 chords each, both sides as one line each: as many programs write it. The corners alone would let
    # a superellipse through.
    oval = Oval(Family.OBROUND, 212.0, 134.0)
    angles = np.linspace(-pi / 2.0, pi / 2.0, 33)
    end = np.column_stack((39.0 + 67.0 * np.cos(angles), 67.0 * np.sin(angles)))
    found = recover(placed(polygon_outline(np.concatenate((end, -end)))))
    assert found.oval.family is Family.OBROUND
    assert sizes(found.oval) == pytest.approx(sizes(oval), abs=1e-6)
    side = samples(polygon_outline(np.concatenate((end, -end))), 240).points
    assert (np.abs(side[:, 0]) < 30.0).sum() > 20


@pytest.mark.parametrize("oval", [*WITH_ARCS, *WITHOUT_ARCS])
def test_noise_of_a_fiftieth_changes_neither_family_nor_sizes(oval: Oval) -> None:
    # Evenly spread noise of ±0.02 has a standard deviation of 0.0115; the mean of 400 is off by a twentieth of that.
    found = recover(placed(noisy(oval_outline(oval), 400, 0.02)))
    assert found.oval.family is oval.family
    assert sizes(found.oval)[:2] == pytest.approx(sizes(oval)[:2], abs=0.01)
    assert sizes(found.oval)[2:] == pytest.approx(sizes(oval)[2:], abs=0.03)
    assert 0.01 < found.rms < 0.013
    assert found.rms < found.worst <= 0.03


def test_the_simplest_family_within_the_tolerance_wins_over_a_closer_one() -> None:
    # Corners 0.04 short of half the width: a rounded rectangle is exact, an obround 0.0166 off; both are tried.
    outline = oval_outline(Oval(Family.ROUNDED_RECTANGLE, 200.0, 120.0, 59.96))
    found = recover(outline)
    assert found.oval.family is Family.OBROUND
    assert found.tried[0][0].family is Family.ROUNDED_RECTANGLE
    assert found.tried[0][1] < found.worst
    assert [off for _, off in found.tried] == sorted(off for _, off in found.tried)
    assert recover(outline, 0.001).oval.family is Family.ROUNDED_RECTANGLE


def test_an_oval_of_another_family_is_not_taken_for_its_neighbour() -> None:
    # The table of the shop's practice: 240 × 140 as ellipse and as four-arc differ by 3.1 at a quarter of the length.
    four = recover(oval_outline(Oval(Family.FOUR_ARC, 240.0, 140.0, 45.0)), families=(Family.ELLIPSE,))
    assert four.oval.family is Family.ELLIPSE
    assert four.worst > 1.0


@pytest.mark.parametrize("distance", [20.0, -20.0])
def test_the_parallel_of_an_ellipse_is_measured_or_told_as_a_parallel(distance: float) -> None:
    # design: 240 × 150 moved by 3.2 is 0.084 off the ellipse that is 6.4 longer and wider; by 20, far more.
    ellipse = Oval(Family.ELLIPSE, 240.0, 150.0)
    moved = parallel(oval_outline(ellipse), distance)
    found = recover(placed(moved), 0.02)
    assert found.oval.family is Family.MEASURED
    assert (found.oval.length, found.oval.width) == pytest.approx(
        (240.0 + 2 * distance, 150.0 + 2 * distance), abs=1e-3
    )
    assert degrees(found.angle) == pytest.approx(30.0, abs=1e-4)
    assert found.centre == pytest.approx((317.0, -52.0), abs=1e-4)
    assert oval_outline(found.oval).area == pytest.approx(moved.area, rel=1e-9)
    told = recover(placed(moved), 0.02, offset=distance)
    assert told.oval.family is Family.ELLIPSE
    assert sizes(told.oval) == pytest.approx(sizes(ellipse), abs=1e-3)
    assert told.worst < 0.0006


def test_a_measured_outline_keeps_every_place_of_its_loop() -> None:
    pear = fit_pear()
    found = recover(placed(pear))
    assert found.oval.family is Family.MEASURED
    back = oval_outline(found.oval).turned(found.angle).moved(*found.centre)
    assert back.nearest(placed(pear).chords(0.01)).distance.max() < 1e-9
    assert found.worst < 1e-9
    x0, y0, x1, y1 = oval_outline(found.oval).bounds
    assert (x0 + x1, y0 + y1) == pytest.approx((0.0, 0.0), abs=1e-9)
    assert x1 - x0 > y1 - y0


def fit_pear() -> Outline:
    """A pear of four tangent arcs about an upright axis: no oval, as it is not the same both ways up."""
    # Ends of radius 40 and 60, 100 apart, joined by straight tangents.
    lean = np.arcsin(0.2)
    c, s = float(np.cos(lean)), float(np.sin(lean))
    top, low = pi - 2.0 * lean, pi + 2.0 * lean
    right_top, left_top = (40.0 * c, 100.0 + 40.0 * s), (-40.0 * c, 100.0 + 40.0 * s)
    left_low, right_low = (-60.0 * c, 60.0 * s), (60.0 * c, 60.0 * s)
    return Outline(
        [
            (*right_top, float(np.tan(top / 4.0))),
            (*left_top, 0.0),
            (*left_low, float(np.tan(low / 4.0))),
            (*right_low, 0.0),
        ]
    )


def test_a_measured_polygon_becomes_few_arcs_within_a_fifth_of_the_tolerance() -> None:
    pear = fit_pear()
    points = chords_of(pear, 240)
    found = recover(points)
    assert found.oval.family is Family.MEASURED
    assert found.of_chords
    assert found.worst <= 0.01
    outline = oval_outline(found.oval)
    assert len(outline) < 60
    back = outline.turned(found.angle).moved(*found.centre)
    # Chord and arc of the pear itself, not only at the corners that were fitted.
    assert pear.nearest(back.chords(0.001)).distance.max() < 0.03


def test_corners_of_a_noisy_polygon_are_not_followed_one_by_one() -> None:
    points = noisy(fit_pear(), 300, 0.015, seed=4)
    found = recover(points)
    assert found.oval.family is Family.MEASURED
    assert len(oval_outline(found.oval)) <= 150
    assert found.worst <= 0.05


def test_a_plain_rectangle_or_octagon_is_no_polygon_for_a_curve() -> None:
    # All four corners of a rectangle, and all eight of an octagon, lie on one circle.
    square = rectangle_outline(-50.0, -50.0, 50.0, 50.0)
    octagon = chords_of(circle_outline((0.0, 0.0), 50.0), 8)
    assert not is_chords(square)
    assert not is_chords(octagon)
    assert is_chords(chords_of(circle_outline((0.0, 0.0), 50.0), 16))
    assert recover(square).oval.family is Family.MEASURED
    assert recover(octagon).oval.family is Family.MEASURED
    assert circle_of(octagon, 0.05) is None


def test_a_rim_with_a_notch_is_no_oval() -> None:
    oval = oval_outline(Oval(Family.OBROUND, 212.0, 134.0))
    notch = rectangle_outline(-4.0, 60.0, 4.0, 80.0)
    region = combine([oval, notch], [Step(add=True, inside=(0,)), Step(add=False, inside=(1,))])
    assert recover(region.loops[0]).oval.family is Family.MEASURED


def test_square_corners_are_neither_rounded_off_nor_taken_for_lugs() -> None:
    block = placed(rectangle_outline(-140.0, -90.0, 140.0, 90.0))
    for found in (recover(block), recover_most(block, 0.05)):
        assert found.oval.family is Family.MEASURED
        assert (found.oval.length, found.oval.width) == pytest.approx((280.0, 180.0), abs=1e-6)
    # A corner of radius r is (sqrt(2) - 1) r off the square one: 0.21 for half a millimetre.
    rounded = oval_outline(Oval(Family.ROUNDED_RECTANGLE, 280.0, 180.0, 0.5))
    assert recover(rounded).oval.family is Family.ROUNDED_RECTANGLE


@pytest.mark.parametrize(
    "oval",
    [
        Oval(Family.OBROUND, 226.0, 148.0),
        Oval(Family.ELLIPSE, 222.0, 160.0),
        Oval(Family.FOUR_ARC, 250.0, 150.0, 50.0),
        Oval(Family.CIRCLE, 150.0, 150.0),
    ],
    ids=lambda oval: oval.family.value,
)
def test_an_outside_with_lugs_is_the_oval_that_they_stand_on(oval: Oval) -> None:
    outline = oval_outline(oval)
    ears = [circle_outline(p, 12.0) for p in ((92.0, 58.0), (-92.0, 58.0), (oval.length / 2.0 + 5.0, 0.0))]
    region = combine([outline, *ears], [Step(add=True, inside=(k,)) for k in range(4)])
    whole = max(region.loops, key=lambda loop: loop.area)
    assert recover(placed(whole)).oval.family is Family.MEASURED
    found = recover_most(placed(whole), 0.05)
    assert found.oval.family is oval.family
    assert sizes(found.oval) == pytest.approx(sizes(oval), abs=0.01)
    assert found.centre == pytest.approx((317.0, -52.0), abs=0.01)


def test_parts_of_an_oval_tell_all_of_it() -> None:
    points, _ = exact_points(Oval(Family.OBROUND, 158.0, 80.0), 600)
    found = recover_points(points[np.abs(points[:, 0]) > 5.0], 0.05)
    assert found.oval.family is Family.OBROUND
    assert sizes(found.oval)[:2] == pytest.approx([158.0, 80.0], abs=1e-6)


@pytest.mark.parametrize("oval", [*WITH_ARCS, *WITHOUT_ARCS])
@pytest.mark.parametrize("distance", [5.0, -5.0, 0.3])
def test_distances_from_an_oval_are_those_of_its_parallel(oval: Oval, distance: float) -> None:
    points, normals = exact_points(oval, 331)
    signed, found = oval_distances(oval, points + distance * normals)
    assert signed == pytest.approx(np.full(331, distance), abs=1e-6)
    assert (found * normals).sum(axis=1) == pytest.approx(np.ones(331), abs=1e-6)


def test_an_ellipse_found_has_the_length_of_the_elliptic_integral() -> None:
    from scipy.special import ellipe

    found = recover(placed(corners_on(Oval(Family.ELLIPSE, 240.0, 140.0), 64)))
    a, b = found.oval.length / 2.0, found.oval.width / 2.0
    # 4 a E(m), m = 1 - (b/a)²: the complete elliptic integral by scipy; 607.3 in the shop's own table.
    assert 4.0 * a * float(ellipe(1.0 - (b / a) ** 2)) == pytest.approx(607.3, abs=0.05)


def test_the_least_rectangle_has_the_least_area_of_all_turns() -> None:
    from scipy.spatial import ConvexHull

    points = np.random.default_rng(3).normal(size=(60, 2)) * [30.0, 11.0]
    pose = least_rectangle(points)
    least = float(np.prod(np.ptp(pose.into(points), axis=0)))
    turns = [float(np.prod(np.ptp(Pose((0.0, 0.0), a).into(points), axis=0))) for a in np.linspace(0.0, pi, 3601)]
    # By trying every twentieth of a degree; the hull's own area (qhull) is the floor.
    assert least <= min(turns) + 1e-9
    assert least >= ConvexHull(points).volume


def test_a_circle_drawn_as_chords_is_found_with_its_diameter() -> None:
    found = circle_of(chords_of(circle_outline((12.0, -7.0), 4.25), 24), 0.05)
    assert found is not None
    assert found[0] == pytest.approx((12.0, -7.0), abs=1e-9)
    assert found[1] == pytest.approx(8.5, abs=1e-9)
    assert circle_of(oval_outline(Oval(Family.OBROUND, 12.0, 8.0)), 0.05) is None


def test_a_speck_is_refused_in_words() -> None:
    with pytest.raises(ImpossibleOvalError, match="too small"):
        recover(circle_outline((0.0, 0.0), 0.02))
    with pytest.raises(ValueError, match="tolerance must be positive"):
        recover(circle_outline((0.0, 0.0), 5.0), 0.0)
    with pytest.raises(ImpossibleOvalError, match="no kind of oval is left"):
        recover(circle_outline((0.0, 0.0), 5.0), families=())


def test_a_turned_frame_keeps_a_circle_a_circle() -> None:
    pose = Pose((10.0, 20.0), radians(30.0))
    hole = pose.outline(circle_outline((10.0, 25.0), 3.0))
    assert hole == circle_outline(pose.place((10.0, 25.0)), 3.0)
    assert measured_oval(pose.outline(fit_pear()).turned(radians(120.0))).length > 0.0


def test_a_small_square_corner_is_no_reason_to_refuse_an_outline() -> None:
    found = recover(polygon_outline(np.array([[0.0, 0.0], [2.0, 0.0], [2.0, 0.5], [0.0, 0.5]])), 0.001)
    assert found.oval.family is Family.MEASURED
    assert next(oval.family for oval, _ in found.tried) is Family.ROUNDED_RECTANGLE
