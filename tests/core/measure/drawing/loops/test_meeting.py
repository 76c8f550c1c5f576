"""Ends brought together by lengthening what ends there: closed forms, and the drawn lines as the second opinion."""

from __future__ import annotations

from math import atan2, cos, degrees, hypot, pi, radians, sin
from typing import TYPE_CHECKING

import numpy as np
import pytest

from core.geometry.lines.segments import Segments
from core.geometry.ovals.ovals import Family, Oval, oval_outline
from core.measure.drawing.housing.roles import sort_loops, with_role
from core.measure.drawing.loops.nest import find_loops
from core.measure.drawing.reading.read import read_drawing
from core.measure.drawing.results import Drawing, DrawingUnit, Fault, Loops, Recovered, Role, Stroke
from tests.core.measure.drawing.dxf_text import Pairs, entity, header, line, section, write

if TYPE_CHECKING:
    from pathlib import Path

    from core.geometry.lines.outline import FloatArray, Outline

MM = DrawingUnit.MM


def _arc(x: float, y: float, radius: float, begin: float, end: float) -> Pairs:
    """An ARC counter-clockwise from one direction to another [degrees]."""
    return entity("ARC", (10, x), (20, y), (40, radius), (50, begin), (51, end))


def _read(tmp_path: Path, *records: Pairs) -> Drawing:
    return read_drawing(write(tmp_path / "a.dxf", header(INSUNITS=(70, 4)), section("ENTITIES", *records)))


def _found(tmp_path: Path, *records: Pairs, join: float = 0.01) -> Loops:
    return find_loops(_read(tmp_path, *records), MM, join)


def _recovered(loops: Loops) -> Recovered:
    return with_role(sort_loops(loops), 1, Role.SEAT_OUTER).recovered[1]


def _obround(short: float, aside: float = 0.0) -> list[Pairs]:
    """An obround of 200 x 120 in two lines and two ARCs; the lines stop short of the arcs, and lie aside of them."""
    h, r = 40.0, 60.0
    return [
        line(-h + short, -r + aside, h - short, -r + aside), _arc(h, 0.0, r, -90.0, 90.0),
        line(h - short, r + aside, -h + short, r + aside), _arc(-h, 0.0, r, 90.0, 270.0),
    ]  # fmt: skip


def test_lines_that_stop_short_of_a_tangent_arc_are_lengthened_to_it(tmp_path: Path) -> None:
    loops = _found(tmp_path, *_obround(0.006))
    assert [t.fault for t in loops.troubles] == [Fault.GAP] * 4
    assert {t.words for t in loops.troubles} == {"two ends did not meet; both were lengthened to where they do"}
    # Area of the whole one, 80 x 120 + pi 60²: nothing of its shape is lost.
    assert loops.loops[0].outline.area == pytest.approx(80.0 * 120.0 + pi * 3600.0, abs=1e-4)
    found = _recovered(loops)
    assert found.oval.family is Family.OBROUND
    assert (found.oval.length, found.oval.width) == pytest.approx((200.0, 120.0), abs=1e-6)
    assert found.worst < 1e-5


def test_an_arc_that_stops_short_of_a_line_keeps_its_radius_and_its_centre(tmp_path: Path) -> None:
    # A quarter disc of radius 50 whose arc is 0.008 short at both ends.
    short = degrees(0.008 / 50.0)
    loops = _found(tmp_path, line(0, 0, 50, 0), line(0, 50, 0, 0), _arc(0, 0, 50, short, 90.0 - short))
    outline = loops.loops[0].outline
    assert outline.area == pytest.approx(pi * 2500.0 / 4.0, abs=1e-9)
    (arc,) = outline.segments.lines_and_arcs[1]
    assert outline.segments.radius[arc] == pytest.approx(50.0, abs=1e-12)
    assert outline.segments.centre[arc] == pytest.approx([0.0, 0.0], abs=1e-12)
    assert loops.loops[0].off == pytest.approx(0.0, abs=1e-12)


