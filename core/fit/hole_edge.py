"""Metal round the fixing holes: from each centre to the nearest other edge, in every slab that the hole passes.

The limit is a multiple of the diameter (1.5 to 2 diameters from the centre is the usual practice); for studs, tapped in
the base and passing the lid, it is the thread's own diameter. Two things are left to the check of thinnest metal:
throats, cored holes of 20 mm and more, which carry air and no screw; and what is raised on the outer face, which
decorates a hole but doesn't hold it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from core.fit.edges import body_edges
from core.fit.open_area import is_throat
from core.fit.words import circle_radius, enough, part_at, part_words, path_of, whereabouts
from core.housing import Hole, Lug, Made, Stud
from core.studs import DIAMETER_MM
from core.verdicts import Finding, Place, Sentence, Unit, Verdict, judge, plain

if TYPE_CHECKING:
    from core.fit.case import Case
    from core.fit.edges import Edges
    from core.metal import Part
    from core.outline import FloatArray, Point
    from core.slabs import ResolvedPiece

KEY = "hole edge"

MOST_FINDINGS = 8
"""Findings for one piece: its tightest hole, and those that are not well."""

_SAME_MM = 1e-6


@dataclass(frozen=True, slots=True)
class _Fixing:
    """A hole for a screw or stud.

    Attributes:
        diameter: that its edge distance is a multiple of [mm].
        boss: diameter of the metal that is meant for it [mm]; 0 where it has none of its own.
        boss_field: the field of its feature that holds ``boss``.
    """

    part: Part
    at: Point
    radius: float
    diameter: float
    boss: float
    boss_field: str
    made: Made


@dataclass(frozen=True, slots=True)
class _Found:
    """A hole with the distance to its nearest other edge, that of ``segment``; None where it meets no metal."""

    fixing: _Fixing
    value: float
    wanted: float
    verdict: Verdict
    margin: float
    segment: int | None


def check(case: Case) -> tuple[Finding, ...]:
    """For each piece the hole with the least margin, and every further hole that isn't well."""
    findings: list[Finding] = []
    for piece in case.after.pieces:
        fixings = _fixings(case, piece)
        edges = body_edges(piece)
        if not fixings or edges.is_empty:
            continue
        found = sorted(_found(case, edges, fixings), key=lambda f: (-f.verdict.rank, f.margin))
        for i, one in enumerate(found[:MOST_FINDINGS]):
            if i == 0 or one.verdict is not Verdict.GO:
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
        if isinstance(feature, Stud):
            diameter, boss, field, made = DIAMETER_MM[feature.thread], feature.boss, "boss", Made.DRILLED
        elif isinstance(feature, Lug):
            diameter, boss, field, made = feature.hole, feature.pad, "pad", feature.made
        elif isinstance(feature, Hole) and not is_throat(feature):
            diameter, boss, field, made = feature.diameter, feature.boss, "boss", feature.made
        else:
            continue
        found.append(_Fixing(part, part.centre, circle_radius(part), diameter, boss, field, made))
    return found


def _nearest_others(edges: Edges, centres: FloatArray, radii: FloatArray) -> tuple[list[int], list[float]]:
    """For each of k holes the nearest segment that is not its own, and the distance [mm] of its centre to it.

    Only slabs that the hole cuts count; the distance is infinite where it cuts none.
    """
    s = edges.segments
    off = np.abs(s.centre[:, 0] - centres[:, 0, None]) + np.abs(s.centre[:, 1] - centres[:, 1, None])
    is_round_it = off < _SAME_MM
    own = is_round_it & (np.abs(s.radius - radii[:, None]) < _SAME_MM)
    has = edges.in_slab.astype(np.float32)
    passes = own.astype(np.float32) @ has.T > 0.0
    counts = passes.astype(np.float32) @ has > 0.0
    away = np.where(counts & ~own, s.distances(centres), np.inf)
    # Where other edges end on one that runs round the hole, that one is meant.
    nearest = (away - np.where(is_round_it, _SAME_MM, 0.0)).argmin(axis=1)
    return nearest.tolist(), away[np.arange(len(centres)), nearest].tolist()


