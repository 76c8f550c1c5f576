"""What holds for all checks together."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import pytest
from msgspec.structs import replace

from core.edits import get_value
from core.fit.checks import CHECKS
from core.part.insert import PlusMinus
from core.part.materials import Material
from core.part.project import Choices, Limits, Mode
from core.words.lengths import Style, shower

if TYPE_CHECKING:
    from collections.abc import Callable

    from core.fit.case import Case
    from core.part.project import Project
    from core.words.verdicts import Finding

    CaseOf = Callable[[Project], Case]

MM, INCH = shower(Style.MM), shower(Style.INCH)

HARSH = Limits(
    gap_outer_least=1.0,
    gap_outer_greatest=1.1,
    bearing_least=14.5,
    web_least=12.0,
    floor_least=12.0,
    hole_edge=4.0,
    keep_out_margin=40.0,
    engagement=6.0,
    open_area=2.0,
    flow=900.0,
)


def every_finding(case: Case) -> list[Finding]:
    return [finding for check in CHECKS for finding in check(case)]


@pytest.mark.parametrize("mode", list(Mode))
@pytest.mark.parametrize("limits", [Limits(), HARSH], ids=["usual", "harsh"])
@pytest.mark.parametrize("which", ["round_project", "ring_project", "intake_project"])
def test_every_sentence_shows_in_inches_and_every_path_leads_somewhere(
    request: pytest.FixtureRequest, case_of: CaseOf, which: str, limits: Limits, mode: Mode
) -> None:
    given: Project = request.getfixturevalue(which)
    insert = replace(given.new_insert, plus_minus=PlusMinus(0.3, 0.2, 0.4, 0.1))
    project = replace(given, new_insert=insert, limits=limits, choices=Choices(mode=mode))
    for finding in every_finding(case_of(project)):
        assert finding.name
        for sentence in (finding.advice, finding.formula):
            text = sentence.show(INCH)
            assert not re.search(r"\d mm\b", text), text
            assert "{" not in text
            assert "nan" not in sentence.show(MM)
        if finding.place.path:
            get_value(project, finding.place.path)


def test_the_intake_is_well(intake_project: Project, case_of: CaseOf) -> None:
    foam = replace(intake_project.new_insert, material=Material.FOAM)
    findings = every_finding(case_of(replace(intake_project, new_insert=foam)))
    assert [f.name for f in findings if f.verdict != "go"] == []


def test_names_are_unique_and_checks_keep_their_order(intake_project: Project, case_of: CaseOf) -> None:
    findings = every_finding(case_of(intake_project))
    names = [f.name for f in findings]
    assert len(set(names)) == len(names)
    order = list(dict.fromkeys(f.check for f in findings))
    assert order == ["gap", "bearing", "squeeze", "fill", "web", "hole edge", "keep-out", "stud", "open area"]
