"""How processor time and memory grow with the size of what is evaluated: an exponent of 1 is growth in proportion."""

from __future__ import annotations

import tracemalloc
from dataclasses import dataclass
from math import log
from time import process_time
from typing import TYPE_CHECKING

import numpy as np
from msgspec.structs import replace

from core.evaluate import Result, evaluate
from core.features.ground import Made
from core.features.hole import Hole
from core.features.kind import Follows
from core.features.lug import Lug
from core.features.rib import Rib
from core.files.project.demos import load_demo
from core.geometry.lines.outline import Outline
from core.geometry.ovals.ovals import Family, Oval, measured_oval, oval_outline

if TYPE_CHECKING:
    from collections.abc import Callable

    from core.features.registry import Feature
    from core.part.project import Project


@dataclass(frozen=True)
class Growth:
    """What two sizes took: processor time [s] and the most memory at once [bytes]."""

    name: str
    sizes: tuple[int, int]
    times: tuple[float, float]
    peaks: tuple[int, int]

    def line(self) -> str:
        """One row of the table."""
        small, large = self.sizes
        time, memory = (log(b / a) / log(large / small) for a, b in (self.times, self.peaks))
        return (
            f"{f'scale, {small:,} to {large:,} {self.name}':<46} {self.times[1] * 1e3:9.2f} ms  "
            f"n^{time:.2f}  {self.peaks[1] / 1e6:8.1f} MB  n^{memory:.2f}"
        )


def growths() -> tuple[Growth, ...]:
    """Each kind of size, a smaller and a larger one; ribs that cross meet in n² places by nature."""
    works = (
        ("holes", (500, 5000), _holes),
        ("lugs", (100, 1000), _lugs),
        ("crossing ribs", (20, 160), _ribs),
        ("vertices of a measured outline", (1000, 10_000), _outline),
    )
    return tuple(_growth(name, sizes, make) for name, sizes, make in works)


def _growth(name: str, sizes: tuple[int, int], make: Callable[[int], Project]) -> Growth:
    times, peaks = zip(*(_taken(make(size)) for size in sizes), strict=True)
    return Growth(name, sizes, times, peaks)


def _taken(project: Project) -> tuple[float, int]:
    start = process_time()
    _all_of(evaluate(project))
    time = process_time() - start
    other = project.new_insert
    tracemalloc.start()  # it takes time of its own, so it looks at another edit
    _all_of(evaluate(replace(project, new_insert=replace(other, height=other.height + 0.5))))
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    return time, peak


def _all_of(result: Result) -> None:
    assert result.findings
    assert result.changes


def _in_lid(features: tuple[Feature, ...]) -> Project:
    project = load_demo("compressor-intake")
    lid = project.housing.lid
    assert lid is not None
    return replace(project, housing=replace(project.housing, lid=replace(lid, opening=None, features=features)))


def _holes(count: int) -> Project:
    columns = round((count * 1.25) ** 0.5)
    rows = -(-count // columns)
    places = [(x, y) for y in np.linspace(-42.0, 42.0, rows) for x in np.linspace(-72.0, 72.0, columns)]
    width = max(0.1, 0.4 * min(84.0 / rows, 144.0 / columns))
    return _in_lid(
        tuple(Hole(f"vent {i}", float(x), float(y), width, Made.CORED) for i, (x, y) in enumerate(places[:count]))
    )


def _lugs(count: int) -> Project:
    lid = evaluate(load_demo("compressor-intake")).before.lid
    assert lid is not None
    outside = lid.curves.outside
    pitch, stations = outside.length / count, outside.length * np.arange(count) / count
    places = outside.points_at(stations) + 0.3 * pitch * outside.normals_at(stations)
    pad, hole, neck = max(0.3, 0.5 * pitch), max(0.1, 0.2 * pitch), max(0.1, 0.4 * pitch)
    return _in_lid(
        tuple(
            Lug(f"lug {i}", x, y, pad, hole, neck, 5.0, Made.CORED, 0.0, Follows.OUTSIDE)
            for i, (x, y) in enumerate(places.tolist())
        )
    )


def _ribs(count: int) -> Project:
    width, offsets = max(0.3, 64.0 / count), np.linspace(-60.0, 60.0, count).tolist()
    return _in_lid(tuple(Rib(f"rib {i}", 90.0 * (i % 2), offset, width, 2.0, 3.0) for i, offset in enumerate(offsets)))


def _outline(count: int) -> Project:
    project = load_demo("compressor-intake")
    insert = project.new_insert
    ellipse = oval_outline(Oval(Family.ELLIPSE, insert.length, insert.width))
    s, parts = ellipse.segments, -(-count // len(ellipse))
    index, part = np.repeat(np.arange(len(s)), parts), np.tile(np.arange(parts) / parts, len(s))
    points, bulge = s.points(index, s.length[index] * part), np.tan(s.sweep[index] / parts / 4.0)
    oval = measured_oval(Outline(np.column_stack((points, bulge))))
    measured = replace(
        insert,
        family=Family.MEASURED,
        length=oval.length,
        width=oval.width,
        outline=oval.vertices,
        end_radius=None,
        exponent=None,
    )
    return replace(project, new_insert=measured)
