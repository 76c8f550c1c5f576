"""Squeeze by its own formula, (free height − closed height) / soft rims, at the ends of every spread.

The worked example was computed by hand from that formula: a rim of 14.0 ± 0.6 in 11.5 ± 0.5 as cast is squeezed by
(13.4 − 12.0) / 13.4 = 10.4 % at least and (14.6 − 11.0) / 14.6 = 24.7 % at most. ISO 3302-1, class M3, allows a
moulded height of 14 mm ± 0.6 across the parting of its mould.
"""

from __future__ import annotations

from itertools import product
from math import isinf
from typing import TYPE_CHECKING

import numpy as np
import pytest
from msgspec.structs import replace

from core.fit.checks.squeeze import check
from core.part.housing import Faces, Stop
from core.part.insert import PlusMinus, Rim, SqueezeLimits
from core.part.materials import Material
from core.part.project import Choices, HeightTo, Mode
from core.words.ends import End
from core.words.lengths import Style, shower
from core.words.verdicts import Unit, Verdict
from tests.support.remedied import done, found, tried

if TYPE_CHECKING:
    from collections.abc import Callable

    from core.fit.case import Case
    from core.part.project import Project

    CaseOf = Callable[[Project], Case]

MM, INCH = shower(Style.MM), shower(Style.INCH)


def closed_at(project: Project, gap: float, **insert: object) -> Project:
    """The project with another closed height: 4 mm in the base, 3 in the lid, the rest between the faces."""
    new = replace(project.new_insert, **insert)
    base = replace(project.housing.base, seat=replace(project.housing.base.seat, depth=4.0))
    assert project.housing.lid is not None
    lid = replace(project.housing.lid, seat=replace(project.housing.lid.seat, depth=3.0))
    housing = replace(project.housing, base=base, lid=lid, faces=Faces(Stop.SPACER, gap - 7.0))
    return replace(project, old_insert=new, new_insert=new, housing=housing)


@pytest.fixture
def worked(round_project: Project) -> Callable[[float], Project]:
    """All 14 mm of the insert are rim, 9 at the base and 5 at the lid."""

    def at(gap: float) -> Project:
        return closed_at(
            round_project,
            gap,
            height=14.0,
            rim=Rim(10.0, 9.0),
            lid_rim=Rim(10.0, 5.0),
            plus_minus=PlusMinus(height=0.6),
        )

    return at


def with_depths(project: Project, base: float, lid: float) -> Project:
    """The project with tolerances of its seats' depths."""
    housing = project.housing
    assert housing.lid is not None
    seats = (replace(p.seat, depth_plus_minus=off) for p, off in ((housing.base, base), (housing.lid, lid)))
    pieces = [replace(p, seat=seat) for p, seat in zip((housing.base, housing.lid), seats, strict=True)]
    return replace(project, housing=replace(housing, base=pieces[0], lid=pieces[1]))


@pytest.mark.parametrize("off", [(0.5, 0.0), (0.0, 0.5), (0.3, 0.2)])
def test_squeeze_against_the_worked_example(
    worked: Callable[[float], Project], case_of: CaseOf, off: tuple[float, float]
) -> None:
    said = {f.name: f for f in check(case_of(with_depths(worked(11.5), *off)))}
    assert {name: round(f.value, 1) for name, f in said.items()} == {
        "squeeze": 17.9,
        "least squeeze": 10.4,
        "greatest squeeze": 24.7,
    }
    assert {f.unit for f in said.values()} == {Unit.PERCENT}
    assert (
        said["least squeeze"]
        .formula.show(MM)
        .startswith(
            "closed height = base 4.00 mm + lid 3.00 mm + faces 4.50 mm + tolerance of the depths 0.50 mm = 12.00 mm; "
            "height 13.40 mm − closed height = 1.40 mm, over soft rims 13.40 mm = 10.4 %"
        )
    )
    assert "− tolerance of the depths 0.50 mm = 11.00 mm" in said["greatest squeeze"].formula.show(MM)


