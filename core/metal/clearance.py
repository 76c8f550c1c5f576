"""Curves in plan that must not meet: how far they are apart, or how deep one runs past the other.

A piece's metal is bounded by the walls of what is empty: outside, seat, opening, pockets, holes. Which of these must
keep metal between them is one table, `RULES`. What adds metal (lugs, bosses, bars, badges, bands, ribs) may meet
anything. A *clearance* is signed [mm]: the least distance while two curves are apart; 0 when they touch; below 0 how
deep the one reaches past the other, which is how far it would have to draw back there to touch it. So it goes through
zero without a jump, although the metal between the two is gone from there on.
"""

from __future__ import annotations

from enum import Enum, auto
from functools import lru_cache
from math import hypot
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from core.geometry.lines.outline import as_circle
from core.geometry.lines.segment_sets import box_pairs
from core.geometry.parallels.parallel import parallel_distance
from core.geometry.regions.webs import closest
from core.words.ends import End

if TYPE_CHECKING:
    from collections.abc import Iterator

    from core.geometry.lines.outline import FloatArray, Outline, Point
    from core.metal.order import Part
    from core.metal.slabs import ResolvedPiece

TOUCHES_MM: Final = 2e-6
"""Curves nearer than this touch: nodes of the metal's outlines are snapped by half as much."""

_INNER_KINDS: Final = ("seat", "old seat", "pocket", "opening")
_FINE: Final = 720  # places along a curve at which its excursion is looked for first


class Rule(Enum):
    """What two walls of a piece owe each other."""

    WITHIN = auto()
    """The first named lies inside the second, with metal all round it."""
    APART = auto()
    """The areas inside them have nothing in common."""
    WHOLE = auto()
    """A hole is round: wherever it cuts metal, nothing else opens into it. In other emptiness it may lie altogether."""
    MAY_MEET = auto()
    """One emptiness: it is meant, or does no harm."""


RULES: Final[dict[tuple[str, str], Rule]] = {
    ("seat", "outside"): Rule.WITHIN,
    ("old seat", "outside"): Rule.WITHIN,
    ("pocket", "outside"): Rule.WITHIN,
    ("opening", "outside"): Rule.WITHIN,
    ("pocket", "seat"): Rule.WITHIN,
    ("opening", "seat"): Rule.WITHIN,
    ("pocket", "old seat"): Rule.WITHIN,
    ("opening", "old seat"): Rule.WITHIN,
    ("hole", "hole"): Rule.APART,
    ("hole", "seat"): Rule.APART,
    ("hole", "old seat"): Rule.WHOLE,
    ("hole", "outside"): Rule.WHOLE,
    ("hole", "opening"): Rule.WHOLE,
    ("hole", "pocket"): Rule.WHOLE,
    # A rework machines the old seat out; pockets are steps in one another and round an opening.
    ("old seat", "seat"): Rule.MAY_MEET,
    ("pocket", "opening"): Rule.MAY_MEET,
    ("pocket", "pocket"): Rule.MAY_MEET,
    # There is one of each, and the two walls of a seat are the rim's own room: see core.resize.conflicts.
    ("seat", "seat"): Rule.MAY_MEET,
    ("old seat", "old seat"): Rule.MAY_MEET,
    ("opening", "opening"): Rule.MAY_MEET,
    ("outside", "outside"): Rule.MAY_MEET,
}
"""For each pair of kinds of walls, which of the two is named first: what must be between them.

A hole is apart from both walls of a seat: it may lie in the floor between them, but neither cross nor swallow one; nor
may a seat open into it where a boss or a bar stands in the hollow, higher than the lip.
"""


class Clearance(Struct, frozen=True):
    """A signed clearance [mm] and its place: ``a`` on the first curve, ``b`` on the second."""

    value: float
    a: Point
    b: Point


class Overlap(Struct, frozen=True):
    """Two walls of a piece that touch or run into each other.

    Attributes:
        one, other: ``one`` is what runs past ``other``.
        clearance: 0 or below.
    """

    one: Part
    other: Part
    clearance: Clearance


def overlaps(piece: ResolvedPiece) -> tuple[Overlap, ...]:
    """All walls of a piece that touch or run into each other against the rules, the deepest first."""
    found, discs = [*_within(piece)], _discs(piece)
    if discs:
        found += [*_holes_apart(piece, discs), *_holes_off_seat(piece, discs), *_broken_holes(piece, discs)]
    found.sort(key=lambda o: o.clearance.value)
    deepest = {(id(o.one), id(o.other)): _settled(o) for o in reversed(found)}
    return tuple(reversed(deepest.values()))


def _settled(overlap: Overlap) -> Overlap:
    """The same overlap; what is apart or deep by no more than rounding touches."""
    if abs(overlap.clearance.value) > TOUCHES_MM:
        return overlap
    return replace(overlap, clearance=replace(overlap.clearance, value=0.0))


