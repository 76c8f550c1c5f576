"""What hand-made DXF files say in other ways than by their lines: layers, widths, flags (DXF reference, by group)."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from core.geometry.lines.outline import Outline
from core.measure.drawing.reading.read import read_drawing
from core.measure.drawing.remarks import RemarkKind
from core.words.errors import FileError
from tests.core.measure.drawing.dxf_text import Pairs, block, entity, header, insert, section, texts, write

if TYPE_CHECKING:
    from pathlib import Path


def _layer(name: str, flags: int = 0, colour: int = 7, plot: int | None = None) -> Pairs:
    """A LAYER of the table: 70 flags, 62 colour, 290 whether it is plotted."""
    more: Pairs = [] if plot is None else [(290, plot)]
    return [(0, "LAYER"), (2, name), (70, flags), (62, colour), (6, "CONTINUOUS"), *more]


def _tables(*layers: Pairs) -> Pairs:
    return section("TABLES", [(0, "TABLE"), (2, "LAYER"), (70, len(layers))], *layers, [(0, "ENDTAB")])


def _circle(x: float, layer: str = "0", *more: tuple[int, object]) -> Pairs:
    return entity("CIRCLE", (10, x), (20, 7), (40, 2), *more, layer=layer)


def _seen(path: Path) -> list[float]:
    """Where the middles of the circles lie that were read."""
    return sorted(round(float(Outline(s.vertices).centroid[0]), 6) for s in read_drawing(path).strokes)


STATES = {
    "PART": (_layer("PART"), ""),
    "COLD": (_layer("COLD", flags=1), "frozen"),
    "COLD LOCKED": (_layer("COLD LOCKED", flags=5), "frozen"),
    "DARK": (_layer("DARK", colour=-3), "off"),
    "MARKS": (_layer("MARKS", plot=0), "not plotted"),
    "PRINTED": (_layer("PRINTED", plot=1), ""),
    # 2 freezes a layer in viewports that are made later, 4 locks it: both are seen.
    "VIEWPORTS": (_layer("VIEWPORTS", flags=2), ""),
    "LOCKED": (_layer("LOCKED", flags=4), ""),
}


def test_what_lies_on_a_layer_that_is_off_frozen_or_not_plotted_is_left_out_and_said(tmp_path: Path) -> None:
    circles = [_circle(10.0 * i, name) for i, name in enumerate(STATES)]
    path = write(tmp_path / "a.dxf", _tables(*(pairs for pairs, _ in STATES.values())), section("ENTITIES", *circles))
    assert _seen(path) == [10.0 * i for i, (_, why) in enumerate(STATES.values()) if not why]
    told = {remark.text: remark for remark in read_drawing(path).remarks}
    for i, (name, (_, why)) in enumerate(STATES.items()):
        text = f"Left out: what lies on the layer {name}, which is {why} (1)."
        assert (text in told) == bool(why)
        if why:
            assert told[text].kind == RemarkKind.LAYER
            assert told[text].at == pytest.approx((10.0 * i + 2.0, 7.0))  # where its circle begins


def test_a_second_reader_says_the_same_of_the_layers(tmp_path: Path) -> None:
    from ezdxf.filemanagement import readfile

    circles = [_circle(10.0 * i, name) for i, name in enumerate(STATES)]
    sections = header(ACADVER=(1, "AC1015")), _tables(*(pairs for pairs, _ in STATES.values()))
    path = write(tmp_path / "a.dxf", *sections, section("ENTITIES", *circles))
    for name, (_, why) in STATES.items():
        layer = readfile(path).layers.get(name)
        hidden = {"frozen": layer.is_frozen(), "off": layer.is_off(), "not plotted": not layer.dxf.plot}
        assert [word for word, is_so in hidden.items() if is_so] == ([why] if why else [])


def test_names_of_layers_are_the_same_in_capitals_and_one_that_is_not_in_the_table_is_seen(tmp_path: Path) -> None:
    path = write(
        tmp_path / "a.dxf", _tables(_layer("Construction", flags=1)),
        section("ENTITIES", _circle(0.0, "CONSTRUCTION"), _circle(10.0, "unlisted")),
    )  # fmt: skip
    assert _seen(path) == [10.0]


def test_points_that_dimensions_measure_are_never_plotted(tmp_path: Path) -> None:
    path = write(tmp_path / "a.dxf", section("ENTITIES", _circle(0.0, "Defpoints"), _circle(10.0)))
    assert _seen(path) == [10.0]
    assert "the layer Defpoints, which is not plotted (1)" in texts(read_drawing(path))


def test_layer_0_itself_may_be_off(tmp_path: Path) -> None:
    path = write(tmp_path / "a.dxf", _tables(_layer("0", colour=-7)), section("ENTITIES", _circle(0), _circle(10, "A")))
    assert _seen(path) == [10.0]


@pytest.mark.parametrize(
    ("state", "seen"),
    [
        (_layer("ON"), [100.0, 110.0, 120.0]),
        (_layer("ON", colour=-7), [110.0, 120.0]),  # what has a layer of its own stays
        (_layer("ON", plot=0), [110.0, 120.0]),
        (_layer("ON", flags=1), []),  # a frozen block is gone whole
    ],
)
def test_in_a_block_layer_0_is_seen_as_the_layer_is_that_the_block_is_put_on(
    tmp_path: Path, state: Pairs, seen: list[float]
) -> None:
    inner = block("IN", _circle(20, "OWN"))
    outer = block("B", _circle(0), _circle(10, "OWN"), insert("IN"))
    # Layer 0 being off is nothing to what is put on another layer.
    tables = _tables(state, _layer("OWN"), _layer("0", colour=-7))
    path = write(
        tmp_path / "a.dxf", tables, section("BLOCKS", inner, outer),
        section("ENTITIES", insert("B", 100.0, 0.0, layer="ON"), _circle(500.0, "OWN")),
    )  # fmt: skip
    assert _seen(path) == [*seen, 500.0]


def test_in_a_block_that_is_seen_what_lies_on_a_frozen_layer_is_not(tmp_path: Path) -> None:
    turned = insert("B", 100.0, 0.0, (50, 90.0))
    path = write(
        tmp_path / "a.dxf", _tables(_layer("COLD", flags=1)),
        section("BLOCKS", block("B", _circle(0), _circle(10, "COLD"))), section("ENTITIES", turned),
    )  # fmt: skip
    drawing = read_drawing(path)
    assert len(drawing.strokes) == 1
    # Turned by a quarter turn, (12, 7) lies at (100 - 7, 12): the place is the drawing's, not the block's.
    assert drawing.remarks[0].at == pytest.approx((93.0, 12.0))


def test_a_file_of_which_nothing_is_seen_is_refused_and_says_why(tmp_path: Path) -> None:
    path = write(tmp_path / "a.dxf", _tables(_layer("COLD", flags=1)), section("ENTITIES", _circle(0, "COLD")))
    with pytest.raises(FileError, match=r"the layer COLD, which is frozen \(1\)") as caught:
        read_drawing(path)
    assert "a layer that is seen" in caught.value.hint


def test_a_broken_table_of_layers_hides_nothing(tmp_path: Path) -> None:
    broken: Pairs = [(0, "LAYER"), (2, "A"), (70, "x"), (62, "nan"), (0, "LAYER"), (70, 1)]
    path = write(tmp_path / "a.dxf", _tables(broken), section("ENTITIES", _circle(0, "A"), _circle(10, "B")))
    assert _seen(path) == [0.0, 10.0]


def test_a_polyline_that_the_file_hides_is_one_thing_with_its_vertices(tmp_path: Path) -> None:
    hidden = [entity("POLYLINE", (70, 1), (60, 1)), *(entity("VERTEX", (10, x), (20, 0)) for x in (0, 1, 2))]
    path = write(tmp_path / "a.dxf", section("ENTITIES", *hidden, entity("SEQEND"), _circle(10.0)))
    assert texts(read_drawing(path)) == "Left out: what the file hides (1)."


def test_a_block_that_another_file_holds_is_told(tmp_path: Path) -> None:
    # Flag 4: an external reference.
    outside: Pairs = [(0, "BLOCK"), (2, "X"), (70, 4), (10, 0), (20, 0), (1, "other file"), (0, "ENDBLK")]
    path = write(tmp_path / "a.dxf", section("BLOCKS", outside), section("ENTITIES", insert("X"), _circle(10.0)))
    assert texts(read_drawing(path)) == "Left out: blocks that the file does not hold (X)."


def _vertices() -> list[Pairs]:
    return [entity("VERTEX", (10, x), (20, x * x)) for x in (0, 1, 2)]


_CORNERS: Pairs = [(10, 0), (20, 0), (10, 80), (20, 0), (10, 80), (20, 50)]


@pytest.mark.parametrize(
    "wide",
    [
        [entity("LWPOLYLINE", (90, 3), (70, 1), (43, 0.5), *_CORNERS)],
        [entity("LWPOLYLINE", (90, 3), (70, 1), *_CORNERS[:4], (40, 0.1), (41, 0.5), *_CORNERS[4:])],
        [
            entity("POLYLINE", (70, 1), (40, 0.5), (41, 0.2)),
            *(entity("VERTEX", (10, x), (20, x * x)) for x in (0, 1, 2)),
        ],
        [entity("POLYLINE", (70, 1)), *(entity("VERTEX", (10, x), (20, x * x), (40, x / 4)) for x in (0, 1, 2))],
    ],
    ids=["constant", "of a vertex", "old", "old, of a vertex"],
)
def test_a_polyline_with_a_width_is_taken_by_its_middle_line_and_said(tmp_path: Path, wide: list[Pairs]) -> None:
    path = write(tmp_path / "a.dxf", section("ENTITIES", *wide, entity("SEQEND")))
    (remark,) = read_drawing(path).remarks
    assert remark.kind == RemarkKind.READ_AS
    assert "drawn as a band, up to 0.5 of the file's units wide (1)" in remark.text
    assert remark.at is not None


def test_a_polyline_without_a_width_is_said_nothing_of(tmp_path: Path) -> None:
    plain = entity("LWPOLYLINE", (90, 3), (70, 1), (43, 0.0), *_CORNERS)
    assert not read_drawing(write(tmp_path / "a.dxf", section("ENTITIES", plain))).remarks


def _fit_points(count: int, *, closed: bool, gap: float = 0.0, again: bool = False) -> Pairs:
    """A SPLINE through points of a circle of radius 100: flag 1 closed, 8 plane."""
    turn = 2.0 * np.pi * np.arange(count) / count
    points = [(100.0 * np.cos(t), 100.0 * np.sin(t)) for t in turn]
    points += [(100.0 + gap, -gap)] if again else []
    pairs: Pairs = [(70, 9 if closed else 8), (71, 3), (74, len(points))]
    return entity("SPLINE", *pairs, *(pair for x, y in points for pair in ((11, x), (21, y))))


@pytest.mark.parametrize(
    ("closed", "gap", "again"),
    [(True, 0.0, False), (True, 0.0, True), (True, 1e-4, True), (False, 0.0, True), (False, 1e-4, True)],
    ids=["flag", "flag and again", "flag and nearly again", "again", "nearly again"],
)
def test_a_spline_that_comes_round_by_its_flag_or_its_ends_has_no_kink(
    tmp_path: Path, *, closed: bool, gap: float, again: bool
) -> None:
    path = write(tmp_path / "a.dxf", section("ENTITIES", _fit_points(24, closed=closed, gap=gap, again=again)))
    (stroke,) = read_drawing(path).strokes
    assert stroke.is_closed
    radius = np.hypot(*Outline(stroke.vertices).chords(1e-4).T)
    # A cubic through points of a circle strays by about r step^4 / 384 (elementary): 1.2 µm at 24 points.
    assert np.abs(radius - 100.0).max() < 3.0 * 100.0 * (2.0 * np.pi / 24) ** 4 / 384.0


def test_a_closed_spline_through_fit_points_is_the_periodic_one_of_scipy(tmp_path: Path) -> None:
    from scipy.interpolate import CubicSpline

    points = np.array([(0.0, 0.0), (90.0, -20.0), (160.0, 40.0), (120.0, 110.0), (30.0, 90.0)])
    pairs: Pairs = [(70, 9), (71, 3), *(pair for x, y in points.tolist() for pair in ((11, x), (21, y)))]
    path = write(tmp_path / "a.dxf", header(INSUNITS=(70, 4)), section("ENTITIES", entity("SPLINE", *pairs)))
    (stroke,) = read_drawing(path).strokes
    round_ = np.concatenate((points, points[:1]))
    way = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(round_, axis=0).T))))
    exact = CubicSpline(way, round_, bc_type="periodic")(np.linspace(0.0, way[-1], 2000))
    assert Outline(stroke.vertices).nearest(exact).distance.max() < 1e-3


def test_a_spline_through_fit_points_that_does_not_come_round_stays_open(tmp_path: Path) -> None:
    path = write(tmp_path / "a.dxf", section("ENTITIES", _fit_points(24, closed=False)))
    assert not read_drawing(path).strokes[0].is_closed


def test_blank_lines_behind_the_end_do_no_harm(tmp_path: Path) -> None:
    path = write(tmp_path / "a.dxf", section("ENTITIES", _circle(10.0)))
    path.write_text(path.read_text(encoding="utf-8") + "\n\n\n", encoding="utf-8")
    assert _seen(path) == [10.0]
    assert not read_drawing(path).remarks
