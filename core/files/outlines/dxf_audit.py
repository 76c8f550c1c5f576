"""Reading a written file back, and comparing it with the design, before it is called written.

Nothing here uses the code that wrote the file: the entities are turned into outlines anew. Deviations are measured both
ways on the lines and arcs themselves. What is reported for a ring is its distance from the *exact* curve where it is
the whole parallel of an oval; elsewhere it is the distance from the design plus the tolerance within which the design's
arcs stand for their curves, an upper bound.
"""

from __future__ import annotations

from math import hypot, sqrt
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct

from core.files.outlines.dxf_write import CHECK_LAYER, CHECK_SIDE_MM, METRIC, MILLIMETRES, DxfVersion
from core.files.outlines.tidy import SHORTEST_MM
from core.geometry.lines.outline import Outline, as_circle, circle_outline
from core.geometry.ovals.distances import deviation
from core.words.verdicts import counted

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from ezdxf.document import Drawing
    from ezdxf.entities.dxfentity import DXFEntity

    from core.files.outlines.dxf_write import WrittenFile
    from core.files.outlines.rings import Ring
    from core.geometry.lines.outline import FloatArray

DEVIATION_LIMIT_MM: Final = 0.001
"""A written ring may be this far from its exact curve: one micrometre."""

_VERSIONS: Final = {DxfVersion.R12: "AC1009", DxfVersion.R2010: "AC1024"}
# Flags of polylines, group code 70 (DXF reference, LWPOLYLINE and POLYLINE).
_CLOSED, _LINETYPE_RUNS_ON = 1, 128
_NO_LENGTH_MM: Final = 1e-6
# What is off by less is rounding, and need not be looked for on the lines and arcs.
_ROUNDING_MM: Final = 1e-7
# Samples to a segment: 13 meet the top of an arc's deviation within 1 %.
_SAMPLES: Final = 13


class AuditedRing(Struct, frozen=True):
    """One ring as it stands in the file.

    Attributes:
        area_mm2: inside it.
        length_mm: round it.
        readback_mm: worst distance between file and design, both ways.
        deviation_mm: worst distance from the exact curve, or an upper bound of it.
        segments: lines and arcs that it is made of; 0 for a circle.
        shortest_mm: the shortest of them.
    """

    ring: Ring
    area_mm2: float
    length_mm: float
    readback_mm: float
    deviation_mm: float
    segments: int
    shortest_mm: float


class Audit(Struct, frozen=True):
    """What reading a file back showed.

    Attributes:
        problems: what is wrong with the file, one sentence each; none when it may be called written.
        remarks: what is in order but worth knowing.
        rings: those that were found.
        bounds: least x, least y, greatest x, greatest y of what is cut [mm]; None when nothing was found.
    """

    path: Path
    problems: tuple[str, ...]
    remarks: tuple[str, ...]
    rings: tuple[AuditedRing, ...]
    bounds: tuple[float, float, float, float] | None

    @property
    def worst_mm(self) -> float:
        """The worst deviation of all rings [mm]."""
        return max((ring.deviation_mm for ring in self.rings), default=0.0)


class _Read(Struct):
    """An entity of the file: as it was read, and what it was matched with."""

    layer: str
    outline: Outline
    is_circle: bool
    is_closed: bool


