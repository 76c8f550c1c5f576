"""Features that can't stay, or can't follow: found on the metal, before and after."""

from __future__ import annotations

from enum import StrEnum
from functools import lru_cache
from itertools import pairwise
from math import atan2, hypot
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from core.geometry.lines.segment_sets import closed_segments
from core.resize.resize import Conflict
from core.words.verdicts import Place, Sentence, plain
from core.words.whereabouts import direction_words

if TYPE_CHECKING:
    from collections.abc import Iterator

    from core.geometry.lines.outline import Outline, Point
    from core.metal.slabs import Resolved, ResolvedPiece
    from core.part.housing import Housing
    from core.words.ends import End

_TOUCH_MM = 1e-6
_STATIONS = np.arange(360.0)


class _Lies(StrEnum):
    INSIDE = "inside"
    OUTSIDE = "outside"
    ACROSS = "across"


def conflicts(before: Resolved, after: Resolved) -> tuple[Conflict, ...]:
    """What the new housing can't have as it is, with its place and what to do."""
    found: list[Conflict] = []
    for new in after.pieces:
        old = before.piece(new.end)
        assert old is not None
        found += [Conflict(t.feature, t.what, t.place) for t in new.troubles]
        found += _circles(old, new, before, after)
        found += _in_the_rim(new, after.housing)
        found += _nesting(new, after.housing)
    return tuple(found)


class _Disc(Struct, frozen=True):
    """What is round and must stay whole: a hole with its boss, a lug's hole, a stud's boss."""

    name: str
    path: str
    at: Point
    radius: float
    is_boss: bool


def _discs(resolved: Resolved, end: End) -> tuple[_Disc, ...]:
    piece = resolved.housing.piece(end)
    assert piece is not None
    features = [(f, f"housing.{end}.features[{i}]") for i, f in enumerate(piece.features)]
    studs = [(s, f"housing.studs[{i}]") for i, s in enumerate(resolved.housing.studs)]
    found = [
        _Disc(f.name, path, f.at, max(f.bore, f.boss_across) / 2.0, f.boss_across > 0.0)
        for f, path in (*features, *studs)
        if f.at is not None
    ]
    return tuple(disc for disc in found if disc.radius > 0.0)


def _circles(old: ResolvedPiece, new: ResolvedPiece, before: Resolved, after: Resolved) -> Iterator[Conflict]:
    """A hole or boss that a wall runs through now, or that has changed sides."""
    was, now = _discs(before, old.end), _discs(after, new.end)
    if not now:
        return
    a, b = old.curves, new.curves
    walls = [
        (wall, old_curve, new_curve, bosses_may_cross)
        for wall, old_curve, new_curve, bosses_may_cross in (
            ("the seat's outer wall", old.walls[0], new.walls[0], False),
            ("the seat's inner wall", old.walls[1], new.walls[1], False),
            # A boss may stand out of the wall, and on lip and bar alike; its hole is judged by the metal round it.
            ("the outside", a.outside, b.outside, True),
            ("the opening's edge", a.opening, b.opening, True),
        )
        if old_curve is not None and new_curve is not None
    ]
    every_was = _signed_distances(tuple(wall[1] for wall in walls), tuple(disc.at for disc in was))
    every_now = _signed_distances(tuple(wall[2] for wall in walls), tuple(disc.at for disc in now))
    for (wall, _, curve, bosses_may_cross), signed_was, signed_now in zip(walls, every_was, every_now, strict=True):
        for disc_was, disc, s_was, s_now in zip(was, now, signed_was, signed_now, strict=True):
            lay, lies = _lies(s_was, disc_was.radius), _lies(s_now, disc.radius)
            if bosses_may_cross and (disc.is_boss or lay is _Lies.ACROSS):
                continue
            place, name = Place(new.end, disc.at, feature=disc.name, path=disc.path), plain(disc.name)
            if lies is _Lies.ACROSS:
                side = {_Lies.INSIDE: -1.0, _Lies.OUTSIDE: 1.0}.get(lay, 1.0 if s_now >= 0.0 else -1.0)
                way = _way(curve, disc.at, side)
                what = Sentence.of(
                    f"{name}: {wall} runs through it, {{deep}} deep; move it {{by}} or more{way}, make it smaller, "
                    "or hold that wall",
                    deep=disc.radius - abs(s_now),
                    by=disc.radius - side * s_now,
                )
                yield Conflict(disc.name, what, place)
            elif lay is not _Lies.ACROSS and lies is not lay:
                side = -1.0 if lay is _Lies.INSIDE else 1.0
                what = Sentence.of(
                    f"{name}: {wall} has passed over it: it was {lay} and is now {lies}; move it {{by}} or more"
                    f"{_way(curve, disc.at, side)}, or hold that wall",
                    by=disc.radius - side * s_now,
                )
                yield Conflict(disc.name, what, place)


