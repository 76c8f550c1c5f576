"""What reading an old drawing answers: strokes as they stand in the file, loops, what each is, and what it becomes."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct, field
from msgspec.structs import replace

if TYPE_CHECKING:
    from core.geometry.lines.outline import FloatArray, Outline, Point
    from core.geometry.ovals.ovals import Oval
    from core.measure.drawing.remarks import Remark


class DrawingUnit(StrEnum):
    """What one unit of a drawing is."""

    MM = "mm"
    CM = "cm"
    METRE = "m"
    INCH = "inch"
    FOOT = "foot"


MM_PER: dict[DrawingUnit, float] = {
    DrawingUnit.MM: 1.0, DrawingUnit.CM: 10.0, DrawingUnit.METRE: 1000.0,
    DrawingUnit.INCH: 25.4, DrawingUnit.FOOT: 304.8,
}  # fmt: skip
"""Exact (the inch is 25.4 mm by definition)."""

JOIN_MM: Final = 0.01
"""Ends that lie this close are taken as one: what a file's rounding leaves. Common practice, no source."""
SHAPE_MM: Final = 0.05
"""How far a loop may be off an oval that stands for it. Common practice, no source."""


class Stroke(Struct, frozen=True, eq=False):
    """A chain of lines and arcs as it stands in the file, in the file's own unit.

    Attributes:
        vertices: (n, 3) x, y, bulge of the segment that starts there; the last bulge counts only when closed.
        source: what it was, as "LINE on layer outer".
        is_fitted: lines and arcs stand for a spline or an ellipse, within the stated tolerance.
    """

    vertices: FloatArray
    is_closed: bool
    layer: str = ""
    source: str = ""
    is_fitted: bool = False


class Drawing(Struct, frozen=True, eq=False):
    """A file's strokes.

    Attributes:
        unit: that the file states; None when it doesn't, and the user has to be asked.
        guess: the likeliest unit by the size of the drawing, when the file states none.
        remarks: what was left out or read otherwise than it stands there; their places in the file's unit.
    """

    strokes: tuple[Stroke, ...]
    unit: DrawingUnit | None
    guess: DrawingUnit
    remarks: tuple[Remark, ...] = ()

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Least x, y, greatest x, y of the vertices, in the file's unit."""
        points = np.concatenate([stroke.vertices[:, :2] for stroke in self.strokes])
        (x0, y0), (x1, y1) = points.min(axis=0).tolist(), points.max(axis=0).tolist()
        return x0, y0, x1, y1


class Fault(StrEnum):
    """What can be wrong where strokes should meet."""

    GAP = "gap closed"
    OPEN_END = "open end"
    DOUBLE = "double"
    STRAY = "stray bit"
    BRANCH = "branch"
    CROSSING = "crosses itself"


class Trouble(Struct, frozen=True):
    """A fault at its place [mm, in the drawing's own coordinates].

    Attributes:
        size: a gap's width, or a bit's length [mm].
        words: what was done.
        off: how far ends left the way they were drawn on to meet [mm].
    """

    fault: Fault
    at: Point
    size: float
    words: str
    off: float = 0.0


class Loop(Struct, frozen=True, eq=False):
    """A closed outline [mm, the drawing's own coordinates], counter-clockwise.

    Attributes:
        number: from 1, largest area first.
        parent: number of the loop that it lies in directly; 0 for none.
        depth: how many loops it lies in.
        is_fitted: see Stroke.
        off: how far joining took it off what was drawn, at most [mm].
    """

    number: int
    outline: Outline
    parent: int
    depth: int
    layer: str = ""
    is_fitted: bool = False
    off: float = 0.0


class Loops(Struct, frozen=True, eq=False):
    """All loops of a drawing, nested, and what was in the way; ``join`` is the tolerance that was used [mm]."""

    loops: tuple[Loop, ...]
    troubles: tuple[Trouble, ...]
    join: float

    def loop(self, number: int) -> Loop:
        """The loop of a number."""
        return self.loops[number - 1]


class Role(StrEnum):
    """What a loop of the old drawing is."""

    SEAT_OUTER = "seat outer"
    SEAT_INNER = "seat inner"
    OUTSIDE = "outside"
    OPENING = "opening"
    CROSSBAR_EDGE = "crossbar edge"
    HOLE = "hole"
    KEEP_OUT = "keep-out"
    IGNORED = "ignored"


class Recovered(Struct, frozen=True, eq=False):
    """What a loop is as a parameter: an oval, or the measured outline when no family comes within the tolerance.

    Attributes:
        oval: of the family that fits; of the measured family otherwise. Its axes lie along X and Y.
        centre, angle: where the oval lies in the drawing [mm], and its long axis from the drawing's X [rad].
        worst: greatest distance from the oval of what was drawn [mm]: that of the loop, and what joining took it off.
        rms: of the loop's distances from the oval [mm].
        tried: the families that were tried, with their worst distances [mm], best first; once one is exact to a
            micrometre, no richer one is tried.
        of_chords: the loop is a polygon that stands for a curve: only its corners were held against the oval.
    """

    oval: Oval
    centre: Point
    angle: float
    worst: float
    rms: float
    tried: tuple[tuple[Oval, float], ...] = ()
    of_chords: bool = False

    def with_off(self, off: float) -> Recovered:
        """The same of a loop that joining took off what was drawn, by so much at most [mm]."""
        tried = tuple((oval, worst + off) for oval, worst in self.tried)
        return replace(self, worst=self.worst + off, tried=tried) if off else self


class Sorted(Struct, frozen=True, eq=False):
    """Loops with their roles and what each was recovered as.

    Attributes:
        roles: by loop number.
        guessed: the program's own first guess, by loop number, with its reason in a few words.
        recovered: by loop number, of every loop whose shape is an oval's (seats, outside, opening) and of holes. What
            stands out from an outside, as lugs do, is left out of it.
        tolerance: within which a loop is an oval [mm].
    """

    loops: Loops
    roles: dict[int, Role]
    guessed: dict[int, tuple[Role, str]]
    recovered: dict[int, Recovered] = field(default_factory=dict)
    tolerance: float = 0.05
