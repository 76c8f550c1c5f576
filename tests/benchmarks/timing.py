"""Work and yardstick, timed turn about, so that the ratio holds on any machine and under any load."""

from __future__ import annotations

from dataclasses import dataclass
from statistics import median
from time import process_time
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable


_WARM_UP = 2


@dataclass(frozen=True)
class Ratio:
    """Medians of work and yardstick [s]."""

    name: str
    work: float
    yardstick: float
    yardstick_name: str

    def line(self) -> str:
        """One row of the table."""
        ratio = self.work / self.yardstick
        return f"{self.name:<46} {self.work * 1e3:9.2f} ms  {ratio:8.2f} x {self.yardstick_name}"


_VALUES = np.arange(40_000, dtype=np.float64)
_ROOM = np.empty_like(_VALUES)


def plain_work() -> float:
    """The common yardstick, some 2 ms: half interpreter, half numpy, as the program's own work is.

    Its arrays are there before it begins: the memory of new ones is fresh pages in one process and not in the next.
    """
    total = 0.0
    for i in range(20_000):
        total += (i % 7) * 0.5
    for _ in range(10):
        np.multiply(_VALUES, _VALUES, out=_ROOM)
        np.add(_ROOM, 1.0, out=_ROOM)
        np.sqrt(_ROOM, out=_ROOM)
        total += float(_ROOM.sum())
    return total


def compare(
    name: str,
    work: Callable[[int], object],
    *,
    rounds: int,
    between: Callable[[], object] = lambda: None,
    yardstick: Callable[[], object] = plain_work,
    yardstick_name: str = "plain work",
    clock: Callable[[], float] = process_time,
) -> Ratio:
    """Medians over ``rounds`` of ``work(round)`` and the yardstick, turn about, after two rounds to warm up.

    The processor's time of this process counts, all threads together, so that what else the machine does does not.
    What work leaves to be done later is done in ``between``, untimed.
    """
    works: list[float] = []
    yardsticks: list[float] = []
    for i in range(-_WARM_UP, rounds):
        start = clock()
        work(i)
        works.append(clock() - start)
        between()
        start = clock()
        yardstick()
        yardsticks.append(clock() - start)
    return Ratio(name, median(works[_WARM_UP:]), median(yardsticks[_WARM_UP:]), yardstick_name)
