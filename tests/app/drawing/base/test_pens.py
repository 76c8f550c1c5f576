"""The drawing language: paths, colours, hatching, layout of dimensions, the camera."""

from __future__ import annotations

from itertools import pairwise
from math import hypot

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QImage, QPainter, QPainterPath, QPalette

from app.drawing.base.camera import CLOSEST, Camera
from app.drawing.base.dimensions import Dimension, Shelf, lay_out, spread
from app.drawing.base.paths import outline_path, polygon, stroke_paths
from app.drawing.base.pens import RINGS, Pencil, arrowhead, hatch, mixed, scale_position
from app.drawing.base.sheet import round_length
from app.drawing.base.texts import draw_text
from app.widgets.theme import ink
from core.geometry.lines.outline import Outline, circle_outline, rectangle_outline
from core.geometry.ovals.ovals import Family, Oval, oval_outline
from core.geometry.parallels.parallel import parallel

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(8)


def test_a_polygon_has_the_rows_as_its_points() -> None:
    rows = np.array([(0.0, 0.0), (1.5, -2.25), (1.5, -2.25), (1e-9, 1e6), (0.0, 0.0)])
    made = polygon(rows)
    assert [made.at(i).toTuple() for i in range(made.size())] == [tuple(row) for row in rows.tolist()]


def _length(path: QPainterPath) -> float:
    """Length of lines and cubics by Gauss-Legendre: Qt's own length() is only good to a hundredth."""
    total, i = 0.0, 0
    x = y = 0.0
    while i < path.elementCount():
        e = path.elementAt(i)
        if e.isMoveTo():
            x, y = e.x, e.y
        elif e.isLineTo():
            total += hypot(e.x - x, e.y - y)
            x, y = e.x, e.y
        else:
            p = np.array([[x, y], *([path.elementAt(i + k).x, path.elementAt(i + k).y] for k in range(3))])
            t = (_NODES[:, None] + 1.0) / 2.0
            speed = 3.0 * ((1 - t) ** 2 * (p[1] - p[0]) + 2 * (1 - t) * t * (p[2] - p[1]) + t**2 * (p[3] - p[2]))
            total += float((_WEIGHTS * np.hypot(speed[:, 0], speed[:, 1])).sum()) / 2.0
            x, y = p[3].tolist()
            i += 2
        i += 1
    return total


@pytest.mark.parametrize(
    "outline",
    [
        pytest.param(circle_outline((3.0, -2.0), 100.0), id="circle"),
        pytest.param(rectangle_outline(0.0, 0.0, 30.0, 20.0), id="rectangle"),
        pytest.param(oval_outline(Oval(Family.OBROUND, 219.2, 139.6)), id="obround"),
        pytest.param(parallel(oval_outline(Oval(Family.ELLIPSE, 240.0, 150.0)), 3.2), id="parallel of an ellipse"),
        pytest.param(Outline([[0.0, 0.0, -0.7], [40.0, 5.0, 0.2], [20.0, 60.0, 0.0]]), id="clockwise arc"),
    ],
)
def test_a_path_is_as_long_as_its_outline(outline: Outline) -> None:
    assert _length(outline_path(outline)) == pytest.approx(outline.length, abs=1e-3)
    assert sum(_length(path) for path in stroke_paths([outline])) == pytest.approx(outline.length, abs=1e-3)


def test_an_arc_in_a_path_strays_less_than_a_tenth_of_a_micrometre_per_millimetre_of_radius() -> None:
    path = outline_path(circle_outline((0.0, 0.0), 100.0))
    far = [hypot(p.x(), p.y()) for p in (path.pointAtPercent(t) for t in np.linspace(0.0, 1.0, 997))]
    assert max(abs(r - 100.0) for r in far) < 1e-3


def test_a_loop_in_a_loop_is_a_hole() -> None:
    path = outline_path(circle_outline((0.0, 0.0), 10.0), circle_outline((0.0, 0.0), 4.0))
    assert path.contains(QPointF(7.0, 0.0))
    assert not path.contains(QPointF(1.0, 0.0))


