"""Stated intervals against simulated samples: what all readings of a sample have in common does not average out.

The samples of a make are drawn about nominal sizes; each has grown all round by its own amount, which is in all of its
readings, and each reading is off by its own. The next one bought is drawn from the same make. All is seeded.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pytest

from core.geometry.ovals.ovals import Family, Oval
from core.measure.readings.study import study
from core.part.readings import Reading, ReadingKind, Readings, SizeName
from tests.core.measure.readings.simulated import HALF_WAY, JAWS_45, LENGTH, THREE_QUARTERS, WIDTH, simulated

if TYPE_CHECKING:
    from collections.abc import Iterator

    from core.measure.readings.results import Study

F, K, S = Family, ReadingKind, SizeName
OVALS = (
    Oval(F.OBROUND, 219.2, 139.6),
    Oval(F.FOUR_ARC, 240.0, 140.0, 45.0),
    Oval(F.ROUNDED_RECTANGLE, 240.0, 140.0, 30.0),
    Oval(F.CIRCLE, 230.0, 230.0),
)
ROWS = (
    (LENGTH, WIDTH),
    (LENGTH, WIDTH, JAWS_45, HALF_WAY),
    (LENGTH, WIDTH, JAWS_45, HALF_WAY, THREE_QUARTERS),
    (*(Reading(K.JAWS, angle=float(angle)) for angle in (0, 20, 40, 50, 70, 90)), HALF_WAY),
)


def makes(sets: int, samples: int, rng: np.random.Generator) -> Iterator[tuple[Oval, float, Study]]:
    """Random makes: nominal oval, spread of the growth, and what the readings of a few samples say."""
    for _ in range(sets):
        oval = OVALS[rng.integers(len(OVALS))]
        fewest = 1 if oval.end_radius is not None else 0  # three sizes want more than two readings
        rows = ROWS[rng.integers(fewest, len(ROWS))]
        growth = float(rng.uniform(0.1, 0.4))
        # Readings scatter by a third of what samples differ by, at most: else the next one bought differs by less than
        # its readings would.
        readings = simulated(oval, rows, samples, rng, noise=growth / 3.0 * float(rng.uniform()), growth=growth)
        yield oval, growth, study(readings, oval.family)


def held(sets: int, samples: int, seed: int) -> tuple[float, float]:
    """How often the mean's interval holds the nominal length or width, and the next one's that of the next one."""
    rng = np.random.default_rng(seed)
    mean = following = count = 0
    for oval, growth, found in makes(sets, samples, rng):
        for size, nominal in ((S.LENGTH, oval.length), (S.WIDTH, oval.width)):
            estimate = found.size(size)
            assert estimate is not None
            count += 1
            mean += abs(estimate.value - nominal) <= estimate.expanded
            bought = nominal + 2.0 * rng.normal(0.0, growth)
            following += estimate.next_one is not None and abs(estimate.value - bought) <= estimate.next_one
    return mean / count, following / count


@pytest.mark.parametrize("samples", [2, 3, 5])
def test_intervals_of_few_samples_hold_as_often_as_they_say(samples: int) -> None:
    mean, following = held(400, samples, 10 + samples)
    assert 0.93 <= mean <= 0.97
    assert 0.93 <= following <= 0.97 if samples > 2 else following == 0.0


@pytest.mark.hard
@pytest.mark.parametrize("samples", [2, 3, 4, 8])
def test_intervals_of_few_samples_hold_as_often_as_they_say_in_thousands_of_makes(samples: int) -> None:
    mean, following = held(2000, samples, 100 + samples)
    assert 0.935 <= mean <= 0.965
    assert 0.935 <= following <= 0.965 if samples > 2 else following == 0.0


@pytest.mark.parametrize("samples", [2, 3, 5])
@pytest.mark.parametrize("places", [1, 4])
def test_more_places_on_the_same_samples_are_no_more_samples(samples: int, places: int) -> None:
    # Rim width at several places: a sample's rim is wide or narrow all round, and uneven a little.
    rng = np.random.default_rng(samples + places)
    sets, mean, following = 1500, 0, 0
    for _ in range(sets):
        own = 15.0 + rng.normal(0.0, 0.2, samples)
        rows = tuple(
            Reading(K.RIM_WIDTH, tuple((own + rng.normal(0.0, 0.05, samples)).tolist()), place=str(place))
            for place in range(places)
        )
        estimate = study(Readings(tuple("abcde"[:samples]), rows), F.OBROUND).size(S.RIM_WIDTH)
        assert estimate is not None
        mean += abs(estimate.value - 15.0) <= estimate.expanded
        bought = 15.0 + rng.normal(0.0, 0.2) + rng.normal(0.0, 0.05) / places**0.5
        following += estimate.next_one is not None and abs(estimate.value - bought) <= estimate.next_one
    assert 0.93 <= mean / sets <= 0.97
    assert 0.93 <= following / sets <= 0.97 if samples > 2 else following == 0
