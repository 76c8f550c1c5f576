from __future__ import annotations

import pytest
from msgspec.structs import fields
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QImage, QPainter, QPalette

from app.widgets.style.appearance import palette_of
from app.widgets.theme import Ink, contrast, ink, is_dark, paint_mark, table_ink
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
BLACK, BLUE, MIDDLE = palette("#000000", "#ffff00"), palette("#203a80", "#c0c0ff"), palette("#808080", "#ffffff")
SPLIT = palette("#ffffe0", "#303000")
SPLIT.setColor(QPalette.ColorRole.Window, QColor("#101040"))
PALETTES = [
    pytest.param(LIGHT, id="light of most contrast"),
    pytest.param(DARK, id="dark"),
    pytest.param(GREY, id="grey"),
    pytest.param(BLACK, id="black and yellow"),
    pytest.param(BLUE, id="blue"),
    pytest.param(MIDDLE, id="middle grey"),
    pytest.param(SPLIT, id="fields light, the rest dark"),
]
GROUNDS = ("ground", "paper", "field")
TEXTS = [name for name, one in INKS.items() if one.contrast == TEXT_CONTRAST]
SHAPES = [name for name, one in INKS.items() if one.contrast == SHAPE_CONTRAST]


def usual(window: str, base: str, text: str) -> QPalette:
    made = palette(base, text)
    made.setColor(QPalette.ColorRole.Window, QColor(window))
    return made


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
@pytest.mark.parametrize("name", TEXTS)
def test_inks_of_texts_reach_their_contrast(palette: QPalette, name: str) -> None:
    inks = ink(palette)
    assert min(contrast(getattr(inks, name), getattr(inks, ground)) for ground in GROUNDS) >= 4.5


@pytest.mark.parametrize("palette", PALETTES)
@pytest.mark.parametrize("name", SHAPES)
def test_inks_of_shapes_reach_their_contrast(palette: QPalette, name: str) -> None:
    inks = ink(palette)
    assert min(contrast(getattr(inks, name), getattr(inks, ground)) for ground in GROUNDS) >= 3.0


def test_which_inks_are_texts_and_which_are_shapes() -> None:
    texts = "line text quiet highlight go marginal no_go machine keep_out dimension moved"
    assert set(TEXTS) == set(texts.split())
    assert set(SHAPES) == {"ghost", "tight", "loose"}


@pytest.mark.parametrize(
    ("dark", "texts", "edges"), [pytest.param(False, 5.4, 3.4, id="light"), pytest.param(True, 6.1, 4.2, id="dark")]
)
def test_the_tables_own_contrasts_on_ground_and_paper(dark: bool, texts: float, edges: float) -> None:  # noqa: FBT001
    inks = table_ink(dark=dark)

    def least(names: list[str], *grounds: str) -> float:
        return min(contrast(getattr(inks, name), getattr(inks, ground)) for name in names for ground in grounds)

    assert least(TEXTS, "ground", "paper") == pytest.approx(texts, abs=0.06)
    assert least(SHAPES, "ground", "paper") == pytest.approx(edges, abs=0.06)
    assert least(TEXTS, "field") >= 4.5
    assert least(TEXTS, "lit") >= 4.5  # of chosen rows too


@pytest.mark.parametrize(
    ("system", "dark"),
    [
        pytest.param(usual("#efefef", "#ffffff", "#000000"), False, id="grey window, white fields"),
        pytest.param(usual("#f6f5f4", "#ffffff", "#2e3436"), False, id="warm"),
        pytest.param(usual("#202020", "#2d2d2d", "#ffffff"), True, id="dark"),
        pytest.param(usual("#2a2e32", "#1b1e20", "#fcfcfc"), True, id="bluish dark"),
    ],
)
def test_on_a_usual_light_or_dark_palette_the_window_has_the_tables_colours(
    system: QPalette,
    dark: bool,  # noqa: FBT001
) -> None:
    assert ink(system) == table_ink(dark=dark)


@pytest.mark.parametrize("palette", PALETTES)
def test_texts_of_the_palette_made_of_inks_reach_their_contrast_disabled_too(palette: QPalette) -> None:
    made = palette_of(ink(palette))
    group, role = QPalette.ColorGroup, QPalette.ColorRole
    for text, ground in (
        (role.WindowText, role.Window),
        (role.Text, role.Base),
        (role.ButtonText, role.Button),
        (role.PlaceholderText, role.Base),
        (role.Link, role.Window),
        (role.HighlightedText, role.Highlight),
        (role.ToolTipText, role.ToolTipBase),
    ):
        for state in (group.Active, group.Inactive, group.Disabled):
            assert contrast(made.color(state, text), made.color(state, ground)) >= 4.5


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
    assert {field.name for field in fields(Ink)} == {*INKS}
