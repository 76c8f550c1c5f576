"""Each feature and stud where it goes when the curves that it follows change; what can't go anywhere stays, by name."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias, TypeVar, assert_never

from msgspec.structs import replace

from core.part.housing import (
    ALLOWED_FOLLOWS,
    Badge,
    Band,
    Crossbar,
    Feature,
    Follows,
    HeldCurve,
    Hole,
    Lug,
    Pocket,
    Rib,
    Stud,
)
from core.resize.follow import follow_offset, follow_point
from core.words.verdicts import Place, Sentence, plain

if TYPE_CHECKING:
    from core.metal.curves import Curves
    from core.resize.follow import Followed
    from core.words.ends import End

Stuck: TypeAlias = tuple[str, Sentence, Place]
"""A feature that can't follow: its name, why and what to do, and where."""

_P = TypeVar("_P", bound="Hole | Lug | Badge | Stud")
_CURVE_WORDS = {Follows.SEAT: "the seat's outer wall", Follows.OUTSIDE: "the outside"}
_LET_WORDS = {
    Follows.MACHINE: "stay with the machine",
    Follows.SPREAD: "follow the spread",
    Follows.CENTRE: "stay at the centre",
    Follows.SEAT: "follow the seat",
    Follows.OUTSIDE: "follow the outside",
}


def followed_features(
    features: tuple[Feature, ...],
    end: End,
    before: Curves,
    after: Curves,
    pocket: HeldCurve,
    outside: HeldCurve,
) -> tuple[tuple[Feature, ...], list[Stuck]]:
    """The features of a piece where they go when its curves change from ``before`` to ``after``.

    Args:
        features: as they stand now.
        end: the piece.
        before: its curves as they were.
        after: its curves now.
        pocket: the seat's inner wall as it was.
        outside: the outside as it was.
    """
    moved: list[Feature] = []
    stuck: list[Stuck] = []
    for i, feature in enumerate(features):
        path = f"housing.{end}.features[{i}].follows"
        if isinstance(feature, Crossbar | Rib):
            went = follow_offset(feature.offset, feature.angle, feature.follows, before, after)
            offset = went.value[0]
            moved.append(feature if offset == feature.offset else replace(feature, offset=offset))
            if not went.is_found:
                stuck.append(_stuck_strip(feature, went, Place(end, feature=feature.name, path=path)))
        elif isinstance(feature, Pocket):
            holds = feature.follows is Follows.MACHINE and feature.held is None
            moved.append(replace(feature, held=pocket.inward(feature.inset)) if holds else feature)
        elif isinstance(feature, Band):
            holds = feature.follows is Follows.MACHINE and feature.held is None
            moved.append(replace(feature, held=outside.inward(feature.inset)) if holds else feature)
        elif isinstance(feature, Hole | Lug | Badge):
            moved.append(followed_place(feature, end, path, before, after, stuck))
        else:
            assert_never(feature)
    return tuple(moved), stuck


def followed_place(one: _P, end: End, path: str, before: Curves, after: Curves, stuck: list[Stuck]) -> _P:
    """What has one place, there where it goes; ``stuck`` is told of what can't go anywhere."""
    at = (one.x, one.y)
    went = follow_point(at, one.follows, before, after)
    if not went.is_found:
        stuck.append(_stuck_place(one, went, Place(end, at, feature=one.name, path=path)))
    return one if went.value == at else replace(one, x=went.value[0], y=went.value[1])


def _stuck_place(one: Hole | Lug | Badge | Stud, went: Followed, place: Place) -> Stuck:
    curve = _CURVE_WORDS[one.follows]
    what = Sentence.of(
        f"{plain(one.name)} can't follow {curve}: {{far}} {'inside' if went.distance < 0.0 else 'outside'} it no one "
        "place lies square on the new one, for it is past a centre of curvature, beyond a corner or midway between two "
        f"sides; it stays where it was: put it nearer to {curve}, or let it {_others(one)}",
        far=abs(went.distance),
    )
    return one.name, what, place


def _stuck_strip(strip: Crossbar | Rib, went: Followed, place: Place) -> Stuck:
    what = Sentence.of(
        f"{plain(strip.name)} can't follow {_CURVE_WORDS[strip.follows]}: it lies {{offset}} from the centre and would "
        f"be drawn {{past}} past it, to the other side; it stays where it was: put it further out, or let it "
        f"{_others(strip)}",
        offset=abs(strip.offset),
        past=abs(went.distance),
    )
    return strip.name, what, place


def _others(one: Hole | Lug | Badge | Stud | Crossbar | Rib) -> str:
    """What else it may hold on to, that always tells where."""
    kind = str(one.__struct_config__.tag or "stud")
    return " or ".join(_LET_WORDS[f] for f in ALLOWED_FOLLOWS[kind] if f not in _CURVE_WORDS)
