"""Normal distances of many points from an oval, with the directions of the normals.

`Outline.nearest` knows any outline; a fit asks some hundred times for thousands of points, so that each family's own
formula pays.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from core.geometry.ovals.ovals import exact_points, has_arcs, oval_outline

if TYPE_CHECKING:
    from core.geometry.lines.outline import FloatArray, Outline
    from core.geometry.ovals.families.kind import Kind, Shape
    from core.geometry.ovals.ovals import Oval


def oval_distances(oval: Oval, points: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Distances (m,) [mm], + outside, of points (m, 2) from an oval about the origin, and the normals (m, 2) there.

    >>> from core.geometry.ovals.ovals import Family, Oval
    >>> oval_distances(Oval(Family.CIRCLE, 10.0, 10.0), np.array([[6.0, 8.0], [3.0, 0.0]]))[0].tolist()
    [5.0, -2.0]
    """
    return signed_distances(oval.family.kind, oval.shape, points)


def signed_distances(kind: Kind, shape: Shape, points: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Distances (m,) [mm], + outside, of points from an oval centred on its axes, and the unit normals (m, 2) there.

    Args:
        kind: any but the measured one.
        shape: its sizes.
        points: (m, 2) [mm], outside the circles of curvature's centres; farther in, a superellipse's are estimates.

    Raises:
        ValueError: the measured kind has no formula.

    >>> from core.geometry.ovals.families.kind import Shape
    >>> from core.geometry.ovals.families.circle import Circle
    >>> [found.round(9).tolist() for found in signed_distances(Circle(), Shape(5.0, 5.0), np.array([[6.0, -8.0]]))]
    [[5.0], [[0.6, -0.8]]]
    """
    x, y = points[:, 0], points[:, 1]
    d, nx, ny = kind.distances(shape, np.abs(x), np.abs(y))
    return d, np.column_stack((np.copysign(nx, x), np.copysign(ny, y)))


def deviation(oval: Oval, distance: float, outline: Outline) -> float:
    """Worst distance [mm] between an outline and the exact parallel of the oval, measured both ways on dense points.

    Args:
        oval: the oval.
        distance: of the parallel, positive outward [mm]; inward at most to the least radius of the oval.
        outline: what stands for that parallel.

    Raises:
        ImpossibleOvalError: the oval can't exist.

    >>> from core.geometry.lines.outline import circle_outline
    >>> from core.geometry.ovals.ovals import Family, Oval
    >>> round(deviation(Oval(Family.CIRCLE, 10.0, 10.0), 2.0, circle_outline((0.0, 0.0), 7.5)), 9)  # 5 + 2 against 7.5
    0.5
    """
    points, normals = exact_points(oval, 1024)
    there = float(outline.segments.nearest(points + distance * normals)[0].max())
    # 13 points to a segment meet the top of a biarc's deviation, at two thirds of an arc, within 1 %.
    count = 13
    index = np.repeat(np.arange(len(outline)), count)
    along = outline.segments.length[index] * np.tile(np.arange(count) / count, len(outline))
    back = float(np.abs(_distances(oval, outline.segments.points(index, along)) - distance).max())
    return max(there, back)


def _distances(oval: Oval, points: FloatArray) -> FloatArray:
    return oval_outline(oval).signed_distance(points) if has_arcs(oval) else oval_distances(oval, points)[0]
