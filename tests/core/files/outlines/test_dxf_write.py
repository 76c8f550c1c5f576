from __future__ import annotations

import errno
import os
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import pytest
from ezdxf.filemanagement import readfile

from core.files.outlines.dxf_write import CHECK_LAYER, DxfVersion, SizeKind, WrittenFile, check_square, write_dxf
from core.files.outlines.rings import Ring, rings
from core.geometry.lines.outline import Outline, circle_outline, rectangle_outline
from core.geometry.ovals.ovals import Family
from core.words.ends import End
from core.words.errors import FileError

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from core.evaluate import Result

Tag = tuple[int, str]


def _tags(path: Path) -> list[Tag]:
    """Group codes and values of an ASCII file, read without the library that wrote it."""
    lines = path.read_text("cp1252").split("\n")
    return [(int(code), value.strip()) for code, value in zip(lines[::2], lines[1::2], strict=False) if code.strip()]


def _entities(path: Path) -> list[list[Tag]]:
    """The entities of the ENTITIES section, each from its group code 0 on."""
    tags = _tags(path)
    at = tags.index((2, "ENTITIES"))
    found: list[list[Tag]] = []
    for tag in tags[at + 1 :]:
        if tag == (0, "ENDSEC"):
            break
        if tag[0] == 0:
            found.append([])
        found[-1].append(tag)
    return found


def _values(entity: list[Tag], code: int) -> list[str]:
    return [value for c, value in entity if c == code]


def _bulges(entity: list[Tag]) -> list[float]:
    """The bulge of each vertex of an LWPOLYLINE; where code 42 is left out it is 0."""
    bulges: list[float] = []
    for code, value in entity:
        if code == 10:
            bulges.append(0.0)
        elif code == 42:
            bulges[-1] = float(value)
    return bulges


def _ring(outline: Outline, layer: str = "BASE-OUTSIDE") -> Ring:
    return Ring(layer, End.BASE, "outside", "outside", outline, ((0.0, 1.0),))


# A straight side, a quarter turn left, a half turn left and one to the right: no symmetry hides a wrong bulge.
SHAPE = Outline([[0, 0, 0], [80, 0, np.tan(np.pi / 8)], [90, 10, 1.0], [60, 10, 0], [30, 40, -0.2], [0, 30, 0]])


def test_r2010_holds_closed_lwpolylines_with_bulges_in_millimetres(tmp_path: Path) -> None:
    # DXF reference: LWPOLYLINE 90 vertex count, 70 flag 1 closed, 42 bulge (default 0).
    # $ACADVER AC1024 is R2010; $INSUNITS 4 is mm; $MEASUREMENT 1 is metric (same, header variables).
    path = tmp_path / "a.dxf"
    write_dxf(path, [_ring(SHAPE)])
    tags = _tags(path)
    header = dict(pairwise(value for _, value in tags[: tags.index((0, "ENDSEC"))]))
    assert header["$ACADVER"] == "AC1024"
    assert header["$INSUNITS"] == "4"
    assert header["$MEASUREMENT"] == "1"
    shape, square = _entities(path)
    assert shape[0] == square[0] == (0, "LWPOLYLINE")
    assert _values(shape, 8) == ["BASE-OUTSIDE"]
    assert _values(shape, 90) == ["6"]  # the first vertex is not repeated at the end
    assert _values(shape, 70) == ["1"]
    assert [float(v) for v in _values(shape, 10)] == [0, 80, 90, 60, 30, 0]
    assert [float(v) for v in _values(shape, 20)] == [0, 0, 10, 10, 40, 30]
    # tan(90°/4) = 0.41421356, tan(180°/4) = 1: a bulge is the tangent of a quarter of the arc's angle.
    assert _bulges(shape) == pytest.approx([0.0, 0.41421356, 1.0, 0.0, -0.2, 0.0], abs=1e-8)


