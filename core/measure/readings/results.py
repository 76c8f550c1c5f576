"""What a study of readings answers. Lengths in mm, angles in degrees, one row number each as in the table."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING

from msgspec import Struct

if TYPE_CHECKING:
    from core.geometry.ovals.ovals import Family, Oval
    from core.part.readings import Reading, SizeName
    from core.words.verdicts import Sentence


class Estimate(Struct, frozen=True):
    """A value with its uncertainty, and what the next one bought will measure.

    Attributes:
        value: the best value.
        standard: its standard uncertainty, spread and instrument together; of a single sample that no class stands in
            for only the instrument's.
        expanded: half width of its own 95 % interval: Student's t at ``freedom`` times ``standard``, and never less
            than the spread alone makes it. Infinite where a single sample says nothing of it.
        freedom: effective degrees of freedom (Welch-Satterthwaite); infinite where nothing was estimated.
        next_low, next_high: between them the next one bought lies in 95 of 100 cases; None where that is not known.
        is_stand_in: that is a rubber class's doing, because there are fewer than three samples.
        count: number of samples behind it.
    """

    value: float
    standard: float
    expanded: float
    freedom: float
    next_low: float | None
    next_high: float | None
    is_stand_in: bool
    count: int

    @property
    def next_one(self) -> float | None:
        """The ± of the next one bought: half width of its interval; None where it is not known."""
        return None if self.next_high is None else self.next_high - self.value


class RowStudy(Struct, frozen=True):
    """One row of the table: mean and spread over its samples, as read (not corrected for tape or turns).

    Attributes:
        row: its number.
        mean: None when nothing was read.
        deviation: standard deviation between samples; None for fewer than two.
        estimate: of the quantity that the row stands for (tape and turns taken out, corner gap and end height turned
            into a radius only where the reading alone says it); None when nothing was read or a needed figure lacks.
        lacks: which field of the row is missing, as ``"angle"``; empty when none.
    """

    row: int
    mean: float | None
    deviation: float | None
    estimate: Estimate | None
    lacks: str = ""


class Outlier(Struct, frozen=True):
    """A reading that stands out. It is pointed out, and counts all the same until the user takes it away."""

    row: int
    sample: int
    value: float
    others: float
    reason: Sentence


class Residual(Struct, frozen=True):
    """How far a row's mean lies from what an oval would read there: read - predicted [mm]."""

    row: int
    predicted: float
    off: float
    standard: float


class ShapeFit(Struct, frozen=True):
    """One family laid through all readings of the oval by weighted least squares.

    Attributes:
        sizes: estimates of the family's own sizes (length, width, end_radius, exponent), also of the end radius that
            follows from length and width.
        residuals: of every oval row that was read.
        worst: greatest absolute residual [mm].
        misfit: sum of squared residuals over their variances (chi squared).
        freedom: readings less sizes.
        criterion: Akaike's, misfit + 2 k (corrected for few readings where it can be); smaller is better. Where the
            variances come from few samples, the misfit in it is the chi squared of the same rarity.
        is_possible: the misfit is no greater than chance allows (99 %).
    """

    family: Family
    oval: Oval
    sizes: tuple[tuple[SizeName, Estimate], ...]
    residuals: tuple[Residual, ...]
    worst: float
    misfit: float
    freedom: int
    criterion: float
    is_possible: bool


class Decision(StrEnum):
    """What the readings say of the family."""

    DECIDED = "decided"
    UNDECIDED = "undecided"
    NONE_FITS = "none fits"
    TOO_FEW = "too few readings"


class NextReading(Struct, frozen=True):
    """A further reading that would separate the two best families, and what each would read there [mm]."""

    reading: Reading
    best: float
    second: float
    words: Sentence


class Ranking(Struct, frozen=True):
    """All families that could be fitted, the best first."""

    decision: Decision
    fits: tuple[ShapeFit, ...]
    sentence: Sentence
    next: NextReading | None

    @property
    def best(self) -> ShapeFit | None:
        """The best fit, if any could be made."""
        return self.fits[0] if self.fits else None

    def of(self, family: Family) -> ShapeFit | None:
        """The fit of one family."""
        return next((fit for fit in self.fits if fit.family is family), None)


class Study(Struct, frozen=True):
    """Everything that follows from the readings of one insert.

    Attributes:
        rows: one a row of the table.
        sizes: the sizes that the readings give the insert of the family it has now, each with how it was found.
        developed: developed length of the oval, from tape and rolling alone; None when neither was read [mm].
    """

    rows: tuple[RowStudy, ...]
    outliers: tuple[Outlier, ...]
    ranking: Ranking
    sizes: tuple[tuple[SizeName, Estimate, str], ...]
    developed: Estimate | None

    def size(self, name: SizeName) -> Estimate | None:
        """The estimate of one size."""
        return next((estimate for own, estimate, _ in self.sizes if own is name), None)
