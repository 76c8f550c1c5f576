"""Outlines that nearly coincide: their areas close, and are those that shapely finds on fine chords."""

from __future__ import annotations

from functools import reduce
from random import Random
from typing import TYPE_CHECKING

import numpy as np
import pytest
import shapely

from core.geometry.lines.outline import circle_outline
from core.geometry.ovals.ovals import Family, Oval, oval_outline
from core.geometry.parallels.parallel import parallel
from core.geometry.regions.closing import PARTED_MM, combine
from core.geometry.regions.region import Arrangement, Step, UnclosedError
from core.words.errors import FoldsOverError

if TYPE_CHECKING:
    from core.geometry.lines.outline import Outline

CHORD_MM = 1e-3


def shape(rng: Random) -> Outline:
    """A circle or an oval of any kind."""
    length = rng.uniform(20.0, 250.0)
    width = length * rng.uniform(0.4, 0.99)
    family = rng.choice([f for f in Family if f is not Family.MEASURED])
    if family is Family.CIRCLE:
        return circle_outline((rng.uniform(-20.0, 20.0), rng.uniform(-20.0, 20.0)), rng.uniform(2.0, 90.0))
    radius = width * rng.uniform(0.05, 0.4) if family is Family.ROUNDED_RECTANGLE else None
    exponent = rng.uniform(2.1, 4.0) if family is Family.SUPERELLIPSE else None
    return oval_outline(Oval(family, length, width, radius, exponent))


def beside(rng: Random, outline: Outline) -> Outline:
    """The same but for a hair, 1e-13 to 0.01 mm: moved, turned, scaled, parallel; or a circle that touches it."""
    by = 10.0 ** rng.uniform(-13.0, -2.0) * rng.choice([-1.0, 1.0])
    match rng.randrange(5):
        case 0:
            return outline.moved(by, by * rng.uniform(-1.0, 1.0))
        case 1:
            return outline.turned(by / 100.0)
        case 2:
            return outline.scaled(1.0 + by / 100.0)
        case 3:
            try:
                return parallel(outline.moved(by, 0.0), by * rng.uniform(-3.0, 3.0))
            except FoldsOverError:
                return outline.moved(by, 0.0)
        case _:
            station, radius = np.array([rng.uniform(0.0, outline.length)]), rng.uniform(1.0, 30.0)
            sense = rng.choice([-1.0, 1.0])
            x, y = (outline.points_at(station) + sense * outline.normals_at(station) * (radius + by))[0].tolist()
            return circle_outline((x, y), radius)


def near(seed: int) -> tuple[list[Outline], list[Step]]:
    """Two to five outlines that nearly coincide, and steps over them."""
    rng = Random(f"near {seed}")  # noqa: S311 - invented shapes
    outlines = [shape(rng)]
    for _ in range(rng.choice([1, 1, 2, 3, 4])):
        outlines.append(beside(rng, rng.choice(outlines)))
    order = rng.sample(range(len(outlines)), len(outlines))
    return outlines, [Step(i == 0 or rng.random() < 0.5, (k,)) for i, k in enumerate(order)]


def closes_as_shapely_says(seed: int) -> bool:
    """Held against shapely; whether the outlines had to be parted for it."""
    outlines, steps = near(seed)
    polygons = [shapely.Polygon(outline.chords(CHORD_MM)).buffer(0) for outline in outlines]
    region = combine(outlines, steps)

    def after(area: shapely.Geometry, step: Step) -> shapely.Geometry:
        polygon = polygons[step.inside[0]]
        return area.union(polygon) if step.add else area.difference(polygon)

    wanted = reduce(after, steps, shapely.Polygon())
    round_all = sum(outline.length for outline in outlines)
    assert region.area == pytest.approx(wanted.area, abs=round_all * (CHORD_MM + PARTED_MM))
    try:
        Arrangement(outlines).fold(steps)
    except UnclosedError:
        return True
    return False


def test_outlines_that_nearly_coincide_close() -> None:
    for seed in range(60):
        closes_as_shapely_says(seed)


def test_outlines_whose_boundary_misses_a_side_are_parted_by_a_hair() -> None:
    assert closes_as_shapely_says(1255)


@pytest.mark.hard
@pytest.mark.parametrize("first", range(0, 20000, 1000))
def test_outlines_that_nearly_coincide_close_in_thousands(first: int) -> None:
    assert sum(closes_as_shapely_says(seed) for seed in range(first, first + 1000)) < 20


def test_an_outline_that_crosses_itself_is_still_refused() -> None:
    from core.geometry.lines.outline import polygon_outline

    bow = polygon_outline([(0.0, 0.0), (10.0, 10.0), (10.0, 0.0), (0.0, 10.0)])
    other = circle_outline((5.0, 2.0), 4.0)
    with pytest.raises(UnclosedError, match="the boundary can't be closed"):
        combine([bow, other], [Step(add=True, inside=(0,)), Step(add=False, inside=(1,))])
