from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from msgspec.structs import replace

from core.files.outlines.dxf_audit import DEVIATION_LIMIT_MM, Audit, audit_dxf
from core.files.outlines.dxf_write import CHECK_LAYER, DxfVersion, WrittenFile, write_dxf
from core.files.outlines.rings import Ring, rings
from core.geometry.lines.outline import Outline, polygon_outline
from core.geometry.ovals.ovals import ARC_TOLERANCE, SIZED_FAMILIES, Family, Oval, oval_outline
from core.geometry.parallels.parallel import parallel
from core.part.curve import HeldCurve
from core.words.ends import End

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from core.evaluate import Result

FAMILIES = [family for family in SIZED_FAMILIES if family is not Family.CIRCLE]
SEAT = "BASE-SEAT-OUTER"


@pytest.fixture(params=list(DxfVersion))
def written(request: pytest.FixtureRequest, tmp_path: Path, result: Result) -> WrittenFile:
    return write_dxf(tmp_path / "base.dxf", rings(result.after, End.BASE), version=request.param)


def _tampered(written: WrittenFile, change: Callable[[Any], None]) -> Audit:
    """The audit of the file after ``change`` has been at its document."""
    from ezdxf.filemanagement import readfile

    doc = readfile(written.path)
    change(doc)
    doc.saveas(written.path)
    return audit_dxf(written)


def _on(doc: Any, layer: str) -> Any:  # noqa: ANN401 - ezdxf's entities have no common useful type
    return next(e for e in doc.modelspace() if e.dxf.layer == layer)


def _vertices(entity: Any) -> list[tuple[float, float, float]]:  # noqa: ANN401
    if entity.dxftype() == "LWPOLYLINE":
        return [(x, y, b) for x, y, b in entity.get_points("xyb")]
    return [(v.dxf.location.x, v.dxf.location.y, v.dxf.get("bulge", 0.0)) for v in entity.vertices]


def _redrawn(doc: Any, entity: Any, vertices: list[tuple[float, float, float]], *, close: bool = True) -> None:  # noqa: ANN401
    space, attributes = doc.modelspace(), {"layer": entity.dxf.layer}
    if entity.dxftype() == "LWPOLYLINE":
        space.add_lwpolyline(vertices, format="xyb", close=close, dxfattribs=attributes)
    else:
        space.add_polyline2d(vertices, format="xyb", close=close, dxfattribs=attributes)
    space.delete_entity(entity)


def _has(audit: Audit, *words: str) -> bool:
    return any(all(word in problem for word in words) for problem in audit.problems)


@pytest.mark.parametrize("family", FAMILIES)
@pytest.mark.parametrize("end", End)
def test_what_was_written_reads_back_as_designed(
    tmp_path: Path, result_of: Callable[[Family], Result], family: Family, end: End
) -> None:
    for version in DxfVersion:
        new, old = rings(result_of(family).after, end), rings(result_of(family).before, end)
        audit = audit_dxf(write_dxf(tmp_path / f"{version}.dxf", new, version=version, old=old))
        assert audit.problems == ()
        assert len(audit.rings) > len(new)  # and old ones
        for one in audit.rings:
            assert one.readback_mm < 2e-9  # nine decimals
            assert one.area_mm2 == pytest.approx(abs(one.ring.outline.area), abs=1e-5)
            assert one.length_mm == pytest.approx(one.ring.outline.length, abs=1e-6)
        fitted = family in (Family.ELLIPSE, Family.SUPERELLIPSE)
        drawn_in = max(ring.moved for ring in (*new, *old))  # slivers
        assert drawn_in < 1e-3
        assert audit.worst_mm < (ARC_TOLERANCE + drawn_in + 2e-9 if fitted else 2e-9)
        assert audit.worst_mm > (0.3 * ARC_TOLERANCE if fitted else -1.0)  # the exact curve was really looked at


def test_the_bounds_are_those_of_what_is_cut(written: WrittenFile, result: Result) -> None:
    piece = result.after.base
    wanted = np.array([loop.bounds for slab in piece.slabs for loop in slab.region.loops])
    bounds = audit_dxf(written).bounds
    assert bounds is not None
    assert bounds[:2] == pytest.approx(wanted[:, :2].min(axis=0), abs=1e-8)
    assert bounds[2:] == pytest.approx(wanted[:, 2:].max(axis=0), abs=1e-8)


def test_a_dropped_vertex_is_caught(written: WrittenFile) -> None:
    def drop(doc: Any) -> None:  # noqa: ANN401
        seat = _on(doc, SEAT)
        _redrawn(doc, seat, _vertices(seat)[1:])

    assert _has(_tampered(written, drop), SEAT, "has 3 segments instead of 4")


def test_an_opened_polyline_is_caught(written: WrittenFile) -> None:
    def open_(doc: Any) -> None:  # noqa: ANN401
        seat = _on(doc, SEAT)
        _redrawn(doc, seat, _vertices(seat), close=False)

    audit = _tampered(written, open_)
    assert _has(audit, SEAT, "is left open")
    assert len(audit.problems) == 1