def test_the_spread_of_the_depths_alone_makes_a_least_and_a_greatest(round_project: Project, case_of: CaseOf) -> None:
    assert [f.name for f in check(case_of(round_project))] == ["squeeze"]
    said = {f.name: f.value for f in check(case_of(with_depths(round_project, 0.3, 0.1)))}
    # 40 in 36.5 ± 0.4, rims 10 + 10.
    assert said == pytest.approx({"squeeze": 17.5, "least squeeze": 15.5, "greatest squeeze": 19.5})


@pytest.mark.parametrize("seed", range(12))
def test_no_insert_and_no_casting_within_their_spread_is_squeezed_by_more_or_less_than_is_said(
    round_project: Project, case_of: CaseOf, seed: int
) -> None:
    rng = np.random.default_rng(seed)
    height, base, lid = rng.uniform(0.0, [1.0, 0.6, 0.6])
    project = closed_at(round_project, rng.uniform(34.0, 39.0), plus_minus=PlusMinus(height=height))
    case = case_of(with_depths(project, base, lid))
    said = {f.name: f.value for f in check(case)}
    seats = case.housing
    assert seats.lid is not None
    # Samples: all of the corners of the box, and many from within it; what varies of an insert is its soft rims.
    corners = np.array(list(product((-1.0, 1.0), repeat=3)))
    drawn = np.concatenate((corners, rng.uniform(-1.0, 1.0, (2000, 3)))) * (height, base, lid)
    body = case.insert.height - 20.0  # both soft rims are 10 thick
    closed = seats.base.seat.depth + drawn[:, 1] + seats.lid.seat.depth + drawn[:, 2] + seats.faces.distance
    soft = 20.0 + drawn[:, 0]
    left = closed - body  # the height that both rims have left together
    squeeze = 100.0 * (1.0 - left / soft)
    assert squeeze.min() == pytest.approx(said["least squeeze"], abs=1e-9)
    assert squeeze.max() == pytest.approx(said["greatest squeeze"], abs=1e-9)


def test_squeeze_is_told_as_a_length_and_against_the_rims_not_the_insert(
    round_project: Project, case_of: CaseOf
) -> None:
    (finding,) = check(case_of(round_project))  # 40 in 36.5, rims 10 + 10
    assert finding.value == pytest.approx(17.5)
    assert finding.verdict is Verdict.GO
    assert finding.advice.show(MM) == "squeeze 3.50 mm, 17.5 % of the soft rims, within 10 to 25 %"
    assert finding.formula.show(MM) == (
        "closed height = base 12.00 mm + lid 12.00 mm + faces 12.50 mm = 36.50 mm; height 40.00 mm − closed height = "
        "3.50 mm, "
        "over soft rims 20.00 mm = 17.5 %"
    )
    assert "mm" not in finding.advice.show(INCH) + finding.formula.show(INCH)


@pytest.mark.parametrize(
    ("gap", "verdict"),
    [
        (38.1, Verdict.NO_GO),  # 9.5 %
        (37.9, Verdict.MARGINAL),  # 10.5 %
        (36.0, Verdict.GO),  # 20 %
        (35.3, Verdict.MARGINAL),  # 23.5 %
        (34.9, Verdict.NO_GO),  # 25.5 %
    ],
)
def test_verdicts_at_the_inserts_own_limits(
    round_project: Project, case_of: CaseOf, gap: float, verdict: Verdict
) -> None:
    assert check(case_of(closed_at(round_project, gap)))[0].verdict is verdict


@pytest.mark.parametrize("gap", [38.6, 33.0])
def test_doing_what_the_advice_says_is_enough(round_project: Project, gap: float) -> None:
    project = closed_at(round_project, gap)
    finding = tried(project, "squeeze")
    assert finding.verdict is Verdict.NO_GO
    assert finding.place.path == "housing.base.seat.depth"
    assert ("shallower" in finding.advice.show(MM)) == (gap > 36.0)
    for remedy in finding.remedies:
        assert found(done(project, remedy), "squeeze").verdict is Verdict.MARGINAL, remedy.text


