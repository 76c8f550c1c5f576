"""The scan as it is used: opening, scaling, picking, fitting, taking. Pictures are drawn by Pillow's own shapes."""

from __future__ import annotations

import threading
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np
import pytest
from msgspec.structs import replace
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QHBoxLayout, QWidget

import app.steps.measure.scan.model
from app.steps.dialogs import MeasuringDialogs
from app.steps.measure.scan.picks import PickButton
from app.steps.measure.scan.topic import ScanTopic
from app.widgets.explain import explain_widget
from core.geometry.ovals.ovals import Family
from core.measure.scan.asked import How
from core.measure.scan.sizes.allowances import START
from core.measure.scan.state import Part, Pick
from core.part.readings import Origin, SizeName
from core.words.lengths import Style

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from PIL.Image import Image
    from PIL.ImageDraw import ImageDraw
    from pytestqt.qtbot import QtBot

    from app.session.background import Tick
    from app.session.session import Session
    from app.widgets.choice_field import ChoiceField
    from app.widgets.fields import TextField
    from core.measure.scan.asked import Fitted
    from core.measure.scan.opened import Opened

_DPI = 150
_PX = 25.4 / _DPI  # mm a pixel
_FINE = 4  # drawn so many times as large, then averaged down
_LEFT = Qt.MouseButton.LeftButton
_LONG, _WIDE = 84.0, 50.0  # of the drawn obround [mm]
_DISC = 20.0  # diameter of the drawn disc [mm]
_BUSY_MS = 60_000  # test machines are shared


@dataclass
class Drawn:
    """A sheet on which dark shapes are drawn; places in mm from its upper left corner, y down."""

    size: tuple[float, float] = (130.0, 80.0)
    stretch: float = 1.0
    _image: Image = field(init=False)

    def __post_init__(self) -> None:
        from PIL import Image

        w, h = (round(v / _PX) * _FINE for v in self.size)
        self._image = Image.new("L", (w, h), 235)

    @property
    def _draw(self) -> ImageDraw:
        from PIL.ImageDraw import Draw

        return Draw(self._image)

    def _box(self, x: float, y: float, wide: float, high: float) -> list[float]:
        k = _FINE / _PX
        # Pillow counts the last row and column in: without the one, a shape is a dot too large.
        left, top = round(x * k * self.stretch), round(y * k)
        return [left, top, left + round(wide * k * self.stretch) - 1, top + round(high * k) - 1]

    def obround(self, x: float, y: float, length: float = _LONG, width: float = _WIDE, grey: int = 40) -> Drawn:
        self._draw.rounded_rectangle(self._box(x, y, length, width), radius=round(width / 2.0 / _PX * _FINE), fill=grey)
        return self

    def disc(self, x: float, y: float, diameter: float = _DISC, grey: int = 40) -> Drawn:
        self._draw.ellipse(self._box(x, y, diameter, diameter), fill=grey)
        return self

    def rectangle(self, x: float, y: float, wide: float, high: float, grey: int = 40) -> Drawn:
        self._draw.rectangle(self._box(x, y, wide, high), fill=grey)
        return self

    def save(self, path: Path, *, dpi: float | None = _DPI) -> Path:
        small = self._image.reduce(_FINE)
        if dpi is None:
            small.save(path)
        else:
            small.save(path, dpi=(dpi, dpi))
        return path


