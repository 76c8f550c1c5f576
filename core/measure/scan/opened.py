"""A picture opened so that it can be drawn quickly: with copies of itself, each half as large."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from core.measure.scan.picture.looked import Looked, look

if TYPE_CHECKING:
    from pathlib import Path

    from core.measure.scan.picture.looked import Tick
    from core.measure.scan.results import Edge, GreyArray

_SMALLEST: Final = 256  # pixels of the longer side below which a picture is not halved again
_LOOKING: Final = 0.95  # share of the time that reading and finding the edges takes


class Opened(Looked, frozen=True, eq=False):
    """A picture that was read and can be drawn.

    Attributes:
        levels: the greys at full size, and each half as large as the one before, to be drawn quickly.
    """

    levels: tuple[GreyArray, ...] = ()


def open_picture(path: Path, tick: Tick, like: Edge | None = None) -> Opened:
    """Read a picture, find its edges and make its smaller copies.

    Args:
        path: of the file.
        tick: told how much is done, 0 to 1.
        like: for a second scan of the same thing: one edge at least must be about as large.

    Raises:
        FileError: the file can't be read, or is no picture.
        ScanError: a second scan shows no such edge.
    """
    looked = look(path, lambda part: tick(_LOOKING * part), like)
    return Opened(looked.path, looked.picture, looked.level, looked.edges, _halved(looked.picture.grey, tick))


def _halved(grey: GreyArray, tick: Tick) -> tuple[GreyArray, ...]:
    levels = [grey]
    while max(levels[-1].shape) > _SMALLEST:
        tick(_LOOKING)
        g = levels[-1]
        h, w = g.shape[0] // 2 * 2, g.shape[1] // 2 * 2
        total = g[0:h:2, 0:w:2].astype(np.uint16)
        for part in (g[1:h:2, 0:w:2], g[0:h:2, 1:w:2], g[1:h:2, 1:w:2]):
            total += part
        levels.append((total >> 2).astype(np.uint8))
    return tuple(levels)
