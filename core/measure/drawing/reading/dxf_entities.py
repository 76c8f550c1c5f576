"""DXF entities as shapes: what each group code means (DXF reference, "Entities section").

Places of lines, ellipses and splines are the drawing's own; those of arcs, circles, plane polylines and blocks are in a
system of the entity's, which the extrusion direction (210, 220, 230) gives. In a plane drawing that is +Z, or -Z, which
mirrors X (same reference, "Arbitrary axis algorithm").
"""

from __future__ import annotations

from math import cos, hypot, pi, radians, sin
from typing import TYPE_CHECKING, Final

import numpy as np

from core.measure.drawing.reading.dxf_fields import (
    FARTHEST,
    NO_LENGTH,
    NO_NUMBER,
    NOT_FLAT,
    SLOPE,
    Fields,
    check_level,
    finite,
    near,
)
from core.measure.drawing.reading.dxf_shapes import (
    Chain,
    EllipticArc,
    Placement,
    Spline,
    UnusableError,
    circular,
    closed_if_round,
)
from core.measure.drawing.reading.dxf_splines import spline

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from core.geometry.lines.outline import FloatArray
    from core.measure.drawing.reading.dxf_tags import Record

_STEEPEST_BULGE: Final = 1e5
_MIRROR: Final = np.diag([-1.0, 1.0])
# Flags (70) of a POLYLINE and (70) of its VERTEX records.
_CLOSED, _3D, _MESH, _POLYFACE = 1, 8, 16, 64
_FRAME = 16


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
        raise UnusableError(NO_LENGTH)
    if abs(fields.number(31, 0.0) - fields.number(30, 0.0)) > SLOPE * length:
        raise UnusableError(NOT_FLAT)
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
        raise UnusableError(NO_NUMBER) from None
    fields = Fields(record)
    return _chain(_flipped(vertices, fields), is_closed=bool(fields.whole(70) & _CLOSED))


def _chain(vertices: FloatArray, *, is_closed: bool) -> Chain:
    """A polyline.

    Raises:
        UnusableError: it has no two different vertices, or something in it is no usable number.
    """
    if len(vertices) < 2:
        raise UnusableError("has fewer than two vertices")
    near(vertices[:, :2])
    if not np.abs(vertices[:, 2]).max() <= _STEEPEST_BULGE:
        raise UnusableError("has an arc without a usable bulge")
    if not (vertices[:, :2] != vertices[0, :2]).any():
        raise UnusableError(NO_LENGTH)
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
            check_level(np.array(heights), found[:, :2])
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


def width_of(*records: Record) -> float:
    """The greatest width that a polyline, or a vertex of one, is drawn with; 0 for a plain line.

    Group 43 is a width all along; 40 and 41 are those at both ends of a segment (DXF reference, "LWPOLYLINE",
    "POLYLINE", "VERTEX"). Only polylines have any.
    """
    widths = [0.0]
    for record in records:
        if record.kind in ("LWPOLYLINE", "POLYLINE", "VERTEX"):
            for code, value in zip(record.codes, record.values, strict=True):
                if code in (40, 41, 43):
                    try:
                        widths.append(finite(value))
                    except UnusableError:
                        continue
    return max(widths)


READERS: Final[dict[str, Callable[[Record], Chain | EllipticArc | Spline | Placement]]] = {
    "LINE": _line,
    "ARC": _arc,
    "CIRCLE": _circle,
    "ELLIPSE": _ellipse,
    "LWPOLYLINE": _lwpolyline,
    "SPLINE": spline,
    "INSERT": _insert,
}
"""What is read, by kind; a POLYLINE is read with the records that follow it, by ``polyline``."""
