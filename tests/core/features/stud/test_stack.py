"""Stud tables and lengths against the standards that print them."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from core.features.stud.engagement import ENGAGEMENT, engagement_of
from core.features.stud.kinds import KINDS, STANDARD, STANDARD_LENGTHS_MM, StudKind, nut_thread
from core.features.stud.stack import followed_length, stud_stack
from core.features.stud.stud import Stud
from core.features.stud.threads import CLEARANCE_MM, NUT_MM, PITCH_MM, TAP_DRILL_MM, WASHER_MM, Thread
from core.geometry.ovals.ovals import Family
from core.new.part import two_piece
from core.part.housing import Faces, Housing, MetalKind, Stop
from core.part.insert import Insert, Rim
from core.part.project import Limits


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
    stack = stud_stack(housing, stud, Limits(engagement=2.0, threads_showing=1.0))
    assert stack.length == pytest.approx(12.0 + 34.0 + housing.lid.thickness + 1.6 + 5.2 + 1.0)


# ISO 4014:2011, table of preferred hexagon bolts, lengths l; the first ones are ISO 4017's (from memory).
ISO_4014: tuple[int, ...] = (
    12,
    16,
    20,
    25,
    30,
    35,
    40,
    45,
    50,
    55,
    60,
    65,
    70,
    80,
    90,
    100,
    110,
    120,
    130,
    140,
    150,
    160,
    180,
    200,
)
# DIN 938:1995, table 1, lengths l without those in brackets.
DIN_938: tuple[int, ...] = (
    12,
    16,
    20,
    25,
    30,
    35,
    40,
    45,
    50,
    55,
    60,
    65,
    70,
    75,
    80,
    90,
    100,
    110,
    120,
    130,
    140,
    150,
    160,
    170,
    180,
)
DIN_938 += (190, 200)


def test_the_standard_lengths_are_those_that_bolts_and_studs_have_in_common() -> None:
    ours = [length for length in STANDARD_LENGTHS_MM if 12.0 <= length <= 200.0]
    assert ours == [length for length in ISO_4014 if length in DIN_938]
    assert {10.0, 12.0, 16.0, 20.0, 25.0, 30.0} < set(STANDARD_LENGTHS_MM)
    assert not {14.0, 15.0, 18.0, 22.0, 28.0} & set(STANDARD_LENGTHS_MM)


@pytest.mark.parametrize(
    ("need", "length"),
    [
        (9.0, 10.0),
        (10.1, 12.0),
        (12.5, 16.0),
        (60.0, 60.0),
        (60.01, 65.0),
        (68.8, 70.0),
        (71.0, 80.0),
        (161.0, 180.0),
        (505.0, 520.0),
    ],
)
def test_next_standard_length(need: float, length: float) -> None:
    assert STANDARD.next(need) == length


@pytest.mark.parametrize("need", [30.0, 30.2, 61.7])
def test_rod_is_cut_to_the_next_whole_millimetre(need: float) -> None:
    assert KINDS[StudKind.CUT_ROD].ladder.next(need) == np.ceil(need)


@pytest.mark.parametrize(
    ("kind", "ends"),
    [
        # DIN 938:1995, table 1, b1 for M4, M5, M6, M8, M10, M12.
        (StudKind.END_1_D, (4.0, 5.0, 6.0, 8.0, 10.0, 12.0)),
        # DIN 939:1995, table 1; those under M8 from memory.
        (StudKind.END_1_25_D, (5.0, 6.5, 7.5, 10.0, 12.0, 15.0)),
        # DIN 835 (from memory): 2 d.
        (StudKind.END_2_D, (8.0, 10.0, 12.0, 16.0, 20.0, 24.0)),
    ],
)
def test_screwed_in_ends_as_printed(kind: StudKind, ends: tuple[float, ...]) -> None:
    threads = (Thread.M4, Thread.M5, Thread.M6, Thread.M8, Thread.M10, Thread.M12)
    screwed_in = KINDS[kind].screwed_in
    assert screwed_in is not None
    assert tuple(screwed_in(thread) for thread in threads) == ends


@pytest.mark.parametrize(
    ("thread", "threads"),
    [(Thread.M6, (18, 24)), (Thread.M8, (22, 28)), (Thread.M10, (26, 32, 45)), (Thread.M12, (30, 36, 49))],
)
def test_thread_at_the_nut_as_printed(thread: Thread, threads: tuple[float, ...]) -> None:
    """DIN 938:1995, table 1, b2: up to 125 mm, up to 200 mm, above."""
    lengths = (125.0, 126.0, 201.0)
    assert [nut_thread(StudKind.END_1_D, thread, length) for length in lengths[: len(threads)]] == list(threads)


@pytest.mark.parametrize("kind", list(StudKind))
def test_a_length_without_its_end_leaves_the_whole_as_long_as_the_stack(kind: StudKind) -> None:
    stud = Stud("s", 0.0, 0.0, Thread.M8, 70.0, 18.0, kind=kind)
    stack = stud_stack(_housing(34.0), stud, Limits())
    assert stack.length + stack.uncounted == pytest.approx(stack.over_all)
    assert (stack.uncounted > 0.0) == ("without" in KINDS[kind].counts)


@pytest.mark.parametrize(
    ("metal", "factor"),
    [
        # The usual rule: 2 d in aluminium, 1.5 d in cast iron, brass and bronze (common practice).
        (MetalKind.ALUMINIUM, 2.0),
        (MetalKind.GREY_IRON, 1.5),
        (MetalKind.BRONZE, 1.5),
        (MetalKind.BRASS, 1.5),
        (MetalKind.NOT_STATED, 2.0),
    ],
)
def test_thread_wanted_goes_by_the_metal_and_the_users_limit_stands_over_it(metal: MetalKind, factor: float) -> None:
    alloy = replace(_housing(1.0).metal, kind=metal)
    assert engagement_of(alloy, Limits()) == factor
    assert engagement_of(alloy, Limits(engagement=1.2)) == 1.2
    # Studs for cast iron have an end of 1.25 d (DIN 939), for steel of 1 d (DIN 938): nothing cast wants less.
    assert factor >= 1.25
    assert ENGAGEMENT[metal].origin


@given(st.floats(12.0, 400.0), st.floats(-30.0, 30.0), st.floats(11.0, 400.0), st.sampled_from(list(StudKind)))
def test_any_stud_goes_there_and_back_again(need: float, by: float, length: float, kind: StudKind) -> None:
    """A length that is no standard one too: an old one on a ladder by fives, or one that was cut."""
    now = max(need + by, 10.0)
    stud = Stud("s", 0.0, 0.0, Thread.M6, length, 18.0, kind=kind)
    there = followed_length(stud, need, now)
    assert there > 0.0
    assert followed_length(replace(stud, length=there), now, need) == pytest.approx(length, abs=1e-9)


@given(st.floats(12.0, 400.0), st.floats(-30.0, 30.0), st.integers(0, 3))
def test_a_standard_stud_stays_a_standard_one(need: float, by: float, longer: int) -> None:
    length = STANDARD.next(need)
    for _ in range(longer):
        length = STANDARD.next(length + 0.1)
    stud = Stud("s", 0.0, 0.0, Thread.M6, length, 18.0)
    now = followed_length(stud, need, max(need + by, 12.0))
    assert STANDARD.has(now)


@given(st.floats(12.0, 400.0), st.floats(0.0, 60.0))
def test_a_stud_that_served_serves_again(need: float, by: float) -> None:
    stud = Stud("s", 0.0, 0.0, Thread.M6, STANDARD.next(need), 18.0)
    assert followed_length(stud, need, need + by) >= need + by - 1e-9
