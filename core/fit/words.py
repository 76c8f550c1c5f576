"""What the checks share: the words for a part of a piece, and which of the project's values changes it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from core.part.project import Hold, HoldInside, Mode
from core.words.lengths import shown_over
from core.words.verdicts import Verdict, plain

if TYPE_CHECKING:
    from collections.abc import Iterable

    from core.features.kind import Follows
    from core.fit.case import Case
    from core.geometry.lines.outline import Point
    from core.metal.order import Part
    from core.metal.slabs import ResolvedPiece
    from core.words.ends import End

_SAME_MM = 1e-6


def enough(case: Case, mm: float) -> float:
    """An amount to be made up, such that typing what is shown of it suffices [mm]; 0 when nothing is missing."""
    return max(shown_over(mm, case.project.style), 0.0)


def path_of(case: Case, part: Part, end: End, field: str = "") -> str:
    """The project's path of the value that moves a part of a piece, or of one ``field`` of its feature."""
    choices = case.project.choices
    if part.kind == "outside":
        return "choices.mode" if is_rework(case) else "choices.hold" if choices.hold is Hold.OUTSIDE else "choices.wall"
    if part.kind == "opening":
        return lip_path(case)
    if part.kind == "seat":
        return f"choices.{part.path.removeprefix('seat.')}"
    if part.kind == "old seat":
        return "choices.mode"
    owner = "housing" if part.path.startswith("studs") else f"housing.{end}"
    return f"{owner}.{part.path}" + (f".{field}" if field else "")


def follows_of(case: Case, part: Part, end: End) -> Follows | None:
    """What the feature or stud that a part belongs to holds on to; None for the curves of the piece."""
    owner, _, index = part.path.rstrip("]").partition("[")
    piece = case.housing.piece(end)
    if owner == "studs":
        return case.housing.studs[int(index)].follows
    return piece.features[int(index)].follows if owner == "features" and piece is not None else None


def lip_path(case: Case) -> str:
    """The project's path of the choice that decides the lip's width."""
    if is_rework(case):
        return "choices.mode"
    return "choices.hold_inside" if case.project.choices.hold_inside is HoldInside.OPENING else "choices.lip"


def parts_at(piece: ResolvedPiece, at: Point, among: Iterable[int]) -> list[Part]:
    """Of the parts with the numbers ``among``, those whose outlines pass a point nearest: several where they meet."""
    numbers = sorted(among)
    if len(numbers) > 1:
        segments, begin = piece.part_segments
        away = np.minimum.reduceat(segments.distances(np.array([at]))[0], begin)[numbers]
        numbers = [i for i, is_near in zip(numbers, away <= away.min() + _SAME_MM, strict=True) if is_near]
    return [piece.parts[i] for i in numbers]


def part_at(piece: ResolvedPiece, at: Point, among: Iterable[int]) -> Part:
    """Of the parts with the numbers ``among``, the one whose outline passes nearest to a point."""
    return parts_at(piece, at, among)[0]


def part_words(part: Part) -> str:
    """A part as a sentence speaks of its edge."""
    if part.kind == "seat":
        return f"the seat's {part.name.removeprefix('seat ')} wall"
    if part.kind in ("outside", "old seat"):
        return f"the {part.kind}"
    if part.kind == "opening":
        return "the opening's edge"
    return f"{plain(part.name)}'s edge"


def wanted_words(verdict: Verdict, limit: str = "limit") -> str:
    """How a sentence about a value with a least limit ends, that of the name ``limit`` in its lengths."""
    if verdict is Verdict.GO:
        return f"at least {{{limit}}} is wanted"
    return f"close to the {{{limit}}} wanted" if verdict is Verdict.MARGINAL else f"{{{limit}}} wanted"


def is_rework(case: Case) -> bool:
    """Whether castings from the shelf are machined out, so that metal can't be put back."""
    return case.project.choices.mode is Mode.REWORK


def at_best(finding: Verdict, bound: Verdict) -> Verdict:
    """The worse of two verdicts: ``finding``, but no better than ``bound``."""
    return max(finding, bound, key=lambda v: v.rank)
