"""DXF files of another writer (ezdxf) or written by hand, against closed forms and a second reader (GDAL)."""

from __future__ import annotations

from math import cos, pi, radians, sin, sqrt
from typing import TYPE_CHECKING

import numpy as np
import pytest

from core.geometry.lines.outline import Outline
from core.geometry.lines.segments import Segments
from core.measure.drawing.reading.read import read_drawing
from core.measure.drawing.results import DrawingUnit
from tests.core.measure.drawing.dxf_text import block, entity, header, insert, line, section, texts, write

if TYPE_CHECKING:
    from pathlib import Path

    from ezdxf.document import Drawing as Document
    from ezdxf.layouts.layout import Modelspace

    from core.measure.drawing.results import Drawing, Stroke

VERSIONS = ["R12", "R2000", "R2004", "R2007", "R2010", "R2013", "R2018"]


@pytest.fixture(autouse=True)
def _quiet(caplog: pytest.LogCaptureFixture) -> None:
    """The writer warns of $INSUNITS in an R12 file."""
    caplog.set_level("ERROR", logger="ezdxf")


def _document(version: str = "R2010", unit: int = 4) -> tuple[Document, Modelspace]:
    from ezdxf.filemanagement import new

    doc = new(version)
    if version != "R12":
        doc.header["$INSUNITS"] = unit
    return doc, doc.modelspace()


def _read(doc: Document, tmp_path: Path, *, fmt: str = "asc") -> Drawing:
    path = tmp_path / "old part.dxf"
    doc.saveas(path, fmt=fmt)
    return read_drawing(path)


def _only(drawing: Drawing) -> Stroke:
    assert len(drawing.strokes) == 1
    return drawing.strokes[0]


def _outline(stroke: Stroke) -> Outline:
    assert stroke.is_closed
    return Outline(stroke.vertices)


def _length(stroke: Stroke) -> float:
    v = stroke.vertices if stroke.is_closed else np.concatenate((stroke.vertices, stroke.vertices[:1]))
    s = Segments.of(v[:, :2], np.roll(v[:, :2], -1, axis=0), v[:, 2])
    return float(s.length[: None if stroke.is_closed else -2].sum())


def _distances(stroke: Stroke, points: np.ndarray) -> np.ndarray:
    v = stroke.vertices
    n = len(v) if stroke.is_closed else len(v) - 1
    s = Segments.of(v[:n, :2], np.roll(v[:, :2], -1, axis=0)[:n], v[:n, 2])
    return s.closest(points)[0]


@pytest.mark.parametrize("version", VERSIONS)
def test_every_version_from_r12_to_r2018_is_read(tmp_path: Path, version: str) -> None:
    doc, space = _document(version)
    space.add_circle((10.0, 20.0), 7.5, dxfattribs={"layer": "HOLES"})
    space.add_line((0.0, 0.0), (3.0, 4.0))
    space.add_arc((1.0, 2.0), 5.0, 30.0, 120.0)
    # A quarter circle of radius 10 and two lines to its centre; bulge 0.41421356 is tan(90° / 4) (DXF reference).
    space.add_polyline2d([(10, 0, 0.41421356237), (0, 10, 0), (0, 0, 0)], format="xyb", close=True)
    drawing = _read(doc, tmp_path)
    circle, straight, arc, quarter = drawing.strokes
    assert _outline(circle).area == pytest.approx(pi * 7.5**2, rel=1e-12)
    assert (circle.layer, circle.source) == ("HOLES", "CIRCLE on layer HOLES")
    assert _length(straight) == pytest.approx(5.0, rel=1e-12)
    assert _length(arc) == pytest.approx(5.0 * pi / 2.0, rel=1e-12)
    assert arc.vertices[0, :2] == pytest.approx([1.0 + 5.0 * cos(radians(30.0)), 4.5])
    assert _outline(quarter).area == pytest.approx(100.0 * pi / 4.0, rel=1e-9)
    assert not drawing.remarks
    assert drawing.unit is (None if version == "R12" else DrawingUnit.MM)


@pytest.mark.parametrize("version", [v for v in VERSIONS if v != "R12"])
def test_a_closed_lwpolyline_keeps_its_bulges(tmp_path: Path, version: str) -> None:
    doc, space = _document(version)
    space.add_lwpolyline([(0, 0, 0), (80, 0, 1), (80, 40, 0), (0, 40, 1)], format="xyb", close=True)  # an obround
    stroke = _only(_read(doc, tmp_path))
    assert _outline(stroke).area == pytest.approx(80.0 * 40.0 + pi * 20.0**2, rel=1e-12)
    assert not stroke.is_fitted


