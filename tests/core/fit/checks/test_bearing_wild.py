"""Bearing over random wild projects, against GEOS (by shapely) on chords and samples.

The second opinion takes the slabs' polygons, their difference at the floor, the fillets as buffers, and pushes the
rim's polygon in 72 directions until it meets metal. It knows nothing of stations, gaps or crossings.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, pi, sin
from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely
from msgspec.structs import replace
from shapely.affinity import translate
from shapely.geometry import LineString, Polygon

from core.fit.case import Case
from core.fit.gaps import gap_profiles
from core.fit.seat.floor import seat_floor
from core.fit.seat.ring import Push, Ring
from core.metal.slabs import resolve
from core.part.project import Choices
from core.resize.resize import resize
from tests.support.wild import wild_project

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from core.geometry.lines.outline import Outline
    from core.metal.slabs import ResolvedPiece
    from core.part.housing import Piece
    from core.part.project import Project

CHORD = 1e-3
DIRECTIONS = 72
STATIONS = 180
SAMPLES = 16
FINE = 5e-5  # chords of what meets when the rim is pushed
SHRUNK = 1e-4  # of what stops the rim: chords make no contact; more would blunt the tips where two walls cross
TOLERANCE = 0.03  # [mm]; a contact of nearly parallel curves is that uncertain along them


def case_of(project: Project) -> Case:
    resized = resize(project.housing, project.old_insert, project.new_insert, project.choices, project.limits)
    after = resolve(resized.housing, project.new_insert)
    return Case(project, resolve(project.housing, project.old_insert), after, gap_profiles(after, after))


def polygon(outline: Outline, chord: float = CHORD) -> Polygon:
    return Polygon(outline.chords(chord))


def metal(piece: ResolvedPiece, z: float, chord: float = CHORD) -> BaseGeometry:
    """Metal at a height, by even and odd: no nesting of loops is relied upon."""
    region = piece.region_at(z)
    area = Polygon()
    for loop in () if region is None else region.loops:
        area = area.symmetric_difference(polygon(loop, chord).buffer(0.0))
    return area


@dataclass
class Second:
    """The second opinion on one seat.

    Attributes:
        floor: what the rim can rest on, fillets taken off.
        stops: metal over it.
        rim: the rim where it is drawn.
        ends: (n, 2, 2) outer and inner ends of its normals.
    """

    floor: BaseGeometry
    stops: BaseGeometry
    rim: Polygon
    ends: np.ndarray
    width: float

    @classmethod
    def of(cls, case: Case, resolved: ResolvedPiece, piece: Piece) -> Second:
        c, level, fillet = resolved.curves, resolved.floor, piece.seat.corner_radius
        earlier = [part for part in resolved.parts if part.kind == "old seat"]
        outer, inner = [c.seat_outer], [c.seat_inner]
        top = level
        if earlier:
            top = max(top, earlier[0].z0)
            if earlier[0].z0 < level + 1e-3:
                outer.append(earlier[0].outline)
                inner.append(earlier[1].outline)
        zone = shapely.union_all([polygon(wall).buffer(-fillet, quad_segs=64) for wall in outer])
        if piece.lip.height > 0.0:
            zone = zone.difference(
                shapely.intersection_all([polygon(wall).buffer(fillet, quad_segs=64) for wall in inner])
            )
        floor = zone.intersection(metal(resolved, level - 1e-5).difference(metal(resolved, level + 1e-5)))
        stops = metal(resolved, top + 1e-5, FINE).buffer(-SHRUNK)
        width = case.insert.rim_at(resolved.end).width
        outline = c.rim_outer
        places = outline.length * (np.arange(STATIONS) + 0.37) / STATIONS
        outside, normals = outline.points_at(places), outline.normals_at(places)
        ends = np.stack((outside, outside - width * normals), axis=1)
        return cls(floor, stops, Polygon(outline.chords(FINE), [c.rim_inner.chords(FINE)]), ends, width)

    def travel(self, angle: float) -> float:
        """How far the rim goes in a direction before it meets metal; no further than it is wide [mm]."""
        d = np.array([cos(angle), sin(angle)])
        shapely.prepare(self.stops)
        if self.stops.intersects(self.rim):
            return 0.0
        low, high = 0.0, self.width
        if not self.stops.intersects(translate(self.rim, *(high * d))):
            return high
        while high - low > 1e-3:
            t = (low + high) / 2.0
            low, high = (low, t) if self.stops.intersects(translate(self.rim, *(t * d))) else (t, high)
        return low

    def length(self, line: np.ndarray) -> float:
        """How much of a line between two points lies on the floor [mm]."""
        return float(LineString(line).intersection(self.floor).length)

    def narrowest(self, shifts: np.ndarray) -> float:
        """The narrowest bearing over all shifts: samples find where to look, lines measure there."""
        shapely.prepare(self.floor)
        lines = self.ends[None, :, :, :] + shifts[:, None, None, :]
        t = ((np.arange(SAMPLES) + 0.5) / SAMPLES)[:, None]
        points = lines[:, :, None, 0, :] * (1.0 - t) + lines[:, :, None, 1, :] * t
        inside = shapely.contains_xy(self.floor, points[..., 0], points[..., 1]).sum(axis=2)
        low = np.argwhere(inside <= inside.min() + 1)
        low = low[np.linspace(0, len(low) - 1, min(len(low), 250)).astype(int)]
        return min(self.length(lines[i, j]) for i, j in low)


def check_push(second: Second, push: Push, found: float) -> None:
    """No direction is worse than the push, and the push is real: its travel, and its bearing at its place."""
    assert push.width <= found + TOLERANCE
    assert second.length(np.array([push.outer_end, push.inner_end])) == pytest.approx(push.width, abs=TOLERANCE)
    assert push.outer + push.inner + push.hollow == pytest.approx(second.width - push.width, abs=1e-6)


def check(project: Project) -> None:
    case = case_of(project)
    for resolved in case.after.pieces:
        piece = case.housing.piece(resolved.end)
        assert piece is not None
        ring, second = Ring(case.insert, resolved, seat_floor(resolved, piece)), Second.of(case, resolved, piece)
        area = second.rim.intersection(second.floor).area
        assert ring.area() == pytest.approx(area, abs=CHORD * 8.0 * second.rim.length)
        check_push(second, ring.centred(), second.narrowest(np.zeros((1, 2))))
        angles = np.arange(DIRECTIONS) * (2.0 * pi / DIRECTIONS)
        travels = np.array([second.travel(float(angle)) for angle in angles])
        push = ring.worst_push()
        check_push(second, push, second.narrowest(travels[:, None] * np.column_stack((np.cos(angles), np.sin(angles)))))
        # Pressed on one side it may still go to the other; where nothing rests, how far it goes says nothing.
        if not second.stops.intersects(second.rim) and push.width > 0.0:
            assert push.travel == pytest.approx(second.travel(push.angle), abs=2.0 * TOLERANCE)


@pytest.mark.parametrize("part", [*range(6), *(pytest.param(part, marks=pytest.mark.hard) for part in range(6, 12))])
def test_bearing_of_random_projects_is_that_of_the_metal_in_72_directions(part: int) -> None:
    for seed in range(5 * part, 5 * part + 5):
        check(wild_project(seed))


def test_a_rim_that_goes_further_past_a_wall_that_is_cut_away_than_its_normals_say_is_pushed_there() -> None:
    check(wild_project(11006))


def test_a_rim_that_is_pressed_all_round_is_not_pushed_off_its_narrowest_place() -> None:
    check(wild_project(11098))


@pytest.mark.hard
@pytest.mark.parametrize("part", range(200))
def test_bearing_of_many_random_projects_is_that_of_the_metal_in_72_directions(part: int) -> None:
    for seed in range(10_000 + 10 * part, 10_000 + 10 * part + 10):
        check(wild_project(seed))


@pytest.mark.parametrize("seed", range(200, 216))
def test_bearing_is_what_it_was_once_an_insert_is_changed_there_and_back(seed: int) -> None:
    project = replace(wild_project(seed, reworked=False), choices=Choices())
    there = resize(project.housing, project.old_insert, project.new_insert, project.choices, project.limits)
    back = replace(
        project, housing=there.housing, old_insert=project.new_insert, new_insert=project.old_insert, choices=Choices()
    )
    start, again = case_of(replace(project, new_insert=project.old_insert)), case_of(back)
    for was, now in zip(start.after.pieces, again.after.pieces, strict=True):
        own, piece = start.housing.piece(was.end), again.housing.piece(was.end)
        assert own is not None
        assert piece is not None
        first, second = Ring(start.insert, was, seat_floor(was, own)), Ring(again.insert, now, seat_floor(now, piece))
        assert second.area() == pytest.approx(first.area(), rel=1e-6, abs=1e-3)
        assert second.centred().width == pytest.approx(first.centred().width, abs=1e-4)
        assert second.worst_push().width == pytest.approx(first.worst_push().width, abs=2e-3)
