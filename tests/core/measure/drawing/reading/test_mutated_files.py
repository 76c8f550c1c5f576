"""Files with random damage: each is read or refused in words, and what was read is looked through to its end."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from core.measure.drawing.housing.roles import sort_loops
from core.measure.drawing.loops.nest import find_loops
from core.measure.drawing.reading.read import read_drawing
from core.measure.drawing.results import DrawingUnit
from core.measure.drawing.said import fault_remarks, remarks_on
from core.words.errors import FileError
from tests.core.measure.drawing.dxf_text import Pairs, block, entity, header, insert, line, section, write

if TYPE_CHECKING:
    from pathlib import Path

_POINTS = '# N E\n"Northing [mm]","Easting [mm]"\n"0,5","0,5"\n0,120\n80,"120,25"\n"80,1",0\n\n5;5\n9;5\n9;9\n'
_SPLICES = (b"1e308", b"-1", b"nan", b"99999999999999999999", b"\n", b"0\n", b'"', b",", b"\xff", b"LAYER", b"")


def _dxf(path: Path) -> bytes:
    turn = 2.0 * np.pi * np.arange(12) / 12
    fit = [pair for t in turn for pair in ((11, 100.0 * np.cos(t)), (21, 70.0 * np.sin(t)))]
    states = (("A", 1, 7), ("B", 0, -7))
    layers: list[Pairs] = [[(0, "LAYER"), (2, name), (70, flags), (62, colour)] for name, flags, colour in states]
    rows = [(10, 0.0), (20, 0.0), (42, 1.0), (10, 60.0), (20, 0.0), (42, 1.0)]
    sides = ((-150, -99, 150, -99), (150, -99, 150, 99.006), (150, 99, -150, 99), (-150, 99.004, -150, -99))
    entities = [
        entity("SPLINE", (70, 9), (71, 3), *fit),
        entity("LWPOLYLINE", (90, 2), (70, 1), (43, 0.5), *rows),
        entity("LWPOLYLINE", (90, 2), (70, 1), *((code, value + 0.004) for code, value in rows)),
        insert("K", 5, 5, layer="B"),
        insert("K", 200, 5, (41, 2), (42, 3)),
        *(line(*side) for side in sides),
        entity("POLYLINE", (70, 1)),
        *(entity("VERTEX", (10, x), (20, x * x), (40, 1)) for x in (0, 1, 2)),
        entity("ARC", (10, 0), (20, 0), (40, 20), (50, 0), (51, 359.99)),
    ]
    tables = section("TABLES", [(0, "TABLE"), (2, "LAYER")], *layers, [(0, "ENDTAB")])
    blocks = section("BLOCKS", block("K", entity("CIRCLE", (10, 3), (20, 4), (40, 5)), line(0, 0, 9, 9, "A")))
    write(path, header(INSUNITS=(70, 4)), tables, blocks, section("ENTITIES", *entities))
    return path.read_bytes()


def _damaged(data: bytes, rng: np.random.Generator) -> bytes:
    """Some lines replaced, left out in pairs or written twice; now and then bytes anywhere."""
    lines = [*data.split(b"\n"), b"", b""]
    for _ in range(int(rng.integers(1, 8))):
        at = 2 * int(rng.integers(0, max(1, len(lines) // 2)))
        what = int(rng.integers(0, 4)) if len(lines) > 4 else 3
        if what < 2:
            lines[at + 1] = _SPLICES[int(rng.integers(0, len(_SPLICES)))].replace(b"\n", b"")
        else:
            lines[at : at + 2] = lines[at : at + 2] * (0 if what == 2 else 2)
    data = b"\n".join(lines)
    if rng.random() < 0.2:
        at = int(rng.integers(0, len(data)))
        data = data[:at] + _SPLICES[int(rng.integers(0, len(_SPLICES)))] + data[at + int(rng.integers(0, 12)) :]
    return data


def _look_through(path: Path, rng: np.random.Generator) -> bool:
    """Whether a file was read; then all that follows must come to an end."""
    try:
        drawing = read_drawing(path)
    except FileError:
        return False
    for unit in (drawing.unit or drawing.guess, DrawingUnit.METRE):
        found = sort_loops(find_loops(drawing, unit, float(10.0 ** rng.uniform(-4.0, 1.0))))
        for remark in (*fault_remarks(found), *remarks_on(drawing, found, unit)):
            assert remark.text.endswith(".")
            assert remark.at is None or np.isfinite(remark.at).all()
    return True


def _trial(tmp_path: Path, seed: int) -> bool:
    rng = np.random.default_rng(seed)
    if seed % 3 == 0:
        path = tmp_path / "a.csv"
        data = _POINTS.encode()
    else:
        path = tmp_path / "a.dxf"
        data = _dxf(path)
    path.write_bytes(_damaged(data, rng))
    return _look_through(path, rng)


@pytest.mark.filterwarnings("ignore::RuntimeWarning")
def test_damaged_files_are_read_or_refused_in_words(tmp_path: Path) -> None:
    # A good part is still read: the damage is not so bad that nothing but refusals would be tried.
    assert sum(_trial(tmp_path, seed) for seed in range(36)) > 8


@pytest.mark.hard
@pytest.mark.filterwarnings("ignore::RuntimeWarning")
def test_thousands_of_damaged_files_are_read_or_refused_in_words(tmp_path: Path) -> None:
    assert sum(_trial(tmp_path, seed) for seed in range(2000)) > 400