def audit_dxf(written: WrittenFile, *, limit_mm: float = DEVIATION_LIMIT_MM) -> Audit:
    """The file ``written.path`` read back and compared with what it was meant to hold.

    Args:
        written: the file and the design.
        limit_mm: the greatest deviation that is no problem.
    """
    from ezdxf.filemanagement import readfile
    from ezdxf.lldxf.const import DXFError

    try:
        doc = readfile(str(written.path))
    except (OSError, DXFError, ValueError) as error:
        return Audit(written.path, (f"the file can't be read back: {error}",), (), (), None)
    problems = list(_document_problems(doc, written.version))
    read: list[_Read] = []
    for entity in doc.modelspace():
        try:
            read.append(_read(entity))
        except _UnusableError as error:
            problems.append(str(error))
    problems += [
        f"layer {r.layer}: the outline from {_at(r.outline.vertices[0, :2])} is left open"
        for r in read
        if not r.is_closed
    ]
    read, doubles = _without_doubles(read)
    problems += doubles
    problems += _square_problems([r for r in read if r.layer == CHECK_LAYER], written.check_square)
    everything = (*written.rings, *written.old)
    pairs = _matched(everything, [r for r in read if r.layer != CHECK_LAYER])
    used = {id(r) for r in pairs.values()}
    problems += [
        f"layer {r.layer}: the design has no such outline as the one from {_at(r.outline.vertices[0, :2])}"
        for r in read
        if r.layer != CHECK_LAYER and id(r) not in used
    ]
    audited: list[AuditedRing] = []
    remarks: list[str] = []
    for i, ring in enumerate(everything):
        name = f"layer {ring.layer}: the outline along {ring.feature}"
        match = pairs.get(i)
        if match is None:
            problems.append(f"{name} is missing")
            continue
        one, at = _compared(ring, match)
        audited.append(one)
        problems += _ring_problems(name, match, one, at, limit_mm)
        if _NO_LENGTH_MM < one.shortest_mm < SHORTEST_MM:
            remarks.append(f"{name} has a segment of {one.shortest_mm:.4f} mm, as the design has")
    cut = {ring.layer for ring in written.rings}
    bounds = _bounds([r.outline for r in read if r.layer in cut])
    return Audit(written.path, tuple(problems), tuple(remarks), tuple(audited), bounds)


def _at(point: FloatArray) -> str:
    return f"({point[0]:.3f}, {point[1]:.3f})"


def _document_problems(doc: Drawing, version: DxfVersion) -> Iterator[str]:
    auditor = doc.audit()
    for entry in (*auditor.errors, *auditor.fixes):
        yield f"the file is damaged: {entry.message}"
    if doc.dxfversion != _VERSIONS[version]:
        yield f"the file's version is {doc.dxfversion} instead of {_VERSIONS[version]}"
    if version is not DxfVersion.R12:
        for variable, wanted, word in (("$INSUNITS", MILLIMETRES, "millimetres"), ("$MEASUREMENT", METRIC, "metric")):
            value = doc.header.get(variable)
            if value != wanted:
                yield f"the header does not say {word}: {variable} is {value} instead of {wanted}"
    for name in doc.layouts.names():
        if name != "Model" and len(doc.layouts.get(name)):
            yield f"there is something on the paper space {name}"


class _UnusableError(Exception):
    """An entity that is no closed outline of lines and arcs."""


def _read(entity: DXFEntity) -> _Read:
    """An entity as an outline.

    Raises:
        _UnusableError: it is none.
    """
    kind, layer = entity.dxftype(), str(entity.dxf.layer)
    if kind not in ("CIRCLE", "LWPOLYLINE", "POLYLINE"):
        raise _UnusableError(f"layer {layer}: there is a {kind}, which is no closed outline of lines and arcs")
    if tuple(entity.dxf.get("extrusion", (0.0, 0.0, 1.0))) != (0.0, 0.0, 1.0):
        raise _UnusableError(f"layer {layer}: a {kind} lies on a plane of its own")
    if kind == "CIRCLE":
        centre, radius = entity.dxf.center, float(entity.dxf.radius)
        if not radius > 0.0:
            raise _UnusableError(f"layer {layer}: a circle has the radius {radius:g}")
        return _Read(layer, circle_outline((centre.x, centre.y), radius), is_circle=True, is_closed=True)
    vertices = _vertices(entity, layer)
    if len(vertices) < 2:
        raise _UnusableError(f"layer {layer}: a {kind} has only {counted(len(vertices), 'vertex', 'vertices')}")
    return _Read(layer, Outline(vertices), is_circle=False, is_closed=bool(entity.dxf.flags & _CLOSED))