def test_lines_that_run_past_each_other_are_cut_where_they_cross(tmp_path: Path) -> None:
    over = 0.005
    corners = [(0.0, 0.0), (80.0, 0.0), (80.0, 50.0), (0.0, 50.0)]
    sides: list[Pairs] = []
    for i, (x0, y0) in enumerate(corners):
        x1, y1 = corners[(i + 1) % 4]
        ux, uy = (x1 - x0) / hypot(x1 - x0, y1 - y0), (y1 - y0) / hypot(x1 - x0, y1 - y0)
        sides.append(line(x0 - over * ux, y0 - over * uy, x1 + over * ux, y1 + over * uy))
    loops = _found(tmp_path, *sides)
    assert loops.loops[0].outline.area == pytest.approx(4000.0, abs=1e-9)
    assert len(loops.loops[0].outline) == 4
    assert {t.words for t in loops.troubles} == {"an end ran past the other; both end now where they meet"}


def test_arcs_that_do_not_reach_each_other_meet_where_their_circles_do(tmp_path: Path) -> None:
    # Two circles of radius 50 whose centres lie 60 apart cross 40 above and below the middle (3-4-5).
    half = degrees(atan2(40.0, -30.0))
    short = degrees(0.004 / 50.0)
    right = _arc(30.0, 0.0, 50.0, -half + short, half - short)
    left = _arc(-30.0, 0.0, 50.0, 180.0 - half + short, 180.0 + half - short)
    loops = _found(tmp_path, right, left)
    corners = sorted(y for x, y in loops.loops[0].outline.vertices[:, :2].tolist() if abs(x) < 1e-9)
    assert corners == pytest.approx([-40.0, 40.0], abs=1e-9)


def test_lines_side_by_side_leave_their_way_by_half_and_off_by_says_it(tmp_path: Path) -> None:
    loops = _found(tmp_path, *_obround(0.0, aside=0.008))
    assert {t.words for t in loops.troubles} == {"two ends lay beside each other; both left their way to meet"}
    assert [t.off for t in loops.troubles] == pytest.approx([0.004] * 4, abs=1e-6)
    assert loops.loops[0].off == pytest.approx(0.004, abs=1e-6)
    found = _recovered(loops)
    assert found.worst >= 0.004
    # Without the gaps it would be called exact: the lines lie 0.008 to one side of where the arcs begin.
    assert found.worst < 0.02


def test_what_ends_may_travel_is_bounded(tmp_path: Path) -> None:
    # Lines that turn by half a degree and lie 0.009 aside would meet a millimetre off.
    turn = radians(0.5)
    far = [(100.0 * cos(turn), 100.0 * sin(turn) + 0.009)]
    loops = _found(tmp_path, line(-100, 0, 0, 0), line(0, 0.009, *far[0]), line(*far[0], 0, 60), line(0, 60, -100, 0))
    (trouble,) = loops.troubles
    assert trouble.at == pytest.approx((0.0, 0.0045), abs=1e-4)
    assert 0.004 < trouble.off < 0.0046


def test_bits_as_short_as_the_gap_are_not_turned_inside_out(tmp_path: Path) -> None:
    # A corner broken by a fillet of 0.005 that lies 0.004 off both of its sides.
    sides = [line(0, 0, 50, 0), line(50, 0, 50, 30), line(50, 30, 0.009, 30), line(0, 29.991, 0, 0)]
    loops = _found(tmp_path, *sides, _arc(0.007, 29.993, 0.005, 90.0, 180.0))
    assert [one.outline.area for one in loops.loops] == [pytest.approx(1500.0, abs=0.1)]
    assert loops.loops[0].off < 0.002


