from __future__ import annotations

import os
import subprocess
import sys
from io import StringIO
from math import hypot
from pathlib import Path

import numpy as np
import pytest
from ezdxf.document import Drawing

from core.evaluate import evaluate
from core.files.outlines.contents import contents
from core.files.outlines.dxf_audit import _readback, _rounding
from core.files.outlines.dxf_entities import entities_text
from core.files.project.demos import demo_names, load_demo
from core.geometry.lines.outline import Outline, as_circle, circle_outline, rectangle_outline

ROOT = Path(__file__).parents[4]
WRITE = """
import sys
from pathlib import Path
from core.files.outlines.dxf_write import write_dxf
from core.evaluate import evaluate
from core.files.outlines.contents import contents
from core.files.project.demos import load_demo
write_dxf(Path(sys.argv[1]), contents(evaluate(load_demo("lens-ring")))[0].rings)
"""


def by_the_library(outlines: list[tuple[str, Outline]], version: str) -> tuple[str, str]:
    """A file without entities, and with those that the library makes of the outlines itself."""
    texts = []
    for shown in ([], outlines):
        doc = Drawing.new(version)
        space = doc.modelspace()
        for layer, outline in shown:
            circle = as_circle(outline)
            v = outline.vertices
            if circle is not None:
                (x, y), radius = circle
                space.add_circle((round(x, 9) + 0.0, round(y, 9) + 0.0), round(radius, 9), dxfattribs={"layer": layer})
                continue
            points = (np.column_stack((np.round(v[:, :2], 9), np.round(v[:, 2], 12))) + 0.0).tolist()
            add = space.add_polyline2d if version == "R12" else space.add_lwpolyline
            add(points, format="xyb", close=True, dxfattribs={"layer": layer})
        stream = StringIO()
        doc.write(stream)
        texts.append(stream.getvalue().partition("ENTITIES\n")[2].partition("  0\nENDSEC\n")[0])
    return texts[0], texts[1]


@pytest.mark.parametrize("version", ["R2010", "R12"])
@pytest.mark.parametrize("name", demo_names())
def test_entities_are_tag_by_tag_what_the_library_writes(name: str, version: str) -> None:
    outlines = [(ring.layer, ring.outline) for file in contents(evaluate(load_demo(name))) for ring in file.rings]
    outlines.append(("SQUARE", rectangle_outline(-1e-7, 0.0, 100.0, 1.0 / 3.0)))
    doc = Drawing.new(version)
    owner = None if version == "R12" else doc.modelspace().layout_key
    none, wanted = by_the_library(outlines, version)
    assert none == ""
    assert entities_text(outlines, doc.entitydb.handles.next, owner) == wanted


def test_the_same_design_gives_the_same_bytes_in_another_process(tmp_path: Path) -> None:
    """The order of Python's sets differs from one process to the next."""
    for seed in ("1", "2"):
        environment = {**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(ROOT)}
        command = [sys.executable, "-c", WRITE, str(tmp_path / "same.dxf")]
        subprocess.run(command, check=True, env=environment, cwd=ROOT)
        (tmp_path / "same.dxf").rename(tmp_path / seed)
    assert (tmp_path / "1").read_bytes() == (tmp_path / "2").read_bytes()


@pytest.mark.parametrize("bulge", [0.0, 0.1, 0.5, 1.0, 3.0, -7.0])
def test_what_rounding_moves_is_bounded_without_looking_for_it(bulge: float) -> None:
    design = Outline([(0.0, 0.0, bulge), (9.0, 1.0, 0.2), (4.0, 70.0, 0.0)])
    random = np.random.default_rng(3)
    for _ in range(20):
        read = Outline(design.vertices + random.uniform(-1.0, 1.0, (3, 3)) * (1e-9, 1e-9, 1e-11))
        bound = _rounding(design, read)
        assert bound is not None
        moved = read.segments.points(np.arange(3), read.segments.length / 2.0)
        assert design.segments.nearest(moved)[0].max() <= bound[0] < 1e-7


def test_a_circle_is_as_far_off_as_its_centre_and_its_radius() -> None:
    design, read = circle_outline((1.0, 2.0), 5.0), circle_outline((1.0 + 3e-9, 2.0 - 4e-9), 5.0 + 1e-9)
    bound = _rounding(design, read)
    assert bound is not None
    assert bound[0] == pytest.approx(hypot(3e-9, 4e-9) + 1e-9, rel=1e-3)
    assert _readback(design, circle_outline((1.1, 2.0), 5.0))[0] == pytest.approx(0.1, rel=0.01)


def test_what_is_more_than_rounding_is_measured() -> None:
    design = rectangle_outline(0.0, 0.0, 10.0, 10.0)
    assert _rounding(design, rectangle_outline(0.0, 0.0, 10.0, 10.001)) is None
    assert _readback(design, rectangle_outline(0.0, 0.0, 10.0, 10.001))[0] == pytest.approx(0.001)
