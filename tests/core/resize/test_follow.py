"""Where followers go: against dense samples of the curves, and there and back over random projects.

The rule is the program's own: a place beside a curve is its part of the curve's length from the +X axis, and its normal
distance. What is checked by other means is that the place found has both, and that what is refused has no such place.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely
from msgspec.structs import replace

from core.evaluate import evaluate
from core.features.band import Band
from core.features.crossbar import Crossbar
from core.features.follow import follow_offset, follow_point
from core.features.hole import Hole
from core.features.kind import Follows
from core.features.pocket import Pocket
from core.features.rib import Rib
from core.fit.gaps import gap_profile
from core.geometry.lines.outline import Outline, circle_outline, rectangle_outline
from core.geometry.lines.strips import support
from core.geometry.ovals.ovals import SIZED_FAMILIES, Family, Oval, oval_outline
from core.geometry.parallels.parallel import parallel
from core.metal.curves import curves
from core.new.part import two_piece
from core.part.insert import Insert, Rim
from core.part.project import Choices, Mode
from core.resize.resize import resize
from core.words.ends import End, Side
from core.words.errors import UserError
from tests.core.geometry.ovals.test_measured import egg
from tests.support.wild import wild_project

if TYPE_CHECKING:
    from core.features.ground import Curves
    from core.features.registry import Feature
    from core.features.stud.stud import Stud
    from core.geometry.lines.outline import FloatArray, Point
    from core.part.housing import Housing
    from core.part.project import Project
    from core.resize.resize import Conflict

SAMPLES = 20_000
HEIGHTS = {"height", "spacer", "base seat", "lid seat"}
"""What conflicts over the free height are named by."""


# Station zero


def _furthest_on_the_axis(outline: Outline) -> float:
    """Where +X leaves the outline last, by shapely on fine chords."""
    ring = shapely.LinearRing(outline.chords(1e-6))
    met = ring.intersection(shapely.LineString([(0.0, 0.0), (1e4, 0.0)]))
    return float(shapely.bounds(met)[2])


@pytest.mark.parametrize("family", SIZED_FAMILIES)
@pytest.mark.parametrize("distance", [-7.0, 0.0, 9.5])
def test_station_zero_of_every_family_and_its_parallels_is_the_end_of_the_long_axis(
    family: Family, distance: float
) -> None:
    oval = Oval(family, 160.0, 160.0 if family is Family.CIRCLE else 110.0)
    outline = parallel(oval_outline(oval), distance)
    assert outline.points_at([outline.axis_station])[0] == pytest.approx((80.0 + distance, 0.0), abs=1e-9)


@pytest.mark.parametrize("turn", [0.0, 0.3, -0.7, 1.2, 2.5])
@pytest.mark.parametrize("distance", [-5.0, 0.0, 8.0])
def test_station_zero_of_a_measured_outline_lies_on_the_axis_however_it_was_laid_down(
    turn: float, distance: float
) -> None:
    outline = parallel(egg().turned(turn), distance)
    x, y = outline.points_at([outline.axis_station])[0]
    assert y == pytest.approx(0.0, abs=1e-9)
    assert x == pytest.approx(_furthest_on_the_axis(outline), abs=1e-4)


@pytest.mark.parametrize("seed", range(30))
def test_station_zero_of_wild_curves_is_where_the_axis_leaves_them(seed: int) -> None:
    project = wild_project(seed)
    c = curves(project.housing.base, project.old_insert, End.BASE)
    for outline in (c.rim_outer, c.seat_outer, c.seat_inner, c.outside):
        x, y = outline.points_at([outline.axis_station])[0]
        assert (x, y) == pytest.approx((_furthest_on_the_axis(outline), 0.0), abs=1e-4)


def test_of_several_crossings_the_furthest_out_is_station_zero() -> None:
    hooked = np.array(
        [(0, 5, 0), (0, -5, 0), (40, -5, 0), (40, 2, 0), (30, 2, 0), (30, -2, 0), (20, -2, 0), (20, 5, 0)]
    )
    outline = Outline(hooked)
    assert outline.points_at([outline.axis_station])[0] == pytest.approx((40.0, 0.0))


def test_an_outline_that_the_axis_misses_starts_nearest_to_its_far_end() -> None:
    above = rectangle_outline(-10.0, 4.0, 10.0, 9.0)
    assert above.points_at([above.axis_station])[0] == pytest.approx((10.0, 4.0))
    left = circle_outline((-50.0, 0.0), 10.0)
    assert left.points_at([left.axis_station])[0] == pytest.approx((-40.0, 0.0))


def test_the_gap_of_a_measured_rim_is_counted_from_the_axis() -> None:
    rim = egg().turned(0.4)
    profile = gap_profile(rim, parallel(rim, 1.0), End.BASE, Side.OUTER)
    assert profile.rim[0] == pytest.approx((_furthest_on_the_axis(rim), 0.0), abs=1e-4)
    assert profile.rim[1, 1] > 0.0


# Places


class _Sampled:
    """A curve as points and normals, densely, by nothing but its chords."""

    def __init__(self, outline: Outline) -> None:
        self.points = outline.points_at(outline.length * np.arange(SAMPLES) / SAMPLES)
        x, y = self.points.T
        ahead = np.roll(y, -1)
        up = np.flatnonzero((y < 0.0) != (ahead < 0.0))
        at = x[up] - y[up] * (np.roll(x, -1)[up] - x[up]) / (ahead[up] - y[up])
        k = int(at.argmax())
        self.points = np.roll(self.points, -int(up[k] + 1), axis=0)
        self.zero = float(1.0 - y[up[k]] / (y[up[k]] - ahead[up[k]]))  # of the first sample, in steps from the axis
        along = np.roll(self.points, -1, axis=0) - np.roll(self.points, 1, axis=0)
        self.normals = np.column_stack((along[:, 1], -along[:, 0])) / np.hypot(*along.T)[:, None]
        self.area = shapely.Polygon(self.points)

    def away(self, at: Point) -> FloatArray:
        away: FloatArray = np.hypot(*(self.points - at).T)
        return away

    def signed(self, at: Point) -> float:
        least = float(self.area.exterior.distance(shapely.Point(at)))
        return -least if self.area.contains(shapely.Point(at)) else least

    def part(self, at: Point) -> float:
        """The nearest sample, as a part of the whole from the axis on."""
        return (float(self.away(at).argmin()) + self.zero) / SAMPLES

    def place(self, part: float, distance: float) -> FloatArray:
        k = round(part * SAMPLES - self.zero) % SAMPLES
        spot: FloatArray = self.points[k] + distance * self.normals[k]
        return spot

    def is_undecided(self, at: Point) -> bool:
        """Whether places far from each other are as near, to a fiftieth of a millimetre aside."""
        away = self.away(at)
        k = int(away.argmin())
        apart = np.hypot(*(self.points - self.points[k]).T)
        return bool(((away - away[k]) * away[k] < 0.02 * apart)[apart > 0.5].any())


def _places(project: Project, c: Curves, d: Curves) -> list[tuple[Point, Follows, Outline, Outline]]:
    items: list[Feature | Stud] = [*project.housing.base.features, *project.housing.studs]
    found: list[tuple[Point, Follows, Outline, Outline]] = []
    for one in items:
        if isinstance(one, Crossbar | Rib | Pocket | Band):
            continue
        if one.follows is Follows.SEAT:
            found.append(((one.x, one.y), one.follows, c.seat_outer, d.seat_outer))
        elif one.follows is Follows.OUTSIDE:
            found.append(((one.x, one.y), one.follows, c.outside, d.outside))
    return found


def _new_pattern(seed: int) -> Project:
    """A wild project that is cut anew, its walls and gaps kept, so that the way back asks for what there was."""
    project = wild_project(seed)
    kept = replace(project.choices, mode=Mode.NEW_PATTERN, gap_outer=None, gap_inner=None, wall=None, lip=None)
    return replace(project, choices=kept)


def _hold_places(seeds: range) -> tuple[int, int]:
    """Check every place of some projects; how many were found, and how many refused."""
    counts = [0, 0]
    for seed in seeds:
        project = _new_pattern(seed)
        try:
            there = _resized(project)
            c = curves(project.housing.base, project.old_insert, End.BASE)
            d = curves(there[0].base, project.new_insert, End.BASE)
        except UserError:
            continue
        for at, follows, was, now in _places(project, c, d):
            went = follow_point(at, follows, c, d)
            if np.array_equal(was.vertices, now.vertices):
                assert went.value == at
                continue
            old, new = _Sampled(was), _Sampled(now)
            counts[0 if went.is_found else 1] += 1
            distance, part = old.signed(at), old.part(at)
            if went.is_found:
                assert new.signed(went.value) == pytest.approx(distance, abs=2e-3)
                # The mapped station is as near as the nearest, but for the steps of the samples.
                k = round(part * SAMPLES - new.zero) % SAMPLES
                assert new.away(went.value)[k] < np.hypot(distance, 0.08) + 2e-3
            else:
                assert went.value == at
                wanted = new.place(part, distance)
                spot = (float(wanted[0]), float(wanted[1]))
                past = abs(new.signed(spot)) < abs(distance) - 1e-4
                square = np.abs(old.place(part, distance) - at).max() < 0.05
                assert past or not square or old.is_undecided(at) or new.is_undecided(spot)
    return counts[0], counts[1]


def _resized(project: Project) -> tuple[Housing, tuple[Conflict, ...]]:
    there = resize(project.housing, project.old_insert, project.new_insert, project.choices, project.limits)
    return there.housing, there.conflicts


def test_places_keep_station_and_distance_by_dense_samples() -> None:
    found, refused = _hold_places(range(60))
    assert found > 20
    assert refused > 3


@pytest.mark.hard
def test_thousands_of_places_keep_station_and_distance_by_dense_samples() -> None:
    _hold_places(range(60, 2060))


def _both(family: Family, grow: float) -> tuple[Curves, Curves]:
    old = Insert("i", family, 200.0, 200.0 if family is Family.CIRCLE else 130.0, Rim(10.0, 6.0), 40.0)
    new = replace(old, length=old.length + grow, width=old.width + grow)
    project = two_piece(old)
    return curves(project.housing.base, old, End.BASE), curves(project.housing.base, new, End.BASE)


@pytest.mark.parametrize("family", SIZED_FAMILIES)
def test_what_lies_at_the_centre_has_no_place_beside_the_seat(family: Family) -> None:
    """The centre is as far from one side as from the other; the seat's growth would send it either way."""
    old, new = _both(family, 4.0)
    went = follow_point((0.0, 0.0), Follows.SEAT, old, new)
    assert not went.is_found
    assert went.value == (0.0, 0.0)


