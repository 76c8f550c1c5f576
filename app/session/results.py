"""The newest results by project, and how long such results take."""

from __future__ import annotations

from collections import OrderedDict, deque
from time import perf_counter
from typing import TYPE_CHECKING, Final

from core.evaluate import evaluate

if TYPE_CHECKING:
    from core.evaluate import Result
    from core.part.project import Project

SLOW_S: Final = 0.06
"""A model that takes longer than this is computed beside the window, so that typing never waits."""
_KEPT: Final = 12


class Results:
    """A few results, so that undo and redo need not compute.

    Attributes:
        seconds: that the last few took.
    """

    def __init__(self) -> None:
        self._kept: OrderedDict[Project, Result] = OrderedDict()
        self.seconds: deque[float] = deque(maxlen=3)
        self._evaluating_s = 0.0

    @property
    def is_slow(self) -> bool:
        """Whether a result takes too long to wait for."""
        # The quickest of the last few: one hiccup of the machine must not send every edit to the background.
        return bool(self.seconds) and min(self.seconds) > SLOW_S

    def __contains__(self, project: Project) -> bool:
        return project in self._kept

    def of(self, project: Project) -> Result:
        """The result of a project, as it is kept or else computed.

        Raises:
            UserError: its sizes make no housing.
        """
        found = self._kept.get(project)
        if found is not None:
            self._kept.move_to_end(project)
            return found
        start = perf_counter()
        result = evaluate(project)
        self._evaluating_s = perf_counter() - start
        return self.keep(project, result)

    def keep(self, project: Project, result: Result) -> Result:
        """Keep a result, in place of the oldest."""
        self._kept[project] = result
        while len(self._kept) > _KEPT:
            self._kept.popitem(last=False)
        return result

    def judge(self, result: Result) -> None:
        """Find the verdicts of a result that has none yet."""
        if not result.is_judged:
            start = perf_counter()
            result.judge()
            self.seconds.append(self._evaluating_s + perf_counter() - start)

    def clear(self) -> None:
        """Forget the results, but not how long they took."""
        self._kept.clear()
