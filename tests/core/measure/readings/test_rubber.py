from __future__ import annotations

import pytest

from core.measure.readings.rubber import tolerance
from core.part.readings import RubberClass

# ISO 3302-1 table 1 as two suppliers' copies print it, both alike: up to, then F and C of M1, M2, M3, and M4 (both).
TABLE = """
4.0   0.08 0.10  0.10 0.15  0.25 0.40  0.50
6.3   0.10 0.12  0.15 0.20  0.25 0.40  0.50
10    0.10 0.15  0.20 0.20  0.30 0.50  0.70
16    0.15 0.20  0.20 0.25  0.40 0.60  0.80
25    0.20 0.20  0.25 0.35  0.50 0.80  1.00
40    0.20 0.25  0.35 0.40  0.60 1.00  1.30
63    0.25 0.35  0.40 0.50  0.80 1.30  1.60
100   0.35 0.40  0.50 0.70  1.00 1.60  2.00
160   0.40 0.50  0.70 0.80  1.30 2.00  2.50
"""
PERCENT = (0.3, 0.4, 0.5, 0.7, 0.8, 1.3, 1.5)
COLUMNS = [
    (RubberClass.M1, False), (RubberClass.M1, True), (RubberClass.M2, False), (RubberClass.M2, True),
    (RubberClass.M3, False), (RubberClass.M3, True), (RubberClass.M4, False),
]  # fmt: skip
ROWS = [[float(cell) for cell in line.split()] for line in TABLE.split("\n") if line]


@pytest.mark.parametrize("column", range(7), ids=lambda i: f"{COLUMNS[i][0]} {'closure' if COLUMNS[i][1] else 'fixed'}")
def test_every_cell_holds_over_its_whole_range_of_sizes(column: int) -> None:
    rubber, is_closure = COLUMNS[column]
    over = 0.0
    for up_to, *cells in ROWS:
        for size in (over + 1e-6, (over + up_to) / 2.0, up_to):
            assert tolerance(size, rubber, is_closure=is_closure) == cells[column]
        over = up_to
    for size in (160.001, 212.0, 900.0):
        assert tolerance(size, rubber, is_closure=is_closure) == pytest.approx(size * PERCENT[column] / 100.0)


def test_the_coarsest_class_makes_no_difference_of_the_parting() -> None:
    for size in (3.0, 14.0, 150.0, 400.0):
        assert tolerance(size, RubberClass.M4) == tolerance(size, RubberClass.M4, is_closure=True)


def test_worked_sizes_of_an_insert_in_the_normal_class() -> None:
    # Worked from the table: a rim 14 high across the parting, and a rim 212 long.
    assert tolerance(14.0, RubberClass.M3, is_closure=True) == 0.60
    assert tolerance(212.0, RubberClass.M3) == pytest.approx(1.70, abs=0.005)


@pytest.mark.parametrize("size", [0.0, -1.0])
def test_a_size_that_is_none_has_no_tolerance(size: float) -> None:
    with pytest.raises(ValueError, match="positive"):
        tolerance(size, RubberClass.M3)
