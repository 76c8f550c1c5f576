"""The few sizes and weights of texts, as parts of the system's own reading size."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from PySide6.QtGui import QFont, QFontInfo, QFontMetricsF

from app.widgets import fonts

if TYPE_CHECKING:
    from collections.abc import Callable

    from PySide6.QtWidgets import QApplication


@pytest.fixture(params=["points", "pixels"])
def reading(request: pytest.FixtureRequest, qapp: QApplication) -> QFont:
    made = QFont(qapp.font())
    if request.param == "points":
        made.setPointSizeF(15.0)  # 20 pixels at the 96 dots per inch of the plug-in without a screen
    else:
        made.setPixelSize(20)
    return made


@pytest.mark.parametrize(
    ("of", "pixels", "weight"),
    [
        (fonts.verdict, 34, 600),
        (fonts.title, 23, 600),
        (fonts.bold, 20, 600),
        (fonts.figures, 20, 400),
        (fonts.drawing, 19, 400),
        (fonts.small, 17.6, 400),
    ],
)
def test_each_text_is_its_part_of_the_reading_size(
    reading: QFont, of: Callable[[QFont], QFont], pixels: float, weight: int
) -> None:
    made = of(reading)
    assert QFontInfo(made).pixelSize() == pytest.approx(pixels, abs=0.7)
    assert made.weight() == weight
    assert reading.weight() == 400


@pytest.mark.parametrize(("reading_pixels", "expected"), [(13, 11), (12, 11), (11, 11), (10, 10), (20, 18)])
def test_small_texts_are_never_under_11_pixels_nor_above_the_reading_size(
    qapp: QApplication, reading_pixels: int, expected: int
) -> None:
    font = QFont(qapp.font())
    font.setPixelSize(reading_pixels)
    assert fonts.small(font).pixelSize() == expected


def test_figures_are_all_of_one_width(qapp: QApplication) -> None:
    metrics = QFontMetricsF(fonts.bold(fonts.figures(qapp.font())))
    assert len({metrics.horizontalAdvance(digit) for digit in "0123456789"}) == 1
    assert fonts.bold(fonts.figures(qapp.font())).isFeatureSet(QFont.Tag("tnum"))
