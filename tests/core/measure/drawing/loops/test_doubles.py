"""Twins a hair beside what they double, in hand-made DXF files and at random, and what is no twin."""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING

import numpy as np
import pytest

from core.geometry.ovals.ovals import Family, Oval, oval_outline
from core.measure.drawing.loops.nest import find_loops
from core.measure.drawing.reading.read import read_drawing
from core.measure.drawing.results import Drawing, DrawingUnit, Fault, Loops, Stroke
from tests.core.measure.drawing.dxf_text import Pairs, entity, header, line, section, write

if TYPE_CHECKING:
    from pathlib import Path

MM = DrawingUnit.MM
JOIN = 0.01


def _found(tmp_path: Path, *records: Pairs, join: float = JOIN) -> Loops:
    path = write(tmp_path / "a.dxf", header(INSUNITS=(70, 4)), section("ENTITIES", *records))
    return find_loops(read_drawing(path), MM, join)


def _circle(x: float, y: float, radius: float) -> Pairs:
    return entity("CIRCLE", (10, x), (20, y), (40, radius))


def _polyline(*corners: tuple[float, float], closed: bool = True) -> Pairs:
    rows = [pair for x, y in corners for pair in ((10, x), (20, y))]
    return entity("LWPOLYLINE", (90, len(corners)), (70, int(closed)), *rows)


def _square(x: float, y: float, side: float) -> tuple[tuple[float, float], ...]:
    return (x, y), (x + side, y), (x + side, y + side), (x, y + side)


def _sides(*corners: tuple[float, float]) -> list[Pairs]:
    return [line(*corners[i], *corners[(i + 1) % len(corners)]) for i in range(len(corners))]


def _faults(found: Loops) -> set[Fault]:
    return {trouble.fault for trouble in found.troubles}


@pytest.mark.parametrize("shift", [0.0, 0.0003, 0.003, 0.009])
def test_a_closed_twin_shifted_by_less_than_the_join_tolerance_is_a_double(tmp_path: Path, shift: float) -> None:
    found = _found(tmp_path, _circle(50, 40, 20), _circle(50 + shift, 40, 20), _circle(50, 40 - shift, 20))
    assert [one.outline.area for one in found.loops] == [pytest.approx(400.0 * pi)]
    assert found.loops[0].outline.centroid == pytest.approx((50.0, 40.0))  # the first is the one that stays
    assert _faults(found) == {Fault.DOUBLE}
    assert sum(t.size for t in found.troubles) == pytest.approx(2.0 * 40.0 * pi, rel=1e-6)


def test_a_twin_shifted_by_more_than_the_join_tolerance_is_another_outline(tmp_path: Path) -> None:
    assert len(_found(tmp_path, _circle(50, 40, 20), _circle(50.011, 40, 20)).loops) == 2
    assert len(_found(tmp_path, _circle(50, 40, 20), _circle(50, 40, 20.011)).loops) == 2
    assert len(_found(tmp_path, _circle(50, 40, 20), _circle(50.011, 40, 20), join=0.02).loops) == 1


def test_a_rim_in_its_seat_is_no_twin_however_far_apart_ends_are_joined(tmp_path: Path) -> None:
    def obround(length: float, width: float) -> list[Pairs]:
        h, r = (length - width) / 2.0, width / 2.0
        sides = [line(-h, -r, h, -r), line(h, r, -h, r)]
        return [
            *sides,
            *(entity("ARC", (10, x), (20, 0), (40, r), (50, a), (51, a + 180)) for x, a in ((h, -90), (-h, 90))),
        ]

    # A gap of 0.4 all round, and ends joined within 1 mm: the straight sides are as long as each other.
    for records in (
        [*obround(200.0, 120.0), *obround(200.8, 120.8)],
        [_circle(0, 0, 60), _circle(0, 0, 60.4)],
    ):
        assert len(_found(tmp_path, *records, join=1.0).loops) == 2
    assert len(_found(tmp_path, _circle(0, 0, 60), _circle(0.7, 0, 60), join=1.0).loops) == 1


@pytest.mark.parametrize("first", ["lines", "polyline"])
@pytest.mark.parametrize("second", ["lines", "polyline", "pieces"])
def test_a_shifted_twin_is_a_double_however_both_are_drawn(tmp_path: Path, first: str, second: str) -> None:
    def drawn(way: str, at: float) -> list[Pairs]:
        if way == "polyline":
            return [_polyline(*_square(at, at, 80.0))]
        between = [(at + 30.0, at)] if way == "pieces" else []
        first, *others = _square(at, at, 80.0)
        return _sides(first, *between, *others)

    found = _found(tmp_path, *drawn(first, 0.0), *drawn(second, 0.004))
    assert [one.outline.area for one in found.loops] == [pytest.approx(6400.0)]
    assert _faults(found) == {Fault.DOUBLE}
    assert sum(t.size for t in found.troubles) == pytest.approx(320.0, abs=0.1)


