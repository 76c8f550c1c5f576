"""Bearing over the spread of an insert's sizes: by hand, and by GEOS on inserts drawn from within it."""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING

import msgspec
import numpy as np
import pytest
from msgspec.structs import replace

from core.fit.case import Case
from core.fit.checks.bearing import check
from core.fit.gaps import gap_profiles
from core.geometry.ovals.ovals import Family, check_oval
from core.metal.slabs import resolve
from core.part.insert import PlusMinus, rim_outlines
from core.resize.resize import resize
from core.words.errors import UserError
from core.words.lengths import Style, shower
from tests.core.fit.checks.test_bearing_wild import TOLERANCE, Second
from tests.support.wild import wild_project

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from core.part.insert import Insert
    from core.part.project import Project
    from core.words.ends import End

    CaseOf = Callable[[Project], Case]

MM = shower(Style.MM)
PUSHED = "narrowest bearing, pushed over, base"


def test_by_hand_a_smaller_insert_is_pushed_further_and_its_rim_may_be_narrower(
    round_project: Project, case_of: CaseOf
) -> None:
    base = round_project.housing.base
    base = replace(base, lip=replace(base.lip, width=0.3, height=0.0))  # the floor ends at the opening, 38.9 from 0
    exact = replace(round_project, housing=replace(round_project.housing, base=base))
    # Pushed by 0.8 the far side of the rim's inner edge comes to 39.2: all of its 10 mm bear.
    assert {f.name: f.value for f in check(case_of(exact))}[PUSHED] == pytest.approx(10.0)
    insert = replace(exact.new_insert, plus_minus=PlusMinus(length=0.6, width=0.6, rim_width=0.2))
    found = {f.name: f for f in check(case_of(replace(exact, new_insert=insert)))}
    # 99.4 across and 9.8 wide, pushed by 0.8 + 0.3: the inner edge comes to 49.7 − 9.8 − 1.1 = 38.8, 0.1 over the hole.
    assert found[PUSHED].value == pytest.approx(9.7, abs=1e-3)
    assert found["narrowest bearing, centred, base"].value == pytest.approx(9.8)
    assert "with the spread of the sizes; 10.00 mm without" in found[PUSHED].advice.show(MM)


def test_by_hand_a_larger_insert_rides_further_up_on_the_fillet(round_project: Project, case_of: CaseOf) -> None:
    base = round_project.housing.base
    base = replace(base, seat=replace(base.seat, corner_radius=1.0))
    insert = replace(round_project.new_insert, plus_minus=PlusMinus(length=0.6, width=0.6))
    project = replace(round_project, new_insert=insert, housing=replace(round_project.housing, base=base))
    found = {f.name: f.value for f in check(case_of(project))}
    # Centred, the gap of 0.8 leaves 0.2 of the fillet under each edge; 0.3 larger it is 0.5 under the outer one, none
    # under the inner one; 0.3 smaller the other way about.
    assert found["narrowest bearing, centred, base"] == pytest.approx(9.5)


def with_spread(seed: int) -> Case:
    rng = np.random.default_rng(seed)
    project = wild_project(seed)
    spread = PlusMinus(*rng.uniform(0.0, [0.8, 0.8, 0.0, 0.4]).tolist())
    insert = replace(project.new_insert, plus_minus=spread)
    resized = resize(project.housing, project.old_insert, insert, project.choices, project.limits)
    before, after = resolve(project.housing, project.old_insert), resolve(resized.housing, insert)
    return Case(replace(project, new_insert=insert), before, after, gap_profiles(after, after))


def drawn(rng: np.random.Generator, insert: Insert, end: End) -> Iterator[Insert]:
    """Inserts from within the spread: corners of its box, then any; what can't be is passed over."""
    spread = insert.plus_minus
    corners = [(-1.0, -1.0, -1.0), (1.0, 1.0, -1.0), (-1.0, 1.0, -1.0), (1.0, -1.0, 1.0)]
    for part in np.concatenate((corners, rng.uniform(-1.0, 1.0, (2, 3)))):
        length, width, rim = part * (spread.length, spread.width, spread.rim_width)
        if insert.family is Family.CIRCLE:
            length = width = part[0] * max(spread.length, spread.width)
        own = insert.rim_at(end)
        made = replace(insert, length=insert.length + length, width=insert.width + width, lid_rim=None)
        made = replace(made, rim=replace(own, width=own.width + rim))
        try:
            check_oval(made.free_oval)
            rim_outlines(made, end)
        except UserError:
            continue
        yield made


def compared(seed: int) -> int:
    """How many inserts were compared."""
    case = with_spread(seed)
    said = {f.name: f for f in check(case)}
    count = 0
    for resolved in case.after.pieces:
        piece = case.housing.piece(resolved.end)
        assert piece is not None
        centred, pushed = (said[f"narrowest bearing, {how}, {resolved.end}"] for how in ("centred", "pushed over"))
        at_once = Second.of(case, resolved, piece)
        for finding in (centred, pushed):  # what is said is there: a rim's normal, with so much of it on the floor
            line = np.array([finding.place.point, finding.place.other])
            assert at_once.length(line) == pytest.approx(finding.value, abs=TOLERANCE), (seed, finding.name)
            narrower = at_once.width - float(np.hypot(*(line[1] - line[0])))
            assert -1e-6 <= narrower <= case.insert.plus_minus.rim_width + 1e-6
        if case.insert.family is Family.MEASURED:
            continue  # told near enough: its arcs keep their sweep
        for insert in drawn(np.random.default_rng(seed), case.insert, resolved.end):
            outer, inner = rim_outlines(insert, resolved.end)
            curves = msgspec.structs.replace(resolved.curves, rim_outer=outer, rim_inner=inner)
            own = msgspec.structs.replace(case, project=replace(case.project, new_insert=insert))
            second = Second.of(own, msgspec.structs.replace(resolved, curves=curves), piece)
            angles = np.arange(24) * (pi / 12.0)
            travels = np.array([second.travel(float(angle)) for angle in angles])
            shifts = travels[:, None] * np.column_stack((np.cos(angles), np.sin(angles)))
            assert second.narrowest(np.zeros((1, 2))) >= centred.value - TOLERANCE, (seed, resolved.end)
            assert second.narrowest(shifts) >= pushed.value - TOLERANCE, (seed, resolved.end)
            count += 1
    return count


def test_a_floor_that_an_old_seat_opened_gets_an_answer_though_a_new_pattern_is_made() -> None:
    assert compared(2238)


@pytest.mark.parametrize("part", range(4))
def test_no_insert_within_its_spread_bears_less_than_is_said(part: int) -> None:
    assert sum(compared(seed) for seed in range(300 + 3 * part, 303 + 3 * part)) >= 4


@pytest.mark.hard
@pytest.mark.parametrize("part", range(40))
def test_no_insert_within_its_spread_bears_less_than_is_said_in_many(part: int) -> None:
    assert sum(compared(seed) for seed in range(2000 + 10 * part, 2010 + 10 * part)) >= 4
