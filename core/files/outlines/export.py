"""Writing a result out: DXF files of each piece, a list of what is in them, the report and the pictures.

Everything is first written into a folder of its own beside the target, read back and compared with the design; only
when nothing is wrong do the files take their places. So a file under its own name is always a checked one.
"""

from __future__ import annotations

import unicodedata
from contextlib import contextmanager
from typing import TYPE_CHECKING, Final

from core.files.atomic import write_atomically
from core.files.outlines.contents import FileKind, as_planned, contents
from core.files.outlines.dxf_audit import Audit, audit_dxf
from core.files.outlines.dxf_write import OLD_SUFFIX, DxfVersion, SizeKind, write_dxf
from core.files.outlines.exported import ExportedRing, ExportReport, PlannedFile
from core.files.outlines.instructions import instructions
from core.files.outlines.listing import listing
from core.files.publish import Room, finish
from core.files.report.picture import fit_picture_svg
from core.files.report.report import report_markdown
from core.part.project import Mode
from core.remedies import remedied
from core.words.errors import FileError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from pathlib import Path

    from core.evaluate import Result

_MOST_NAMED: Final = 8
_ENDINGS: Final = {FileKind.PATTERN: "", FileKind.DRILLING: "-drill", FileKind.REWORK: "-rework"}
_OF_VERSION: Final = {DxfVersion.R2010: "", DxfVersion.R12: "-r12"}


class WouldReplaceError(FileError):
    """Files are there already, and nobody has said that they may be replaced.

    Attributes:
        files: their names.
    """

    def __init__(self, folder: Path, files: Sequence[str]) -> None:
        self.files = tuple(files)
        more = f" and {len(files) - _MOST_NAMED} more" if len(files) > _MOST_NAMED else ""
        what = f"{', '.join(files[:_MOST_NAMED])}{more} {'are' if len(files) > 1 else 'is'} there already"
        super().__init__(str(folder), what, hint="Choose another folder, or say that they may be replaced.")


def export(
    result: Result,
    folder: Path,
    *,
    versions: Sequence[DxfVersion] = (DxfVersion.R2010,),
    with_old: bool = False,
    replace: bool = False,
    tick: Callable[[float], None] = lambda _: None,
) -> ExportReport:
    """Write the housing after resizing: a drawing a piece, the holes to drill, list, report and pictures.

    A result with no-go checks or conflicts is written as well; list, report and pictures say so in capitals.

    Args:
        result: what to write.
        folder: made when it is not there.
        versions: of DXF; those that are not R2010 have the version in their names.
        with_old: put the outlines as built beside the new ones, on layers of their own.
        replace: whether files of the same names may be replaced.
        tick: told how much is done, 0 to 1; what it raises calls the export off and leaves the folder as it was.

    Raises:
        WouldReplaceError: files of these names are there, and may not be replaced.
        FileError: a file can't be written, or did not read back as designed; nothing has been replaced.
        ValueError: no version is asked for.
    """
    if not versions:
        raise ValueError("an export needs a version")
    result = remedied(result, lambda _part: tick(0.0))
    plans = _plans(result, list(dict.fromkeys(versions)), with_old=with_old)
    ends, stem = result.after.housing.ends, file_stem(result.project.name)
    texts = [f"{stem}.txt", f"{stem}.md", *(f"{stem}-{end}.svg" for end in ends)]
    files = (*(plan.file for plan in plans), *texts)
    there = [file for file in files if (folder / file).exists()]
    if there and not replace:
        raise WouldReplaceError(folder, there)
    finished = finish(folder)
    with Room(folder) as room:
        audits = _write_pieces(result, room, plans, tick)
        size_kind = SizeKind.REWORK if result.project.choices.mode is Mode.REWORK else SizeKind.FINISHED
        report = ExportReport(folder, files, size_kind, _exported(result, plans, audits), _remarks(audits, finished))
        _write(room, texts[0], listing(result, report, plans, audits))
        _write(room, texts[1], report_markdown(result, report))
        for end, file in zip(ends, texts[2:], strict=True):
            _write(room, file, fit_picture_svg(result, end))
        tick(0.95)
        room.publish(report.files)
    tick(1.0)
    return report


