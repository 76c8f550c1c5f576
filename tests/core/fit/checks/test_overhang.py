"""Metal that hangs over: named examples, columns sampled over random projects, and shapely's distances."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely
from msgspec.structs import replace

from core.evaluate import evaluate
from core.features.band import Band
from core.features.kind import Follows
from core.features.pocket import Pocket
from core.fit.checks.overhang import MOST_FINDINGS, check
from core.geometry.ovals.ovals import Family
from core.part.curve import HeldCurve
from core.part.project import Choices
from core.remedies import remedied
from core.words.errors import UserError
from core.words.lengths import Style, shower
from core.words.verdicts import Verdict
from tests.support.bases import with_base
from tests.support.columns import columns
from tests.support.wild import wild_project

if TYPE_CHECKING:
    from collections.abc import Callable

    from core.fit.case import Case
    from core.metal.slabs import ResolvedPiece
    from core.part.housing import Piece
    from core.part.project import Project

    CaseOf = Callable[[Project], Case]

MM = shower(Style.MM)


def smaller(project: Project, by: float) -> Project:
    """The same for an insert that is smaller all round: the outside comes in by as much."""
    insert = replace(project.new_insert, length=100.0 - 2.0 * by, width=100.0 - 2.0 * by)
    return replace(project, new_insert=insert)


def test_a_band_that_follows_the_machine_hangs_over_where_the_outside_comes_in(round_project: Project) -> None:
    project = smaller(with_base(round_project, Band("band", 0.0, 8.0, 2.0, Follows.MACHINE)), 3.0)
    finding = next(f for f in remedied(evaluate(project)).findings if f.check == "overhang")
    assert finding.verdict is Verdict.NO_GO
    assert finding.value == pytest.approx(3.0, abs=1e-3)
    assert finding.name == "overhang of band, base"
    said = finding.advice.show(MM)
    assert said.startswith("band hangs over by 3.00 mm at the ")
    for words in ("let band follow the outside", "hold the outside", "set band 3.00 mm further in"):
        assert words in said


def test_a_pocket_that_follows_the_machine_undercuts_the_wall(round_project: Project) -> None:
    project = with_base(round_project, Pocket("relief", 5.0, 5.0, Follows.MACHINE), opening=None)
    finding = next(f for f in remedied(evaluate(smaller(project, 17.0))).findings if f.check == "overhang")
    # The pocket's edge stays at 39.2 − 5.0; the seat's outer wall comes in to 50.8 − 17.0.
    assert finding.value == pytest.approx(34.2 - 33.8, abs=1e-3)
    assert finding.name == "undercut of relief, base"
    assert finding.advice.show(MM).startswith("relief reaches 0.40 mm under the metal over it at the ")
    assert "let relief follow the seat" in finding.advice.show(MM)


def test_what_lies_flush_or_within_hangs_over_nothing(round_project: Project, case_of: CaseOf) -> None:
    flush = Band("band", 0.0, 8.0, 2.0), Band("inner", 12.0, 30.0, 1.0)  # the inner one ends at the opening's edge
    assert check(case_of(with_base(round_project, *flush))) == ()
    in_seat = Pocket("relief", 1.0, 5.0, held=HeldCurve(Family.CIRCLE, 90.0, 90.0, 0.0))
    assert check(case_of(with_base(round_project, in_seat))) == ()


def test_the_demos_hang_over_nowhere(intake_project: Project, case_of: CaseOf) -> None:
    assert check(case_of(intake_project)) == ()


def furthest(piece: ResolvedPiece) -> float:
    """How far metal hangs over, by shapely: the farthest place of what one slab has more than the slab under it."""
    found = 0.0
    for lower, upper in pairwise(piece.slabs):
        hangs, stands = (lower, upper) if upper.z0 <= 0.0 else (upper, lower)
        support = stands.region.polygon(1e-3)
        more = hangs.region.polygon(1e-3).difference(support.buffer(5e-3))
        for face in getattr(more, "geoms", [more]):
            if not face.is_empty:
                edge = shapely.segmentize(face, 0.3)
                points = shapely.points(shapely.get_coordinates(edge))
                found = max(found, float(shapely.distance(points, support).max()))
    return found


def over_columns(project: Project, case_of: CaseOf, places: int) -> int:
    """Held against sampled columns and shapely; how many pieces hang over somewhere."""
    case, hanging = case_of(project), 0
    findings = check(case)
    for piece in case.after.pieces:
        own = case.housing.piece(piece.end)
        assert own is not None
        mine = [f for f in findings if f.place.end is piece.end]
        x0, y0, x1, y1 = piece.curves.outside.bounds
        at = np.random.default_rng(places).uniform((x0 - 15, y0 - 15), (x1 + 15, y1 + 15), (places, 2))
        seen = columns(piece, own, case.housing.studs, at).hanging()
        assert bool(mine) or not seen.any()
        if mine and len(mine) < MOST_FINDINGS:
            assert max(f.value for f in mine) == pytest.approx(furthest(piece), abs=0.02, rel=0.02)
            hanging += 1
    return hanging


def left_behind(seed: int) -> Project:
    """A random project in which what can follow the machine does so, mostly round a smaller insert."""
    project = wild_project(seed)

    def staying(piece: Piece) -> Piece:
        kept = (replace(f, follows=Follows.MACHINE) if isinstance(f, Band | Pocket) else f for f in piece.features)
        return replace(piece, features=tuple(kept))

    housing, lid = project.housing, project.housing.lid
    housing = replace(housing, base=staying(housing.base), lid=None if lid is None else staying(lid))
    old, by = project.old_insert, 1.0 + seed % 9
    project = replace(project, housing=housing)
    if old.outline is None and old.pressed is None:
        insert = replace(project.old_insert, length=old.length - by, width=old.width - by)
        smaller = replace(project, new_insert=insert, choices=Choices())
        try:
            evaluate(smaller)
        except UserError:
            return project  # with its ends as round as they are, so small an oval can't be
        return smaller
    return project


def test_what_hangs_over_is_what_sampled_columns_and_shapely_find(case_of: CaseOf) -> None:
    assert sum(over_columns(left_behind(seed), case_of, 1500) for seed in range(30)) >= 8


@pytest.mark.hard
@pytest.mark.parametrize("first", range(0, 2000, 100))
def test_what_hangs_over_is_found_in_thousands(case_of: CaseOf, first: int) -> None:
    for seed in range(first, first + 100):
        over_columns(left_behind(seed), case_of, 6000)
