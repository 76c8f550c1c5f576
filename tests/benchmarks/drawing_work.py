"""Benchmark of reading an old drawing: a file of 100,000 vertices to nested outlines."""

from __future__ import annotations

from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

from core.measure.drawing.loops.nest import find_loops
from core.measure.drawing.reading.read import read_drawing
from core.measure.drawing.results import DrawingUnit
from tests.benchmarks.timing import Ratio, compare

RINGS = 10
_VERTICES = 100_000


def _write(path: Path) -> None:
    """Rings in each other, half of them as polylines, half as single lines."""
    lines = ["  0", "SECTION", "  2", "HEADER", "  9", "$INSUNITS", " 70", "4", "  0", "ENDSEC"]
    lines += ["  0", "SECTION", "  2", "ENTITIES"]
    t = np.linspace(0.0, 2.0 * np.pi, _VERTICES // RINGS, endpoint=False)
    for ring in range(RINGS):
        points = np.column_stack(((120.0 - 5.0 * ring) * np.cos(t), (75.0 - 5.0 * ring) * np.sin(t))).tolist()
        if ring % 2 == 0:
            lines += [
                "  0",
                "LWPOLYLINE",
                "100",
                "AcDbEntity",
                "  8",
                "0",
                "100",
                "AcDbPolyline",
                " 90",
                str(len(points)),
                " 70",
                "1",
            ]
            lines += [text for x, y in points for text in (" 10", repr(x), " 20", repr(y))]
        else:
            for (x0, y0), (x1, y1) in zip(points, points[1:] + points[:1], strict=True):
                lines += ["  0", "LINE", "  8", "0", " 10", repr(x0), " 20", repr(y0), " 11", repr(x1), " 21", repr(y1)]
    path.write_text("\n".join([*lines, "  0", "ENDSEC", "  0", "EOF", ""]))


def _loops(path: Path) -> None:
    found = find_loops(read_drawing(path), DrawingUnit.MM)
    assert [one.depth for one in found.loops] == list(range(RINGS))


def large_drawing() -> Ratio:
    """(g) a DXF file of 100,000 vertices to nested outlines; loading it by the general library is the yardstick."""
    from ezdxf.filemanagement import readfile

    with TemporaryDirectory() as folder:
        path = Path(folder) / "large.dxf"
        _write(path)
        return compare(
            "DXF of 100,000 vertices to nested outlines",
            lambda _: _loops(path),
            rounds=3,
            yardstick=lambda: readfile(path),
            yardstick_name="loading it with ezdxf alone",
        )