def file_stem(name: str) -> str:
    """The beginning of the files' names: ASCII letters, digits and hyphens, whatever the project is called."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    words = "".join(c if c.isalnum() else " " for c in plain).split()
    return "-".join(words) or "housing"


def _plans(result: Result, versions: Sequence[DxfVersion], *, with_old: bool) -> list[PlannedFile]:
    """The drawings of a result, those to cut first.

    Raises:
        FileError: there is nothing to write.
    """
    stem, found = file_stem(result.project.name), contents(result, with_old=with_old)
    for one in found:
        if not one.rings:
            where = f"{stem}-{one.end}.dxf"
            raise FileError(
                where, f"the {one.end} has no metal to write", hint="Make what takes it away smaller first."
            )
    if not found:
        raise FileError(
            f"{stem}.dxf",
            "the castings fit as they are, so there is nothing to machine",
            hint="Choose a new pattern, or other gaps.",
        )
    return [
        PlannedFile(f"{stem}-{one.end}{_ENDINGS[one.kind]}{_OF_VERSION[version]}.dxf", version, one)
        for version in versions
        for one in found
    ]


def _write_pieces(
    result: Result, room: Room, plans: Sequence[PlannedFile], tick: Callable[[float], None]
) -> list[Audit]:
    """Write and audit each drawing.

    Raises:
        FileError: a file can't be written, or something is wrong with it.
    """
    audits: list[Audit] = []
    for plan in plans:
        tick(0.9 * len(audits) / len(plans))
        with _naming(room, plan.file):
            written = write_dxf(
                room.scratch / plan.file,
                plan.contents.rings,
                version=plan.version,
                old=plan.contents.old,
                size_kind=plan.size_kind,
                title=f"{result.project.name}: {plan.contents.end}",
                notes=(plan.hand,),
            )
        audit = audit_dxf(written)
        if audit.problems:
            raise _rejected(folder=room.target, file=plan.file, problems=audit.problems)
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


def _exported(result: Result, plans: Sequence[PlannedFile], audits: Sequence[Audit]) -> tuple[ExportedRing, ...]:
    found: list[ExportedRing] = []
    for plan, audit in zip(plans, audits, strict=True):
        piece = result.after.piece(plan.contents.end)
        assert piece is not None
        cut = [one.ring for one in audit.rings if not one.ring.layer.endswith(OLD_SUFFIX)]
        told = dict(zip(cut, instructions([*map(as_planned, cut)], piece, plan.contents.kind), strict=True))
        for one in audit.rings:
            ring = one.ring
            found.append(
                ExportedRing(
                    plan.file,
                    ring.layer,
                    ring.piece.value,
                    ring.feature,
                    ring.kind,
                    ring.spans,
                    one.area_mm2,
                    one.length_mm,
                    one.deviation_mm,
                    plan.size_kind,
                    told.get(ring),
                )
            )
    return tuple(found)


def _remarks(audits: Sequence[Audit], finished: str) -> tuple[str, ...]:
    first = (finished,) if finished else ()
    return first + tuple(f"{audit.path.name}: {remark}" for audit in audits for remark in audit.remarks)


@contextmanager
def _naming(room: Room, file: str) -> Iterator[None]:
    """Errors name the file where the user will look for it, not where it waits."""
    try:
        yield
    except FileError as error:
        raise FileError(str(room.target / file), error.what, hint=error.hint) from error


def _write(room: Room, file: str, text: str) -> None:
    """Write a text, to be published later."""
    with _naming(room, file):
        write_atomically(room.scratch / file, text.encode(), keep_previous=False)
