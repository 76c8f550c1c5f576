"""The options of ``seatwright scan``; light, for the command line's start loads it whatever is asked."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from app.cli.given import path
from core.geometry.ovals.ovals import Family

if TYPE_CHECKING:
    import argparse

EPILOG: Final = """\
places are in pixels from the upper left corner, X to the right and Y down; edges are numbered from the largest, from 1.
LENGTH is any length form: 24, 24 mm, 15/16"; bare numbers are in mm.
A size is known within half its 95 % interval: of the edge's scatter and of the scale, and on top of that the whole of
what is allowed for. The start values of --shadow, --off-plane, --lens-away and --pencil-within are common practice,
without a source: look at the picture, and give your own.
exit status: 0 measured, 2 the picture or what was given makes no sizes
"""
_FAMILIES: Final = tuple(family.value for family in Family)
SIZES: Final = ("length", "width", "end_radius", "exponent")


def add_options(parser: argparse.ArgumentParser) -> None:
    """Give a parser all that ``scan`` takes."""
    parser.add_argument("file", type=path, metavar="FILE", help="a picture: PNG, JPEG or TIFF")
    scale = parser.add_argument_group("the scale, one of these; the file's own DPI when none is given")
    scale.add_argument("--dpi", metavar="ACROSS[,DOWN]", help="dots per inch, as the scanner was set")
    scale.add_argument(
        "--rule",
        action="append",
        default=[],
        metavar="X,Y,X,Y=LENGTH",
        help="two places of known distance; give it twice, along each axis",
    )
    scale.add_argument("--disc", metavar="DIAMETER", help="a disc of known size lies beside the part")
    scale.add_argument("--plate", metavar="LENGTHxWIDTH", help="a rectangle of known size lies beside the part")
    scale.add_argument(
        "--sheet", metavar="LOWERxLEFT", help="a photograph: lower and left side, as seen, of a known rectangle"
    )
    scale.add_argument("--corners", metavar="X,Y,X,Y,X,Y,X,Y", help="that rectangle's corners; found when left out")
    scale.add_argument("--reference", type=int, metavar="N", help="which edge is the disc, plate or sheet")
    edge = parser.add_argument_group("the edge")
    edge.add_argument("--edge", type=int, metavar="N", help="which edge to measure; the largest when left out")
    edge.add_argument("--level", type=float, metavar="GREY", help="what parts dark from light, 0 to 255")
    edge.add_argument("--pencil", choices=("outer", "inner"), help="it is a pencil's line, and this side of it counts")
    edge.add_argument("--traced-disc", metavar="DIAMETER", help="of the disc traced with the same pencil")
    edge.add_argument("--traced", type=int, metavar="N", help="which edge is that disc's line")
    edge.add_argument("--turned", type=path, metavar="FILE", help="a second scan, the part turned by half a turn")
    shape = parser.add_argument_group("the shape")
    shape.add_argument("--family", choices=_FAMILIES, help="fit this one; the one that fits best when left out")
    shape.add_argument("--sizes", metavar="NAME,NAME", help=f"only these of {', '.join(SIZES)}")
    allowed = parser.add_argument_group("what is allowed for")
    allowed.add_argument("--shadow", metavar="LENGTH", help="width of a shadow along one side, at most")
    allowed.add_argument("--off-plane", metavar="LENGTH", help="how far the edge lies off the scale's plane, at most")
    allowed.add_argument("--lens-away", metavar="LENGTH", help="from the lens to that plane")
    allowed.add_argument("--pencil-within", metavar="LENGTH", help="how alike the pencil was held, at most")
    taking = parser.add_argument_group("using the sizes")
    taking.add_argument("--project", type=path, metavar="FILE", help="a project to take the sizes into")
    taking.add_argument("--use-for", choices=("new", "old"), default="new", help="for the new or the old insert")
    taking.add_argument("--to", type=path, metavar="FILE", help="the project file to write; must not be there yet")
    parser.add_argument("--json", action="store_true", help="print JSON")
