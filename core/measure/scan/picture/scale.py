"""Millimetres a pixel: from the file, from rules in the picture, from a thing of known size; each axis its own."""

from __future__ import annotations

from math import cos, hypot, inf, pi, radians, sin, sqrt
from typing import TYPE_CHECKING, Final

import numpy as np
from msgspec import Struct

from core.measure.scan.results import Scale, ScanError
from core.measure.scan.sizes.uncertainty import EDGE_PX, effective_count
from core.part.readings import SizeName

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from core.geometry.lines.outline import FloatArray, Point
    from core.measure.scan.results import Edge, Picture, ScanFit

UNCALIBRATED: Final = 0.004
"""Standard uncertainty of either axis of a scale that nobody checked [1]: a stretch of 0.6 % along one axis has been
reported (common practice, no source), and the 95 % interval, of 1.96 times this, holds it with a third of room."""

DISC_MM: Final = 0.02
"""Standard uncertainty of the size of a disc or plate that was measured with a calliper [mm]: its step (common
practice, no source)."""

RULE_MM: Final = 0.1
"""Standard uncertainty of a distance between two lines of a steel rule [mm]: common practice, no source."""

# Two ends picked within half a pixel, evenly spread: variance 1/12 each.
_PICK = sqrt(2.0 / 12.0)
_LEAST_PIXELS = 50.0
# Two rules must lie at least this far from parallel to tell the axes apart, and one this near an axis to tell it.
_LEAST_TURN = radians(30.0)
# Of a plate only the sides count, not the corners, which may be rounded or broken: this part of the shorter side.
_CORNER = 0.1
_MOST_POINTS = 400
# The axes of a scanner differ by a part of a percent, of one that scans coarser one way by a known factor.
_LEAST_ALIKE = 0.45


class Rule(Struct, frozen=True):
    """Two places in a picture whose distance is known.

    Attributes:
        start, end: in the picture [pixel].
        length: between them [mm].
        standard: standard uncertainty of ``length`` [mm].
    """

    start: Point
    end: Point
    length: float
    standard: float = RULE_MM


def from_dpi(picture: Picture) -> Scale:
    """What the file says, which nobody has checked.

    Raises:
        ScanError: the file doesn't say.
    """
    if picture.dpi is None:
        raise ScanError(
            picture.name,
            "says nothing of its resolution",
            hint="Mark two places of a known distance, along each axis, or a disc or plate of known size.",
        )
    across, down = picture.dpi
    said = f"{across:.4g}" if abs(across - down) < 0.01 * across else f"{across:.4g} × {down:.4g}"
    return Scale(
        25.4 * picture.reduced / across,
        25.4 * picture.reduced / down,
        UNCALIBRATED,
        f"{said} DPI as the file says, not calibrated: a 0.6 % stretch along one axis has been reported",
    )


