"""DXF entities as shapes: what each group code means (DXF reference, "Entities section").

Places of lines, ellipses and splines are the drawing's own; those of arcs, circles, plane polylines and blocks are in a
system of the entity's, which the extrusion direction (210, 220, 230) gives. In a plane drawing that is +Z, or -Z, which
mirrors X (same reference, "Arbitrary axis algorithm").
"""

from __future__ import annotations

from math import cos, hypot, isfinite, pi, radians, sin
from typing import TYPE_CHECKING, Final

import numpy as np

from core.drawing.dxf_shapes import Chain, EllipticArc, Placement, Spline, UnusableError, circular, closed_if_round

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from core.drawing.dxf_tags import Record
    from core.outline import FloatArray

FARTHEST: Final = 1e7
"""Coordinates beyond this are a mistake: ten kilometres in millimetres [the drawing's unit]."""

_STEEPEST_BULGE: Final = 1e5
_LEVEL: Final = 1e-6
# What climbs by less than this part of its size is meant to be flat.
_SLOPE: Final = 1e-3
_MIRROR: Final = np.diag([-1.0, 1.0])
_NO_NUMBER: Final = "has a coordinate that is no finite number"
_TOO_FAR: Final = f"lies more than {FARTHEST:,.0f} units away"
_NOT_FLAT: Final = "does not lie flat in the drawing's plane"
_NO_LENGTH: Final = "has no length"
# Flags (70) of a POLYLINE and (70) of its VERTEX records.
_CLOSED, _3D, _MESH, _POLYFACE = 1, 8, 16, 64
_FRAME = 16


class Fields:
    """The values of a record by group code, of which the first counts."""

    def __init__(self, record: Record) -> None:
        self._first = dict(zip(reversed(record.codes), reversed(record.values), strict=True))

    def number(self, code: int, default: float | None = None) -> float:
        """A number.

        Raises:
            UnusableError: it is missing, or no finite number.
        """
        value = self._first.get(code, default)
        if value is None:
            raise UnusableError(f"lacks the value of group code {code}")
        return _finite(value)

    def whole(self, code: int, default: int = 0) -> int:
        """A whole number.

        Raises:
            UnusableError: it is none.
        """
        return int(self.number(code, default))

    def text(self, code: int, default: str = "") -> str:
        """A text without its line end."""
        return str(self._first.get(code, default)).strip()

    def place(self, code: int) -> FloatArray:
        """(2,) the point whose x has the code, and y the code + 10.

        Raises:
            UnusableError: it is none, or too far away.
        """
        return np.array(self.xy(code))

    def xy(self, code: int) -> tuple[float, float]:
        """As ``place``, as plain numbers: quicker where there are many.

        Raises:
            UnusableError: it is none, or too far away.
        """
        x, y = self.number(code), self.number(code + 10)
        if abs(x) > FARTHEST or abs(y) > FARTHEST:
            raise UnusableError(_TOO_FAR)
        return x, y

    def is_mirrored(self) -> bool:
        """Whether the extrusion direction is -Z.

        Raises:
            UnusableError: it is neither that nor +Z.
        """
        if 210 not in self._first and 230 not in self._first:
            return False
        x, y, z = self.number(210, 0.0), self.number(220, 0.0), self.number(230, 1.0)
        if not hypot(x, y) <= _LEVEL * abs(z):
            raise UnusableError(_NOT_FLAT)
        return z < 0.0


def _finite(value: object) -> float:
    try:
        number = float(value)  # type: ignore[arg-type] # whatever it is, it is tried
    except (TypeError, ValueError):
        raise UnusableError(_NO_NUMBER) from None
    if not isfinite(number):
        raise UnusableError(_NO_NUMBER)
    return number


def _near(points: FloatArray) -> FloatArray:
    if not np.isfinite(points).all():
        raise UnusableError(_NO_NUMBER)
    if np.abs(points).max() > FARTHEST:
        raise UnusableError(_TOO_FAR)
    return points


def _check_level(heights: FloatArray, points: FloatArray) -> None:
    """Refuse what runs through space.

    Raises:
        UnusableError: the heights (n,) of the points (n, 2) differ by too much.
    """
    if len(heights) == len(points) and np.ptp(heights) > _SLOPE * np.ptp(points, axis=0).max():
        raise UnusableError(_NOT_FLAT)


