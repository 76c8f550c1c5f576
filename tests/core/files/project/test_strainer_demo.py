"""Demo 3 from scratch: an old outline file in inches becomes a housing, calliper readings become its new insert."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pyogrio
import pytest

from core.evaluate import evaluate
from core.features.crossbar import Crossbar
from core.features.lug import Lug
from core.files.project.demos import FOLDER, load_demo
from core.geometry.ovals.ovals import Family
from core.measure.drawing.loops.nest import find_loops
from core.measure.drawing.reading.read import read_drawing
from core.measure.drawing.results import DrawingUnit, Fault
from core.measure.readings.results import Decision
from core.measure.sources import insert_study
from core.part.readings import Origin, SizeName
from core.words.verdicts import Verdict
from tests.support import strainer
from tests.support.strainer import INCH, NEW, OLD

if TYPE_CHECKING:
    from core.part.project import Project

DRAWING = FOLDER / "pump-strainer.dxf"


@pytest.fixture(scope="module")
def project() -> Project:
    return strainer.recovered(DRAWING)


def test_what_ships_is_what_the_recovery_makes(project: Project) -> None:
    assert DRAWING.read_text(encoding="ascii") == strainer.drawing_text()
    assert load_demo("pump-strainer") == project


def test_an_independent_reader_finds_as_many_strokes() -> None:
    drawing = read_drawing(DRAWING)
    assert drawing.unit is DrawingUnit.INCH
    _, _, shapes, _ = pyogrio.raw.read(DRAWING)
    assert len(drawing.strokes) == len(shapes)


def test_faults_of_the_file_are_told() -> None:
    loops = find_loops(read_drawing(DRAWING), DrawingUnit.INCH)
    faults = [trouble.fault for trouble in loops.troubles]
    assert faults.count(Fault.DOUBLE) == 1
    assert faults.count(Fault.STRAY) == 1
    gaps = [trouble.size for trouble in loops.troubles if trouble.fault is Fault.GAP]
    assert gaps == pytest.approx([strainer.SHORT * INCH] * len(gaps), abs=1e-4)
    assert gaps


def test_the_old_sizes_are_recovered_within_the_files_digits(project: Project) -> None:
    old, base = project.old_insert, project.housing.base
    digit = 1e-6 * INCH * 50.0  # of the file, and what corner and radius fits make of it
    assert old.family is Family.FOUR_ARC
    assert (old.length, old.width) == pytest.approx((OLD.length, OLD.width), abs=digit)
    assert old.end_radius == pytest.approx(OLD.end_radius, abs=digit)
    assert old.rim.width == pytest.approx(OLD.rim.width, abs=digit)
    assert base.wall == pytest.approx(0.3125 * INCH, abs=digit)
    assert base.lip.width == pytest.approx(0.25 * INCH, abs=digit)
    (bar,) = (feature for feature in base.features if isinstance(feature, Crossbar))
    assert bar.width == pytest.approx(0.75 * INCH, abs=digit)
    lugs = [feature for feature in base.features if isinstance(feature, Lug)]
    assert len(lugs) == 4
    for lug in lugs:
        sizes = (abs(lug.x), abs(lug.y), lug.hole, lug.pad)
        assert sizes == pytest.approx((4.25 * INCH, 2.6875 * INCH, 0.25 * INCH, 0.875 * INCH), abs=1e-3)


def test_the_readings_decide_the_family_and_hold_the_true_sizes(project: Project) -> None:
    new = project.new_insert
    found = insert_study(new)
    assert found.ranking.decision is Decision.DECIDED
    assert found.ranking.fits[0].family is Family.FOUR_ARC
    for size, true in ((SizeName.LENGTH, NEW.length), (SizeName.WIDTH, NEW.width)):
        estimate = found.size(size)
        assert estimate is not None
        assert abs(estimate.value - true) <= estimate.expanded
        source = new.source(size)
        assert source is not None
        assert source.origin is Origin.READINGS


def test_it_is_resized_and_proved(project: Project) -> None:
    result = evaluate(project)
    assert result.overall is not Verdict.NO_GO
    assert not result.conflicts


def test_the_file_lies_beside_the_demo() -> None:
    assert Path(DRAWING).is_file()
