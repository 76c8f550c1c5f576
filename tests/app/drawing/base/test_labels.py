"""Words in the plan stand where they cover least."""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np
import pytest
from PySide6.QtCore import QLineF, QPointF, QRectF

from app.drawing.base.labels import Places, Spot, along, beside, outline_segments, within_or_beside
from app.drawing.plan.view import PlanView
from app.session.session import Session
from core.evaluate import evaluate
from core.files.project.demos import load_demo
from core.geometry.lines.outline import circle_outline
from core.words.ends import End

if TYPE_CHECKING:
    from collections.abc import Iterator

    from pytestqt.qtbot import QtBot

_ROOM = QRectF(0.0, 0.0, 400.0, 300.0)
_SIZE = (60.0, 16.0)


@pytest.fixture(params=["compressor-intake", "lens-ring"])
def plan(request: pytest.FixtureRequest, qtbot: QtBot) -> Iterator[PlanView]:
    project = load_demo(request.param)
    session = Session(project, result=evaluate(project))
    view = PlanView(session)
    view.session_of_test = session  # type: ignore[attr-defined]
    qtbot.addWidget(view)
    view.resize(560, 400)
    with qtbot.waitExposed(view):
        view.show()
    yield view
    session.close()


def test_a_text_keeps_off_a_line_and_off_a_box() -> None:
    places = Places(_ROOM)
    spots = beside(QPointF(200.0, 150.0), 10.0, _SIZE)
    places.add_lines([QLineF(0.0, 150.0, 400.0, 150.0)])  # through the places on the right and on the left
    places.add_boxes([QRectF(180.0, 100.0, 40.0, 38.0)])  # over the one above
    assert places.take(spots) is spots[3]


def test_a_place_that_was_taken_is_occupied() -> None:
    places = Places(_ROOM)
    spots = beside(QPointF(200.0, 150.0), 10.0, _SIZE)
    assert [places.take(spots) for _ in range(4)] == [spots[i] for i in (0, 1, 2, 3)]


def test_a_text_stays_in_the_room() -> None:
    places = Places(_ROOM)
    assert _ROOM.contains(places.take(beside(QPointF(395.0, 50.0), 10.0, _SIZE)).box)


def test_a_leader_goes_round_what_is_drawn() -> None:
    places = Places(_ROOM)
    spots = along([(QPointF(200.0, 150.0), QPointF(1.0, 0.0))], (5.0, 30.0), _SIZE)
    places.add_lines([QLineF(208.0, 60.0, 208.0, 151.0)])  # in the way of all that goes straight on, or up
    best = places.take(spots)
    assert best.leader is not None
    assert best.leader.dy() > 0.0


def test_a_name_stands_in_its_area_where_nothing_crosses_it() -> None:
    area = QRectF(150.0, 100.0, 100.0, 30.0)
    assert area.contains(Places(_ROOM).take(within_or_beside(area, _SIZE)).box)
    crossed = Places(_ROOM)
    crossed.add_lines([QLineF(x, 0.0, x, 300.0) for x in (180.0, 200.0, 220.0)])
    assert not area.intersects(crossed.take(within_or_beside(area, _SIZE)).box)


def test_a_narrow_upright_area_has_its_name_written_upwards() -> None:
    spot = Places(_ROOM).take(within_or_beside(QRectF(150.0, 50.0, 20.0, 100.0), _SIZE))
    assert spot.turn == -90.0
    assert spot.box.height() == _SIZE[0]


def test_segments_follow_the_outline() -> None:
    segments = outline_segments([circle_outline((0.0, 0.0), 5.0)])
    radii = np.hypot(segments[:, 0], segments[:, 1])
    assert radii == pytest.approx(np.full(len(radii), 5.0), abs=1e-9)
    assert segments[0, :2] == pytest.approx(segments[-1, 2:])
    assert outline_segments([]).shape == (0, 4)


def test_of_alike_places_the_first_one_is_taken() -> None:
    spots = [Spot(QRectF(10.0 * i, 10.0 * i, 8.0, 8.0)) for i in range(3)]
    assert Places(_ROOM).take(spots) is spots[0]


def test_no_label_covers_another_one_or_a_dimension(plan: PlanView) -> None:
    session: Session = plan.session_of_test  # type: ignore[attr-defined]
    for mode in ("new_pattern", "rework"):
        session.set_text("choices.mode", mode, mode)
        for end in End:
            if session.project.housing.piece(end) is None:
                continue
            session.show_end(end)
            boxes = [label.spot.box for label in plan.labels()]
            assert boxes
            assert not any(a.intersects(b) for a, b in combinations(boxes, 2))
            assert not any(a.intersects(laid.box) for a in boxes for laid in plan.laid_dimensions())
    plan.stop_marking()


def test_labels_follow_the_section_line_and_the_zoom(plan: PlanView) -> None:
    session: Session = plan.session_of_test  # type: ignore[attr-defined]
    before = plan.labels()
    assert plan.labels() is before
    session.set_cut((0.0, -100.0), (0.0, 100.0))
    turned = plan.labels()
    assert turned is not before
    plan.zoom(1.5)
    assert plan.labels() is not turned
