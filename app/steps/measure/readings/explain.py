"""The sheets of the readings' page: what a figure is, and its formula with the readings in it."""

from __future__ import annotations

from math import isinf
from typing import TYPE_CHECKING, Final

from app.widgets.explain import Explanation
from core.measure.readings.kinds import KIND_WORDS, row_name
from core.measure.readings.words import NO_SPREAD, a_family, known_words
from core.measure.sources import spoken_size
from core.measure.table.columns import Column
from core.part.readings import ReadingKind, SizeName

if TYPE_CHECKING:
    from app.steps.measure.readings.desk import Desk
    from core.measure.readings.results import Estimate, RowStudy, ShapeFit
    from core.part.readings import Reading

ASSUMES: Final = (
    "± is what the next one bought may differ by from the size, in 95 of 100 cases: t × s × √(1 + 1/n), by Student's t "
    "from the spread s between n samples. The samples are taken to be drawn at random from one make, scattered about "
    "their mean as errors are (normally); what a whole batch has in common they can't tell. What the mean itself is "
    "known to is less, and counts nowhere. One sample, however often it is read, is one sample. Fewer than three tell "
    "no ±: for solid rubber a class of ISO 3302-1 stands in, for all else nothing does."
)
DEVELOPED_ASSUMES: Final = (
    "By tape and rolling alone. It assumes a tape that lies close and does not stretch, and a rim that rolls without "
    "slipping."
)

_MANY: Final = 1e4  # degrees of freedom, no different from infinitely many


def of_cell(desk: Desk, row: int, column: Column) -> Explanation:
    """The sheet for a cell of the table."""
    reading = desk.readings.rows[row]
    style = desk.session.project.style
    study = next((r for r in desk.study.rows if r.row == row), None)
    title = row_name(reading, style).capitalize()
    how = KIND_WORDS[reading.kind].how
    if column is Column.OFF:
        return _of_off(desk, row, title)
    if study is None or study.mean is None:
        return Explanation(title, how, "Nothing is read yet: the row counts for nothing.")
    return Explanation(
        f"{title}: mean {desk.session.show_length(study.mean)}", how, _of_instrument(desk, reading),
        _row_figures(desk, reading, study),
    )  # fmt: skip


def _of_instrument(desk: Desk, reading: Reading) -> str:
    step = desk.session.show_length(desk.readings.resolution.of(reading.instrument))
    return f"Read with the {reading.instrument}, in steps of {step}."


def _row_figures(desk: Desk, reading: Reading, study: RowStudy) -> tuple[str, ...]:
    show = desk.session.show_figure
    read = [show(value) for value in reading.values if value is not None]
    assert study.mean is not None
    lines = [
        f"({' + '.join(read)}) / {len(read)} = {show(study.mean)}" if len(read) > 1 else f"a single one, {read[0]}"
    ]
    if study.deviation is not None:
        lines.append(f"standard deviation between samples {desk.show_spread(study.deviation)}")
    if study.estimate is not None:
        if reading.kind in (ReadingKind.TAPE, ReadingKind.ROLL):
            what = "developed length: less π × the tape's thickness"
            if reading.kind is ReadingKind.ROLL:
                what = f"developed length: divided by {reading.turns} turns"
            lines.append(f"{what} = {show(study.estimate.value)}")
        elif reading.kind in (ReadingKind.CORNER_GAP, ReadingKind.END_HEIGHT):
            formula = "gap × 2.414" if reading.kind is ReadingKind.CORNER_GAP else "c² / 8q + q / 2"
            lines.append(f"radius of an end arc: {formula} = {show(study.estimate.value)}")
        lines += interval_lines(desk, study.estimate)
    if study.lacks:
        lines.append(f"left out: its {study.lacks} is missing")
    return tuple(lines)


def interval_lines(desk: Desk, estimate: Estimate) -> tuple[str, str]:
    """How the ± of the next one bought comes about, and to within what the mean itself is known."""
    spread, half = desk.show_spread, estimate.next_one
    if half is None:
        first = f"{NO_SPREAD}: {_samples(estimate)} and no class that stands in"
    elif estimate.is_stand_in:
        first = f"± {spread(half)} for the next one bought: {_samples(estimate)}, so a class of ISO 3302-1 stands in"
    else:
        first = f"± {spread(half)} for the next one bought = t × s × √(1 + 1/{estimate.count}), the instrument added"
    if isinf(estimate.expanded):
        return first, known_words(estimate, spread)
    t = estimate.expanded / estimate.standard if estimate.standard else 0.0
    freedom = "∞" if estimate.freedom > _MANY else f"{estimate.freedom:.3g}"
    known = f"{known_words(estimate, spread)} = t × u = {t:.2f} × {spread(estimate.standard)}"
    return first, f"{known} ({freedom} degrees of freedom)"


def _samples(estimate: Estimate) -> str:
    return "1 sample" if estimate.count == 1 else f"{estimate.count} samples"


def _of_off(desk: Desk, row: int, title: str) -> Explanation:
    fit = desk.fit
    residual = None if fit is None else next((r for r in fit.residuals if r.row == row), None)
    if fit is None or residual is None:
        return Explanation(title, "How far the mean lies from what the shape would read.", "No shape is fitted to it.")
    show = desk.session.show_figure
    mean = residual.predicted + residual.off
    return Explanation(
        f"{title}: {desk.show_spread(residual.off, signed=True)} off {a_family(fit.family)}",
        "How far the mean lies from what the shape that fits all readings best would read at the same place.",
        f"Expected by chance: about {desk.show_spread(residual.standard)}, twice as much now and then.",
        (f"{show(mean)} − {show(residual.predicted)} = {desk.show_spread(residual.off, with_unit=False)}",),
    )


def of_size(desk: Desk, size: SizeName, estimate: Estimate, words: str) -> Explanation:
    """The sheet for a size that the readings give."""
    is_length = size is not SizeName.EXPONENT
    session = desk.session
    value = session.show_length(estimate.value) if is_length else f"{estimate.value:.3g}"
    lines = [*interval_lines(desk, estimate)] if is_length else []
    if estimate.next_low is not None and estimate.next_high is not None and is_length:
        low, high = (session.show_length(x) for x in (estimate.next_low, estimate.next_high))
        lines.append(f"next one bought: {low} to {high}, in 95 of 100 cases")
    return Explanation(
        f"{spoken_size(size).capitalize()} by readings = {value}", f"{words.capitalize()}.", ASSUMES, tuple(lines)
    )


def of_fit(desk: Desk, fit: ShapeFit) -> Explanation:
    """The sheet for one family laid through the readings."""
    best = desk.study.ranking.best
    lines = [
        f"misfit {fit.misfit:.1f}: sum of the squares of (read − predicted) / uncertainty",
        f"criterion {fit.criterion:.1f}: the misfit and 2 for each size, more where readings are few",
        f"{fit.freedom} more readings than sizes",
    ]
    if fit.freedom == 0:
        lines.append("as many sizes as readings: nothing is left to test it by")
    if best is not None and best is not fit:
        lines.append(
            f"{fit.criterion - best.criterion:.1f} above the {best.family.kind.words}; 4 or less decides nothing"
        )
    return Explanation(
        f"{fit.family.kind.words.capitalize()}: worst reading {desk.show_spread(fit.worst)} off",
        f"The misfit is {'no ' if fit.is_possible else ''}greater than chance allows.",
        "Weighted least squares through all complete rows of the oval.",
        tuple(lines),
    )