@dataclass
class Stage:
    """The topic in a window, and what its dialog answers."""

    topic: ScanTopic
    window: QWidget
    qtbot: QtBot
    answer: Path | None = None

    @property
    def fitted(self) -> Fitted | None:
        return self.topic.model.state.fitted

    @property
    def edge_count(self) -> int:
        return len(self.topic.model.state.edges)

    def settle(self) -> None:
        self.qtbot.waitUntil(lambda: not self.topic.model.state.busy, timeout=_BUSY_MS)

    def open(self, path: Path) -> None:
        self.answer = path
        QTest.mouseClick(self.topic.form.picture.open_button, _LEFT)
        self.settle()

    def choose(self, box: ChoiceField, data: object) -> None:
        box.setFocus()
        QTest.keyClick(box, Qt.Key.Key_Home)
        for _ in range(box.choices.index(data)):
            QTest.keyClick(box, Qt.Key.Key_Down)
        self.settle()

    def scale_from(self, how: How) -> None:
        self.choose(self.topic.form.scale.how, how)

    def type_into(self, entry: TextField, text: str) -> None:
        entry.setFocus()
        entry.selectAll()
        QTest.keyClick(entry, Qt.Key.Key_Delete)
        QTest.keyClicks(entry, text)
        self.settle()

    def type_dpi(self, text: str) -> None:
        """The same resolution both ways: an empty one is as the other."""
        self.type_into(self.topic.form.scale.entries["dpi_down"], "")
        self.type_into(self.topic.form.scale.entries["dpi_across"], text)

    def click_at(self, x: float, y: float) -> None:
        """Click a place of the picture [mm from its upper left corner]."""
        at = self.topic.picture.to_widget((x / _PX - 0.5, y / _PX - 0.5)).toPoint()
        QTest.mouseClick(self.topic.picture, _LEFT, pos=at)
        self.settle()

    @property
    def length(self) -> float:
        fitted = self.fitted
        assert fitted is not None
        return fitted.result.oval.length

    @property
    def width(self) -> float:
        fitted = self.fitted
        assert fitted is not None
        return fitted.result.oval.width


@pytest.fixture
def stage(qtbot: QtBot, session: Session) -> Iterator[Stage]:
    window = QWidget()
    qtbot.addWidget(window)

    def ask(_window: QWidget) -> Path | None:
        return made.answer

    made = Stage(ScanTopic(session, MeasuringDialogs(ask, ask, ask, ask), window), window, qtbot)
    row = QHBoxLayout(window)
    row.addWidget(made.topic.form)
    row.addWidget(made.topic.board, 1)
    window.resize(1000, 800)
    with qtbot.waitExposed(window):
        window.show()
    window.activateWindow()
    yield made
    made.topic.close_down()


