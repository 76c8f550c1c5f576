from __future__ import annotations

from math import degrees

import numpy as np
import pytest

from core.files.outlines.rings import rings
from core.files.project.demos import FOLDER, load_demo
from core.geometry.lines.outline import Outline, circle_outline, polygon_outline, rectangle_outline
from core.geometry.ovals.ovals import Family, Oval, oval_outline
from core.geometry.parallels.parallel import parallel
from core.geometry.regions.closing import combine
from core.geometry.regions.region import Step
from core.measure.drawing.housing.roles import sort_loops, with_role
from core.measure.drawing.loops.nest import find_loops
from core.measure.drawing.reading.read import read_drawing
from core.measure.drawing.results import DrawingUnit, Loops, Role, Sorted
from core.metal.slabs import resolve
from core.words.ends import End
from core.words.errors import Cancelled
from tests.support.loops import chords_of, loops_of, noisy, placed

# A housing as it may be drawn (invented data): wall 8, seat 15 wide, lip 6, round a four-arc oval.
RIM = oval_outline(Oval(Family.FOUR_ARC, 240.0, 140.0, 45.0))
SEAT_OUTER = parallel(RIM, 0.8)
SEAT_INNER = parallel(RIM, -14.2)
OPENING = parallel(RIM, -20.2)
OUTSIDE = parallel(RIM, 8.8)
PLAN = (OUTSIDE, SEAT_OUTER, SEAT_INNER, OPENING)
WALLS = [Role.OUTSIDE, Role.SEAT_OUTER, Role.SEAT_INNER, Role.OPENING]


def sorted_of(*outlines: Outline, layers: dict[int, str] | None = None) -> tuple[Sorted, list[Role]]:
    """What the guess makes of outlines, and the roles in the order that they were given in."""
    named = [(outline, (layers or {}).get(i, "")) for i, outline in enumerate(outlines)]
    loops = loops_of(named)
    found = sort_loops(loops)
    area = [abs(outline.area) for outline in outlines]
    rank = {i: n + 1 for n, i in enumerate(sorted(range(len(area)), key=lambda i: -area[i]))}
    return found, [found.roles[rank[i]] for i in range(len(outlines))]


def divided(opening: Outline, *bars: Outline) -> list[Outline]:
    """The clear pieces that bars leave of an opening."""
    steps = [Step(add=True, inside=(0,)), *(Step(add=False, inside=(k + 1,)) for k in range(len(bars)))]
    return [loop.oriented(ccw=True) for loop in combine([opening, *bars], steps).loops]


@pytest.mark.parametrize("turn", [0.0, 30.0, -80.0])
def test_ovals_about_one_centre_are_outside_seat_and_opening(turn: float) -> None:
    found, roles = sorted_of(*(placed(outline, turn) for outline in PLAN))
    assert roles == WALLS
    assert [r.oval.family for _, r in sorted(found.recovered.items())] == [Family.FOUR_ARC] * 4
    assert found.recovered[2].oval.length == pytest.approx(241.6, abs=1e-6)
    assert degrees(found.recovered[2].angle) == pytest.approx(turn, abs=1e-6)
    assert all(reason for _, reason in found.guessed.values())
    assert {n: role for n, (role, _) in found.guessed.items()} == found.roles


@pytest.mark.parametrize("made", [lambda o: chords_of(o, 96), lambda o: noisy(o, 300, 0.02)], ids=["chords", "noise"])
def test_ovals_of_points_are_told_as_those_of_arcs_are(made: object) -> None:
    assert callable(made)
    _, roles = sorted_of(*(made(outline) for outline in PLAN))
    assert roles == WALLS


def test_an_outside_with_lugs_is_recovered_without_them() -> None:
    ears = [circle_outline(p, 14.0) for p in ((100.0, 74.0), (-100.0, 74.0), (0.0, -84.0))]
    whole = combine([OUTSIDE, *ears], [Step(add=True, inside=(k,)) for k in range(4)]).loops[0]
    holes = [circle_outline(p, 4.25) for p in ((100.0, 74.0), (-100.0, 74.0), (0.0, -84.0))]
    found, roles = sorted_of(*(placed(o) for o in (whole, *PLAN[1:], *holes)))
    assert roles == [*WALLS, *[Role.HOLE] * 3]
    outside = found.recovered[1]
    assert outside.oval.family is Family.FOUR_ARC
    assert (outside.oval.length, outside.oval.width) == pytest.approx((257.6, 157.6), abs=1e-3)
    assert found.recovered[7].oval.length == pytest.approx(8.5, abs=1e-6)


def test_pieces_between_crossbars_are_the_edges_of_one_opening() -> None:
    bar = rectangle_outline(-5.0, -100.0, 5.0, 100.0)
    long = rectangle_outline(-200.0, -4.0, 200.0, 4.0)
    two, four = divided(OPENING, bar), divided(OPENING, bar, long)
    assert (len(two), len(four)) == (2, 4)
    for pieces in (two, four):
        _, roles = sorted_of(*(placed(o) for o in (*PLAN[:3], *pieces)))
        assert roles == [*WALLS[:3], *[Role.CROSSBAR_EDGE] * len(pieces)]