def _flipped(vertices: FloatArray, fields: Fields) -> FloatArray:
    """Vertices of the entity's own system in that of the drawing."""
    if fields.is_mirrored():
        vertices[:, 0] *= -1.0
        vertices[:, 2] *= -1.0
    return vertices


def _line(record: Record) -> Chain:
    fields = Fields(record)
    (x0, y0), (x1, y1) = fields.xy(10), fields.xy(11)
    length = hypot(x1 - x0, y1 - y0)
    if not length > 0.0:
        raise UnusableError(_NO_LENGTH)
    if abs(fields.number(31, 0.0) - fields.number(30, 0.0)) > _SLOPE * length:
        raise UnusableError(_NOT_FLAT)
    return Chain(np.array(((x0, y0, 0.0), (x1, y1, 0.0))), is_closed=False)


def _radius(fields: Fields) -> float:
    radius = fields.number(40)
    if not 0.0 < radius <= FARTHEST:
        raise UnusableError(f"has the radius {radius:g}")
    return radius


def _circle(record: Record) -> Chain:
    fields = Fields(record)
    vertices = circular(fields.place(10), np.array([_radius(fields), 0.0]), 2.0 * pi)
    return Chain(_flipped(vertices[:-1], fields), is_closed=True)


def _arc(record: Record) -> Chain:
    fields = Fields(record)
    radius, begin = _radius(fields), radians(fields.number(50, 0.0))
    sweep = (radians(fields.number(51, 360.0)) - begin) % (2.0 * pi)
    if sweep <= 1e-12:  # from a direction to itself: all the way round
        return _circle(record)
    vertices = circular(fields.place(10), radius * np.array([cos(begin), sin(begin)]), sweep)
    return Chain(_flipped(vertices, fields), is_closed=False)


def _ellipse(record: Record) -> EllipticArc:
    fields = Fields(record)
    u, ratio = fields.place(11), fields.number(40)
    if not hypot(*u) > 0.0 or not 1e-9 < abs(ratio) <= FARTHEST:
        raise UnusableError("is an ellipse without width")
    v = ratio * np.array([-u[1], u[0]])
    if fields.is_mirrored():
        v = -v  # the second axis is the extrusion direction times the first
    begin = fields.number(41, 0.0)
    sweep = (fields.number(42, 2.0 * pi) - begin) % (2.0 * pi)
    return EllipticArc(fields.place(10), u, v, begin, begin + (sweep if sweep > 1e-9 else 2.0 * pi))


_LEAST_ROUND: Final = 4  # fit points, the last one over the first: fewer make no cubic that comes round


def _spline(record: Record) -> Spline:
    fields = Fields(record)
    points, knots, weights = _xy(record, 10), _column(record, 40), _column(record, 41)
    if not len(points):
        return _through(_xy(record, 11), _xy(record, 12), _xy(record, 13))
    _check_level(_column(record, 30), points)
    degree = fields.whole(71, 3)
    if not 1 <= degree <= 25 or len(points) <= degree or len(knots) != len(points) + degree + 1:
        raise UnusableError(f"has {len(points)} control points and {len(knots)} knots, which don't suit each other")
    weights = weights if len(weights) else np.ones(len(points))
    if len(weights) != len(points) or not (weights > 0.0).all() or (np.diff(knots) < 0.0).any():
        raise UnusableError("has knots that run back, or weights that are not positive")
    if not knots[degree] < knots[len(points)]:
        raise UnusableError(_NO_LENGTH)
    return Spline(degree, points, weights, knots)


def _through(points: FloatArray, *tangents: FloatArray) -> Spline:
    """The curve through fit points, of a spline that has no control points."""
    from ezdxf.math import Vec3, fit_points_to_cad_cv

    if len(points) < 2 or not (np.diff(points, axis=0) != 0.0).any():
        raise UnusableError("has neither control points nor fit points")
    ends = [Vec3(*t[0]) for t in tangents if len(t)]
    if not ends and len(points) > _LEAST_ROUND and (points[0] == points[-1]).all():
        return _round(points)
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


def _column(record: Record, code: int) -> FloatArray:
    """All values of a group code.

    Raises:
        UnusableError: one is no finite number.
    """
    return np.array([_finite(v) for c, v in zip(record.codes, record.values, strict=True) if c == code])


