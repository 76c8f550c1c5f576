"""Benchmarks of the core: one edit, export, nearest distance, a lid with 500 features."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

import numpy as np
import shapely
from msgspec.structs import replace

from core.evaluate import evaluate
from core.features.ground import Made
from core.features.hole import Hole
from core.files.outlines.contents import contents
from core.files.outlines.export import export
from core.files.project.demos import load_demo
from core.geometry.lines.outline import as_circle
from core.geometry.ovals.ovals import Family, Oval, oval_outline
from core.remedies import remedied
from tests.benchmarks.timing import Ratio, compare

if TYPE_CHECKING:
    from core.evaluate import Result
    from core.part.project import Project


def _edited(project: Project, i: int) -> Project:
    """A new length each time, so that nothing is answered from memory."""
    return replace(project, new_insert=replace(project.new_insert, length=219.2 + 0.01 * (i + 2)))


def one_edit() -> Ratio:
    """(a) one edit in core: geometry and all checks of the first demo."""
    project = load_demo("compressor-intake")
    evaluate(project)
    return compare("one edit in core, first demo", lambda i: evaluate(_edited(project, i)).settle(), rounds=60)


def one_export() -> Ratio:
    """(d) export of the first demo, read back and compared; the same outlines by the DXF library alone."""
    result = remedied(evaluate(load_demo("compressor-intake")).settle())  # as the window has it by then
    with TemporaryDirectory() as name:
        folder = Path(name)
        return compare(
            "export, first demo",
            lambda _: export(result, folder, replace=True),
            rounds=5,
            yardstick=lambda: by_the_library(result, folder / "alone.dxf"),
            yardstick_name="writing and reading them with ezdxf alone",
        )


def by_the_library(result: Result, path: Path) -> None:
    """The outlines of all files that an export writes, each written and read back by the DXF library."""
    import ezdxf

    for content in contents(result):
        doc = ezdxf.filemanagement.new("R2010")
        space = doc.modelspace()
        for ring in content.rings:
            circle = as_circle(ring.outline)
            if circle is None:
                points = ring.outline.vertices.tolist()
                space.add_lwpolyline(points, format="xyb", close=True, dxfattribs={"layer": ring.layer})
            else:
                space.add_circle(*circle, dxfattribs={"layer": ring.layer})
        doc.saveas(path)
        read = list(ezdxf.filemanagement.readfile(str(path)).modelspace())
        assert len(read) == len(content.rings)


def nearest_distance() -> Ratio:
    """(e) nearest distance of 100,000 points to an ellipse's outline; GEOS on chords of 1 µm is the yardstick."""
    outline = oval_outline(Oval(Family.ELLIPSE, 240.0, 150.0))
    points = np.random.default_rng(1).uniform(-150.0, 150.0, (100_000, 2))
    ring = shapely.LinearRing(outline.chords(1e-3))
    shapely.prepare(ring)
    shapes = shapely.points(points)
    return compare(
        "nearest distance, 100,000 points",
        lambda _: outline.nearest(points),
        rounds=5,
        yardstick=lambda: shapely.distance(ring, shapes),
        yardstick_name="GEOS on chords of 1 µm",
    )


def crowded() -> Project:
    """The first demo with 500 small holes in the lid, in rows across it."""
    project = load_demo("compressor-intake")
    lid = project.housing.lid
    assert lid is not None
    rows = [(x, y) for y in np.linspace(-40.0, 40.0, 20) for x in np.linspace(-70.0, 70.0, 25)]
    holes = tuple(Hole(f"vent {i + 1}", float(x), float(y), 2.0, Made.CORED) for i, (x, y) in enumerate(rows))
    full = replace(lid, opening=None, features=holes)
    return replace(project, housing=replace(project.housing, lid=full))


def many_features() -> Ratio:
    """(f) one edit with 500 features in the lid."""
    project = crowded()
    return compare(
        "one edit in core, lid with 500 features", lambda i: evaluate(_edited(project, i)).settle(), rounds=3
    )
