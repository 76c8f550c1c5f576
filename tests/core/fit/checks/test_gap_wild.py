"""Gaps over the spread of the sizes, in wild projects: inserts drawn from within it, measured by shapely on chords."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely
from msgspec.structs import replace

from core.fit.case import Case
from core.fit.checks.gap import check
from core.fit.gaps import gap_profiles
from core.fit.seat.extremes import at_the_end
from core.geometry.ovals.ovals import Family, check_oval
from core.metal.slabs import resolve
from core.part.insert import PlusMinus, rim_outlines
from core.resize.resize import resize
from core.words.ends import Side
from core.words.errors import UserError
from tests.support.wild import wild_project

if TYPE_CHECKING:
    from collections.abc import Iterator

    from core.geometry.lines.outline import Outline
    from core.part.insert import Insert
    from core.words.ends import End

CHORD = 1e-3
NEAR = 5e-3


def drawn(rng: np.random.Generator, insert: Insert, end: End, count: int) -> Iterator[tuple[bool, Insert]]:
    """Inserts from within the spread, and whether each stands at one of its corners; what can't be is passed over."""
    spread = insert.plus_minus
    corners = np.array(np.meshgrid(*[(-1.0, 1.0)] * 3)).reshape(3, -1).T
    for i, part in enumerate(np.concatenate((corners, rng.uniform(-1.0, 1.0, (count, 3))))):
        length, width, rim = part * (spread.length, spread.width, spread.rim_width)
        if insert.family is Family.CIRCLE:
            length = width = part[0] * max(spread.length, spread.width)
        own = insert.rim_at(end)
        wider = replace(own, width=own.width + rim)
        made = replace(insert, length=insert.length + length, width=insert.width + width, rim=wider, lid_rim=None)
        try:
            check_oval(made.free_oval)
            rim_outlines(made, end)
        except UserError:
            continue
        yield i < len(corners), made


def clear(edge: Outline, wall: Outline, side: Side) -> tuple[float, float]:
    line = shapely.LinearRing(wall.chords(CHORD))
    body = shapely.Polygon(line)
    shapely.prepare([line, body])
    points = shapely.points(np.array(shapely.LinearRing(edge.chords(CHORD)).segmentize(1.0).coords))
    away = shapely.distance(line, points)
    clearance = np.where(shapely.contains(body, points) == (side is Side.OUTER), away, -away)
    return float(clearance.min()), float(clearance.max())


def with_spread(seed: int) -> tuple[np.random.Generator, Case] | None:
    rng = np.random.default_rng(seed)
    project = wild_project(seed)
    spread = PlusMinus(*rng.uniform(0.0, [0.9, 0.9, 0.0, 0.4]).tolist())
    insert = replace(project.new_insert, plus_minus=spread)
    try:
        for sign in (-1.0, 1.0):
            at_the_end(insert, sign)
    except UserError:
        return None  # narrower than its spread: told to the first order only
    resized = resize(project.housing, project.old_insert, insert, project.choices, project.limits)
    before, after = resolve(project.housing, project.old_insert), resolve(resized.housing, insert)
    return rng, Case(replace(project, new_insert=insert), before, after, gap_profiles(after, after))


def compared(seed: int) -> int:
    """How many walls were compared."""
    made = with_spread(seed)
    if made is None or made[1].project.new_insert.family is Family.MEASURED:
        return 0
    rng, case = made
    said = {f.name: f for f in check(case)}
    count = 0
    for profile in case.gaps:
        piece = case.after.piece(profile.end)
        assert piece is not None
        wall = piece.walls[profile.side is Side.INNER]
        name = next((n for n in said if n.startswith("least") and "developed" not in n and is_at(n, profile.end,
                     profile.side, case)), "")  # fmt: skip
        if not name or profile.there is not None or profile.cut is not None:
            continue  # no such wall, or not all of it
        at_corners: list[tuple[float, float]] = []
        for is_corner, insert in drawn(rng, case.project.new_insert, profile.end, 2):
            edge = rim_outlines(insert, profile.end)[profile.side is Side.INNER]
            found = clear(edge, wall, profile.side)
            at_corners += [found] if is_corner else []
            assert found[0] >= said[name].value - NEAR, (seed, name)
            assert found[1] <= said[name.replace("least", "greatest", 1)].value + NEAR, (seed, name)
        if len(at_corners) == 8:
            assert min(f[0] for f in at_corners) == pytest.approx(said[name].value, abs=NEAR), (seed, name)
            greatest = said[name.replace("least", "greatest", 1)]
            assert max(f[1] for f in at_corners) == pytest.approx(greatest.value, abs=NEAR), (seed, name)
            count += 1
    return count


def is_at(name: str, end: End, side: Side, case: Case) -> bool:
    return name.endswith(f"{side} wall") and (case.after.lid is None or f"{end}'s" in name)


@pytest.mark.parametrize("part", range(6))
def test_no_insert_within_its_spread_has_a_gap_outside_what_is_said(part: int) -> None:
    assert sum(compared(seed) for seed in range(10 * part, 10 * part + 10)) >= 5


@pytest.mark.hard
@pytest.mark.parametrize("part", range(40))
def test_no_insert_within_its_spread_has_a_gap_outside_what_is_said_in_2000(part: int) -> None:
    assert sum(compared(seed) for seed in range(1000 + 50 * part, 1050 + 50 * part)) >= 25