def from_rules(rules: Sequence[Rule], dpi: tuple[float, float] | None = None) -> Scale:
    """From rules lying in the picture: two that lie across each other tell both axes, one alone tells no stretch.

    Args:
        rules: one or more.
        dpi: the file's (across, down), whose ratio is kept where a single rule can't tell the axes apart.

    Raises:
        ScanError: a rule has no length, or all lie along the same way.
        ValueError: no rule.
    """
    if not rules:
        raise ValueError("at least one rule is needed")
    steps = np.array([np.subtract(rule.end, rule.start) for rule in rules], dtype=np.float64)
    pixels, lengths = np.hypot(steps[:, 0], steps[:, 1]), np.array([rule.length for rule in rules])
    if (pixels < _LEAST_PIXELS).any() or not (lengths > 0.0).all():
        raise ScanError(
            "rule",
            f"two places {pixels.min():.0f} pixels apart are too close to tell a scale",
            hint=f"Mark places far apart, at least {_LEAST_PIXELS:.0f} pixels, and give their distance.",
        )
    of_each = [hypot(_PICK / n, rule.standard / rule.length) for n, rule in zip(pixels.tolist(), rules, strict=True)]
    if len(rules) == 1:
        ratio = dpi[0] / dpi[1] if dpi else 1.0  # y / x
        x = float(lengths[0]) / hypot(float(steps[0, 0]), ratio * float(steps[0, 1]))
        note = "one rule in the picture; the other axis is taken to be alike, though scanners may stretch it by 0.6 %"
        return Scale(x, ratio * x, hypot(of_each[0], UNCALIBRATED), note)
    angles = np.arctan2(steps[:, 1], steps[:, 0])
    apart = np.abs((angles - angles[0] + pi / 2.0) % pi - pi / 2.0)
    if apart.max() < _LEAST_TURN:
        raise ScanError("rule", "all of them lie along the same way", hint="Lay one rule across and one down.")
    # (dx sx)² + (dy sy)² = length², linear in sx² and sy²; each line weighs by its length.
    rows = steps**2 / lengths[:, None] ** 2
    squares, *_ = np.linalg.lstsq(rows, np.ones(len(rules)), rcond=None)
    if not (squares > 0.0).all():
        raise ScanError(
            "rule", "their lengths contradict each other", hint="Check each length and the places that it lies between."
        )
    # What each length's relative error does to the squares, halved for their roots.
    effect = np.linalg.pinv(rows) * 2.0 * np.array(of_each)
    relative = np.sqrt((effect**2).sum(axis=1)) / (2.0 * squares)
    return Scale(
        sqrt(squares[0]), sqrt(squares[1]), float(relative.max()), f"{len(rules)} rules in the picture, across and down"
    )


def from_disc(edge: Edge, diameter: float, standard: float = DISC_MM) -> Scale:
    """From the edge of a disc of known size lying in the picture, as a coin or a turned blank: it tells both axes.

    Args:
        edge: traced round it.
        diameter: of the disc [mm].
        standard: standard uncertainty of the diameter [mm].

    Raises:
        ScanError: the edge is not that of a disc.
    """
    p = _some(edge)
    low, high = p.min(axis=0), p.max(axis=0)
    radius = diameter / 2.0
    start = np.array([*((low + high) / 2.0), *(diameter / (high - low))])

    def off(v: FloatArray) -> FloatArray:
        away: FloatArray = np.hypot((p[:, 0] - v[0]) * v[2], (p[:, 1] - v[1]) * v[3])
        return away - radius

    values, rows, rest = _least(off, start, diameter)
    return _scale(values[2:], rows, rest, diameter, standard, f"a disc of {_given(diameter)} in the picture", "disc")


def from_plate(edge: Edge, length: float, width: float, standard: float = DISC_MM) -> Scale:
    """From the edge of a rectangle of known size, as a gauge plate, lying anyhow in the picture: it tells both axes.

    Args:
        edge: traced round it.
        length: of one side [mm].
        width: of the other [mm].
        standard: standard uncertainty of either [mm].

    Raises:
        ScanError: the edge is not that of such a plate.
    """
    p = _some(edge)
    middle = (p.min(axis=0) + p.max(axis=0)) / 2.0
    x, y = p.T
    area = abs(float(x @ np.roll(y, -1) - y @ np.roll(x, -1))) / 2.0
    size = sqrt(length * width / area)
    corner = _CORNER * min(length, width)

    def off(v: FloatArray) -> FloatArray:
        c, s = cos(v[4]), sin(v[4])
        dx, dy = (p[:, 0] - v[0]) * v[2], (p[:, 1] - v[1]) * v[3]
        along, across = np.abs(c * dx + s * dy) - length / 2.0, np.abs(c * dy - s * dx) - width / 2.0
        away = np.maximum(along, across)
        return np.where(np.minimum(along, across) > -corner, 0.0, away)

    starts = [np.array([*middle, size, size, angle]) for angle in pi / 12.0 * np.arange(12)]
    tried = [_least(off, start, length) for start in starts]
    values, rows, rest = min(tried, key=lambda found: _badness(found[0], found[2], length))
    note = f"a plate of {_given(length)} × {_given(width)} in the picture"
    return _scale(values[2:4], rows, rest, min(length, width), standard, note, "plate")


