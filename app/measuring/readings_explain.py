"""The sheets of the readings' page: what a figure is, and its formula with the readings in it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from app.explain import Explanation
from app.figures import with_minus
from app.measuring.readings_model import Column
from app.measuring.readings_words import KIND_WORDS, row_name
from app.measuring.where_from import spoken_size
from core.readings.values import ReadingKind, SizeName
from core.readings.words import FAMILY_WORDS, a_family

if TYPE_CHECKING:
    from app.measuring.readings_desk import Desk
    from app.session import Session
    from core.readings.results import Estimate, RowStudy, ShapeFit
    from core.readings.values import Reading

ASSUMES: Final = (
    "± is 95 % by Student's t: the samples are taken to be drawn at random from one make, scattered about their mean "
    "as errors are (normally). The next one bought lies between its two figures in 95 of 100 cases; few samples make "
    "them wide."
)
DEVELOPED_ASSUMES: Final = (
    "By tape and rolling alone. It assumes a tape that lies close and does not stretch, and a rim that rolls without "
    "slipping."
)


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
        _row_figures(desk.session, reading, study),
    )  # fmt: skip


def _of_instrument(desk: Desk, reading: Reading) -> str:
    step = desk.session.show_length(desk.readings.resolution.of(reading.instrument))
    return f"Read with the {reading.instrument}, in steps of {step}."


def _row_figures(session: Session, reading: Reading, study: RowStudy) -> tuple[str, ...]:
    show = session.show_figure
    read = [show(value) for value in reading.values if value is not None]
    assert study.mean is not None
    lines = [
        f"({' + '.join(read)}) / {len(read)} = {show(study.mean)}" if len(read) > 1 else f"a single one, {read[0]}"
    ]
    if study.deviation is not None:
        lines.append(f"standard deviation between samples {_fine(session, study.deviation)}")
    if study.estimate is not None:
        if reading.kind in (ReadingKind.TAPE, ReadingKind.ROLL):
            what = "developed length: less π × the tape's thickness"
            if reading.kind is ReadingKind.ROLL:
                what = f"developed length: divided by {reading.turns} turns"
            lines.append(f"{what} = {show(study.estimate.value)}")
        elif reading.kind in (ReadingKind.CORNER_GAP, ReadingKind.END_HEIGHT):
            formula = "gap × 2.414" if reading.kind is ReadingKind.CORNER_GAP else "c² / 8q + q / 2"
            lines.append(f"radius of an end arc: {formula} = {show(study.estimate.value)}")
        lines.append(interval_line(session, study.estimate))
    if study.lacks:
        lines.append(f"left out: its {study.lacks} is missing")
    return tuple(lines)


def interval_line(session: Session, estimate: Estimate) -> str:
    """How a half width comes about: t times u, with where u comes from."""
    t = estimate.expanded / estimate.standard if estimate.standard else 0.0
    freedom = "∞" if estimate.freedom > 1e4 else f"{estimate.freedom:.3g}"
    source = "the rubber class stands in for the spread" if estimate.is_stand_in else "spread and instrument together"
    return (
        f"± {_fine(session, estimate.expanded)} = t × u = {t:.2f} × {_fine(session, estimate.standard)} "
        f"({source}; {freedom} degrees of freedom)"
    )


def _of_off(desk: Desk, row: int, title: str) -> Explanation:
    fit = desk.fit
    residual = None if fit is None else next((r for r in fit.residuals if r.row == row), None)
    if fit is None or residual is None:
        return Explanation(title, "How far the mean lies from what the shape would read.", "No shape is fitted to it.")
    show = desk.session.show_figure
    mean = residual.predicted + residual.off
    return Explanation(
        f"{title}: {desk.session.show_length(residual.off, signed=True)} off {a_family(fit.family)}",
        "How far the mean lies from what the shape that fits all readings best would read at the same place.",
        f"Expected by chance: about {desk.session.show_length(residual.standard)}, twice as much now and then.",
        (f"{show(mean)} {with_minus('-')} {show(residual.predicted)} = {show(residual.off)}",),
    )


def of_size(session: Session, size: SizeName, estimate: Estimate, words: str) -> Explanation:
    """The sheet for a size that the readings give."""
    is_length = size is not SizeName.EXPONENT
    value = session.show_length(estimate.value) if is_length else f"{estimate.value:.3g}"
    lines = [interval_line(session, estimate)] if is_length else []
    if estimate.next_low is not None and estimate.next_high is not None and is_length:
        low, high = (session.show_length(x) for x in (estimate.next_low, estimate.next_high))
        lines.append(
            f"next one bought: {low} to {high}, 95 % of them with 95 % confidence (two-sided tolerance factor)"
        )
    return Explanation(
        f"{spoken_size(size).capitalize()} by readings = {value}", f"{words.capitalize()}.", ASSUMES, tuple(lines)
    )


def of_fit(desk: Desk, fit: ShapeFit) -> Explanation:
    """The sheet for one family laid through the readings."""
    show = desk.session.show_length
    count = len(fit.residuals)
    parameters = count - fit.freedom
    best = desk.study.ranking.best
    lines = [
        f"misfit {fit.misfit:.1f}: squares of (read − predicted) / uncertainty, over {count} rows",
        f"{fit.freedom} more readings than sizes; criterion {fit.criterion:.1f} = misfit + 2 × {parameters} sizes"
        " and a correction for few readings",
    ]
    if best is not None and best is not fit:
        lines.append(
            f"{fit.criterion - best.criterion:.1f} above the {FAMILY_WORDS[best.family]}; 4 or less is no proof"
        )
    return Explanation(
        f"{FAMILY_WORDS[fit.family].capitalize()}: worst reading {show(fit.worst)} off",
        "The misfit is no greater than chance allows." if fit.is_possible else "The misfit is greater than chance allows.",
        "Weighted least squares through all complete rows of the oval.",
        tuple(lines),
    )  # fmt: skip


def _fine(session: Session, mm: float) -> str:
    """A small length with its unit; one that would be shown as 0 is said to be less than the last place."""
    shown = session.show_length(mm)
    return (
        shown if any(c in "123456789" for c in shown.replace("2.54", "")) or mm == 0.0 else f"under {_least(session)}"
    )


def _least(session: Session) -> str:
    from core.lengths import nudge_step  # noqa: PLC0415 - only for figures that are nearly nothing

    return session.show_length(nudge_step(session.project.style) / 10.0)