def _vertices(entity: DXFEntity, layer: str) -> list[tuple[float, float, float]]:
    from ezdxf.entities.lwpolyline import LWPolyline
    from ezdxf.entities.polyline import Polyline

    if isinstance(entity, LWPolyline):
        return [(x, y, bulge) for x, y, bulge in entity.get_points("xyb")]
    assert isinstance(entity, Polyline)
    if entity.dxf.flags & ~(_CLOSED | _LINETYPE_RUNS_ON):
        raise _UnusableError(f"layer {layer}: a POLYLINE is no plane one of lines and arcs")
    return [(v.dxf.location.x, v.dxf.location.y, v.dxf.get("bulge", 0.0)) for v in entity.vertices]


def _bounds(outlines: list[Outline]) -> tuple[float, float, float, float] | None:
    if not outlines:
        return None
    b = np.array([outline.bounds for outline in outlines])
    return float(b[:, 0].min()), float(b[:, 1].min()), float(b[:, 2].max()), float(b[:, 3].max())


def _apart(a: Outline, b: Outline) -> float:
    """A quick measure of how different two outlines are [mm]."""
    size = abs(sqrt(abs(a.area)) - sqrt(abs(b.area)))
    return size + max(abs(p - q) for p, q in zip(a.bounds, b.bounds, strict=True))


def _without_doubles(read: list[_Read]) -> tuple[list[_Read], list[str]]:
    kept: list[_Read] = []
    problems: list[str] = []
    for one in read:
        same = (k for k in kept if k.layer == one.layer and _apart(k.outline, one.outline) < SHORTEST_MM)
        if any(_readback(k.outline, one.outline)[0] < DEVIATION_LIMIT_MM for k in same):
            problems.append(f"layer {one.layer}: the outline from {_at(one.outline.vertices[0, :2])} is there twice")
        else:
            kept.append(one)
    return kept, problems


def _square_problems(squares: list[_Read], design: Outline) -> Iterator[str]:
    if not squares:
        yield f"layer {CHECK_LAYER}: the check square is missing"
        return
    for square in squares:
        x0, y0, x1, y1 = square.outline.bounds
        wide, high = x1 - x0, y1 - y0
        if max(abs(wide - CHECK_SIDE_MM), abs(high - CHECK_SIDE_MM)) > DEVIATION_LIMIT_MM:
            yield (
                f"layer {CHECK_LAYER}: the check square measures {wide:.3f} x {high:.3f} mm instead of 100 x 100: the "
                f"file is drawn {wide / CHECK_SIDE_MM:.6g} times too large"
            )
        elif _readback(design, square.outline)[0] > DEVIATION_LIMIT_MM:
            yield f"layer {CHECK_LAYER}: the check square is no square, or not where it should be"


def _matched(rings: tuple[Ring, ...], read: list[_Read]) -> dict[int, _Read]:
    """For each ring that is there, what it is in the file: on its layer, the likest pairs first."""
    pairs = [
        (_apart(ring.outline, r.outline), i, k)
        for i, ring in enumerate(rings)
        for k, r in enumerate(read)
        if r.layer == ring.layer
    ]
    found: dict[int, _Read] = {}
    taken: set[int] = set()
    for _, i, k in sorted(pairs):
        if i not in found and k not in taken:
            found[i] = read[k]
            taken.add(k)
    return found


def _samples(outline: Outline) -> FloatArray:
    s = outline.segments
    index = np.repeat(np.arange(len(s)), _SAMPLES)
    return s.points(index, s.length[index] * np.tile(np.arange(_SAMPLES) / _SAMPLES, len(s)))


