"""What a plan consists of, as paths in millimetres: built when the result changes, drawn on every repaint."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct
from PySide6.QtGui import QPainterPath

from app.drawing.base.labels import outline_segments
from app.drawing.base.paths import outline_path, polygon, stroke_paths
from app.drawing.base.pens import RINGS, scale_position
from core.features.kind import Follows
from core.features.straight import Straight
from core.features.stud.stud import bore
from core.geometry.regions.closing import combine
from core.geometry.regions.region import Step
from core.metal.keep_outs import keep_out_outline
from core.words.ends import Side

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray
    from PySide6.QtGui import QPolygonF

    from core.evaluate import Result
    from core.fit.gaps import GapProfile
    from core.geometry.lines.outline import Outline, Point
    from core.geometry.regions.region import Region
    from core.metal.slabs import ResolvedPiece
    from core.words.ends import End

Bounds = tuple[float, float, float, float]
Strokes = tuple[QPainterPath, ...]

RIBBON_PX: Final = 15.0
"""How wide the ribbon of the greatest wanted gap should come out, in screen units."""
_FACTORS: Final = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 30, 50)
_IN_SEAT: Final = 0.75  # of the seat's depth, from its floor up: over most lips, under all joint faces
_CHUNK: Final = 48  # stations in one polygon of the ribbon: Qt fills several small ones faster than a long one
_AT_ONCE: Final = 60.0  # how much exaggerated interference may be so that it is seen
_MOST: Final = 1.5  # times the greatest wanted gap
# Keep-outs further away than this part of the housing's size are not fitted into the view.
_NEAR: Final = 0.25


class Machine(Struct, frozen=True):
    """Something round that is fixed to the machine: centre [mm], radius [mm], its name."""

    centre: Point
    radius: float
    name: str


class KeepOutArea(Struct, frozen=True):
    """A keep-out: its outline, its name, its path in the project."""

    path: QPainterPath
    name: str
    centre: Point
    bounds: Bounds


class RibbonPart(Struct, frozen=True):
    """A stretch of the gap's ribbon in one colour.

    Attributes:
        step: on the scale, from -RINGS to RINGS.
        polygon: its area [mm]; ``far_side``: its edge away from the rim.
    """

    step: int
    polygon: QPolygonF
    far_side: QPolygonF
    is_interference: bool


class PlanScene(Struct, frozen=True, eq=False):
    """One piece in plan, around the new insert.

    Attributes:
        metal: areas to be filled one over the other, with the part of the height that is metal there.
        outline: silhouette and through openings of the new piece, full lines; ``seat``: its two walls.
        edges: all other edges, at other heights.
        ghost: as built.
        rim: the ring of the insert's rim, filled.
        machine, keep_outs: what must not be moved, or entered.
        gaps: the profiles of both walls, without an inner one where there is no lip.
        bounds: of all that should be in view; ``part``: of the metal alone.
        lines: all that is drawn as lines, in short straight ones: rows of x, y, x, y [mm].
        is_empty: whether no metal is left to draw.
    """

    end: End
    metal: tuple[tuple[QPainterPath, float], ...]
    outline: Strokes
    seat: Strokes
    edges: Strokes
    ghost: Strokes
    rim: QPainterPath
    machine: tuple[Machine, ...]
    keep_outs: tuple[KeepOutArea, ...]
    gaps: tuple[GapProfile, ...]
    bounds: Bounds
    part: Bounds
    lines: NDArray[np.float64]
    is_empty: bool = False


def plan_scene(result: Result, end: End) -> PlanScene:
    """The plan of one piece of a result.

    Raises:
        ValueError: there is no such piece.
    """
    piece, before = result.after.piece(end), result.before.piece(end)
    if piece is None or before is None:
        raise ValueError(f"this housing has no {end}")
    whole = piece.silhouette
    c = piece.curves
    loops = dict.fromkeys(loop for slab in piece.slabs for loop in slab.region.loops)
    keep_outs = tuple(_keep_outs(result))
    part = _bounds(piece)
    walls = piece.walls
    return PlanScene(
        end,
        _metal(piece, whole),
        stroke_paths(whole.loops),
        stroke_paths(walls),
        stroke_paths(loops, but=(*whole.loops, *walls)),
        _ghost((*before.silhouette.loops, *before.walls)),
        outline_path(c.rim_outer, c.rim_inner),
        tuple(_machine(result, end)),
        keep_outs,
        shown_gaps(result, end),
        _joined(part, _bounds(before), [k.bounds for k in keep_outs]),
        part,
        outline_segments(dict.fromkeys((*loops, *whole.loops, *walls, c.rim_outer, c.rim_inner))),
        whole.is_empty,
    )


def _bounds(piece: ResolvedPiece) -> Bounds:
    """Of a piece's metal; of the outside that it should have where none is left."""
    whole = piece.silhouette
    return piece.curves.outside.bounds if whole.is_empty else whole.bounds