@pytest.fixture(scope="module")
def part(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An obround and a disc beside it."""
    return Drawn().obround(40.0, 15.0).disc(8.0, 8.0).save(tmp_path_factory.mktemp("scan") / "part.png")


# Opening


def test_an_opened_picture_is_measured_by_the_files_dpi_within_half_a_pixel(stage: Stage, part: Path) -> None:
    stage.open(part)
    assert stage.fitted is not None
    assert stage.fitted.fit.family is Family.OBROUND
    assert stage.length == pytest.approx(_LONG, abs=0.5 * _PX)
    assert stage.width == pytest.approx(_WIDE, abs=0.5 * _PX)
    assert "150 × 150 DPI" in stage.topic.form.picture.said.text()
    assert "Not calibrated" in stage.topic.form.scale.said.text()


def test_a_dialog_that_is_left_opens_nothing(stage: Stage) -> None:
    stage.answer = None
    QTest.mouseClick(stage.topic.form.picture.open_button, _LEFT)
    assert stage.topic.model.state.opened is None
    assert not stage.topic.form.take.buttons["new_insert"].isEnabled()


def test_a_text_that_poses_as_a_picture_is_refused_in_place_by_its_name(stage: Stage, tmp_path: Path) -> None:
    path = tmp_path / "letter.png"
    path.write_text("Dear foundry")
    stage.open(path)
    refusal = stage.topic.form.picture.refusals[Part.PICTURE]
    assert refusal.isVisible()
    assert refusal.text().startswith("letter.png:")
    assert str(tmp_path) not in refusal.text()
    assert stage.topic.model.state.opened is None


def test_a_long_name_does_not_widen_the_form(stage: Stage, tmp_path: Path) -> None:
    before = stage.topic.form.minimumSizeHint().width()
    stage.open(Drawn().obround(40.0, 15.0).save(tmp_path / f"{'scan_of_the_lid_' * 8}.png"))
    assert "scan_of_the_l…" in stage.topic.form.picture.said.text()
    assert stage.topic.form.minimumSizeHint().width() <= before + stage.topic.form.fontMetrics().averageCharWidth() * 10


def test_stop_calls_the_reading_off_and_the_picture_before_stays(
    stage: Stage, part: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stage.open(part)
    before = stage.topic.model.state.opened
    started, release = threading.Event(), threading.Event()

    def slow(_path: Path, tick: Tick) -> Opened:
        started.set()
        release.wait(30)
        tick(0.5)
        raise AssertionError("it was not called off")

    monkeypatch.setattr(app.steps.measure.scan.model, "open_picture", slow)
    QTest.mouseClick(stage.topic.form.picture.open_button, _LEFT)
    assert started.wait(30)
    working = stage.topic.form.picture.working[Part.PICTURE]
    assert working.isVisible()
    QTest.mouseClick(working.stop_button, _LEFT)
    release.set()
    assert not working.isVisible()
    assert stage.topic.model.state.opened is before
    assert stage.fitted is not None


def test_another_picture_forgets_what_was_picked_in_the_one_before(stage: Stage, part: Path) -> None:
    stage.open(part)
    stage.topic.model.add_point(Pick.ACROSS, (1.0, 1.0))
    stage.open(part)
    assert stage.topic.model.state.points == ()


# The scale


def test_dots_per_inch_that_are_typed_count_at_once_and_escape_gives_back(stage: Stage, part: Path) -> None:
    stage.open(part)
    entry = stage.topic.form.scale.entries["dpi_across"]
    down = stage.topic.form.scale.entries["dpi_down"]
    stage.type_dpi("75")
    assert down.text() == ""
    assert stage.length == pytest.approx(2.0 * _LONG, abs=_PX)
    QTest.keyClick(entry, Qt.Key.Key_Escape)
    stage.settle()
    assert entry.text() == "150"
    assert stage.topic.model.state.scaling.dpi_across == 150.0


def test_a_file_without_dpi_says_what_is_wanted(stage: Stage, tmp_path: Path) -> None:
    stage.open(Drawn().obround(40.0, 15.0).save(tmp_path / "plain.png", dpi=None))
    assert "no DPI in the file" in stage.topic.form.picture.said.text()
    assert "type what the scanner was set to" in stage.topic.form.scale.said.text()
    assert stage.fitted is None
    stage.type_into(stage.topic.form.scale.entries["dpi_across"], "150")
    assert stage.length == pytest.approx(_LONG, abs=0.5 * _PX)


def test_what_is_no_figure_stays_with_the_reason_beside_it(stage: Stage, part: Path) -> None:
    stage.open(part)
    entry = stage.topic.form.scale.entries["dpi_across"]
    told: list[str] = []
    entry.told.connect(told.append)
    entry.setFocus()
    entry.selectAll()
    QTest.keyClicks(entry, "x")
    assert "not a number" in told[-1]
    assert entry.text() == "x"
    assert stage.topic.model.state.scaling.dpi_across == 150.0


def test_two_rules_take_out_a_stretch_of_one_axis(stage: Stage, tmp_path: Path) -> None:
    # The stretch that has been reported of scanners is 0.6 %; 2 % makes it plain.
    stretch = 1.02
    drawn = Drawn(stretch=stretch).obround(30.0, 15.0)
    stage.open(drawn.save(tmp_path / "stretched.png"))
    assert stage.length == pytest.approx(_LONG * stretch, abs=0.5 * _PX)
    stage.scale_from(How.POINTS)
    model, k = stage.topic.model, stage.topic.form.scale.entries
    stage.type_into(k["across"], "100")
    stage.type_into(k["down"], "60")
    assert "Pick two lines" in stage.topic.form.scale.said.text()
    for pick, ends in (
        (Pick.ACROSS, ((10.0 * stretch, 5.0), (110.0 * stretch, 5.0))),
        (Pick.DOWN, ((5.0, 10.0), (5.0, 70.0))),
    ):
        model.ask_for_pick(pick)
        stage.click_at(*ends[0])
        assert model.state.pick is pick
        stage.click_at(*ends[1])
        assert model.state.pick is Pick.EDGE
    # A click lands within half a screen pixel: about half a pixel of the picture at either end.
    assert stage.length == pytest.approx(_LONG, abs=_PX * 1.5)
    assert stage.width == pytest.approx(_WIDE, abs=_PX * 1.5)


@pytest.mark.parametrize("how", [How.DISC, How.RECTANGLE])
def test_a_thing_of_known_size_that_is_clicked_takes_out_a_stretch(stage: Stage, tmp_path: Path, how: How) -> None:
    drawn = Drawn(stretch=1.02).obround(40.0, 15.0)
    entries = stage.topic.form.scale.entries
    if how is How.DISC:
        drawn.disc(8.0, 30.0)
        edge, typed = (8.0 * 1.02, 40.0), {"diameter": f"{_DISC}"}
    else:
        drawn.rectangle(8.0, 15.0, 20.0, 50.0)
        edge, typed = (8.0 * 1.02, 40.0), {"length": "50", "width": "20"}
    stage.open(drawn.save(tmp_path / "known.png"))
    stage.scale_from(how)
    model = stage.topic.model
    model.ask_for_pick(Pick.REFERENCE)
    assert stage.topic.picture.hasFocus()
    stage.click_at(*edge)
    for name, text in typed.items():
        stage.type_into(entries[name], text)
    assert model.state.refusals == ()
    assert stage.length == pytest.approx(_LONG, abs=_PX)
    assert stage.width == pytest.approx(_WIDE, abs=_PX)


def test_a_known_disc_that_is_none_is_refused_at_the_scale(stage: Stage, tmp_path: Path) -> None:
    stage.open(Drawn().obround(40.0, 15.0).rectangle(8.0, 8.0, 20.0, 60.0).save(tmp_path / "no_disc.png"))
    stage.scale_from(How.DISC)
    stage.topic.model.pick_edge(Pick.REFERENCE, 1)
    stage.type_into(stage.topic.form.scale.entries["diameter"], "20")
    assert stage.topic.form.scale.refusals[Part.SCALE].isVisible()
    assert stage.fitted is None


def test_four_corners_put_a_photograph_right(stage: Stage, tmp_path: Path) -> None:
    from PIL import Image

    flat = Drawn().obround(23.0, 15.0)
    with Image.open(flat.save(tmp_path / "flat.png", dpi=None)) as opened:
        image = opened.copy()
    w, h = image.size
    corners = _seen_corners((w, h))
    slanted = image.transform(
        (w, h), Image.Transform.PERSPECTIVE, _back(corners, (w, h)), Image.Resampling.BICUBIC, fillcolor=235
    )
    path = tmp_path / "photo.png"
    slanted.save(path)
    stage.open(path)
    stage.scale_from(How.CORNERS)
    stage.type_into(stage.topic.form.scale.entries["base"], f"{w * _PX}")
    stage.type_into(stage.topic.form.scale.entries["side"], f"{h * _PX}")
    stage.topic.model.set_pick(Pick.CORNERS)
    for corner in corners:
        stage.topic.model.add_point(Pick.CORNERS, corner)
    stage.settle()
    assert stage.length == pytest.approx(_LONG, abs=2.0 * _PX)
    assert stage.width == pytest.approx(_WIDE, abs=2.0 * _PX)
    assert not stage.topic.form.shape.turned_button.isEnabled()


def test_the_corners_of_a_sheet_on_a_dark_ground_are_found_and_the_part_on_it_is_measured(
    stage: Stage, tmp_path: Path
) -> None:
    # A light sheet of 100 × 70 mm on a dark ground, the part on it; the ground's own border runs out of the picture.
    sheet = Drawn(size=(130.0, 100.0)).rectangle(-1.0, -1.0, 140.0, 110.0, 60).rectangle(15.0, 15.0, 100.0, 70.0, 235)
    stage.open(sheet.obround(25.0, 25.0).save(tmp_path / "sheet.png", dpi=None))
    stage.scale_from(How.CORNERS)
    stage.topic.model.pick_edge(Pick.EDGE, 1)
    for name, text in (("base", "100"), ("side", "70")):
        stage.type_into(stage.topic.form.scale.entries[name], text)
    stage.topic.model.add_point(Pick.CORNERS, (3.0, 3.0))
    QTest.mouseClick(stage.topic.form.scale.find_button, _LEFT)
    stage.settle()
    assert stage.length == pytest.approx(_LONG, abs=_PX)
    assert stage.width == pytest.approx(_WIDE, abs=_PX)


def test_corners_that_are_not_there_are_told_at_the_scale(stage: Stage, part: Path) -> None:
    stage.open(part)
    stage.scale_from(How.CORNERS)
    QTest.mouseClick(stage.topic.form.scale.find_button, _LEFT)
    assert "four straight sides" in stage.topic.form.scale.refusals[Part.SCALE].text()


def _seen_corners(size: tuple[int, int]) -> list[tuple[float, float]]:
    w, h = size
    return [(0.10 * w, 0.05 * h), (0.92 * w, 0.02 * h), (0.99 * w, 0.97 * h), (0.01 * w, 0.94 * h)]


def _back(corners: list[tuple[float, float]], size: tuple[int, int]) -> list[float]:
    """Pillow's eight coefficients from the slanted picture to the flat one."""
    w, h = size
    rows, right = [], []
    for (x, y), (u, v) in zip(corners, [(0, 0), (w, 0), (w, h), (0, h)], strict=True):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
        right += [u, v]
    return [float(c) for c in np.linalg.solve(np.array(rows, float), np.array(right, float))]


# Picking


def test_a_place_can_be_picked_with_the_keyboard_alone(stage: Stage, part: Path) -> None:
    stage.open(part)
    stage.scale_from(How.POINTS)
    button = stage.topic.form.scale.findChild(PickButton)
    assert isinstance(button, PickButton)
    QTest.keyClick(button, Qt.Key.Key_Space)
    picture = stage.topic.picture
    assert picture.hasFocus()
    start = picture._cross
    assert start is not None
    QTest.keyClick(picture, Qt.Key.Key_Return)
    QTest.keyClick(picture, Qt.Key.Key_Right)
    QTest.keyClick(picture, Qt.Key.Key_Up, Qt.KeyboardModifier.ShiftModifier)
    QTest.keyClick(picture, Qt.Key.Key_Return)
    (_, (first, second)), *_ = stage.topic.model.state.points
    assert first == start
    one = 1.0 / picture.camera.scale
    assert second[0] - first[0] == pytest.approx(one)
    assert first[1] - second[1] == pytest.approx(10.0 * one)


def test_escape_in_the_picture_gives_a_pick_up(stage: Stage, part: Path) -> None:
    stage.open(part)
    stage.topic.model.ask_for_pick(Pick.REFERENCE)
    QTest.keyClick(stage.topic.picture, Qt.Key.Key_Escape)
    assert stage.topic.model.state.pick is Pick.EDGE


def test_a_click_on_another_edge_chooses_it_and_a_drag_does_not(stage: Stage, part: Path) -> None:
    stage.open(part)
    stage.click_at(8.0, 8.0 + _DISC / 2.0)
    fitted = stage.fitted
    assert fitted is not None
    assert fitted.fit.family is Family.CIRCLE
    assert stage.length == pytest.approx(_DISC, abs=0.5 * _PX)
    picture = stage.topic.picture
    at = picture.to_widget((40.0 / _PX, 40.0 / _PX)).toPoint()
    QTest.mousePress(picture, _LEFT, pos=at)
    QTest.mouseMove(picture, at + QPoint(40, 0))
    QTest.mouseRelease(picture, _LEFT, pos=at + QPoint(40, 0))
    stage.settle()
    assert stage.length == pytest.approx(_DISC, abs=0.5 * _PX)


def test_arrows_in_the_picture_go_from_edge_to_edge(stage: Stage, part: Path) -> None:
    stage.open(part)
    stage.topic.picture.setFocus()
    QTest.keyClick(stage.topic.picture, Qt.Key.Key_Right)
    stage.settle()
    assert stage.topic.model.state.picked_index(Pick.EDGE) == 1
    assert stage.topic.form.edge.edge.currentIndex() == 1


def test_tab_goes_down_the_form_as_one_reads(stage: Stage, part: Path) -> None:
    stage.open(part)
    form = stage.topic.form
    form.picture.open_button.setFocus()
    places = []
    while form.isAncestorOf(now := stage.window.focusWidget()):
        at = now.mapTo(form, QPoint(0, now.height() // 2))
        places.append((at.y() // now.fontMetrics().height(), at.x()))
        QTest.keyClick(now, Qt.Key.Key_Tab)
    assert len(places) > 8
    assert places == sorted(places)


# The edge


def test_the_threshold_decides_which_edges_there_are_and_automatic_gives_it_back(stage: Stage, tmp_path: Path) -> None:
    path = Drawn().obround(40.0, 15.0).disc(8.0, 8.0, grey=190).save(tmp_path / "faint.png")
    stage.open(path)
    assert stage.edge_count == 1
    slider = stage.topic.form.edge.level
    with stage.qtbot.waitSignal(stage.topic.form.edge.masked) as masked:
        slider.setFocus()
    assert masked.args is not None
    assert masked.args[0]
    while slider.value() < 215:
        QTest.keyClick(slider, Qt.Key.Key_PageUp)
    stage.settle()
    assert stage.edge_count == 2
    assert stage.length == pytest.approx(_LONG, abs=0.5 * _PX)
    QTest.mouseClick(stage.topic.form.edge.automatic, _LEFT)
    stage.settle()
    assert stage.edge_count == 1


def test_what_counts_as_dark_is_tinted_while_the_threshold_is_moved(stage: Stage, part: Path) -> None:
    stage.open(part)
    picture = stage.topic.picture
    at = picture.to_widget((80.0 / _PX, 40.0 / _PX)).toPoint()
    plain = picture.grab().toImage().pixelColor(at)
    picture.show_mask(True)
    tinted = picture.grab().toImage().pixelColor(at)
    assert plain.saturationF() < 0.1
    assert tinted.saturationF() > 0.25


def test_a_picture_without_any_edge_says_what_to_do(stage: Stage, tmp_path: Path) -> None:
    stage.open(Drawn().save(tmp_path / "blank.png"))
    stage.topic.model.set_level(100.0)
    stage.settle()
    assert stage.topic.form.edge.refusals[Part.EDGE].isVisible()
    assert stage.topic.model.state.opened is not None


def test_a_pencil_line_is_taken_off_by_the_disc_traced_beside_it(stage: Stage, tmp_path: Path) -> None:
    # A line 0.6 wide whose inner side runs 0.4 outside the part: its outer side is 1.0 outside.
    drawn = Drawn()
    for away, grey in ((1.0, 60), (0.4, 235)):
        drawn.obround(40.0 - away, 15.0 - away, _LONG + 2 * away, _WIDE + 2 * away, grey)
        drawn.disc(8.0 - away, 8.0 - away, _DISC + 2 * away, grey)
    stage.open(drawn.save(tmp_path / "traced.png"))
    form, model = stage.topic.form, stage.topic.model
    QTest.mouseClick(form.edge.kind.button("pencil"), _LEFT)
    assert not stage.topic.form.take.buttons["new_insert"].isEnabled()
    model.ask_for_pick(Pick.TRACED)
    stage.click_at(8.0 - 1.0, 8.0 + _DISC / 2.0)
    stage.type_into(form.edge.disc, f"{_DISC}")
    fitted = stage.fitted
    assert fitted is not None
    assert fitted.excess is not None
    assert fitted.excess.value == pytest.approx(1.0, abs=0.3 * _PX)
    assert stage.length == pytest.approx(_LONG, abs=0.6 * _PX)
    assert "taken off" in form.edge.traced_note.text()
    QTest.mouseClick(form.edge.side.button("inner"), _LEFT)
    stage.settle()
    assert all(not model.state.edges[index].is_dark_inside for _, index in model.state.picked)


# The shape


def test_stray_spots_are_left_out_and_counted(stage: Stage, tmp_path: Path) -> None:
    stage.choose(stage.topic.form.shape.family, Family.OBROUND)
    stage.open(Drawn().obround(30.0, 15.0).disc(60.0, 12.0, 6.0).save(tmp_path / "spot.png"))
    fitted = stage.fitted
    assert fitted is not None
    out = int((~fitted.fit.used).sum())
    assert out > 0
    assert f"{out} left out" in stage.topic.form.shape.said.text()
    assert stage.width == pytest.approx(_WIDE, abs=0.5 * _PX)


def test_the_uncertainty_of_the_scale_is_in_the_sizes(stage: Stage, part: Path) -> None:
    stage.open(part)
    fitted = stage.fitted
    assert fitted is not None
    length = dict(fitted.result.sizes)[SizeName.LENGTH]
    # 1.96 standard deviations are 95 % of a normal distribution (any table of it); the limits come on top.
    limits = START.shadow + _LONG * START.off_plane / (START.lens - START.off_plane)
    assert length.expanded >= 1.95 * fitted.view.relative * _LONG + limits
    rows = {label: (value, spread) for label, value, spread in stage.topic.form.shape.sizes.rows}
    assert rows["Length"][0].endswith("mm")
    assert rows["Length"][1].startswith("within 1.0")


def test_allowances_are_seen_with_their_start_values_and_change_the_interval(stage: Stage, part: Path) -> None:
    stage.open(part)
    section = stage.topic.form.allowances
    assert section.entries["shadow"].text() == "0.20"
    assert "common practice, no source" in section.said.text()
    assert not section.entries["pencil"].isVisible()

    def half() -> float:
        fitted = stage.fitted
        assert fitted is not None
        return dict(fitted.result.sizes)[SizeName.LENGTH].expanded

    before = half()
    stage.type_into(section.entries["shadow"], "0")
    without = half()
    assert before - without == pytest.approx(0.2, rel=0.15)  # least squares through a round end make more of it
    stage.type_into(section.entries["off_plane"], "3")
    assert half() - without == pytest.approx(_LONG * (3.0 / 297.0 - 0.5 / 299.5), rel=0.02)
    stage.type_into(section.entries["lens"], "600")
    assert half() - without == pytest.approx(_LONG * (3.0 / 597.0 - 0.5 / 299.5), rel=0.02)
    assert "Start values" not in section.said.text()
    stage.type_into(section.entries["shadow"], "")
    assert stage.topic.model.state.allowances.shadow == 0.0  # an empty field is refused, and changes nothing
    stage.type_into(section.entries["lens"], "2")
    assert "as far off the plane as the lens" in stage.topic.form.shape.refusals[Part.SHAPE].text()


def test_a_turned_scan_counts_half(stage: Stage, part: Path, tmp_path: Path) -> None:
    # As if the scanner's travel made the second one 0.8 mm longer.
    stage.open(part)
    first = stage.length
    stage.answer = Drawn().obround(10.0, 12.0, _LONG + 0.8, _WIDE).disc(104.0, 50.0).save(tmp_path / "turned.png")
    QTest.mouseClick(stage.topic.form.shape.turned_button, _LEFT)
    stage.settle()
    assert stage.length == pytest.approx(first + 0.4, abs=0.5 * _PX)
    assert "mean of both" in stage.topic.form.shape.turned_note.text()
    QTest.mouseClick(stage.topic.form.shape.forget_button, _LEFT)
    stage.settle()
    assert stage.length == pytest.approx(first, abs=1e-9)


def test_a_turned_scan_of_something_else_is_refused_in_place(stage: Stage, part: Path, tmp_path: Path) -> None:
    stage.open(part)
    before = stage.length
    stage.answer = Drawn().obround(40.0, 15.0, 60.0, 40.0).save(tmp_path / "other.png")
    QTest.mouseClick(stage.topic.form.shape.turned_button, _LEFT)
    stage.settle()
    assert stage.topic.form.shape.refusals[Part.TURNED].isVisible()
    assert stage.length == before


def test_lengths_are_shown_in_the_projects_unit(stage: Stage, part: Path, session: Session) -> None:
    stage.open(part)
    session.change("inches", lambda p: replace(p, style=Style.FRACTION))
    rows = {label: (value, spread) for label, value, spread in stage.topic.form.shape.sizes.rows}
    assert rows["Length"][0] == "≈ 3 5/16 in"  # 84 mm are 3.307 in, and 5/16 are 0.3125
    assert rows["Length"][1] == "within 0.041 in"  # a part of a 64th goes into decimals
    assert "mm" not in stage.topic.form.shape.said.text()


def test_the_sizes_say_what_they_are_when_asked(stage: Stage, part: Path) -> None:
    stage.open(part)
    sheet = explain_widget(stage.topic.form.shape.sizes)
    assert sheet is not None
    assert "Length" in sheet.explanation_shown.title
    sheet.close()


# The deviations


def test_a_place_in_the_chart_is_marked_in_the_picture_and_the_other_way_round(stage: Stage, part: Path) -> None:
    stage.open(part)
    chart, picture = stage.topic.chart, stage.topic.picture
    fitted = stage.fitted
    assert fitted is not None
    index = len(fitted.edge.points) // 3
    at = chart.place_of(index)
    assert at is not None
    QTest.mouseMove(chart, at.toPoint())
    marked = chart.station_at(QPointF(at.toPoint()))
    assert marked is not None
    # Under a real X server the pointer's move comes back as an event of its own.
    stage.qtbot.waitUntil(lambda: chart.station == picture._station == marked)
    place = picture.to_widget((float(fitted.edge.points[index][0]), float(fitted.edge.points[index][1])))
    QTest.mouseMove(picture, place.toPoint())

    def is_near() -> bool:
        station = picture._station
        if station is None or station != chart.station:
            return False
        return bool(np.hypot(*(fitted.edge.points[station] - fitted.edge.points[index])) < 4.0)

    stage.qtbot.waitUntil(is_near)


# Taking


def test_taking_is_one_step_with_its_source_and_undo_gives_back(stage: Stage, part: Path, session: Session) -> None:
    stage.open(part)
    # As large as the insert that the housing is built around.
    before = session.project
    scale = _LONG / before.new_insert.length
    stage.type_dpi(f"{150 * scale:.3f}")
    QTest.mouseClick(stage.topic.form.take.buttons["new_insert"], _LEFT)
    taken = session.project.new_insert
    assert taken.family is Family.OBROUND
    assert taken.length == pytest.approx(stage.length, abs=1e-3)
    source = taken.source(SizeName.LENGTH)
    assert source is not None
    assert source.origin is Origin.SCAN
    assert "part.png" in source.note
    assert "DPI" in source.note
    assert source.known_to is not None
    # The next one bought is known no better than the one that was scanned, and no better than was known of it before.
    assert source.plus_minus == max(source.known_to, before.new_insert.plus_minus.length)
    assert taken.plus_minus.length == source.plus_minus
    assert session.undo_stack.count() == 1
    assert session.project.old_insert == before.old_insert
    assert "Used for the new insert" in stage.topic.form.take.said.text()
    session.undo()
    assert session.project == before
    assert "Used for" not in stage.topic.form.take.said.text()


def test_sizes_that_make_no_housing_are_refused_beside_the_button(stage: Stage, part: Path, session: Session) -> None:
    stage.open(part)
    before = session.project
    stage.type_dpi("1500")
    assert stage.length == pytest.approx(_LONG / 10.0, abs=_PX)
    QTest.mouseClick(stage.topic.form.take.buttons["old_insert"], _LEFT)
    assert stage.topic.form.take.refusals[Part.TAKE].isVisible()
    assert session.project == before


def test_the_outline_itself_can_be_taken(stage: Stage, part: Path, session: Session) -> None:
    stage.open(part)
    scale = _LONG / session.project.new_insert.length
    stage.type_dpi(f"{150 * scale:.3f}")
    stage.choose(stage.topic.form.shape.family, Family.MEASURED)
    QTest.mouseClick(stage.topic.form.take.buttons["new_insert"], _LEFT)
    taken = session.project.new_insert
    assert stage.topic.model.state.refusals == ()
    assert taken.family is Family.MEASURED
    assert taken.outline is not None
    assert taken.length == pytest.approx(stage.length, abs=1e-6)
