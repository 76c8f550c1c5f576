"""``seatwright``: the window, or one command without it."""

from __future__ import annotations

import sys
from argparse import RawDescriptionHelpFormatter
from difflib import get_close_matches
from pathlib import Path
from typing import TYPE_CHECKING

from app.cli import console
from app.cli.display import why_no_window
from app.cli.given import Parser, length_of, path
from app.cli.scan_options import EPILOG as SCAN_EPILOG
from app.cli.scan_options import add_options
from core.words.errors import FileError, UserError, file_error
from core.words.lengths import Style, shower

if TYPE_CHECKING:
    import argparse
    from collections.abc import Sequence

EXIT_OK, EXIT_NO_GO, EXIT_FAILED = 0, 1, 2

_EPILOG = """\
PATH is the project file's own path, as new_insert.length or housing.lid.features[0].width;
VALUE is any length form: 219.2, 219.2 mm, 8 5/8", 9 3/16 + 1/8.
exit status: 0 go or marginal, 1 no-go or a conflict, 2 the input or the writing failed
"""
_COMMANDS = ("demo", "check", "export", "outline", "scan", "study", "compare")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line; returns the exit status."""
    console.prepare()
    try:
        return _ended(list(sys.argv[1:] if arguments is None else arguments))
    except UserError as error:
        console.complain((error.message(shower(Style.MM)), *getattr(error, "__notes__", ())))
    except KeyboardInterrupt:
        console.complain(("stopped",))
    except Exception as error:  # noqa: BLE001 - Python's own status for it, 1, would read as a no-go
        console.complain((_fault_words(error),))
    return EXIT_FAILED


def _ended(given: list[str]) -> int:
    """The exit status, once all that was said has come out."""
    try:
        try:
            return _run(given)
        finally:
            console.finish()
    except OSError as error:
        if error.filename is None:  # the files that we read and write name themselves
            raise console.refused(error) from error
        raise file_error(Path(str(error.filename)), error, action="read or written") from error


def _fault_words(error: Exception) -> str:
    """What is said of a fault of the program, with its place in one line."""
    import traceback  # noqa: PLC0415 - as below

    places = traceback.extract_tb(error.__traceback__)
    at = f" ({Path(places[-1].filename).name}, line {places[-1].lineno})" if places else ""
    return f"a fault in the program itself: {type(error).__name__}: {error}{at}. Please tell its makers what you did."


def _run(given: list[str]) -> int:
    if given and given[0] in _COMMANDS:
        options = _parser().parse_args(given)
    else:
        options = _window_parser().parse_args(given)
        options.command = "window"
        _refuse_unknown_command(options.file)
    if options.command == "window":
        return _window(options.file)
    console.check_output()
    if options.command in ("outline", "study", "compare"):
        return _measure(options)
    if options.command == "scan":
        from app.cli import scan  # noqa: PLC0415 - as below

        return scan.scan(options)
    # Deferred: the window's start must not wait for what only the commands need.
    from app.cli import project as on_project  # noqa: PLC0415

    if options.command == "check":
        return on_project.check(options.file, options.set, as_json=options.json)
    if options.command == "export":
        return on_project.export(
            options.file,
            options.to,
            options.set,
            r12=options.r12,
            with_old=options.old,
            replace=options.replace,
            as_json=options.json,
        )
    return _demo(options.name)


def _refuse_unknown_command(file: Path | None) -> None:
    """A word that is no file is a mistyped command, and opens no window.

    Raises:
        FileError: it is one.
    """
    if file is None or file.exists() or file.suffix or file.parent != Path():
        return
    close = get_close_matches(file.name, _COMMANDS, 1)
    meant = f"Did you mean {close[0]}?" if close else f"The commands are {', '.join(_COMMANDS)}."
    raise FileError(file.name, "there is no such command, and no such file", hint=meant)


def _measure(options: argparse.Namespace) -> int:
    from app.cli import measure  # noqa: PLC0415 - as above
    from core.files.project.file import load_project  # noqa: PLC0415

    if options.command == "outline":
        join, tolerance = length_of("--join", options.join, least=0.0), length_of("--within", options.within)
        return measure.outline(options.file, unit=options.unit, join=join, tolerance=tolerance, as_json=options.json)
    run = measure.study if options.command == "study" else measure.compare
    return run(load_project(options.file), as_json=options.json)


def _window_parser() -> Parser:
    parser = Parser(
        prog="seatwright",
        description="Resize a cast housing around a new purchased insert: opens the window.",
        epilog=f"commands (seatwright COMMAND --help): {', '.join(_COMMANDS)}\n\n{_EPILOG}",
        formatter_class=RawDescriptionHelpFormatter,
    )
    parser.add_argument("file", nargs="?", type=path, metavar="FILE", help="a project to open")
    return parser


def _parser() -> Parser:
    parser = Parser(prog="seatwright", epilog=_EPILOG, formatter_class=RawDescriptionHelpFormatter)
    commands = parser.add_subparsers(dest="command", required=True)
    demo = commands.add_parser("demo", help="open a demo project; without a display, do its whole job into a folder")
    demo.add_argument("name", nargs="?", metavar="NAME", help="which demo; the first one when left out")
    check = commands.add_parser("check", help="print changes, conflicts and verdicts")
    export = commands.add_parser("export", help="write the outlines to cut, and audit them")
    export.add_argument("--to", required=True, type=path, metavar="FOLDER", help="where the files go")
    export.add_argument("--r12", action="store_true", help="write R12 files beside the R2010 ones")
    export.add_argument("--old", action="store_true", help="add the old outlines on layers of their own")
    export.add_argument("--replace", action="store_true", help="replace files of the same names")
    outline = commands.add_parser("outline", help="print the outlines of an old part's file (DXF, or points in a CSV)")
    outline.add_argument("file", type=path, metavar="FILE", help="an outline file")
    outline.add_argument("--unit", default="", choices=("mm", "cm", "m", "inch", "foot"), help="when it states none")
    outline.add_argument("--join", default="0.01 mm", metavar="LENGTH", help="join ends that are no further apart")
    outline.add_argument("--within", default="0.05 mm", metavar="LENGTH", help="how near an oval has to come")
    scan = commands.add_parser(
        "scan",
        help="print the sizes of a part in a scan or a photograph",
        epilog=SCAN_EPILOG,
        formatter_class=RawDescriptionHelpFormatter,
    )
    add_options(scan)
    study = commands.add_parser("study", help="print what the readings of both inserts say")
    compare = commands.add_parser("compare", help="print the candidates, ranked, with the reasons")
    for command in (study, compare):
        command.add_argument("file", type=path, metavar="FILE", help="a project")
    for command in (outline, study, compare):
        command.add_argument("--json", action="store_true", help="print JSON")
    for command in (check, export):
        command.add_argument("file", type=path, metavar="FILE", help="a project")
        command.add_argument(
            "--set", action="append", default=[], metavar="PATH=VALUE", help="change a value first; may be repeated"
        )
        command.add_argument("--json", action="store_true", help="print JSON")
        command.epilog, command.formatter_class = _EPILOG, RawDescriptionHelpFormatter
    return parser


def _demo(name: str | None) -> int:
    from core.files.project.demos import demo_names, load_demo  # noqa: PLC0415

    chosen = demo_names()[0] if name is None else name
    project = load_demo(chosen)
    reason = why_no_window()
    if reason is None:
        from app.shell.run import run_window  # noqa: PLC0415

        return run_window(project=project)
    from app.cli import project as on_project  # noqa: PLC0415

    console.say(f"{reason}\nThe demo's whole job is done without a window instead.\n")
    return on_project.demo_without_window(project, chosen)


def _window(file: Path | None) -> int:
    reason = why_no_window()
    if reason is not None:
        console.complain((reason, "Without a window: seatwright check FILE, or seatwright export FILE."))
        return EXIT_FAILED
    from app.shell.run import run_window  # noqa: PLC0415

    return run_window(path=file)


if __name__ == "__main__":
    sys.exit(main())
