"""The dimensions of a plan: overall sizes beside the part, and on request the seat's and a row across the ring."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from app.drawing.base.dimensions import Dimension, Shelf
from core.metal.keep_outs import keep_out_outline
from core.words.ends import Side

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from core.evaluate import Result
    from core.geometry.lines.outline import BoolArray, FloatArray, Outline, Point
    from core.metal.slabs import ResolvedPiece
    from core.part.housing import KeepOut
    from core.words.ends import End

_SEAT_TIER: Final = 1
_SPOTS: Final = (-0.34, -0.2, 0.0, 0.2, 0.34)
"""Where along the top the short dimensions are taken, as parts of the seat's length."""
_SHIFTS: Final = np.array([0.0, *(sign * 0.03 * i for i in range(1, 15) for sign in (1.0, -1.0))])
"""How far off its spot each is tried, the nearest first."""
_APART: Final = 0.09
"""How far two of them stay apart, as a part of the seat's length."""
_FARTHEST: Final = 0.42
_CLEAR_MM: Final = 5.0
_LEVEL_MM: Final = 1e-3
_STATIONS: Final = 360


def overall_dimensions(result: Result, end: End, figure: Callable[[float], str]) -> tuple[Dimension, ...]:
    """Sizes of insert and outside, which stand in the plan always; ``figure`` shows a length."""
    piece = result.after.piece(end)
    return () if piece is None else tuple(d for d in _overall(piece, figure) if d.tier != _SEAT_TIER)


def further_dimensions(result: Result, end: End, figure: Callable[[float], str]) -> tuple[Dimension, ...]:
    """The seat's sizes, and wall, gap, rim and lip, which the cut tells: they stand in the plan while pointed at."""
    piece = result.after.piece(end)
    if piece is None:
        return ()
    return (*(d for d in _overall(piece, figure) if d.tier == _SEAT_TIER), *_short(result, piece, figure))


def _overall(piece: ResolvedPiece, figure: Callable[[float], str]) -> Iterator[Dimension]:
    c, end = piece.curves, piece.end
    rows = (
        ("insert", c.rim_outer, ("new_insert.length",), ("new_insert.width",)),
        ("seat", piece.walls[0], *(("choices.gap_outer", f"housing.{end}.seat.gap_outer"),) * 2),
        ("outside", c.outside, *(("choices.wall", f"housing.{end}.wall"),) * 2),
    )
    for tier, (name, outline, of_length, of_width) in enumerate(rows):
        x0, y0, x1, y1 = outline.bounds
        left, right, bottom, top = _extremes(outline)
        yield Dimension(name, figure(x1 - x0), left, right, Shelf.BOTTOM, of_length, tier)
        yield Dimension(name, figure(y1 - y0), bottom, top, Shelf.RIGHT, of_width, tier)


def _extremes(outline: Outline) -> tuple[Point, Point, Point, Point]:
    """Outermost places on the left, right, bottom and top; along a straight side the one nearest to the dimensions."""
    x0, y0, x1, y1 = outline.bounds
    x, y = outline.points_at(outline.length * np.arange(_STATIONS) / _STATIONS).T
    x, y = np.append(x, outline.vertices[:, 0]), np.append(y, outline.vertices[:, 1])
    return (
        (x0, float(y[x <= x0 + _LEVEL_MM].min(initial=(y0 + y1) / 2.0))),
        (x1, float(y[x >= x1 - _LEVEL_MM].min(initial=(y0 + y1) / 2.0))),
        (float(x[y <= y0 + _LEVEL_MM].max(initial=(x0 + x1) / 2.0)), y0),
        (float(x[y >= y1 - _LEVEL_MM].max(initial=(x0 + x1) / 2.0)), y1),
    )


def _short(result: Result, piece: ResolvedPiece, figure: Callable[[float], str]) -> Iterator[Dimension]:
    c, end = piece.curves, piece.end
    x0, _, x1, _ = c.seat_outer.bounds
    inner = result.gap(end, Side.INNER)
    own = result.after.housing.piece(end)
    assert own is not None
    has_lip = own.lip.height > 0.0
    wanted = [("wall", "choices.wall", f"housing.{end}.wall")]
    wanted.append(("gap", "choices.gap_outer", f"housing.{end}.seat.gap_outer"))
    wanted.append(("rim", "new_insert.rim.width", "new_insert.lid_rim.width"))
    if has_lip and inner is not None:
        wanted.append(("gap", "choices.gap_inner", f"housing.{end}.seat.gap_inner"))
    # A lip that is cut through has no width to be told.
    if has_lip and c.opening is not None and inner is not None and inner.there is None:
        wanted.append(("lip", "choices.lip", f"housing.{end}.lip.width"))
    taken: list[float] = []
    crowd = _crowd(piece, result.after.housing.keep_outs)
    for wish, (name, *paths) in zip(_SPOTS, wanted, strict=False):
        # All places at once: one by one, looking for a free one took most of the time between edit and drawing.
        spots = wish + _SHIFTS
        a, b, value = _measured(paths[0], result, piece, (x0 + x1) / 2.0 + spots * (x1 - x0))
        is_free = _is_clear((a + b) / 2.0, crowd) & (np.abs(spots) <= _FARTHEST)
        for other in taken:
            is_free &= np.abs(spots - other) >= _APART
        at = int(is_free.argmax())  # the first free one; the wish itself where none is
        taken.append(float(spots[at]))
        yield Dimension(name, figure(float(value[at])), _point(a[at]), _point(b[at]), Shelf.TOP, tuple(paths))


