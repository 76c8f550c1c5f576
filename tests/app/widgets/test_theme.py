from __future__ import annotations

import pytest
from msgspec.structs import fields
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QImage, QPainter, QPalette

from app.widgets.theme import Ink, contrast, ink, is_dark, paint_mark
from core.words.colours import INKS, SHAPE_CONTRAST, TEXT_CONTRAST
from core.words.verdicts import Verdict


def palette(base: str, text: str) -> QPalette:
    made = QPalette()
    made.setColor(QPalette.ColorRole.Base, QColor(base))
    made.setColor(QPalette.ColorRole.Window, QColor(base))
    made.setColor(QPalette.ColorRole.Text, QColor(text))
    made.setColor(QPalette.ColorRole.WindowText, QColor(text))
    return made


LIGHT, DARK, GREY = palette("#ffffff", "#000000"), palette("#232629", "#eff0f1"), palette("#b8b8b8", "#101010")
PALETTES = [pytest.param(LIGHT, id="light"), pytest.param(DARK, id="dark"), pytest.param(GREY, id="grey")]


def test_the_contrast_of_black_and_white_is_21_and_of_a_colour_with_itself_1() -> None:
    black, white = QColor(Qt.GlobalColor.black), QColor(Qt.GlobalColor.white)
    assert contrast(black, white) == pytest.approx(21.0)
    assert contrast(white, white) == pytest.approx(1.0)


def test_a_published_grey_has_its_published_contrast() -> None:
    # The lightest neutral grey that passes on white, 4.54 to 1 (W3C, techniques for WCAG 2.1).
    assert contrast(QColor("#767676"), QColor("#ffffff")) == pytest.approx(4.54, abs=0.005)


def test_dark_is_told_from_light() -> None:
    assert is_dark(DARK)
    assert not is_dark(LIGHT)


@pytest.mark.parametrize("palette", PALETTES)
@pytest.mark.parametrize("name", ["text", "quiet", "go", "marginal", "no_go", "dimension", "machine", "highlight"])
def test_inks_of_texts_reach_their_contrast(palette: QPalette, name: str) -> None:
    inks = ink(palette)
    assert contrast(getattr(inks, name), inks.paper) >= TEXT_CONTRAST


@pytest.mark.parametrize("palette", PALETTES)
@pytest.mark.parametrize("name", ["line", "ghost", "keep_out", "tight", "loose", "moved"])
def test_inks_of_shapes_reach_their_contrast(palette: QPalette, name: str) -> None:
    inks = ink(palette)
    assert contrast(getattr(inks, name), inks.paper) >= SHAPE_CONTRAST


@pytest.mark.parametrize("palette", PALETTES)
def test_verdicts_and_ends_of_the_gap_scale_differ_along_blue_and_yellow(palette: QPalette) -> None:
    # Red-green blindness keeps the difference of blue to the mean of red and green.
    def blueness(color: QColor) -> float:
        return color.blueF() - (color.redF() + color.greenF()) / 2.0

    inks = ink(palette)
    assert abs(blueness(inks.tight) - blueness(inks.loose)) > 0.2
    assert inks.go != inks.no_go


def test_every_ink_is_a_colour_of_its_own_kind() -> None:
    assert all(isinstance(getattr(ink(LIGHT), f.name), QColor) for f in fields(Ink))


def drawn(verdict: Verdict) -> set[tuple[int, int]]:
    image = QImage(40, 40, QImage.Format.Format_ARGB32)
    image.fill(Qt.GlobalColor.transparent)
    with QPainter(image) as painter:
        paint_mark(painter, QRectF(0, 0, 40, 40), verdict, ink(LIGHT))
    return {(x, y) for x in range(40) for y in range(40) if image.pixelColor(x, y).alphaF() > 0.5}


def test_the_shapes_differ_without_any_colour() -> None:
    go, marginal, no_go = (drawn(v) for v in Verdict)
    for a, b in ((go, marginal), (marginal, no_go), (go, no_go)):
        assert len(a ^ b) > 300  # of 1600 pixels


def test_every_ink_of_the_table_is_one_of_the_themes_and_the_other_way_round() -> None:
    assert {field.name for field in fields(Ink)} == {"paper", *INKS}
