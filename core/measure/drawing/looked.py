"""An old outline file that was looked at: its strokes in a unit, joined to loops, each with its role and its oval."""

from __future__ import annotations

from typing import TYPE_CHECKING

from msgspec import Struct

from core.measure.drawing.housing.roles import sort_loops, with_role
from core.measure.drawing.loops.nest import find_loops
from core.measure.drawing.progress import part_of
from core.measure.drawing.reading.read import read_drawing
from core.measure.drawing.results import JOIN_MM, MM_PER, SHAPE_MM
from core.measure.drawing.said import remarks_on
from core.words.errors import UserError

if TYPE_CHECKING:
    from pathlib import Path

    from core.measure.drawing.progress import Tick
    from core.measure.drawing.remarks import Remark
    from core.measure.drawing.results import Drawing, DrawingUnit, Role, Sorted

_READ, _JOINED, _SORTED = 0.6, 0.75, 0.9  # where reading ends on the bar; of what follows, joining and sorting


class Looked(Struct, frozen=True, eq=False):
    """One look at a file.

    Attributes:
        path: of the file.
        drawing: its strokes.
        unit: what one unit of it is taken for.
        join, tolerance: that were used [mm].
        sorted: loops, roles and ovals; None when the strokes make none in this unit.
        trouble: why there are none.
        remarks: all that is said of the file, but for where its lines do not meet.
    """

    path: Path
    drawing: Drawing
    unit: DrawingUnit
    join: float
    tolerance: float
    sorted: Sorted | None
    trouble: UserError | None = None
    remarks: tuple[Remark, ...] = ()

    @property
    def size(self) -> tuple[float, float]:
        """Overall length along X and along Y [mm]."""
        x0, y0, x1, y1 = self.drawing.bounds
        return (x1 - x0) * MM_PER[self.unit], (y1 - y0) * MM_PER[self.unit]


def open_drawing(path: Path, tick: Tick) -> Looked:
    """Read a file and look at it in the unit that it states, or that its size speaks for.

    Args:
        path: of the file.
        tick: told how much is done, 0 to 1; what it raises calls the work off.

    Raises:
        FileError: the file can't be read, or holds no lines.
    """
    drawing = read_drawing(path, part_of(tick, 0.0, _READ))
    return look(path, drawing, drawing.unit or drawing.guess, JOIN_MM, SHAPE_MM, {}, part_of(tick, _READ, 1.0))


def look(
    path: Path,
    drawing: Drawing,
    unit: DrawingUnit,
    join: float,
    tolerance: float,
    roles: dict[int, Role],
    tick: Tick,
) -> Looked:
    """Loops, roles and ovals of a drawing; what makes none is an answer too, since another unit may mend it."""
    try:
        loops = find_loops(drawing, unit, join, part_of(tick, 0.0, _JOINED))
        found = sort_loops(loops, tolerance, part_of(tick, _JOINED, _SORTED))
        for number, role in roles.items():
            if number <= len(loops.loops):
                tick(_SORTED)
                found = with_role(found, number, role)
    except UserError as error:
        return Looked(path, drawing, unit, join, tolerance, None, error, drawing.remarks)
    return Looked(path, drawing, unit, join, tolerance, found, remarks=remarks_on(drawing, found, unit))