@pytest.mark.parametrize(
    ("code", "unit"),
    [(1, DrawingUnit.INCH), (2, DrawingUnit.FOOT), (4, DrawingUnit.MM), (5, DrawingUnit.CM), (6, DrawingUnit.METRE)],
)
def test_the_header_states_the_unit(tmp_path: Path, code: int, unit: DrawingUnit) -> None:
    # $INSUNITS: 1 in, 2 ft, 4 mm, 5 cm, 6 m (DXF reference, header variables).
    path = write(tmp_path / "a.dxf", header(INSUNITS=(70, code)), section("ENTITIES", line(0, 0, 1, 0)))
    assert read_drawing(path).unit is unit


@pytest.mark.parametrize(
    ("size", "measurement", "guess"),
    [
        (212.0, 1, DrawingUnit.MM),
        (8.35, 0, DrawingUnit.INCH),
        (8.35, 1, DrawingUnit.INCH),
        (0.212, 1, DrawingUnit.METRE),
    ],
)
def test_without_a_unit_the_size_makes_one_likely(
    tmp_path: Path, size: float, measurement: int, guess: DrawingUnit
) -> None:
    path = write(
        tmp_path / "a.dxf",
        header(INSUNITS=(70, 0), MEASUREMENT=(70, measurement)),
        section("ENTITIES", line(0, 0, size, 0)),
    )
    drawing = read_drawing(path)
    assert (drawing.unit, drawing.guess) == (None, guess)


def test_a_unit_that_makes_a_housing_of_a_quarter_kilometre_is_stated_but_not_likely(tmp_path: Path) -> None:
    path = write(tmp_path / "a.dxf", header(INSUNITS=(70, 6)), section("ENTITIES", line(0, 0, 240, 0)))
    drawing = read_drawing(path)
    assert (drawing.unit, drawing.guess) == (DrawingUnit.METRE, DrawingUnit.MM)


def test_a_unit_that_is_not_offered_is_told(tmp_path: Path) -> None:
    path = write(tmp_path / "a.dxf", header(INSUNITS=(70, 10)), section("ENTITIES", line(0, 0, 240, 0)))
    drawing = read_drawing(path)
    assert drawing.unit is None
    assert "yards" in texts(drawing)


def test_an_ellipse_becomes_arcs_within_a_micrometre(tmp_path: Path) -> None:
    doc, space = _document()
    space.add_ellipse((5.0, -3.0), (120.0 * 0.8, 120.0 * 0.6), 75.0 / 120.0)
    stroke = _only(_read(doc, tmp_path))
    assert stroke.is_fitted
    assert len(stroke.vertices) < 110  # 1 µm costs some 88 arcs for this one
    t = np.linspace(0.0, 2.0 * pi, 5003)
    x, y = 120.0 * np.cos(t), 75.0 * np.sin(t)
    exact = np.column_stack((5.0 + 0.8 * x - 0.6 * y, -3.0 + 0.6 * x + 0.8 * y))
    assert _distances(stroke, exact).max() <= 1e-3
    assert _outline(stroke).area == pytest.approx(pi * 120.0 * 75.0, abs=0.3)  # within 1 µm all round


def test_an_elliptic_arc_runs_from_its_first_to_its_last_parameter(tmp_path: Path) -> None:
    doc, space = _document()
    space.add_ellipse((0.0, 0.0), (60.0, 0.0), 0.5, start_param=pi / 2.0, end_param=2.0 * pi)
    stroke = _only(_read(doc, tmp_path))
    assert not stroke.is_closed
    assert stroke.vertices[0, :2] == pytest.approx([0.0, 30.0], abs=1e-9)
    assert stroke.vertices[-1, :2] == pytest.approx([60.0, 0.0], abs=1e-9)
    assert stroke.vertices[:, 0].min() == pytest.approx(-60.0, abs=2.0)  # by way of the left