def test_edges_in_common_are_stroked_once_and_those_left_out_not_at_all() -> None:
    circle, box = circle_outline((0.0, 0.0), 10.0), rectangle_outline(0.0, 0.0, 5.0, 5.0)
    length = sum(_length(path) for path in stroke_paths([circle, circle.reversed(), box], but=[box.reversed()]))
    assert length == pytest.approx(circle.length, abs=1e-4)


@given(
    x=st.floats(-500, 500),
    y=st.floats(-500, 500),
    factor=st.floats(0.01, 100.0),
    at=st.tuples(st.floats(0, 900), st.floats(0, 600)),
)
def test_the_camera_gives_back_a_place_and_holds_what_is_zoomed_about(
    x: float, y: float, factor: float, at: tuple[float, float]
) -> None:
    camera, pointer = Camera(2.5, 400.0, 300.0), QPointF(*at)
    held = camera.to_mm(pointer)
    camera.zoom(factor, pointer)
    assert camera.to_mm(pointer) == pytest.approx(held, abs=1e-6)
    assert camera.to_mm(camera.to_widget((x, y))) == pytest.approx((x, y), abs=1e-6)
    mapped = camera.transform.map(QPointF(x, y))
    assert (mapped.x(), mapped.y()) == pytest.approx(
        (camera.to_widget((x, y)).x(), camera.to_widget((x, y)).y()), abs=1e-6 * CLOSEST
    )


def test_a_fitted_camera_shows_all_and_touches_two_sides() -> None:
    camera, area = Camera(), QRectF(50.0, 20.0, 400.0, 300.0)
    camera.fit((-100.0, -50.0, 100.0, 50.0), area)
    assert camera.visible(area) == pytest.approx((-100.0, -75.0, 100.0, 75.0))


@given(
    st.lists(st.tuples(st.floats(-50, 450), st.floats(5, 60)), min_size=1, max_size=6).map(
        lambda rows: sorted(rows, key=lambda row: row[0])
    )
)
def test_spread_figures_never_overlap_and_stay_in_the_room_that_holds_them(rows: list[tuple[float, float]]) -> None:
    centres, sizes = [r[0] for r in rows], [r[1] for r in rows]
    placed = spread(centres, sizes, 0.0, 400.0)
    edges = [(c - s / 2, c + s / 2) for c, s in zip(placed, sizes, strict=True)]
    assert all(a[1] <= b[0] + 1e-6 for a, b in pairwise(edges))
    assert edges[0][0] >= -1e-6
    assert edges[-1][1] <= 400.0 + 1e-6


def test_figures_with_room_stay_where_they_are_wanted() -> None:
    assert spread([50.0, 150.0, 300.0], [40.0, 40.0, 40.0], 0.0, 400.0) == [50.0, 150.0, 300.0]


def test_two_figures_that_want_one_place_share_it_evenly() -> None:
    assert spread([100.0, 100.0], [40.0, 40.0], 0.0, 400.0) == pytest.approx([80.0, 120.0])


def test_laid_dimensions_have_their_figures_outside_the_drawing_and_apart(qapp: object) -> None:
    assert qapp is not None
    camera = Camera(3.0, 400.0, 300.0)
    drawn, room = QRectF(100.0, 100.0, 600.0, 400.0), QRectF(0.0, 0.0, 800.0, 600.0)
    every = [Dimension("wall", f"{i}.00", (i * 0.5, 60.0), (i * 0.5, 66.0), Shelf.TOP) for i in range(5)]
    every += [Dimension("", "200.00", (-90.0, 0.0), (90.0, 0.0), Shelf.BOTTOM, (), tier) for tier in range(3)]
    every += [Dimension("", "120.00", (0.0, -60.0), (0.0, 60.0), Shelf.RIGHT, (), tier) for tier in range(3)]
    boxes = [laid.box for laid in lay_out(every, camera, drawn, room, QFont())]
    assert not any(box.intersects(drawn) for box in boxes)
    assert not any(a.intersects(b) for i, a in enumerate(boxes) for b in boxes[:i])


