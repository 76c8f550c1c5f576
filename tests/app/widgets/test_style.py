"""What the style paints, read off pixels: fields over a rule, buttons, marks, slim bars, hair lines."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from PySide6.QtCore import QPoint, QRect, QSize, Qt
from PySide6.QtGui import QColor, QImage, QPainter
from PySide6.QtWidgets import (
    QApplication,
    QCheckBox,
    QComboBox,
    QLabel,
    QLineEdit,
    QPlainTextEdit,
    QProgressBar,
    QPushButton,
    QRadioButton,
    QScrollBar,
    QSlider,
    QSplitter,
    QStyle,
    QStyleOptionButton,
    QStyleOptionFrame,
    QWidget,
)

from app.widgets.style.appearance import palette_of
from app.widgets.style.style import CalmStyle
from app.widgets.theme import Ink, contrast, table_ink

if TYPE_CHECKING:
    from collections.abc import Callable

    from pytestqt.qtbot import QtBot


class _Refusing(QLineEdit):
    is_refused = True


SIZE = QSize(120, 28)


@pytest.fixture(scope="module")
def style(qapp: QApplication) -> CalmStyle:
    made = CalmStyle()
    made.setParent(qapp)
    return made


@pytest.fixture(params=[False, True], ids=["light", "dark"])
def inks(request: pytest.FixtureRequest) -> Ink:
    return table_ink(dark=request.param)


@pytest.fixture
def shot(qtbot: QtBot, style: CalmStyle, inks: Ink) -> Callable[[QWidget], QImage]:
    def taken(widget: QWidget, size: QSize = SIZE) -> QImage:
        qtbot.addWidget(widget)
        for one in (widget, *widget.findChildren(QWidget)):
            one.setStyle(style)
        widget.setPalette(palette_of(inks))
        widget.resize(size)
        widget.ensurePolished()
        return widget.grab().toImage()

    return taken


def at(image: QImage, x: float, y: float) -> QColor:
    """The colour at a share of width and height."""
    return image.pixelColor(QPoint(round(x * (image.width() - 1)), round(y * (image.height() - 1))))


def colors(image: QImage) -> set[str]:
    return {image.pixelColor(x, y).name() for x in range(image.width()) for y in range(image.height())}


def farthest(image: QImage, ground: QColor) -> float:
    """The greatest contrast of any pixel with the ground: of a text's letters, where a text is all there is."""
    return max(contrast(QColor(name), ground) for name in colors(image))


@pytest.mark.parametrize("make", [QLineEdit, QComboBox, QPlainTextEdit])
def test_a_field_is_a_ground_over_one_thin_rule(
    make: Callable[[], QWidget], shot: Callable[[QWidget], QImage], inks: Ink
) -> None:
    image = shot(make())
    assert at(image, 0.5, 0.5) == inks.field
    assert at(image, 0.5, 1.0) == inks.ghost
    assert image.pixelColor(60, 26) == inks.field
    assert at(image, 0.5, 0.0) == inks.field  # no box


@pytest.mark.parametrize(("is_focused", "is_refused"), [(True, False), (False, True), (True, True)])
def test_the_rule_is_thick_with_the_focus_and_of_another_colour_where_refused(
    *, is_focused: bool, is_refused: bool, style: CalmStyle, inks: Ink, qtbot: QtBot
) -> None:
    field = _Refusing() if is_refused else QLineEdit()
    qtbot.addWidget(field)
    field.setPalette(palette_of(inks))
    option = QStyleOptionFrame()
    field.initStyleOption(option)
    option.rect.setRect(0, 0, 120, 28)
    option.lineWidth = 1
    if is_focused:
        option.state |= QStyle.StateFlag.State_HasFocus
    image = QImage(SIZE, QImage.Format.Format_RGB32)
    image.fill(inks.ground)
    with QPainter(image) as painter:
        style.drawPrimitive(QStyle.PrimitiveElement.PE_PanelLineEdit, option, painter, field)
    rule = inks.no_go if is_refused else inks.highlight
    assert {image.pixelColor(60, y).name() for y in (26, 27)} == {rule.name()}
    assert at(image, 0.5, 0.5) == (inks.field if is_refused else inks.lit)


def test_one_button_stands_out_and_the_others_are_outlines(shot: Callable[[QWidget], QImage], inks: Ink) -> None:
    plain, filled = QPushButton(), QPushButton()
    filled.setProperty("filled", True)
    image, full = shot(plain), shot(filled)
    assert at(image, 0.5, 0.5) == inks.paper
    assert image.pixelColor(60, 1) == inks.text
    assert at(full, 0.5, 0.5) == inks.text


