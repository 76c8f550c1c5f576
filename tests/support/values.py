"""Every number of a project by its path, and values for it that nobody would type on purpose."""

from __future__ import annotations

from typing import TYPE_CHECKING

import msgspec

from core.edits import field_at
from core.part.fields import FieldKind
from core.part.schema import Value

if TYPE_CHECKING:
    from collections.abc import Iterator
    from random import Random

    from core.part.project import Project

NUMBERS = frozenset({FieldKind.LENGTH, FieldKind.PERCENT, FieldKind.DEGREES, FieldKind.NUMBER})

WILD = (
    0.0,
    -0.0,
    5e-324,
    1e-300,
    1e-15,
    1e-9,
    1e-7,
    1e-6,
    1e-4,
    0.01,
    0.1,
    0.3,
    1.0,
    3.0,
    10.0,
    40.0,
    120.0,
    420.0,
    500.0,
    1999.0,
    2000.0,
    2000.1,
    1e9,
    1e308,
    -1e-9,
    -0.1,
    -1.0,
    -25.0,
    -300.0,
    -2000.0,
    -1e308,
    float("nan"),
    float("inf"),
    float("-inf"),
)
"""None, hardly any, too much, the other way round, and no numbers at all."""

NEARLY = (0.0, 1e-12, 1e-9, 1e-7, 3e-7, 1e-6, 3e-6, 1e-5, 1e-3, -1e-12, -1e-9, -1e-7, -3e-7, -1e-6, -3e-6, -1e-5, -1e-3)
"""What a value that should be another one's equal may miss it by."""


def numbers_of(project: Project) -> list[tuple[str, float]]:
    """Path and value of every number that is set in the old and new insert, the housing, the choices and the limits."""
    found: list[tuple[str, float]] = []
    for name in ("old_insert", "new_insert", "housing", "choices", "limits"):
        found += _numbers(getattr(project, name), name)
    return found


def empty_numbers(project: Project) -> list[str]:
    """Paths of the numbers that are not set and may be."""
    paths = [f"choices.{name}" for name in msgspec.structs.asdict(project.choices)]
    paths += [f"limits.{name}" for name in msgspec.structs.asdict(project.limits)]
    return [path for path in paths if field_at(project, path).kind in NUMBERS]


def _numbers(value: object, path: str) -> Iterator[tuple[str, float]]:
    if isinstance(value, float):
        yield path, value
    elif isinstance(value, Value):
        for name in value.__struct_fields__:
            yield from _numbers(getattr(value, name), f"{path}.{name}")
    elif isinstance(value, tuple):
        for i, item in enumerate(value):
            yield from _numbers(item, f"{path}[{i}]")


def wild_value(rng: Random, numbers: list[tuple[str, float]], was: float) -> float:
    """A value for a number: wild, or another number's equal, or nearly, or a little beside what it was."""
    kind = rng.randrange(4)
    if kind == 0:
        return rng.choice(WILD)
    if kind == 1:
        return rng.choice(numbers)[1] + rng.choice(NEARLY)
    if kind == 2:
        return was + rng.choice(NEARLY)
    return was * rng.choice([0.0, 0.1, 0.5, 2.0, 5.0, -1.0]) + rng.choice(NEARLY)