def test_a_short_dimension_has_its_arrows_outside_and_a_long_one_inside(qapp: object) -> None:
    assert qapp is not None
    camera, drawn, room = Camera(1.0, 0.0, 0.0), QRectF(0.0, -50.0, 300.0, 50.0), QRectF(-100.0, -200.0, 600.0, 400.0)
    long, short = lay_out(
        [
            Dimension("", "300", (0.0, 0.0), (300.0, 0.0), Shelf.BOTTOM, (), 0),
            Dimension("", "5", (0.0, 0.0), (5.0, 0.0), Shelf.BOTTOM, (), 1),
        ],
        camera,
        drawn,
        room,
        QFont(),
    )
    assert (long.lines[0].x1(), long.lines[0].x2()) == (0.0, 300.0)
    assert short.lines[0].x1() < 0.0
    assert short.lines[0].x2() > 5.0


def test_the_scale_has_its_ends_at_the_limits() -> None:
    assert [scale_position(g, 0.3, 1.5) for g in (0.3, 0.9, 1.5, 2.1)] == pytest.approx([-1.0, 0.0, 1.0, 2.0])


def test_the_scales_ends_are_the_inks_and_its_middle_is_neither(qapp: object) -> None:
    assert qapp is not None
    pencil = Pencil(ink(QPalette()))
    assert pencil.gap_color(-3.0).rgb() == pencil.ink.tight.rgb()
    assert pencil.gap_color(3.0).rgb() == pencil.ink.loose.rgb()
    assert pencil.gap_color(0.0).rgb() == pencil.gap_middle.rgb()
    assert len({pencil.gap_color(i / RINGS).rgb() for i in range(-RINGS, RINGS + 1)}) == 2 * RINGS + 1


def test_cosmetic_pens_are_as_wide_at_200_percent(qapp: object) -> None:
    assert qapp is not None
    inks = ink(QPalette())
    one, two = Pencil(inks, 1.0).outline, Pencil(inks, 2.0).outline
    assert one.isCosmetic()
    assert two.widthF() == 2.0 * one.widthF()


def _painted(draw_all: object) -> QImage:
    image = QImage(80, 60, QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.white)
    with QPainter(image) as painter:
        draw_all(painter)  # type: ignore[operator]
    return image


def _dark(image: QImage) -> set[tuple[int, int]]:
    return {
        (x, y) for x in range(image.width()) for y in range(image.height()) if image.pixelColor(x, y).lightness() < 200
    }


def test_hatching_stays_inside_its_area_and_has_two_directions(qapp: object) -> None:
    assert qapp is not None
    area = QPainterPath()
    area.addRect(20.0, 15.0, 40.0, 30.0)
    pen = Pencil(ink(QPalette())).pen(QColor(Qt.GlobalColor.black), 1.0)
    rising, falling = (
        _dark(_painted(lambda painter, r=r: hatch(painter, area, pen, QPointF(0.0, 0.0), rising=r)))
        for r in (True, False)
    )
    assert rising
    assert all(19 <= x <= 60 and 14 <= y <= 45 for x, y in rising | falling)
    assert rising != falling


def test_a_text_is_readable_on_black_by_its_halo(qapp: object) -> None:
    assert qapp is not None
    black, white = QColor(Qt.GlobalColor.black), QColor(Qt.GlobalColor.white)

    def write(painter: QPainter) -> None:
        painter.fillRect(0, 0, 80, 60, black)
        draw_text(painter, QPointF(10.0, 40.0), "8.00", black, white)

    assert len(_dark(_painted(write))) < 80 * 60


def test_an_arrowhead_points_at_its_tip() -> None:
    head = arrowhead(QPointF(10.0, 5.0), QPointF(3.0, 0.0))
    assert head.at(0) == QPointF(10.0, 5.0)
    assert all(head.at(i).x() < 10.0 for i in (1, 2))


def test_colours_mix_from_one_end_to_the_other() -> None:
    a, b = QColor(10, 20, 30), QColor(110, 220, 130)
    assert (mixed(a, b, 0.0).rgb(), mixed(a, b, 1.0).rgb()) == (a.rgb(), b.rgb())
    assert mixed(a, b, 0.5).red() == pytest.approx(60, abs=1)


@pytest.mark.parametrize(("most", "expected"), [(1.0, 1.0), (1.99, 1.0), (49.0, 20.0), (50.0, 50.0), (0.07, 0.05)])
def test_a_scale_bar_has_a_round_length(most: float, expected: float) -> None:
    assert round_length(most) == pytest.approx(expected)