def test_strips_across_an_opening_that_is_drawn_are_crossbar_edges_and_a_badge_is_not() -> None:
    bar = rectangle_outline(-5.0, -52.0, 5.0, 52.0)
    badge = oval_outline(Oval(Family.OBROUND, 40.0, 20.0)).moved(40.0, 0.0)
    _, roles = sorted_of(*(placed(o) for o in (*PLAN, bar, badge)))
    assert roles == [*WALLS, Role.CROSSBAR_EDGE, Role.IGNORED]


def test_a_ring_without_an_inner_wall_has_its_opening_where_the_floor_ends() -> None:
    _, roles = sorted_of(OUTSIDE, SEAT_OUTER, SEAT_INNER)
    assert roles == [Role.OUTSIDE, Role.SEAT_OUTER, Role.OPENING]
    # With holes in it there is a floor in it.
    _, roles = sorted_of(OUTSIDE, SEAT_OUTER, SEAT_INNER, circle_outline((30.0, 0.0), 15.0))
    assert roles == [Role.OUTSIDE, Role.SEAT_OUTER, Role.SEAT_INNER, Role.HOLE]


def test_a_pocket_has_holes_in_its_floor_and_an_opening_has_none() -> None:
    throats = [circle_outline((x, 0.0), 18.0) for x in (-40.0, 40.0)]
    bosses = [circle_outline((x, 0.0), 24.0) for x in (-40.0, 40.0)]
    found, roles = sorted_of(*PLAN, *throats, *bosses)
    assert roles == [*WALLS[:3], Role.IGNORED, Role.HOLE, Role.HOLE, Role.IGNORED, Role.IGNORED]
    assert "pocket" in found.guessed[4][1]
    assert "boss" in found.guessed[5][1]


def test_a_raised_band_near_the_wall_is_not_taken_for_the_seat() -> None:
    band = parallel(RIM, 3.8)
    found, roles = sorted_of(OUTSIDE, band, *PLAN[1:])
    assert roles == [Role.OUTSIDE, Role.IGNORED, *WALLS[1:]]
    assert "band" in found.guessed[2][1]


def test_what_lies_beyond_the_outside_is_a_neighbour_a_lugs_hole_another_view_or_nothing() -> None:
    pipe = rectangle_outline(-60.0, 95.0, 60.0, 110.0)
    hole = circle_outline((140.0, 0.0), 4.0)
    pad = circle_outline((140.0, 0.0), 10.0)
    view = parallel(RIM, 6.0).moved(0.0, -200.0)
    in_view = SEAT_INNER.moved(0.0, -200.0)
    far = rectangle_outline(900.0, 0.0, 910.0, 10.0)
    found, roles = sorted_of(*(placed(o) for o in (*PLAN, pipe, hole, pad, view, in_view, far)))
    assert roles[:4] == WALLS
    assert roles[4:] == [Role.KEEP_OUT, Role.HOLE, Role.IGNORED, Role.IGNORED, Role.IGNORED, Role.IGNORED]
    reasons = " ".join(reason for _, reason in found.guessed.values())
    assert "another view" in reasons
    assert "far from the outside" in reasons


def test_a_sheets_border_is_not_the_outside() -> None:
    border = rectangle_outline(-200.0, -150.0, 220.0, 147.0)
    pipe = rectangle_outline(-60.0, 95.0, 60.0, 110.0)
    found, roles = sorted_of(*(placed(o, 10.0) for o in (border, *PLAN, pipe)))
    assert roles == [Role.IGNORED, *WALLS, Role.KEEP_OUT]
    assert "border" in found.guessed[1][1]


def test_a_square_cornered_block_round_a_seat_is_the_outside() -> None:
    block = rectangle_outline(-140.0, -90.0, 140.0, 90.0)
    found, roles = sorted_of(*(placed(o, 10.0) for o in (block, *PLAN[1:])))
    assert roles == WALLS
    assert found.recovered[1].oval.family is Family.MEASURED


def test_a_layer_that_holds_everything_says_nothing() -> None:
    holes = [circle_outline((x, 0.0), 4.0) for x in (-124.6, 124.6)]
    border = rectangle_outline(-200.0, -150.0, 220.0, 147.0)
    outlines = [border, *PLAN, *holes]
    _, roles = sorted_of(*outlines, layers=dict.fromkeys(range(len(outlines)), "Outline"))
    assert roles == [Role.IGNORED, *WALLS, Role.HOLE, Role.HOLE]


