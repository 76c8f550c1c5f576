"""The gap unrolled, and the legend."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QPointF, Qt
from PySide6.QtTest import QTest

from app.drawing.base.legend import Legend
from app.drawing.base.pens import Pencil
from app.drawing.gap.chart import GapChart
from app.drawing.plan.view import PlanView
from app.session.session import Session
from app.widgets.theme import ink
from core.files.project.demos import load_demo
from core.words.ends import End, Side

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot


@pytest.fixture
def session(demo_session: Session) -> Session:
    return demo_session


@pytest.fixture
def chart(qtbot: QtBot, session: Session) -> GapChart:
    made = GapChart(session)
    qtbot.addWidget(made)
    made.resize(900, 240)
    with qtbot.waitExposed(made):
        made.show()
    return made


@pytest.fixture
def legend(qtbot: QtBot, session: Session) -> Legend:
    made = Legend(session)
    qtbot.addWidget(made)
    made.resize(900, made.heightForWidth(900))
    with qtbot.waitExposed(made):
        made.show()
    return made


@pytest.mark.parametrize("side", list(Side))
@pytest.mark.parametrize("index", [0, 1, 359, 719])
def test_a_station_is_found_where_it_is_drawn(chart: GapChart, side: Side, index: int) -> None:
    at = chart.place_of((End.BASE, side, index))
    assert at is not None
    assert chart.station_at(at) == (End.BASE, side, index)


def test_the_curve_stands_at_its_gap_on_the_lanes_scale(chart: GapChart, session: Session) -> None:
    limits = session.project.limits
    lane = chart.lanes()[0]
    least, greatest = lane.y(limits.gap_outer_least), lane.y(limits.gap_outer_greatest)
    at = chart.place_of((End.BASE, Side.OUTER, 10))
    assert at is not None
    part = (lane.profile.gap[10] - limits.gap_outer_least) / (limits.gap_outer_greatest - limits.gap_outer_least)
    assert at.y() == pytest.approx(least + part * (greatest - least))
    assert lane.area.top() <= greatest < least <= lane.area.bottom()


def test_the_pointer_and_the_plan_share_one_station(qtbot: QtBot, chart: GapChart, session: Session) -> None:
    plan = PlanView(session)
    qtbot.addWidget(plan)
    plan.resize(700, 500)
    at = chart.place_of((End.BASE, Side.OUTER, 200))
    assert at is not None
    with qtbot.waitSignal(session.stationed) as told:
        QTest.mouseMove(chart, at.toPoint())
    assert told.args is not None
    end, side, index = told.args[0]
    assert (end, side) == (End.BASE, Side.OUTER)
    assert index == pytest.approx(200, abs=1)  # whole pixels
    assert chart.station == told.args[0]
    before = plan.grab().toImage()
    session.hover(None)
    assert plan.grab().toImage() != before
    assert chart.station is None


def test_a_station_from_the_plan_is_marked(chart: GapChart, session: Session) -> None:
    before = chart.grab().toImage()
    session.hover((End.BASE, Side.INNER, 300))
    assert chart.grab().toImage() != before


def test_beside_the_lanes_there_is_no_station(chart: GapChart) -> None:
    assert chart.station_at(QPointF(2.0, 60.0)) is None


def test_arrow_keys_walk_round_the_rim(chart: GapChart, session: Session) -> None:
    QTest.keyClick(chart, Qt.Key.Key_Right)
    assert chart.station == (End.BASE, Side.OUTER, 0)
    QTest.keyClick(chart, Qt.Key.Key_Left)
    assert chart.station == (End.BASE, Side.OUTER, 719)
    QTest.keyClick(chart, Qt.Key.Key_Right, Qt.KeyboardModifier.ShiftModifier)
    assert chart.station == (End.BASE, Side.OUTER, 9)
    assert session.shown_end is End.BASE


def test_the_chart_shows_the_piece_that_the_plan_shows(chart: GapChart, session: Session) -> None:
    session.show_end(End.LID)
    assert {profile.end for profile in chart.profiles} == {End.LID}


def test_without_a_lip_there_is_one_lane(chart: GapChart, session: Session) -> None:
    assert len(chart.lanes()) == 2
    session.set_text("housing.base.lip.height", "0", "no lip")
    assert [lane.profile.side for lane in chart.lanes()] == [Side.OUTER]
    assert chart.grab().height() == 240


def test_an_extreme_gap_stays_inside_its_lane(chart: GapChart, session: Session) -> None:
    session.set_text("choices.gap_outer", "-3", "very tight")
    lane = chart.lanes()[0]
    assert lane.area.contains(QPointF(lane.x(100.0), lane.y(-3.0)))
    session.set_text("choices.gap_outer", "9", "very loose")
    lane = chart.lanes()[0]
    assert lane.area.contains(QPointF(lane.x(100.0), lane.y(9.0)))


@pytest.mark.parametrize("size", [(220, 90), (500, 130), (1400, 300)])
def test_lanes_fit_the_widget(chart: GapChart, size: tuple[int, int]) -> None:
    chart.resize(*size)
    lanes = chart.lanes()
    assert all(chart.rect().contains(lane.area.toRect()) for lane in lanes)
    assert lanes[0].area.bottom() < lanes[1].area.top()
    assert chart.grab().width() == size[0]


def test_the_legend_names_everything_that_is_drawn(legend: Legend) -> None:
    words = {sample.words for sample in legend.samples()}
    assert {
        "as built",
        "new",
        "insert",
        "fixed to the machine",
        "keep-out",
        "interference",
        "section line",
        "thinnest metal",
        "go",
        "marginal",
        "no-go",
    } <= words


def test_the_legend_says_how_much_the_gap_is_exaggerated(qtbot: QtBot, legend: Legend, session: Session) -> None:
    plan = PlanView(session)
    qtbot.addWidget(plan)
    plan.gap_factor_changed.connect(legend.set_gap_factor)
    legend.set_gap_factor(plan.gap_factor)
    plan.resize(900, 600)
    plan.grab()
    words = {sample.words for sample in legend.samples()}
    assert f"gap, {plan.gap_factor} times as wide" in words
    plan.zoom(40.0)
    plan.grab()
    assert "gap, true width" in {sample.words for sample in legend.samples()}


def test_the_legend_wraps_and_needs_more_height_when_narrow(legend: Legend) -> None:
    assert legend.heightForWidth(300) > legend.heightForWidth(900) > legend.heightForWidth(3000)


@pytest.mark.parametrize("width", [260, 500, 900])
def test_the_legends_samples_and_words_stay_inside(legend: Legend, width: int) -> None:
    legend.resize(width, legend.heightForWidth(width))
    image, paper = legend.grab().toImage(), ink(legend.palette()).paper.rgb()
    right = [image.pixelColor(width - 2, y).rgb() for y in range(image.height())]
    bottom = [image.pixelColor(x, image.height() - 2).rgb() for x in range(width)]
    assert set(right) == {paper}
    assert set(bottom) == {paper}


def test_the_scale_in_the_legend_has_the_plans_own_colours(legend: Legend) -> None:
    image = legend.grab().toImage()
    pencil = Pencil(ink(legend.palette()))
    seen = {image.pixelColor(x, y).rgb() for x in range(image.width()) for y in range(image.height())}
    assert {pencil.gap_color(position).rgb() for position in (-1.0, 0.0, 1.0)} <= seen


def test_a_single_ring_has_no_lid_in_its_legend(qtbot: QtBot) -> None:
    session = Session(load_demo("lens-ring"))
    legend = Legend(session)
    qtbot.addWidget(legend)
    words = {sample.words for sample in legend.samples()}
    assert "cut metal" in words
    assert "lid" not in words
    session.close()


def test_both_limits_are_written_beside_a_lane_however_close_they_lie(session: Session, chart: GapChart) -> None:
    limits = session.project.limits
    height = chart.fontMetrics().height()
    for tall in (600, 240, 120):
        chart.resize(900, tall)
        for lane in chart.lanes():
            figures = chart.figures(lane)
            assert set(limits.gap(lane.profile.side)) <= {value for value, _ in figures}
            ys = sorted(y for _, y in figures)
            assert all(b - a >= 0.89 * height for a, b in pairwise(ys))