def test_in_inches_too_a_micrometre_is_kept(tmp_path: Path) -> None:
    doc, space = _document(unit=1)
    space.add_ellipse((0.0, 0.0), (5.0, 0.0), 0.6)
    stroke = _only(_read(doc, tmp_path))
    t = np.linspace(0.0, 2.0 * pi, 5003)
    assert _distances(stroke, np.column_stack((5.0 * np.cos(t), 3.0 * np.sin(t)))).max() * 25.4 <= 1e-3


def test_a_spline_becomes_arcs_within_a_micrometre(tmp_path: Path) -> None:
    from ezdxf.math import BSpline

    doc, space = _document()
    control = [(0, 0), (30, 60), (80, 70), (120, -20), (170, 10), (200, 90), (240, 40)]
    space.add_spline().control_points = [(x, y, 0) for x, y in control]
    spline = space[0]
    spline.dxf.degree = 3
    curve = BSpline(control, order=4)
    spline.knots = curve.knots()
    stroke = _only(_read(doc, tmp_path))
    exact = np.array([(p.x, p.y) for p in curve.points(np.linspace(0.0, curve.max_t, 4001))])  # the writer's own
    assert _distances(stroke, exact).max() <= 1e-3
    assert stroke.vertices[0, :2] == pytest.approx([0.0, 0.0])
    assert stroke.vertices[-1, :2] == pytest.approx([240.0, 40.0])


def test_a_rational_spline_of_nine_points_is_the_circle_it_stands_for(tmp_path: Path) -> None:
    # Full circle of degree 2 by nine points (Piegl and Tiller, The NURBS Book, 7.5; from memory).
    w = sqrt(0.5)
    points = [(1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0), (-1, -1), (0, -1), (1, -1), (1, 0)]
    knots = [0, 0, 0, 0.25, 0.25, 0.5, 0.5, 0.75, 0.75, 1, 1, 1]
    pairs: list[tuple[int, object]] = [(70, 4), (71, 2), (72, 12), (73, 9), *((40, k) for k in knots)]
    pairs += [(41, 1 if i % 2 == 0 else w) for i in range(9)]
    pairs += [pair for x, y in points for pair in ((10, 50 * x + 7), (20, 50 * y - 2), (30, 0))]
    path = write(tmp_path / "a.dxf", header(INSUNITS=(70, 4)), section("ENTITIES", entity("SPLINE", *pairs)))
    outline = _outline(_only(read_drawing(path)))
    assert outline.area == pytest.approx(pi * 2500.0, abs=0.3)
    radius = np.hypot(*(outline.chords(1e-4) - np.array([7.0, -2.0])).T)
    assert np.abs(radius - 50.0).max() <= 1e-3


def test_a_spline_of_the_first_degree_keeps_its_corners(tmp_path: Path) -> None:
    points = [(0, 0), (40, 0), (40, 30), (0, 0)]
    pairs: list[tuple[int, object]] = [(70, 8), (71, 1), *((40, k) for k in (0, 0, 1, 2, 3, 3))]
    pairs += [pair for x, y in points for pair in ((10, x), (20, y))]
    path = write(tmp_path / "a.dxf", section("ENTITIES", entity("SPLINE", *pairs)))
    outline = _outline(_only(read_drawing(path)))
    assert len(outline) == 3
    assert (outline.area, outline.length) == pytest.approx((600.0, 120.0))


def test_a_spline_with_fit_points_only_runs_through_them(tmp_path: Path) -> None:
    points = [(0, 0), (40, 10), (80, -10), (120, 0)]
    pairs: list[tuple[int, object]] = [(70, 8), (71, 3), (74, 4)]
    pairs += [pair for x, y in points for pair in ((11, x), (21, y))]
    path = write(tmp_path / "a.dxf", section("ENTITIES", entity("SPLINE", *pairs)))
    assert _distances(_only(read_drawing(path)), np.array(points, dtype=np.float64)).max() < 1e-3


def test_fit_points_that_come_round_to_the_first_have_no_kink_there(tmp_path: Path) -> None:
    # 24 points of a circle: a cubic through them strays by about r step^4 / 384, 1.2 µm here (elementary).
    turn = 2.0 * np.pi * np.arange(25) / 24
    points = [(100.0 * np.cos(t), 100.0 * np.sin(t)) for t in turn[:-1]]
    pairs: list[tuple[int, object]] = [(70, 11), (71, 3), (74, 25)]
    pairs += [pair for x, y in (*points, points[0]) for pair in ((11, x), (21, y))]
    path = write(tmp_path / "a.dxf", section("ENTITIES", entity("SPLINE", *pairs)))
    outline = _outline(_only(read_drawing(path)))
    radius = np.hypot(*outline.chords(1e-4).T)
    assert np.abs(radius - 100.0).max() < 3.0 * 100.0 * (2.0 * np.pi / 24) ** 4 / 384.0


