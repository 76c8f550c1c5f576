"""Crossbars and lugs read from the lines and arcs of an old drawing, as seen from the seat's own axes."""

from __future__ import annotations

from math import atan2, cos, degrees, hypot, pi, radians, sin
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct

from core.geometry.ovals.pose import hull

if TYPE_CHECKING:
    from core.geometry.lines.outline import FloatArray, Outline, Point

# Edges of one bar agree in direction to this [rad], and in place to this part of the opening's size, on a drawing by
# hand (common practice, no source).
_SAME_WAY: Final = radians(0.25)
_SHORTEST: Final = 0.05
# A strip's ends are shorter than this part of its sides.
_SIDE: Final = 0.5
_PAD: Final = 3.4
_NECK_WAY: Final = radians(2.0)


class Bar(Struct, frozen=True):
    """A strip across the opening.

    Attributes:
        angle: of the strip from +X, 0 to below 180 [degrees].
        offset: of its middle line from the origin, to the left of its direction [mm].
        width: of the strip [mm].
        drawn: part of its way across the opening that its edges are drawn along [1]; crossings take some of it.
    """

    angle: float
    offset: float
    width: float
    drawn: float


class _Edge(Struct, frozen=True):
    """A straight edge: its direction from 0 to below pi, its offset [mm], and the side of it that has the metal."""

    way: float
    offset: float
    is_metal_left: bool
    length: float


def are_strips(loops: list[Outline], opening: Outline | None) -> bool:
    """Whether loops in an opening are the bars themselves, not the clear pieces between them.

    The pieces that bars leave of an opening are most of it, the bars are not.
    """
    return opening is not None and sum(abs(loop.area) for loop in loops) < 0.5 * abs(opening.area)


def bars_between(pieces: list[Outline], tolerance: float, *, strips: bool) -> tuple[tuple[Bar, ...], int]:
    """The bars that divide an opening, and how many straight edges belong to none of them.

    Args:
        pieces: the clear pieces of the opening, or the bars themselves, counter-clockwise about the origin [mm].
        tolerance: within which edges lie in one line [mm].
        strips: the loops are the bars themselves.
    """
    corners = [loop.vertices[:, :2] for loop in pieces]
    rim = hull(np.concatenate([*corners, *(loop.points_at(_even(loop)) for loop in pieces)]))
    groups = _in_line(_edges(pieces, rim, strips=strips), 2.0 * tolerance)
    bars: list[Bar] = []
    paired = 0
    for way, edges in groups:
        edges.sort(key=lambda e: e.offset)
        k = 0
        while k + 1 < len(edges):
            low, high = edges[k], edges[k + 1]
            middle, width = (low.offset + high.offset) / 2.0, high.offset - low.offset
            if low.is_metal_left and not high.is_metal_left and width > tolerance:
                drawn = (low.length + high.length) / 2.0 / max(_chord(rim, way, middle), width)
                bars.append(Bar(degrees(way), middle, width, drawn))
                paired, k = paired + 2, k + 2
            else:
                k += 1
    return tuple(bars), sum(len(edges) for _, edges in groups) - paired


def _chord(rim: FloatArray, way: float, offset: float) -> float:
    """Length [mm] of a line across the hull (m, 2), by its direction [rad] and its offset to the left."""
    along = rim[:, 0] * cos(way) + rim[:, 1] * sin(way)
    aside = rim[:, 1] * cos(way) - rim[:, 0] * sin(way) - offset
    on, off = np.roll(along, -1), np.roll(aside, -1)
    k = np.flatnonzero((aside < 0.0) != (off < 0.0))
    crossings = along[k] + (on[k] - along[k]) * aside[k] / (aside[k] - off[k])
    return float(np.ptp(crossings)) if len(crossings) else 0.0


def _edges(loops: list[Outline], rim: FloatArray, *, strips: bool) -> list[_Edge]:
    """The straight edges of the loops, without those that lie on the opening's own edge and without strips' ends."""
    size = float(np.ptp(rim, axis=0).max())
    step = np.roll(rim, -1, axis=0) - rim
    outward = np.column_stack((step[:, 1], -step[:, 0])) / np.hypot(step[:, 0], step[:, 1])[:, None]
    found: list[_Edge] = []
    for loop in loops:
        s = loop.segments
        lines = s.lines_and_arcs[0]
        longest = float(s.length[lines].max()) if len(lines) else 0.0
        for k in lines.tolist():
            length = float(s.length[k])
            if length < max(_SHORTEST * size, _SIDE * longest if strips else 0.0):
                continue
            middle = (s.start[k] + s.end[k]) / 2.0
            # On the hull there is nothing but the opening's edge: a bar's edge has clear pieces on its other side.
            on_rim = float(((rim - middle) * outward).sum(axis=1).min()) < 1e-3 * size
            if on_rim and not strips:
                continue
            found.append(_edge(s.start[k], s.end[k], length, strips=strips))
    return found


def _even(loop: Outline) -> FloatArray:
    stations: FloatArray = loop.length * np.arange(120.0) / 120.0
    return stations


