"""Changes as they are listed: by feature and reason, what is the same in base and lid once, what is mirrored once."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from core.resize.changes import Change
    from core.words.ends import End

_SAME_MM = 1e-9
_SEAT = "seat "


class ChangeLine(Struct, frozen=True):
    """One quantity of one or more features.

    Attributes:
        label: of the quantity in its group.
        is_mirrored: whether was, now and by stand for both signs.
        changes: all that it tells, at least one; alike but for their place and sign.
    """

    label: str
    is_mirrored: bool
    changes: tuple[Change, ...]

    @property
    def first(self) -> Change:
        """The one whose figures are shown."""
        return self.changes[0]


class ChangeGroup(Struct, frozen=True):
    """The quantities of a feature, or of several, that followed one rule.

    Attributes:
        title: the feature; empty where several share a rule, and the lines name them.
        why: the rule.
        where: ``both``, ``base``, ``lid``, or empty for what belongs to no piece.
    """

    title: str
    why: str
    where: str
    lines: tuple[ChangeLine, ...]


def by_feature(changes: Iterable[Change]) -> tuple[ChangeGroup, ...]:
    """Changes in groups, in the order of the first of each."""
    groups: dict[tuple[str, frozenset[End]], list[list[Change]]] = {}
    for alike in _alike(changes):
        ends = frozenset(change.end for change in alike if change.end is not None)
        groups.setdefault((alike[0].why, ends), []).append(alike)
    return tuple(_group(why, ends, lines) for (why, ends), lines in groups.items())


def _alike(changes: Iterable[Change]) -> list[list[Change]]:
    """Those of one rule and quantity with the same figures but for the sign, and of a seat's walls each by itself."""
    found: dict[tuple[object, ...], list[Change]] = {}
    for change in changes:
        is_seat = change.feature.startswith(_SEAT) or change.feature in ("outside", "opening")
        figures = tuple(None if v is None else round(abs(v) / _SAME_MM) for v in (change.was, change.now, change.by))
        key = (change.why, change.quantity, figures, change.feature if is_seat else "", change.is_change)
        found.setdefault(key, []).append(change)
    return list(found.values())


def _group(why: str, ends: frozenset[End], alike: Sequence[Sequence[Change]]) -> ChangeGroup:
    subjects = {_subject(change) for line in alike for change in line}
    title = next(iter(subjects)) if len(subjects) == 1 else ""
    where = "both" if len(ends) > 1 else "".join(ends)
    return ChangeGroup(title, why, where, tuple(_line(line, title) for line in alike))


def _line(alike: Sequence[Change], title: str) -> ChangeLine:
    first = alike[0]
    quantity = "" if first.quantity == "size" else first.quantity
    if title:
        label = f"{first.feature.removeprefix(_SEAT)} {quantity}" if first.feature != title else quantity or title
    else:
        names = list(dict.fromkeys(change.feature for change in alike))
        more = f" +{len(names) - 1}" if len(names) > 1 else ""
        label = f"{names[0]}{more}{', ' if quantity else ''}{quantity}"
    signs = {(change.by > 0.0) for change in alike if abs(change.by) > _SAME_MM}
    return ChangeLine(label, len(signs) > 1, tuple(alike))


def _subject(change: Change) -> str:
    return "seat" if change.feature.startswith(_SEAT) else change.feature