@lru_cache(maxsize=4)
def _ghost(outlines: tuple[Outline, ...]) -> Strokes:
    """Strokes of a piece as built, remembered: no edit of the new insert changes it."""
    return stroke_paths(outlines)


def _metal(piece: ResolvedPiece, whole: Region) -> tuple[tuple[QPainterPath, float], ...]:
    """Tints of the plan: the silhouette as thick as the floor, and over it what stands as high as the wall.

    Two flat fills instead of one translucent fill a slab: blending is what takes the time (measured at 200 %: 15 ms).
    """
    if whole.is_empty:
        return ()
    height = piece.thickness - piece.top
    wall = piece.region_at(piece.floor + _IN_SEAT * (piece.thickness - piece.floor))
    low = (outline_path(*whole.loops), (piece.floor - piece.top) / height)
    return (low,) if wall is None else (low, (outline_path(*wall.loops), 1.0))


def _keep_outs(result: Result) -> Iterator[KeepOutArea]:
    for keep_out in result.after.housing.keep_outs:
        outline = keep_out_outline(keep_out)
        yield KeepOutArea(outline_path(outline), keep_out.name, (keep_out.x, keep_out.y), outline.bounds)


def _machine(result: Result, end: End) -> Iterator[Machine]:
    housing = result.after.housing
    piece = housing.piece(end)
    assert piece is not None
    for feature in piece.features:
        if feature.at is not None and feature.bore > 0.0 and feature.follows is Follows.MACHINE:
            yield Machine(feature.at, feature.bore / 2.0, feature.name)
    for stud in housing.studs:
        if stud.follows is Follows.MACHINE:
            yield Machine((stud.x, stud.y), bore(stud, end).diameter / 2.0, stud.name)


def shown_gaps(result: Result, end: End) -> tuple[GapProfile, ...]:
    """The gaps of one piece, outer wall first, without an inner one where there is no lip to make that wall."""
    piece = result.after.housing.piece(end)
    has_lip = piece is not None and piece.lip.height > 0.0
    return tuple(p for p in result.gaps if p.end is end and (p.side is Side.OUTER or has_lip))


def _joined(part: Bounds, before: Bounds, others: list[Bounds]) -> Bounds:
    x0, y0, x1, y1 = (f(a, b) for f, a, b in zip((min, min, max, max), part, before, strict=True))
    away = _NEAR * max(x1 - x0, y1 - y0)
    near = [o for o in others if o[0] < x1 + away and o[2] > x0 - away and o[1] < y1 + away and o[3] > y0 - away]
    return (
        min([x0, *(max(o[0], x0 - away) for o in near)]),
        min([y0, *(max(o[1], y0 - away) for o in near)]),
        max([x1, *(min(o[2], x1 + away) for o in near)]),
        max([y1, *(min(o[3], y1 + away) for o in near)]),
    )


def ribbon_factor(greatest: float, room: float, scale: float) -> int:
    """How many times wider than true the gap is drawn: enough to be seen, and 1 as soon as it can be seen as it is.

    Args:
        greatest: the greatest wanted gap [mm].
        room: what the ribbon may cover beside the rim [mm].
        scale: screen units per millimetre.
    """
    wanted = RIBBON_PX / max(greatest * scale, 1e-9)
    allowed = room / max(greatest, 1e-9)
    return max((f for f in _FACTORS if f <= min(wanted * 1.3, allowed)), default=1)


