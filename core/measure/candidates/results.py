"""What a comparison of candidates answers. Lengths in mm."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from msgspec import Struct

from core.words.verdicts import Sentence, Verdict

if TYPE_CHECKING:
    from core.fit.gaps import GapProfile
    from core.geometry.lines.outline import Outline
    from core.part.insert import Insert, Pressed
    from core.part.project import Project
    from core.resize.resize import Conflict
    from core.words.errors import UserError
    from core.words.verdicts import Finding

CHECKS_SHOWN: Final = ("gap", "bearing", "squeeze", "fill", "open area", "stud")
"""Keys of the checks whose worst answer stands beside each candidate, in the order of the job."""


_UNPLACED: Final = Sentence("")


class Move(Struct, frozen=True):
    """One quantity of a curve or feature that changes.

    Attributes:
        name: of the curve or feature, with its piece.
        by: how far [mm]; of a curve the greatest normal distance, below 0 inward.
        how: the same in words, with a field ``{move_by}`` for the size, and ``{move_was}`` and ``{move_now}`` where
            there are both.
    """

    name: str
    by: float
    how: Sentence


class Rework(Struct, frozen=True, eq=False):
    """Castings from the shelf, machined out for a candidate.

    Attributes:
        verdict: no-go when they can't be.
        wall: thinnest wall between seat and outside that is left [mm]; None when the sizes make no seat.
        thinnest: the check of the thinnest metal of all; None as above.
        says: the same in words, with the reason.
    """

    verdict: Verdict
    wall: float | None
    thinnest: Finding | None
    says: Sentence

    @property
    def is_possible(self) -> bool:
        """Whether the castings can be used."""
        return self.verdict is not Verdict.NO_GO


class Settling(Struct, frozen=True, eq=False):
    """A yielding candidate in the seats as they are, nothing machined.

    Attributes:
        verdict: the worse of gap and squeeze.
        gap: the mean gap, (seat length - rim length) / 2 pi, of the wall where it is worst [mm].
        squeeze: with the seat depths as built; None where there is no lid.
        says: the same in words, with what it assumes.
    """

    verdict: Verdict
    gap: float
    squeeze: Finding | None
    says: Sentence


class PressedOne(Struct, frozen=True, eq=False):
    """A yielding candidate pressed to the old insert's shape.

    Attributes:
        pressed: what it is pressed to.
        growth: how far its oval then lies outside the old one, all round [mm]; below 0 inside.
        verdict: as a new pattern.
        greatest: the greatest move; None when nothing moves.
        says: the same in words.
    """

    pressed: Pressed
    growth: float
    verdict: Verdict
    greatest: Move | None
    says: Sentence


class Candidate(Struct, frozen=True, eq=False):
    """What one candidate would mean.

    Attributes:
        insert: the candidate.
        index: its place among those that were compared.
        verdict: as a new pattern; no-go for an impossible one.
        conflicts: what stands in the way, once for each feature of each piece.
        greatest: the greatest move; None when nothing moves.
        moving: names of the curves and features that move or change.
        checks: the worst finding of each of `CHECKS_SHOWN`, where the housing has it.
        rework, settling, pressed: see there; None where it does not apply.
        rims: outer and inner outline of its base rim; None for an impossible one.
        outgrown: how far its rim reaches past the old one, station by station; None as above.
        error: why it is impossible.
        reasons: what stands for and against it.
        because: why it is ranked where it is.
    """

    insert: Insert
    index: int
    verdict: Verdict
    conflicts: tuple[Conflict, ...] = ()
    greatest: Move | None = None
    moving: tuple[str, ...] = ()
    checks: tuple[Finding, ...] = ()
    rework: Rework | None = None
    settling: Settling | None = None
    pressed: PressedOne | None = None
    rims: tuple[Outline, Outline] | None = None
    outgrown: GapProfile | None = None
    error: UserError | None = None
    reasons: tuple[Sentence, ...] = ()
    because: Sentence = _UNPLACED

    def check(self, key: str) -> Finding | None:
        """The worst finding of one check."""
        return next((f for f in self.checks if f.check == key), None)

    @property
    def rank_key(self) -> tuple[bool, int, int, bool, float]:
        """Possible ones first, then verdict, conflicts, rework, greatest move."""
        return (
            self.error is not None,
            self.verdict.rank,
            len(self.conflicts),
            self.rework is None or not self.rework.is_possible,
            0.0 if self.greatest is None else abs(self.greatest.by),
        )


class Comparison(Struct, frozen=True, eq=False):
    """All candidates, the best first.

    Attributes:
        project: that they were compared for.
        ranked: best first, impossible ones last.
        old_rims: outer and inner outline of the old insert's base rim.
    """

    project: Project
    ranked: tuple[Candidate, ...]
    old_rims: tuple[Outline, Outline]
