"""A measured outline as the sixth family: everything that works on an oval works on it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely
from msgspec.structs import replace

from core.evaluate import evaluate
from core.files.outlines.dxf_write import DxfVersion
from core.files.outlines.export import export
from core.geometry.ovals.arcfit import fit_closed
from core.geometry.ovals.distances import deviation
from core.geometry.ovals.ovals import (
    Family,
    Oval,
    check_oval,
    exact_length,
    exact_points,
    least_radius,
    measured_oval,
    oval_outline,
)
from core.new.part import two_piece
from core.part.insert import Insert, Rim
from core.part.project import Choices, Mode, Project
from core.words.errors import ImpossibleOvalError

if TYPE_CHECKING:
    from pathlib import Path

    from core.geometry.lines.outline import Outline
    from core.geometry.ovals.measured import Vertices


def egg(n: int = 720) -> Outline:
    """An egg, as no family has it: r = 100 + 8 cos t - 28 sin² t - cos 3t [mm]."""
    t = 2.0 * np.pi * np.arange(n) / n
    r = 100.0 + 8.0 * np.cos(t) - 28.0 * np.sin(t) ** 2 - 1.0 * np.cos(3.0 * t)
    return fit_closed(np.column_stack((r * np.cos(t), r * np.sin(t))), 0.005)


@pytest.fixture(scope="module")
def oval() -> Oval:
    return measured_oval(egg())


@pytest.fixture(scope="module")
def insert(oval: Oval) -> Insert:
    return Insert("egg", Family.MEASURED, oval.length, oval.width, Rim(12.0, 10.0), 55.0, outline=oval.vertices)


def test_it_lies_in_the_middle_of_its_bounds(oval: Oval) -> None:
    x0, y0, x1, y1 = oval_outline(oval).bounds
    assert x0 + x1 == pytest.approx(0.0, abs=1e-9)
    assert y0 + y1 == pytest.approx(0.0, abs=1e-9)
    assert (x1 - x0, y1 - y0) == pytest.approx((oval.length, oval.width))


def test_length_and_area_agree_with_geos_on_chords(oval: Oval) -> None:
    polygon = shapely.Polygon(oval_outline(oval).chords(1e-4))
    assert oval_outline(oval).area == pytest.approx(polygon.area, rel=1e-5)
    assert exact_length(oval) == pytest.approx(polygon.length, rel=1e-5)


def test_its_points_lie_on_it(oval: Oval) -> None:
    points, normals = exact_points(oval, 500)
    assert np.abs(oval_outline(oval).signed_distance(points)).max() < 1e-9
    assert np.hypot(*normals.T) == pytest.approx(np.ones(500))


def test_its_parallels_are_exact(oval: Oval) -> None:
    from core.geometry.parallels.parallel import parallel

    for distance in (8.0, -0.5 * least_radius(oval)):
        assert deviation(oval, distance, parallel(oval_outline(oval), distance)) < 1e-9


def test_other_sizes_than_its_own_are_refused(oval: Oval) -> None:
    with pytest.raises(ImpossibleOvalError, match="a measured outline has its own length"):
        check_oval(Oval(Family.MEASURED, oval.length + 1.0, oval.width, vertices=oval.vertices))
    with pytest.raises(ImpossibleOvalError, match="there is no measured outline yet"):
        check_oval(Oval(Family.MEASURED, 200.0, 120.0))


def test_an_outline_that_crosses_itself_is_refused() -> None:
    bow = ((-100.0, -50.0, 0.0), (100.0, 50.0, 0.0), (100.0, -50.0, 0.0), (-100.0, 50.0, 0.0))
    with pytest.raises(ImpossibleOvalError, match="crosses itself"):
        check_oval(Oval(Family.MEASURED, 200.0, 100.0, vertices=bow))


@pytest.mark.parametrize("vertices", [(), ((0.0, 0.0, 1.0),)])
def test_an_outline_of_no_or_one_vertex_is_refused(vertices: Vertices) -> None:
    with pytest.raises(ImpossibleOvalError, match="fewer than two vertices"):
        check_oval(Oval(Family.MEASURED, 200.0, 100.0, vertices=vertices))


def measured_project(insert: Insert) -> Project:
    project = two_piece(insert)
    new = Insert("new", Family.OBROUND, insert.length + 6.0, insert.width + 4.0, insert.rim, 58.0)
    return replace(project, new_insert=new)


@pytest.mark.parametrize("mode", list(Mode))
def test_a_housing_is_resized_from_it_and_to_it(insert: Insert, mode: Mode) -> None:
    away = evaluate(replace(measured_project(insert), choices=Choices(mode=mode)))
    back = evaluate(replace(away.project, old_insert=away.project.new_insert, new_insert=insert))
    for result in (away, back):
        assert result.findings
        assert result.after.base.slabs


def test_its_housing_is_exported_and_reads_back(insert: Insert, tmp_path: Path) -> None:
    report = export(evaluate(two_piece(insert)), tmp_path, versions=(DxfVersion.R2010,), with_old=False)
    assert report.rings
    assert report.worst_mm < 1e-3


def test_an_outline_with_a_vertex_twice_is_refused() -> None:
    square = ((-100.0, -50.0, 0.0), (100.0, -50.0, 0.0), (100.0, -50.0, 0.5), (100.0, 50.0, 0.0), (-100.0, 50.0, 0.0))
    with pytest.raises(ImpossibleOvalError, match="neighbouring vertices"):
        check_oval(Oval(Family.MEASURED, 200.0, 100.0, vertices=square))
