"""``seatwright scan``: what the scan's page does, without a window."""

from __future__ import annotations

import re
from math import isfinite
from typing import TYPE_CHECKING

from app.cli.console import say, say_json
from app.cli.given import length_of
from app.cli.scan_options import SIZES
from app.cli.scan_report import as_builtins, as_lines
from core.files.project.file import load_project, save_project
from core.geometry.ovals.ovals import Family
from core.measure.scan.answer import answer, missing
from core.measure.scan.asked import Asked, How, Pencil, Scaling
from core.measure.scan.choose import numbered, part_edge, reference_edge, traced_edge
from core.measure.scan.picture.corners import corners_of, edge_with_corners, found_corners
from core.measure.scan.picture.edges import find_edges
from core.measure.scan.picture.looked import look
from core.measure.scan.picture.scale import Rule, from_disc, from_plate
from core.measure.scan.results import ScanError
from core.measure.scan.sizes.allowances import START, Allowances
from core.measure.scan.taken import taken
from core.part.readings import SizeName
from core.words.errors import FileError
from core.words.verdicts import counted

if TYPE_CHECKING:
    import argparse
    from collections.abc import Sequence

    from core.geometry.lines.outline import Point
    from core.measure.scan.asked import Fitted
    from core.measure.scan.results import Edge, Picture, Scale


def scan(options: argparse.Namespace) -> int:
    """Measure a picture, print the sizes, and put them into a project where that is asked; returns the exit status.

    Raises:
        UserError: the picture can't be read, or what was given makes no sizes.
    """
    only = _sizes(options.sizes)
    asked, numbers = _asked(options)
    lacks = missing(asked)
    if lacks:
        raise ScanError("scale", lacks.rstrip("."), hint="See seatwright scan --help.")
    found = answer(asked)
    for _, error in found.refused:
        raise error
    if found.fitted is None:
        raise ScanError("pencil", "how far the line runs outside the part is not known", hint="Give --traced-disc.")
    if options.project is not None:
        _take(options, found.fitted, asked.picture.name, only)
    if options.json:
        say_json(as_builtins(asked, found.fitted, numbers, only))
    else:
        say("\n".join(as_lines(asked, found.fitted, numbers, only)))
    return 0


def _asked(options: argparse.Namespace) -> tuple[Asked, dict[str, int]]:
    """The question, and by name the indices of the edges that it is about."""
    looked = look(options.file)
    edges = looked.edges
    if not edges or options.level is not None:
        edges = find_edges(looked.picture, options.level)
    pencil = Pencil(
        is_traced=options.pencil is not None,
        is_outer=options.pencil != "inner",
        diameter=None if options.traced_disc is None else length_of("--traced-disc", options.traced_disc),
    )
    part = None if options.edge is None else numbered(edges, options.edge, "--edge")
    numbers: dict[str, int] = {}
    scaling, corners = _scaling(options, looked.picture, edges, part, numbers)
    if options.traced is not None:
        numbers["disc's line"] = numbered(edges, options.traced, "--traced")
    numbers["edge"] = part_edge(edges, list(numbers.values()), pencil) if part is None else part
    if pencil.is_traced and "disc's line" not in numbers:
        numbers["disc's line"] = traced_edge(edges, numbers["edge"], pencil)
    turned = None
    if options.turned is not None:
        turned = look(options.turned, like=edges[numbers["edge"]])
    asked = Asked(
        looked.picture,
        edges[numbers["edge"]],
        scaling,
        tuple(_rule(text) for text in options.rule),
        edges[numbers["reference"]] if "reference" in numbers else None,
        corners,
        pencil,
        edges[numbers["disc's line"]] if "disc's line" in numbers else None,
        None if options.family is None else Family[options.family.upper()],
        turned,
        _allowances(options),
    )
    return asked, numbers


def _scaling(
    options: argparse.Namespace, picture: Picture, edges: Sequence[Edge], part: int | None, numbers: dict[str, int]
) -> tuple[Scaling, tuple[Point, ...]]:
    """Where the scale comes from, and the corners of a known rectangle; notes the reference's edge."""
    given = [name for name in ("dpi", "rule", "disc", "plate", "sheet") if getattr(options, name) not in (None, [])]
    if len(given) > 1:
        listed = " and ".join(f"--{name}" for name in given)
        raise ScanError("scale", f"{listed} can't both give it", hint="Leave all but one of them out.")
    if options.corners is not None and options.sheet is None:
        raise ScanError("--corners", "the sides of the rectangle are missing", hint="Give --sheet as well.")
    if options.rule:
        return Scaling(How.POINTS), ()
    if options.sheet is not None:
        return _by_corners(options, edges, numbers)
    if options.disc is not None or options.plate is not None:
        return _by_reference(options, picture, edges, part, numbers), ()
    if options.dpi is not None:
        across, *down = _figures("--dpi", options.dpi, (1, 2))
        return Scaling(How.DPI, across, down[0] if down else None), ()
    if picture.dpi is None:
        raise ScanError(
            picture.name, "says nothing of its resolution", hint="Give --dpi, --rule, --disc, --plate or --sheet."
        )
    return Scaling(How.DPI, *picture.dpi), ()


