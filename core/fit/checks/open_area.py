"""Open area of the opening as the metal leaves it, against the old one; face velocity where a flow is given.

What counts is the opening's own outline less the metal of all slabs: where it merges with a hole or breaks out, the
hole's part is no opening, and what is left of the metal is all that closes it.
"""

from __future__ import annotations

from math import inf, pi, sqrt
from typing import TYPE_CHECKING, TypeGuard

import numpy as np
from msgspec import Struct

from core.features.badge import Badge
from core.features.crossbar import Crossbar
from core.features.ground import Made
from core.features.hole import Hole
from core.fit.ways_out.curves import opening_freed
from core.fit.words import is_rework, lip_path
from core.words.verdicts import Bound, Edit, Place, Remedy, Sentence, Unit, plain

if TYPE_CHECKING:
    from core.fit.case import Case
    from core.metal.slabs import ResolvedPiece
    from core.words.ends import End
    from core.words.verdicts import Finding

KEY = "open area"

THROAT_MM = 20.0
"""Cored holes from this diameter on are throats that air passes, not fixing holes (common practice, no source)."""

_EDGE_PLACES = 720
_ASIDE_MM = 1e-3
_MM2_PER_M2 = 1e6
_S_PER_H = 3600.0


def check(case: Case) -> tuple[Finding, ...]:
    """For each piece with an opening: its open area, face velocity if a flow is given, and its throats."""
    findings: list[Finding] = []
    for new in case.after.pieces:
        old = case.before.piece(new.end)
        piece = case.housing.piece(new.end)
        assert old is not None
        assert piece is not None
        if new.curves.opening is None:
            continue
        area = new.open_area
        findings.append(_area(case, new, area, old.open_area))
        if case.limits.flow is not None:
            findings.append(_velocity(case, new, area, case.limits.flow))
        throats = [f for f in piece.features if is_throat(f)]
        if throats:
            findings.append(_throats(new.end, throats))
    return tuple(findings)


def is_throat(feature: object) -> TypeGuard[Hole]:
    """Whether a feature is a cored hole so large that it is no fixing hole."""
    return isinstance(feature, Hole) and feature.made is Made.CORED and feature.diameter >= THROAT_MM


class _Names(Struct, frozen=True):
    of: str
    path: str


def _names(case: Case, end: End) -> _Names:
    one = case.housing.lid is None
    return _Names("opening" if one else f"{end}'s opening", lip_path(case))


def _area(case: Case, piece: ResolvedPiece, now: float, was: float) -> Finding:
    opening = piece.curves.opening
    assert opening is not None
    names = _names(case, piece.end)
    least = case.limits.open_area * was
    # The old area is a floor, not a size to keep away from: there is no marginal band over it.
    judged = Bound(now, low=least, unit=Unit.AREA).judged()
    percent = 100.0 * now / was if was > 0.0 else inf
    wanted = 100.0 * case.limits.open_area
    text = f"the {names.of} keeps {percent:.1f} % of its old area; at least {wanted:.0f} % is wanted"
    taken = 100.0 * (1.0 - now / opening.area)
    return judged.finding(
        check=KEY,
        name=f"open area, {names.of}",
        place=Place(piece.end, outline=opening, feature="opening", path=names.path),
        advice=Sentence(text),
        formula=Sentence(
            f"opening less what crosses it ({taken:.1f} % of it), through all heights; {percent:.1f} % of the old"
        ),
        remedies=() if judged.is_go else _remedies(case, piece, least - now, "accept less area"),
    )


def _remedies(case: Case, piece: ResolvedPiece, missing: float, otherwise: str) -> tuple[Remedy, ...]:
    """What makes the open area ``missing`` larger [mm²], or what there is to say ``otherwise``."""
    if is_rework(case):
        return (Remedy(f"the casting's opening stays as it is, so cast anew or {otherwise}"),)
    own, opening = case.housing.piece(piece.end), piece.curves.opening
    assert own is not None
    assert opening is not None
    remedies: list[Remedy] = []
    wider = _wider(opening.length * _open_share(piece), missing)
    if own.opening is not None and own.opening.held is not None:
        remedies.append(Remedy("let the opening follow the seat", tuple(opening_freed(case, piece.end))))
    elif wider < own.lip.width:
        lip = Edit("choices.lip", start=own.lip.width, per=-1.0)
        remedies.append(Remedy("make the lip {by} narrower, {to}", (lip,), wider))
    return (*remedies, Remedy(otherwise))


