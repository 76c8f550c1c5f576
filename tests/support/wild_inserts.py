"""Random inserts for the random projects: every family, measured outlines too, and replacements for each."""

from __future__ import annotations

from math import acos, pi, sin
from typing import TYPE_CHECKING

import numpy as np
from msgspec.structs import replace

from core.geometry.lines.outline import Outline, bulge_through
from core.geometry.ovals.arcfit import fit_curve
from core.geometry.ovals.ovals import SIZED_FAMILIES, Family, measured_oval
from core.part.insert import Insert, Pressed, Rim
from core.part.materials import Material

if TYPE_CHECKING:
    from random import Random

_POINTS = 4001
_SOFT = [material for material in Material if material is not Material.RIGID]


def wild_insert(rng: Random, name: str = "old insert", *, is_rigid: bool = False) -> Insert:
    """An insert of any family."""
    length = rng.uniform(90.0, 300.0)
    width = length * rng.uniform(0.45, 0.98)
    rim = Rim(rng.uniform(3.0, 18.0), rng.uniform(4.0, 14.0), rng.choice([0.0, 0.0, 0.0, -0.7, 1.3]))
    other = Rim(max(rim.width + rng.uniform(-2.0, 2.0), 1.0), rim.thickness, rng.choice([0.0, 0.3]))
    insert = Insert(
        name,
        Family.OBROUND,
        length,
        width,
        rim,
        rng.uniform(20.0, 80.0),
        Material.RIGID if is_rigid or rng.random() < 0.25 else rng.choice(_SOFT),
        lid_rim=rng.choice([None, None, None, other]),
    )
    insert = _shaped(rng, insert)
    if insert.is_yielding and rng.random() < 0.05:
        shape = Pressed(rng.choice([Family.ELLIPSE, Family.OBROUND]), insert.width * rng.uniform(0.93, 1.02))
        insert = replace(insert, pressed=shape)
    return insert


def wild_replacement(rng: Random, old: Insert) -> Insert:
    """What the old insert is replaced by: the same again, one size of it changed, all of them, or another shape."""
    new = replace(old, name="new insert")
    match rng.randrange(8):
        case 0:
            return new
        case 1:
            return replace(new, height=old.height + rng.uniform(-5.0, 5.0))
        case 2:
            return replace(new, rim=replace(old.rim, width=max(old.rim.width + rng.uniform(-3.0, 3.0), 1.0)))
        case 3:
            return _shaped(rng, replace(new, pressed=None))
    lid_rim = rng.choice([None, old.lid_rim])
    rim = replace(old.rim, width=max(old.rim.width + rng.choice([0.0, rng.uniform(-3.0, 3.0)]), 1.0))
    new = replace(new, rim=rim, lid_rim=lid_rim, height=old.height + rng.choice([0.0, rng.uniform(-5.0, 5.0)]))
    if new.outline is not None:
        oval = measured_oval(Outline(new.outline).scaled(rng.uniform(0.95, 1.05)))
        return replace(new, length=oval.length, width=oval.width, outline=oval.vertices)
    length = old.length + rng.uniform(-9.0, 9.0)
    width = min(old.width + rng.uniform(-9.0, 9.0), length)
    if old.family is Family.CIRCLE:
        width = length
    radius = None if old.end_radius is None else old.end_radius + rng.choice([0.0, (width - old.width) / 2.0])
    return replace(new, length=length, width=width, end_radius=radius)


def _shaped(rng: Random, insert: Insert) -> Insert:
    """The insert in a family of its own, of about the length and width that it has."""
    family = rng.choice([*SIZED_FAMILIES, Family.MEASURED])
    length, width = insert.length, insert.width
    insert = replace(insert, family=family, end_radius=None, exponent=None, outline=None)
    match family:
        case Family.MEASURED:
            make = rng.choice([_egg, _wavy])
            oval = measured_oval(make(rng, length, width))
            return replace(insert, length=oval.length, width=oval.width, outline=oval.vertices)
        case Family.CIRCLE:
            return replace(insert, width=length)
        case Family.SUPERELLIPSE:
            return replace(insert, exponent=rng.uniform(2.05, 4.0))
        case Family.ROUNDED_RECTANGLE:
            return replace(insert, end_radius=rng.choice([None, width * rng.uniform(0.15, 0.5)]))
        case Family.FOUR_ARC:
            return replace(insert, end_radius=rng.choice([None, width * rng.uniform(0.2, 0.45)]))
        case _:
            return insert


def _egg(rng: Random, length: float, width: float) -> Outline:
    """Two ends of different radii and the straight sides that touch both: lines and arcs, nothing fitted."""
    big, small = width / 2.0, width / 2.0 * rng.uniform(0.55, 0.95)
    apart = max(length - big - small, (big - small) * 1.2 + 1.0)
    angle = acos((big - small) / apart)  # of the touching points, from the axis towards the small end
    x, y = np.cos(angle), sin(angle)
    low, high = (apart + small * x, -small * y), (apart + small * x, small * y)
    left_high, left_low = (big * x, big * y), (big * x, -big * y)
    return Outline(
        [
            [*low, bulge_through(low, high, (apart, 0.0), ccw=True)],
            [*high, 0.0],
            [*left_high, bulge_through(left_high, left_low, (0.0, 0.0), ccw=True)],
            [*left_low, 0.0],
        ]
    )


def _wavy(rng: Random, length: float, width: float) -> Outline:
    """A bent oval without symmetry, some with a hollow side, as a scan gives it: tangent arcs along a curve."""
    t = np.linspace(0.0, 2.0 * pi, _POINTS)
    a, b = length / 2.0, width / 2.0
    radius, rate = np.ones_like(t), np.zeros_like(t)
    for k, most in ((2, 0.02), (3, 0.025), (4, 0.01)):
        size, phase = rng.uniform(0.0, most), rng.uniform(0.0, 2.0 * pi)
        radius += size * np.cos(k * t - phase)
        rate -= k * size * np.sin(k * t - phase)
    points = np.column_stack((a * radius * np.cos(t), b * radius * np.sin(t)))
    along = np.column_stack((a * (rate * np.cos(t) - radius * np.sin(t)), b * (rate * np.sin(t) + radius * np.cos(t))))
    points[-1], along[-1] = points[0], along[0]
    chain = fit_curve(points, along / np.hypot(along[:, 0], along[:, 1])[:, None], 0.01)
    return Outline(chain[:-1])
