"""The commands that measure without a window: an old outline file, a project's readings, its candidates."""

from __future__ import annotations

from math import degrees, isinf
from typing import TYPE_CHECKING

from app.cli.console import say, say_json
from core.measure.candidates.compare import compare as compare_candidates
from core.measure.drawing.housing.roles import sort_loops
from core.measure.drawing.loops.nest import find_loops
from core.measure.drawing.reading.read import read_drawing
from core.measure.drawing.results import DrawingUnit
from core.measure.drawing.said import fault_remarks, remarks_on
from core.measure.drawing.words import off_words
from core.measure.readings.words import NO_SPREAD, known_words, plus_minus_words
from core.measure.sources import insert_study, spoken_size
from core.words.errors import FileError
from core.words.lengths import Style, mixed_shower, shower, spread_shower
from core.words.verdicts import counted

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from core.measure.drawing.remarks import Remark
    from core.measure.drawing.results import Sorted
    from core.measure.readings.results import Estimate, Study
    from core.part.insert import Insert
    from core.part.project import Project


def outline(file: Path, *, unit: str, join: float, tolerance: float, as_json: bool) -> int:
    """Print what an outline file holds, what each outline is, and all that is said of it; returns the exit status."""
    drawing = read_drawing(file)
    chosen = DrawingUnit(unit) if unit else drawing.unit
    if chosen is None:
        raise FileError(
            str(file),
            "does not state its unit",
            hint=f"Give it with --unit; by its size it is likely in {drawing.guess.value}.",
        )
    found = sort_loops(find_loops(drawing, chosen, join), tolerance)
    said = remarks_on(drawing, found, chosen)
    if as_json:
        say_json(_outlines_as_builtins(found, chosen, said))
        return 0
    count = len(found.loops.loops)
    say(f"{file.name}: {count} outline{'' if count == 1 else 's'}, in {chosen.value}")
    for line in _outline_lines(found):
        say(line)
    show = shower(Style.MM)
    for remark in (*fault_remarks(found), *said):
        at = "" if remark.at is None else f" At x {show(remark.at[0])}, y {show(remark.at[1])}."
        say(f"  {remark.text}{at}")
    return 0


def study(project: Project, *, as_json: bool) -> int:
    """Print what the readings of both inserts say; returns the exit status."""
    inserts = {"old": project.old_insert, "new": project.new_insert}
    if as_json:
        answer = {which: _study_as_builtins(insert_study(insert)) for which, insert in inserts.items()}
        say_json(answer)
        return 0
    for which, insert in inserts.items():
        say(f"{which} insert, {insert.name}: {counted(len(insert.readings.rows), 'reading')}")
        if insert.readings.rows:
            for line in _study_lines(insert, project.style):
                say(f"  {line}")
    return 0


def compare(project: Project, *, as_json: bool) -> int:
    """Print the candidates of a project, ranked, with the reasons; returns the exit status."""
    if not project.candidates:
        raise FileError("candidates", "the project has none", hint="Add them in the window, under Measure, Candidates.")
    found = compare_candidates(project, project.candidates)
    show = shower(project.style)
    if as_json:
        rows = [
            {
                "name": one.insert.name,
                "verdict": str(one.verdict),
                "greatest_move_mm": None if one.greatest is None else one.greatest.by,
                "moving": list(one.moving),
                "conflicts": len(one.conflicts),
                "rework": None if one.rework is None else str(one.rework.verdict),
                "wall_left_mm": None if one.rework is None else one.rework.wall,
            }
            for one in found.ranked
        ]
        say_json(rows)
        return 0
    for place, one in enumerate(found.ranked, 1):
        say(f"{place}  {one.insert.name}: {one.verdict}")
        for reason in one.reasons:
            say(f"     {reason.show(show)}")
    return 0


