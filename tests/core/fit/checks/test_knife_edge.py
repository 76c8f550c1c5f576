"""Knife edges and thin parts of pieces: circles by elementary geometry; what the metal is held against is GEOS's."""

from __future__ import annotations

from math import acos, degrees, hypot, pi, sqrt
from typing import TYPE_CHECKING

import pytest
import shapely

from core.evaluate import evaluate
from core.features.band import Band
from core.features.crossbar import Crossbar
from core.features.ground import Made
from core.features.hole import Hole
from core.files.project.demos import load_demo
from core.fit.checks.knife_edge import check
from core.part.housing import Lip
from core.words.lengths import Style, shower
from core.words.verdicts import Verdict
from tests.support.bases import with_base
from tests.support.wild import wild_project

if TYPE_CHECKING:
    from collections.abc import Callable

    from core.fit.case import Case
    from core.part.project import Project

    CaseOf = Callable[[Project], Case]

MM = shower(Style.MM)


@pytest.mark.parametrize("demo", ["compressor-intake", "lens-ring", "pump-strainer"])
def test_the_demos_have_none(demo: str) -> None:
    assert [f for f in evaluate(load_demo(demo)).findings if f.check == "knife edge"] == []


def test_a_hole_that_breaks_through_the_outside_leaves_two_with_their_length_angle_and_place(
    round_project: Project, case_of: CaseOf
) -> None:
    outside, hole, away, disc = 65.8, 4.0, 62.5, 2.0  # the outside is 50.8 + 15
    project = with_base(round_project, Hole("drain", away, 0.0, 2.0 * hole, Made.DRILLED), wall=15.0)
    found = [f for f in check(case_of(project)) if f.place.end == "base"]
    assert len(found) == 2
    x = (outside**2 - hole**2 + away**2) / (2.0 * away)
    tip = (x, sqrt(outside**2 - x * x))
    a, b = outside - disc, hole + disc
    cx = (a * a - b * b + away**2) / (2.0 * away)
    centre = (cx, sqrt(a * a - cx * cx))
    corner = pi - acos((outside**2 + hole**2 - away**2) / (2.0 * outside * hole))
    for finding in found:
        assert finding.verdict is Verdict.NO_GO
        assert finding.value == pytest.approx(hypot(centre[0] - tip[0], centre[1] - tip[1]) - disc)
        assert finding.place.point is not None
        assert (finding.place.point[0], abs(finding.place.point[1])) == pytest.approx(tip)
        text = finding.advice.show(MM)
        assert "between the outside and drain's edge at the right of the base" in text
        assert f"corner of {degrees(pi - corner):.0f}°" in text


def test_a_part_that_a_web_tells_of_is_not_told_twice(round_project: Project) -> None:
    """A bar that is 3 wide and higher than the lip: above it stands alone."""
    project = with_base(round_project, Crossbar("bar", 0.0, 0.0, 3.0, 14.0), lip=Lip(6.0, 4.0))
    told = [f for f in evaluate(project).findings if f.place.end == "base" and f.check in ("web", "knife edge")]
    assert any(f.value == pytest.approx(3.0) and f.verdict is Verdict.NO_GO for f in told)
    assert not any("throughout" in f.advice.text for f in told)


def test_a_part_without_a_web_is_told_as_thin_throughout_by_the_largest_circle_in_it() -> None:
    result = evaluate(wild_project(13))
    (found,) = [f for f in result.findings if "throughout" in f.advice.text]
    outline = found.place.outline
    assert outline is not None
    circle = shapely.maximum_inscribed_circle(shapely.Polygon(outline.chords(1e-4)), 1e-4)
    assert found.value == pytest.approx(2.0 * circle.length, rel=2e-3)
    assert (found.verdict, found.low) == (Verdict.NO_GO, 4.0)


def test_what_is_raised_may_run_out(round_project: Project, case_of: CaseOf) -> None:
    band = Band("band", 1.0, 2.0, 1.5)
    project = with_base(round_project, band, Hole("drain", 55.0, 0.0, 3.0, Made.DRILLED), wall=15.0)
    assert [f for f in check(case_of(project)) if f.place.end == "base"] == []
