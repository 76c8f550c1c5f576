"""Distance of the outside, lugs and all, to the machine's keep-outs; step between base and lid outside at the joint."""

from __future__ import annotations

from functools import lru_cache
from math import cos, hypot, inf, pi, sin
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from core.fit.gaps import STATIONS
from core.fit.ways_out.moves import moved_by
from core.fit.words import is_rework, part_at, path_of
from core.geometry.lines.segment_sets import joined
from core.geometry.regions.webs import closest
from core.metal.edges import body_edges
from core.metal.keep_outs import keep_out_outline
from core.part.project import Hold
from core.words.ends import End
from core.words.lengths import MINUS
from core.words.verdicts import Bound, Edit, Place, Remedy, Sentence, Verdict, plain
from core.words.whereabouts import whereabouts

if TYPE_CHECKING:
    from core.fit.case import Case
    from core.geometry.lines.outline import BoolArray, FloatArray, Outline, Point, Segments
    from core.metal.edges import Edges
    from core.metal.order import Part
    from core.metal.slabs import ResolvedPiece
    from core.part.housing import KeepOut
    from core.words.verdicts import Finding

KEY = "keep-out"

_FINE = 720  # places along an outline that may lie in a keep-out
_LEVEL_MM = 1e-6
# Directions in which a straight line may part a piece and a keep-out, besides those of the keep-out's own edges.
_WAYS = np.array([(cos(k * pi / 6.0), sin(k * pi / 6.0)) for k in range(12)])


def check(case: Case) -> tuple[Finding, ...]:
    """One finding for each keep-out, of the piece that comes nearest, and one for the step at the joint."""
    whole = _whole(case) if case.housing.keep_outs else None
    findings = [] if whole is None else [_keep_out(case, whole, keep_out) for keep_out in case.housing.keep_outs]
    if case.after.lid is not None:
        findings.append(_flush(case))
    return tuple(findings)


class Near(Struct, frozen=True):
    """How near an outline comes to a keep-out; ``distance`` below 0 is how deep it enters."""

    distance: float
    at: Point
    other: Point


class _Whole(Struct, frozen=True, eq=False):
    """Base and lid with their edges, and these edges as one."""

    pieces: tuple[tuple[ResolvedPiece, Edges], ...]
    segments: Segments


def _whole(case: Case) -> _Whole | None:
    pieces = [(piece, body_edges(piece)) for piece in case.after.pieces]
    pieces = [(piece, edges) for piece, edges in pieces if not edges.is_empty]
    return _Whole(tuple(pieces), joined([edges.segments for _, edges in pieces])) if pieces else None


def _keep_out(case: Case, whole: _Whole, keep_out: KeepOut) -> Finding:
    rectangle = keep_out_outline(keep_out)
    near, piece, sources = _nearest(whole, rectangle)
    limit = case.limits.keep_out_margin
    judged = Bound(near.distance, low=limit).judged(case.limits.marginal)
    part = part_at(piece, near.at, sources)
    name, where = plain(keep_out.name), whereabouts(near.at, piece.curves.outside)
    whose = "outside" if part.kind == "outside" else plain(part.name)
    if near.distance < 0.0:
        text = f"the {piece.end}'s {whose} enters {name} {where} by {{deep}}; {{limit}} clear of it wanted"
    else:
        wanted = "at least {limit} is wanted" if judged.is_go else "{limit} wanted"
        text = f"the {piece.end}'s {whose} is {{value}} from {name} {where}; {wanted}"
    remedies, path = _remedies(case, piece, part, near, judged.short)
    if judged.is_go:
        remedies = ()
    elif part.kind == "lug" and not is_rework(case):
        remedies += _lugs_moved(case, piece, rectangle, judged.aim)
    return judged.finding(
        check=KEY,
        name=f"distance to {keep_out.name}",
        place=Place(piece.end, near.at, near.other, rectangle, keep_out.name, path),
        advice=Sentence.of(text, value=near.distance, deep=-near.distance, limit=limit),
        formula=Sentence.of(
            f"least distance from base, lid and lugs to the rectangle {{length}} × {{width}} at ({{x}}, {{y}}), turned "
            f"{keep_out.angle:g}°".replace("-", MINUS),
            length=keep_out.length,
            width=keep_out.width,
            x=keep_out.x,
            y=keep_out.y,
        ),
        remedies=() if judged.is_go else (*remedies, Remedy(f"find {name} another place")),
    )


