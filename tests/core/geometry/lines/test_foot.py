"""Single points against outlines: plain numbers must tell what the arrays tell."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from core.geometry.lines.outline import Outline, circle_outline
from core.geometry.ovals.ovals import SIZED_FAMILIES, Family, Oval, oval_outline

LENGTH = st.floats(-20.0, 20.0)
# Flatter arcs have radii so large that their centres keep few digits, one by one or in arrays.
BULGE = st.one_of(st.just(0.0), st.floats(1e-3, 3.0), st.floats(-3.0, -1e-3))
OUTLINES = st.lists(st.tuples(LENGTH, LENGTH, BULGE), min_size=2, max_size=6).map(Outline)


@settings(deadline=None)
@given(outline=OUTLINES, x=LENGTH, y=LENGTH)
def test_one_point_and_many_points_agree(outline: Outline, x: float, y: float) -> None:
    assume(outline.length > 0.01)
    foot, many = outline.foot_of((x, y)), outline.nearest([(x, y)])
    assert foot.distance == pytest.approx(many.distance[0], abs=1e-9)
    assert np.hypot(foot.at[0] - x, foot.at[1] - y) == pytest.approx(foot.distance, abs=1e-9)
    assert np.hypot(*(many.foot[0] - (x, y))) == pytest.approx(foot.distance, abs=1e-9)
    there = outline.points_at([outline.station_of(foot)])[0]
    assert np.hypot(*(there - foot.at)) == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("family", SIZED_FAMILIES)
@pytest.mark.parametrize("is_reversed", [False, True])
def test_the_sign_tells_inside_from_outside(family: Family, is_reversed: bool) -> None:  # noqa: FBT001 - a parameter
    width = 240.0 if family is Family.CIRCLE else 150.0
    outline = oval_outline(Oval(family, 240.0, width)).oriented(ccw=not is_reversed)
    points = np.random.default_rng(2).uniform(-150.0, 150.0, (500, 2))
    inside = outline.contains(points)
    signed = [outline.signed_distance_to((x, y)) for x, y in points.tolist()]
    assert ((np.array(signed) < 0.0) == inside).all()
    assert outline.signed_distance(points) == pytest.approx(signed, abs=1e-9)


def test_a_corner_does_not_mislead_the_sign() -> None:
    # Beyond the tip, the point lies to the left of one of the two edges that are equally near.
    tip = Outline([[0.0, 0.0, 0.0], [10.0, 1.0, 0.0], [0.0, 2.0, 0.0]])
    assert tip.signed_distance_to((12.0, 1.3)) > 0.0
    assert tip.signed_distance_to((12.0, 0.7)) > 0.0


def test_the_centre_of_a_circle_is_a_radius_away_from_a_place_on_it() -> None:
    foot = circle_outline((3.0, 4.0), 5.0).foot_of((3.0, 4.0))
    assert foot.distance == pytest.approx(5.0)
    assert np.hypot(foot.at[0] - 3.0, foot.at[1] - 4.0) == pytest.approx(5.0)