def ribbon(
    profile: GapProfile, factor: float, least: float, greatest: float, seen: float = 0.0
) -> tuple[RibbonPart, ...]:
    """The gap of one wall as polygons between the rim and the wall ``factor`` times as far away, by colour.

    Args:
        profile: the gap.
        factor: of the exaggeration; 1 is true.
        least: the least wanted gap, the tight end of the scale [mm].
        greatest: the greatest wanted gap, its loose end [mm].
        seen: how wide interference is drawn at least, once it is more than a touch [mm].
    """
    rim = np.vstack((profile.rim, profile.rim[:1]))
    gap = np.append(profile.gap, profile.gap[0])
    # A gap that is far from what is wanted would bury the drawing: from there on it is drawn less exaggerated.
    shown = np.clip(_MOST * greatest * factor / np.maximum(np.abs(gap), 1e-9), 1.0, factor)
    wide = np.abs(gap) * np.where(gap < 0.0, _AT_ONCE, 0.0)  # from nothing to ``seen`` within a little
    shown = np.maximum(shown, np.minimum(wide, seen) / np.maximum(np.abs(gap), 1e-9))
    outer = rim + (np.vstack((profile.wall, profile.wall[:1])) - rim) * shown[:, None]
    middle = (gap[:-1] + gap[1:]) / 2.0
    # The nudge keeps rounding from splitting an even gap that lies on the border of two steps.
    place = np.clip(scale_position(middle, least, greatest), -1.0, 1.0)
    steps = np.floor(place * RINGS + 0.5 + 1e-6).astype(np.int64)
    touching = middle < 0.0
    breaks = np.flatnonzero((np.diff(steps) != 0) | (np.diff(touching) != 0)) + 1
    starts = sorted({0, *breaks.tolist(), *range(0, len(middle), _CHUNK)})
    parts: list[RibbonPart] = []
    for i, j in zip(starts, [*starts[1:], len(middle)], strict=True):
        # One station more than its own: overlapping, the parts show no seam between them.
        near, far = rim[i : j + 2], outer[i : j + 2]
        parts.append(RibbonPart(int(steps[i]), polygon(np.vstack((near, far[::-1]))), polygon(far), bool(touching[i])))
    return tuple(parts)


def moved_paths(previous: Result, result: Result, end: End) -> Strokes:
    """Outlines of one piece, and of the rim in it, that the last edit moved or brought."""
    was, now = previous.after.piece(end), result.after.piece(end)
    if now is None:
        return ()
    gone = set() if was is None else {part.outline for part in was.parts}
    gone |= _reaching_further(previous, result, end)
    rims = set() if was is None else {was.curves.rim_outer, was.curves.rim_inner}
    fresh = [part.outline for part in now.parts if part.outline not in gone]
    fresh += [rim for rim in (now.curves.rim_outer, now.curves.rim_inner) if rim not in rims]
    return stroke_paths(dict.fromkeys(fresh))


def _reaching_further(previous: Result, result: Result, end: End) -> set[Outline]:
    """Strips that have not moved, but are as long now as another opening or outside needs them."""
    was, now, piece = previous.after.housing.piece(end), result.after.housing.piece(end), result.after.piece(end)
    if was is None or now is None or piece is None:
        return set()
    kept = {
        f"features[{i}]"
        for i, (a, b) in enumerate(zip(was.features, now.features, strict=False))
        if a == b and isinstance(a, Straight)
    }
    return {part.outline for part in piece.parts if part.path in kept}


def feature_outlines(piece: ResolvedPiece, name: str) -> tuple[Outline, ...]:
    """The outlines of a feature or curve: what it adds as one area, each of its holes by itself."""
    parts = piece.named(name)
    added = [part.outline for part in parts if part.adds]
    whole = combine(added, [Step(add=True, inside=(i,)) for i in range(len(added))]).loops if added else ()
    return (*whole, *(part.outline for part in parts if not part.adds))
