"""Bores through a piece that must be tight: where they lie decides by elementary geometry."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from msgspec.structs import replace

from core.evaluate import evaluate
from core.features.ground import Made
from core.features.hole import Hole
from core.features.lug import Lug
from core.features.stud.stud import Stud
from core.features.stud.threads import Thread
from core.fit.checks.tight import check
from core.metal.slabs import resolve
from core.new.part import two_piece
from core.part.housing import Opening, Tight
from core.words.ends import End
from core.words.lengths import Style, shower
from core.words.verdicts import Verdict
from tests.support.remedied import done, found, tried
from tests.support.wild import wild_project

if TYPE_CHECKING:
    from collections.abc import Callable

    from core.features.registry import Feature
    from core.fit.case import Case
    from core.part.project import Project

    CaseOf = Callable[[Project], Case]

MM = shower(Style.MM)
M6 = Stud("stud", 0.0, 0.0, Thread.M6, 70.0, 20.0)


@pytest.fixture
def tight(round_project: Project) -> Callable[..., Project]:
    """The round project, base without an opening and tight: the seat's outer wall at 50.8, the outside at 56.8."""

    def made(*features: Feature, studs: tuple[Stud, ...] = (), opening: Opening | None = None) -> Project:
        base = replace(round_project.housing.base, features=features, opening=opening, tight=Tight.YES)
        return replace(round_project, housing=replace(round_project.housing, base=base, studs=studs))

    return made


@pytest.mark.parametrize(
    ("feature", "leaks"),
    [
        (Hole("screw", 10.0, 0.0, 5.0, Made.DRILLED), True),
        (Hole("vent", 10.0, 0.0, 5.0, Made.CORED), True),
        (Hole("throat", 10.0, 0.0, 30.0, Made.CORED), None),  # an opening of its own
        (Hole("under the rim", 46.0, 0.0, 5.0, Made.DRILLED), True),
        (Hole("at the wall", 52.8, 0.0, 5.0, Made.DRILLED), True),
        (Hole("outside", 53.8, 0.0, 4.0, Made.DRILLED), False),
        (Lug("ear", 75.0, 0.0, 20.0, 6.6, 14.0, 10.0), False),
    ],
)
def test_a_bore_leaks_where_it_leads_past_the_seat(
    tight: Callable[..., Project], case_of: CaseOf, feature: Feature, *, leaks: bool | None
) -> None:
    findings = check(case_of(tight(feature)))
    if leaks is None:
        assert findings == ()
        return
    (finding,) = findings
    assert finding.verdict is (Verdict.MARGINAL if leaks else Verdict.GO)
    assert finding.value == float(leaks)
    if leaks:
        assert f"{feature.name}: right through the base, which must be tight" in finding.advice.show(MM)
        assert finding.place.feature == feature.name


def test_over_the_opening_the_piece_is_open_anyway(tight: Callable[..., Project], case_of: CaseOf) -> None:
    (finding,) = check(case_of(tight(studs=(M6,), opening=Opening())))
    assert finding.verdict is Verdict.GO


def test_a_piece_that_need_not_be_tight_has_no_such_check(tight: Callable[..., Project], case_of: CaseOf) -> None:
    project = tight(studs=(M6,))
    base = replace(project.housing.base, tight=Tight.NO)
    assert check(case_of(replace(project, housing=replace(project.housing, base=base)))) == ()


def test_a_tight_lid_minds_its_clearance_holes(tight: Callable[..., Project], case_of: CaseOf) -> None:
    project = tight(studs=(M6,))
    assert project.housing.lid is not None
    lid = replace(project.housing.lid, opening=None, tight=Tight.YES)
    found_in = {f.place.end: f for f in check(case_of(replace(project, housing=replace(project.housing, lid=lid))))}
    assert found_in[End.LID].verdict is Verdict.MARGINAL


@pytest.mark.parametrize(
    ("depth", "leaks"),
    [(None, True), (18.0, True), (16.6, True), (16.4, False), (12.0, False)],
)
def test_a_blind_hole_leaks_once_its_point_comes_out(
    tight: Callable[..., Project], case_of: CaseOf, depth: float | None, *, leaks: bool
) -> None:
    """The base is 18 thick; a 5.0 drill of 118° has a point 5.0 / 2 / tan 59° = 1.50 high."""
    (finding,) = check(case_of(tight(studs=(replace(M6, hole_depth=depth),))))
    assert (finding.verdict is Verdict.MARGINAL) is leaks


def test_a_blind_hole_takes_no_metal_from_under_it(tight: Callable[..., Project]) -> None:
    """A cylinder of the tapping drill, 12 deep: π / 4 · 5² · 12."""
    through = tight(studs=(M6,))
    blind = tight(studs=(replace(M6, hole_depth=12.0),))
    volumes = [resolve(p.housing, p.old_insert).base.volume for p in (through, blind)]
    none = tight(studs=(replace(M6, hole_depth=1e-6),))
    whole = resolve(none.housing, none.old_insert).base.volume
    assert whole - volumes[1] == pytest.approx(3.141592653589793 / 4.0 * 25.0 * 12.0, rel=1e-5)
    assert whole - volumes[0] == pytest.approx(3.141592653589793 / 4.0 * 25.0 * 18.0, rel=1e-5)


def test_the_remedy_is_a_blind_hole_where_the_base_is_thick_enough_and_sealant_anyway(
    tight: Callable[..., Project],
) -> None:
    project = tight(studs=(replace(M6, thread=Thread.M4),))
    finding = tried(project, "bores through the base")
    blind, seal = finding.remedies
    # M4: 2 d, a tenth more so as not to be marginal, and 3 × 0.7 for the tap's end (common practice).
    assert "drill and tap it blind, 10.90 mm deep, or set the threads in sealant" in finding.advice.show(MM)
    assert found(done(project, blind), "bores through the base").verdict is Verdict.GO
    assert not seal.edits


def test_a_new_part_has_a_tight_base_and_its_stud_does_not_leak() -> None:
    project = two_piece(wild_project(3).old_insert)
    assert project.housing.base.tight is Tight.YES
    assert [f.verdict for f in evaluate(project).findings if f.check == "tight"] == [Verdict.GO]