def _by_corners(
    options: argparse.Namespace, edges: Sequence[Edge], numbers: dict[str, int]
) -> tuple[Scaling, tuple[Point, ...]]:
    base, side = _pair("--sheet", options.sheet)
    if options.corners is not None:
        corners = _corners(options.corners)
        if (sheet := edge_with_corners(edges, corners)) is not None:
            numbers["reference"] = sheet  # the part's edge is another one
        return Scaling(How.CORNERS, base=base, side=side), corners
    if options.reference is None:
        numbers["reference"], corners = found_corners(edges)
    else:
        numbers["reference"] = numbered(edges, options.reference, "--reference")
        corners = corners_of(edges[numbers["reference"]])
    return Scaling(How.CORNERS, base=base, side=side), corners


def _by_reference(
    options: argparse.Namespace, picture: Picture, edges: Sequence[Edge], part: int | None, numbers: dict[str, int]
) -> Scaling:
    if options.disc is not None:
        diameter = length_of("--disc", options.disc)
        scaling = Scaling(How.DISC, diameter=diameter)

        def scale(edge: Edge) -> Scale:
            return from_disc(edge, diameter)
    else:
        length, width = _pair("--plate", options.plate)
        scaling = Scaling(How.RECTANGLE, length=length, width=width)

        def scale(edge: Edge) -> Scale:
            return from_plate(edge, length, width)

    if options.reference is not None:
        numbers["reference"] = numbered(edges, options.reference, "--reference")
    else:
        numbers["reference"] = reference_edge(picture, edges, part, scale, "plate" if options.disc is None else "disc")
    return scaling


def _allowances(options: argparse.Namespace) -> Allowances:
    def given(option: str, start: float) -> float:
        text = getattr(options, option)
        return start if text is None else length_of(f"--{option.replace('_', '-')}", text, least=0.0)

    return Allowances(
        given("shadow", START.shadow),
        given("off_plane", START.off_plane),
        given("lens_away", START.lens),
        given("pencil_within", START.pencil),
    )


def _take(options: argparse.Namespace, fitted: Fitted, picture: str, only: frozenset[SizeName] | None) -> None:
    if options.to is None:
        raise FileError("--to", "the file to write is missing", hint="Name a project file that is not there yet.")
    if options.to.exists():
        raise FileError(str(options.to), "is there already, and is not overwritten", hint="Give --to another name.")
    project = load_project(options.project)
    save_project(taken(project, f"{options.use_for}_insert", fitted, picture, only), options.to)


# What is typed


def _sizes(text: str | None) -> frozenset[SizeName] | None:
    if text is None:
        return None
    names = [name.strip().replace(" ", "_") for name in text.split(",") if name.strip()]
    for name in names or [text]:
        if name not in SIZES:
            raise ScanError("--sizes", f"“{name}” is no size of an oval", hint=f"Choose from {', '.join(SIZES)}.")
    return frozenset(SizeName(name) for name in names)


def _pair(option: str, text: str) -> tuple[float, float]:
    parts = re.split(r"\s*[x×X]\s*", text.strip())
    if len(parts) != 2:
        raise ScanError(option, f"“{text}” is not two lengths", hint="Write them as 80x50.")
    one, other = (length_of(option, part) for part in parts)
    return one, other


def _figures(option: str, text: str, counts: tuple[int, ...]) -> list[float]:
    try:
        values = [float(part) for part in text.split(",")]
    except ValueError:
        raise ScanError(option, f"“{text}” are no figures parted by commas", hint="Write them as 300,150.") from None
    if len(values) not in counts or not all(isfinite(value) for value in values):
        wanted = " or ".join(str(count) for count in counts)
        raise ScanError(option, f"“{text}” has {counted(len(values), 'figure')}; {wanted} are wanted")
    if option == "--dpi" and min(values) <= 0.0:
        raise ScanError(option, f"“{text}” must be more than 0")
    return values


def _rule(text: str) -> Rule:
    places, equals, length = text.partition("=")
    if not equals:
        raise ScanError("--rule", f"“{text}” gives no length", hint="Write it as 100,80,1900,80=150.")
    x, y, u, v = _figures("--rule", places, (4,))
    return Rule((x, y), (u, v), length_of("--rule", length))


def _corners(text: str) -> tuple[Point, ...]:
    p = _figures("--corners", text, (8,))
    return tuple((p[i], p[i + 1]) for i in range(0, 8, 2))
