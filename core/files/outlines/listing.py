"""The text file that lies beside the drawings: all that whoever cuts has to know."""

from __future__ import annotations

from typing import TYPE_CHECKING

from core.files.outlines.contents import FileKind
from core.files.outlines.dxf_audit import DEVIATION_LIMIT_MM
from core.files.outlines.dxf_write import CHECK_LAYER
from core.files.outlines.exported import AS_BUILT
from core.files.outlines.instructions import to_cut
from core.files.report.report import CAUTIONS, headline

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from core.evaluate import Result
    from core.files.outlines.dxf_audit import Audit
    from core.files.outlines.exported import ExportReport, PlannedFile
    from core.words.lengths import Style


def listing(result: Result, report: ExportReport, plans: Sequence[PlannedFile], audits: Sequence[Audit]) -> str:
    """The text file that lies beside the drawings: what is done with each outline, how deep, which size, how exact."""
    style = result.project.style
    lines = [result.project.name, "", *(line.replace("**", "") for line in headline(result))]
    lines += [
        "Unit in the drawings: millimetre, scale 1:1.",
        f"Layer {CHECK_LAYER} is a square of 100 mm to check the size by. It is not cut.",
        f"Print {report.to_print} 1:1, measure that square on the paper, and lay the real insert on it before you cut.",
        f"Every file was read back and compared: an outline may be off by {DEVIATION_LIMIT_MM * 1000.0:g} µm.",
        "Where a segment under 0.1 mm was taken out of it, it is off by what is said beside it.",
        *_radius_lines(result, style),
        "",
    ]
    for plan, audit in zip(plans, audits, strict=True):
        lines += [*_file_lines(plan, audit, report, style), ""]
    if report.remarks:
        lines += ["Worth knowing:", *(f"- {remark}" for remark in report.remarks), ""]
    lines += ["Cautions:", *(f"- {caution}" for caution in CAUTIONS)]
    return "\n".join(lines) + "\n"


def _radius_lines(result: Result, style: Style) -> Iterator[str]:
    """The radii that no outline shows: whoever cuts must know them."""
    for end in result.after.housing.ends:
        piece = result.after.housing.piece(end)
        assert piece is not None
        corner, edge = piece.seat.corner_radius, piece.edge_radius
        radii = [
            *([f"{to_cut(corner, style)} in the corners of the seat floor"] if corner > 0.0 else []),
            *([f"{to_cut(edge, style)} on the edges of the outside"] if edge > 0.0 else []),
        ]
        if radii:
            yield f"Radii of the {end}, in no outline: {', '.join(radii)}."


def _file_lines(plan: PlannedFile, audit: Audit, report: ExportReport, style: Style) -> Iterator[str]:
    assert audit.bounds is not None
    x0, y0, x1, y1 = audit.bounds
    yield plan.file
    yield f"  Size: {plan.size_kind.words}."
    yield f"  {plan.hand}."
    if plan.contents.kind is FileKind.REWORK:
        yield "  Only the metal between the old seat and the new one is machined away: the lip and all else stays."
    yield f"  {to_cut(x1 - x0, style)} by {to_cut(y1 - y0, style)} over all outlines."
    alike: dict[tuple[str, str, str], list[float]] = {}
    for ring in report.rings:
        if ring.file == plan.file:
            along = ring.feature if ring.feature.startswith(ring.kind) else f"{ring.kind}: {ring.feature}"
            told = f"NOT CUT: {AS_BUILT}" if ring.told is None else ring.told.words(style)
            alike.setdefault((ring.layer, along, told), []).append(ring.deviation_mm)
    for (layer, along, told), off in alike.items():
        times = f" ×{len(off)}" if len(off) > 1 else ""
        yield f"  {layer}{times} ({along})"
        yield f"      {told}; off by at most {max(off) * 1000.0:.3f} µm"
