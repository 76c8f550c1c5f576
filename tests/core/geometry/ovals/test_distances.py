"""The quick distances agree with GEOS on the curves as the tests write them down."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from core.geometry.ovals.distances import oval_distances, signed_distances
from core.geometry.ovals.families.kind import Shape as Numbers
from core.geometry.ovals.ovals import Family, Oval, exact_points
from tests.core.measure.scan.rendered import SHAPES, Shape, boundary


@pytest.mark.parametrize("shape", SHAPES, ids=lambda s: s.family.value)
def test_distances_and_normals_agree_with_geos(shape: Shape) -> None:
    polygon = shapely.Polygon(boundary(shape))
    rng = np.random.default_rng(3)
    points = boundary(shape)[rng.integers(0, 3000, 400)] + rng.uniform(-6.0, 6.0, (400, 2))
    d, normals = signed_distances(shape.family.kind, Numbers(shape.length / 2.0, shape.width / 2.0, shape.own), points)
    sign = np.where(shapely.contains_xy(polygon, points), -1.0, 1.0)
    expected = sign * shapely.distance(polygon.exterior, shapely.points(points))
    # Chords of the boundary stray from the curve by some micrometres, as do places far inside a tight curve.
    assert np.abs(d - expected).max() < 0.02
    assert np.hypot(*normals.T) == pytest.approx(np.ones(400))
    # The foot of the normal lies on the curve.
    feet = points - d[:, None] * normals
    assert shapely.distance(polygon.exterior, shapely.points(feet)).max() < 0.02


def test_an_outline_without_a_formula_is_refused() -> None:
    with pytest.raises(ValueError, match="no formula"):
        signed_distances(Family.MEASURED.kind, Numbers(2.0, 1.0), np.zeros((1, 2)))


@pytest.mark.parametrize(
    "oval",
    [
        Oval(Family.OBROUND, 240.0, 150.0),
        Oval(Family.FOUR_ARC, 240.0, 150.0),
        Oval(Family.ROUNDED_RECTANGLE, 240.0, 150.0),
        Oval(Family.ELLIPSE, 300.0, 60.0),
        Oval(Family.SUPERELLIPSE, 300.0, 60.0, exponent=5.0),
    ],
    ids=lambda oval: oval.family.value,
)
@pytest.mark.parametrize("distance", [-3.0, 0.01, 20.0])
def test_points_moved_along_the_normals_are_as_far_off_as_they_were_moved(oval: Oval, distance: float) -> None:
    points, normals = exact_points(oval, 2000)
    found, directions = oval_distances(oval, points + distance * normals)
    assert found == pytest.approx(np.full(2000, distance), abs=1e-9)
    assert np.abs(directions - normals).max() < 1e-6