def _smaller(case: Case, piece: ResolvedPiece, missing: float) -> list[Remedy]:
    """What crosses the opening, made smaller: the widest crossbar, and each badge.

    That changes the housing as built too, so against the old area it wins nothing.
    """
    built = case.project.housing.piece(piece.end)
    if is_rework(case) or built is None:
        return []
    found = []
    features = list(enumerate(built.features))
    bars = [(f.width, i, f) for i, f in features if isinstance(f, Crossbar)]
    if bars:
        _, i, bar = max(bars, key=lambda b: b[:2])
        by = missing / max(_across(piece, f"features[{i}]"), 1.0)
        if by < bar.width:
            edit = Edit(f"housing.{piece.end}.features[{i}].width", start=bar.width, per=-1.0)
            found.append(Remedy(f"make {plain(bar.name)} {{by}} narrower, {{to}}", (edit,), by))
    for i, badge in features:
        if isinstance(badge, Badge):
            # (length - b) (width - b) is less by (length + width) b - b²; the ends of an obround take a little of it.
            sides, least = badge.length + badge.width, min(badge.length, badge.width)
            by = (sides - sqrt(max(sides * sides - 4.0 * missing, 0.0))) / 2.0
            if by < least and 4.0 * missing < sides * sides:
                path = f"housing.{piece.end}.features[{i}]"
                edits = tuple(
                    Edit(f"{path}.{field}", start=getattr(badge, field), per=-1.0) for field in ("length", "width")
                )
                text = f"make {plain(badge.name)} {{by}} shorter and narrower, {{to}} by {{to1}}"
                found.append(Remedy(text, edits, by))
    return found


def _across(piece: ResolvedPiece, path: str) -> float:
    """The length of a crossbar [mm]: half of its outline's, but for its ends."""
    outline = next((part.outline for part in piece.parts if part.path == path), None)
    return 0.0 if outline is None else outline.length / 2.0


def _open_share(piece: ResolvedPiece) -> float:
    """The part of the opening's edge that is not built over: only there does a narrower lip win area."""
    opening, region = piece.curves.opening, piece.region_at(0.0)
    assert opening is not None
    if region is None:
        return 1.0
    stations = opening.length * np.arange(_EDGE_PLACES) / _EDGE_PLACES
    inside = opening.points_at(stations) - _ASIDE_MM * opening.normals_at(stations)
    return max(1.0 - float(region.contains(inside).mean()), 1.0 / _EDGE_PLACES)


def _wider(length: float, missing: float) -> float:
    """How far out an opening must move for its area to grow by ``missing``: P d + π d² (Steiner) [mm]."""
    return (sqrt(length * length + 4.0 * pi * missing) - length) / (2.0 * pi)


def _velocity(case: Case, piece: ResolvedPiece, area: float, flow: float) -> Finding:
    names = _names(case, piece.end)
    high = case.limits.face_velocity
    value = flow / _S_PER_H / (area / _MM2_PER_M2) if area > 0.0 else inf
    judged = Bound(value, high=high, unit=Unit.VELOCITY).judged(case.limits.marginal)
    text = f"{value:.1f} m/s in the {names.of}; at most {high:g} m/s is wanted"
    remedies: tuple[Remedy, ...] = ()
    if not judged.is_go:
        factor = value / (high * (1.0 - judged.band))
        text += f", which takes {factor:.2f} times the open area"
        missing = (factor - 1.0) * area if area > 0.0 else 0.0
        *lip, less = _remedies(case, piece, missing, "send less flow through it")
        remedies = (*lip, *_smaller(case, piece, missing), less)
    return judged.finding(
        check=KEY,
        name=f"face velocity, {names.of}",
        place=Place(piece.end, outline=piece.curves.opening, feature="opening", path="limits.flow"),
        advice=Sentence(text),
        formula=Sentence(f"flow / open area: {flow:g} m³/h in the {names.of}"),
        remedies=remedies,
    )


def _throats(end: End, throats: list[Hole]) -> Finding:
    area = sum(pi * hole.diameter**2 / 4.0 for hole in throats)
    first = throats[0]
    lengths = {f"d{i}": hole.diameter for i, hole in enumerate(throats)}
    terms = ", ".join(f"{{d{i}}}" for i in range(len(throats)))
    judged = Bound(area, unit=Unit.AREA).judged()
    return judged.finding(
        check=KEY,
        name=f"throats of the {end}" if len(throats) > 1 else f"throat of the {end}",
        place=Place(end, (first.x, first.y), feature=first.name),
        advice=Sentence("area of the throats, for comparison with the opening; they are the machine's"),
        formula=Sentence.of(f"sum of π d² / 4 over the diameters {terms}", **lengths),
    )