def test_a_spread_that_no_depth_holds_is_told_to_be_narrowed(round_project: Project) -> None:
    project = closed_at(round_project, 36.5, plus_minus=PlusMinus(height=1.2))
    for name in ("least squeeze", "greatest squeeze"):  # 1.3 of 18.8 and 5.7 of 21.2
        finding = tried(with_depths(project, 0.5, 0.5), name)
        assert finding.verdict is Verdict.NO_GO
        assert [r.text for r in finding.remedies] == ["measure more samples, or hold the seats' depths closer"]


def test_no_squeeze_at_all_is_told_as_play(round_project: Project, case_of: CaseOf) -> None:
    finding = check(case_of(closed_at(round_project, 41.0)))[0]
    assert finding.verdict is Verdict.NO_GO
    assert finding.advice.show(MM).startswith("no squeeze: the rims have 1.00 mm of play")


def test_without_a_stop_the_torque_decides_and_the_verdict_is_marginal_at_best(
    round_project: Project, case_of: CaseOf
) -> None:
    project = replace(round_project, housing=replace(round_project.housing, faces=Faces(Stop.NONE, 12.5)))
    (finding,) = check(case_of(project))
    assert finding.verdict is Verdict.MARGINAL
    assert "the nut's torque decides" in finding.advice.show(MM)
    assert finding.place.path == "housing.faces.stop"


@pytest.mark.parametrize(
    ("to", "path", "words"),
    [
        (HeightTo.BASE, "housing.base.seat.depth", "base's seat"),
        (HeightTo.LID, "housing.lid.seat.depth", "lid's seat"),
        (HeightTo.SPACER, "housing.faces.distance", "spacer"),
    ],
)
def test_the_part_that_takes_the_height_is_the_first_to_change(
    round_project: Project, case_of: CaseOf, to: HeightTo, path: str, words: str
) -> None:
    project = replace(closed_at(round_project, 33.0), choices=Choices(height_to=to))
    finding = check(case_of(project))[0]
    assert finding.place.path == path
    assert words in finding.remedies[0].text


def test_a_height_that_the_squeeze_took_may_go_elsewhere(round_project: Project, case_of: CaseOf) -> None:
    taller = replace(round_project.new_insert, height=43.0)
    project = replace(round_project, new_insert=taller, choices=Choices(height_to=HeightTo.SQUEEZE))
    (finding,) = check(case_of(project))
    assert finding.value == pytest.approx(32.5)
    assert finding.verdict is Verdict.NO_GO
    assert finding.place.path == "choices.height_to"


def test_metal_that_is_gone_is_shimmed(round_project: Project) -> None:
    project = replace(closed_at(round_project, 39.0), choices=Choices(mode=Mode.REWORK))
    finding = tried(project, "squeeze")
    assert finding.verdict is Verdict.NO_GO
    assert ": shim the seat floor, since metal can't be put back" in finding.advice.show(MM)


def test_a_lid_that_nothing_stops_gets_a_stop(round_project: Project) -> None:
    project = replace(round_project, housing=replace(round_project.housing, faces=Faces(Stop.NONE, 12.5)))
    finding = tried(project, "squeeze")
    assert [r.text for r in finding.remedies] == ["fit a spacer as thick as the faces are apart"]  # the other crushes
    assert found(done(project, finding.remedies[0]), "squeeze").verdict is Verdict.GO


@pytest.mark.parametrize(
    ("gap", "play", "verdict"),
    [(40.2, 0.2, Verdict.GO), (40.0, 0.0, Verdict.GO), (39.9, -0.1, Verdict.NO_GO)],
)
def test_a_rigid_insert_must_not_be_squeezed(
    round_project: Project, case_of: CaseOf, gap: float, play: float, verdict: Verdict
) -> None:
    (finding,) = check(case_of(closed_at(round_project, gap, material=Material.RIGID)))
    assert finding.unit is Unit.LENGTH
    assert finding.value == pytest.approx(play, abs=1e-12)
    assert finding.verdict is verdict