def test_a_curve_fitted_polyline_leaves_its_frame_out(tmp_path: Path) -> None:
    # POLYLINE 70 flag 4 spline-fit; VERTEX 70 flags 8 on the curve, 16 of the frame (DXF reference).
    records = [entity("POLYLINE", (66, 1), (70, 4), (10, 0), (20, 0))]
    records += [entity("VERTEX", (10, 5), (20, 99), (70, 16))]
    records += [entity("VERTEX", (10, x), (20, y), (70, 8)) for x, y in ((0, 0), (3, 4), (6, 8))]
    path = write(tmp_path / "a.dxf", section("ENTITIES", *records, entity("SEQEND")))
    assert _length(_only(read_drawing(path))) == pytest.approx(10.0)


# An arc mirrored by its extrusion direction (0, 0, -1): x is reversed ("Arbitrary axis algorithm", DXF reference).
def test_what_is_seen_from_below_is_mirrored(tmp_path: Path) -> None:
    down: tuple[tuple[int, object], ...] = ((210, 0.0), (220, 0.0), (230, -1.0))
    path = write(
        tmp_path / "a.dxf",
        section(
            "ENTITIES",
            entity("ARC", (10, 10), (20, 5), (40, 4), (50, 0), (51, 90), *down),
            entity("LWPOLYLINE", (90, 2), (70, 0), *down, (10, 1), (20, 0), (42, 1.0), (10, 3), (20, 0)),
            entity("CIRCLE", (10, 10), (20, 5), (40, 4), *down),
            [*line(1, 2, 3, 4), *down],
        ),
    )
    arc, polyline, circle, straight = read_drawing(path).strokes
    assert arc.vertices[0, :2] == pytest.approx([-14.0, 5.0])
    assert arc.vertices[-1, :2] == pytest.approx([-10.0, 9.0])
    assert _distances(arc, np.array([[-10.0 - 4.0 * sqrt(0.5), 5.0 + 4.0 * sqrt(0.5)]]))[0] < 1e-12
    # Counter-clockwise from (1, 0) to (3, 0) runs below the line; mirrored it still does.
    assert _distances(polyline, np.array([[-2.0, -1.0]]))[0] < 1e-12
    assert _outline(circle).centroid == pytest.approx((-10.0, 5.0))
    assert straight.vertices[0, :2].tolist() == [1.0, 2.0]  # a LINE's places are the drawing's own


def test_mirrored_entities_lie_where_the_writer_says(tmp_path: Path) -> None:
    doc, space = _document()
    down = {"extrusion": (0, 0, -1)}
    arc = space.add_arc((10, 5), 4, 20, 200, dxfattribs=down)
    ellipse = space.add_ellipse((30, 5), (20, 5), 0.4, 0.3, 2.5, dxfattribs=down)
    strokes = _read(doc, tmp_path).strokes
    for stroke, exact in (
        (strokes[0], arc.vertices(np.linspace(20.0, 200.0, 50))),
        (strokes[1], ellipse.vertices(np.linspace(0.3, 2.5, 50))),
    ):
        points = np.array([(p.x, p.y) for p in exact])
        assert _distances(stroke, points).max() < 1e-3
        assert np.hypot(*(stroke.vertices[[0, -1], :2] - points[[0, -1]]).T).max() < 1e-9


def _rings_by_gdal(path: Path) -> list[tuple[float, tuple[float, ...]]]:
    """Length and bounds of all closed lines that GDAL finds, blocks in place."""
    import pyogrio
    import shapely

    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": 0.05})
    shapes = list(shapely.from_wkb(pyogrio.raw.read(path)[2]))
    rings = []
    while shapes:
        shape = shapes.pop()
        if isinstance(shape, shapely.LineString):
            rings += [(shape.length, shape.bounds)] if shape.is_closed else []
        else:
            shapes += shapely.get_parts(shape).tolist()
    return rings