def _remedies(case: Case, piece: ResolvedPiece, part: Part, near: Near, short: float) -> tuple[tuple[Remedy, ...], str]:
    """What clears the outside, or a lug, by ``short`` [mm] more, and the value that it is about."""
    path = path_of(case, part, piece.end)
    if part.kind != "outside":
        if is_rework(case):
            return (Remedy(f"trim {plain(part.name)} there, or cast anew"),), path
        sign = 1.0 if near.distance >= 0.0 else -1.0  # out of the neighbour's space, or further off
        way = (sign * (near.at[0] - near.other[0]), sign * (near.at[1] - near.other[1]))
        has_place = part.centre is not None and part.path
        move = moved_by(case, path, way, short) if has_place else None
        return (() if move is None else (move,)), path
    if is_rework(case):
        return (Remedy("trim the casting's outside there, or cast anew"),), "choices.mode"
    choices = case.project.choices
    if choices.wall is not None:
        walls = [Edit("choices.wall", start=choices.wall, per=-1.0)]
    else:  # of base and lid alike, or the other one is in the way next
        pieces = ((end, case.project.housing.piece(end)) for end in case.housing.ends)
        walls = [Edit(f"housing.{end}.wall", start=own.wall, per=-1.0) for end, own in pieces if own is not None]
    if choices.hold is Hold.WALL:
        held = Remedy("hold the outside where it was", (Edit("choices.hold", Hold.OUTSIDE),))
        return (held, Remedy("make the wall {by} thinner", tuple(walls), short)), "choices.hold"
    # The wall can't be made while the outside is held.
    free = Edit("choices.hold", Hold.WALL)
    let = Remedy("let the outside follow the seat", (free,))
    return (
        let,
        Remedy("let the outside follow the seat, with a wall {by} thinner", (*walls, free), short),
    ), "choices.hold"


def _lugs_moved(case: Case, piece: ResolvedPiece, rectangle: Outline, target: float) -> tuple[Remedy, ...]:
    """Every lug whose pad is nearer to a keep-out than ``target`` [mm], moved straight off it by as much."""
    own = case.housing.piece(piece.end)
    assert own is not None
    moves: list[Remedy] = []
    for i, lug in enumerate(own.features):
        at = lug.at
        if at is not None and lug.round_it > lug.boss_across:
            away = float(rectangle.signed_distance([at])[0])
            foot = rectangle.nearest([at]).foot[0]
            way = ((at[0] - float(foot[0])) * (sign := 1.0 if away > 0.0 else -1.0), (at[1] - float(foot[1])) * sign)
            by = target - (away - lug.round_it / 2.0)
            move = moved_by(case, f"housing.{piece.end}.features[{i}]", way, by)
            if move is not None:
                n = 2 * len(moves)
                text = move.text.replace("move it", f"{'and' if n else 'move'} {plain(lug.name)}")
                text = text.replace("{to}", f"{{to{n or ''}}}").replace("{to1}", f"{{to{n + 1}}}")
                moves.append(replace(move, text=text))
    if len(moves) < 2:
        return ()
    text = ", ".join(move.text for move in moves)
    return (Remedy(text, tuple(edit for move in moves for edit in move.edits), max(move.by for move in moves)),)


def _nearest(whole: _Whole, rectangle: Outline) -> tuple[Near, ResolvedPiece, frozenset[int]]:
    """Where the pieces are nearest to a rectangle, which one is, and the parts that it may be."""
    clear = _separated(whole.segments, rectangle)
    if clear is not None:
        near, segment = clear
        for piece, edges in whole.pieces:
            if segment < len(edges.segments):
                return near, piece, edges.sources[int(edges.loop[segment])]
            segment -= len(edges.segments)
    best: tuple[Near, ResolvedPiece, frozenset[int]] | None = None
    for piece, edges in whole.pieces:
        # The largest loops are the outermost ones; those inside them rarely come nearer.
        for i in np.argsort(-edges.areas)[: int((edges.areas > 0.0).sum())].tolist():
            loop = edges.loops[i]
            if best is not None and _apart(loop, rectangle) > best[0].distance:
                continue
            near = distance_to(loop, rectangle)
            if best is None or near.distance < best[0].distance:
                best = near, piece, edges.sources[i]
    assert best is not None
    return best


