"""Loops made of outlines that are known, nested by shapely: what a reader of drawings would hand over."""

from __future__ import annotations

from math import radians
from typing import TYPE_CHECKING

import numpy as np
from shapely.geometry import Polygon

from core.geometry.lines.outline import FloatArray, Outline, polygon_outline
from core.measure.drawing.results import Loop, Loops

if TYPE_CHECKING:
    from collections.abc import Sequence

    from core.metal.slabs import Resolved
    from core.part.housing import Piece
    from core.words.ends import End


def loops_of(outlines: Sequence[tuple[Outline, str]]) -> Loops:
    """Loops of outlines with their layers, in the order of their areas."""
    ranked = sorted(((o.oriented(ccw=True), layer) for o, layer in outlines), key=lambda own: -own[0].area)
    shapes = [Polygon(outline.chords(0.01)) for outline, _ in ranked]
    loops: list[Loop] = []
    for i, (outline, layer) in enumerate(ranked):
        # Shrunk by a hair: loops of two heights may run along each other.
        small = shapes[i].buffer(-0.05)
        around = [j for j in range(i) if shapes[j].contains(small)]
        parent = around[-1] + 1 if around else 0
        loops.append(Loop(i + 1, outline, parent, len(around), layer))
    return Loops(tuple(loops), (), 0.01)


def placed(outline: Outline, degrees: float = 30.0, at: tuple[float, float] = (317.0, -52.0)) -> Outline:
    """Turned and moved, as it may lie on a sheet."""
    return outline.turned(radians(degrees)).moved(*at)


def chords_of(outline: Outline, count: int) -> Outline:
    """The polygon through evenly spaced places on an outline."""
    return polygon_outline(outline.points_at(outline.length * np.arange(count) / count))


def noisy(outline: Outline, count: int, most: float, seed: int = 1) -> Outline:
    """The polygon through evenly spaced places that lie up to ``most`` off an outline, along its normal."""
    stations = outline.length * np.arange(count) / count
    off: FloatArray = np.random.default_rng(seed).uniform(-most, most, count)
    return polygon_outline(outline.points_at(stations) + off[:, None] * outline.normals_at(stations))


def plan_of(resolved: Resolved, end: End) -> list[Outline]:
    """The curves, holes and neighbours of a piece as a plan shows them, each by itself: no unions."""
    piece = resolved.piece(end)
    assert piece is not None
    c = piece.curves
    found = [c.outside, c.seat_outer, c.seat_inner]
    found += [] if c.opening is None else [c.opening]
    return found + [part.outline for part in piece.parts if part.kind == "hole"]


def design_of(resolved: Resolved, end: End) -> Piece:
    """The piece as it was designed."""
    piece = resolved.housing.piece(end)
    assert piece is not None
    return piece