def test_blocks_lie_where_gdal_puts_them(tmp_path: Path) -> None:
    doc, space = _document()
    inner = doc.blocks.new("INNER", base_point=(2, 1))
    inner.add_circle((5, 3), 2, dxfattribs={"layer": "ROUND"})
    inner.add_lwpolyline([(0, 0, 0.5), (9, 0, 0), (9, 6, -0.3)], format="xyb", close=True)
    outer = doc.blocks.new("OUTER")
    outer.add_blockref("INNER", (20, 5), dxfattribs={"rotation": 25, "xscale": 1.5, "yscale": 1.5})
    outer.add_blockref("INNER", (-20, 5), dxfattribs={"rotation": 70, "xscale": -1, "yscale": 1, "layer": "BACK"})
    outer.add_arc((0, 0), 12, 200, 80)
    space.add_blockref("OUTER", (100, 40), dxfattribs={"rotation": -35, "layer": "MAIN"})
    space.add_blockref(
        "INNER", (0, -80), dxfattribs={"row_count": 2, "column_count": 3, "column_spacing": 30, "row_spacing": 25,
                                       "rotation": 10, "layer": "ROWS"},
    )  # fmt: skip
    ours = [_outline(s) for s in _read(doc, tmp_path).strokes if s.is_closed]
    theirs = _rings_by_gdal(tmp_path / "old part.dxf")
    assert len(ours) == len(theirs) == 16
    for outline in ours:
        length, bounds = min(theirs, key=lambda t: sum(abs(a - b) for a, b in zip(t[1], outline.bounds, strict=True)))
        # GDAL's chords of a twentieth of a degree shorten an arc by a few millionths.
        assert bounds == pytest.approx(outline.bounds, abs=1e-4)
        assert length == pytest.approx(outline.length, rel=1e-5)


def test_a_block_stretched_one_way_makes_ellipses_of_its_circles(tmp_path: Path) -> None:
    path = write(
        tmp_path / "a.dxf",
        header(INSUNITS=(70, 4)),
        section("BLOCKS", block("B", entity("CIRCLE", (10, 10), (20, 0), (40, 50)), base=(10, 0))),
        section("ENTITIES", insert("B", 7.0, 8.0, (41, 2.0), (42, 1.2), (50, 90.0))),
    )
    stroke = _only(read_drawing(path))
    t = np.linspace(0.0, 2.0 * pi, 2001)
    exact = np.column_stack((7.0 - 60.0 * np.sin(t), 8.0 + 100.0 * np.cos(t)))
    assert stroke.is_fitted
    assert _distances(stroke, exact).max() <= 1e-3


def test_rows_and_columns_turn_with_the_block_but_are_not_scaled(tmp_path: Path) -> None:
    path = write(
        tmp_path / "a.dxf",
        section("BLOCKS", block("B", entity("CIRCLE", (10, 0), (20, 0), (40, 1)))),
        section("ENTITIES", insert("B", 5, 0, (41, 3), (42, 3), (50, 90), (70, 2), (71, 3), (44, 10), (45, 20))),
    )
    strokes = read_drawing(path).strokes
    centres = sorted(tuple(round(c, 9) for c in _outline(s).centroid) for s in strokes)
    # Columns 10 apart run along +Y, rows 20 apart along -X.
    assert centres == [(-35, 0), (-35, 10), (-15, 0), (-15, 10), (5, 0), (5, 10)]
    assert all(_outline(s).area == pytest.approx(9.0 * pi) for s in strokes)


def test_layer_0_of_a_block_is_the_layer_that_the_block_is_put_on(tmp_path: Path) -> None:
    path = write(
        tmp_path / "a.dxf",
        section("BLOCKS", block("B", line(0, 0, 9, 0), line(0, 1, 9, 1, layer="OWN"))),
        section("ENTITIES", insert("b", layer="SEAT")),  # names are the same in capitals
    )
    assert [s.layer for s in read_drawing(path).strokes] == ["SEAT", "OWN"]


@pytest.mark.parametrize("version", ["R12", "R2000", "R2018"])
def test_a_binary_file_says_the_same_as_a_text(tmp_path: Path, version: str) -> None:
    doc, space = _document(version)
    space.add_circle((10.0, 20.0), 7.5, dxfattribs={"layer": "Löcher"})
    space.add_polyline2d([(10, 0, 0.4), (0, 10, 0), (0, 0, 0)], format="xyb", close=True)
    text, binary = _read(doc, tmp_path), _read(doc, tmp_path, fmt="bin")
    assert [s.layer for s in text.strokes] == [s.layer for s in binary.strokes] == ["Löcher", "0"]
    for one, other in zip(text.strokes, binary.strokes, strict=True):
        assert one.vertices == pytest.approx(other.vertices, abs=1e-12)
    assert text.unit == binary.unit


