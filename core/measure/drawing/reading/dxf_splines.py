"""SPLINE entities as rational B-splines: by control points, or through fit points (DXF reference, "SPLINE")."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from core.measure.drawing.reading.dxf_fields import NO_LENGTH, Fields, check_level, column, xy
from core.measure.drawing.reading.dxf_shapes import Spline, UnusableError

if TYPE_CHECKING:
    from core.geometry.lines.outline import FloatArray
    from core.measure.drawing.reading.dxf_tags import Record

_CLOSED: Final = 1  # bit of the flags (70)
_LEAST_ROUND: Final = 3  # different fit points: fewer make no curve that comes round
_SAME: Final = 5e-5
"""Ends this close, as a part of the curve's size, are one point: 0.01 mm on a part of 200 mm, by which ends are joined
anyway."""


def spline(record: Record) -> Spline:
    """The curve that a SPLINE is.

    Raises:
        UnusableError: its values make no curve.
    """
    fields = Fields(record)
    points, knots, weights = xy(record, 10), column(record, 40), column(record, 41)
    if not len(points):
        is_closed = bool(fields.whole(70) & _CLOSED)
        return _through(xy(record, 11), (xy(record, 12), xy(record, 13)), is_closed=is_closed)
    check_level(column(record, 30), points)
    degree = fields.whole(71, 3)
    if not 1 <= degree <= 25 or len(points) <= degree or len(knots) != len(points) + degree + 1:
        raise UnusableError(f"has {len(points)} control points and {len(knots)} knots, which don't suit each other")
    weights = weights if len(weights) else np.ones(len(points))
    if len(weights) != len(points) or not (weights > 0.0).all() or (np.diff(knots) < 0.0).any():
        raise UnusableError("has knots that run back, or weights that are not positive")
    if not knots[degree] < knots[len(points)]:
        raise UnusableError(NO_LENGTH)
    return Spline(degree, points, weights, knots)


def _through(points: FloatArray, tangents: tuple[FloatArray, ...], *, is_closed: bool) -> Spline:
    """The curve through fit points, of a spline that has no control points.

    It comes round without a kink where its flag says that it is closed, or where its ends lie in one point and no
    directions are given for them.
    """
    from ezdxf.math import Vec3, fit_points_to_cad_cv

    if len(points) < 2 or not (np.diff(points, axis=0) != 0.0).any():
        raise UnusableError("has neither control points nor fit points")
    ends = [Vec3(*t[0]) for t in tangents if len(t)]
    meets = bool(np.hypot(*(points[0] - points[-1])) <= _SAME * np.ptp(points, axis=0).max())
    different = points[:-1] if meets else points
    if (is_closed or (meets and not ends)) and len(different) >= _LEAST_ROUND:
        return _round(np.concatenate((different, points[:1])))
    curve = fit_points_to_cad_cv([Vec3(*p) for p in points.tolist()], ends if len(ends) == 2 else None)
    control = np.array([(p.x, p.y) for p in curve.control_points])
    return Spline(curve.order - 1, control, np.ones(len(control)), np.array(curve.knots(), dtype=np.float64))


def _round(points: FloatArray) -> Spline:
    """The curve through fit points that come round to the first one, without a kink there."""
    from scipy.interpolate import make_interp_spline

    way = np.hypot(*np.diff(points, axis=0).T)
    if not (way > 0.0).all():
        raise UnusableError("has a fit point twice in a row")
    curve = make_interp_spline(np.concatenate(([0.0], np.cumsum(way))), points, k=3, bc_type="periodic")
    control = np.asarray(curve.c, dtype=np.float64)[: len(curve.t) - 4]
    return Spline(3, control, np.ones(len(control)), np.asarray(curve.t, dtype=np.float64))