def test_faces_that_meet_leave_no_room_whatever_thickness_a_spacer_had(round_project: Project, case_of: CaseOf) -> None:
    assert round_project.housing.faces == Faces(Stop.SPACER, 12.5)
    meeting = replace(round_project, housing=replace(round_project.housing, faces=Faces(Stop.FACES, 12.5)))
    (apart,), (met,) = check(case_of(round_project)), check(case_of(meeting))
    assert apart.verdict is Verdict.GO
    assert met.verdict is Verdict.NO_GO
    # 12.5 more of squeeze, over the same soft rims
    soft = sum(round_project.new_insert.rim_at(end).thickness for end in End)
    assert met.value - apart.value == pytest.approx(100.0 * 12.5 / soft)
    finding = tried(meeting, "squeeze")
    assert found(done(meeting, finding.remedies[0]), "squeeze").verdict is Verdict.GO


def test_a_rigid_insert_must_not_slip_out_of_its_shallower_seat(round_project: Project, case_of: CaseOf) -> None:
    """4 mm deep in the base, 3 in the lid: with 3 mm of play the lid's seat holds it no more."""
    (go,), (close,), (finding,) = (
        check(case_of(closed_at(round_project, gap, material=Material.RIGID))) for gap in (42.6, 42.8, 43.1)
    )
    assert [f.verdict for f in (go, close, finding)] == [Verdict.GO, Verdict.MARGINAL, Verdict.NO_GO]
    assert finding.high == pytest.approx(3.0)
    assert "3.10 mm of play when closed, as much as the shallower seat is deep, 3.00 mm" in finding.advice.show(MM)


def test_the_tallest_rigid_insert_decides(round_project: Project, case_of: CaseOf) -> None:
    project = closed_at(round_project, 40.2, material=Material.RIGID, plus_minus=PlusMinus(height=0.3))
    verdicts = {f.name: f.verdict for f in check(case_of(project))}
    assert verdicts == {
        "play": Verdict.GO,
        "greatest play": Verdict.GO,
        "least play": Verdict.NO_GO,
    }


@pytest.mark.parametrize(
    ("height", "proud", "words"),
    [(5.0, 0.0, "level with"), (5.6, 0.6, "stands 0.60 mm proud of"), (4.5, -0.5, "lies 0.50 mm under")],
)
def test_a_single_ring_tells_how_far_its_insert_stands_out(
    ring_project: Project, case_of: CaseOf, height: float, proud: float, words: str
) -> None:
    insert = replace(ring_project.new_insert, height=height)
    (finding,) = check(case_of(replace(ring_project, old_insert=insert, new_insert=insert)))
    assert finding.verdict is Verdict.GO
    assert isinf(finding.margin)
    assert finding.value == pytest.approx(abs(proud), abs=1e-12)
    assert ("below" in finding.name) == (proud < 0.0)
    assert words in finding.advice.show(MM)


def test_limits_are_the_inserts(round_project: Project, case_of: CaseOf) -> None:
    insert = replace(round_project.new_insert, squeeze=SqueezeLimits(20.0, 40.0))
    (finding,) = check(case_of(replace(round_project, old_insert=insert, new_insert=insert)))
    assert (finding.low, finding.high, finding.verdict) == (20.0, 40.0, Verdict.NO_GO)


def test_a_spread_that_leaves_no_rim_is_a_no_go_that_says_so(round_project: Project, case_of: CaseOf) -> None:
    project = replace(round_project, new_insert=replace(round_project.new_insert, plus_minus=PlusMinus(height=200.0)))
    least = next(f for f in check(case_of(project)) if f.name == "least squeeze")
    assert least.verdict is Verdict.NO_GO
    assert "no soft rim is left" in least.advice.show(MM)
    assert "−inf" not in least.formula.show(MM)
