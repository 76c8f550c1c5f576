"""The oval through an edge: which family, which sizes, how sure."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from core.geometry.ovals.ovals import SIZED_FAMILIES, Family
from core.measure.scan.results import ScanError, ScanFit
from core.measure.scan.sizes.allowances import NONE
from core.measure.scan.sizes.measured import measured_fit
from core.measure.scan.sizes.robust import fit_models, refit, spread, trimmed_rms
from core.measure.scan.sizes.uncertainty import CERTAIN, Doubt, fitted_sizes

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from core.geometry.lines.outline import BoolArray, FloatArray
    from core.geometry.ovals.fit import Placed
    from core.measure.scan.results import Edge, Picture, Scale
    from core.measure.scan.sizes.allowances import Allowances

LEAST_POINTS: Final = 40
"""Fewer points say nothing of a family."""

# A family with more sizes must lie closer than the plainer one by this part, by so many pixels and so many mm.
_BETTER, _BETTER_PX, _BETTER_MM = 0.1, 0.02, 1e-3
# Beyond so many standard deviations a point is stray; within half a pixel it never is.
_STRAY, _NEVER_PX = 4.0, 0.5


def fit_edge(
    points: FloatArray,
    families: Sequence[Family] = SIZED_FAMILIES,
    *,
    doubt: Doubt = CERTAIN,
    outside: float = 0.0,
    tick: Callable[[float], None] = lambda _: None,
) -> ScanFit:
    """The oval that most of an edge's points lie on: stray spots, a cut corner or a shadow don't move it.

    Up to a quarter of the edge may be astray. What passes for the side of another oval can't be told, though: a shadow
    of even width along the whole of a straight side makes a rounded rectangle wider. ``used`` shows what was left out.

    Families with more sizes are only taken where they lie clearly closer than the plainest. The measured family follows
    any edge, so it is only taken when it is the only one asked for.

    Args:
        points: (n, 2) in order round the edge, x right, y up [mm].
        families: to choose from.
        doubt: what is uncertain alike over the edge: scale, pixels, allowances.
        outside: normal distance of the edge outside the oval, as of a pencil line traced round it [mm].
        tick: told how much is done, 0 to 1; what it raises calls the fit off.

    Raises:
        ScanError: there are too few points, they go round no area, or the oval they make can't exist.
        ValueError: no family is named, or points are not finite.
    """
    p = np.asarray(points, dtype=np.float64)
    if not families:
        raise ValueError("at least one family is needed")
    if p.ndim != 2 or p.shape[1] != 2 or not np.isfinite(p).all():
        raise ValueError(f"points must be finite with shape (n, 2), not {p.shape}")
    if len(p) < LEAST_POINTS:
        raise ScanError("edge", f"{len(p)} points are too few for an oval", hint="Choose a longer edge.")
    _check_area(p)
    only_measured = not any(family.kind.is_sized for family in families)
    wanted = [f for f in SIZED_FAMILIES if f in families or only_measured]
    floor = max(_NEVER_PX * doubt.pixel, 1e-3)
    models = fit_models(wanted, p, outside, floor, lambda part: tick(0.9 * part))
    # Every family is judged over the points that lie on the closest one: else a bad one could doubt what it misses.
    closest = min(models, key=lambda m: trimmed_rms(m, p, outside))
    used = _used(closest, p, outside, floor)
    models = [refit(m, p, used, outside) for m in models]
    rms = {m.family: _rms(m, p, used, outside) for m in models}
    chosen = _plainest(models, rms, doubt.pixel)
    used = _used(chosen, p, outside, floor)
    chosen = refit(chosen, p, used, outside)
    tick(0.95)
    if only_measured:
        return measured_fit(chosen, p, used, doubt, outside=outside)
    off, normals = chosen.distances(p)
    fit = ScanFit(
        family=chosen.family,
        oval=chosen.oval,
        centre=(float(chosen.full[0]), float(chosen.full[1])),
        angle=float(chosen.full[2]),
        points=chosen.local(p) - outside * normals,
        off=off - outside,
        used=used,
        rms=_rms(chosen, p, used, outside),
        sizes=fitted_sizes(chosen, p, used, outside, doubt),
        tried=tuple(sorted(((f, r) for f, r in rms.items() if f is not chosen.family), key=lambda pair: pair[1])),
    )
    tick(1.0)
    return fit


def _check_area(p: FloatArray) -> None:
    x, y = (p - p.mean(axis=0)).T
    area = abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1))) / 2.0
    if area < 1e-3 * float(np.ptp(x) * np.ptp(y)) or area < 1e-2:
        raise ScanError("edge", "it goes round no area", hint="Choose another edge.")


def _used(model: Placed, p: FloatArray, outside: float, floor: float) -> BoolArray:
    off = model.distances(p)[0] - outside
    used: BoolArray = np.abs(off) <= max(floor, _STRAY * spread(off))
    return used


def _rms(model: Placed, p: FloatArray, used: BoolArray, outside: float) -> float:
    return float(np.sqrt(((model.distances(p[used])[0] - outside) ** 2).mean()))


def _plainest(models: Sequence[Placed], rms: dict[Family, float], pixel: float) -> Placed:
    """Of the families with the fewest sizes that lie as close as the closest, the closest."""
    limit = min(rms.values()) * (1.0 + _BETTER) + max(_BETTER_PX * pixel, _BETTER_MM)
    return min((m for m in models if rms[m.family] <= limit), key=lambda m: (len(m.free), rms[m.family]))


def in_millimetres(picture: Picture, scale: Scale, points: FloatArray) -> FloatArray:
    """(n, 2) places in a picture [pixel, y down] in its millimetres: x right, y up, origin at the lower left pixel."""
    return np.column_stack((points[:, 0] * scale.x, (picture.grey.shape[0] - 1 - points[:, 1]) * scale.y))


def scan(
    picture: Picture,
    scale: Scale,
    edge: Edge,
    families: Sequence[Family] = SIZED_FAMILIES,
    *,
    outside: float = 0.0,
    allowances: Allowances = NONE,
    tick: Callable[[float], None] = lambda _: None,
) -> ScanFit:
    """The oval through an edge of a picture; see `fit_edge`.

    Args:
        picture: that the edge was found in.
        scale: its millimetres a pixel.
        edge: one of `find_edges`'.
        families: to choose from.
        outside: normal distance of the edge outside the oval [mm].
        allowances: for what the picture can't tell.
        tick: told how much is done, 0 to 1; what it raises calls the fit off.

    Raises:
        ScanError: as `fit_edge`.
    """
    return fit_edge(
        in_millimetres(picture, scale, edge.points),
        families,
        doubt=Doubt(scale.relative, (scale.x + scale.y) / 2.0, scale.reference, allowances=allowances),
        outside=outside,
        tick=tick,
    )