def _found(case: Case, edges: Edges, fixings: list[_Fixing]) -> list[_Found]:
    nearest, values = _nearest_others(edges, np.array([f.at for f in fixings]), np.array([f.radius for f in fixings]))
    found: list[_Found] = []
    for fixing, value, segment in zip(fixings, values, nearest, strict=True):
        wanted = case.limits.hole_edge * fixing.diameter
        if value < np.inf:
            verdict, margin = judge(value, low=wanted, high=None, marginal_percent=case.limits.marginal)
            found.append(_Found(fixing, value, wanted, verdict, margin, segment))
        elif fixing.made is Made.DRILLED:
            found.append(_Found(fixing, 0.0, wanted, Verdict.NO_GO, -wanted, None))
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
    fixing, value, wanted, verdict = found.fixing, found.value, found.wanted, found.verdict
    limits = case.limits
    name = plain(fixing.part.name)
    is_own = near.path == fixing.part.path
    edge = f"its own {fixing.boss_field}'s edge" if is_own else part_words(near)
    where = whereabouts(fixing.at, piece.curves.outside)
    text = f"{name} {where}: {{value}} from its centre to {edge}"
    if value <= fixing.radius + _SAME_MM:
        text = f"{name} {where} breaks through {edge}"
    smaller = "take a smaller thread" if fixing.part.path.startswith("studs") else "make the hole smaller"
    target = wanted * (1.0 + limits.marginal / 100.0 if verdict is Verdict.MARGINAL else 1.0)
    if verdict is Verdict.GO:
        text += "; {wanted} is wanted"
    else:
        text += "; {wanted} wanted" if verdict is Verdict.NO_GO else "; close to the {wanted} wanted"
        text += (
            f": make its {fixing.boss_field} {{wider}} larger, or {smaller}"
            if is_own
            else ": move it {short} away, make it smaller, or give it more metal there"
        )
    path = path_of(case, fixing.part, piece.end, fixing.boss_field if is_own else "")
    return Finding(
        KEY,
        f"metal round {fixing.part.name}, {piece.end}",
        verdict,
        value,
        Unit.LENGTH,
        wanted,
        None,
        found.margin,
        Place(piece.end, fixing.at, foot, feature=fixing.part.name, path=path),
        Sentence.of(
            text,
            value=value,
            wanted=wanted,
            short=enough(case, target - value),
            wider=enough(case, 2.0 * (target - value)),
        ),
        Sentence.of(
            f"{limits.hole_edge:g} × diameter {{diameter}} = {{wanted}}; centre to the nearest other edge {{value}}, "
            "at all heights that the hole passes",
            diameter=fixing.diameter,
            wanted=wanted,
            value=value,
        ),
    )


def _in_the_air(case: Case, piece: ResolvedPiece, found: _Found) -> Finding:
    """A hole to be drilled where there is no metal."""
    part = found.fixing.part
    return Finding(
        KEY,
        f"metal round {part.name}, {piece.end}",
        Verdict.NO_GO,
        0.0,
        Unit.LENGTH,
        found.wanted,
        None,
        found.margin,
        Place(piece.end, found.fixing.at, feature=part.name, path=path_of(case, part, piece.end)),
        Sentence(f"{plain(part.name)} is to be drilled where the {piece.end} has no metal: move it or give it a boss"),
        Sentence("no height of the piece has an edge of this hole"),
    )


def _off_boss(case: Case, piece: ResolvedPiece, fixing: _Fixing) -> Finding:
    name = plain(fixing.part.name)
    ring = fixing.boss / 2.0 - fixing.radius
    return Finding(
        KEY,
        f"{fixing.part.name} on its {fixing.boss_field}, {piece.end}",
        Verdict.NO_GO,
        ring,
        Unit.LENGTH,
        0.0,
        None,
        ring,
        Place(
            piece.end,
            fixing.at,
            feature=fixing.part.name,
            path=path_of(case, fixing.part, piece.end, fixing.boss_field),
        ),
        Sentence.of(
            f"{name} is drilled {{hole}} wide in a {fixing.boss_field} of {{boss}}: the drill runs off it; make the "
            f"{fixing.boss_field} larger",
            hole=2.0 * fixing.radius,
            boss=fixing.boss,
        ),
        Sentence.of("(boss {boss} − hole {hole}) / 2", boss=fixing.boss, hole=2.0 * fixing.radius),
    )
