"""Which family the readings speak for, said plainly, and what to read next where they don't say."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec.structs import replace

from core.measure.readings.next_reading import next_reading
from core.measure.readings.noise import UNKNOWN_MM, noise_of, noise_of_misfit
from core.measure.readings.results import Decision, Ranking
from core.measure.readings.shapes import MODELS, fit_model
from core.measure.readings.words import a_family, row_words
from core.words.verdicts import Sentence

if TYPE_CHECKING:
    from collections.abc import Sequence

    from core.geometry.ovals.ovals import Family
    from core.measure.readings.noise import Noise
    from core.measure.readings.quantities import OvalTable
    from core.measure.readings.results import ShapeFit
    from core.part.readings import Readings, RubberClass

RIVAL = 4.0
"""Families within this of the best one's criterion have support too (Burnham and Anderson's reading, from memory)."""

EARNED = 2.0
"""What a further size must better the criterion by: with its own 2, a misfit less by 4, one chance in twenty."""

_LEAST_READINGS = 3  # length and width never decide
# Of one sample that no class stands in for. With fewer, chance makes some family fit so well that others look
# impossible: with five, one soft oval in five was told wrong in simulations; with six, none.
_LEAST_OF_ONE = 6


def rank(readings: Readings, table: OvalTable) -> Ranking:
    """All families that the readings determine, the best first, and what follows.

    First come the families whose misfit chance allows and that were put to a test (more readings than sizes), then
    those that the readings determine but can't test, then the contradicted ones; each group by criterion. A special
    case comes before the family that contains it unless the further size has earned its place: what fits an obround is
    fitted by a rounded rectangle too, which says nothing against the obround.
    """
    if not table.quantities:
        return Ranking(Decision.TOO_FEW, (), Sentence.of("nothing was read of the oval yet"), None)
    known = noise_of(table, readings.rubber)
    noise = known or _noise_of_best(table)
    least = _LEAST_READINGS if known else _LEAST_OF_ONE
    fits = _ordered(_fitted(table, noise, readings.rubber), table)
    rivals = _rivals(fits)
    if not fits or len(table.quantities) < least or (fits[0].is_possible and fits[0].freedom == 0):
        following = next_reading(readings, table, noise, fits)
        return Ranking(Decision.TOO_FEW, fits, _too_few(table, fits, least, has_next=following is not None), following)
    if not fits[0].is_possible:
        return Ranking(Decision.NONE_FITS, fits, _none(readings, fits[0]), None)
    if rivals:
        following = next_reading(readings, table, noise, (fits[0], *rivals))
        return Ranking(Decision.UNDECIDED, fits, _undecided(fits[0], rivals), following)
    return Ranking(Decision.DECIDED, fits, _decided(readings, fits), None)


def _fitted(table: OvalTable, noise: Noise, rubber: RubberClass | None) -> list[ShapeFit]:
    return [fit for model in MODELS if (fit := fit_model(table, noise, model, rubber)) is not None]


def _noise_of_best(table: OvalTable) -> Noise:
    """The noise of readings that tell none themselves: what the family leaves that leaves least for its freedom."""
    fits = _fitted(table, noise_of_misfit(table, 0.0, 0), None)
    tested = [fit for fit in fits if fit.freedom > 0]
    # Of seven shapes the best fits better than a shape does that was settled before: its misfit is spread over no more
    # freedom than the shape with the most sizes leaves.
    least = min((fit.freedom for fit in tested), default=0)
    return noise_of_misfit(table, min((fit.misfit for fit in tested), default=0.0) * UNKNOWN_MM**2, least)


def _ordered(fits: list[ShapeFit], table: OvalTable) -> tuple[ShapeFit, ...]:
    fits = _corrected(fits, len(table.quantities))
    # The four-arc oval with the usual end radius and the one with a free one are the same family: the better stands.
    best: dict[Family, ShapeFit] = {}
    for fit in fits:
        other = best.get(fit.family)
        if other is None or (not fit.is_possible, fit.criterion) < (not other.is_possible, other.criterion):
            best[fit.family] = fit
    ordered = sorted(best.values(), key=lambda fit: (_group(fit), fit.criterion, fit.misfit))
    if ordered and _group(ordered[0]) == 0:
        first = ordered[0]
        for fit in ordered[1:]:
            is_as_good = _group(fit) == 0 and fit.criterion <= first.criterion + EARNED
            if is_as_good and ordered[0].family.kind.contains(fit.family.kind):
                ordered.remove(fit)
                ordered.insert(0, fit)
    return tuple(ordered)


def _group(fit: ShapeFit) -> int:
    return 2 if not fit.is_possible else 1 if fit.freedom == 0 else 0


def _corrected(fits: list[ShapeFit], readings: int) -> list[ShapeFit]:
    """The fits with the correction for few readings, 2k (k + 1) / (q - k - 1), where all of them can have it.

    Source: Hurvich and Tsai 1989. Corrected and uncorrected criteria can't be compared.
    """
    sizes = [readings - fit.freedom for fit in fits]
    if any(readings - k - 1 <= 0 for k in sizes):
        return fits
    return [
        replace(fit, criterion=fit.criterion + 2.0 * k * (k + 1) / (readings - k - 1))
        for fit, k in zip(fits, sizes, strict=True)
    ]


def _rivals(fits: Sequence[ShapeFit]) -> tuple[ShapeFit, ...]:
    """The other families that the readings support as well, those too that they determine but can't test."""
    if not fits:
        return ()
    least = min(fit.criterion for fit in fits if fit.is_possible == fits[0].is_possible)
    near = (fit for fit in fits[1:] if fit.is_possible and fit.criterion - least <= RIVAL)
    return tuple(fit for fit in near if not fit.family.kind.contains(fits[0].family.kind))