def _apart(a: Outline, b: Outline) -> float:
    """A distance [mm] that two outlines are at least apart, that of the boxes round them; where these overlap, −∞."""
    ax0, ay0, ax1, ay1 = a.bounds
    bx0, by0, bx1, by1 = b.bounds
    dx, dy = max(ax0 - bx1, bx0 - ax1), max(ay0 - by1, by0 - ay1)
    return -inf if max(dx, dy) < 0.0 else hypot(max(dx, 0.0), max(dy, 0.0))


@lru_cache(maxsize=128)
def distance_to(outline: Outline, rectangle: Outline) -> Near:
    """How near an outline comes to a rectangle, or how deep it enters [mm]."""
    clear = _separated(outline.segments, rectangle)
    if clear is not None:
        return clear[0]
    web = closest(outline, rectangle)
    if web.width_mm > 0.0 and not outline.contains(web.b)[0] and not rectangle.contains(web.a)[0]:
        return Near(web.width_mm, web.a, web.b)
    out, into = _deepest(outline, rectangle), _deepest(rectangle, outline)
    return out if out.distance <= into.distance else Near(into.distance, into.other, into.at)


def _separated(s: Segments, rectangle: Outline) -> tuple[Near, int] | None:
    """Where closed loops are nearest to a rectangle, and the segment there, if a straight line parts the two.

    The nearest pair of places is a corner and a loop, or an edge and the end of a segment or the place of an arc that
    faces that edge. That a line lies between the two proves that neither enters the other.
    """
    edges = rectangle.segments
    corners = edges.start
    ahead = edges.end - corners
    inward = np.stack((-ahead[:, 1], ahead[:, 0]), axis=1) / edges.length[:, None]
    ways = np.concatenate((inward, _WAYS))
    faces = s.middle[:, 0, None] * ways[:, 0] + s.middle[:, 1, None] * ways[:, 1] >= s.half_cosine[:, None]
    faces &= (s.bulge > 0.0)[:, None]
    if not _is_parted(s, faces, ways, corners):
        return None
    arc, edge = np.nonzero(faces[:, :4])
    places = np.concatenate((s.start, s.centre[arc] + s.radius[arc, None] * inward[edge]))
    by_place = edges.distances(places)
    by_corner = s.distances(corners)
    i, j = divmod(int(by_place.argmin()), 4), divmod(int(by_corner.argmin()), len(s))
    if by_place[i] <= by_corner[j]:
        p, segment = places[i[0]], i[0] if i[0] < len(s) else int(arc[i[0] - len(s)])
        q = edges.feet(np.array([i[1]]), p[None])[0]
    else:
        q, segment = corners[j[0]], j[1]
        p = s.feet(np.array([segment]), q[None])[0]
    near = Near(float(np.hypot(*(q - p))), (float(p[0]), float(p[1])), (float(q[0]), float(q[1])))
    return near, segment


def _is_parted(s: Segments, faces: BoolArray, ways: FloatArray, corners: FloatArray) -> bool:
    """Whether in one of the directions ``ways`` (k, 2) all segments end before the corners begin.

    ``faces`` (n, k) tells which arcs bulge towards a direction, and reach further there than their ends.
    """

    def along(p: FloatArray) -> FloatArray:
        found: FloatArray = p[:, 0, None] * ways[:, 0] + p[:, 1, None] * ways[:, 1]
        return found

    arcs = np.flatnonzero(s.bulge > 0.0)
    bulge = np.where(faces[arcs], along(s.centre[arcs]) + s.radius[arcs, None], -np.inf)
    reach = np.maximum(along(s.start).max(axis=0), bulge.max(axis=0, initial=-np.inf))
    return bool((reach < along(corners).min(axis=0) - _LEVEL_MM).any())