def _edge(start: FloatArray, end: FloatArray, length: float, *, strips: bool) -> _Edge:
    travel = atan2(float(end[1] - start[1]), float(end[0] - start[0]))
    way = travel % pi
    if pi - way < _SAME_WAY / 2.0:
        way -= pi  # a hair below the axis is the axis: its edges must not be torn apart
    flipped = abs(((travel - way) % (2.0 * pi)) - pi) < 1.0
    x, y = ((start + end) / 2.0).tolist()
    # Counter-clockwise, the loop's inside is left of its travel: metal of a strip, clear of a piece.
    return _Edge(way, cos(way) * y - sin(way) * x, strips != flipped, length)


def _in_line(edges: list[_Edge], tolerance: float) -> list[tuple[float, list[_Edge]]]:
    """The edges by direction; those in one line, with their metal on one side, made one."""
    groups: list[list[_Edge]] = []
    for edge in sorted(edges, key=lambda e: -e.length):
        for group in groups:
            if abs(group[0].way - edge.way) <= _SAME_WAY:
                group.append(edge)
                break
        else:
            groups.append([edge])
    found: list[tuple[float, list[_Edge]]] = []
    for group in groups:
        lines: list[list[_Edge]] = []
        for edge in group:
            for line in lines:
                if abs(line[0].offset - edge.offset) <= tolerance and line[0].is_metal_left == edge.is_metal_left:
                    line.append(edge)
                    break
            else:
                lines.append([edge])
        whole = sum(e.length for e in group)
        way = sum(e.way * e.length for e in group) / whole
        found.append((max(way, 0.0) if way > -1e-9 else way + pi, [_mean(line, way) for line in lines]))
    return found


def _mean(line: list[_Edge], way: float) -> _Edge:
    whole = sum(e.length for e in line)
    offset = sum(e.offset * e.length for e in line) / whole
    return _Edge(way, offset, line[0].is_metal_left, whole)


class Ear(Struct, frozen=True):
    """What of an outside is round about a hole.

    Attributes:
        pad: diameter [mm].
        neck: width of the strip between pad and wall [mm]; 0 when the pad stands in the wall, as a boss does.
        fillet: radius where the neck meets the wall [mm].
    """

    pad: float
    neck: float
    fillet: float


def ear_round(outside: Outline, at: Point, toward: Point, tolerance: float) -> Ear | None:
    """The pad, neck and fillet round a hole beyond the seat, from the outside's own lines and arcs.

    Args:
        outside: counter-clockwise, lugs and all.
        at: the hole's centre.
        toward: the place of the wall that is nearest to it.
        tolerance: within which an arc is about the hole [mm].

    Returns:
        None when no arc of the outside is about the hole.
    """
    s = outside.segments
    away = np.hypot(s.centre[:, 0] - at[0], s.centre[:, 1] - at[1])
    about = np.flatnonzero((s.bulge > 0.0) & (away <= 2.0 * tolerance))
    if not len(about):
        return None
    pad = 2.0 * float(s.radius[about].mean())
    way = (toward[0] - at[0], toward[1] - at[1])
    reach = hypot(*way)
    widths: list[float] = []
    fillets: list[float] = []
    count = len(outside)
    chosen = set(about.tolist())
    beside = [((k + step) % count, step) for k in about.tolist() for step in (-1, 1)]
    for side, step in ((side, step) for side, step in beside if side not in chosen and reach):
        corner = side
        if s.bulge[side] == 0.0:
            line = s.end[side] - s.start[side]
            turn = abs(float(line[0] * way[1] - line[1] * way[0])) / (float(s.length[side]) * reach)
            if turn > sin(_NECK_WAY):
                continue
            widths.append(2.0 * _across(at, s.start[side], line))
            corner = (side + step) % count
        if s.bulge[corner] < 0.0:
            radius = float(s.radius[corner])
            fillets.append(radius)
            if corner == side:
                # The fillet reaches the pad: the neck's edge, to which it is tangent, lies hidden between the two.
                widths.append(2.0 * (_across(at, s.centre[corner], np.array(way)) - radius))
    neck = float(np.mean(widths)) if widths else 0.0
    return Ear(pad, min(neck, pad), float(np.mean(fillets)) if fillets else 0.0)


def _across(at: Point, on: FloatArray, way: FloatArray) -> float:
    """Distance [mm] of a place from the line through ``on`` along ``way``."""
    x, y = on[0] - at[0], on[1] - at[1]
    return abs(float(x * way[1] - y * way[0])) / hypot(*way.tolist())


def ear_guessed(outside: Outline, at: Point, toward: Point, hole: float) -> Ear:
    """A lug where no arc is about its hole: its pad by the metal beyond the hole, its neck 0.7 of the pad.

    A hole with no metal round it, of a lug that is not drawn, gets a pad of 3.4 times its diameter, as a stud's
    boss has (common practice, no source).
    """
    pad = _PAD * hole
    if outside.contains([at])[0]:
        points = outside.points_at(outside.length * np.arange(2000.0) / 2000.0)
        ray = points - np.array(at)
        away = np.array(at) - np.array(toward)
        size = np.hypot(ray[:, 0], ray[:, 1])
        ahead = (ray @ away) / np.maximum(size * hypot(*away.tolist()), 1e-12)
        pad = max(2.0 * float(size[int(ahead.argmax())]), 1.2 * hole)
    return Ear(pad, 0.7 * pad, 0.0)