def _readback(design: Outline, read: Outline) -> tuple[float, FloatArray]:
    """The worst distance between two outlines, both ways [mm], and where it is; at most so much where it is nothing."""
    quick = _rounding(design, read)
    if quick is not None:
        return quick
    worst, place = -1.0, np.zeros(2)
    for one, other in ((design, read), (read, design)):
        points = _samples(one)
        distance = other.segments.nearest(points)[0]
        at = int(distance.argmax())
        if distance[at] > worst:
            worst, place = float(distance[at]), points[at]
    return worst, place


def _rounding(design: Outline, read: Outline) -> tuple[float, FloatArray] | None:
    """`_readback` where a file has the same circle, or vertex for vertex the same outline, but for its last digits.

    Two circles are as far apart as their centres and radii differ. A place of an arc is A (1 - f) + B f between its
    ends, f a complex function of its bulge b with |f| + |1 - f| <= sqrt(1 + b^2) and |df/db| <= 1 (elementary): where
    ends are off by e and bulges by d, it moves by e sqrt(1 + b^2) + |AB| d at most.
    """
    circle, other = as_circle(design), as_circle(read)
    if circle is not None and other is not None:
        (x, y), radius = circle
        (u, v), size = other
        off = hypot(u - x, v - y) + abs(size - radius)
        return (off, np.array((x + radius, y))) if off < _ROUNDING_MM else None
    if len(design) != len(read):
        return None
    ours, theirs = design.vertices, read.vertices
    ends = np.hypot(*(theirs - ours)[:, :2].T)
    ends = np.maximum(ends, np.roll(ends, -1))
    chords = np.hypot(*(np.roll(ours, -1, axis=0) - ours)[:, :2].T)
    bulges = np.abs(theirs - ours)[:, 2]
    off = ends * np.sqrt(1.0 + ours[:, 2] ** 2) + chords * bulges
    at = int(off.argmax())
    return (float(off[at]), ours[at, :2]) if off[at] < _ROUNDING_MM else None


def _compared(ring: Ring, read: _Read) -> tuple[AuditedRing, FloatArray]:
    outline = read.outline
    readback, place = _readback(ring.outline, outline)
    if ring.exact is not None:
        off = deviation(ring.exact.oval, ring.exact.offset, outline)
    else:
        off = readback + ring.arc_tolerance
    return (
        AuditedRing(
            ring,
            abs(outline.area),
            outline.length,
            readback,
            off,
            0 if read.is_circle else len(outline),
            float(outline.segments.length.min()),
        ),
        place,
    )


def _ring_problems(name: str, read: _Read, one: AuditedRing, at: FloatArray, limit_mm: float) -> Iterator[str]:
    design = one.ring.outline
    is_circle = as_circle(design) is not None
    if read.is_circle != is_circle:
        yield f"{name} is {'a circle' if read.is_circle else 'no circle'} in the file, but not in the design"
    elif not is_circle and one.segments != len(design):
        yield f"{name} has {counted(one.segments, 'segment')} instead of {len(design)}"
    if one.shortest_mm <= _NO_LENGTH_MM:
        yield f"{name} has a segment without length"
    elif one.shortest_mm < SHORTEST_MM <= float(design.segments.length.min()):
        yield f"{name} has a segment of {one.shortest_mm:.4f} mm that the design has not"
    if not is_circle and read.outline.is_ccw != design.is_ccw:
        yield f"{name} runs the other way round"
    if one.readback_mm > limit_mm:
        yield f"{name} strays {one.readback_mm:.4f} mm from the design at {_at(at)}; {limit_mm:g} is allowed"
    elif one.deviation_mm > limit_mm + one.ring.moved:
        yield f"{name} strays {one.deviation_mm:.6f} mm from its exact curve; {limit_mm:g} is allowed"
    if abs(one.area_mm2 - abs(design.area)) > limit_mm * design.length:
        yield f"{name} encloses {one.area_mm2:.3f} mm² instead of {abs(design.area):.3f}"
