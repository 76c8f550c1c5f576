"""One seat of the cut, enlarged: which, what is seen of it, and that its figures are the result's."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QPoint, QRectF, Qt
from PySide6.QtTest import QTest

from app.drawing.section.seat import SeatCut
from app.session.session import Session
from core.edits import set_text
from core.evaluate import evaluate
from core.files.project.demos import demo_names, load_demo

if TYPE_CHECKING:
    from collections.abc import Callable

    from pytestqt.qtbot import QtBot


@pytest.fixture
def seat_of(qtbot: QtBot) -> Callable[[Session], SeatCut]:
    def made(session: Session) -> SeatCut:
        view = SeatCut(session)
        qtbot.addWidget(view)
        view.resize(340, 760)
        view.show()
        view.fit()
        return view

    return made


@pytest.mark.parametrize("demo", demo_names())
@pytest.mark.parametrize("style", ["mm", "in", "fraction"])
def test_every_figure_is_in_sight_and_none_covers_another(
    seat_of: Callable[[Session], SeatCut], demo: str, style: str
) -> None:
    view = seat_of(Session(set_text(load_demo(demo), "style", style)))
    for number in range(len(view.seats())):
        view.choose(number)
        laid = view.laid_dimensions()
        assert laid
        boxes = [one.box for one in laid]
        assert all(QRectF(view.rect()).contains(box) for box in boxes)
        assert not [1 for i, a in enumerate(boxes) for b in boxes[:i] if a.intersects(b)]


def test_a_seat_is_much_larger_than_the_whole_cut_would_be(seat_of: Callable[[Session], SeatCut]) -> None:
    view = seat_of(Session(load_demo("compressor-intake")))
    assert view.camera.scale > 3.0 * view._key_camera().scale
    seat = view.seats()[view.number]
    a, b = view.seen_from()
    assert a < seat.s0 < seat.s1 < b
    texts = {d.text for d in view._dimensions}
    assert {"wall 7.00", "gap 0.80", "lip 6.00", "faces 37.50", "base seat 12.00", "squeeze 3.00"} <= texts


def test_keys_and_a_click_into_the_small_picture_go_to_the_other_seat(
    seat_of: Callable[[Session], SeatCut],
) -> None:
    view = seat_of(Session(load_demo("compressor-intake")))
    assert view.heading[1].startswith("left seat")
    before = view.seen_from()
    QTest.keyClick(view, Qt.Key.Key_Right)
    assert view.heading[1].startswith("right seat")
    assert view.seen_from()[0] > before[1]
    QTest.keyClick(view, Qt.Key.Key_Right)  # there is no more
    assert view.number == 1
    first = view.seats()[0]
    at = view._key_camera().to_widget(((first.s0 + first.s1) / 2.0, (first.h0 + first.h1) / 2.0))
    QTest.mouseClick(view, Qt.MouseButton.LeftButton, pos=QPoint(round(at.x()), round(at.y())))
    assert view.number == 0


def test_a_cut_without_a_seat_is_seen_whole(seat_of: Callable[[Session], SeatCut]) -> None:
    session = Session(load_demo("compressor-intake"))
    view = seat_of(session)
    session.set_cut((0.0, 500.0), (1.0, 500.0))
    assert view.seats() == ()
    assert view.grab().toImage().width() == view.width()  # it says that the line misses the part
    session.set_cut((0.0, 0.0), (0.0, 1.0))
    assert len(view.seats()) == 2


def test_the_edit_of_a_height_moves_the_figures(seat_of: Callable[[Session], SeatCut]) -> None:
    session = Session(load_demo("compressor-intake"))
    view = seat_of(session)
    project = set_text(session.project, "housing.base.seat.depth", "13")
    session.open(project, None, evaluate(project))
    session.settle()
    view.grab()
    assert "base seat 13.00" in {d.text for d in view._dimensions}