def _xy(record: Record, code: int) -> FloatArray:
    """(n, 2) all points whose x has the code, and y the code + 10.

    Raises:
        UnusableError: they are not complete, or one is no finite number or too far away.
    """
    x, y = _column(record, code), _column(record, code + 10)
    if len(x) != len(y):
        raise UnusableError("lacks a coordinate")
    return _near(np.column_stack((x, y))) if len(x) else np.empty((0, 2))


def _lwpolyline(record: Record) -> Chain:
    codes = np.array(record.codes)
    starts = codes == 10
    vertex = np.cumsum(starts) - 1
    n = int(starts.sum())
    vertices = np.zeros((n, 3))
    vertices[:, 1] = np.nan
    try:
        for column, code in enumerate((10, 20, 42)):
            at = np.flatnonzero((codes == code) & (vertex >= 0))
            vertices[vertex[at], column] = np.array([float(record.values[i]) for i in at.tolist()])
    except ValueError:
        raise UnusableError(_NO_NUMBER) from None
    fields = Fields(record)
    return _chain(_flipped(vertices, fields), is_closed=bool(fields.whole(70) & _CLOSED))


def _chain(vertices: FloatArray, *, is_closed: bool) -> Chain:
    """A polyline.

    Raises:
        UnusableError: it has no two different vertices, or something in it is no usable number.
    """
    if len(vertices) < 2:
        raise UnusableError("has fewer than two vertices")
    _near(vertices[:, :2])
    if not np.abs(vertices[:, 2]).max() <= _STEEPEST_BULGE:
        raise UnusableError("has an arc without a usable bulge")
    if not (vertices[:, :2] != vertices[0, :2]).any():
        raise UnusableError(_NO_LENGTH)
    return Chain(vertices, is_closed=True) if is_closed else closed_if_round(vertices)


def polyline(head: Record, vertices: Sequence[Record]) -> Chain:
    """A POLYLINE with the VERTEX records that follow it.

    Raises:
        UnusableError: it is a mesh, or broken.
    """
    fields = Fields(head)
    flags = fields.whole(70)
    if flags & (_MESH | _POLYFACE):
        raise UnusableError("is a mesh in space")
    rows: list[tuple[float, float, float]] = []
    heights: list[float] = []
    for record in vertices:
        one = Fields(record)
        if not one.whole(70) & _FRAME:  # points of a spline's frame are not on it
            rows.append((one.number(10), one.number(20), one.number(42, 0.0)))
            heights.append(one.number(30, 0.0))
    found = np.array(rows, dtype=np.float64).reshape(-1, 3)
    if flags & _3D:
        if rows:
            _check_level(np.array(heights), found[:, :2])
        found[:, 2] = 0.0
    else:
        found = _flipped(found, fields)
    return _chain(found, is_closed=bool(flags & _CLOSED))


def _insert(record: Record) -> Placement:
    fields = Fields(record)
    angle = radians(fields.number(50, 0.0))
    turn = np.array([[cos(angle), -sin(angle)], [sin(angle), cos(angle)]])
    scale = np.array([fields.number(41, 1.0), fields.number(42, 1.0)])
    if not (np.abs(scale) > 1e-9).all() or not (np.abs(scale) <= FARTHEST).all():
        raise UnusableError("is a block scaled to nothing, or past all bounds")
    own = _MIRROR if fields.is_mirrored() else np.eye(2)
    steps = own @ turn @ np.diag([fields.number(44, 0.0), fields.number(45, 0.0)])
    count = [max(1, fields.whole(code, 1)) for code in (70, 71)]
    return Placement(
        fields.text(2).upper(), own @ turn @ np.diag(scale), own @ fields.place(10), count[0], count[1], steps
    )  # fmt: skip


READERS: Final[dict[str, Callable[[Record], Chain | EllipticArc | Spline | Placement]]] = {
    "LINE": _line,
    "ARC": _arc,
    "CIRCLE": _circle,
    "ELLIPSE": _ellipse,
    "LWPOLYLINE": _lwpolyline,
    "SPLINE": _spline,
    "INSERT": _insert,
}
"""What is read, by kind; a POLYLINE is read with the records that follow it, by ``polyline``."""
