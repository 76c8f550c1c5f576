"""What a plan points out: findings that are not go, conflicts, and the thinnest metal, each at its place."""

from __future__ import annotations

from textwrap import wrap
from typing import TYPE_CHECKING, Final

from msgspec import Struct

from core.resize.gathered import gathered
from core.words.verdicts import Verdict

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from core.evaluate import Result
    from core.geometry.lines.outline import Outline, Point
    from core.words.ends import End
    from core.words.verdicts import Finding, Place

THINNEST: Final = "web"
"""Key of the check whose places are measured in the drawing."""
_NOTE_WIDTH: Final = 46
_SAME_MM: Final = 0.5


class Mark(Struct, frozen=True):
    """A place of the plan with a verdict's shape on it.

    Attributes:
        at: where [mm].
        label: a word beside it; empty when the shape is enough.
        note: the lines that are read when the pointer rests on it.
        place: to go to.
        is_conflict: whether something can't follow, which is said in words at once.
    """

    at: Point
    verdict: Verdict
    label: str
    note: tuple[str, ...]
    place: Place
    is_conflict: bool = False


class Thinnest(Struct, frozen=True):
    """The thinnest metal: both its ends [mm], its width [mm] and its verdict."""

    a: Point
    b: Point
    width: float
    verdict: Verdict
    place: Place


def plan_marks(result: Result, end: End, show: Callable[[float], str]) -> tuple[Mark, ...]:
    """Marks of one piece, conflicts last so that they lie on top; places that coincide share the worst mark.

    Args:
        result: what was found.
        end: which piece.
        show: shows a length with its unit.
    """
    found: list[Mark] = []
    judged = [f for f in result.findings if f.verdict is not Verdict.GO and f.place.end in (None, end)]
    for finding in sorted(judged, key=lambda f: -f.verdict.rank):
        at = whereabouts(finding.place)
        if at is None:
            continue
        note = (finding.name, *wrap(finding.advice.show(show), _NOTE_WIDTH))
        twin = next((i for i, m in enumerate(found) if _is_near(m.at, at)), None)
        if twin is None:
            found.append(Mark(at, finding.verdict, "", note, finding.place))
        else:
            first = found[twin]
            found[twin] = Mark(first.at, first.verdict, "", (*first.note, *note), first.place)
    return (*found, *_conflicts(result, end, show))


def _conflicts(result: Result, end: End, show: Callable[[float], str]) -> Iterator[Mark]:
    for conflict in gathered(result.conflicts):
        at = whereabouts(conflict.place) if conflict.place.end in (None, end) else None
        if at is not None:
            note = (conflict.feature, *wrap(conflict.what.show(show), _NOTE_WIDTH))
            yield Mark(at, Verdict.NO_GO, conflict.feature, note, conflict.place, is_conflict=True)


def thinnest(result: Result, end: End) -> Thinnest | None:
    """The thinnest metal of one piece that is too thin, or nearly, when the checks give it two ends."""
    every = [f for f in result.findings if f.check == THINNEST and f.place.end is end and f.verdict is not Verdict.GO]
    webs = [web for web in map(_web, every) if web is not None]
    return min(webs, key=lambda web: web.width, default=None)


def _web(finding: Finding) -> Thinnest | None:
    a, b = finding.place.point, finding.place.other
    return None if a is None or b is None else Thinnest(a, b, finding.value, finding.verdict, finding.place)


def whereabouts(place: Place) -> Point | None:
    """One point of a place: its own, or the +X side of its outline."""
    if place.point is not None:
        return place.point
    return None if place.outline is None else _on(place.outline)


def _on(outline: Outline) -> Point:
    x, y = outline.points_at([outline.axis_station])[0].tolist()
    return x, y


def _is_near(a: Point, b: Point) -> bool:
    return abs(a[0] - b[0]) < _SAME_MM and abs(a[1] - b[1]) < _SAME_MM