def test_r12_has_polylines_and_says_nothing_of_units(tmp_path: Path) -> None:
    # LWPOLYLINE arrived with R14, $INSUNITS with R2000; AC1009 is R12; POLYLINE 70 flag 1 closed.
    path = tmp_path / "a.dxf"
    write_dxf(path, [_ring(SHAPE), _ring(circle_outline((5.0, 5.0), 2.0), "BASE-HOLE-CORED")], version=DxfVersion.R12)
    tags = _tags(path)
    assert (1, "AC1009") in tags
    assert not [tag for tag in tags if tag[1] in ("LWPOLYLINE", "SPLINE", "ELLIPSE", "$INSUNITS")]
    found = _entities(path)
    kinds = [entity[0][1] for entity in found]
    assert kinds == ["POLYLINE", *["VERTEX"] * 6, "SEQEND", "CIRCLE", "POLYLINE", *["VERTEX"] * 4, "SEQEND"]
    assert _values(found[0], 70) == ["1"]
    bulges = [float((_values(vertex, 42) or ["0"])[0]) for vertex in found[1:7]]
    assert bulges == pytest.approx([0.0, 0.41421356, 1.0, 0.0, -0.2, 0.0], abs=1e-8)


@pytest.mark.parametrize("version", DxfVersion)
def test_full_circles_are_circles(tmp_path: Path, version: DxfVersion) -> None:
    path = tmp_path / "a.dxf"
    write_dxf(path, [_ring(circle_outline((12.5, -3.25), 4.125).reversed())], version=version)
    circle = _entities(path)[0]
    assert circle[0] == (0, "CIRCLE")
    assert [float(_values(circle, code)[0]) for code in (10, 20, 40)] == [12.5, -3.25, 4.125]


def test_the_check_square_lies_clear_below_the_part_on_a_layer_that_looks_different(tmp_path: Path) -> None:
    path = tmp_path / "a.dxf"
    write_dxf(path, [_ring(SHAPE)])
    square = _entities(path)[-1]
    assert _values(square, 8) == [CHECK_LAYER]
    x, y = ([float(v) for v in _values(square, code)] for code in (10, 20))
    assert (max(x) - min(x), max(y) - min(y)) == (100.0, 100.0)
    assert max(y) <= SHAPE.bounds[1] - 10.0
    layers = _tags(path)
    of_layer = {}
    for i, tag in enumerate(layers):
        if tag in ((2, "BASE-OUTSIDE"), (2, CHECK_LAYER)):
            of_layer[tag[1]] = dict(layers[i : i + 5])
    assert of_layer["BASE-OUTSIDE"][6].upper() == "CONTINUOUS"
    assert of_layer[CHECK_LAYER][6] == "NOT-CUT"
    assert of_layer[CHECK_LAYER][62] != of_layer["BASE-OUTSIDE"][62]


def test_the_check_square_is_clear_of_everything_wherever_it_lies() -> None:
    part = rectangle_outline(1000.25, -350.5, 1010.0, -300.0)
    x0, _, x1, y1 = check_square([part, circle_outline((990.0, -300.0), 5.0)]).bounds
    assert (x0, x1) == (985.0, 1085.0)
    assert y1 == -371.0


@pytest.mark.parametrize(
    ("kind", "words"), [(SizeKind.FINISHED, "finished size"), (SizeKind.REWORK, "rework of a casting")]
)
@pytest.mark.parametrize("version", DxfVersion)
def test_a_file_says_which_size_it_holds(tmp_path: Path, version: DxfVersion, kind: SizeKind, words: str) -> None:
    path = tmp_path / "a.dxf"
    write_dxf(path, [_ring(SHAPE)], version=version, size_kind=kind, title="Gehäuse: base\n0\nSECTION")
    comments = [value for code, value in _tags(path) if code == 999]
    assert any(words in comment for comment in comments)
    assert "Unit: millimetre. Scale 1:1" in comments
    assert "Gehause: base 0 SECTION" in comments  # in ASCII, and on one line whatever the name holds
    # The half circle about (75, 10) reaches x 90, as the quarter circle about (80, 10) does; both end there.
    assert any("Part: 90.000 x" in comment for comment in comments)


def test_writing_twice_gives_the_same_outlines_byte_for_byte(tmp_path: Path, result: Result) -> None:
    found = rings(result.after, End.BASE)
    texts = []
    for name in ("a.dxf", "b.dxf"):
        write_dxf(tmp_path / name, found)
        text = (tmp_path / name).read_bytes()
        texts.append(text[text.index(b"ENTITIES") : text.index(b"OBJECTS")])
    assert texts[0] == texts[1]


