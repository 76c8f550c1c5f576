"""The museum pump strainer: the old outline file and the readings that demo 3 is recovered from. Invented data.

The file is drawn as an unknown hand would: R12 text in inches, single lines and arcs on one layer, turned on its sheet,
one line drawn twice, a joint that does not quite meet, a stray dash.
"""

from __future__ import annotations

import random
from math import atan2, degrees, hypot
from typing import TYPE_CHECKING, Any

from msgspec.structs import replace

from core.features.crossbar import Crossbar
from core.features.ground import Made
from core.features.kind import Follows
from core.features.lug import Lug
from core.files.project.file import save_project
from core.geometry.lines.outline import as_circle
from core.geometry.ovals.ovals import Family, Oval
from core.measure.drawing.housing.part import PartAnswers, part_from
from core.measure.drawing.housing.roles import sort_loops
from core.measure.drawing.loops.nest import find_loops
from core.measure.drawing.reading.read import read_drawing
from core.measure.readings.predict import predicted
from core.measure.sources import take_readings
from core.metal.slabs import resolve
from core.new.part import two_piece
from core.part.housing import KeepOut, Lip, Metal, MetalKind, Opening, Seat
from core.part.insert import Insert, PlusMinus, Rim
from core.part.materials import Material
from core.part.project import HeightTo, Project
from core.part.readings import Instrument, Reading, ReadingKind, Readings, Resolution
from core.words.lengths import Style

if TYPE_CHECKING:
    from pathlib import Path

    from core.geometry.lines.outline import FloatArray, Outline

INCH = 25.4
OLD = Insert(
    "old strainer ring",
    Family.FOUR_ARC,
    9.1875 * INCH,
    5.5 * INCH,
    Rim(0.5 * INCH, 0.375 * INCH),
    2.25 * INCH,
    end_radius=1.75 * INCH,
)
GAP = INCH / 32.0
SHORT = 0.0003
"""How far a line stops short of its neighbour in the file [in]."""
CAST_IRON = Metal("grey cast iron", 7.15, 5.0, MetalKind.GREY_IRON)
"""Density of grey iron as handbooks print it, 7.15 g/cm³ (from memory); least section: common practice."""
NOTES = (
    "A museum's pump strainer in cast iron, in inches, recovered from an old outline file and calliper readings. Its "
    "moulded ring is no longer made; the nearest one to be had is a little larger. Invented data."
)
NEW = Oval(Family.FOUR_ARC, 9.375 * INCH, 5.6875 * INCH, 1.84375 * INCH)
"""What the three samples were before they were bent, cut and read."""


def built() -> Project:
    """The strainer as it once was built."""
    project = two_piece(OLD, "Museum pump strainer", Style.FRACTION)
    seat = Seat(GAP, GAP, 0.5 * INCH)
    bar = Crossbar("crossbar", 90.0, 0.0, 0.75 * INCH, 0.25 * INCH)
    x, y = 4.25 * INCH, 2.6875 * INCH
    lugs = tuple(
        Lug(f"lug {i + 1}", sx * x, sy * y, 0.875 * INCH, 0.25 * INCH, 0.625 * INCH, 0.375 * INCH,
            made=Made.DRILLED, follows=Follows.MACHINE)
        for i, (sx, sy) in enumerate(((1, 1), (-1, 1), (-1, -1), (1, -1)))
    )  # fmt: skip
    base = replace(
        project.housing.base, floor=0.25 * INCH, seat=seat, wall=0.3125 * INCH, lip=Lip(0.25 * INCH, 0.375 * INCH),
        opening=Opening(), features=(bar, *lugs),
    )  # fmt: skip
    return replace(project, housing=replace(project.housing, base=base, studs=(), metal=CAST_IRON))


def drawing_text() -> str:
    """The old outline file."""
    rows: list[str] = ["0", "SECTION", "2", "HEADER", "9", "$ACADVER", "1", "AC1009", "9", "$INSUNITS", "70", "1"]
    rows += ["0", "ENDSEC", "0", "SECTION", "2", "ENTITIES"]
    entities = [row for outline in outlines(built()) for row in _entities(outline.turned(0.35).moved(280.0, 190.0))]
    rows += [text for entity in (*entities, entities[0], _line(2.0, 2.0, 2.125, 2.0)) for text in entity]
    return "\n".join([*rows, "0", "ENDSEC", "0", "EOF", ""])


def outlines(project: Project) -> list[Outline]:
    """What a plan of the base shows: its outline at the floor, with crossbar and holes, and the seat's walls."""
    base = resolve(project.housing, project.old_insert).base
    return [*base.slabs[0].region.loops, base.curves.seat_outer, base.curves.seat_inner]


