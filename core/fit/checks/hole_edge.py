"""Metal round the fixing holes: from each centre to the nearest other edge, in every slab that the hole passes.

The limit is a multiple of the diameter of the hole that is in that piece (1.5 to 2 diameters from the centre is the
usual practice): of a stud, the clearance hole in the lid, and in the base the thread's own diameter, for a tapped hole
is as wide as its thread: the rule speaks of the screw, not of the drill that went before. Two things are left to the
check of thinnest metal: throats, cored holes of 20 mm and more, which carry air and no screw; and what is raised on the
outer face, which decorates a hole but doesn't hold it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct

from core.features.ground import Made
from core.features.stud.stud import Stud
from core.features.stud.threads import CLEARANCE_MM, DIAMETER_MM, Thread
from core.fit.checks.open_area import is_throat
from core.fit.ways_out.curves import thicker_wall
from core.fit.ways_out.moves import MOST_SMALLER, moved_by
from core.fit.words import is_rework, part_at, part_words, path_of, wanted_words
from core.geometry.lines.outline import as_circle, indices
from core.geometry.lines.segments import segment_bounds
from core.metal.edges import body_edges
from core.words.ends import End
from core.words.verdicts import Bound, Edit, Place, Remedy, Sentence, Verdict, plain
from core.words.whereabouts import whereabouts

if TYPE_CHECKING:
    from core.fit.case import Case
    from core.geometry.lines.outline import BoolArray, FloatArray, IntArray, Point, Segments
    from core.metal.edges import Edges
    from core.metal.order import Part
    from core.metal.slabs import ResolvedPiece
    from core.words.verdicts import Finding, Judged

KEY = "hole edge"

MOST_FINDINGS = 8
"""Findings for one piece: its tightest hole, and those that are not well."""

_SAME_MM = 1e-6
_AT_ONCE = 1 << 18  # pairs of holes and edges
_TOGETHER = 64  # holes
# Moves that are looked at: so many directions, and amounts as parts of the distance wanted.
_DIRECTIONS = 72
_SAME_WAY = 0.98  # cosine of two ways that are one
_AMOUNTS = np.array([0.02, 0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5, 0.65, 0.8, 1.0, 1.3, 1.6, 2.0])


class _Fixing(Struct, frozen=True):
    """A hole for a screw or stud.

    Attributes:
        size: the path of what makes it larger or smaller, in the project.
        boss: diameter of the metal that is meant for it [mm]; 0 where it has none of its own.
        boss_field: the field of its feature that holds ``boss``.
        diameter: of the hole in this piece as it is in the end, tapped or not [mm]: what its distance from an edge is
            a multiple of; ``radius`` is that of the drill.
    """

    part: Part
    at: Point
    radius: float
    size: str
    boss: float
    boss_field: str
    made: Made
    diameter: float


class _Found(Struct, frozen=True):
    """A hole, its distance to its nearest other edge, and that edge's segment; None where the hole meets no metal."""

    fixing: _Fixing
    judged: Judged
    segment: int | None


def check(case: Case) -> tuple[Finding, ...]:
    """For each piece the hole with the least margin, and every further hole that isn't well."""
    findings: list[Finding] = []
    for piece in case.after.pieces:
        fixings = _fixings(case, piece)
        edges = body_edges(piece)
        if not fixings or edges.is_empty:
            continue
        found = sorted(_found(case, edges, fixings), key=lambda f: (-f.judged.verdict.rank, f.judged.margin))
        for i, one in enumerate(found[:MOST_FINDINGS]):
            if i == 0 or not one.judged.is_go:
                findings.append(_finding(case, piece, edges, one))
        findings += [
            _off_boss(case, piece, f) for f in fixings if 0.0 < f.boss < 2.0 * f.radius and f.made is Made.DRILLED
        ]
    return tuple(findings)


def _fixings(case: Case, resolved: ResolvedPiece) -> list[_Fixing]:
    piece = case.housing.piece(resolved.end)
    assert piece is not None
    found: list[_Fixing] = []
    for part in resolved.parts:
        if part.kind != "hole" or part.centre is None:
            continue
        owner, index = part.path[:-1].split("[")
        feature = case.housing.studs[int(index)] if owner == "studs" else piece.features[int(index)]
        if is_throat(feature) or part.made is None:
            continue
        radius = part.radius
        diameter = 2.0 * radius
        if isinstance(feature, Stud) and resolved.end is End.BASE:
            diameter = DIAMETER_MM[feature.thread]
        boss, field = feature.round_it, feature.ring_field
        found.append(_Fixing(part, part.centre, radius, feature.hole_field, boss, field, part.made, diameter))
    return found