def test_a_doubled_ring_is_caught_also_when_it_begins_elsewhere_and_runs_back(written: WrittenFile) -> None:
    def double(doc: Any) -> None:  # noqa: ANN401
        seat = _on(doc, SEAT)
        back = Outline(_vertices(seat)).reversed().vertices
        copy = seat.copy()
        doc.modelspace().add_entity(copy)
        _redrawn(doc, copy, [tuple(v) for v in np.roll(back, 1, axis=0).tolist()])

    audit = _tampered(written, double)
    assert _has(audit, SEAT, "is there twice")
    assert len(audit.problems) == 1


def test_a_file_drawn_in_inches_is_caught_by_the_check_square(written: WrittenFile) -> None:
    def scale(doc: Any) -> None:  # noqa: ANN401
        for entity in doc.modelspace():
            entity.scale(25.4, 25.4, 25.4)

    audit = _tampered(written, scale)
    assert _has(audit, CHECK_LAYER, "2540.000 x 2540.000 mm instead of 100 x 100", "25.4 times too large")
    assert _has(audit, SEAT, "strays")


def test_a_header_that_says_inches_is_caught(tmp_path: Path, result: Result) -> None:
    written = write_dxf(tmp_path / "base.dxf", rings(result.after, End.BASE))

    def inches(doc: Any) -> None:  # noqa: ANN401
        doc.header["$INSUNITS"] = 1
        doc.header["$MEASUREMENT"] = 0

    audit = _tampered(written, inches)
    assert audit.problems == (
        "the header does not say millimetres: $INSUNITS is 1 instead of 4",
        "the header does not say metric: $MEASUREMENT is 0 instead of 1",
    )


def test_an_arc_bent_the_wrong_way_is_caught_at_its_place(written: WrittenFile) -> None:
    def bend(doc: Any) -> None:  # noqa: ANN401
        seat = _on(doc, SEAT)
        vertices = _vertices(seat)
        _redrawn(doc, seat, [(x, y, -b if x > 0 else b) for x, y, b in vertices])

    audit = _tampered(written, bend)
    # Half the seat's width, 70.6 mm, is the radius of its ends: bent inward, the arc's top is twice that away.
    assert _has(audit, SEAT, "strays", "from the design")
    assert _has(audit, SEAT, "encloses")


def test_a_bulge_that_is_off_by_a_hair_is_caught(written: WrittenFile) -> None:
    def bend(doc: Any) -> None:  # noqa: ANN401
        seat = _on(doc, SEAT)
        _redrawn(doc, seat, [(x, y, b * (1.0 - 3e-5)) for x, y, b in _vertices(seat)])

    audit = _tampered(written, bend)
    # Sagitta = |bulge| c / 2 = 70.6 mm, so 3e-5 of it are 2.1 µm.
    assert _has(audit, SEAT, "strays 0.0021 mm from the design", "0.001 is allowed")


def test_a_ring_that_runs_the_other_way_is_caught(written: WrittenFile) -> None:
    def turn(doc: Any) -> None:  # noqa: ANN401
        seat = _on(doc, SEAT)
        _redrawn(doc, seat, [tuple(v) for v in Outline(_vertices(seat)).reversed().vertices.tolist()])

    audit = _tampered(written, turn)
    assert audit.problems == (f"layer {SEAT}: the outline along seat outer runs the other way round",)


def test_a_ring_on_the_wrong_layer_is_missing_on_its_own_and_unknown_there(written: WrittenFile) -> None:
    def move(doc: Any) -> None:  # noqa: ANN401
        _on(doc, SEAT).dxf.layer = "BASE-OUTSIDE"

    audit = _tampered(written, move)
    assert _has(audit, SEAT, "is missing")
    assert _has(audit, "layer BASE-OUTSIDE", "the design has no such outline")
    assert len(audit.problems) == 2


def test_one_of_several_like_holes_missing_names_that_one(written: WrittenFile) -> None:
    def remove(doc: Any) -> None:  # noqa: ANN401
        found = [e for e in doc.modelspace() if e.dxf.layer == "BASE-HOLE-DRILLED-2"]
        doc.modelspace().delete_entity(next(e for e in found if e.dxf.center.x < 0))

    assert _tampered(written, remove).problems == ("layer BASE-HOLE-DRILLED-2: the outline along left stud is missing",)


def test_short_and_empty_segments_are_caught(written: WrittenFile) -> None:
    def shorten(doc: Any) -> None:  # noqa: ANN401
        seat = _on(doc, SEAT)
        (x, y, b), *rest = (v for v in _vertices(seat))
        straight = [(x, y, b), *rest]
        at = next(i for i, v in enumerate(straight) if v[2] == 0.0)
        x0, y0, _ = straight[at]
        x1 = straight[(at + 1) % len(straight)][0]
        step = 0.05 if x1 > x0 else -0.05
        extra = [(x0 + step, y0, 0.0), (x0 + step, y0, 0.0)]
        _redrawn(doc, seat, [*straight[: at + 1], *extra, *straight[at + 1 :]])

    audit = _tampered(written, shorten)
    assert _has(audit, SEAT, "has 6 segments instead of 4")
    assert _has(audit, SEAT, "has a segment without length")

    def only_short(doc: Any) -> None:  # noqa: ANN401
        seat = _on(doc, SEAT)
        vertices = list(dict.fromkeys(_vertices(seat)))
        _redrawn(doc, seat, vertices)

    assert _has(_tampered(written, only_short), SEAT, "has a segment of 0.0500 mm that the design has not")


