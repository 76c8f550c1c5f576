"""Thread sizes: nut heights ISO 4032 (m max), washers ISO 7089, coarse pitches, as the standards print them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from msgspec.structs import replace

from core.evaluate import evaluate
from core.features.badge import Badge
from core.features.rib import Rib
from core.features.stud.kinds import KINDS, StudKind
from core.features.stud.stud import Stud
from core.features.stud.threads import Thread
from core.fit.checks.stud import check
from core.part.housing import MetalKind, Stop
from core.part.project import HeightTo
from core.words.lengths import Style, shower
from core.words.verdicts import Verdict
from tests.support.remedied import done, found, tried

if TYPE_CHECKING:
    from collections.abc import Callable

    from core.fit.case import Case
    from core.part.project import Project

    CaseOf = Callable[[Project], Case]

MM, INCH = shower(Style.MM), shower(Style.INCH)


def with_stud(project: Project, thread: Thread, length: float, count: int = 1, **more: Any) -> Project:  # noqa: ANN401
    plain = Stud("stud", 0.0, 0.0, thread, length, 12.0)
    studs = tuple(replace(plain, name=f"stud {i + 1}", x=-20.0 + 40.0 * i, **more) for i in range(count))
    return replace(project, housing=replace(project.housing, studs=studs))


@pytest.mark.parametrize(
    ("thread", "needed"),
    [
        # 2 d + faces 12.5 + lid 18 + washer + nut + one pitch
        pytest.param(Thread.M4, 8.0 + 30.5 + 0.8 + 3.2 + 0.7, id="M4: ISO 7089 0.8, ISO 4032 3.2, pitch 0.7"),
        pytest.param(Thread.M6, 12.0 + 30.5 + 1.6 + 5.2 + 1.0, id="M6: ISO 7089 1.6, ISO 4032 5.2, pitch 1.0"),
        pytest.param(Thread.M8, 16.0 + 30.5 + 1.6 + 6.8 + 1.25, id="M8: ISO 7089 1.6, ISO 4032 6.8, pitch 1.25"),
        pytest.param(Thread.M12, 24.0 + 30.5 + 2.5 + 10.8 + 1.75, id="M12: ISO 7089 2.5, ISO 4032 10.8, pitch 1.75"),
    ],
)
def test_the_needed_length_is_the_stack(round_project: Project, case_of: CaseOf, thread: Thread, needed: float) -> None:
    length, _ = check(case_of(with_stud(round_project, thread, 70.0)))
    assert length.low == pytest.approx(needed)


@pytest.mark.parametrize(
    ("length", "verdict", "words"),
    [  # M6 needs 50.3: the next standard is 55, two more are 60 and 65
        (50.0, Verdict.NO_GO, "50.00 mm over all is 0.30 mm too short for the stack of 50.30 mm; 55.00 mm is the next"),
        (50.3, Verdict.GO, "50.30 mm over all covers the stack of 50.30 mm; it is no standard length, 55.00 mm is"),
        (55.0, Verdict.GO, "55.00 mm over all covers the stack of 50.30 mm; it stays as it was"),
        (65.0, Verdict.GO, "covers"),
        (70.0, Verdict.MARGINAL, "70.00 mm over all is 19.70 mm more than the stack needs; 55.00 mm is the next"),
    ],
)
def test_verdict_by_the_stud_in_use(
    round_project: Project, case_of: CaseOf, length: float, verdict: Verdict, words: str
) -> None:
    finding, _ = check(case_of(with_stud(round_project, Thread.M6, length)))
    assert finding.verdict is verdict
    assert words in finding.advice.show(MM)
    assert finding.place.path == "housing.studs[0].length"
    assert "mm" not in finding.advice.show(INCH) + finding.formula.show(INCH)


@pytest.mark.parametrize(
    ("kind", "needed", "words"),
    [  # faces 12.5 + lid 18 + washer 1.6 + nut 5.2 + one pitch 1.0 = 38.3; over all with 2 d in aluminium
        (StudKind.THREADED, 50.3, "over all"),
        (StudKind.CUT_ROD, 50.3, "over all"),
        (StudKind.END_1_D, 38.3, "without the screwed-in end"),
        (StudKind.END_1_25_D, 38.3, "without the screwed-in end"),
        (StudKind.END_2_D, 38.3, "without the screwed-in end"),
    ],
)
def test_the_length_counts_what_its_kind_counts(
    round_project: Project, case_of: CaseOf, kind: StudKind, needed: float, words: str
) -> None:
    finding, _ = check(case_of(with_stud(round_project, Thread.M6, 55.0, kind=kind)))
    assert finding.low == pytest.approx(needed)
    assert f"55.00 mm {words}" in finding.advice.show(MM)


@pytest.mark.parametrize(("length", "verdict"), [(40.0, Verdict.GO), (45.0, Verdict.GO), (50.0, Verdict.NO_GO)])
def test_the_nut_of_a_double_ended_stud_must_not_run_out_of_thread(
    round_project: Project, case_of: CaseOf, length: float, verdict: Verdict
) -> None:
    """DIN 938: an M4 has 14 mm of thread at the nut, which stands 12.5 + 18 + 0.8 over the joint: 45.3 is the most."""
    finding, _ = check(case_of(with_stud(round_project, Thread.M4, length, kind=StudKind.END_2_D)))
    assert finding.verdict is verdict
    assert finding.high == pytest.approx(45.3)
    if verdict is Verdict.NO_GO:
        assert "the nut runs out of thread 4.70 mm over the washer" in finding.advice.show(MM)


@pytest.mark.parametrize("taller", [0.0, 6.0])
@pytest.mark.parametrize("kind", [StudKind.THREADED, StudKind.CUT_ROD])
def test_a_stud_of_the_length_that_is_said_fits(round_project: Project, kind: StudKind, taller: float) -> None:
    project = with_stud(round_project, Thread.M6, 30.0, count=2, kind=kind)
    new = replace(project.new_insert, height=project.new_insert.height + taller)
    project = replace(project, new_insert=new, choices=replace(project.choices, height_to=HeightTo.SPACER))
    finding = tried(project, "stud length, M6 ×2")
    assert finding.verdict is Verdict.NO_GO
    (remedy,) = finding.remedies
    mended = found(done(project, remedy), "stud length, M6 ×2")
    assert mended.verdict is Verdict.GO
    assert mended.value == KINDS[kind].ladder.next(50.3 + taller)


def test_the_stud_grows_with_its_stack_and_both_lengths_are_told(round_project: Project, case_of: CaseOf) -> None:
    project = with_stud(round_project, Thread.M6, 55.0)
    taller = replace(project.new_insert, height=46.0)
    choices = replace(project.choices, height_to=HeightTo.SPACER)
    assert project.housing.faces.stop is Stop.SPACER
    finding, _ = check(case_of(replace(project, new_insert=taller, choices=choices)))
    assert finding.value == 60.0
    assert finding.verdict is Verdict.GO
    assert finding.advice.show(MM) == "stud 1: 60.00 mm over all covers the stack of 56.30 mm; it was 55.00 mm"


def test_studs_that_are_alike_share_a_finding(round_project: Project, case_of: CaseOf) -> None:
    findings = check(case_of(with_stud(round_project, Thread.M6, 55.0, count=2)))
    assert [f.name for f in findings] == ["stud length, M6 ×2", "thread in the base, M6 ×2"]
    assert "stud 1 and 1 more" in findings[0].advice.show(MM)


@pytest.mark.parametrize(
    ("thread", "verdict"),
    [  # the base is 18 thick; engagement 2 d
        (Thread.M8, Verdict.GO),
        (Thread.M10, Verdict.NO_GO),
    ],
)
def test_engagement_against_the_base(round_project: Project, case_of: CaseOf, thread: Thread, verdict: Verdict) -> None:
    _, finding = check(case_of(with_stud(round_project, thread, 80.0)))
    assert finding.value == 18.0
    assert finding.verdict is verdict
    if verdict is Verdict.NO_GO:
        assert "only 18.00 mm of base there for 20.00 mm of thread" in finding.advice.show(MM)
        assert finding.place.path == "housing.base.floor"


@pytest.mark.parametrize(
    ("more", "value", "words"),
    [  # M8 in aluminium wants 16; a blind hole loses three threads of 1.25 at its end
        ({"hole_depth": 15.0}, 11.25, "11.25 mm of full thread in its blind hole for 16.00 mm of thread"),
        ({"kind": StudKind.END_1_D}, 8.0, "only 8.00 mm of screwed-in end for 16.00 mm of thread"),
        ({"kind": StudKind.END_1_25_D}, 10.0, "only 10.00 mm of screwed-in end"),
        ({"kind": StudKind.END_2_D}, 16.0, "16.00 mm of screwed-in end"),
    ],
)
def test_what_ends_the_thread_first_counts(
    round_project: Project, case_of: CaseOf, more: dict[str, Any], value: float, words: str
) -> None:
    _, finding = check(case_of(with_stud(round_project, Thread.M8, 60.0, **more)))
    assert finding.value == pytest.approx(value)
    assert words in finding.advice.show(MM)


@pytest.mark.parametrize(
    ("kind", "wanted"), [(MetalKind.ALUMINIUM, 16.0), (MetalKind.GREY_IRON, 12.0), (MetalKind.BRONZE, 12.0)]
)
def test_the_thread_wanted_goes_by_the_metal(
    round_project: Project, case_of: CaseOf, kind: MetalKind, wanted: float
) -> None:
    """2 d in aluminium, 1.5 d in iron and bronze (common practice)."""
    project = with_stud(round_project, Thread.M8, 60.0)
    metal = replace(project.housing.metal, kind=kind)
    length, thread = check(case_of(replace(project, housing=replace(project.housing, metal=metal))))
    assert thread.low == pytest.approx(wanted)
    assert length.low == pytest.approx(wanted + 12.5 + 18.0 + 1.6 + 6.8 + 1.25)


@pytest.mark.parametrize("more", [{"hole_depth": 8.0}, {"kind": StudKind.END_1_D}, {}])
def test_every_remedy_for_too_little_thread_mends_it(round_project: Project, more: dict[str, Any]) -> None:
    thread = Thread.M8 if more else Thread.M10
    project = with_stud(round_project, thread, 60.0, **more)
    name = f"thread in the base, {thread}"
    finding = tried(project, name)
    assert finding.verdict is Verdict.NO_GO
    assert finding.remedies
    for remedy in finding.remedies:
        changed = evaluate(done(project, remedy))
        assert all(f.verdict is not Verdict.NO_GO for f in changed.findings if f.name.startswith("thread in the base"))


def test_just_enough_base_is_marginal(round_project: Project, case_of: CaseOf) -> None:
    limits = replace(round_project.limits, engagement=1.7)
    _, finding = check(case_of(replace(with_stud(round_project, Thread.M10, 80.0), limits=limits)))
    assert finding.low == pytest.approx(17.0)
    assert finding.verdict is Verdict.MARGINAL


def test_no_stud_no_finding(round_project: Project, case_of: CaseOf) -> None:
    assert check(case_of(round_project)) == ()


@pytest.mark.parametrize(
    ("feature", "raised"),
    [
        (Badge("sign", 30.0, 20.0, 3.0), 3.0),
        (Badge("sign beside it", 10.0, 10.0, 3.0, x=10.5), 3.0),  # it reaches under the washer, 12 wide (ISO 7089)
        (Badge("sign clear of it", 10.0, 10.0, 3.0, x=11.5), 0.0),
        (Rib("rib", 90.0, 0.0, 4.0, 2.0, 3.0), 2.0),
    ],
)
def test_a_nut_that_stands_on_what_is_raised_on_the_lid_wants_a_longer_stud(
    round_project: Project, case_of: CaseOf, feature: Badge | Rib, raised: float
) -> None:
    project = with_stud(round_project, Thread.M6, 52.0)
    stud = replace(project.housing.studs[0], x=0.0)
    lid = project.housing.lid
    assert lid is not None
    project = replace(project, housing=replace(project.housing, lid=replace(lid, features=(feature,)), studs=(stud,)))
    length, _ = check(case_of(project))
    assert length.low == pytest.approx(50.3 + raised)
    assert length.verdict is (Verdict.NO_GO if raised > 1.7 else Verdict.GO)
    if raised:
        assert "lid and what is raised on it" in length.formula.show(MM)
        assert length.name == "stud length, M6, on a raised face"


@pytest.mark.parametrize(
    ("depth", "length", "verdict"),
    [(10.2, 45.0, Verdict.GO), (7.1, 40.0, Verdict.GO), (7.1, 45.0, Verdict.NO_GO), (None, 45.0, Verdict.GO)],
)
def test_an_end_that_is_longer_than_its_blind_thread_leaves_the_nut_less(
    round_project: Project, case_of: CaseOf, depth: float | None, length: float, verdict: Verdict
) -> None:
    """M4 with an end of 2 d = 8: 7.1 deep less three threads of 0.7 takes 5.0 of it, and 3.0 stand out.

    Under the nut there are 12.5 + 18 + 0.8 = 31.3, and 2 d + 6 = 14 of thread at the nut's end (DIN 938, b2).
    """
    project = with_stud(round_project, Thread.M4, length, kind=StudKind.END_2_D, hole_depth=depth)
    finding, _ = check(case_of(project))
    assert finding.verdict is verdict
    if verdict is Verdict.NO_GO:
        assert finding.high == pytest.approx(31.3 + 14.0 - 3.0)
        assert "the nut runs out of thread 2.70 mm over the washer" in finding.advice.show(MM)
