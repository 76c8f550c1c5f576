"""The silhouettes: of each family's own curve, in the insert's colours, told apart at the size of a line of text."""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QColor, QImage, QPainter
from PySide6.QtWidgets import QApplication, QComboBox

from app.widgets.choice_field import ChoiceField
from app.widgets.forms import Form
from app.widgets.silhouette import paint_silhouette, silhouette_icon
from app.widgets.theme import ink, table_ink
from core.geometry.ovals.ovals import SIZED_FAMILIES, Family, oval_of, oval_outline

if TYPE_CHECKING:
    from pytestqt.qtbot import QtBot

    from app.session.session import Session

INKS = table_ink(dark=False)


def painted(family: Family, width: int, height: int) -> QImage:
    image = QImage(width, height, QImage.Format.Format_ARGB32_Premultiplied)
    image.fill(Qt.GlobalColor.transparent)
    with QPainter(image) as painter:
        paint_silhouette(painter, QRectF(0, 0, width, height), family, INKS)
    return image


def covered(image: QImage) -> set[tuple[int, int]]:
    return {
        (x, y) for x in range(image.width()) for y in range(image.height()) if image.pixelColor(x, y).alphaF() > 0.5
    }


@pytest.mark.parametrize("family", SIZED_FAMILIES, ids=str)
def test_as_much_is_covered_as_the_family_encloses(family: Family) -> None:
    own = {Family.FOUR_ARC: 8.0, Family.SUPERELLIPSE: 3.5}.get(family)
    length = 40.0 if family is Family.CIRCLE else 60.0
    outline = oval_outline(oval_of(family, length, 40.0, own))
    line = 1.3
    scale = (300 - 2 * line) / 60.0  # pixels per mm; the curve's line adds half of itself outside
    expected = outline.area * scale**2 + outline.length * scale * line / 2.0
    assert len(covered(painted(family, 300, 205))) == pytest.approx(expected, rel=0.005)


def test_they_are_told_apart_at_the_height_of_a_line_of_text() -> None:
    shapes = {family: covered(painted(family, 27, 18)) for family in Family}
    for a, b in combinations(Family, 2):
        assert len(shapes[a] ^ shapes[b]) >= 8


def test_fill_and_line_are_the_inserts(qtbot: QtBot) -> None:
    assert qtbot is not None
    image = painted(Family.OBROUND, 60, 40)
    assert image.pixelColor(30, 20) == INKS.insert_fill
    assert any(image.pixelColor(30, y).lightnessF() < 0.4 for y in range(3))


def test_the_icon_of_a_choice_is_the_silhouette(qtbot: QtBot) -> None:
    box = QComboBox()
    qtbot.addWidget(box)
    box.setIconSize(QSize(27, 18))
    box.addItem(silhouette_icon(Family.ELLIPSE), "ellipse")
    image = box.itemIcon(0).pixmap(QSize(27, 18)).toImage()
    assert covered(image) == covered(painted(Family.ELLIPSE, 27, 18))
    assert QColor(image.pixelColor(13, 9)) == INKS.insert_fill


def test_a_narrow_choice_of_a_shape_shows_its_silhouette_and_says_its_word(
    session: Session, qtbot: QtBot, qapp: QApplication
) -> None:
    inks = ink(qapp.palette())
    form = Form(session)
    qtbot.addWidget(form)
    form.choice_pair("old_insert.family", "new_insert.family")
    field = form.find_field("new_insert.family")
    assert isinstance(field, ChoiceField)
    assert session.set_text("new_insert.family", "ellipse", "shape")
    image = field.grab().toImage()
    assert any(image.pixelColor(x, y) == inks.insert_fill for x in range(image.width()) for y in range(image.height()))
    assert field.toolTip() == field.currentText() == "ellipse"
