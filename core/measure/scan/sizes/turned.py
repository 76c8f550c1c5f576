"""Two scans of one part, the second with the part turned by half a turn: what differs is the scanner's doing.

Their mean is free of whatever the scanner does differently at its two ends. A stretch that is alike all over stays in
both; only rules or a thing of known size show it.
"""

from __future__ import annotations

from math import hypot, pi
from typing import TYPE_CHECKING

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from core.geometry.ovals.distances import oval_distances
from core.geometry.ovals.fit import turned
from core.geometry.ovals.ovals import oval_of
from core.measure.scan.results import ScanError, ScanFit
from core.part.readings import SizeName

if TYPE_CHECKING:
    from core.measure.readings.results import Estimate

# Sizes further apart than this part of themselves are not those of one part.
_ALIKE = 0.05
# Of half the difference of two scans, to an interval of 95 %: common practice, no source.
_FACTOR = 2.0


class Averaged(Struct, frozen=True, eq=False):
    """What two scans of one part say together.

    Attributes:
        fit: the oval through both edges, the second turned back; its sizes' uncertainty holds the difference.
        differences: of each size, second scan less first [mm, or 1 for the exponent].
    """

    fit: ScanFit
    differences: tuple[tuple[SizeName, float], ...]


def averaged(first: ScanFit, second: ScanFit) -> Averaged:
    """The oval between those of two scans.

    Args:
        first: of the part as it lay first.
        second: of the same family, the part turned by about 180°.

    Raises:
        ScanError: the families differ, or the sizes are not those of one part.
        ValueError: measured outlines, which have no sizes to average.
    """
    if not (first.family.kind.is_sized and second.family.kind.is_sized):
        raise ValueError("measured outlines can't be averaged")
    if first.family is not second.family:
        raise ScanError(
            "second scan",
            f"the edges are of two families, {_name(first)} and {_name(second)}",
            hint="Choose one family for both.",
        )
    if any(
        abs(a - b) > _ALIKE * a
        for a, b in ((first.oval.length, second.oval.length), (first.oval.width, second.oval.width))
    ):
        raise ScanError("second scan", "its sizes are not those of the same part", hint="Choose the same edge in both.")
    # Each oval's own axes are known but for half a turn: the whole turn of the part, about 180°, tells which it is.
    halves = round((first.angle + pi - second.angle) / pi)
    back = turned(second.points, halves * pi)
    points = np.concatenate((first.points[first.used], back[second.used]))
    order = np.argsort(np.arctan2(points[:, 1], points[:, 0]), kind="stable")
    points = points[order]
    others = dict(second.sizes)
    differences = tuple((name, others[name].value - own.value) for name, own in first.sizes)
    # Half-way between the two: a sturdy fit through both edges would take one of them for stray where they differ.
    values = {name: (own.value + others[name].value) / 2.0 for name, own in first.sizes}
    own = first.family.kind.own
    more = None if own is None else values.get(SizeName(own.field))
    oval = oval_of(first.family, values[SizeName.LENGTH], values[SizeName.WIDTH], more)
    off, _ = oval_distances(oval, points)
    sizes = tuple((name, _widened(own, others[name], values[name])) for name, own in first.sizes)
    fit = replace(
        first,
        oval=oval,
        points=points,
        off=off,
        used=np.ones(len(points), dtype=np.bool_),
        rms=float(np.sqrt(np.mean(off * off))),
        sizes=sizes,
    )
    return Averaged(fit, differences)


def _name(fit: ScanFit) -> str:
    return fit.family.value.replace("_", " ")


def _widened(a: Estimate, b: Estimate, value: float) -> Estimate:
    """The estimate of the mean: scale and allowances stay whole, and half the difference of the two comes on top."""
    half = abs(a.value - b.value) / 2.0
    standard = hypot((a.standard + b.standard) / 2.0, half)
    return replace(a, value=value, standard=standard, expanded=hypot((a.expanded + b.expanded) / 2.0, _FACTOR * half))
