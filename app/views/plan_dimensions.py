"""The few dimensions of a plan: overall sizes beside the part, and one row of short ones across the ring."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from app.views.dimensions import Dimension, Shelf
from core.cut_line import cut_spans
from core.fit.keep_out import keep_out_outline
from core.gaps import Side

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from core.curves import Curves
    from core.evaluate import Result
    from core.housing import KeepOut
    from core.insert import End
    from core.outline import Outline, Point
    from core.slabs import ResolvedPiece

SEAT_TIER: Final = 1
"""The tier of the seat's overall sizes, between the insert's and the outside's."""
_SPOTS: Final = (-0.34, -0.2, 0.0, 0.2, 0.34)
"""Where along the top the short dimensions are taken, as parts of the seat's length."""
_SHIFTS: Final = (0.0, *(sign * 0.03 * i for i in range(1, 15) for sign in (1.0, -1.0)))
_APART: Final = 0.09
"""How far two of them stay apart, as a part of the seat's length."""
_FARTHEST: Final = 0.42
_CLEAR_MM: Final = 5.0
_LEVEL_MM: Final = 1e-3
_STATIONS: Final = 360


def plan_dimensions(result: Result, end: End, figure: Callable[[float], str]) -> tuple[Dimension, ...]:
    """Dimensions of one piece in plan.

    Args:
        result: the housing.
        end: which piece.
        figure: shows a length.
    """
    piece = result.after.piece(end)
    if piece is None:
        return ()
    return (*_overall(piece.curves, end, figure), *_short(result, piece, figure))


def _overall(c: Curves, end: End, figure: Callable[[float], str]) -> Iterator[Dimension]:
    rows = (
        ("insert", c.rim_outer, ("new_insert.length",), ("new_insert.width",)),
        ("seat", c.seat_outer, *(("choices.gap_outer", f"housing.{end}.seat.gap_outer"),) * 2),
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
    if has_lip and c.opening is not None:
        wanted.append(("lip", "choices.lip", f"housing.{end}.lip.width"))
    taken: list[float] = []

    def measured(spot: float, path: str) -> tuple[Point, Point, float]:
        return _measured(path, result, piece, (x0 + x1) / 2.0 + spot * (x1 - x0))

    def is_free(spot: float, path: str) -> bool:
        if abs(spot) > _FARTHEST or any(abs(spot - other) < _APART for other in taken):
            return False
        a, b, _ = measured(spot, path)
        return _is_clear(a, b, piece, result.after.housing.keep_outs)

    for wish, (name, *paths) in zip(_SPOTS, wanted, strict=False):
        spot = next((wish + shift for shift in _SHIFTS if is_free(wish + shift, paths[0])), wish)
        taken.append(spot)
        a, b, value = measured(spot, paths[0])
        yield Dimension(name, figure(value), a, b, Shelf.TOP, tuple(paths))


def _measured(path: str, result: Result, piece: ResolvedPiece, x: float) -> tuple[Point, Point, float]:
    """Both ends and the value of a short dimension near the top at x; the local value, not the designed one."""
    c = piece.curves
    if path in ("choices.gap_outer", "choices.gap_inner"):
        profile = result.gap(piece.end, Side.OUTER if path.endswith("outer") else Side.INNER)
        assert profile is not None
        up = profile.rim[:, 1] > (c.rim_outer.bounds[1] + c.rim_outer.bounds[3]) / 2.0
        at = int(np.argmin(np.where(up, np.abs(profile.rim[:, 0] - x), np.inf)))
        return _point(profile.rim[at]), _point(profile.wall[at]), float(profile.gap[at])
    if path == "choices.wall":
        return _across(c.seat_outer, c.outside, x)
    if path == "choices.lip":
        assert c.opening is not None
        return _across(c.opening, c.seat_inner, x)
    return _across(c.rim_inner, c.rim_outer, x)


def _across(inside: Outline, outside: Outline, x: float) -> tuple[Point, Point, float]:
    """From the top of an outline at x to the nearest place of another."""
    spans = cut_spans((inside,), (x, 0.0), (0.0, 1.0))
    x0, _, x1, y1 = inside.bounds
    # Past its end an outline has no top at x: take the one at its end.
    start = (x, float(spans[-1, 1])) if len(spans) else _point(inside.nearest([(min(max(x, x0), x1), y1)]).foot[0])
    found = outside.nearest([start])
    return start, _point(found.foot[0]), float(found.distance[0])


def _point(row: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> Point:
    return float(row[0]), float(row[1])


def _is_clear(a: Point, b: Point, piece: ResolvedPiece, keep_outs: tuple[KeepOut, ...]) -> bool:
    """Whether no hole, boss or lug crowds the place, and nothing lies on the way up to the figure."""
    x, y = (a[0] + b[0]) / 2.0, (a[1] + b[1]) / 2.0
    boxes = [part.outline.bounds for part in piece.parts if part.kind in ("hole", "boss", "lug")]
    boxes += [keep_out_outline(keep_out).bounds for keep_out in keep_outs]
    return not any(x0 - _CLEAR_MM < x < x1 + _CLEAR_MM and y1 > y - _CLEAR_MM for x0, _, x1, y1 in boxes)