def _too_few(table: OvalTable, fits: Sequence[ShapeFit], least: int, *, has_next: bool) -> Sentence:
    count = len(table.quantities)
    what = "1 reading of the oval does" if count == 1 else f"{count} readings of the oval do"
    if count < _LEAST_READINGS:
        more = "" if has_next else ": read length, width and the jaws at 45°"
        return Sentence.of(f"{what} not tell the family{more}")
    if not fits:
        return Sentence.of(f"{what} not determine any family's sizes: read length and width as well")
    words = " or ".join(a_family(fit.family) for fit in fits if fit.is_possible)
    if fits[0].freedom > 0 and count < least:
        one = f"{count} readings of one sample do not tell the family"
        return Sentence.of(f"{one}: take {least} of it, or read three samples")
    return Sentence.of(f"{what} not tell the family: {words} would pass through all of them, so one more is needed")


def _none(readings: Readings, best: ShapeFit) -> Sentence:
    worst = max(best.residuals, key=lambda residual: abs(residual.off) / residual.standard)
    row = readings.rows[worst.row]
    return Sentence.of(
        f"no family fits: the nearest, {a_family(best.family)}, misses {row_words(row)} by {{by}}; read that again, or "
        "take the outline from a scan",
        at=row.along or 0.0,
        by=abs(worst.off),
    )


def _undecided(best: ShapeFit, rivals: Sequence[ShapeFit]) -> Sentence:
    others = " or ".join(a_family(fit.family) for fit in rivals)
    return Sentence.of(
        f"undecided: {a_family(best.family)} passes all readings within {{within}}, but {others} does about as well "
        "({other})",
        within=best.worst,
        other=rivals[0].worst,
    )


def _decided(readings: Readings, fits: Sequence[ShapeFit]) -> Sentence:
    best = fits[0]
    text = f"{best.family.kind.words}: all readings within {{within}}"
    other = next((fit for fit in fits[1:] if fit.freedom > 0 and not fit.family.kind.contains(best.family.kind)), None)
    if other is None:
        return Sentence.of(text, within=best.worst)
    worst = max(other.residuals, key=lambda residual: abs(residual.off) / residual.standard)
    row = readings.rows[worst.row]
    return Sentence.of(
        f"{text}; {a_family(other.family)} would miss {row_words(row)} by {{by}}",
        within=best.worst,
        at=row.along or 0.0,
        by=abs(worst.off),
    )
