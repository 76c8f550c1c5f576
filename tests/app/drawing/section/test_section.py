"""The cut as it is shown: dimensions, hatching, title, and what it asks for."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QPointF, Qt
from PySide6.QtTest import QTest

from app.drawing.section.view import SectionView
from app.session.session import Session
from app.widgets.theme import ink
from core import edits
from core.files.project.demos import demo_names, load_demo
from core.metal.section.section import Section, section
from core.words.ends import End
from core.words.verdicts import Place
from tests.support.cuts import cut_of

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from core.geometry.lines.outline import Point
    from core.metal.slabs import Resolved
    from core.part.project import Limits

_LEFT = Qt.MouseButton.LeftButton
_NONE = Qt.KeyboardModifier.NoModifier


@pytest.fixture
def session(demo_session: Session) -> Session:
    return demo_session


@pytest.fixture
def view(qtbot: QtBot, session: Session) -> SectionView:
    made = SectionView(session)
    qtbot.addWidget(made)
    made.resize(1000, 420)
    with qtbot.waitExposed(made):
        made.show()
    return made


def _texts(view: SectionView) -> list[str]:
    return [laid.dimension.text for laid in view.laid_dimensions()]


def test_out_of_sight_nothing_is_cut_until_it_is_asked_for(
    session: Session, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    cuts: list[Resolved] = []

    def counted(before: Resolved, after: Resolved, limits: Limits, start: Point, stop: Point) -> Section:
        cuts.append(after)
        return section(before, after, limits, start, stop)

    view = SectionView(session)
    qtbot.addWidget(view)
    view.resize(1000, 420)
    monkeypatch.setattr("app.drawing.section.view.section", counted)
    for length in ("221", "222"):
        assert session.set_text("new_insert.length", length, "length")
    assert cuts == []
    assert view.section.pieces == cut_of(session.result, *session.cut).pieces
    assert cuts == [session.result.after]
    assert session.set_text("new_insert.length", "223", "length")
    with qtbot.waitExposed(view):
        view.show()
    view.repaint()
    assert cuts[1:] == [session.result.after]


def test_the_heights_of_both_pieces_and_the_squeeze_stand_beside_the_cut(view: SectionView) -> None:
    expected = {
        "base floor 6.00",
        "base seat 12.00",
        "lid floor 6.00",
        "lid seat 9.00",
        "faces 37.50",
        "squeeze 3.00",
        "rim, free 9.00",
    }
    assert expected <= set(_texts(view))


def test_a_play_is_called_so(view: SectionView, session: Session) -> None:
    session.set_text("choices.height_to", "squeeze", "no height follows")
    session.set_text("new_insert.height", "53", "low")
    play = -cut_of(session.result, *session.cut).stack.squeeze
    assert play > 0.0
    assert f"play {play:.2f}" in _texts(view)


@pytest.mark.parametrize("size", [(640, 300), (1000, 420), (1500, 700)])
@pytest.mark.parametrize("cut", [((-140.0, 0.0), (140.0, 0.0)), ((0.0, -100.0), (0.0, 100.0)), ((-90, -70), (80, 95))])
def test_figures_are_apart_and_off_the_cut(
    view: SectionView,
    session: Session,
    size: tuple[int, int],
    cut: tuple[tuple[float, float], tuple[float, float]],
) -> None:
    session.set_cut(*cut)
    view.resize(*size)
    view.fit()
    boxes = [(laid.dimension.text, laid.box) for laid in view.laid_dimensions()]
    assert not [(a, b) for i, (a, one) in enumerate(boxes) for b, other in boxes[:i] if one.intersects(other)]
    x0, y0, x1, y1 = view.bounds()
    for text, box in boxes:
        assert view.rect().contains(box.toAlignedRect()), text
        left, right = view.place_to_widget(x0, y0).x(), view.place_to_widget(x1, y0).x()
        top, bottom = view.place_to_widget(x0, y1).y(), view.place_to_widget(x0, y0).y()
        assert box.right() <= left or box.left() >= right or box.bottom() <= top or box.top() >= bottom, text


def test_clicking_a_dimension_asks_for_its_field(qtbot: QtBot, view: SectionView, session: Session) -> None:
    for text, path in (
        ("base floor 6.00", "housing.base.floor"),
        ("squeeze 3.00", "new_insert.height"),
        ("faces 37.50", "choices.height_to"),
    ):
        laid = next(one for one in view.laid_dimensions() if one.dimension.text == text)
        with qtbot.waitSignal(session.asked_for) as asked:
            QTest.mouseClick(view, _LEFT, _NONE, laid.box.center().toPoint())
        assert asked.args == [path]


def test_focus_and_pointing_light_up_dimensions(view: SectionView, session: Session) -> None:
    before = view.grab().toImage()
    session.focus("housing.lid.floor")
    assert [d.text for d in view.lit_dimensions()] == ["lid floor 6.00"]
    assert view.grab().toImage() != before
    session.focus("")
    session.point_at(Place(End.BASE, path="housing.base.seat.depth"))
    assert [d.text for d in view.lit_dimensions()] == ["base seat 12.00"]
    session.point_at(None)
    assert view.lit_dimensions() == ()


def test_the_cut_follows_the_section_line_and_says_which_it_is(view: SectionView, session: Session) -> None:
    assert view.title == "Cut A–A, 0°, through the centre"
    session.set_cut((-100.0, 20.0), (100.0, 20.0))
    assert view.title == "Cut A–A, 0°, 20.00 mm off the centre"
    assert view.section.at == (-100.0, 20.0)
    session.set_cut((0.0, 0.0), (50.0, 50.0))
    assert view.title == "Cut A–A, 45°, through the centre"


def test_the_cut_follows_an_edit(view: SectionView, session: Session) -> None:
    session.set_text("housing.base.floor", "7.5", "thicker floor")
    assert "base floor 7.50" in _texts(view)


def test_studs_of_one_length_share_a_dimension(view: SectionView, session: Session) -> None:
    studs = session.result.after.housing.studs
    a, b = next(
        ((p.x, p.y), (q.x, q.y)) for i, p in enumerate(studs) for q in studs[:i] if p.length == q.length and p.y == q.y
    )
    session.set_cut(a, b)
    assert sum(text.startswith("stud ") for text in _texts(view)) == 1
    shared = next(laid.dimension for laid in view.laid_dimensions() if laid.dimension.name == "stud")
    assert len(shared.paths) >= 2


def test_a_line_that_misses_the_part_says_so(view: SectionView, session: Session) -> None:
    session.set_cut((-10.0, 900.0), (10.0, 900.0))
    assert view.section.is_empty
    assert view.laid_dimensions() == []
    paper = ink(view.palette()).paper.rgb()
    image = view.grab().toImage()
    middle = [image.pixelColor(x, y).rgb() for x in range(300, 700) for y in range(180, 240)]
    assert any(pixel != paper for pixel in middle)  # the sentence


def test_base_and_lid_are_hatched_and_the_air_is_not(view: SectionView, session: Session) -> None:
    image, paper = view.grab().toImage(), ink(view.palette()).paper
    cut = cut_of(session.result, *session.cut)

    def shades(x: float, y: float) -> set[int]:
        at: QPointF = view.place_to_widget(x, y)
        return {image.pixelColor(int(at.x()) + dx, int(at.y()) + dy).lightness() for dx in range(9) for dy in (0, 3)}

    for piece in cut.pieces:
        cell = max(piece.cells, key=lambda c: min(c.s1 - c.s0, 40.0) * (c.h1 - c.h0))
        assert max(shades(cell.s0 + (cell.s1 - cell.s0) * 0.3, (cell.h0 + cell.h1) / 2.0)) < paper.lightness()
        assert len(shades(cell.s0 + (cell.s1 - cell.s0) * 0.3, (cell.h0 + cell.h1) / 2.0)) > 2
    x0, _, x1, _ = cut.bounds
    assert shades((x0 + x1) / 2.0, (cut.stack.base_joint + (cut.stack.lid_joint or 0.0)) / 2.0) == {paper.lightness()}


def test_the_cut_can_be_zoomed_and_fitted(view: SectionView) -> None:
    scale = view.camera.scale
    QTest.keyClick(view, Qt.Key.Key_Plus)
    assert view.camera.scale > scale
    QTest.keyClick(view, Qt.Key.Key_Home)
    assert view.camera.scale == pytest.approx(scale)


@pytest.mark.parametrize("style", ["mm", "in", "fraction"])
def test_every_style_has_its_figures(view: SectionView, session: Session, style: str) -> None:
    session.set_text("style", style, "style")
    floor = {"mm": "6.00", "in": "0.236", "fraction": "≈ 15/64"}[style]
    assert f"base floor {floor}" in _texts(view)
    assert view.grab().width() == 1000


@pytest.mark.parametrize("style", ["mm", "in", "fraction"])
@pytest.mark.parametrize("name", demo_names())
def test_figures_are_apart_on_a_small_board(qtbot: QtBot, name: str, style: str) -> None:
    session = Session(edits.set_text(load_demo(name), "style", style))
    view = SectionView(session)
    qtbot.addWidget(view)
    view.resize(422, 165)  # as it is in a window of 1280 by 800
    view.fit()
    boxes = [(laid.dimension.text, laid.box) for laid in view.laid_dimensions()]
    session.close()
    assert boxes
    assert not [(a, b) for i, (a, one) in enumerate(boxes) for b, other in boxes[:i] if one.intersects(other)]
    assert not [text for text, box in boxes if box.left() < 0.0 or box.right() > view.width()]