@pytest.mark.parametrize("is_filled", [True, False])
def test_the_focus_is_a_ring_round_a_button_apart_from_its_fill(
    *, is_filled: bool, style: CalmStyle, inks: Ink, qtbot: QtBot
) -> None:
    button = QPushButton("text")
    qtbot.addWidget(button)
    button.setStyle(style)
    button.setPalette(palette_of(inks))
    button.setProperty("filled", is_filled)
    option = QStyleOptionButton()
    button.initStyleOption(option)
    option.rect = QRect(QPoint(0, 0), SIZE)
    option.state |= QStyle.StateFlag.State_HasFocus
    image = QImage(SIZE, QImage.Format.Format_RGB32)
    image.fill(inks.ground)
    with QPainter(image) as painter:
        style.drawControl(QStyle.ControlElement.CE_PushButton, option, painter, button)
    column = [image.pixelColor(60, y).name() for y in range(4)]
    edge = inks.text.name()
    assert column == [inks.highlight.name(), inks.highlight.name(), inks.ground.name(), edge]


@pytest.mark.parametrize("make", [lambda t: QPushButton(t), lambda t: QCheckBox(t), lambda t: QLineEdit(t), QLabel])  # noqa: PLW0108 - overloads
@pytest.mark.parametrize("is_enabled", [True, False])
def test_texts_keep_their_contrast_enabled_or_not(
    *, make: Callable[[str], QWidget], is_enabled: bool, shot: Callable[[QWidget], QImage], inks: Ink
) -> None:
    widget = make("▮▮▮▮")
    widget.setEnabled(is_enabled)
    image = shot(widget).copy(24, 6, 60, 16)  # clear of marks, outline and rule
    assert max(farthest(image, inks.ground), farthest(image, inks.field)) >= 4.5


def test_a_placeholder_keeps_its_contrast(shot: Callable[[QWidget], QImage], inks: Ink) -> None:
    field = QLineEdit()
    field.setPlaceholderText("▮▮▮▮")
    assert farthest(shot(field).copy(2, 4, 60, 20), inks.field) >= 4.5


@pytest.mark.parametrize("make", [QCheckBox, QRadioButton])
def test_a_mark_is_set_in_the_colour_of_text(
    make: Callable[[], QCheckBox | QRadioButton], shot: Callable[[QWidget], QImage], inks: Ink
) -> None:
    empty, chosen = make(), make()
    chosen.setChecked(True)
    assert inks.text.name() not in colors(shot(empty))
    assert inks.text.name() in colors(shot(chosen))


def test_a_scroll_bar_is_a_slim_slider_alone(shot: Callable[[QWidget], QImage], inks: Ink) -> None:
    bar = QScrollBar(Qt.Orientation.Vertical)
    bar.setRange(0, 100)
    bar.setPageStep(100)
    width = bar.sizeHint().width()
    image = shot(bar, QSize(width, 200))  # type: ignore[call-arg]
    row = [image.pixelColor(x, 60).name() for x in range(width)]
    assert 3 <= row.count(inks.ghost.name()) <= width / 2
    assert {row[0], row[-1]} == {inks.ground.name()}
    assert at(image, 0.5, 0.0) == inks.ground  # no button at the end


def test_columns_part_by_a_hair_line(shot: Callable[[QWidget], QImage], inks: Ink) -> None:
    splitter = QSplitter()
    splitter.addWidget(QWidget())
    splitter.addWidget(QWidget())
    image = shot(splitter, QSize(200, 50))  # type: ignore[call-arg]
    row = [image.pixelColor(x, 25).name() for x in range(200)]
    assert row.count(inks.neutral.name()) == 1
    assert set(row) == {inks.neutral.name(), inks.ground.name()}


def test_a_slider_is_a_disc_on_a_hair_line(shot: Callable[[QWidget], QImage], inks: Ink) -> None:
    slider = QSlider(Qt.Orientation.Horizontal)
    slider.setRange(0, 100)
    slider.setValue(100)
    image = shot(slider)
    column = [image.pixelColor(20, y).name() for y in range(image.height())]
    assert column.count(inks.ghost.name()) == 1
    assert set(column) == {inks.ghost.name(), inks.ground.name()}
    assert at(image, 0.94, 0.5) == inks.text


def test_as_much_of_a_progress_bar_is_filled_as_is_done(shot: Callable[[QWidget], QImage], inks: Ink) -> None:
    bar = QProgressBar()
    bar.setRange(0, 100)
    bar.setValue(25)
    bar.setTextVisible(False)
    image = shot(bar)
    row = [image.pixelColor(x, 10).name() for x in range(120)]
    assert row.count(inks.highlight.name()) == pytest.approx(30, abs=2)
    assert row.count(inks.field.name()) == pytest.approx(90, abs=2)