def _given(mm: float) -> str:
    return f"{mm:g} mm"


def _badness(values: FloatArray, rest: FloatArray, length: float) -> float:
    """Mean distance of the sides [mm]; infinite where the corners swallow them, or the axes are nothing alike."""
    if (rest == 0.0).mean() > 0.5 or not _LEAST_ALIKE < values[2] / values[3] < 1.0 / _LEAST_ALIKE:
        return inf
    return float(np.minimum(np.abs(rest), 0.05 * length).mean())


def _some(edge: Edge) -> FloatArray:
    return edge.points[:: max(1, len(edge.points) // _MOST_POINTS)]


def _least(
    off: Callable[[FloatArray], FloatArray], start: FloatArray, size: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Parameters of the least sturdy sum, their (k, k) covariance for a residual of 1 mm, and the residuals [mm]."""
    from scipy.optimize import least_squares

    scales = (
        np.array([100.0, 100.0, 0.01, 0.01, 0.1])[: len(start)] * np.array([1.0, 1.0, *start[2:4], 1.0])[: len(start)]
    )
    values: FloatArray = start
    solved = None
    for reach in (0.05 * size, 0.005 * size):
        solved = least_squares(off, values, x_scale=scales, loss="soft_l1", f_scale=reach, max_nfev=60)
        values = np.array(solved.x, dtype=np.float64)
    assert solved is not None
    rates: FloatArray = np.asarray(solved.jac, dtype=np.float64)
    covariance = np.asarray(np.linalg.pinv(rates.T @ rates), dtype=np.float64)
    return values, covariance, off(values)


def _scale(
    found: FloatArray, covariance: FloatArray, rest: FloatArray, size: float, standard: float, note: str, where: str
) -> Scale:
    looked = rest[rest != 0.0]
    spread = 1.4826 * float(np.median(np.abs(looked))) if len(looked) else inf
    x, y = (float(v) for v in found)
    if not (x > 0.0 and y > 0.0 and _LEAST_ALIKE < x / y < 1.0 / _LEAST_ALIKE and spread < 0.02 * size):
        raise ScanError(
            where, f"the edge is not that of a {where} of this size", hint="Choose another edge, or check the size."
        )
    tied = len(rest) / effective_count(rest)
    own = max(spread * sqrt(tied * float(covariance[k, k])) / v for k, v in ((2, x), (3, y)))
    edges = 2.0 * EDGE_PX * max(x, y) / size
    return Scale(x, y, float(np.sqrt(own**2 + edges**2 + (standard / size) ** 2)), note, size)


class Excess(Struct, frozen=True):
    """How far outside its edge a pencil line runs, and the standard uncertainty of that [mm]."""

    value: float
    standard: float


def traced_excess(disc: ScanFit, diameter: float, standard: float = DISC_MM) -> Excess:
    """How far outside its edge a pencil line runs, told by a known disc traced with the same pencil.

    Give its value to `fit_edge` as ``outside``, and its standard uncertainty as the doubt's ``excess``.

    Args:
        disc: the circle through the line round the disc.
        diameter: of the disc [mm].
        standard: standard uncertainty of the diameter [mm].

    Raises:
        ScanError: the line is farther from the disc than any pencil's.
    """
    excess = (disc.oval.length + disc.oval.width) / 4.0 - diameter / 2.0
    if not abs(excess) < min(3.0, diameter / 4.0):
        raise ScanError(
            "disc", "the line round it is farther from its edge than any pencil's", hint="Check the disc's diameter."
        )
    traced = dict(disc.sizes)[SizeName.LENGTH].standard
    return Excess(excess, hypot(traced, standard) / 2.0)
