"""Outlines as the text of DXF entities: circles, and closed polylines of lines and arcs with their bulges.

The library that frames the file could write them too, at four times the cost of all else in it; what it would write is
what stands here, tag by tag (a test compares them), and reading back is the library's alone.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from core.geometry.lines.outline import as_circle

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from core.geometry.lines.outline import Outline

# A picometre and less: what binary fractions add to a decimal, and no shop can see.
_DIGITS: Final = 9
_BULGE_DIGITS: Final = 12


def entities_text(outlines: Iterable[tuple[str, Outline]], handle: Callable[[], str], owner: str | None) -> str:
    """The entities of outlines, each once, in their order (DXF reference: CIRCLE, LWPOLYLINE, POLYLINE).

    Args:
        outlines: layer and closed outline [mm].
        handle: gives the next free handle.
        owner: handle of the space that they lie in; None for R12, which knows neither owners nor LWPOLYLINEs.
    """
    return "".join(_entity(layer, outline, handle, owner) for layer, outline in outlines)


def _entity(layer: str, outline: Outline, handle: Callable[[], str], owner: str | None) -> str:
    circle = as_circle(outline)
    if circle is not None:
        (x, y), radius = circle
        place = f" 10\n{_number(x)}\n 20\n{_number(y)}\n 30\n0.0\n 40\n{_number(radius)}\n"
        return _head("CIRCLE", "AcDbCircle", layer, handle(), owner) + place
    v = outline.vertices
    rows = np.column_stack((np.round(v[:, :2], _DIGITS), np.round(v[:, 2], _BULGE_DIGITS))) + 0.0
    if owner is None:
        return _old_polyline(layer, rows.tolist(), handle)
    head = _head("LWPOLYLINE", "AcDbPolyline", layer, handle(), owner)
    tags = [f" 10\n{x}\n 20\n{y}\n" + (f" 42\n{bulge}\n" if bulge else "") for x, y, bulge in rows.tolist()]
    return f"{head} 90\n{len(rows)}\n 70\n1\n" + "".join(tags)


def _old_polyline(layer: str, rows: list[list[float]], handle: Callable[[], str]) -> str:
    """A POLYLINE, its VERTEX entities and its SEQEND, whose handle comes before theirs."""
    whole, end = handle(), handle()
    parts = [f"  0\nPOLYLINE\n  5\n{whole}\n  8\n{layer}\n 66\n1\n 10\n0.0\n 20\n0.0\n 30\n0.0\n 70\n1\n"]
    for x, y, bulge in rows:
        bent = f" 42\n{bulge}\n" if bulge else ""
        parts.append(f"  0\nVERTEX\n  5\n{handle()}\n  8\n{layer}\n 10\n{x}\n 20\n{y}\n 30\n0.0\n{bent} 70\n0\n")
    parts.append(f"  0\nSEQEND\n  5\n{end}\n  8\n{layer}\n")
    return "".join(parts)


def _head(kind: str, subclass: str, layer: str, handle: str, owner: str | None) -> str:
    if owner is None:
        return f"  0\n{kind}\n  5\n{handle}\n  8\n{layer}\n"
    return f"  0\n{kind}\n  5\n{handle}\n330\n{owner}\n100\nAcDbEntity\n  8\n{layer}\n100\n{subclass}\n"


def _number(value: float) -> float:
    return round(value, _DIGITS) + 0.0
