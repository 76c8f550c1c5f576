"""An edit reaches what it was aimed at: paths count items of a list, and a waiting edit may have changed the list.

A path is told on the project that was seen; before it is used on a newer one its counts are put right. An item is known
again by its name, which no two items of a list share, or, without one, by its value and how many like it stand before.
"""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from core.edits import get_value
from core.words.errors import FileError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from core.part.project import Project

_COUNT: Final = re.compile(r"\[(\d+)\]")


def aimed(path: str, seen: Project, wanted: Project) -> str:
    """The path on a newer project that leads to what ``path`` leads to on the one that was seen.

    Args:
        path: on ``seen``.
        seen: what the user looked at.
        wanted: the newer one.

    Raises:
        UserError: what it leads to is not there any more.
    """
    if seen is wanted:
        return path
    made, begin = "", 0
    for match in _COUNT.finditer(path):
        before = path[begin : match.start()]
        items, others = get_value(seen, path[: match.start()]), get_value(wanted, made + before)
        if not isinstance(items, tuple) or not isinstance(others, tuple):
            return path
        index = counted_again(items, int(match[1]), others)
        if index is None:
            name = getattr(items[int(match[1])], "name", "") or "it"
            raise FileError(path, f"{name} has just been removed", hint="Undo brings it back.")
        made += f"{before}[{index}]"
        begin = match.end()
    return made + path[begin:]


def counted_again(items: Sequence[object], index: int, others: Sequence[object]) -> int | None:
    """Where the item at ``index`` stands among ``others``; None where it is gone.

    A list that differs in nothing but the item at its place has it there, changed.
    """
    if index >= len(items):
        return index
    item = items[index]
    name = getattr(item, "name", None)
    if name is not None:
        found = [i for i, other in enumerate(others) if getattr(other, "name", None) == name]
        nth = 0
    else:
        found = [i for i, other in enumerate(others) if other == item]
        nth = sum(other == item for other in items[:index])
    if len(found) > nth:
        return found[nth]
    is_changed = len(others) == len(items) and all(
        _is_same(a, b) for i, (a, b) in enumerate(zip(items, others, strict=True)) if i != index
    )
    return index if is_changed else None


def _is_same(a: object, b: object) -> bool:
    name = getattr(a, "name", None)
    return a == b if name is None else name == getattr(b, "name", None)