def test_past_the_centre_of_curvature_nothing_jumps() -> None:
    """2 mm from the middle line of an obround that gets 6 mm narrower: 3 mm a side put it past the middle."""
    old, new = _both(Family.OBROUND, -6.0)
    went = follow_point((10.0, 2.0), Follows.SEAT, old, new)
    assert not went.is_found
    assert went.value == (10.0, 2.0)
    deep = follow_point((10.0, 4.0), Follows.SEAT, old, new)
    assert deep.is_found
    assert deep.value[1] == pytest.approx(1.0, abs=1e-9)


def test_on_the_middle_line_a_longer_insert_of_the_same_width_moves_nothing_across() -> None:
    """Both sides lead to one place there, so that it is no matter which one is followed."""
    old = Insert("i", Family.OBROUND, 200.0, 130.0, Rim(10.0, 6.0), 40.0)
    base = two_piece(old).housing.base
    before = curves(base, old, End.BASE)
    after = curves(base, replace(old, length=208.0), End.BASE)
    went = follow_point((0.0, 0.0), Follows.SEAT, before, after)
    assert went.is_found
    assert went.value == pytest.approx((0.0, 0.0), abs=1e-9)


# Strips


@pytest.mark.parametrize("offset", [30.0, -30.0, 5.0, -5.0])
def test_a_strip_keeps_its_distance_from_the_side_it_lies_on(offset: float) -> None:
    old, new = _both(Family.OBROUND, 6.0)
    went = follow_offset(offset, 0.0, Follows.OUTSIDE, old, new)
    side = np.sign(offset)
    assert went.is_found
    assert support(new.outside, (0.0, side)) - side * went.value[0] == pytest.approx(
        support(old.outside, (0.0, side)) - side * offset
    )