def test_an_irregular_seat_is_still_the_seat() -> None:
    # Egg-shaped: the curve r = 80 + 12 cos t, which half a turn does not bring onto itself.
    t = np.linspace(0.0, 2.0 * np.pi, 200, endpoint=False)
    egg = polygon_outline((80.0 + 12.0 * np.cos(t))[:, None] * np.column_stack((np.cos(t), 0.8 * np.sin(t))))
    wide = polygon_outline((92.0 + 12.0 * np.cos(t))[:, None] * np.column_stack((np.cos(t), 0.8 * np.sin(t))))
    found, roles = sorted_of(wide, egg)
    assert roles == [Role.OUTSIDE, Role.SEAT_OUTER]
    assert found.recovered[2].oval.family is Family.MEASURED


@pytest.mark.parametrize("named", [True, False])
@pytest.mark.parametrize(
    ("demo", "end"), [("compressor-intake", End.BASE), ("compressor-intake", End.LID), ("lens-ring", End.BASE)]
)
def test_our_own_written_outlines_are_sorted_as_they_were_meant(demo: str, end: End, named: bool) -> None:  # noqa: FBT001
    project = load_demo(demo)
    written = rings(resolve(project.housing, project.old_insert), end)
    loops = loops_of([(placed(ring.outline), ring.layer if named else "") for ring in written])
    found = sort_loops(loops)
    meant = {"outside": Role.OUTSIDE, "seat outer": Role.SEAT_OUTER, "seat inner": Role.SEAT_INNER}
    ranked = sorted(written, key=lambda ring: -abs(ring.outline.area))
    seen: set[str] = set()
    for loop, ring in zip(loops.loops, ranked, strict=True):
        role = found.roles[loop.number]
        if ring.kind in meant and ring.kind not in seen:
            seen.add(ring.kind)
            assert role is meant[ring.kind]
        elif ring.layer.endswith("CROSSBAR"):
            assert role is Role.CROSSBAR_EDGE
        elif ring.kind.endswith("hole"):
            assert role is Role.HOLE
        elif ring.layer.endswith("OPENING"):
            assert role is Role.OPENING
        else:
            assert role is Role.IGNORED


@pytest.mark.parametrize(
    ("layer", "role"),
    [
        ("Seat_outer", Role.SEAT_OUTER),
        ("old keep-out", Role.KEEP_OUT),
        ("DRILLED", Role.HOLE),
        ("CHECK", Role.IGNORED),
        ("title block", Role.IGNORED),
    ],
)
def test_a_layer_that_says_what_it_holds_is_believed(layer: str, role: Role) -> None:
    # A round between seat and outside, which the shapes alone would make a hole.
    extra = circle_outline((0.0, 55.0), 4.0) if role is not Role.SEAT_OUTER else SEAT_OUTER
    outlines = [OUTSIDE, parallel(RIM, 0.5), SEAT_INNER, extra]
    found, roles = sorted_of(*outlines, layers={3: layer})
    assert roles[3] is role
    number = next(n for n, own in found.roles.items() if found.loops.loop(n).layer == layer and own is role)
    assert "layer" in found.guessed[number][1]


def test_a_correction_is_recovered_for_its_new_role() -> None:
    found, _ = sorted_of(*PLAN)
    changed = with_role(found, 4, Role.HOLE)
    assert changed.roles[4] is Role.HOLE
    assert changed.recovered[4].oval.family is Family.CIRCLE
    assert changed.recovered[4].worst > 1.0
    ignored = with_role(changed, 4, Role.IGNORED)
    assert 4 not in ignored.recovered
    assert found.roles[4] is Role.OPENING  # the first answer stays as it was
    assert ignored.guessed == found.guessed
    back = with_role(ignored, 4, Role.OPENING)
    assert back.roles == found.roles
    assert back.recovered[4].oval == found.recovered[4].oval


def test_there_is_one_seat_at_a_time_and_the_outside_is_seen_by_it() -> None:
    found, _ = sorted_of(*PLAN)
    changed = with_role(found, 3, Role.SEAT_OUTER)
    assert (changed.roles[2], changed.roles[3]) == (Role.IGNORED, Role.SEAT_OUTER)
    assert 2 not in changed.recovered
    assert changed.recovered[1].oval.length == pytest.approx(257.6, abs=1e-6)
    with pytest.raises(ValueError, match="no loop 9"):
        with_role(found, 9, Role.HOLE)


def test_a_drawing_without_loops_has_no_roles() -> None:
    assert sort_loops(Loops((), (), 0.01)).roles == {}


def test_sorting_tells_how_far_it_is_and_can_be_called_off() -> None:
    loops = find_loops(read_drawing(FOLDER / "pump-strainer.dxf"), DrawingUnit.INCH)
    told: list[float] = []
    sort_loops(loops, tick=told.append)
    assert told == sorted(told)
    assert len(told) >= 2 * len(loops.loops)
    assert 0.0 <= told[0] < told[-1] <= 1.0

    def stop(_: float) -> None:
        raise Cancelled("by the test")

    with pytest.raises(Cancelled, match="by the test"):
        sort_loops(loops, tick=stop)
