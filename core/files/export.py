"""Writing a result out: a DXF for each piece, a list of what is in them, the report and the pictures.

Everything is first written into a folder of its own beside the target, read back and compared with the design; only
when nothing is wrong do the files take their places. So a file under its own name is always a checked one.
"""

from __future__ import annotations

import errno
import os
import unicodedata
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from shutil import copymode
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, Final

from core.errors import FileError
from core.files.atomic import file_error, write_atomically
from core.files.dxf_audit import DEVIATION_LIMIT_MM, Audit, audit_dxf
from core.files.dxf_write import CHECK_LAYER, OLD_SUFFIX, DxfVersion, SizeKind, write_dxf
from core.files.picture import fit_picture_svg
from core.files.report import CAUTIONS, headline, heights, report_markdown
from core.files.rings import rings
from core.lengths import show_length
from core.project import Mode
from core.remedies import remedied

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from core.evaluate import Result
    from core.lengths import Style

_MOST_NAMED: Final = 8


@dataclass(frozen=True, slots=True)
class ExportedRing:
    """One ring as it stands in one written file.

    Attributes:
        file: the file's name.
        kind: of ring, as ``seat outer``.
        spans: heights from the outer face that it goes through [mm].
        deviation_mm: worst distance from the exact curve, or an upper bound of it; see ``core.files.dxf_audit``.
        is_cut: False for an old outline.
    """

    file: str
    layer: str
    piece: str
    feature: str
    kind: str
    spans: tuple[tuple[float, float], ...]
    area_mm2: float
    length_mm: float
    deviation_mm: float
    is_cut: bool


@dataclass(frozen=True, slots=True)
class ExportReport:
    """What was written.

    Attributes:
        folder: where.
        files: names of all files, those to cut first.
        size_kind: which size the outlines have.
        rings: in the files, in their order.
        remarks: what is in order but worth knowing.
    """

    folder: Path
    files: tuple[str, ...]
    size_kind: SizeKind
    rings: tuple[ExportedRing, ...]
    remarks: tuple[str, ...]

    @property
    def worst_mm(self) -> float:
        """The worst deviation of all rings [mm]."""
        return max((ring.deviation_mm for ring in self.rings), default=0.0)

    def to_builtins(self) -> list[dict[str, str | float]]:
        """One object a ring, for JSON: file, layer, piece, feature, area_mm2, length_mm, deviation_mm."""
        return [
            {
                "file": ring.file,
                "layer": ring.layer,
                "piece": ring.piece,
                "feature": ring.feature,
                "area_mm2": ring.area_mm2,
                "length_mm": ring.length_mm,
                "deviation_mm": ring.deviation_mm,
            }
            for ring in self.rings
        ]


def export(
    result: Result,
    folder: Path,
    *,
    versions: Sequence[DxfVersion] = (DxfVersion.R2010,),
    with_old: bool = False,
    tick: Callable[[float], None] = lambda _: None,
) -> ExportReport:
    """Write the housing after resizing: ``NAME-base.dxf``, ``NAME-lid.dxf``, list, report and pictures.

    A result with no-go checks or conflicts is written as well; list, report and pictures say so in capitals.

    Args:
        result: what to write.
        folder: that is there already; files of the same names are replaced.
        versions: of DXF; those that are not R2010 have the version in their names.
        with_old: put the outlines as built beside the new ones, on layers of their own.
        tick: told how much is done, 0 to 1; what it raises calls the export off and leaves the folder as it was.

    Raises:
        FileError: a file can't be written, or did not read back as designed; nothing has been replaced.
        ValueError: no version is asked for.
    """
    if not versions:
        raise ValueError("an export needs a version")
    result = remedied(result, lambda _part: tick(0.0))
    size_kind = SizeKind.REWORK if result.project.choices.mode is Mode.REWORK else SizeKind.FINISHED
    stem = file_stem(result.project.name)
    try:
        scratch = TemporaryDirectory(prefix=".unfinished-", dir=folder, ignore_cleanup_errors=True)
    except OSError as error:
        raise file_error(folder, error, action="written to") from error
    with scratch as name:
        room = _Room(Path(name), folder)
        audits = _write_pieces(
            result, room, stem, list(dict.fromkeys(versions)), size_kind, with_old=with_old, tick=tick
        )
        names = [audit.path.name for audit in audits]
        ends = result.after.housing.ends
        texts = [f"{stem}.txt", f"{stem}.md", *(f"{stem}-{end}.svg" for end in ends)]
        report = ExportReport(folder, (*names, *texts), size_kind, _exported(audits), _remarks(audits))
        room.write(texts[0], listing(result, report, audits))
        room.write(texts[1], report_markdown(result, report))
        for end, file in zip(ends, texts[2:], strict=True):
            room.write(file, fit_picture_svg(result, end))
        tick(0.95)
        room.publish(report.files)
    tick(1.0)
    return report