@pytest.mark.parametrize("offset", [2.0, -2.0, 3.0, -3.0])
def test_no_strip_is_drawn_over_the_centre(offset: float) -> None:
    """The outside comes in by 3 mm: what lies 2 mm from the centre would change sides, and not come back."""
    old, new = _both(Family.OBROUND, -6.0)
    went = follow_offset(offset, 0.0, Follows.OUTSIDE, old, new)
    assert not went.is_found
    assert went.value[0] == offset


def test_what_cannot_follow_is_named_with_its_place_and_what_to_do() -> None:
    old = Insert("i", Family.OBROUND, 200.0, 130.0, Rim(10.0, 6.0), 40.0)
    project = two_piece(old)
    hole = Hole("sensor", 10.0, 2.0, 5.0, follows=Follows.SEAT)
    rib = Rib("keel", 0.0, -2.0, 4.0, 2.0, 3.0, follows=Follows.OUTSIDE)
    stud = replace(project.housing.studs[0], name="middle", x=0.0, y=0.0, follows=Follows.OUTSIDE)
    housing = replace(
        project.housing, base=replace(project.housing.base, opening=None, features=(hole, rib)), studs=(stud,)
    )
    new = replace(old, length=194.0, width=124.0)
    found = resize(housing, old, new, Choices(), project.limits).conflicts
    assert {c.feature: c.place.path for c in found} == {
        "sensor": "housing.base.features[0].follows",
        "keel": "housing.base.features[1].follows",
        "middle": "housing.studs[0].follows",
    }
    assert found[0].place.point == (10.0, 2.0)
    assert "it stays where it was: put it nearer to the seat's outer wall, or let it" in found[0].what.text
    result = evaluate(replace(project, housing=housing, new_insert=new, choices=Choices()))
    whys = {
        c.feature: c.why for c in result.changes if "centre" in c.quantity and c.feature in ("sensor", "keel", "middle")
    }
    assert len(whys) == 3
    assert all(why.startswith("can't follow, and stays where it was") for why in whys.values())


