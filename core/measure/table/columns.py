"""The columns of the readings' table: what each holds, how it is headed, and what typing into it changes."""

from __future__ import annotations

from enum import Enum, auto
from typing import TYPE_CHECKING, Final

from msgspec import Struct

from core.measure.table import edits
from core.part.readings import Instrument

if TYPE_CHECKING:
    from core.measure.readings.results import Outlier
    from core.part.project import Project


class Column(Enum):
    """What a column of the table holds."""

    WHAT = auto()
    FIGURE = auto()
    PLACE = auto()
    SAMPLE = auto()
    MEAN = auto()
    PLUS_MINUS = auto()
    OFF = auto()
    INSTRUMENT = auto()


BEFORE: Final = (Column.WHAT, Column.FIGURE, Column.PLACE)
AFTER: Final = (Column.MEAN, Column.PLUS_MINUS, Column.OFF, Column.INSTRUMENT)
FIRST_SAMPLE: Final = len(BEFORE)
TYPED: Final = (Column.FIGURE, Column.PLACE, Column.INSTRUMENT, Column.SAMPLE)
HEADS: Final = {
    Column.WHAT: "reading",
    Column.FIGURE: "at",
    Column.PLACE: "place",
    Column.INSTRUMENT: "with",
    Column.MEAN: "mean",
    Column.PLUS_MINUS: "±",
    Column.OFF: "off",
}
HEAD_TIPS: Final = {
    Column.FIGURE: "The angle, distance, chord, tape's thickness, turns, rim or weight that the reading is taken at.",
    Column.PLACE: "Your own word for where. Several rows of one kind are several places.",
    Column.INSTRUMENT: "What it was read with; the instruments' steps are in the form.",
    Column.MEAN: "Mean of the samples, as read.",
    Column.PLUS_MINUS: "What the next one bought may differ by, in 95 of 100 cases. Empty for fewer than three "
    "samples, unless a class of rubber stands in.",
}


class Mark(Struct, frozen=True):
    """How a cell stands out.

    Attributes:
        is_refused: its text was refused.
        is_lacking: it must be filled in.
        outlier: why its value stands out.
    """

    is_refused: bool = False
    is_lacking: bool = False
    outlier: Outlier | None = None


class CellChange(Struct, frozen=True):
    """What was typed into one cell, as a change of the project."""

    owner: str
    row: int
    column: Column
    sample: int
    text: str

    def __call__(self, project: Project) -> Project:
        match self.column:
            case Column.SAMPLE:
                return edits.with_value(project, self.owner, self.row, self.sample, self.text)
            case Column.FIGURE:
                return edits.with_figure(project, self.owner, self.row, self.text)
            case Column.INSTRUMENT:
                return edits.with_instrument(project, self.owner, self.row, Instrument(self.text))
            case _:
                return edits.with_place(project, self.owner, self.row, self.text)
