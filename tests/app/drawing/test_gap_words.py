"""The gap in one line says what the profiles hold."""

from __future__ import annotations

import numpy as np
import pytest
from msgspec.structs import replace

from app.drawing.gap.words import gap_line
from core.evaluate import evaluate
from core.files.project.demos import load_demo
from core.fit.gaps import has_wall
from core.words.ends import Side


def _figure(mm: float) -> str:
    return f"{mm:.2f}"


def test_an_even_gap_is_one_value_and_says_where() -> None:
    gaps = evaluate(load_demo("compressor-intake")).gaps
    assert gap_line(gaps, _figure) == "Gap 0.80 all round, both walls, base and lid"
    ring = evaluate(load_demo("lens-ring"))
    walls = [gap for gap in ring.gaps if has_wall(ring.after.housing.piece(gap.end), gap.side)]
    assert gap_line(walls, _figure) == "Gap 1.00 all round, outer wall, base"


@pytest.mark.parametrize("off", [0.049, 0.2])
def test_an_uneven_gap_says_from_where_to_where_and_of_which_wall(off: float) -> None:
    gaps = tuple(
        replace(gap, gap=gap.gap + np.where(np.arange(len(gap.gap)) == 5, off, 0.0)) if gap.side is Side.OUTER else gap
        for gap in evaluate(load_demo("compressor-intake")).gaps
    )
    uneven = "Gap 0.80 to 1.00, outer wall; 0.80, inner wall"
    assert gap_line(gaps, _figure) == (uneven if off > 0.05 else "Gap 0.82 all round, both walls, base and lid")


def test_no_wall_is_left() -> None:
    assert gap_line((), _figure) == "Gap: none is left"