def _entities(outline: Outline) -> list[list[str]]:
    """Lines and arcs one by one; the first line stops short of its neighbour."""
    s = outline.segments
    start, end, centre = (points / INCH for points in (s.start, s.end, s.centre))
    if as_circle(outline) is not None:
        return [_round("CIRCLE", centre[0], float(s.radius[0]) / INCH)]
    made: list[list[str]] = []
    gap = SHORT
    for i, bulge in enumerate(s.bulge.tolist()):
        (x0, y0), (x1, y1) = start[i].tolist(), end[i].tolist()
        if bulge == 0.0:
            part = gap / hypot(x1 - x0, y1 - y0)
            made.append(_line(x0 + (x1 - x0) * part, y0 + (y1 - y0) * part, x1, y1))
            gap = 0.0
        else:
            first, last = (atan2(y - centre[i, 1], x - centre[i, 0]) for x, y in ((x0, y0), (x1, y1)))
            if bulge < 0.0:
                first, last = last, first
            ends = ["50", f"{degrees(first) % 360.0:.6f}", "51", f"{degrees(last) % 360.0:.6f}"]
            made.append([*_round("ARC", centre[i], float(s.radius[i]) / INCH), *ends])
    return made


def _round(kind: str, centre: FloatArray, radius: float) -> list[str]:
    return ["0", kind, "8", "OLD", "10", f"{centre[0]:.6f}", "20", f"{centre[1]:.6f}", "40", f"{radius:.6f}"]


def _line(x0: float, y0: float, x1: float, y1: float) -> list[str]:
    return ["0", "LINE", "8", "OLD", "10", f"{x0:.6f}", "20", f"{y0:.6f}", "11", f"{x1:.6f}", "21", f"{y1:.6f}"]


def readings() -> Readings:
    """Three samples, read with a calliper of 0.001 in, a tape and radius gauges."""
    chance = random.Random(3)  # noqa: S311 - invented readings
    grown = (-0.004, 0.001, 0.005)

    def row(kind: ReadingKind, size: float | None = None, step: float = 0.001, **more: Any) -> Reading:  # noqa: ANN401
        bare = Reading(kind, **more)
        mm = predicted(NEW, bare) if size is None else size
        part = 0.0 if kind is ReadingKind.END_RADIUS else 1.0
        read = [mm / INCH + part * by + chance.gauss(0.0, 0.002) for by in grown]
        return replace(bare, values=tuple(round(round(value / step) * step * INCH, 4) for value in read))

    k = ReadingKind
    rows = (
        row(k.LENGTH),
        row(k.WIDTH),
        row(k.JAWS, angle=45.0),
        row(k.WIDTH_AT, along=2.375 * INCH),
        row(k.WIDTH_AT, along=3.5 * INCH),
        row(k.TAPE, step=0.03125, instrument=Instrument.TAPE, along=0.008 * INCH),
        row(k.RIM_WIDTH, 0.53125 * INCH, place="left end"),
        row(k.RIM_WIDTH, 0.53125 * INCH, place="front side"),
        row(k.RIM_THICKNESS, 0.40625 * INCH),
        row(k.HEIGHT, 2.34375 * INCH, weight=200.0),
        row(k.HEIGHT, 2.328125 * INCH, weight=500.0),
    )
    steps = Resolution(calliper=0.001 * INCH, rule=INCH / 64.0, tape=INCH / 32.0, gauge=INCH / 64.0)
    return Readings(("sample 1", "sample 2", "sample 3"), rows, steps)


def make_assets(folder: Path) -> None:
    """Write the demo's outline file and its project, as they ship."""
    drawing = folder / "pump-strainer.dxf"
    drawing.write_text(drawing_text(), encoding="ascii")
    save_project(recovered(drawing), folder / "pump-strainer.json")


def recovered(path: Path) -> Project:
    """The demo from scratch: the outline file to a housing, the readings to its new insert."""
    drawing = read_drawing(path)
    assert drawing.unit is not None
    found = sort_loops(find_loops(drawing, drawing.unit))
    answers = PartAnswers(
        "Museum pump strainer", Style.FRACTION, gap_outer=GAP, gap_inner=GAP, rim_thickness=0.375 * INCH,
        height=2.25 * INCH, floor=0.25 * INCH, depth=0.5 * INCH, lip_height=0.375 * INCH, bar_height=0.25 * INCH,
        lug_height=0.375 * INCH, metal=CAST_IRON, material=Material.FOAM,
    )  # fmt: skip
    project = part_from(found, answers, path.name).project
    old = replace(project.old_insert, name="old strainer ring")
    new = replace(old, name="new strainer ring", sources=(), readings=readings())
    new = take_readings(new)
    pump = KeepOut("pump flange", 0.0, 4.0 * INCH, 3.0 * INCH, 1.0 * INCH)
    housing = replace(project.housing, keep_outs=(pump,))
    choices = replace(project.choices, height_to=HeightTo.SPACER)
    # Three samples leave the next ring's rim width wide open; the outer wall guides it, and foam may touch the lip.
    limits = replace(project.limits, gap_inner_least=-0.2, gap_inner_greatest=1.9)
    return replace(
        project,
        old_insert=old,
        new_insert=new,
        housing=housing,
        choices=choices,
        limits=limits,
        notes=NOTES,
        candidates=candidates(new),
    )


def candidates(new: Insert) -> tuple[Insert, ...]:
    """What else could be had."""
    bare = replace(new, readings=Readings(), sources=(), plus_minus=PlusMinus())
    return (
        replace(bare, name="ring from a list", family=Family.ELLIPSE, length=9.3125 * INCH, width=5.625 * INCH,
                end_radius=None, height=2.25 * INCH),
        replace(bare, name="longer ring", length=9.75 * INCH, width=5.75 * INCH, height=2.375 * INCH),
    )  # fmt: skip
