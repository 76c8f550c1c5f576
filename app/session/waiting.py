"""Edits that wait for a slow model, and what is computed of them beside the window."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

if TYPE_CHECKING:
    from collections.abc import Sequence

    from core.evaluate import Result
    from core.part.project import Project


class Waiting(Struct, frozen=True):
    """An edit that is not made yet, as `Session.edit` was asked for it."""

    text: str
    project: Project
    merge_key: int
    path: str


class Computed(Struct, frozen=True, eq=False):
    """The newest of some edits with its result, and those of the others that are possible."""

    possible: list[Waiting]
    newest: Waiting
    result: Result
    seconds: float


def steps_of(queue: Sequence[Waiting]) -> list[Waiting]:
    """The edits that will be steps of their own: the last one of each run with one key."""
    return [
        waiting
        for waiting, following in zip(queue, [*queue[1:], None], strict=True)
        if following is None or waiting.merge_key == -1 or waiting.merge_key != following.merge_key
    ]
