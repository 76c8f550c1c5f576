"""The commands that need no window: check, export, and the demo where there is no display."""

from __future__ import annotations

from pathlib import Path
from tempfile import mkdtemp
from typing import TYPE_CHECKING

from app.cli.console import complain, say, say_json
from core.edits import parse_assignment, read_as, set_text
from core.evaluate import evaluate
from core.files.outlines.dxf_write import DxfVersion
from core.files.outlines.export import WouldReplaceError
from core.files.outlines.export import export as write_export
from core.files.project.file import load_project
from core.files.report.summary import as_builtins, as_text
from core.remedies import remedied
from core.words.errors import FileError, UserError, file_error
from core.words.verdicts import Verdict, counted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from core.evaluate import Result
    from core.files.outlines.exported import ExportReport
    from core.part.project import Project


def check(file: Path, assignments: Sequence[str], *, as_json: bool) -> int:
    """Print changes, conflicts and verdicts of a project; returns the exit status."""
    result = _result(file, assignments)
    if as_json:
        say_json(as_builtins(result))
    else:
        say(as_text(result))
    return _status(result)


def export(
    file: Path, folder: Path, assignments: Sequence[str], *, r12: bool, with_old: bool, replace: bool, as_json: bool
) -> int:
    """Write a project's outlines, read them back, and print what was written; returns the exit status."""
    result = _result(file, assignments)
    report = _export(result, folder, r12=r12, with_old=with_old, replace=replace)
    if as_json:
        written = {
            "project": result.project.name,
            "overall": str(result.overall),
            "folder": str(report.folder),
            "files": list(report.files),
            "size": str(report.size_kind),
            "print": report.to_print,
            "rings": [ring.to_builtins() for ring in report.rings],
            "remarks": list(report.remarks),
        }
        say_json(written)
    else:
        say(_written_words(result, report, folder))
    return _status(result)


def demo_without_window(project: Project, name: str) -> int:
    """Do the demo's whole job into a folder, and say where; returns the exit status."""
    result = remedied(evaluate(project))
    try:
        folder = _new(_here() / "seatwright-demo" / name)
        report = _export(result, folder, r12=True)
    except FileError as error:
        fallback = Path(mkdtemp(prefix="seatwright-demo-"))
        complain((str(error), f"writing to {fallback} instead"))
        folder = fallback
        report = _export(result, folder, r12=True)
    say(as_text(result))
    say("")
    say(_written_words(result, report, folder))
    # A demo that shows a no-go has still done its job.
    return 0


def _result(file: Path, assignments: Sequence[str]) -> Result:
    """The result of a file's project with values changed; what fails says what bare lengths were read as."""
    project, notes = load_project(file), []
    try:
        for assignment in assignments:
            path, value = parse_assignment(assignment)
            if note := read_as(project, path, value):
                notes.append(f"{path}: {note}.")
            project = set_text(project, path, value)
        return remedied(evaluate(project))
    except UserError as error:
        for note in notes:
            error.add_note(note)
        raise


def _here() -> Path:
    """The folder that the program stands in.

    Raises:
        FileError: it was deleted.
    """
    try:
        return Path.cwd()
    except OSError as error:
        raise file_error(Path("the working folder"), error, action="written to") from error


def _new(folder: Path) -> Path:
    """A folder of that name that is not there yet."""
    names = (folder, *(folder.with_name(f"{folder.name}-{n}") for n in range(2, 1000)))
    return next((path for path in names if not path.exists()), folder)


def _export(result: Result, folder: Path, *, r12: bool, with_old: bool = False, replace: bool = False) -> ExportReport:
    versions = (DxfVersion.R2010, DxfVersion.R12) if r12 else (DxfVersion.R2010,)
    try:
        return write_export(result, folder, versions=versions, with_old=with_old, replace=replace)
    except WouldReplaceError as error:
        error.hint = "Choose another folder, or say --replace."
        raise


def _written_words(result: Result, report: ExportReport, folder: Path) -> str:
    lines = [f"Verdict: {result.overall}", f"Written to {folder}:"]
    lines += [f"  {name}" for name in report.files]
    worst = report.worst_mm * 1000.0
    lines.append(f"Read back and compared: {counted(len(report.rings), 'outline')}, worst deviation {worst:.2f} µm.")
    lines.append(f"Print {report.to_print} 1:1 and lay the real insert on it before you cut.")
    lines += report.remarks
    return "\n".join(lines)


def _status(result: Result) -> int:
    return 1 if result.overall is Verdict.NO_GO or result.conflicts else 0