def test_a_shifted_line_over_a_part_of_a_side_is_a_double(tmp_path: Path) -> None:
    found = _found(tmp_path, *_sides(*_square(0, 0, 80)), line(20.0, 0.004, 50.0, 0.003), line(80.006, 10, 80.006, 60))
    assert [one.outline.area for one in found.loops] == [pytest.approx(6400.0)]
    assert sorted(t.size for t in found.troubles if t.fault is Fault.DOUBLE) == pytest.approx([30.0, 50.0])
    assert _faults(found) == {Fault.DOUBLE}


def test_neighbours_whose_common_side_was_drawn_twice_and_a_hair_apart_both_stay(tmp_path: Path) -> None:
    for left, right in (
        (_sides(*_square(0, 0, 80)), _sides(*_square(80.005, 0, 80))),
        ([_polyline(*_square(0, 0, 80))], [_polyline(*_square(80.005, 0, 80))]),
    ):
        found = _found(tmp_path, *left, *right)
        areas = sorted(one.outline.area for one in found.loops)
        # As polylines both stay; of single lines the straightest way at the branches is the whole of both.
        assert areas in ([pytest.approx(6400.0, abs=1.0)] * 2, [pytest.approx(12800.0, abs=1.0)])
        assert max(one.off for one in found.loops) <= JOIN


def test_neighbours_on_a_fine_polyline_are_no_twins(tmp_path: Path) -> None:
    # 20,000 corners on a circle of radius 20 lie 0.006 apart: closer than the join tolerance.
    t = 2.0 * np.pi * np.arange(20_000) / 20_000
    corners = [(20.0 * np.cos(a), 20.0 * np.sin(a)) for a in t]
    for records in ([_polyline(*corners)], [_polyline(*corners, corners[0], closed=False)]):
        found = _found(tmp_path, *records)
        assert [one.outline.area for one in found.loops] == [pytest.approx(400.0 * pi, rel=1e-6)]
        assert not found.troubles


def test_arcs_a_hair_apart_at_their_ends_only_are_no_twins(tmp_path: Path) -> None:
    rows: list[tuple[int, object]] = [(10, -20), (20, 0), (42, 0.5), (10, 20), (20, 0)]
    other: list[tuple[int, object]] = [(10, -20), (20, 0.004), (42, 0.2), (10, 20), (20, 0.004)]
    found = _found(tmp_path, entity("LWPOLYLINE", (90, 2), *rows), entity("LWPOLYLINE", (90, 2), *other))
    assert len(found.loops) == 1
    assert Fault.DOUBLE not in _faults(found)


@pytest.mark.parametrize("seed", range(25))
def test_random_twins_of_ovals_leave_the_first_as_it_was(seed: int) -> None:
    rng = np.random.default_rng(seed)
    length = float(rng.uniform(60.0, 300.0))
    exact = oval_outline(Oval(Family.FOUR_ARC, length, 0.6 * length, end_radius=0.22 * length))
    vertices = exact.turned(float(rng.uniform(0.0, 3.0))).vertices
    join = float(10.0 ** rng.uniform(-2.5, -0.5))
    strokes = [Stroke(vertices, is_closed=True)]
    for _ in range(int(rng.integers(1, 4))):
        angle = float(rng.uniform(0.0, 2.0 * np.pi))
        twin = vertices.copy()
        twin[:, :2] += 0.45 * join * np.array([np.cos(angle), np.sin(angle)])
        if rng.random() < 0.5:
            rolled = np.roll(twin, int(rng.integers(1, len(twin))), axis=0)
            strokes.append(Stroke(rolled, is_closed=True))
        else:
            after = np.roll(twin, -1, axis=0)
            strokes += [
                Stroke(np.array([twin[i], [*after[i, :2], 0.0]]), is_closed=False) for i in rng.permutation(len(twin))
            ]
    found = find_loops(Drawing(tuple(strokes), MM, MM), MM, join)
    # What lies on it within a micrometre may cost as much: nobody could draw the difference.
    assert [one.outline.area for one in found.loops] == [pytest.approx(exact.area, abs=1e-3 * exact.length)]
    assert _faults(found) == {Fault.DOUBLE}
    assert found.loops[0].off <= 1e-3


def test_many_twins_in_one_place_end_in_bounded_work() -> None:
    rng = np.random.default_rng(1)
    rows = [
        np.array([[*rng.uniform(0, 0.005, 2), 0.0], [50.0 + rng.uniform(0, 0.005), 20.0, 0.0]]) for _ in range(4000)
    ]
    found = find_loops(Drawing(tuple(Stroke(row, is_closed=False) for row in rows), MM, MM), MM)
    assert not found.loops
    circles = [np.array([[10.0 + d, 0.0, 1.0], [-10.0 + d, 0.0, 1.0]]) for d in rng.uniform(0, 0.005, 1500)]
    found = find_loops(Drawing(tuple(Stroke(row, is_closed=True) for row in circles), MM, MM), MM)
    assert len(found.loops) == 1
