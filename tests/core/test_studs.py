"""Stud tables and lengths against the standards that print them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from core.housing import Faces, Housing, Stop, Stud, Thread
from core.insert import Insert, Rim
from core.new_part import two_piece
from core.ovals import Family
from core.studs import (
    CLEARANCE_MM,
    NUT_MM,
    PITCH_MM,
    TAP_DRILL_MM,
    WASHER_MM,
    followed_length,
    next_standard,
    stud_stack,
)


@pytest.mark.parametrize(
    ("thread", "clearance", "nut", "washer", "pitch"),
    [
        pytest.param(Thread.M6, 6.6, 5.2, 1.6, 1.0, id="M6: ISO 273 medium, ISO 4032, ISO 7089"),
        pytest.param(Thread.M8, 9.0, 6.8, 1.6, 1.25, id="M8: ISO 273 medium, ISO 4032, ISO 7089"),
        pytest.param(Thread.M12, 13.5, 10.8, 2.5, 1.75, id="M12: ISO 273 medium, ISO 4032, ISO 7089"),
    ],
)
def test_tables_as_printed(thread: Thread, clearance: float, nut: float, washer: float, pitch: float) -> None:
    assert (CLEARANCE_MM[thread], NUT_MM[thread], WASHER_MM[thread], PITCH_MM[thread]) == (
        clearance,
        nut,
        washer,
        pitch,
    )


@pytest.mark.parametrize(
    ("thread", "drill"),
    [(Thread.M3, 2.5), (Thread.M4, 3.3), (Thread.M5, 4.2), (Thread.M6, 5.0), (Thread.M10, 8.5)],
)
def test_tapping_drills_are_diameter_less_pitch(thread: Thread, drill: float) -> None:
    """Usual coarse tapping drills (from memory)."""
    assert TAP_DRILL_MM[thread] == pytest.approx(drill)


def _housing(distance: float) -> Housing:
    project = two_piece(Insert("i", Family.OBROUND, 212.0, 134.0, Rim(14.0, 9.0), 58.0))
    return replace(project.housing, faces=Faces(Stop.SPACER, distance))


def test_the_stack_adds_up_as_on_paper() -> None:
    """Engagement 2 d in aluminium, faces, lid, washer, nut, one thread (common practice): added by hand."""
    housing = _housing(34.0)
    assert housing.lid is not None
    stud = Stud("s", 0.0, 0.0, Thread.M6, 70.0, 18.0)
    stack = stud_stack(housing, stud, engagement=2.0, threads_showing=1.0)
    assert stack.length == pytest.approx(12.0 + 34.0 + housing.lid.thickness + 1.6 + 5.2 + 1.0)


@pytest.mark.parametrize(
    ("need", "length"),
    [(9.0, 10.0), (60.0, 60.0), (60.01, 65.0), (68.8, 70.0), (71.0, 80.0), (161.0, 180.0), (505.0, 520.0)],
)
def test_next_standard_length(need: float, length: float) -> None:
    """Nominal lengths of ISO 888 (from memory): by 5 to 70, by 10 to 160, by 20 above."""
    assert next_standard(need) == length


@given(st.floats(12.0, 400.0), st.floats(-30.0, 30.0), st.integers(0, 3))
def test_a_stud_goes_there_and_back_again(need: float, by: float, longer: int) -> None:
    length = next_standard(need)
    for _ in range(longer):
        length = next_standard(length + 0.1)
    now = max(need + by, 10.0)
    assert followed_length(followed_length(length, need, now), now, need) == length


@given(st.floats(12.0, 400.0), st.floats(0.0, 60.0))
def test_a_stud_that_served_serves_again(need: float, by: float) -> None:
    assert followed_length(next_standard(need), need, need + by) >= need + by - 1e-9
