"""Edits of the readings of one insert: rows, samples, single values. Each gives a new project.

``owner`` is the insert's path, as ``new_insert``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from msgspec.structs import replace

from core import edits
from core.measure.readings.kinds import KIND_WORDS, figure_typed
from core.part.readings import Instrument, Reading, ReadingKind, Readings

if TYPE_CHECKING:
    from core.part.insert import Insert
    from core.part.project import Project

SAMPLES_AT_FIRST: Final = 3
"""Fewer than three say nothing of the next one bought (common practice, no source)."""
_TAPE_MM: Final = 0.2  # a thin steel tape; common practice, no source
_NAMES: Final = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def insert_of(project: Project, owner: str) -> Insert:
    """The insert of a path."""
    insert: Insert = project.old_insert if owner == "old_insert" else project.new_insert
    return insert


def readings_of(project: Project, owner: str) -> Readings:
    """The readings of an insert."""
    return insert_of(project, owner).readings


def started(project: Project, owner: str) -> Project:
    """Three samples, and the rows that a caster reads first; the places along are round parts of the insert's sizes."""
    insert = insert_of(project, owner)
    quarter = float(max(1, round(insert.length / 4.0)))
    rows = (
        new_row(ReadingKind.LENGTH),
        new_row(ReadingKind.WIDTH),
        replace(new_row(ReadingKind.JAWS), angle=45.0),
        replace(new_row(ReadingKind.WIDTH_AT), along=quarter),
        replace(new_row(ReadingKind.RIM_WIDTH), place="left end"),
        replace(new_row(ReadingKind.RIM_WIDTH), place="top side"),
        new_row(ReadingKind.RIM_THICKNESS),
        new_row(ReadingKind.HEIGHT),
        replace(new_row(ReadingKind.TAPE), along=_TAPE_MM),
    )
    kept = insert.readings
    samples = tuple(_NAMES[:SAMPLES_AT_FIRST])
    return edits.set_value(project, f"{owner}.readings", replace(kept, samples=samples, rows=rows))


def new_row(kind: ReadingKind) -> Reading:
    """A row of a kind, read with what it is usually read with."""
    return Reading(kind, instrument=KIND_WORDS[kind].instrument)


def with_row(project: Project, owner: str, row: Reading) -> Project:
    """One more row at the end."""
    return edits.add_item(project, f"{owner}.readings.rows", row)


def without_row(project: Project, owner: str, number: int) -> Project:
    """Without a row."""
    return edits.remove_item(project, f"{owner}.readings.rows[{number}]")


def with_sample(project: Project, owner: str) -> Project:
    """One more sample, under the next letter that is free."""
    taken = readings_of(project, owner).samples
    name = next((n for n in _NAMES if n not in taken), f"sample {len(taken) + 1}")
    return edits.set_value(project, f"{owner}.readings.samples", [*taken, name])


def without_sample(project: Project, owner: str, number: int) -> Project:
    """Without a sample and all that was read of it."""
    readings = readings_of(project, owner)
    samples = readings.samples[:number] + readings.samples[number + 1 :]
    rows = tuple(replace(row, values=row.values[:number] + row.values[number + 1 :]) for row in readings.rows)
    return edits.set_value(project, f"{owner}.readings", replace(readings, samples=samples, rows=rows))


def with_sample_name(project: Project, owner: str, number: int, name: str) -> Project:
    """A sample under another name."""
    return edits.set_text(project, f"{owner}.readings.samples[{number}]", name)


def with_value(project: Project, owner: str, number: int, sample: int, text: str) -> Project:
    """What was typed for one sample in one row; nothing empties it.

    Raises:
        UserError: the text is no length; its place is the value's path.
    """
    row = readings_of(project, owner).rows[number]
    if sample >= len(row.values):
        if not text.strip():
            return project
        padding = (None,) * (sample + 1 - len(row.values))
        project = _with_row(project, owner, number, replace(row, values=row.values + padding))
    project = edits.set_text(project, value_path(owner, number, sample), text)
    return _with_row(project, owner, number, _without_empty_end(readings_of(project, owner).rows[number]))


def with_figure(project: Project, owner: str, number: int, text: str) -> Project:
    """What was typed, or chosen, as the figure of a row."""
    field = KIND_WORDS[readings_of(project, owner).rows[number].kind].field
    return edits.set_text(project, f"{row_path(owner, number)}.{field}", figure_typed(field, text))


def with_instrument(project: Project, owner: str, number: int, instrument: Instrument) -> Project:
    """What a row was read with."""
    return edits.set_value(project, f"{row_path(owner, number)}.instrument", instrument)


def with_place(project: Project, owner: str, number: int, text: str) -> Project:
    """The user's word for where a row was read."""
    return edits.set_text(project, f"{row_path(owner, number)}.place", text.strip())


def row_path(owner: str, number: int) -> str:
    """The project's path of a row."""
    return f"{owner}.readings.rows[{number}]"


def value_path(owner: str, number: int, sample: int) -> str:
    """The project's path of one value."""
    return f"{row_path(owner, number)}.values[{sample}]"


def _without_empty_end(row: Reading) -> Reading:
    values = row.values
    while values and values[-1] is None:
        values = values[:-1]
    return row if values is row.values else replace(row, values=values)


def _with_row(project: Project, owner: str, number: int, row: Reading) -> Project:
    """Another row that says the same: nothing that follows from the readings changes."""
    insert = insert_of(project, owner)
    rows = insert.readings.rows
    if rows[number] is row:
        return project
    made = replace(insert.readings, rows=(*rows[:number], row, *rows[number + 1 :]))
    return replace(project, **{owner: replace(insert, readings=made)})