def test_what_is_no_closed_outline_is_caught(written: WrittenFile) -> None:
    def add(doc: Any) -> None:  # noqa: ANN401
        space = doc.modelspace()
        space.add_line((0, 0), (10, 0), dxfattribs={"layer": "BASE-OUTSIDE"})
        space.add_text("cut here", dxfattribs={"layer": "BASE-OUTSIDE"})
        space.add_circle((0, 0), 5.0, dxfattribs={"layer": "BASE-OUTSIDE", "extrusion": (0, 0, -1)})

    audit = _tampered(written, add)
    assert _has(audit, "BASE-OUTSIDE", "there is a LINE")
    assert _has(audit, "BASE-OUTSIDE", "there is a TEXT")
    assert _has(audit, "BASE-OUTSIDE", "a CIRCLE lies on a plane of its own")


def test_paper_space_and_a_missing_check_square_are_caught(tmp_path: Path, result: Result) -> None:
    written = write_dxf(tmp_path / "base.dxf", rings(result.after, End.BASE))

    def change(doc: Any) -> None:  # noqa: ANN401
        doc.modelspace().delete_entity(_on(doc, CHECK_LAYER))
        doc.layouts.get("Layout1").add_circle((0, 0), 1.0)

    audit = _tampered(written, change)
    assert _has(audit, "paper space Layout1")
    assert _has(audit, "the check square is missing")


def test_a_file_of_another_version_or_of_none_is_caught(written: WrittenFile) -> None:
    other = next(version for version in DxfVersion if version is not written.version)
    assert _has(audit_dxf(replace(written, version=other)), "the file's version is")
    written.path.write_text("not a drawing")
    audit = audit_dxf(written)
    assert _has(audit, "can't be read back")
    assert (audit.rings, audit.bounds) == ((), None)
    written.path.unlink()
    assert _has(audit_dxf(written), "can't be read back")


def _one(outline: Outline, exact: HeldCurve | None, tolerance: float = 0.0) -> Ring:
    return Ring(SEAT, End.BASE, "seat outer", "seat outer", outline, ((0.0, 5.0),), exact, tolerance)


def test_the_shortcut_of_adding_to_the_axes_is_caught_with_its_published_error(tmp_path: Path) -> None:
    # For a 240 x 150 ellipse moved 3.2 mm, adding 3.2 to both semi-axes is wrong by 0.084 mm (design, section 3).
    grown = oval_outline(Oval(Family.ELLIPSE, 246.4, 156.4))
    exact = HeldCurve.of(Oval(Family.ELLIPSE, 240.0, 150.0), 3.2)
    audit = audit_dxf(write_dxf(tmp_path / "a.dxf", [_one(grown, exact)]))
    assert audit.rings[0].readback_mm < 2e-9
    assert audit.rings[0].deviation_mm == pytest.approx(0.084, abs=0.001)
    assert _has(audit, "from its exact curve")


def test_the_true_parallel_stays_under_half_a_micrometre(tmp_path: Path) -> None:
    oval = Oval(Family.ELLIPSE, 240.0, 150.0)
    moved = parallel(oval_outline(oval), 3.2)
    audit = audit_dxf(write_dxf(tmp_path / "a.dxf", [_one(moved, HeldCurve.of(oval, 3.2))]))
    assert audit.problems == ()
    assert 0.1 * ARC_TOLERANCE < audit.worst_mm < ARC_TOLERANCE


def test_where_no_exact_curve_is_known_the_tolerance_of_its_arcs_is_added(tmp_path: Path) -> None:
    outline = parallel(oval_outline(Oval(Family.OBROUND, 100.0, 60.0)), 2.0)
    audit = audit_dxf(write_dxf(tmp_path / "a.dxf", [_one(outline, None, 0.0004)]))
    assert audit.rings[0].deviation_mm == pytest.approx(0.0004, abs=2e-9)
    loose = audit_dxf(write_dxf(tmp_path / "a.dxf", [_one(outline, None, 2 * DEVIATION_LIMIT_MM)]))
    assert _has(loose, "strays 0.002000 mm from its exact curve")


def test_a_short_segment_of_the_design_is_a_remark(tmp_path: Path) -> None:
    outline = polygon_outline([[0.0, 0.0], [50.0, 0.0], [50.0, 0.05], [50.0, 40.0], [0.0, 40.0]])
    audit = audit_dxf(write_dxf(tmp_path / "a.dxf", [_one(outline, None)]))
    assert audit.problems == ()
    said = f"layer {SEAT}: the outline along seat outer has a segment of 0.0500 mm, as the design has"
    assert audit.remarks == (said,)