def file_stem(name: str) -> str:
    """The beginning of the files' names: ASCII letters, digits and hyphens, whatever the project is called."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    words = "".join(c if c.isalnum() else " " for c in plain).split()
    return "-".join(words) or "housing"


def _write_pieces(
    result: Result,
    room: _Room,
    stem: str,
    versions: Sequence[DxfVersion],
    size_kind: SizeKind,
    *,
    with_old: bool,
    tick: Callable[[float], None],
) -> list[Audit]:
    """Write and audit a file for each version and piece.

    Raises:
        FileError: a file can't be written, or something is wrong with it.
    """
    ends = result.after.housing.ends
    audits: list[Audit] = []
    for version in versions:
        for end in ends:
            tick(0.9 * len(audits) / (len(versions) * len(ends)))
            file = f"{stem}-{end}.dxf" if version is DxfVersion.R2010 else f"{stem}-{end}-{version.lower()}.dxf"
            new = rings(result.after, end)
            if not new:
                raise FileError(file, f"the {end} has no metal to write", hint="Make its wall or floor thicker first.")
            old = rings(result.before, end) if with_old else ()
            title = f"{result.project.name}: {end}"
            with room.naming(file):
                written = write_dxf(
                    room.scratch / file, new, version=version, old=old, size_kind=size_kind, title=title
                )
            audit = audit_dxf(written)
            if audit.problems:
                raise _rejected(folder=room.target, file=file, problems=audit.problems)
            audits.append(audit)
    return audits


def _rejected(folder: Path, file: str, problems: Sequence[str]) -> FileError:
    more = len(problems) - _MOST_NAMED
    named = "; ".join(problems[:_MOST_NAMED]) + (f"; and {more} more" if more > 0 else "")
    return FileError(
        str(folder / file),
        f"was written but did not read back as designed, so nothing was replaced: {named}",
        hint="Change a size by a hair and write again; if it stays, tell us which project it is.",
    )


def _exported(audits: Sequence[Audit]) -> tuple[ExportedRing, ...]:
    return tuple(
        ExportedRing(
            audit.path.name,
            one.ring.layer,
            one.ring.piece.value,
            one.ring.feature,
            one.ring.kind,
            one.ring.spans,
            one.area_mm2,
            one.length_mm,
            one.deviation_mm,
            not one.ring.layer.endswith(OLD_SUFFIX),
        )
        for audit in audits
        for one in audit.rings
    )


def _remarks(audits: Sequence[Audit]) -> tuple[str, ...]:
    return tuple(f"{audit.path.name}: {remark}" for audit in audits for remark in audit.remarks)


def listing(result: Result, report: ExportReport, audits: Sequence[Audit]) -> str:
    """The text file that lies beside the drawings: what each layer is, how deep, which size, how exact."""
    style = result.project.style
    lines = [result.project.name, "", *(line.replace("**", "") for line in headline(result))]
    lines += [
        f"Size: {report.size_kind.words}.",
        "Unit in the drawings: millimetre, scale 1:1.",
        f"Layer {CHECK_LAYER} is a square of 100 mm to check the size by.",
        f"It is not cut, nor are layers that end in {OLD_SUFFIX}.",
        "Heights count from the piece's outer face; what is raised on it has heights below 0.",
        "Both pieces are drawn as seen from the base's joint side.",
        f"Every file was read back and compared: a ring may be off by {DEVIATION_LIMIT_MM * 1000.0:g} µm.",
        *_radius_lines(result, style),
        "",
    ]
    for audit in audits:
        lines += [audit.path.name, *_file_lines(audit, report, style), ""]
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
            *([f"{show_length(corner, style)} in the corners of the seat floor"] if corner > 0.0 else []),
            *([f"{show_length(edge, style)} on the edges of the outside"] if edge > 0.0 else []),
        ]
        if radii:
            yield f"Radii of the {end}, in no outline: {', '.join(radii)}."


def _file_lines(audit: Audit, report: ExportReport, style: Style) -> list[str]:
    assert audit.bounds is not None
    x0, y0, x1, y1 = audit.bounds
    rows = [("layer", "along", "heights", "size", "off by at most")]
    rows += [
        (
            ring.layer,
            ring.feature if ring.feature.startswith(ring.kind) else f"{ring.kind}: {ring.feature}",
            heights(ring.spans, style),
            report.size_kind.value if ring.is_cut else "as built",
            f"{ring.deviation_mm * 1000.0:.3f} µm",
        )
        for ring in report.rings
        if ring.file == audit.path.name
    ]
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))]
    return [
        f"  {show_length(x1 - x0, style)} by {show_length(y1 - y0, style)} over everything that is cut",
        *(
            "  " + "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
            for row in rows
        ),
    ]


@dataclass(frozen=True, slots=True)
class _Room:
    """Where files wait until all of them are right, and where they go then."""

    scratch: Path
    target: Path

    @contextmanager
    def naming(self, file: str) -> Iterator[None]:
        """Errors name the file where the user will look for it, not where it waits."""
        try:
            yield
        except FileError as error:
            raise FileError(str(self.target / file), error.what, hint=error.hint) from error

    def write(self, file: str, text: str) -> None:
        """Write a text, to be published later."""
        with self.naming(file):
            write_atomically(self.scratch / file, text.encode(), keep_previous=False)

    def publish(self, files: Sequence[str]) -> None:
        """Give the files their places; refused before the first one moves if one of them can't have its place.

        Raises:
            FileError: a place is taken by a folder or a protected file, or the system refuses.
        """
        places = {file: (self.target / file).resolve() for file in files}  # a link keeps pointing to its file
        for file, place in places.items():
            if place.is_dir():
                raise file_error(self.target / file, OSError(errno.EISDIR, ""), action="written")
            # A rename asks only for the folder's permission, so a file that its owner protected would be replaced.
            if place.exists() and not os.access(place, os.W_OK):
                raise file_error(self.target / file, OSError(errno.EACCES, ""), action="written")
        for file, place in places.items():
            try:
                if place.exists():
                    copymode(place, self.scratch / file)
                (self.scratch / file).replace(place)
            except OSError as error:
                raise file_error(self.target / file, error, action="written") from error
