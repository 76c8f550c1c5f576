"""Conflicts as they are listed: what stands in one feature's way is one of them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace

from core.words.verdicts import Sentence

if TYPE_CHECKING:
    from collections.abc import Iterable

    from core.resize.resize import Conflict


def gathered(conflicts: Iterable[Conflict]) -> tuple[Conflict, ...]:
    """One conflict for each feature of each piece, in the order of the first of each.

    What is in the way comes first, then what to do, each said once; a feature's name that a text begins with is left
    out, since it stands beside it.
    """
    groups: dict[tuple[object, str], list[Conflict]] = {}
    for conflict in conflicts:
        groups.setdefault((conflict.place.end, conflict.feature), []).append(conflict)
    return tuple(replace(group[0], what=_joined(group)) for group in groups.values())


def _joined(group: list[Conflict]) -> Sentence:
    reasons: list[str] = []
    remedies: list[str] = []
    lengths: list[tuple[str, float]] = []
    for i, conflict in enumerate(group):
        text = conflict.what.text.removeprefix(f"{conflict.feature}: ")
        for name, value in conflict.what.lengths:  # one text's names may be another's as well
            text = text.replace(f"{{{name}}}", f"{{{name}_{i}}}")
            lengths.append((f"{name}_{i}", value))
        reason, _, remedy = text.partition("; ")
        reasons.append(reason)
        remedies.append(remedy)
    # The longest way out names all that the shorter ones do.
    remedy = max(remedies, key=len)
    return Sentence("; ".join(dict.fromkeys([*reasons, *([remedy] if remedy else [])])), tuple(lengths))
