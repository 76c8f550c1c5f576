"""The edge itself as an outline of lines and arcs, where no family will do."""

from __future__ import annotations

from math import hypot
from typing import TYPE_CHECKING, Final

import numpy as np

from core.geometry.ovals.arcfit import fit_closed
from core.geometry.ovals.fit import turned
from core.geometry.ovals.ovals import Family, measured_oval, oval_outline
from core.geometry.parallels.parallel import parallel
from core.measure.scan.results import ScanError, ScanFit
from core.measure.scan.sizes.uncertainty import EDGE_PX, estimate
from core.part.readings import SizeName
from core.words.errors import UserError

if TYPE_CHECKING:
    from core.geometry.lines.outline import BoolArray, FloatArray
    from core.geometry.ovals.fit import Placed
    from core.measure.scan.sizes.uncertainty import Doubt

# A spot is this much shorter than the edge; what is longer belongs to the shape.
_SPOT = 0.01
# Arcs may leave the points by so many standard deviations of their noise, and never have to come closer than this.
_ROOM, _LEAST_ROOM = 5.0, 0.01
# More points than that, evenly taken, make no better outline.
MOST_POINTS: Final = 3000


def measured_fit(model: Placed, points: FloatArray, used: BoolArray, doubt: Doubt, *, outside: float) -> ScanFit:
    """The edge as a measured oval: spots are left out, shadows and cut corners are not, for they might be the shape.

    Args:
        model: the family that lies closest; it gives the axes.
        points: (n, 2) the edge [mm].
        used: (n,) the points on that family, which tell the noise.
        doubt: what is uncertain alike over the edge.
        outside: normal distance of the edge outside the oval [mm].

    Raises:
        ScanError: the edge crosses itself, or is too small or large.
    """
    from scipy.ndimage import median_filter

    off = model.distances(points)[0]
    window = max(5, int(2.0 * _SPOT * len(points)) | 1)
    waves = off - median_filter(off, window, mode="wrap")
    noise = 1.4826 * float(np.median(np.abs(waves[used] if used.any() else waves)))
    tolerance = max(_ROOM * noise, 0.5 * doubt.pixel, _LEAST_ROOM)
    kept = np.abs(waves) <= tolerance
    local = model.local(points)
    chosen = local[kept]
    try:
        outline = fit_closed(chosen[:: max(1, len(chosen) // MOST_POINTS)], tolerance)
        if outside:
            outline = parallel(outline, -outside, where="edge")
        x0, y0, x1, y1 = outline.bounds
        quarter = np.pi / 2.0 if y1 - y0 > x1 - x0 else 0.0
        outline = outline.turned(quarter)
        x0, y0, x1, y1 = outline.bounds
        oval = measured_oval(outline)
    except (ValueError, UserError) as error:
        raise ScanError(
            "edge", "it makes no outline: it crosses itself or turns too tightly", hint="Choose another edge or family."
        ) from error
    middle = np.array([[(x0 + x1) / 2.0, (y0 + y1) / 2.0]])
    centre = turned(turned(middle, -quarter), float(model.full[2])) + model.full[:2]
    placed = turned(local, quarter) - middle
    near = oval_outline(oval).nearest(placed)
    away = np.where(oval_outline(oval).contains(placed), -near.distance, near.distance) - outside
    place = hypot(2.0 * EDGE_PX * doubt.pixel, 2.0 * doubt.excess, noise)
    allowed = doubt.allowances
    edges = (allowed.shadow, 2.0 * allowed.pencil)
    sizes = tuple(
        (name, estimate(value, 0.0, 1.0, hypot(doubt.relative * value, place), (doubt.limits * value, *edges)))
        for name, value in ((SizeName.LENGTH, oval.length), (SizeName.WIDTH, oval.width))
    )
    return ScanFit(
        family=Family.MEASURED,
        oval=oval,
        centre=(float(centre[0, 0]), float(centre[0, 1])),
        angle=float(np.pi / 2.0 - (np.pi / 2.0 - (model.full[2] - quarter)) % np.pi),
        points=placed - outside * _normals(placed, near.foot, away + outside),
        off=away,
        used=kept,
        rms=float(np.sqrt((away[kept] ** 2).mean())),
        sizes=sizes,
        tried=((model.family, float(np.sqrt(((off - outside)[kept] ** 2).mean()))),),
    )


def _normals(points: FloatArray, feet: FloatArray, off: FloatArray) -> FloatArray:
    """(n, 2) outward unit vectors at the feet of points, by the way to the points."""
    way = (points - feet) * np.sign(off)[:, None]
    size = np.hypot(way[:, 0], way[:, 1])
    return np.array(way / np.where(size > 0.0, size, 1.0)[:, None])