def _pieces(outline: Outline, rng: np.random.Generator, along: float, aside: float) -> tuple[Stroke, ...]:
    """Each segment as a stroke of its own, lengthened or cut along its own way at both ends, and moved aside."""
    s = outline.segments
    strokes: list[Stroke] = []
    for i in range(len(s)):
        begin, end = rng.uniform(-along, along, 2).tolist()
        if s.bulge[i] == 0.0:
            way = (s.end[i] - s.start[i]) / s.length[i]
            start, stop, bulge = s.start[i] - begin * way, s.end[i] + end * way, 0.0
        else:
            sign, r, c = np.sign(s.bulge[i]), s.radius[i], s.centre[i]
            first = atan2(*(s.start[i] - c)[::-1].tolist()) - sign * begin / r
            sweep = s.sweep[i] + sign * (begin + end) / r
            start, stop = (c + r * np.array([cos(t), sin(t)]) for t in (first, first + sweep))
            bulge = np.tan(sweep / 4.0)
        shift = rng.uniform(-aside, aside, 2)
        rows = np.array([[*(start + shift), bulge], [*(stop + shift), 0.0]])
        strokes.append(Stroke(rows, is_closed=False))
    return tuple(strokes[i] for i in rng.permutation(len(strokes)))


def _drawn(strokes: tuple[Stroke, ...]) -> FloatArray:
    """Places along strokes, but for their very ends, where they may stand out past each other."""
    points = []
    for stroke in strokes:
        v = stroke.vertices
        s = Segments.of(v[:1, :2], v[1:, :2], v[:1, 2])
        along = np.linspace(0.02, s.length[0] - 0.02, 60)
        points.append(s.points(np.zeros(60, dtype=np.int64), along))
    return np.concatenate(points)


def _oval(rng: np.random.Generator) -> Oval:
    length = float(rng.uniform(120.0, 300.0))
    width = length * float(rng.uniform(0.5, 0.8))
    if rng.random() < 0.3:
        return Oval(Family.OBROUND, length, width)
    if rng.random() < 0.5:
        return Oval(Family.ROUNDED_RECTANGLE, length, width, end_radius=0.3 * width)
    return Oval(Family.FOUR_ARC, length, width, end_radius=0.35 * width)


@pytest.mark.parametrize("seed", range(20))
def test_what_was_lengthened_or_cut_along_its_own_way_is_given_back_exactly(seed: int) -> None:
    rng = np.random.default_rng(seed)
    exact = oval_outline(_oval(rng)).turned(float(rng.uniform(0.0, pi)))
    loops = find_loops(Drawing(_pieces(exact, rng, 0.004, 0.0), MM, MM), MM)
    assert len(loops.loops) == 1
    outline = loops.loops[0].outline
    places = exact.points_at(exact.length * np.arange(2000) / 2000)
    # Vertices closer than a millionth of the size are one from the start.
    assert outline.nearest(places).distance.max() < 1e-6 * 300.0
    assert loops.loops[0].off <= 1e-4
    import shapely

    # The second opinion: the area between both, by chords that stray by a tenth of a micrometre.
    both = [shapely.Polygon(one.chords(1e-4)) for one in (exact, outline)]
    assert shapely.symmetric_difference(*both).area < 3e-4 * exact.length


@pytest.mark.parametrize("seed", range(30))
def test_off_by_is_never_less_than_what_the_drawn_lines_are_off(seed: int) -> None:
    rng = np.random.default_rng(100 + seed)
    exact = oval_outline(_oval(rng))
    join = float(10.0 ** rng.uniform(-2.0, -0.5))
    strokes = _pieces(exact, rng, 0.1 * join, 0.3 * join)
    loops = find_loops(Drawing(strokes, MM, MM), MM, join)
    assert len(loops.loops) == 1
    found = _recovered(loops)
    oval = oval_outline(found.oval).turned(found.angle).moved(*found.centre)
    if found.oval.family is Family.MEASURED:  # then it is held against the joined outline
        oval = loops.loops[0].outline
    assert oval.nearest(_drawn(strokes)).distance.max() <= found.worst + 1e-6
