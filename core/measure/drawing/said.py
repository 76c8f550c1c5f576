"""All that is said of an outline file, once its lines are outlines: with places in millimetres."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from msgspec.structs import replace

from core.measure.drawing.loops.meeting import EXACT_MM
from core.measure.drawing.ovals.frames import BLOCK, FRAME
from core.measure.drawing.reading.unit_guess import unit_doubt
from core.measure.drawing.remarks import Remark, RemarkKind
from core.measure.drawing.results import MM_PER, DrawingUnit, Fault, Role
from core.words.verdicts import Sentence, plain

if TYPE_CHECKING:
    from collections.abc import Iterator

    from core.measure.drawing.results import Drawing, Sorted, Trouble

_UNSIZED: Final = (Fault.BRANCH, Fault.CROSSING)


def remarks_on(drawing: Drawing, found: Sorted, unit: DrawingUnit) -> tuple[Remark, ...]:
    """What was left out or read otherwise, what its size makes doubtful, and which outlines are the sheet's own.

    Args:
        drawing: as it was read.
        found: its outlines with their roles.
        unit: what one unit of the file was taken for.
    """
    one = MM_PER[unit]
    read = (
        remark if remark.at is None else replace(remark, at=(remark.at[0] * one, remark.at[1] * one))
        for remark in drawing.remarks
    )
    doubt = unit_doubt(drawing, found, unit)
    return (*([] if doubt is None else [doubt]), *read, *_rectangles(found))


def fault_remarks(found: Sorted) -> tuple[Remark, ...]:
    """The places where lines did not meet, or were there more than once, as remarks."""
    return tuple(_of_fault(trouble) for trouble in found.loops.troubles)


def _of_fault(trouble: Trouble) -> Remark:
    name, words = trouble.fault.value, plain(trouble.words.rstrip("."))
    # Of a gap the hundredths tell nothing.
    size = "" if trouble.fault in _UNSIZED else f", {trouble.size:.4f} mm"
    off = f", by {trouble.off:.4f} mm" if trouble.off > EXACT_MM else ""
    return Remark(name, Sentence(f"{name.capitalize()}{size}: {words}{off}."), trouble.at)


def _rectangles(found: Sorted) -> Iterator[Remark]:
    """Plain rectangles that are the sheet's frame, or might be."""
    for number, (_, reason) in found.guessed.items():
        role = found.roles[number]
        if (reason, role) == (FRAME, Role.IGNORED):
            text = f"Outline {number} is taken for a frame of the sheet, {{length}} by {{width}}, and left out."
        elif (reason, role) == (BLOCK, Role.OUTSIDE):
            text = (
                f"Outline {number}, a plain rectangle of {{length}} by {{width}}, is taken for the outside. If it is a "
                "frame of the sheet, leave it out."
            )
        else:
            continue
        x0, y0, x1, y1 = found.loops.loop(number).outline.bounds
        words = Sentence.of(text, length=max(x1 - x0, y1 - y0), width=min(x1 - x0, y1 - y0))
        yield Remark(RemarkKind.FRAME, words, ((x0 + x1) / 2.0, (y0 + y1) / 2.0))