def _nearest_others(edges: Edges, centres: FloatArray, radii: FloatArray) -> tuple[list[int], list[float]]:
    """For each of k holes the nearest segment that is not its own, and the distance [mm] of its centre to it.

    Only slabs that the hole cuts count; the distance is infinite where it cuts none. Many holes are looked at by the
    dozen, neighbours together, and only with what lies round them: so the time grows as the holes do.
    """
    every, count = np.arange(len(edges.segments)), len(centres)
    if count * len(every) <= _AT_ONCE:
        nearest, away = _nearest_among(edges, centres, radii, every)
        return nearest.tolist(), away.tolist()
    nearest, away = np.zeros(count, dtype=np.int64), np.full(count, np.inf)
    least, most = segment_bounds(edges.segments)
    size = np.sqrt(np.prod(np.ptp(centres, axis=0) + 1.0) * _TOGETHER / count)
    strip = np.floor(centres[:, 0] / size)
    for some in np.array_split(np.lexsort((centres[:, 1], strip)), -(-count // _TOGETHER)):
        low, high = centres[some].min(axis=0), centres[some].max(axis=0)
        reach, near = 4.0 * float(radii[some].max()), every[:0]
        while len(near) < len(every) and (not len(near) or float(away[some].max()) > reach):
            reach *= 2.0
            near = indices(((least <= high + reach) & (most >= low - reach)).all(axis=1))
            if len(near):
                nearest[some], away[some] = _nearest_among(edges, centres[some], radii[some], near)
    return nearest.tolist(), away.tolist()


def _nearest_among(
    edges: Edges, centres: FloatArray, radii: FloatArray, among: IntArray
) -> tuple[IntArray, FloatArray]:
    """(k,) the nearest of the segments ``among`` to each of k holes that is not its own, and (k,) how far it is."""
    is_round_it, own, counts = _own_and_met(edges, centres, radii, among)
    away = np.where(counts & ~own, _segments(edges, among).distances(centres), np.inf)
    # Where other edges end on one that runs round the hole, that one is meant.
    nearest = (away - np.where(is_round_it, _SAME_MM, 0.0)).argmin(axis=1)
    return among[nearest], away[np.arange(len(centres)), nearest]


def _segments(edges: Edges, among: IntArray) -> Segments:
    return edges.segments if len(among) == len(edges.segments) else edges.segments.at(among)


def _own_and_met(
    edges: Edges, centres: FloatArray, radii: FloatArray, among: IntArray
) -> tuple[BoolArray, BoolArray, BoolArray]:
    """(k, n) of n segments which run round each of k holes, are its own edge, and are in a slab that it passes."""
    s = _segments(edges, among)
    off = np.abs(s.centre[:, 0] - centres[:, 0, None]) + np.abs(s.centre[:, 1] - centres[:, 1, None])
    is_round_it = off < _SAME_MM
    own = is_round_it & (np.abs(s.radius - radii[:, None]) < _SAME_MM)
    has = edges.in_slab[:, among].astype(np.float32)
    passes = own.astype(np.float32) @ has.T > 0.0
    counts = passes.astype(np.float32) @ has > 0.0
    return is_round_it, own, counts


def _found(case: Case, edges: Edges, fixings: list[_Fixing]) -> list[_Found]:
    nearest, values = _nearest_others(edges, np.array([f.at for f in fixings]), np.array([f.radius for f in fixings]))
    found: list[_Found] = []
    for fixing, value, segment in zip(fixings, values, nearest, strict=True):
        wanted = case.limits.hole_edge * fixing.diameter
        if value < np.inf:
            found.append(_Found(fixing, Bound(value, low=wanted).judged(case.limits.marginal), segment))
        elif fixing.made is Made.DRILLED:
            found.append(_Found(fixing, Bound(0.0, low=wanted).judged().but(Verdict.NO_GO), None))
    return found


def _foot(edges: Edges, segment: int, at: Point) -> Point:
    """The place of a segment that is nearest to a hole's centre."""
    s = edges.segments
    if np.abs(s.centre[segment] - at).max() < _SAME_MM:
        # On an arc round the hole itself every place is as near: its middle stands for all, away from its ends.
        x, y = (s.centre[segment] + s.middle[segment] * s.radius[segment]).tolist()
    else:
        x, y = s.feet(np.array([segment]), np.array([at]))[0].tolist()
    return x, y


def _finding(case: Case, piece: ResolvedPiece, edges: Edges, found: _Found) -> Finding:
    if found.segment is None:
        return _in_the_air(case, piece, found)
    foot = _foot(edges, found.segment, found.fixing.at)
    near = part_at(piece, foot, edges.sources[int(edges.loop[found.segment])])
    fixing, judged, value, wanted = found.fixing, found.judged, found.judged.bound.value, found.judged.bound.low
    assert wanted is not None
    name = plain(fixing.part.name)
    is_own = _is_own_boss(fixing, near)
    edge = f"its own {fixing.boss_field}'s edge" if is_own else _edge_words(fixing, near)
    where = whereabouts(fixing.at, piece.curves.outside)
    text = f"{name} {where}: {{value}} from its centre to {edge}"
    if value <= fixing.radius + _SAME_MM:
        text = f"{name} {where} breaks through {edge}"
    path = path_of(case, fixing.part, piece.end, fixing.boss_field if is_own else "")
    return judged.finding(
        check=KEY,
        name=f"metal round {fixing.part.name}, {piece.end}",
        place=Place(piece.end, fixing.at, foot, feature=fixing.part.name, path=path),
        advice=Sentence.of(f"{text}; {wanted_words(judged.verdict, 'wanted')}", value=value, wanted=wanted),
        formula=Sentence.of(
            f"{case.limits.hole_edge:g} × diameter {{diameter}} = {{wanted}}; centre to the nearest other edge "
            "{value}, at all heights that the hole passes",
            diameter=fixing.diameter,
            wanted=wanted,
            value=value,
        ),
        remedies=() if judged.is_go else _remedies(case, piece, edges, found, near),
    )


def _is_own_boss(fixing: _Fixing, near: Part) -> bool:
    """Whether an edge is that of the round metal meant for the hole: not its neck's, nor the wall it runs into."""
    if fixing.boss <= 0.0 or near.path != fixing.part.path or near.kind == "hole" or near.centre is None:
        return False
    circle = as_circle(near.outline)
    return circle is not None and abs(circle[1] - fixing.boss / 2.0) < _SAME_MM


def _edge_words(fixing: _Fixing, near: Part) -> str:
    if near.path == fixing.part.path and near.kind == "lug":
        return "its own neck's edge"
    return part_words(near)


def _remedies(case: Case, piece: ResolvedPiece, edges: Edges, found: _Found, near: Part) -> tuple[Remedy, ...]:
    """More metal where it is its own, a move to where there is enough, or a smaller hole."""
    if is_rework(case):
        return (Remedy("cast anew, for a casting's hole stays where it is"),)
    fixing, target, short = found.fixing, found.judged.aim, found.judged.short
    path = path_of(case, fixing.part, piece.end)
    remedies: list[Remedy] = []
    if _is_own_boss(fixing, near):
        boss = Edit(f"{path}.{fixing.boss_field}", start=fixing.boss, per=1.0)
        remedies.append(Remedy(f"make its {fixing.boss_field} {{by}} larger", (boss,), 2.0 * short))
    else:
        moves = (moved_by(case, path, way, by) for way, by in _moves(edges, found))
        remedies += [move for move in moves if move is not None]
        if near.kind == "outside":
            remedies += thicker_wall(case, piece.end, short)
    if fixing.size != "thread":
        hole = Edit(f"{path}.{fixing.size}", start=fixing.diameter, per=-1.0)
        smaller = fixing.diameter * (1.0 - found.judged.bound.value / target)
        if smaller > MOST_SMALLER * fixing.diameter:
            return tuple(remedies)
        return (*remedies, Remedy("make the hole {by} smaller", (hole,), smaller))
    bores = DIAMETER_MM if piece.end is End.BASE else CLEARANCE_MM
    fits = [thread for thread in Thread if bores[thread] < fixing.diameter - _SAME_MM]
    remedies += [Remedy(f"take {thread} instead", (Edit(f"{path}.thread", thread),)) for thread in fits[:-3:-1]]
    return tuple(remedies)


def _moves(edges: Edges, found: _Found) -> list[tuple[Point, float]]:
    """Ways and amounts [mm]: straight off the nearest edge, and the least move that clears all that stays behind."""
    assert found.segment is not None
    s, at, target = edges.segments, np.array(found.fixing.at), found.judged.aim
    foot = np.array(_foot(edges, found.segment, found.fixing.at))
    off = at - foot
    moves = [((float(off[0]), float(off[1])), found.judged.short)]
    is_round_it, _, counts = _own_and_met(edges, at[None], np.array([found.fixing.radius]), np.arange(len(s)))
    stays = indices(counts[0] & ~is_round_it[0])
    away = s.distances(at[None])[0, stays]
    angles = np.arange(_DIRECTIONS) * (2.0 * np.pi / _DIRECTIONS)
    ways = np.array((np.cos(angles), np.sin(angles))).T
    for amount in target * _AMOUNTS:
        near = stays[away <= away.min(initial=np.inf) + 2.0 * amount]  # none further off is the nearest after the move
        room = s.at(near).distances(at + amount * ways).min(axis=1, initial=np.inf)
        if room.max() >= target:
            best = ways[int(room.argmax())]
            if best @ off < _SAME_WAY * np.hypot(*off):
                moves.append(((float(best[0]), float(best[1])), float(amount)))
            break
    return moves


def _in_the_air(case: Case, piece: ResolvedPiece, found: _Found) -> Finding:
    """A hole to be drilled where there is no metal."""
    part = found.fixing.part
    return found.judged.finding(
        check=KEY,
        name=f"metal round {part.name}, {piece.end}",
        place=Place(piece.end, found.fixing.at, feature=part.name, path=path_of(case, part, piece.end)),
        advice=Sentence(f"{plain(part.name)} is to be drilled where the {piece.end} has no metal"),
        formula=Sentence("no height of the piece has an edge of this hole"),
        remedies=() if is_rework(case) else _into_the_metal(case, piece, found.fixing, found.judged.aim),
    )


def _into_the_metal(case: Case, piece: ResolvedPiece, fixing: _Fixing, wanted: float) -> tuple[Remedy, ...]:
    """Move a hole over the nearest edge and in from it; or give it metal of its own."""
    path = path_of(case, fixing.part, piece.end)
    edges = body_edges(piece)
    distance, segment = edges.segments.closest(np.array([fixing.at]))
    foot = edges.segments.feet(segment, np.array([fixing.at]))[0]
    way = (float(foot[0]) - fixing.at[0], float(foot[1]) - fixing.at[1])
    move = moved_by(case, path, way, float(distance[0]) + wanted)
    boss = Edit(f"{path}.{fixing.boss_field}", 2.0 * wanted * (1.0 + case.limits.marginal / 100.0))
    give = Remedy(f"give it a {fixing.boss_field} {{to}} wide", (boss,))
    return (give,) if move is None else (move, give)


def _off_boss(case: Case, piece: ResolvedPiece, fixing: _Fixing) -> Finding:
    name = plain(fixing.part.name)
    ring = fixing.boss / 2.0 - fixing.radius
    judged = Bound(ring, low=0.0).judged().but(Verdict.NO_GO)
    return judged.finding(
        check=KEY,
        name=f"{fixing.part.name} on its {fixing.boss_field}, {piece.end}",
        place=Place(
            piece.end,
            fixing.at,
            feature=fixing.part.name,
            path=path_of(case, fixing.part, piece.end, fixing.boss_field),
        ),
        advice=Sentence.of(
            f"{name} is drilled {{hole}} wide in a {fixing.boss_field} of {{boss}}: the drill runs off it",
            hole=2.0 * fixing.radius,
            boss=fixing.boss,
        ),
        formula=Sentence.of("(boss {boss} − hole {hole}) / 2", boss=fixing.boss, hole=2.0 * fixing.radius),
        remedies=() if is_rework(case) else _larger_boss(case, piece, fixing),
    )


def _larger_boss(case: Case, piece: ResolvedPiece, fixing: _Fixing) -> tuple[Remedy, ...]:
    path = path_of(case, fixing.part, piece.end, fixing.boss_field)
    by = 2.0 * (case.limits.hole_edge * fixing.diameter) - fixing.boss
    return (Remedy(f"make its {fixing.boss_field} {{by}} larger", (Edit(path, start=fixing.boss, per=1.0),), by),)
