"""Open area of the opening as the metal leaves it, against the old one; face velocity where a flow is given.

What counts is the opening's own outline less the metal of all slabs: where it merges with a hole or breaks out, the
hole's part is no opening, and what is left of the metal is all that closes it.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, pi, sqrt
from typing import TYPE_CHECKING, TypeGuard

import numpy as np

from core.fit.words import enough, is_rework, lip_path
from core.housing import Hole, Made
from core.project import HoldInside
from core.verdicts import Finding, Place, Sentence, Unit, Verdict, judge

if TYPE_CHECKING:
    from core.fit.case import Case
    from core.insert_end import End
    from core.slabs import ResolvedPiece

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


@dataclass(frozen=True, slots=True)
class _Names:
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
    verdict, margin = judge(now, low=least, high=None, marginal_percent=0.0)
    percent = 100.0 * now / was if was > 0.0 else inf
    wanted = 100.0 * case.limits.open_area
    text = f"the {names.of} keeps {percent:.1f} % of its old area; {wanted:.0f} % is wanted"
    wider = 0.0
    if verdict is Verdict.NO_GO:
        wider = enough(case, _wider(opening.length * _open_share(piece), least - now))
        text += (
            ": the casting's opening stays as it is, so cast anew or accept less area"
            if is_rework(case)
            else ": make crossbars and badge smaller, or hold the lip instead of the opening and make it narrower"
            if case.project.choices.hold_inside is HoldInside.OPENING
            else ": make the lip about {wider} narrower, or crossbars and badge smaller"
        )
    taken = 100.0 * (1.0 - now / opening.area)
    return Finding(
        KEY,
        f"open area, {names.of}",
        verdict,
        now,
        Unit.AREA,
        least,
        None,
        margin,
        Place(piece.end, outline=opening, feature="opening", path=names.path),
        Sentence.of(text, wider=wider),
        Sentence(
            f"opening less what crosses it ({taken:.1f} % of it), through all heights; {percent:.1f} % of the old"
        ),
    )


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
    verdict, margin = judge(value, low=None, high=high, marginal_percent=case.limits.marginal)
    text = f"{value:.1f} m/s in the {names.of}; at most {high:g} m/s is wanted"
    if verdict is not Verdict.GO:
        factor = value / (high if verdict is Verdict.NO_GO else high * (1.0 - case.limits.marginal / 100.0))
        text += f": {factor:.2f} times the open area is needed, or less flow"
    return Finding(
        KEY,
        f"face velocity, {names.of}",
        verdict,
        value,
        Unit.VELOCITY,
        None,
        high,
        margin,
        Place(piece.end, outline=piece.curves.opening, feature="opening", path="limits.flow"),
        Sentence(text),
        Sentence(f"flow / open area: {flow:g} m³/h in the {names.of}"),
    )


def _throats(end: End, throats: list[Hole]) -> Finding:
    area = sum(pi * hole.diameter**2 / 4.0 for hole in throats)
    first = throats[0]
    lengths = {f"d{i}": hole.diameter for i, hole in enumerate(throats)}
    terms = ", ".join(f"{{d{i}}}" for i in range(len(throats)))
    return Finding(
        KEY,
        f"throats of the {end}" if len(throats) > 1 else f"throat of the {end}",
        Verdict.GO,
        area,
        Unit.AREA,
        None,
        None,
        inf,
        Place(end, (first.x, first.y), feature=first.name),
        Sentence("area of the throats, for comparison with the opening; they are the machine's"),
        Sentence.of(f"sum of π d² / 4 over the diameters {terms}", **lengths),
    )
