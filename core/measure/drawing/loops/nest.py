"""A drawing's loops: closed outlines in millimetres, which lies in which, and what was in the way."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from msgspec.structs import replace

from core.geometry.lines.crossings import meetings
from core.geometry.lines.outline import Outline
from core.geometry.lines.rays import Rays
from core.geometry.lines.segment_sets import closed_segments
from core.geometry.lines.segments import indices, segment_bounds
from core.measure.drawing.loops.doubles import (
    DOUBLE,
    beside,
    cut_where_shared,
    double_troubles,
    twin_loops,
    without_doubles,
    without_twins,
)
from core.measure.drawing.loops.join import join_ends
from core.measure.drawing.loops.network import MEETS_MM, near_pairs, network, point
from core.measure.drawing.loops.trace import chain_vertices, traced
from core.measure.drawing.progress import no_tick, part_of
from core.measure.drawing.results import MM_PER, Drawing, DrawingUnit, Fault, Loop, Loops, Trouble

if TYPE_CHECKING:
    from core.geometry.lines.outline import FloatArray
    from core.measure.drawing.loops.network import Network
    from core.measure.drawing.loops.trace import Chain
    from core.measure.drawing.progress import Tick

# Places on a loop from which it is looked whether it lies in another, and how far inside it they are [mm].
_WITNESSES = 5
_INSIDE = 1e-3
# Lines and arcs that run side by side no farther apart than this are there twice (common practice, no source) [mm].
_TWINS_MM = 0.1


def find_loops(drawing: Drawing, unit: DrawingUnit, join: float = 0.01, tick: Tick = no_tick) -> Loops:
    """The closed outlines of a drawing, largest first, with the loop that each lies in.

    What is drawn more than once counts once, in pieces too: segments that run along each other are cut at each other's
    ends. Loose ends up to ``join`` apart are brought together, nearest first. Where more than two ends meet, a stroke
    goes on with itself, and otherwise the straightest way is taken. Joining lengthens lines and arcs to where they
    meet, and moves them only where they do not. What is there again within ``join`` of itself is a double, too.

    Args:
        drawing: as it was read.
        unit: what one unit of it is.
        join: the widest gap to be closed [mm], >= 0.
        tick: told how much is done, 0 to 1; may raise ``core.words.errors.Cancelled``.

    Returns:
        The loops, maybe none, and all that was mended or is still wrong. Where a stated unit is wrong by a thousand,
        the whole drawing may lie within ``join``, and there is no loop.

    Raises:
        ValueError: ``join`` is negative or not finite.
    """
    if not 0.0 <= join < np.inf:
        raise ValueError(f"join must be a finite length, not {join}")
    tick(0.0)
    drawing, troubles = _without_twin_strokes(drawing, MM_PER[unit], max(join, MEETS_MM))
    net, mended = _mended(network(drawing.strokes, MM_PER[unit]), join, part_of(tick, 0.1, 0.5))
    troubles += mended
    chains, faults = traced(net, part_of(tick, 0.5, 0.7))
    troubles += faults
    loops: list[Loop] = []
    # What stands first in the file is kept of outlines that are there twice.
    chains.sort(key=lambda chain: int(net.stroke[chain.segments].min()))
    for i, chain in enumerate(chains):
        if i % 64 == 0:
            tick(0.7 + 0.1 * i / len(chains))
        outline = Outline(chain_vertices(net, chain)).oriented(ccw=True)
        if outline.area <= max(join, MEETS_MM) * outline.length / 4.0:
            words = "encloses next to nothing; left out"
            troubles.append(Trouble(Fault.STRAY, point(outline.vertices[0]), outline.length, words))
        else:
            loops.append(_loop(drawing, net, chain, outline))
    loops, twins = _without_twins(loops, max(join, MEETS_MM))
    troubles += twins
    loops.sort(key=lambda one: -one.outline.area)
    nested = _nested(loops, part_of(tick, 0.8, 0.9))
    troubles += _crossings([one.outline for one in nested], part_of(tick, 0.9, 1.0))
    tick(1.0)
    return Loops(nested, tuple(troubles), join)


def _mended(net: Network, join: float, tick: Tick) -> tuple[Network, list[Trouble]]:
    """The network with everything there once and its ends brought together, and a trouble for each place."""
    tick(0.0)
    # The walls of a seat and the rim in it run side by side too, and no farther apart than some join ends.
    near, troubles = max(min(join, _TWINS_MM), MEETS_MM), list[Trouble]()
    # Whole twins first: what is cut beside one leaves bits of it.
    for within in sorted({MEETS_MM, near}):
        net = _once(net, within, troubles)
    found, whole = beside(net, near, part_of(tick, 0.0, 0.5)), net
    net = _once(cut_where_shared(net, found, MEETS_MM), MEETS_MM, troubles)
    if near > MEETS_MM:
        found = found if net.first is whole.first else beside(net, near, part_of(tick, 0.5, 0.8))
        net = _once(cut_where_shared(net, found, near), near, troubles)
    net, gaps = join_ends(net, join, part_of(tick, 0.8, 1.0))
    last, again = without_doubles(net, max(join, MEETS_MM))
    return last, troubles + gaps + double_troubles(net, again)


def _once(net: Network, near: float, troubles: list[Trouble]) -> Network:
    """The network with each segment once that is there again within ``near`` [mm]; what was is told."""
    found, again = (without_doubles if near <= MEETS_MM else without_twins)(net, near)
    troubles += double_troubles(net, again)
    return found


def _without_twin_strokes(drawing: Drawing, scale: float, near: float) -> tuple[Drawing, list[Trouble]]:
    """The drawing without closed strokes that lie beside an earlier one all round, and a trouble for each of these."""
    closed = [i for i, stroke in enumerate(drawing.strokes) if stroke.is_closed and len(stroke.vertices) > 1]
    outlines = [Outline(drawing.strokes[i].vertices * np.array([scale, scale, 1.0])) for i in closed]
    again = {i for i, is_double in zip(closed, twin_loops(outlines, near).tolist(), strict=True) if is_double}
    if not again:
        return drawing, []
    troubles = [
        Trouble(Fault.DOUBLE, point(outline.vertices[0]), outline.length, DOUBLE)
        for i, outline in zip(closed, outlines, strict=True)
        if i in again
    ]
    return replace(drawing, strokes=tuple(s for i, s in enumerate(drawing.strokes) if i not in again)), troubles


def _without_twins(loops: list[Loop], near: float) -> tuple[list[Loop], list[Trouble]]:
    """The loops without those that lie beside an earlier one all round, and a trouble for each of these."""
    again = twin_loops([one.outline for one in loops], near).tolist()
    troubles = [
        Trouble(Fault.DOUBLE, point(one.outline.vertices[0]), one.outline.length, DOUBLE)
        for one, is_double in zip(loops, again, strict=True)
        if is_double
    ]
    return [one for one, is_double in zip(loops, again, strict=True) if not is_double], troubles


def _loop(drawing: Drawing, net: Network, chain: Chain, outline: Outline) -> Loop:
    """A loop on the layer that most of it is drawn on, not nested yet."""
    numbers, counts = np.unique(net.stroke[chain.segments], return_counts=True)
    strokes = [drawing.strokes[i] for i in numbers.tolist()]
    layer = strokes[0].layer
    if any(stroke.layer != layer for stroke in strokes):
        length = dict.fromkeys((stroke.layer for stroke in strokes), 0)
        for stroke, count in zip(strokes, counts.tolist(), strict=True):
            length[stroke.layer] += count
        layer = max(length, key=lambda name: length[name])
    off = float(np.maximum(net.off[net.first[chain.segments]], net.off[net.last[chain.segments]]).max())
    return Loop(0, outline, 0, 0, layer, any(stroke.is_fitted for stroke in strokes), off)


def _nested(loops: list[Loop], tick: Tick) -> tuple[Loop, ...]:
    """Loops, largest first, numbered, each with its depth and the smallest loop around it."""
    import shapely  # noqa: PLC0415 - it costs the window's start

    if not loops:
        return ()
    boxes = np.array([one.outline.bounds for one in loops])
    tree = shapely.STRtree(shapely.box(*boxes.T))
    witnesses = np.array([_witnesses(one.outline) for one in loops])
    depth, parent = [0] * len(loops), [0] * len(loops)
    for i, one in enumerate(loops):
        if i % 64 == 0:
            tick(i / len(loops))
        within = tree.query(shapely.box(*boxes[i]), predicate="covers")
        within = within[within > i]  # larger ones come first
        if not len(within):
            continue
        segments = one.outline.segments
        rays = Rays(segments, np.zeros(len(segments), dtype=np.int64), 1)
        inside = rays.inside(witnesses[within].reshape(-1, 2)).reshape(-1, _WITNESSES)
        for k in within[inside.sum(axis=1) > _WITNESSES // 2].tolist():
            depth[k] += 1
            parent[k] = i + 1
    return tuple(
        replace(one, number=i + 1, depth=depth[i], parent=parent[i]) for i, one in enumerate(loops)
    )  # fmt: skip


def _witnesses(outline: Outline) -> FloatArray:
    """(5, 2) points a hair inside an outline: on it, they would not tell where a larger one runs along it."""
    stations = outline.length * (np.arange(_WITNESSES) + 0.37) / _WITNESSES
    hair = min(_INSIDE, 1e-3 * outline.area / outline.length)
    return outline.points_at(stations) - hair * outline.normals_at(stations)


def _crossings(outlines: list[Outline], tick: Tick) -> list[Trouble]:
    """A trouble for each outline that crosses or touches itself, where it first does."""
    if not outlines:
        return []
    s, owner, after = closed_segments(outlines)
    low, high = segment_bounds(s)
    places: dict[int, FloatArray] = {}
    for i, j in near_pairs(low, high, low, high, tick):
        k = indices((owner[i] == owner[j]) & (i < j) & (after[i] != j) & (after[j] != i))
        one, _, _, _, at = meetings(s, i[k], j[k])
        for number, place in zip(owner[one].tolist(), at, strict=True):
            places.setdefault(number, place)
    words = "an outline crosses or touches itself here"
    return [Trouble(Fault.CROSSING, point(places[number]), 0.0, words) for number in sorted(places)]
