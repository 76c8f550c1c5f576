"""The one way in: project to result. Everything that window, command line and files show comes from here.

Checks, conflicts and changes are imported when they are first asked for: the window's first frame needs none of them.
"""

from __future__ import annotations

from contextlib import contextmanager
from typing import TYPE_CHECKING, Generic, TypeVar, overload

from msgspec import Struct
from msgspec.structs import replace

from core.fit.case import Case
from core.fit.gaps import GapProfile, gap_profiles
from core.metal.slabs import Resolved, resolve
from core.part.check import check_project
from core.resize.resize import Conflict, Resized, resize
from core.words.errors import FoldsOverError
from core.words.verdicts import Finding, Verdict, worst

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from core.part.project import Project
    from core.resize.changes import Change
    from core.words.ends import End, Side

T = TypeVar("T")


class _Asked(Generic[T]):
    """A part of a result, computed when it is first asked for.

    Without a lock, unlike `functools.cached_property` before Python 3.12, whose lock is one for all results: asking for
    the shown result's verdicts would wait for a worker that computes another's. Two threads that ask at once both
    compute; both get the value that was there first.
    """

    def __init__(self, compute: Callable[[Result], T]) -> None:
        self._compute = compute
        self._name = compute.__name__
        self.__doc__ = compute.__doc__

    @overload
    def __get__(self, result: None, owner: type) -> _Asked[T]: ...
    @overload
    def __get__(self, result: Result, owner: type) -> T: ...
    def __get__(self, result: Result | None, owner: type) -> _Asked[T] | T:
        if result is None:
            return self
        # Kept under its own name, where Python looks before it comes here again.
        value: T = result.__dict__.setdefault(self._name, self._compute(result))
        return value


class Result(Struct, frozen=True, eq=False, dict=True):
    """What follows from a project: the metal at once, each of its other parts when it is first asked for.

    Attributes:
        case: the project, the housing before and after, and the gaps: what the checks are given.
        resized: what the resizing itself ran into.
        said: findings in place of what the checks answer, see `saying`.
        is_remedied: whether they say what to do, see `core.remedies`.
    """

    case: Case
    resized: Resized
    said: tuple[Finding, ...] | None = None
    is_remedied: bool = False

    @property
    def project(self) -> Project:
        """What it follows from."""
        return self.case.project

    @property
    def before(self) -> Resolved:
        """The housing as built, around the old insert."""
        return self.case.before

    @property
    def after(self) -> Resolved:
        """The housing resized around the new insert."""
        return self.case.after

    @property
    def gaps(self) -> tuple[GapProfile, ...]:
        """The new insert in its new seats."""
        return self.case.gaps

    @_Asked
    def gaps_before(self) -> tuple[GapProfile, ...]:
        """The new insert in the seats as built."""
        return gap_profiles(self.after, self.before)

    @_Asked
    def changes(self) -> tuple[Change, ...]:
        """Every quantity, changed or kept (see ``Change.is_change``)."""
        from core.resize.changes import changes  # noqa: PLC0415 - see the module's docstring

        stuck = frozenset(conflict.place.path for conflict in self.resized.conflicts)
        return changes(self.before, self.after, self.project.choices, stuck)

    @_Asked
    def conflicts(self) -> tuple[Conflict, ...]:
        """What can't follow."""
        return conflicts_of(self.case, self.resized)

    @_Asked
    def findings(self) -> tuple[Finding, ...]:
        """The answers of all checks."""
        if self.said is not None:
            return self.said
        from core.fit.checks import CHECKS  # noqa: PLC0415 - see the module's docstring

        return tuple(finding for check in CHECKS for finding in check(self.case))

    @property
    def overall(self) -> Verdict:
        """The worst verdict of all checks; no-go when there is a conflict."""
        return Verdict.NO_GO if self.conflicts else worst(finding.verdict for finding in self.findings)

    @property
    def is_judged(self) -> bool:
        """Whether conflicts and findings have been asked for, so that asking again takes no time."""
        return "conflicts" in self.__dict__ and "findings" in self.__dict__

    def judge(self) -> Result:
        """Itself, with conflicts and findings computed."""
        _ = self.conflicts, self.findings
        return self

    def settle(self) -> Result:
        """Itself, with every part computed: for a worker that must leave nothing to whoever shows the result."""
        _ = self.judge(), self.changes, self.gaps_before
        return self

    def saying(self, findings: tuple[Finding, ...], *, is_remedied: bool = True) -> Result:
        """The same with other advice in its findings, and with the parts that were asked for already."""
        made = replace(self, said=findings, is_remedied=is_remedied)
        known = {name: value for name, value in self.__dict__.items() if name != "findings"}
        made.__dict__.update(known | made.__dict__)
        return made

    def gap(self, end: End, side: Side) -> GapProfile | None:
        """The gap of the new insert in one piece's new seat."""
        return next((g for g in self.gaps if g.end is end and g.side is side), None)


def evaluate(project: Project) -> Result:
    """What follows from ``project``.

    Raises:
        UserError: sizes that make no insert or no seat; it names the project's path and the bound.
    """
    return Result(*case_of(project))


def case_of(project: Project) -> tuple[Case, Resized]:
    """What the checks are given, and what the resizing itself ran into.

    Raises:
        UserError: as `evaluate`.
    """
    check_project(project)
    with _placed("old_insert"):
        before = resolve(project.housing, project.old_insert)
    with _placed("new_insert"):
        resized = resize(project.housing, project.old_insert, project.new_insert, project.choices, project.limits)
        after = resolve(resized.housing, project.new_insert)
    return Case(project, before, after, gap_profiles(after, after)), resized


def conflicts_of(case: Case, resized: Resized) -> tuple[Conflict, ...]:
    """All that can't follow."""
    from core.resize.conflicts import conflicts  # noqa: PLC0415 - see the module's docstring
    from core.resize.loose import loose_metal  # noqa: PLC0415 - as above

    return resized.conflicts + conflicts(case.before, case.after) + loose_metal(case.after)


@contextmanager
def _placed(insert: str) -> Iterator[None]:
    """Names the insert's place in the project, which the curves built round it can't know."""
    try:
        yield
    except FoldsOverError as error:
        where = error.where.removeprefix("insert.")
        if where == error.where:
            raise
        raise FoldsOverError(f"{insert}.{where}", error.asked_mm, error.limit_mm) from error
