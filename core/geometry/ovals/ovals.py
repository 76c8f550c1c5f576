"""The ovals an insert or a seat can have: their exact curves, and the same curves as lines and arcs.

Lengths and widths are the whole ones; a = length / 2 and b = width / 2 in the formulas. The long axis lies along X.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from math import gamma, hypot, inf, isfinite, pi, sqrt

import numpy as np

from core.geometry.lines.outline import FloatArray, Outline, circle_outline
from core.geometry.ovals.arcfit import fit_curve
from core.geometry.ovals.measured import Vertices, check_measured, measured_outline
from core.words.errors import ImpossibleOvalError

ARC_TOLERANCE = 0.0005
"""Tolerance [mm] for curves without arcs of their own: half a micrometre, so that a file stays under one."""

LONGEST = 2000.0
"""Longest oval [mm]; a typing mistake of a factor of ten or a thousand stops here."""

LEAST = 0.1
"""Least length and width [mm]."""

USUAL_EXPONENT = 2.5
LEAST_EXPONENT, GREATEST_EXPONENT = 2.0, 10.0

# Samples of a quarter for fitting: some 40 to an arc, so that the top of its deviation is met within 0.5 %.
_QUARTER = 2001
# Sizes this close [mm] are the same size: a corner radius of half the width leaves no flat end.
_SAME = 1e-9


class Family(StrEnum):
    """The kinds of oval, by how their curve is made."""

    CIRCLE = "circle"
    OBROUND = "obround"
    ELLIPSE = "ellipse"
    FOUR_ARC = "four_arc"
    ROUNDED_RECTANGLE = "rounded_rectangle"
    SUPERELLIPSE = "superellipse"
    MEASURED = "measured"


SIZED_FAMILIES = tuple(family for family in Family if family is not Family.MEASURED)
"""The families whose curve follows from a few sizes."""


@dataclass(frozen=True, slots=True)
class Oval:
    """An oval by its family and sizes.

    Attributes:
        family: how the curve is made.
        length: along X [mm].
        width: along Y [mm], at most the length.
        end_radius: of a four-arc oval's ends or of a rounded rectangle's corners [mm]. None is the family's usual
            one: the construction by the perpendicular bisector, or a quarter of the width.
        exponent: n of the superellipse |x / a|^n + |y / b|^n = 1 [1]; None is 2.5.
        vertices: of a measured outline, counter-clockwise round the origin; its bounds are length and width. Only the
            measured family has them.
    """

    family: Family
    length: float
    width: float
    end_radius: float | None = None
    exponent: float | None = None
    vertices: Vertices | None = None


def check_oval(oval: Oval, where: str = "") -> None:
    """Nothing, if the oval can exist.

    Args:
        oval: to check.
        where: put before the field's name in the error, e.g. ``"new_insert."``.

    Raises:
        ImpossibleOvalError: a size is impossible; says which one and what would be possible.
    """
    for field, size in (("length", oval.length), ("width", oval.width)):
        _check_size(where + field, field, size)
    if oval.family is Family.MEASURED:
        check_measured(oval.length, oval.width, oval.vertices, where)
        return
    a, b = oval.length / 2.0, oval.width / 2.0
    if oval.family is Family.CIRCLE and oval.length != oval.width:
        raise ImpossibleOvalError(
            f"{where}width",
            "a circle is {asked} wide but as long as {bound}",
            "make both the same, {bound}, or choose another kind of oval",
            asked_mm=oval.width,
            bound_mm=oval.length,
        )
    if oval.width > oval.length:
        raise ImpossibleOvalError(
            f"{where}width",
            "a width of {asked} is more than the length",
            "go up to the length, {bound}, or exchange the two",
            asked_mm=oval.width,
            bound_mm=oval.length,
        )
    if oval.end_radius is not None and oval.family in (Family.FOUR_ARC, Family.ROUNDED_RECTANGLE):
        _check_radius(f"{where}end_radius", oval.family, oval.end_radius, a, b)
    if oval.exponent is not None and oval.family is Family.SUPERELLIPSE:
        n = oval.exponent
        if not LEAST_EXPONENT <= n <= GREATEST_EXPONENT:
            raise ImpossibleOvalError(
                f"{where}exponent",
                f"an exponent of {n:g} makes no usable oval",
                f"choose one from {LEAST_EXPONENT:g} (an ellipse) to {GREATEST_EXPONENT:g} (nearly a rectangle)",
            )


def measured_oval(outline: Outline) -> Oval:
    """The oval of the measured family that an outline is, moved so that the middle of its bounds is the origin.

    Args:
        outline: closed, not crossing itself, its long axis along X.

    Raises:
        ImpossibleOvalError: it is wider than long, or too small or large.
    """
    x0, y0, x1, y1 = outline.bounds
    moved = outline.oriented(ccw=True).moved(-(x0 + x1) / 2.0, -(y0 + y1) / 2.0)
    x0, y0, x1, y1 = moved.bounds
    rows = tuple((float(x), float(y), float(bulge)) for x, y, bulge in moved.vertices)
    oval = Oval(Family.MEASURED, x1 - x0, y1 - y0, vertices=rows)
    check_oval(oval)
    return oval


def _check_size(where: str, name: str, size: float) -> None:
    if not isfinite(size):
        raise ImpossibleOvalError(where, f"the {name} is not a number", "give a length")
    if size <= 0.0:
        raise ImpossibleOvalError(
            where, f"a {name} of {{asked}} is not positive", "give more than {bound}", asked_mm=size, bound_mm=0.0
        )
    if size < LEAST:
        raise ImpossibleOvalError(
            where, f"a {name} of {{asked}} is too small", "give at least {bound}", asked_mm=size, bound_mm=LEAST
        )
    if size > LONGEST:
        raise ImpossibleOvalError(
            where, f"a {name} of {{asked}} is too large", "give at most {bound}", asked_mm=size, bound_mm=LONGEST
        )


def _check_radius(where: str, family: Family, radius: float, a: float, b: float) -> None:
    name = "end radius" if family is Family.FOUR_ARC else "corner radius"
    if not isfinite(radius):
        raise ImpossibleOvalError(where, f"the {name} is not a number", "give a length, or none for the usual one")
    least = min(LEAST, b) / 10.0
    if radius < least:
        raise ImpossibleOvalError(
            where,
            f"{'an' if family is Family.FOUR_ARC else 'a'} {name} of {{asked}} is too small",
            "give at least {bound}",
            asked_mm=radius,
            bound_mm=least,
        )
    if family is Family.ROUNDED_RECTANGLE:
        if radius > b:
            raise ImpossibleOvalError(
                where,
                "a corner radius of {asked} is more than half the width",
                "go up to {bound}",
                asked_mm=radius,
                bound_mm=b,
            )
    # At half the width the side arcs are straight and tangents no longer meet, unless it is a circle.
    elif radius >= b and not radius == a == b:
        raise ImpossibleOvalError(
            where,
            "an end radius of {asked} reaches half the width, so no side arc can join the ends",
            "stay below {bound}, or choose an obround",
            asked_mm=radius,
            bound_mm=b,
        )


def four_arc_radii(length: float, width: float, end_radius: float | None) -> tuple[float, float]:
    """End radius r and side radius R [mm] of the four-arc oval whose arcs meet with common tangents.

    Args:
        length: whole length 2a [mm].
        width: whole width 2b [mm].
        end_radius: r [mm], less than b unless it is a circle; None is the usual construction.

    Source: R = (a² + b² - 2ar) / (2(b - r)) follows from (a - r)² + (R - b)² = (R - r)², the tangency of the arcs. The
    usual construction lays a - b off on the hypotenuse between the half axes and erects the perpendicular bisector of
    the rest, which meets the axes at the two centres.
    """
    a, b = length / 2.0, width / 2.0
    if end_radius is None:
        c = hypot(a, b)
        return c * (c - (a - b)) / (2.0 * a), c * (c + (a - b)) / (2.0 * b)
    r = end_radius
    if a == b == r:
        return r, r
    # a² + b² - 2ar = (a - b)² + 2a(b - r): no difference of nearly equal numbers for long ovals.
    return r, a + (a - b) * (a - b) / (2.0 * (b - r))


def oval_outline(oval: Oval, tolerance: float = ARC_TOLERANCE) -> Outline:
    """The oval as lines and arcs, counter-clockwise round the origin and exactly symmetric about both axes.

    Circle, obround, four-arc oval and rounded rectangle are exact; ellipse and superellipse become tangent-continuous
    arcs within the tolerance, starting on the +X axis.

    Args:
        oval: the oval.
        tolerance: greatest deviation of the arcs from the curve [mm], > 0.

    Raises:
        ImpossibleOvalError: the oval can't exist.
        ValueError: the tolerance is not positive.
    """
    return _oval_outline(oval, tolerance)


@lru_cache(maxsize=1024)
def _oval_outline(oval: Oval, tolerance: float) -> Outline:
    check_oval(oval)
    if not tolerance > 0:
        raise ValueError(f"tolerance must be positive, not {tolerance}")
    if oval.vertices is not None and oval.family is Family.MEASURED:
        return measured_outline(oval.vertices)
    a, b = oval.length / 2.0, oval.width / 2.0
    if _is_circle(oval):
        return circle_outline((0.0, 0.0), a)
    match oval.family:
        case Family.FOUR_ARC:
            return _four_arc_outline(oval)
        case Family.OBROUND | Family.ROUNDED_RECTANGLE:
            return _rounded_outline(a, b, _corner_radius(oval))
        case _:
            return _fitted_outline(oval, tolerance)


def _is_circle(oval: Oval) -> bool:
    if oval.family is Family.MEASURED or oval.length - oval.width > _SAME:
        return False
    if oval.family is Family.ROUNDED_RECTANGLE:
        return oval.width / 2.0 - _corner_radius(oval) < _SAME
    # A four-arc oval as wide as long has side arcs of half the length, which leave no room for its ends.
    return oval.family is not Family.SUPERELLIPSE or _exponent(oval) == 2.0


def _corner_radius(oval: Oval) -> float:
    if oval.family is Family.OBROUND:
        return oval.width / 2.0
    return oval.width / 4.0 if oval.end_radius is None else oval.end_radius


def _exponent(oval: Oval) -> float:
    if oval.family is Family.ELLIPSE:
        return 2.0
    return USUAL_EXPONENT if oval.exponent is None else oval.exponent


def _four_arc_outline(oval: Oval) -> Outline:
    r, side = four_arc_radii(oval.length, oval.width, oval.end_radius)
    across, up, reach = oval.length / 2.0 - r, side - oval.width / 2.0, side - r
    x, y = across + r * across / reach, r * up / reach
    # Bulges tan(sweep / 4) of arcs over twice the angles atan(up / across) and atan(across / up).
    end, flat = up / (reach + across), across / (reach + up)
    return Outline([[x, -y, end], [x, y, flat], [-x, y, end], [-x, -y, flat]])


def _rounded_outline(a: float, b: float, r: float) -> Outline:
    x, y, h = a - r, b - r, sqrt(2.0) - 1.0  # tan(90° / 4)
    if y < _SAME:
        return Outline([[x, -b, 1.0], [x, b, 0.0], [-x, b, 1.0], [-x, -b, 0.0]])
    corners = [[a, -y, 0], [a, y, h], [x, b, 0], [-x, b, h], [-a, y, 0], [-a, -y, h], [-x, -b, 0], [x, -b, h]]
    return Outline(corners)


def _fitted_outline(oval: Oval, tolerance: float) -> Outline:
    phi = np.linspace(0.0, pi / 2.0, _QUARTER)
    curve = _Curve.at(oval, phi)
    # One quarter, mirrored, is symmetric bit by bit and keeps the tangents along the axes exact.
    quarter = fit_curve(curve.points, np.column_stack((-curve.normals[:, 1], curve.normals[:, 0])), tolerance)
    x, y, bulge = quarter[:, 0], quarter[:, 1], quarter[:-1, 2]
    half_x = np.concatenate((x[:-1], -x[:0:-1]))
    half_y = np.concatenate((y[:-1], y[:0:-1]))
    half_bulge = np.concatenate((bulge, bulge[::-1]))
    half = np.column_stack((half_x, half_y, half_bulge))
    return Outline(np.concatenate((half, half * np.array([-1.0, -1.0, 1.0]))))


@dataclass(frozen=True)
class _Curve:
    """An ellipse or superellipse at n directions phi, in closed form.

    Attributes:
        points: (n, 2) [mm].
        rates: (n, 2) derivatives of the points by phi [mm / rad].
        normals: (n, 2) unit outward normals.
        curvature: (n,) [1 / mm].
    """

    points: FloatArray
    rates: FloatArray
    normals: FloatArray
    curvature: FloatArray

    @classmethod
    def at(cls, oval: Oval, phi: FloatArray) -> _Curve:
        """The curve where (x / a, y / b) lies in the directions ``phi`` [rad]: dense even where exponents make corners.

        The normal is the gradient of F = |x / a|^n + |y / b|^n; the curvature (Fxx Fy² + Fyy Fx²) / |grad F|³, Fxy = 0.
        """
        a, b, n = oval.length / 2.0, oval.width / 2.0, _exponent(oval)
        cos, sin = np.cos(phi), np.sin(phi)
        # Exact on the axes: cos(pi / 2) is 6e-17, which a power near 0 would blow up.
        cos, sin = np.where(np.abs(cos) < 1e-15, 0.0, cos), np.where(np.abs(sin) < 1e-15, 0.0, sin)
        c, s = np.abs(cos), np.abs(sin)
        w = (c**n + s**n) ** (-1.0 / n)
        points = np.column_stack((a * cos * w, b * sin * w))
        slope = -(w ** (n + 1.0)) * (s ** (n - 1.0) * np.sign(sin) * cos - c ** (n - 1.0) * np.sign(cos) * sin)
        rates = np.column_stack((a * (cos * slope - sin * w), b * (sin * slope + cos * w)))
        x, y = c * w, s * w
        gradient = np.column_stack((x ** (n - 1.0) / a * np.sign(cos), y ** (n - 1.0) / b * np.sign(sin)))
        size = np.hypot(gradient[:, 0], gradient[:, 1])
        bend = x ** (n - 2.0) / (a * a) * gradient[:, 1] ** 2 + y ** (n - 2.0) / (b * b) * gradient[:, 0] ** 2
        return cls(points, rates, gradient / size[:, None], (n - 1.0) * bend / size**3)


def has_arcs(oval: Oval) -> bool:
    """Whether the exact curve itself consists of lines and arcs."""
    return oval.family not in (Family.ELLIPSE, Family.SUPERELLIPSE)


@lru_cache(maxsize=1024)
def exact_length(oval: Oval) -> float:
    """Length of the exact curve [mm].

    Raises:
        ImpossibleOvalError: the oval can't exist.

    Source: an ellipse by the arithmetic-geometric mean (Abramowitz & Stegun 17.6.4); a superellipse by Gauss-Legendre
    quadrature, graded towards the axes, where its rate has a fractional power.
    """
    check_oval(oval)
    if has_arcs(oval):
        return oval_outline(oval).length
    if _exponent(oval) == 2.0:
        return _ellipse_length(oval.length / 2.0, oval.width / 2.0)
    nodes, weights = np.polynomial.legendre.leggauss(16)
    edges = np.concatenate((np.zeros(1), pi / 4.0 * 0.5 ** np.arange(40.0, -1.0, -1.0)))
    middle, half = (edges[1:] + edges[:-1]) / 2.0, np.diff(edges) / 2.0
    phi = (middle[:, None] + half[:, None] * nodes).ravel()
    rates = [_Curve.at(oval, angle).rates for angle in (phi, pi / 2.0 - phi)]
    speed = sum(np.hypot(rate[:, 0], rate[:, 1]) for rate in rates)
    return float(4.0 * ((half[:, None] * weights).ravel() * speed).sum())


def _ellipse_length(a: float, b: float) -> float:
    # 4 a E(k) = 2 pi (a² - sum 2^(n-1) c_n²) / M(a, b), with the half differences c_n of the mean's steps.
    total, power = (a * a + b * b) / 2.0, 1.0
    while a - b > 1e-15 * a:
        c = (a - b) / 2.0
        a, b = (a + b) / 2.0, sqrt(a * b)
        total -= power * c * c
        power *= 2.0
    return 2.0 * pi * total / a


@lru_cache(maxsize=1024)
def exact_area(oval: Oval) -> float:
    """Area inside the exact curve [mm²].

    Raises:
        ImpossibleOvalError: the oval can't exist.

    Source: superellipse 4ab Gamma(1 + 1/n)² / Gamma(1 + 2/n), which is pi a b for n = 2.
    """
    check_oval(oval)
    if has_arcs(oval):
        return oval_outline(oval).area
    n = _exponent(oval)
    return oval.length * oval.width * gamma(1.0 + 1.0 / n) ** 2 / gamma(1.0 + 2.0 / n)


def exact_points(oval: Oval, n: int) -> tuple[FloatArray, FloatArray]:
    """(n, 2) dense points on the exact curve [mm], counter-clockwise, and (n, 2) its unit outward normals there.

    Raises:
        ImpossibleOvalError: the oval can't exist.
    """
    check_oval(oval)
    if has_arcs(oval):
        outline = oval_outline(oval)
        stations = outline.length * np.arange(n) / n
        return outline.points_at(stations), outline.normals_at(stations)
    curve = _Curve.at(oval, 2.0 * pi * np.arange(n) / n)
    return curve.points, curve.normals


@lru_cache(maxsize=1024)
def least_radius(oval: Oval) -> float:
    """Smallest radius of curvature of the exact curve [mm]: how far it can move inward without folding over.

    Raises:
        ImpossibleOvalError: the oval can't exist.
    """
    check_oval(oval)
    if has_arcs(oval):
        s = oval_outline(oval).segments
        # Of a measured outline only what bends outward folds when it moves inward.
        return float(s.radius[s.bulge > 0.0].min(initial=inf))
    if _exponent(oval) == 2.0:
        return oval.width * oval.width / (2.0 * oval.length)
    phi = np.linspace(0.0, pi / 2.0, _QUARTER)
    for _ in range(4):
        top = int(np.argmax(_Curve.at(oval, phi).curvature))
        phi = np.linspace(phi[max(top - 1, 0)], phi[min(top + 1, len(phi) - 1)], 101)
    return float(1.0 / _Curve.at(oval, phi).curvature.max())


def greatest_radius(oval: Oval) -> float:
    """Greatest radius of curvature of the exact curve [mm]; infinite where it is straight, if only at a point.

    Raises:
        ImpossibleOvalError: the oval can't exist.
    """
    check_oval(oval)
    if has_arcs(oval):
        return float(oval_outline(oval).segments.radius.max())
    return oval.length * oval.length / (2.0 * oval.width) if _exponent(oval) == 2.0 else inf