@lru_cache(maxsize=64)
def clearance_within(inner: Outline, outer: Outline) -> Clearance:
    """The clearance of a curve from another one that it should lie in [mm]; below 0 how far it stands out of it."""
    along = parallel_distance(inner, outer)
    if along is not None:
        (at,), (normal,) = inner.points_at([0.0]), inner.normals_at([0.0])
        return _clearance(along, at, at + along * normal)
    web = closest(inner, outer)
    if web.width_mm > 0.0 and outer.contains(inner.vertices[:1, :2])[0]:
        return Clearance(web.width_mm, web.a, web.b)
    return _excursion(inner, (outer,))


def _clearance(value: float, a: FloatArray, b: FloatArray) -> Clearance:
    return Clearance(value, (float(a[0]), float(a[1])), (float(b[0]), float(b[1])))


def _excursion(inner: Outline, union: tuple[Outline, ...]) -> Clearance:
    """The place of ``inner`` farthest outside a union: looked for all round, then twice more near it.

    The value is above 0 where all of ``inner`` lies within one outline or another of the union.
    """
    step, stations = inner.length / _FINE, inner.length * np.arange(_FINE) / _FINE
    for _ in range(2):
        far = int(_past(union, inner.points_at(stations)).min(axis=0).argmax())
        stations, step = stations[far] + step * np.linspace(-1.0, 1.0, 51), step / 25.0
    points = inner.points_at(stations)
    past = _past(union, points)
    far = int(past.min(axis=0).argmax())
    nearest = union[int(past[:, far].argmin())]
    return _clearance(-float(past[:, far].min()), points[far], nearest.nearest(points[far : far + 1]).foot[0])


def _past(union: tuple[Outline, ...], points: FloatArray) -> FloatArray:
    """(outlines, m) how far each place (m, 2) lies outside each outline, below 0 inside [mm]."""
    return np.array([outline.signed_distance(points) for outline in union])


def _within(piece: ResolvedPiece) -> Iterator[Overlap]:
    # Of a seat the outer wall must lie in the outside; the inner wall holds pocket and opening.
    inners = [part for part in piece.parts if part.kind in _INNER_KINDS and not part.is_inner]
    outers = [part for part in piece.parts if part.kind == "outside" or part.is_inner]
    for inner in inners:
        for outer in outers:
            z0, z1 = max(inner.z0, outer.z0), min(inner.z1, outer.z1)
            if RULES.get((inner.kind, outer.kind)) is not Rule.WITHIN or z1 <= z0:
                continue
            clearance = clearance_within(inner.outline, outer.outline)
            if clearance.value <= TOUCHES_MM and outer.kind == "outside":
                clearance = _least_backed(piece, inner, outer, z0, z1)
            if clearance.value <= TOUCHES_MM:
                yield Overlap(inner, outer, clearance)


def _least_backed(piece: ResolvedPiece, inner: Part, outside: Part, z0: float, z1: float) -> Clearance:
    """The clearance within the outside, and the lugs and bosses that stand out of it, where that is least."""
    unions = {
        (outside.outline, *(p.outline for p in piece.parts if p.kind in ("lug", "boss") and p.z1 >= slab.z1))
        for slab in piece.slabs
        if slab.z0 < z1 and slab.z1 > z0
    }
    found = [_excursion(inner.outline, union) for union in unions or {(outside.outline,)}]
    return min(found, key=lambda clearance: clearance.value)


class _Disc(Struct, frozen=True):
    """A hole, the number of its part, and whether it bounds metal anywhere above the outer face."""

    part: Part
    number: int
    at: Point
    radius: float
    cuts: bool


def _discs(piece: ResolvedPiece) -> list[_Disc]:
    slabs = (slab for slab in piece.slabs if slab.z1 > 0.0)
    cutting = frozenset[int]().union(*(sources for slab in slabs for sources in slab.region.sources))
    return [
        _Disc(part, number, part.centre, part.radius, number in cutting)
        for number, part in enumerate(piece.parts)
        if part.kind == "hole" and part.centre is not None
    ]