def _in_the_rim(piece: ResolvedPiece, housing: Housing) -> Iterator[Conflict]:
    """A stud between the walls of a seat: the rim is there, and over the floor there is no thread."""
    for i, stud in enumerate(housing.studs):
        outer, inner = (wall.signed_distance_to((stud.x, stud.y)) for wall in piece.walls)
        if outer < 0.0 < inner:
            what = Sentence.of(
                f"{plain(stud.name)} goes through the {piece.end}'s seat, where the rim lies; "
                "move it {inward} inward, or out of the seat",
                inward=inner + stud.boss / 2.0,
            )
            place = Place(piece.end, (stud.x, stud.y), feature=stud.name, path=f"housing.studs[{i}]")
            yield Conflict(stud.name, what, place)


def _way(outline: Outline, at: Point, side: float) -> str:
    """Which way leads straight off an outline: outwards where ``side`` is 1, inwards where it is −1."""
    foot = outline.nearest([at]).foot[0]
    x, y = at[0] - float(foot[0]), at[1] - float(foot[1])
    sign = side if outline.signed_distance([at])[0] >= 0.0 else -side
    return f" towards {direction_words(atan2(sign * y, sign * x))}" if hypot(x, y) > _TOUCH_MM else ""


@lru_cache(maxsize=16)
def _signed_distances(outlines: tuple[Outline, ...], points: tuple[Point, ...]) -> list[list[float]]:
    """For each outline, the distances [mm] of all points to it, negative inside.

    All are measured at once; and the housing as built is the same at every edit.
    """
    s, owner, _ = closed_segments(outlines)
    p = np.array(points)
    every = s.distances(p)
    ends = np.searchsorted(owner, np.arange(len(outlines) + 1))
    nearest = np.array([every[:, i:j].argmin(axis=1) + i for i, j in pairwise(ends.tolist())])
    distance = every[np.arange(len(p)), nearest]
    inside = s.is_left(nearest.ravel(), np.tile(p, (len(outlines), 1))).reshape(nearest.shape)
    # These curves run counter-clockwise and mostly have no corners; where they have, the nearest edge can't tell.
    for i, outline in enumerate(outlines):
        if not (outline.is_smooth and outline.is_ccw):
            inside[i] = outline.contains(p)
    signed: list[list[float]] = np.where(inside, -distance, distance).tolist()
    return signed


def _lies(signed: float, radius: float) -> _Lies:
    if signed <= -radius + _TOUCH_MM:
        return _Lies.INSIDE
    return _Lies.OUTSIDE if signed >= radius - _TOUCH_MM else _Lies.ACROSS


def _nesting(piece: ResolvedPiece, housing: Housing) -> Iterator[Conflict]:
    """Curves that must lie one in the other, and no longer do.

    Parallels of one seat are nested by their distances; what was held can be overrun.
    """
    c, own = piece.curves, housing.piece(piece.end)
    assert own is not None
    outer_wall, inner_wall = piece.walls
    order = [("seat's inner wall", c.seat_inner, "seat's outer wall", c.seat_outer)]
    if own.held_outside is not None:
        order.append(("seat's outer wall", outer_wall, "outside", c.outside))
    if c.opening is not None and own.opening is not None and own.opening.held is not None:
        order.append(("opening", c.opening, "seat's inner wall", inner_wall))
    for inner_name, inner, outer_name, outer in order:
        if inner_name == "seat's inner wall" and c.seat_inner.bounds[2] < c.seat_outer.bounds[2]:
            continue  # both run parallel to the rim: one place decides
        points = inner.points_at(inner.length * (_STATIONS / len(_STATIONS)))
        past = outer.signed_distance(points)
        worst = int(past.argmax())
        if past[worst] >= 0.0:
            what = Sentence.of(
                f"the {piece.end}'s {inner_name} breaks through its {outer_name} by {{past}}; "
                "hold the wall or the lip instead, or give it more metal",
                past=float(past[worst]),
            )
            at = (float(points[worst, 0]), float(points[worst, 1]))
            yield Conflict(inner_name, what, Place(piece.end, at, outline=inner, feature=inner_name))