def _deepest(outline: Outline, into: Outline) -> Near:
    """The place of ``outline`` that lies deepest in ``into``, and the way out from there."""
    stations = np.concatenate((outline.starts[:-1], outline.length * np.arange(_FINE) / _FINE))
    points = outline.points_at(stations)
    best = _least(points, into)
    step = outline.length / _FINE
    around = stations[best] + step * np.linspace(-1.0, 1.0, 101)
    fine = np.concatenate((points[best : best + 1], outline.points_at(around)))
    at = fine[_least(fine, into)]
    distance = float(into.signed_distance([at])[0])
    foot = into.nearest([at]).foot[0]
    return Near(min(distance, 0.0), (float(at[0]), float(at[1])), (float(foot[0]), float(foot[1])))


def _least(points: FloatArray, into: Outline) -> int:
    return int(into.signed_distance(points).argmin())


def _step(one: Outline, other: Outline) -> Near:
    """The greatest step from one outline to another: signed, above 0 where ``one`` stands out."""
    if one == other:
        point = one.points_at([one.axis_station])[0]
        at = (float(point[0]), float(point[1]))
        return Near(0.0, at, at)
    points = one.points_at(one.axis_station + one.length * np.arange(STATIONS) / STATIONS)
    signed = other.signed_distance(points)
    i = int(np.abs(signed).argmax())
    foot = other.nearest(points[i : i + 1]).foot[0]
    at = (float(points[i, 0]), float(points[i, 1]))
    return Near(float(signed[i]), at, (float(foot[0]), float(foot[1])))


@lru_cache(maxsize=64)
def _cached_step(one: Outline, other: Outline) -> Near:
    return _step(one, other)


def _flush(case: Case) -> Finding:
    """Base against lid; a lid that never was flush is told, not judged."""
    assert case.after.lid is not None
    assert case.before.lid is not None
    base, lid = case.after.base.curves.outside, case.after.lid.curves.outside
    now = _cached_step(base, lid)
    was = _cached_step(case.before.base.curves.outside, case.before.lid.curves.outside)
    limit = case.limits.flush
    value = abs(now.distance)
    is_meant = abs(was.distance) <= limit + _LEVEL_MM
    proud, back = ("base", "lid") if now.distance > 0.0 else ("lid", "base")
    judged = Bound(value, high=limit if is_meant else None).judged(case.limits.marginal)
    where = whereabouts(now.at, base)
    reads = f"the {proud} stands {{value}} out from the {back} {where}"
    if value <= _LEVEL_MM:
        text = "base and lid are flush all round"
    elif not is_meant:
        text = f"{reads}; it stood {{was}} out as built, so nothing is asked of it here"
    elif judged.is_go:
        text = f"{reads}; at most {{limit}} is wanted"
    else:
        wanted = "at most {limit} wanted" if judged.verdict is Verdict.NO_GO else "close to the greatest of {limit}"
        text = f"{reads}; {wanted}"
    return judged.finding(
        check=KEY,
        name="base and lid flush",
        place=Place(End.LID, now.at, now.other, feature="outside", path=f"housing.{back}.wall"),
        advice=Sentence.of(text, value=value, limit=limit, was=abs(was.distance)),
        formula=Sentence.of(
            f"greatest distance between the outside of base and lid, {STATIONS} stations: {{value}}; as built {{was}}",
            value=value,
            was=abs(was.distance),
        ),
        remedies=() if judged.is_go else _evened(case, End(proud), End(back), value),
    )


def _evened(case: Case, proud: End, back: End, by: float) -> tuple[Remedy, ...]:
    """A thicker wall on the piece that stands back, or a thinner one on the other."""
    if is_rework(case):
        return (Remedy(f"trim the {proud} to the {back}"),)
    remedies: list[Remedy] = []
    for end, per, what in ((back, 1.0, "thicker"), (proud, -1.0, "thinner")):
        piece = case.project.housing.piece(end)
        assert piece is not None
        wall = Edit(f"housing.{end}.wall", start=piece.wall, per=per)
        remedies.append(Remedy(f"make the {end}'s wall {{by}} {what}", (wall,), by))
    both = (Edit("choices.hold", Hold.WALL if case.project.choices.hold is Hold.OUTSIDE else Hold.OUTSIDE),)
    words = "let the outsides follow the seats" if both[0].value is Hold.WALL else "hold the outsides where they were"
    return (*remedies, Remedy(words, both))