def _holes_apart(piece: ResolvedPiece, discs: list[_Disc]) -> Iterator[Overlap]:
    at, radius = np.array([d.at for d in discs]), np.array([d.radius for d in discs])
    one, other = box_pairs(at - radius[:, None], at + radius[:, None], 2.0 * TOUCHES_MM)
    for i, j in sorted(zip(np.minimum(one, other).tolist(), np.maximum(one, other).tolist(), strict=True)):
        apart = hypot(at[j, 0] - at[i, 0], at[j, 1] - at[i, 1])
        value = float(apart - radius[i] - radius[j])
        if value > TOUCHES_MM:
            continue
        large, small = (discs[i], discs[j]) if radius[i] >= radius[j] else (discs[j], discs[i])
        is_nested = apart <= large.radius - small.radius + TOUCHES_MM
        if not (large.cuts and (small.cuts or is_nested)):
            continue  # what they have in common was empty before
        is_thread = piece.end is End.BASE and small.part.path.startswith("studs")
        if apart <= TOUCHES_MM and not is_thread:
            continue  # about one centre they are one hole, the larger; but a stud's thread would be gone
        way = (at[j] - at[i]) / apart if apart > 0.0 else np.array((1.0, 0.0))
        clearance = _clearance(value, at[i] + way * radius[i], at[j] - way * radius[j])
        yield Overlap(discs[i].part, discs[j].part, clearance)


def _holes_off_seat(piece: ResolvedPiece, discs: list[_Disc]) -> Iterator[Overlap]:
    """Holes that cross or swallow a wall of the seat."""
    at = np.array([disc.at for disc in discs])
    for wall in (part for part in piece.parts if part.kind == "seat" and part.z1 > part.z0):
        apart: list[float] = wall.outline.segments.distances(at).min(axis=1).tolist()
        for disc, distance in zip(discs, apart, strict=True):
            if disc.cuts and distance <= disc.radius + TOUCHES_MM and _meets_wall(piece, disc, wall):
                yield Overlap(disc.part, wall, _off(disc, wall.outline))


def _meets_wall(piece: ResolvedPiece, disc: _Disc, wall: Part) -> bool:
    """Whether a hole that reaches over the curve of a wall cuts metal at its heights, or leaves nothing of it."""
    slabs = (slab for slab in piece.slabs if slab.z0 < wall.z1 and slab.z1 > wall.z0)
    if any(disc.number in sources for slab in slabs for sources in slab.region.sources):
        return True
    s = wall.outline.segments
    index = np.arange(len(s))
    places = np.concatenate((s.start, s.points(index, s.length / 2.0)))
    return bool((np.hypot(*(places - disc.at).T) <= disc.radius + TOUCHES_MM).all())


def _off(disc: _Disc, outline: Outline) -> Clearance:
    """How far a disc is from a curve, or how deep it reaches past it."""
    foot = outline.foot_of(disc.at)
    at, there = np.array(disc.at), np.array(foot.at)
    way = (there - at) / foot.distance if foot.distance > 0.0 else np.array((1.0, 0.0))
    return _clearance(foot.distance - disc.radius, at + way * disc.radius, there)


def _broken_holes(piece: ResolvedPiece, discs: list[_Disc]) -> Iterator[Overlap]:
    """Holes whose wall is not whole where they cut metal, and what opens into them.

    Read off the metal itself: a boss or a bar that closes a hole in a pocket or an opening counts.
    """
    by_number = {disc.number: disc for disc in discs}
    loops = {
        loop: sources
        for slab in piece.slabs
        if slab.z1 > 0.0
        for loop, sources in zip(slab.region.loops, slab.region.sources, strict=True)
        if not by_number.keys().isdisjoint(sources) and not _is_circle(loop)
    }
    told: set[tuple[int, str]] = set()
    for loop, sources in loops.items():
        for number in sorted(by_number.keys() & sources):
            disc = by_number[number]
            for other in _opening_into(piece, disc, loop, sources):
                if (number, other.path) not in told:
                    told.add((number, other.path))
                    clearance = _off(disc, other.outline)
                    yield Overlap(disc.part, other, replace(clearance, value=min(clearance.value, 0.0)))


@lru_cache(maxsize=1024)
def _is_circle(loop: Outline) -> bool:
    return as_circle(loop) is not None


def _opening_into(piece: ResolvedPiece, disc: _Disc, loop: Outline, sources: frozenset[int]) -> list[Part]:
    """The parts that a loop goes on along where it leaves the wall of a hole."""
    s = loop.segments
    own = (np.abs(s.centre - disc.at).max(axis=1) < TOUCHES_MM) & (np.abs(s.radius - disc.radius) < TOUCHES_MM)
    ends = s.start[own != np.roll(own, 1)]
    others = [n for n in sorted(sources) if _may_not_open(piece.parts[n], disc.part)]
    if not len(ends) or not others:
        return []
    segments, begin = piece.part_segments
    away = np.minimum.reduceat(segments.distances(ends), begin, axis=1)[:, others].min(axis=0)
    return [piece.parts[n] for n, mm in zip(others, away.tolist(), strict=True) if mm <= TOUCHES_MM]


def _may_not_open(part: Part, hole: Part) -> bool:
    """Whether an edge must not open into a hole: by the table; and what stands there must not be cut through."""
    if part.path == hole.path:
        return False
    return part.adds or part.kind == "seat" or RULES.get(("hole", part.kind)) is Rule.WHOLE