@pytest.mark.parametrize("version", list(DxfVersion))
def test_no_layer_is_empty_but_the_one_that_the_format_demands(
    tmp_path: Path, result: Result, version: DxfVersion
) -> None:
    path = tmp_path / "a.dxf"
    write_dxf(path, rings(result.after, End.BASE), version=version, old=rings(result.before, End.BASE))
    document = readfile(path)
    used = {entity.dxf.layer for entity in document.modelspace()}
    # Layer 0 must exist in every DXF file (DXF reference, LAYER).
    assert {layer.dxf.name for layer in document.layers} - used <= {"0", "Defpoints"}
    assert b"DEFPOINTS" not in path.read_bytes().upper()


def test_old_outlines_come_on_layers_of_their_own_and_only_where_they_differ(tmp_path: Path, result: Result) -> None:
    old = rings(result.before, End.BASE)
    written = write_dxf(tmp_path / "a.dxf", rings(result.after, End.BASE), old=old)
    layers = {_values(entity, 8)[0] for entity in _entities(tmp_path / "a.dxf")}
    assert {"BASE-SEAT-OUTER", "BASE-SEAT-OUTER-OLD", "BASE-OUTSIDE-OLD"} <= layers
    assert "BASE-HOLE-CORED-OLD" in layers  # the left lug has moved
    assert not any("throat" in ring.feature and ring.kind == "cored hole" for ring in written.old)  # it has not


def test_no_keep_out_gets_onto_any_layer(tmp_path: Path, result: Result) -> None:
    write_dxf(tmp_path / "a.dxf", rings(result.after, End.BASE))
    assert "pipe" not in (tmp_path / "a.dxf").read_text()
    ys = [float(v) for e in _entities(tmp_path / "a.dxf") if _values(e, 8) != [CHECK_LAYER] for v in _values(e, 20)]
    assert max(ys) < 90.0  # the pipe's keep-out begins at y 100


def test_a_file_without_rings_is_a_mistake(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="at least one outline"):
        write_dxf(tmp_path / "a.dxf", [])
    assert not list(tmp_path.iterdir())


def test_a_full_disk_is_told_and_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "a.dxf"
    path.write_text("the one before")

    def full(_: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(FileError, match="the disk is full"):
        write_dxf(path, [_ring(SHAPE)])
    assert path.read_text() == "the one before"
    assert [p.name for p in tmp_path.iterdir()] == ["a.dxf"]


# A second, independent reader: GDAL, by way of pyogrio. It turns arcs into chords of a tenth of a degree.
_CHORD_DEGREES = 0.1


def _read_by_gdal(path: Path) -> list[tuple[str, np.ndarray]]:
    import pyogrio
    import shapely

    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": _CHORD_DEGREES})
    meta, _, geometry, fields = pyogrio.raw.read(path)
    layers = fields[list(meta["fields"]).index("Layer")]
    lines = shapely.from_wkb(geometry)
    return [(layer, shapely.get_coordinates(line)) for layer, line in zip(layers, lines, strict=True)]


def _area(points: np.ndarray) -> float:
    x, y = points.T
    return float(abs((x[:-1] * y[1:] - x[1:] * y[:-1]).sum()) / 2.0)


@pytest.mark.parametrize("family", [Family.OBROUND, Family.ELLIPSE])
@pytest.mark.parametrize("version", DxfVersion)
def test_gdal_reads_the_same_closed_rings(
    tmp_path: Path, result_of: Callable[[Family], Result], version: DxfVersion, family: Family
) -> None:
    path = tmp_path / "a.dxf"
    written: WrittenFile = write_dxf(path, rings(result_of(family).after, End.BASE), version=version)
    read = sorted((layer, _area(points)) for layer, points in _read_by_gdal(path))
    design = sorted(written.expected, key=lambda one: (one[0], abs(one[1].area)))
    assert [layer for layer, _ in read] == [layer for layer, _ in design]
    for (_, area), (_, outline) in zip(read, design, strict=True):
        # The circular segment over the chord of an angle t is r² (t - sin t) / 2, that is t² / 6 of its sector.
        s = outline.segments
        arcs = np.isfinite(s.radius)
        sectors = float((s.radius[arcs] * s.length[arcs]).sum()) / 2.0
        assert area == pytest.approx(
            abs(outline.area), abs=1e-6 + 1.01 * sectors * np.radians(_CHORD_DEGREES) ** 2 / 6.0
        )
    for _, points in _read_by_gdal(path):
        assert np.abs(points[0] - points[-1]).max() < 1e-9
