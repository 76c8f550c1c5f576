"""Features that can't stay, or can't follow: found on the metal, before and after."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np

from core.housing import Hole, Lug
from core.resize import Conflict
from core.verdicts import Place, Sentence

if TYPE_CHECKING:
    from collections.abc import Iterator

    from core.insert import End
    from core.outline import Outline, Point
    from core.slabs import Resolved, ResolvedPiece

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
        found += _nesting(new)
    return tuple(found)


def _discs(resolved: Resolved, end: End) -> Iterator[tuple[str, str, Point, float, bool]]:
    """Name, path, centre, radius of all that is round and must stay whole, and whether it is solid metal there."""
    piece = resolved.housing.piece(end)
    assert piece is not None
    for i, feature in enumerate(piece.features):
        if isinstance(feature, Hole):
            path = f"housing.{end}.features[{i}]"
            yield (
                feature.name,
                path,
                (feature.x, feature.y),
                max(feature.diameter, feature.boss) / 2.0,
                feature.boss > 0,
            )
        elif isinstance(feature, Lug):
            yield feature.name, f"housing.{end}.features[{i}]", (feature.x, feature.y), feature.hole / 2.0, False
    for i, stud in enumerate(resolved.housing.studs):
        yield stud.name, f"housing.studs[{i}]", (stud.x, stud.y), stud.boss / 2.0, True


def _lies(at: Point, radius: float, curve: Outline) -> tuple[_Lies, float]:
    signed = float(curve.signed_distance([at])[0])
    if signed <= -radius + _TOUCH_MM:
        return _Lies.INSIDE, -signed - radius
    if signed >= radius - _TOUCH_MM:
        return _Lies.OUTSIDE, signed - radius
    return _Lies.ACROSS, radius - abs(signed)


def _circles(old: ResolvedPiece, new: ResolvedPiece, before: Resolved, after: Resolved) -> Iterator[Conflict]:
    """A hole or boss that a wall runs through now, or that has changed sides."""
    was = {path: (at, radius) for _, path, at, radius, _ in _discs(before, old.end)}
    for name, path, at, radius, solid in _discs(after, new.end):
        for wall, old_curve, new_curve in (
            ("the seat's outer wall", old.curves.seat_outer, new.curves.seat_outer),
            ("the seat's inner wall", old.curves.seat_inner, new.curves.seat_inner),
            ("the outside", old.curves.outside, new.curves.outside),
            ("the opening's edge", old.curves.opening, new.curves.opening),
        ):
            if old_curve is None or new_curve is None:
                continue
            now, deep = _lies(at, radius, new_curve)
            then = _lies(*was[path], old_curve)[0] if path in was else now
            if wall == "the opening's edge" and (solid or then is _Lies.ACROSS):
                continue  # a boss may stand on the lip and a bar alike
            if wall == "the outside" and (solid or then is _Lies.ACROSS):
                continue  # a boss may stand out of the wall; its hole is judged by the metal round it
            if now is _Lies.ACROSS:
                what = Sentence.of(
                    f"{name}: {wall} runs through it, {{deep}} deep; move it, make it smaller, or hold that wall",
                    deep=deep,
                )
            elif then is not _Lies.ACROSS and now is not then:
                what = Sentence(
                    f"{name}: {wall} has passed over it: it was {then} and is now {now}; move it or hold that wall"
                )
            else:
                continue
            yield Conflict(name, what, Place(new.end, at, feature=name, path=path))


def _nesting(piece: ResolvedPiece) -> Iterator[Conflict]:
    """Curves that must lie one in the other, and no longer do."""
    c = piece.curves
    order = [("seat's outer wall", c.seat_outer, "outside", c.outside)]
    order.append(("seat's inner wall", c.seat_inner, "seat's outer wall", c.seat_outer))
    if c.opening is not None:
        order.append(("opening", c.opening, "seat's inner wall", c.seat_inner))
    for inner_name, inner, outer_name, outer in order:
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