def test_what_is_no_outline_is_left_out_and_told_in_a_sentence_each(tmp_path: Path) -> None:
    doc, space = _document()
    space.add_circle((0, 0), 90)
    for _ in range(3):
        space.add_text("DRILL 8")
    space.add_point((1, 1))
    space.add_3dface([(0, 0, 0), (1, 0, 0), (1, 1, 5)])
    space.add_hatch().paths.add_polyline_path([(0, 0), (1, 0), (1, 1)])
    space.add_linear_dim(base=(0, 5), p1=(0, 0), p2=(9, 0)).render()
    space.add_line((0, 0, 0), (5, 0, 30))
    space.add_circle((0, 0), 5, dxfattribs={"extrusion": (0, 1, 1)})
    space.add_circle((0, 0), 5, dxfattribs={"invisible": 1})
    doc.layout("Layout1").add_circle((0, 0), 3)
    drawing = _read(doc, tmp_path)
    assert _only(drawing).source.startswith("CIRCLE")
    told = texts(drawing)
    for words in (
        "text (3)", "single points (1)", "bodies in space (1)", "hatches (1)", "dimensions (1)",
        "what lies in paper space (1)",
        "what the file hides (1)", "LINE that does not lie flat", "CIRCLE that does not lie flat",
    ):  # fmt: skip
        assert f"Left out: {words}" in told
    assert all(remark.text.endswith(".") for remark in drawing.remarks)


@pytest.mark.parametrize("fmt", ["asc", "bin"])
@pytest.mark.parametrize("version", ["R12", "R2010"])
def test_layers_that_another_writer_froze_or_turned_off_are_left_out(tmp_path: Path, version: str, fmt: str) -> None:
    doc, space = _document(version)
    doc.layers.add("KÄLTE").freeze()
    doc.layers.add("DARK").off()
    for i, layer in enumerate(("KÄLTE", "DARK", "0")):
        space.add_circle((0, 0), 90 - 10 * i, dxfattribs={"layer": layer})
    drawing = _read(doc, tmp_path, fmt=fmt)
    assert [s.layer for s in drawing.strokes] == ["0"]
    assert "the layer KÄLTE, which is frozen (1)" in texts(drawing)
    assert "the layer DARK, which is off (1)" in texts(drawing)


def test_a_name_in_the_code_page_of_an_old_file_is_read(tmp_path: Path) -> None:
    path = write(tmp_path / "a.dxf", header(DWGCODEPAGE=(3, "ANSI_1252")), section("ENTITIES", line(0, 0, 9, 0, "?")))
    path.write_bytes(path.read_bytes().replace(b"?", "Gehäuse".encode("cp1252")))
    assert _only(read_drawing(path)).layer == "Gehäuse"


@pytest.mark.parametrize("ending", ["\r\n", "\r", "\n"])
def test_every_kind_of_line_end_is_read(tmp_path: Path, ending: str) -> None:
    path = write(tmp_path / "a.dxf", section("ENTITIES", line(0, 0, 3, 4)))
    path.write_bytes(path.read_text().replace("\n", ending).encode())
    assert _length(_only(read_drawing(path))) == pytest.approx(5.0)


def test_a_bare_list_of_entities_without_header_and_end_is_read(tmp_path: Path) -> None:
    drawing = read_drawing(write(tmp_path / "a.dxf", section("ENTITIES", line(0, 0, 3, 4)), end=False))
    assert len(drawing.strokes) == 1
    assert "last line" in texts(drawing)


def test_an_arc_of_more_than_a_half_circle_keeps_its_middle(tmp_path: Path) -> None:
    path = write(tmp_path / "a.dxf", section("ENTITIES", entity("ARC", (10, 0), (20, 0), (40, 10), (50, 1), (51, 359))))
    stroke = _only(read_drawing(path))
    assert _length(stroke) == pytest.approx(10.0 * radians(358.0), rel=1e-12)
    assert _distances(stroke, np.array([[-10.0, 0.0], [10.0 * cos(2.0), 10.0 * sin(2.0)]])).max() < 1e-12