# There and back


def _values(item: object) -> dict[str, float]:
    return {f: v for f in item.__struct_fields__ if isinstance(v := getattr(item, f), float)}  # type: ignore[attr-defined]


def _hold_there_and_back(seeds: range) -> int:
    """Check the way there and back of some projects; how many features came home."""
    home = 0
    for seed in seeds:
        project = _new_pattern(seed)
        try:
            there, conflicts = _resized(project)
            back = resize(there, project.new_insert, project.old_insert, project.choices, project.limits)
            folded = [
                curves(piece, insert, end).folded
                for housing, insert in ((project.housing, project.old_insert), (there, project.new_insert))
                for end in End
                if (piece := housing.piece(end)) is not None
            ]
        except UserError:
            continue  # what the program refuses has no way back
        named = {c.feature for c in (*conflicts, *back.conflicts)}
        if any(folded):
            continue  # named as well: there is no opening to spread over
        assert {c.feature for c in back.conflicts} <= {c.feature for c in conflicts} | HEIGHTS
        for end in End:
            was, now = project.housing.piece(end), back.housing.piece(end)
            if was is None or now is None:
                continue
            for a, b in zip(was.features, now.features, strict=True):
                if a.name not in named:
                    assert _values(b) == pytest.approx(_values(a), abs=1e-6)
                    home += 1
        for one, other in zip(project.housing.studs, back.housing.studs, strict=True):
            if one.name not in named:
                assert (other.x, other.y) == pytest.approx((one.x, one.y), abs=1e-6)
            assert other.length == pytest.approx(one.length, abs=1e-9) or named & HEIGHTS
    return home


def test_there_and_back_over_wild_projects_returns_every_feature_or_names_it() -> None:
    assert _hold_there_and_back(range(60)) > 100


@pytest.mark.hard
def test_there_and_back_over_thousands_of_wild_projects() -> None:
    _hold_there_and_back(range(60, 2060))
