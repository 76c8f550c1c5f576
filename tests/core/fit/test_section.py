"""Thinnest metal in section: heights by the sizes that make them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from msgspec.structs import replace

from core.fit.section import check
from core.housing import Crossbar, Lug
from core.lengths import Style, shower
from core.project import Choices, Mode
from core.verdicts import Finding, Verdict

if TYPE_CHECKING:
    from collections.abc import Callable

    from core.fit.case import Case
    from core.housing import Feature
    from core.project import Project

    CaseOf = Callable[[Project], Case]

MM = shower(Style.MM)


def with_base(project: Project, *features: Feature, **changes: object) -> Project:
    base = replace(project.housing.base, features=features, **changes)
    return replace(project, housing=replace(project.housing, base=base))


def section(project: Project, case_of: CaseOf) -> list[Finding]:
    return [f for f in check(case_of(project)) if f.place.other is None and f.name.endswith("base")]


def test_the_least_height_of_metal_is_told(round_project: Project, case_of: CaseOf) -> None:
    (finding,) = section(round_project, case_of)
    assert finding.name == "floor under the seat, base"
    assert finding.value == 6.0
    assert finding.place.path == "housing.base.floor"
    (finding,) = section(with_base(round_project, Crossbar("bar", 0.0, 0.0, 12.0, 5.0)), case_of)
    assert (finding.name, finding.value) == ("height of bar, base", 5.0)
    assert finding.place.path == "housing.base.features[0].height"


def test_every_height_below_the_limit_is_told(round_project: Project, case_of: CaseOf) -> None:
    project = with_base(
        round_project,
        Crossbar("bar", 0.0, 0.0, 12.0, 3.5),
        Lug("ear", 70.0, 0.0, 20.0, 6.0, 12.0, 3.0),
        floor=3.8,
    )
    findings = section(project, case_of)
    assert [f.name for f in findings] == ["height of ear, base", "height of bar, base", "floor under the seat, base"]
    assert {f.verdict for f in findings} == {Verdict.NO_GO}
    assert findings[0].advice.show(MM) == (
        "height of ear of the base: 3.00 mm of metal; 4.00 mm wanted: make it 1.00 mm thicker"
    )


def test_a_pocket_floor_counts(intake_project: Project, case_of: CaseOf) -> None:
    findings = check(case_of(intake_project))
    relief = next(f for f in findings if f.name == "floor under relief, lid")
    assert relief.value == 5.0
    assert relief.place.path == "housing.lid.features[0].floor"


def test_a_reworked_floor_can_not_be_thickened(round_project: Project, case_of: CaseOf) -> None:
    taller = replace(round_project.new_insert, height=43.0)
    project = replace(round_project, new_insert=taller, choices=Choices(mode=Mode.REWORK))
    (finding,) = section(project, case_of)
    assert finding.value == pytest.approx(3.0)
    assert finding.verdict is Verdict.NO_GO
    assert finding.place.path == "choices.height_to"
