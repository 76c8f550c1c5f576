"""Gaps by station, against curves whose distances are known."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from core.files.project.demos import load_demo
from core.fit.gaps import STATIONS, gap_profile, gap_profiles
from core.geometry.lines.outline import circle_outline
from core.geometry.ovals.ovals import SIZED_FAMILIES, Family, Oval, oval_outline
from core.geometry.parallels.parallel import parallel
from core.metal.slabs import resolve
from core.part.project import Choices, Mode
from core.resize.resize import resize
from core.words.ends import End, Side


@pytest.mark.parametrize("family", SIZED_FAMILIES)
def test_a_parallel_wall_has_the_same_gap_all_round(family: Family) -> None:
    rim = oval_outline(Oval(family, 160.0, 160.0 if family is Family.CIRCLE else 110.0))
    for side, distance in ((Side.OUTER, 0.8), (Side.OUTER, -0.3), (Side.INNER, 0.7), (Side.INNER, -0.2)):
        wall = parallel(rim, distance if side is Side.OUTER else -distance)
        profile = gap_profile(rim, wall, End.BASE, side)
        assert len(profile.gap) == STATIONS
        np.testing.assert_allclose(profile.gap, distance, atol=1e-9)
        # Steiner: the developed lengths differ by 2 pi d, so their mean gap is d as well.
        assert profile.developed_mean == pytest.approx(distance, abs=1e-9)


@settings(deadline=None)
@given(st.floats(0.1, 1.9), st.floats(0.0, 6.28))
def test_a_round_rim_off_centre_has_the_gap_of_the_cosine_rule(shift: float, angle: float) -> None:
    """Distance between a point of the shifted circle and the wall's circle round the origin (elementary)."""
    rim = circle_outline((shift * np.cos(angle), shift * np.sin(angle)), 48.0)
    profile = gap_profile(rim, circle_outline((0.0, 0.0), 50.0), End.BASE, Side.OUTER)
    assert profile.gap.min() == pytest.approx(2.0 - shift, abs=2e-3)
    assert profile.gap.max() == pytest.approx(2.0 + shift, abs=2e-3)
    np.testing.assert_allclose(profile.gap, 50.0 - np.hypot(profile.rim[:, 0], profile.rim[:, 1]), atol=1e-9)
    feet = np.hypot(*(profile.wall - profile.rim).T)
    np.testing.assert_allclose(feet, np.abs(profile.gap), atol=1e-9)


def test_interference_is_below_nought() -> None:
    profile = gap_profile(circle_outline((0.0, 0.0), 51.0), circle_outline((0.0, 0.0), 50.0), End.BASE, Side.OUTER)
    assert profile.gap.max() < 0.0


def test_stations_count_from_the_long_axis_counter_clockwise() -> None:
    rim = oval_outline(Oval(Family.OBROUND, 200.0, 120.0))
    profile = gap_profile(rim, parallel(rim, 1.0), End.BASE, Side.OUTER)
    assert profile.rim[0] == pytest.approx((100.0, 0.0), abs=1e-9)
    assert profile.rim[STATIONS // 4] == pytest.approx((0.0, 60.0), abs=1e-9)


def test_in_a_rework_the_wall_that_counts_is_the_one_that_is_there() -> None:
    project = load_demo("compressor-intake")
    smaller = replace(project.old_insert, length=210.0, width=132.0)
    choices = Choices(mode=Mode.REWORK)
    housing = resize(project.housing, project.old_insert, smaller, choices, project.limits).housing
    after = resolve(housing, smaller)
    outer = next(g for g in gap_profiles(after, after) if g.side is Side.OUTER)
    # One millimetre smaller all round, in the old seat with its gap of 0.8 mm.
    np.testing.assert_allclose(outer.gap, 1.8, atol=1e-9)
