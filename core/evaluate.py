"""The one way in: project to result. Everything that window, command line and files show comes from here."""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING

from core.fit.case import Case
from core.fit.checks import CHECKS
from core.fit.gaps import GapProfile, gap_profiles
from core.metal.slabs import Resolved, resolve
from core.part.check import check_project
from core.resize.changes import Change, changes
from core.resize.conflicts import conflicts
from core.resize.loose import loose_metal
from core.resize.resize import Conflict, Resized, resize
from core.words.errors import FoldsOverError
from core.words.verdicts import Finding, Verdict, worst

if TYPE_CHECKING:
    from collections.abc import Iterator

    from core.part.project import Project
    from core.words.ends import End, Side


@dataclass(frozen=True, eq=False)
class Result:
    """What follows from a project.

    Attributes:
        before: the housing as built, around the old insert.
        after: the housing resized around the new insert.
        changes: every quantity, changed or kept (see ``Change.is_change``).
        conflicts: what can't follow.
        gaps: the new insert in its new seats; ``gaps_before``: the new insert in the seats as built.
        findings: the answers of all checks.
        overall: the worst verdict; no-go when there is a conflict.
        is_remedied: whether the findings say what to do, see `core.remedies`.
    """

    project: Project
    before: Resolved
    after: Resolved
    changes: tuple[Change, ...]
    conflicts: tuple[Conflict, ...]
    gaps: tuple[GapProfile, ...]
    gaps_before: tuple[GapProfile, ...]
    findings: tuple[Finding, ...]
    overall: Verdict
    is_remedied: bool = False

    def gap(self, end: End, side: Side) -> GapProfile | None:
        """The gap of the new insert in one piece's new seat."""
        return next((g for g in self.gaps if g.end is end and g.side is side), None)


def evaluate(project: Project) -> Result:
    """Everything that follows from ``project``.

    Raises:
        UserError: sizes that make no insert or no seat; it names the project's path and the bound.
    """
    case, resized = case_of(project)
    found = conflicts_of(case, resized)
    findings = tuple(finding for check in CHECKS for finding in check(case))
    overall = Verdict.NO_GO if found else worst(f.verdict for f in findings)
    before, after = case.before, case.after
    return Result(
        project,
        before,
        after,
        changes(before, after, project.choices, frozenset(c.place.path for c in resized.conflicts)),
        found,
        case.gaps,
        gap_profiles(after, before),
        findings,
        overall,
    )


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
