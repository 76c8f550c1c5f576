"""No short segments but the design's own: slivers by hand, and every outline of random projects."""

from __future__ import annotations

from math import cos, pi, sin, tan

import numpy as np
import pytest
import shapely

from core.files.outlines.rings import rings
from core.files.outlines.tidy import MOST_MOVED_MM, SHORTEST_MM, short_ones, tidied
from core.geometry.lines.outline import Outline, polygon_outline
from core.metal.slabs import Resolved, resolve
from core.resize.resize import resize
from tests.support.wild import wild_project

NONE = np.zeros((0, 2))


def test_a_sliver_of_arc_is_drawn_into_the_arc_it_goes_on_from() -> None:
    # A half disc whose arc is parted 0.02 mm before its end, the sliver a little flatter than the rest.
    start, last = (20.0, 0.0), (-20.0 * cos(0.001), 20.0 * sin(0.001))
    ring = Outline(
        [[*start, tan((pi - 0.001) / 4)], [*last, tan(0.001 / 4) * 0.7], [-20.0, 0.0, 0.0], [0.0, -5.0, 0.0]]
    )
    assert float(ring.segments.length.min()) == pytest.approx(0.02)
    clean, moved = tidied(ring, NONE)
    assert len(clean) == 3
    assert float(clean.segments.length.min()) > SHORTEST_MM
    assert 0.0 < moved < 2e-6  # sagitta of the sliver: 0.02² / (8 x 20) = 2.5 nm
    assert float(ring.nearest(clean.points_at(clean.length * np.linspace(0, 1, 5000))).distance.max()) <= moved * 1.01


def test_a_short_segment_that_is_meant_stays() -> None:
    step = polygon_outline([[0.0, 0.0], [50.0, 0.0], [50.0, 0.05], [60.0, 0.05], [60.0, 40.0], [0.0, 40.0]])
    assert tidied(step, short_ones([step])) == (step, 0.0)
    triangle = polygon_outline([[0.0, 0.0], [0.05, 0.0], [0.0, 40.0]])
    assert tidied(triangle, NONE) == (triangle, 0.0)  # it would be none any more


def test_a_step_that_only_a_meeting_makes_is_taken_out() -> None:
    step = polygon_outline([[0.0, 0.0], [50.0, 0.0], [50.0, 0.05], [60.0, 0.05], [60.0, 40.0], [0.0, 40.0]])
    clean, moved = tidied(step, NONE)
    assert float(clean.segments.length.min()) >= SHORTEST_MM
    assert 0.02 < moved <= MOST_MOVED_MM
    off = shapely.hausdorff_distance(
        shapely.LinearRing(clean.chords(1e-3)), shapely.LinearRing(step.chords(1e-3)), 0.01
    )
    assert off <= moved + 1e-6


def test_neighbours_that_meet_just_past_a_stub_are_drawn_on_until_they_do() -> None:
    # A corner cut off by 0.04 mm: both sides go on to the corner itself.
    cut = polygon_outline([[0.0, 0.0], [30.0, 0.0], [30.0, 19.98], [29.98, 20.0], [0.0, 20.0]])
    clean, moved = tidied(cut, NONE)
    assert sorted(map(tuple, clean.vertices[:, :2].tolist())) == [(0.0, 0.0), (0.0, 20.0), (30.0, 0.0), (30.0, 20.0)]
    assert moved == pytest.approx(0.02 / 2**0.5, abs=1e-3)  # from the corner to the cut's middle


def test_an_arc_that_is_drawn_on_stays_on_its_circle() -> None:
    # A half disc of 20 with its end cut off 0.05 mm above the base.
    angle = 0.05 / 20.0
    last = (-20.0 * cos(angle), 20.0 * sin(angle))
    disc = Outline([[20.0, 0.0, tan((pi - angle) / 4)], [*last, 0.0], [-19.99, 0.0, 0.0]])
    clean, moved = tidied(disc, NONE)
    assert len(clean) == 2
    assert np.hypot(*clean.vertices[:, :2].T) == pytest.approx(20.0, abs=1e-6)
    assert moved < 0.02


def of(seed: int) -> Resolved:
    """The metal of a random project after resizing."""
    p = wild_project(seed)
    return resolve(resize(p.housing, p.old_insert, p.new_insert, p.choices, p.limits).housing, p.new_insert)


def has_only_its_own(seed: int) -> int:
    """Held against every outline of a random project; how many had to be tidied."""
    resolved, moved = of(seed), 0
    for piece in resolved.pieces:
        meant = short_ones([part.outline for part in piece.parts])
        loops = [loop for slab in piece.slabs for loop in slab.region.loops]
        for ring in rings(resolved, piece.end):
            s = ring.outline.segments
            short = np.flatnonzero(s.length < SHORTEST_MM)
            for middle in s.points(short, s.length[short] / 2.0):
                assert np.hypot(*(meant - middle).T).min() < 1e-4
            if ring.outline not in loops:
                moved += 1
                points = ring.outline.points_at(np.linspace(0.0, ring.outline.length, 2000))
                assert min(float(loop.segments.nearest(points)[0].max()) for loop in loops) <= MOST_MOVED_MM + 1e-6
    return moved


def test_random_projects_have_no_short_segments_but_their_own() -> None:
    for seed in (3, 23, 129, 217, *range(30)):  # the first four have some before they are tidied
        has_only_its_own(seed)


@pytest.mark.hard
@pytest.mark.parametrize("first", range(0, 2000, 200))
def test_thousands_of_projects_have_no_short_segments_but_their_own(first: int) -> None:
    for seed in range(first, first + 200):
        has_only_its_own(seed)
