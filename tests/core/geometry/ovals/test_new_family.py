"""A new kind of oval is one file and one line: shown in a copy of the program."""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[4]

SOFT = '''"""A rectangle whose corners' radius is always three quarters of half the width."""

from core.geometry.ovals.families.kind import Shape
from core.geometry.ovals.families.obround import Obround


class Soft(Obround):
    """It has no size of its own."""

    words = "soft rectangle"
    names = ("soft",)
    special_cases = (Obround,)

    def radius(self, shape: Shape) -> float:
        return 0.75 * shape.b

    def is_circle(self, shape: Shape) -> bool:
        return False

    def support_rates(self, shape, c, s):
        return c, 0.75 + 0.25 * s - 0.75 * c, 0.0 * c
'''
ALL_OF_IT = """
import numpy as np
from core.geometry.ovals.distances import deviation
from core.geometry.ovals.ovals import Family, Oval, exact_points, least_radius, oval_outline
from core.measure.drawing.ovals.recover import recover
from core.measure.readings.quantities import oval_table
from core.measure.readings.predict import predicted
from core.measure.readings.ranking import rank
from core.measure.scan.sizes.fit import fit_edge
from core.part.readings import Reading, ReadingKind as K, Readings

oval = Oval(Family.SOFT, 240.0, 150.0)
assert deviation(oval, 3.0, oval_outline(Oval(Family.SOFT, 246.0, 156.0))) > 0.1
assert deviation(oval, 0.0, oval_outline(oval)) < 1e-9
assert least_radius(oval) == 56.25
points = exact_points(oval, 500)[0]
found = fit_edge(points @ np.array([[0.8, 0.6], [-0.6, 0.8]]) + (30.0, 20.0))
assert found.family is Family.SOFT, found.family
assert abs(found.oval.width - 150.0) < 1e-4
found = recover(oval_outline(oval).turned(0.4))
assert found.oval.family is Family.SOFT and abs(found.oval.length - 240.0) < 1e-5, found
rows = [Reading(K.LENGTH), Reading(K.WIDTH), Reading(K.TAPE, along=0.0), Reading(K.WIDTH_AT, along=95.0)]
rows += [Reading(K.JAWS, angle=angle) for angle in (30.0, 45.0, 60.0)]
readings = Readings(("a",), tuple(Reading(r.kind, (predicted(oval, r),), angle=r.angle, along=r.along) for r in rows))
fit = rank(readings, oval_table(readings)).of(Family.SOFT)
assert fit.worst < 1e-4 and fit.is_possible
"""


@pytest.fixture(scope="module")
def tree(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the program with one more kind of oval."""
    tree = tmp_path_factory.mktemp("tree")
    for name in ("core", "app", "assets"):
        shutil.copytree(ROOT / name, tree / name, ignore=shutil.ignore_patterns("__pycache__"))
    (tree / "core/geometry/ovals/families/soft.py").write_text(SOFT, encoding="utf-8")
    ovals = tree / "core/geometry/ovals/ovals.py"
    text = ovals.read_text(encoding="utf-8")
    after = "from core.geometry.ovals.families.rounded_rectangle import RoundedRectangle\n"
    line = '    ROUNDED_RECTANGLE = "rounded_rectangle", RoundedRectangle()\n'
    text = text.replace(after, f"{after}from core.geometry.ovals.families.soft import Soft\n")
    ovals.write_text(text.replace(line, f'    SOFT = "soft", Soft()\n{line}'), encoding="utf-8")
    return tree


def run(tree: Path, *arguments: str) -> str:
    """What a command of the copy prints."""
    done = subprocess.run(
        [sys.executable, *arguments],
        cwd=tree,
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=120,
        check=False,
    )
    assert "Traceback" not in done.stderr, done.stderr
    assert not done.stderr or done.returncode < 2, done.stderr
    return done.stdout


def test_one_file_and_one_line_make_a_family_that_is_found_in_drawings_scans_and_readings(tree: Path) -> None:
    run(tree, "-c", ALL_OF_IT)


def test_the_commands_know_it(tree: Path, tmp_path: Path) -> None:
    demo = str(tree / "assets/demos/pump-strainer.json")
    sets = ("--set", "new_insert.family=soft", "--set", "old_insert.family=soft")
    assert json.loads(run(tree, "-m", "app", "check", demo, *sets, "--json"))
    run(tree, "-m", "app", "export", demo, *sets, "--to", str(tmp_path / "out"))
    assert list((tmp_path / "out").glob("*.dxf"))
