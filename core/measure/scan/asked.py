"""What is asked of a scan: which edge, where its scale comes from, how it was traced, what is allowed for.

The window's page and the command line ask with the same values, and `core.measure.scan.answer` answers both.
"""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING, Final

from msgspec import Struct

from core.measure.scan.sizes.allowances import START, Allowances

if TYPE_CHECKING:
    from core.geometry.lines.outline import Point
    from core.geometry.ovals.ovals import Family
    from core.measure.scan.picture.looked import Looked
    from core.measure.scan.picture.scale import Excess, Rule
    from core.measure.scan.results import Aslant, Edge, Picture, Scale, ScanFit
    from core.part.readings import SizeName


class How(StrEnum):
    """Where the scale comes from."""

    DPI = "dpi"
    POINTS = "points"
    DISC = "disc"
    RECTANGLE = "rectangle"
    CORNERS = "corners"


class Scaling(Struct, frozen=True):
    """All that the scale may come from; only what belongs to ``how`` counts. Lengths in mm, places in pixels.

    Attributes:
        across, down: true distance of the two points picked along X and along Y.
        length, width: of the known rectangle that lies in the picture.
        base, side: lower side and left side, as seen, of the rectangle whose corners are picked.
    """

    how: How = How.DPI
    dpi_across: float | None = None
    dpi_down: float | None = None
    across: float | None = None
    down: float | None = None
    diameter: float | None = None
    length: float | None = None
    width: float | None = None
    base: float | None = None
    side: float | None = None


class Pencil(Struct, frozen=True):
    """How a part was traced with a pencil, where it was.

    Attributes:
        is_traced: whether the edge is that of a pencil's line.
        is_outer: whether the outer side of the line counts, or the inner one.
        diameter: true diameter of the disc that was traced beside it [mm].
    """

    is_traced: bool = False
    is_outer: bool = True
    diameter: float | None = None

    def can_be(self, edge: Edge) -> bool:
        """Whether an edge may be that of the part: of a pencil's line, only one side counts."""
        return not self.is_traced or edge.is_dark_inside == self.is_outer


BY_DPI: Final = Scaling()
OF_THE_PART: Final = Pencil()


class Asked(Struct, frozen=True, eq=False):
    """A question to a picture.

    Attributes:
        picture: that everything lies in.
        edge: to measure; None while none is picked.
        rules: lines of known length that were picked.
        reference: edge of the disc or rectangle that tells the scale.
        corners: of the known rectangle, in any order [pixel].
        traced: edge of the line round the known disc.
        family: to be fitted; None is the one that fits best.
        turned: the scan of the part turned by half a turn.
        allowances: for what the picture can't tell.
    """

    picture: Picture
    edge: Edge | None = None
    scaling: Scaling = BY_DPI
    rules: tuple[Rule, ...] = ()
    reference: Edge | None = None
    corners: tuple[Point, ...] = ()
    pencil: Pencil = OF_THE_PART
    traced: Edge | None = None
    family: Family | None = None
    turned: Looked | None = None
    allowances: Allowances = START


class Fitted(Struct, frozen=True, eq=False):
    """What came out.

    Attributes:
        fit: of the picture alone, in its millimetres, the pencil's excess taken off.
        result: what is taken: ``fit``, or the mean with the turned scan.
        edge: that was fitted, a point for each of ``fit``'s.
        view: how the picture's pixels become millimetres.
        excess: that was taken off all round for the pencil's line.
        differences: of each size, turned scan less first [mm]; empty without one.
    """

    fit: ScanFit
    result: ScanFit
    edge: Edge
    view: Scale | Aslant
    excess: Excess | None = None
    differences: tuple[tuple[SizeName, float], ...] = ()