def _outline_lines(found: Sorted) -> Iterator[str]:
    show = shower(Style.MM)
    for loop in found.loops.loops:
        x0, y0, x1, y1 = loop.outline.bounds
        line = f"  {loop.number}  {found.roles[loop.number].value}, {show(x1 - x0)} × {show(y1 - y0)} over all"
        shape = found.recovered.get(loop.number)
        if shape is not None:
            oval = shape.oval
            name = oval.family.kind.words
            line += f": {name} {show(oval.length)} × {show(oval.width)}"
            if oval.end_radius is not None and oval.family.kind.is_sized:
                line += f", end radius {show(oval.end_radius)}"
            line += f", off by {off_words(shape.worst, Style.MM)} at most"
        yield line


def _outlines_as_builtins(found: Sorted, unit: DrawingUnit, said: tuple[Remark, ...]) -> dict[str, object]:
    rows: list[dict[str, object]] = []
    for loop in found.loops.loops:
        row: dict[str, object] = {
            "loop": loop.number,
            "role": found.roles[loop.number].value,
            "reason": found.guessed[loop.number][1],
            "layer": loop.layer,
            "parent": loop.parent,
            "area_mm2": loop.outline.area,
        }
        shape = found.recovered.get(loop.number)
        if shape is not None:
            row |= {
                "family": shape.oval.family.value,
                "length_mm": shape.oval.length,
                "width_mm": shape.oval.width,
                "end_radius_mm": shape.oval.end_radius,
                "exponent": shape.oval.exponent,
                "x_mm": shape.centre[0],
                "y_mm": shape.centre[1],
                "angle_degrees": degrees(shape.angle),
                "worst_mm": shape.worst,
            }
        rows.append(row)
    troubles = [
        {"fault": t.fault.value, "x_mm": t.at[0], "y_mm": t.at[1], "size_mm": t.size, "off_mm": t.off}
        for t in found.loops.troubles
    ]
    remarks = [
        {
            "kind": str(one.kind),
            "text": one.text,
            "place": None if one.at is None else {"x_mm": one.at[0], "y_mm": one.at[1]},
        }
        for one in (*fault_remarks(found), *said)
    ]
    return {"unit": unit.value, "loops": rows, "troubles": troubles, "remarks": remarks}


def _study_lines(insert: Insert, style: Style) -> Iterator[str]:
    show, found = mixed_shower(style), insert_study(insert)
    for size, estimate, words in found.sizes:
        yield f"{spoken_size(size)}: {_value(size.value, estimate, style)}; {words}"
    for outlier in found.outliers:
        names = insert.readings.samples
        sample = names[outlier.sample] if outlier.sample < len(names) else f"sample {outlier.sample + 1}"
        yield f"row {outlier.row + 1}, {sample}: {show(outlier.value)} stands out: {outlier.reason.show(show)}"
    yield found.ranking.sentence.show(show)
    if found.ranking.next is not None:
        yield found.ranking.next.words.show(show)


def _value(name: str, estimate: Estimate, style: Style) -> str:
    plain = "{:.2f}".format
    show, small = (plain, plain) if name == "exponent" else (shower(style), spread_shower(style))
    bought = f"the next one bought {half}" if (half := plus_minus_words(estimate, small)) else NO_SPREAD
    return f"{show(estimate.value)}, {bought}; {known_words(estimate, small)}"


def _study_as_builtins(found: Study) -> dict[str, object]:
    return {
        "sizes": [
            {
                "size": size.value,
                "value": estimate.value,
                "standard": estimate.standard,
                "expanded": None if isinf(estimate.expanded) else estimate.expanded,
                "next": [estimate.next_low, estimate.next_high],
                "plus_minus": estimate.next_one,
                "by_class": estimate.is_stand_in,
                "how": words,
            }
            for size, estimate, words in found.sizes
        ],
        "decision": found.ranking.decision.value,
        "families": [
            {
                "family": fit.family.value,
                "worst_mm": fit.worst,
                "misfit": fit.misfit,
                "criterion": fit.criterion,
                "possible": fit.is_possible,
            }
            for fit in found.ranking.fits
        ],
    }
