"""A picture that was looked at: read, with the closed edges in it; and the same edge found in another one."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from core.measure.scan.picture.edges import find_edges, threshold
from core.measure.scan.picture.picture import read_picture
from core.measure.scan.results import ScanError

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from pathlib import Path

    from core.geometry.lines.outline import FloatArray
    from core.measure.scan.results import Edge, Picture

    Tick = Callable[[float], None]

_READING: Final = 0.6  # share of the time that reading takes before the edges are looked for
_DOT_A_METRE: Final = 0.0254  # in dots per inch
_ALIKE: Final = 0.1  # edges of one thing differ by less, as a part of their size


class Looked(Struct, frozen=True, eq=False):
    """A picture that was read.

    Attributes:
        path: of its file.
        level: grey level that parts it best in dark and light, 0 to 255.
        edges: found at that level, the largest first.
    """

    path: Path
    picture: Picture
    level: float
    edges: tuple[Edge, ...] = ()


def look(path: Path, tick: Tick = lambda _: None, like: Edge | None = None) -> Looked:
    """Read a picture and find its edges; one without any is given all the same, for another level may find them.

    Args:
        path: of the file.
        tick: told how much is done, 0 to 1; what it raises calls the work off.
        like: for a second scan of the same thing: one edge at least must be about as large.

    Raises:
        FileError: the file can't be read, or is no picture.
        ScanError: a second scan shows no such edge.
    """
    picture = read_picture(path, lambda part: tick(part * _READING))
    if picture.dpi is not None:
        picture = replace(picture, dpi=(_whole(picture.dpi[0]), _whole(picture.dpi[1])))
    level = threshold(picture)
    try:
        edges = find_edges(picture, level, tick=lambda part: tick(_READING + (1.0 - _READING) * part))
    except ScanError:
        if like is not None:
            raise
        edges = ()
    if like is not None:
        nearest(like, edges, picture.name)
    return Looked(path, picture, level, edges)


def _whole(dpi: float) -> float:
    """The whole number that a resolution was rounded from: PNG counts whole pixels a metre, so 150 is 150.012."""
    return float(round(dpi)) if abs(dpi - round(dpi)) <= _DOT_A_METRE / 2.0 else dpi


def nearest(like: Edge, edges: Sequence[Edge], where: str) -> Edge:
    """The edge as large as another one, as it lies in the second scan.

    Raises:
        ScanError: none is.
    """
    size = _size(like)
    found = min(edges, key=lambda edge: float(np.abs(_size(edge) - size).max()), default=None)
    if found is None or float((np.abs(_size(found) - size) / size).max()) > _ALIKE:
        raise ScanError(where, "shows no edge as large as the one that was chosen", hint="Scan the same part again.")
    return found


def same_edge(old: Edge, edges: Sequence[Edge]) -> int | None:
    """Index of the edge that lies where an old one lay; None when it is gone."""
    box, size = _box(old), float(_size(old).max())
    off = [float(np.abs(_box(edge) - box).max()) for edge in edges]
    if not off or min(off) > _ALIKE * size:
        return None
    return int(np.argmin(off))


def _box(edge: Edge) -> FloatArray:
    return np.concatenate((edge.points.min(axis=0), edge.points.max(axis=0)))


def _size(edge: Edge) -> FloatArray:
    """Its longest and shortest way across [pixel], whichever way it lies."""
    p = edge.points - edge.points.mean(axis=0)
    values = np.linalg.eigvalsh(np.cov(p.T))
    return np.asarray(np.sqrt(values))