def _measured(
    path: str, result: Result, piece: ResolvedPiece, x: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Both ends (k, 2) and the value (k,) of a short dimension near the top at each x (k,).

    The local value, not the designed one.
    """
    c = piece.curves
    if path in ("choices.gap_outer", "choices.gap_inner"):
        profile = result.gap(piece.end, Side.OUTER if path.endswith("outer") else Side.INNER)
        assert profile is not None
        up = np.flatnonzero(profile.rim[:, 1] > (c.rim_outer.bounds[1] + c.rim_outer.bounds[3]) / 2.0)
        at = up[np.abs(profile.rim[up, 0] - x[:, None]).argmin(axis=1)]
        return profile.rim[at], profile.wall[at], profile.gap[at]
    if path == "choices.wall":
        return _across(piece.walls[0], c.outside, x)
    if path == "choices.lip":
        assert c.opening is not None
        return _across(c.opening, piece.walls[1], x)
    return _across(c.rim_inner, c.rim_outer, x)


def _across(inside: Outline, outside: Outline, x: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """From the top of an outline at each x to the nearest place of another."""
    start = np.column_stack((x, _tops(inside, x)))
    # Past its end an outline has no top at x: take the one at its end.
    past = np.isinf(start[:, 1])
    if past.any():
        x0, _, x1, y1 = inside.bounds
        start[past] = inside.nearest([(float(np.clip(at, x0, x1)), y1) for at in x[past]]).foot
    found = outside.nearest(start)
    return start, found.foot, found.distance


def _tops(outline: Outline, x: FloatArray) -> FloatArray:
    """The greatest y of an outline at each x (k,); minus infinity past its ends."""
    s, off = outline.segments, x[:, None]
    lines = (s.bulge == 0.0) & (s.start[:, 0] != s.end[:, 0])
    (x0, y0), (x1, y1) = s.start[lines].T, s.end[lines].T
    part = (off - x0) / (x1 - x0)
    heights = [np.where((part >= 0.0) & (part <= 1.0), y0 + part * (y1 - y0), -np.inf)]
    arcs = s.bulge != 0.0
    (cx, cy), radius, (mx, my) = s.centre[arcs].T, s.radius[arcs], s.middle[arcs].T
    aside = off - cx
    square = radius * radius - aside * aside
    rise = np.sqrt(np.maximum(square, 0.0))
    # On the arc is what lies no further than half its sweep from the direction of its middle.
    least = radius * np.cos(s.sweep[arcs] / 2.0) - _LEVEL_MM
    heights += [np.where((square >= 0.0) & (aside * mx + up * my >= least), cy + up, -np.inf) for up in (rise, -rise)]
    tops: FloatArray = np.hstack(heights).max(axis=1, initial=-np.inf)
    return tops


def _point(row: FloatArray) -> Point:
    return float(row[0]), float(row[1])


def _crowd(piece: ResolvedPiece, keep_outs: tuple[KeepOut, ...]) -> FloatArray:
    """The boxes (m, 4) of holes, bosses, lugs and keep-outs."""
    boxes = [part.outline.bounds for part in piece.parts if part.kind in ("hole", "boss", "lug")]
    boxes += [keep_out_outline(keep_out).bounds for keep_out in keep_outs]
    return np.array(boxes).reshape(-1, 4)


def _is_clear(middles: FloatArray, crowd: FloatArray) -> BoolArray:
    """Whether nothing crowds each place (k, 2), and nothing lies on the way up to its figure."""
    (x, y), (x0, _, x1, y1) = middles.T[:, :, None], crowd.T
    clear: BoolArray = ~((x0 - _CLEAR_MM < x) & (x < x1 + _CLEAR_MM) & (y1 > y - _CLEAR_MM)).any(axis=1)
    return clear
