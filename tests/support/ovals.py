"""Areas of ovals by their formulas."""

from math import gamma

from core.geometry.ovals.ovals import Family, Oval, has_arcs, oval_outline


def exact_area(oval: Oval) -> float:
    """4ab Gamma(1 + 1/n)² / Gamma(1 + 2/n) [mm²], which is pi a b for n = 2; of a kind with arcs by its outline."""
    if has_arcs(oval):
        return oval_outline(oval).area
    n = 2.0 if oval.family is Family.ELLIPSE else oval.exponent or 2.5
    return oval.length * oval.width * gamma(1.0 + 1.0 / n) ** 2 / gamma(1.0 + 2.0 / n)
