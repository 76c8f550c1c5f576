"""What a scan answers: the edge in millimetres, the oval through it, and how far both can be trusted."""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from core.words.errors import UserError

if TYPE_CHECKING:
    from core.geometry.lines.outline import FloatArray, Point
    from core.geometry.ovals.ovals import Family, Oval
    from core.measure.readings.results import Estimate
    from core.part.readings import SizeName

GreyArray = NDArray[np.uint8]


class ScanError(UserError):
    """A picture, a calibration or an edge that gives no sizes; ``where`` is the picture's or the step's name."""


class Picture(Struct, frozen=True, eq=False):
    """A picture in shades of grey.

    Attributes:
        grey: (h, w) 0 black to 255 white; row 0 is the top.
        dpi: (across, down) as the file states it; None when it doesn't.
        name: the file's.
        reduced: how many pixels of the file's went into one here, each way (1 unless the picture was too large).
    """

    grey: GreyArray
    dpi: tuple[float, float] | None
    name: str
    reduced: int = 1


class Scale(Struct, frozen=True):
    """Millimetres a pixel, each axis its own, with what is known of their uncertainty.

    Attributes:
        x, y: [mm / pixel].
        relative: standard uncertainty of either, as a part of it [1].
        note: where it comes from, in words.
        reference: length of the thing whose edge told it, on which a shadow may fall [mm]; infinite where none did.
    """

    x: float
    y: float
    relative: float
    note: str
    reference: float = inf


class Aslant(Struct, frozen=True):
    """A rectangle of known size as a photograph shows it.

    Attributes:
        corners: lower left, lower right, upper right, upper left, as seen [pixel].
        base, side: its lower and its left side [mm].
        relative: standard uncertainty of lengths [1].
    """

    corners: tuple[Point, ...]
    base: float
    side: float
    relative: float


class Edge(Struct, frozen=True, eq=False):
    """An edge found in a picture: (n, 2) closed, sub-pixel, in pixels (x right, y down, pixel centres at integers)."""

    points: FloatArray
    is_dark_inside: bool


class ScanFit(Struct, frozen=True, eq=False):
    """An oval laid through an edge, sturdily.

    Attributes:
        family, oval: what was fitted [mm].
        centre, angle: of the oval in the picture's millimetres (x right, y up, origin at the lower left) [mm, rad].
        points: (n, 2) the edge, moved so that the oval lies centred on its axes [mm].
        off: (n,) normal distance of each point from the oval, + outside [mm].
        used: (n,) whether the point counts (stray spots, a cut corner and shadows don't).
        rms: of those that count [mm].
        sizes: estimates, uncertainty of the scale included.
        tried: other families with their rms [mm], best first.
    """

    family: Family
    oval: Oval
    centre: Point
    angle: float
    points: FloatArray
    off: FloatArray
    used: NDArray[np.bool_]
    rms: float
    sizes: tuple[tuple[SizeName, Estimate], ...]
    tried: tuple[tuple[Family, float], ...]
