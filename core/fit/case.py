"""What a check is given to judge."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

if TYPE_CHECKING:
    from core.fit.gaps import GapProfile
    from core.metal.slabs import Resolved
    from core.part.housing import Housing
    from core.part.insert import Insert
    from core.part.project import Limits, Project
    from core.words.ends import End, Side


class Case(Struct, frozen=True, eq=False):
    """The housing before and after, and the gaps of the new insert in it.

    Every check is a function ``check(case: Case) -> tuple[Finding, ...]`` in a module of its own.
    """

    project: Project
    before: Resolved
    after: Resolved
    gaps: tuple[GapProfile, ...]

    @property
    def limits(self) -> Limits:
        """The user's limits."""
        return self.project.limits

    @property
    def housing(self) -> Housing:
        """The housing after resizing."""
        return self.after.housing

    @property
    def insert(self) -> Insert:
        """The new insert."""
        return self.project.new_insert

    def gap(self, end: End, side: Side) -> GapProfile:
        """The gap at one wall of one piece.

        Raises:
            StopIteration: there is no such piece.
        """
        return next(g for g in self.gaps if g.end is end and g.side is side)
