"""Thinnest metal in section: how high it stands under the seat, under pockets, in bars and lugs.

The limit is the greater of the user's least floor and the alloy's least castable section.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from core.fit.web import KEY, MOST_FINDINGS
from core.fit.words import enough, is_rework
from core.housing import Crossbar, Lug, Pocket
from core.verdicts import Finding, Place, Sentence, Unit, Verdict, judge, plain

if TYPE_CHECKING:
    from core.fit.case import Case
    from core.housing import Piece
    from core.insert_end import End
    from core.slabs import ResolvedPiece

_FLOOR = "seat floor"


def check(case: Case) -> tuple[Finding, ...]:
    """For each piece: the least height of its metal, and every further one below the limit."""
    findings: list[Finding] = []
    for resolved in case.after.pieces:
        piece = case.housing.piece(resolved.end)
        assert piece is not None
        findings += _in_section(case, resolved, piece)
    return tuple(findings)


@dataclass(frozen=True, slots=True)
class _Height:
    """How high metal is somewhere, and the field that says so."""

    height: float
    name: str
    feature: str
    path: str


def _heights(piece: Piece, end: End) -> list[_Height]:
    found = [_Height(piece.floor, "floor under the seat", _FLOOR, f"housing.{end}.floor")]
    for i, feature in enumerate(piece.features):
        path = f"housing.{end}.features[{i}]"
        if isinstance(feature, Pocket):
            found.append(_Height(feature.floor, f"floor under {feature.name}", feature.name, f"{path}.floor"))
        elif isinstance(feature, Crossbar | Lug):
            found.append(_Height(feature.height, f"height of {feature.name}", feature.name, f"{path}.height"))
    return sorted(found, key=lambda h: h.height)


def _in_section(case: Case, resolved: ResolvedPiece, piece: Piece) -> list[Finding]:
    limit = max(case.limits.floor_least, case.housing.metal.least_section)
    findings: list[Finding] = []
    for height in _heights(piece, resolved.end)[:MOST_FINDINGS]:
        if findings and height.height >= limit:
            break
        findings.append(_section(case, resolved, height, limit))
    return findings


def _section(case: Case, resolved: ResolvedPiece, height: _Height, limit: float) -> Finding:
    verdict, margin = judge(height.height, low=limit, high=None, marginal_percent=case.limits.marginal)
    text = f"{plain(height.name)} of the {resolved.end}: {{value}} of metal"
    target = limit * (1.0 + case.limits.marginal / 100.0 if verdict is Verdict.MARGINAL else 1.0)
    path = height.path
    if verdict is Verdict.GO:
        text += "; {limit} is wanted"
    else:
        text += "; {limit} wanted: " if verdict is Verdict.NO_GO else "; close to the {limit} wanted: "
        if is_rework(case):
            text += "let the squeeze take the height, or cast anew"
            path = "choices.height_to"
        else:
            text += "make it {short} thicker"
    outline = next((p.outline for p in resolved.parts if p.name == height.feature), resolved.curves.seat_outer)
    return Finding(
        KEY,
        f"{height.name}, {resolved.end}",
        verdict,
        height.height,
        Unit.LENGTH,
        limit,
        None,
        margin,
        Place(resolved.end, outline=outline, feature=height.feature, path=path),
        Sentence.of(text, value=height.height, limit=limit, short=enough(case, target - height.height)),
        Sentence.of(
            "height of the metal {value}; limit is the greater of {floor} asked for and {section} castable",
            value=height.height,
            floor=case.limits.floor_least,
            section=case.housing.metal.least_section,
        ),
    )
