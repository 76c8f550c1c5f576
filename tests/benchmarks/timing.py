"""Work and yardstick, timed turn about, so that the ratio holds on any machine and under any load."""

from __future__ import annotations

from dataclasses import dataclass
from statistics import median
from time import perf_counter
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable


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


def plain_work() -> float:
    """The common yardstick, some 4 ms: half interpreter, half numpy, as the program's own work is."""
    total = 0.0
    for i in range(20_000):
        total += (i % 7) * 0.5
    values = np.arange(40_000, dtype=np.float64)
    for _ in range(10):
        total += float(np.sqrt(values * values + 1.0).sum())
    return total


def compare(
    name: str,
    work: Callable[[int], object],
    *,
    rounds: int,
    yardstick: Callable[[], object] = plain_work,
    yardstick_name: str = "plain work",
) -> Ratio:
    """Medians over ``rounds`` of ``work(round)`` and the yardstick, after one round to warm up."""
    work(-1)
    yardstick()
    works: list[float] = []
    yardsticks: list[float] = []
    for i in range(rounds):
        start = perf_counter()
        work(i)
        middle = perf_counter()
        yardstick()
        works.append(middle - start)
        yardsticks.append(perf_counter() - middle)
    return Ratio(name, median(works), median(yardsticks), yardstick_name)
