"""Which edge of a picture is meant, where nobody says: the part, the thing of known size, the traced disc."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from core.measure.scan.results import ScanError

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from core.measure.scan.asked import Pencil
    from core.measure.scan.results import Edge, Picture, Scale

_NEAR_DPI: Final = 0.1  # a reference that makes another scale than the file's DPI, by this part, is another thing


def numbered(edges: Sequence[Edge], number: int, what: str) -> int:
    """Index of the edge with a number from 1, the largest first.

    Raises:
        ScanError: there is none of that number.
    """
    if not 1 <= number <= len(edges):
        has = "there is only one" if len(edges) == 1 else f"there are {len(edges)}"
        raise ScanError(what, f"there is no edge {number}: {has}", hint="They are numbered from the largest, from 1.")
    return number - 1


def part_edge(edges: Sequence[Edge], others: Sequence[int], pencil: Pencil) -> int:
    """The largest edge that can be the part's and is none of the others.

    Raises:
        ScanError: there is none.
    """
    found = next((i for i, edge in enumerate(edges) if i not in others and pencil.can_be(edge)), None)
    if found is None:
        raise ScanError("edge", "no closed edge is left for the part", hint="Say which one it is by its number.")
    return found


def reference_edge(
    picture: Picture, edges: Sequence[Edge], part: int | None, scale: Callable[[Edge], Scale], what: str
) -> int:
    """The one edge that is that of a thing of known size.

    Args:
        picture: whose stated resolution, if any, tells things of the same shape apart.
        edges: found in it, the largest first.
        part: index of the part's edge, where it was said; the largest is taken for it where no resolution helps.
        scale: of an edge; raises ScanError when the edge is not that of the thing.
        what: the thing, for the message.

    Raises:
        ScanError: none is, or several could be.
    """
    apart = part if part is not None or picture.dpi is not None else 0
    found = []
    for i, edge in enumerate(edges):
        if i == apart:
            continue
        try:
            made = scale(edge)
        except ScanError:
            continue
        if picture.dpi is None or abs(made.x * picture.dpi[0] / (25.4 * picture.reduced) - 1.0) < _NEAR_DPI:
            found.append(i)
    if len(found) == 1:
        return found[0]
    if not found:
        raise ScanError(what, f"no edge that was found is that of a {what} of this size", hint="Say which one it is.")
    listed = ", ".join(str(i + 1) for i in found)
    raise ScanError(what, f"several edges could be it: {listed}", hint="Say which one it is by its number.")


def traced_edge(edges: Sequence[Edge], part: int, pencil: Pencil) -> int:
    """The one other edge on the same side of a pencil's line as the part's.

    Raises:
        ScanError: there is none, or there are several.
    """
    found = [i for i, edge in enumerate(edges) if i != part and pencil.can_be(edge)]
    if len(found) == 1:
        return found[0]
    listed = f"several edges could be it: {', '.join(str(i + 1) for i in found)}" if found else "there is no other line"
    raise ScanError("traced disc", listed, hint="Trace one disc beside the part, or say which edge it is.")
