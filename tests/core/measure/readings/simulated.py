"""Readings of an oval that is known, as a shop would take them: what the tests of several modules share."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from msgspec.structs import replace

from core.measure.readings.predict import predicted
from core.part.readings import Instrument, Reading, ReadingKind, Readings

if TYPE_CHECKING:
    from collections.abc import Sequence

    from core.geometry.ovals.ovals import Oval

K = ReadingKind
LENGTH, WIDTH = Reading(K.LENGTH), Reading(K.WIDTH)
JAWS_45, JAWS_30 = Reading(K.JAWS, angle=45.0), Reading(K.JAWS, angle=30.0)
HALF_WAY, THREE_QUARTERS = Reading(K.WIDTH_AT, along=60.0), Reading(K.WIDTH_AT, along=90.0)
TAPE = Reading(K.TAPE, along=0.3, instrument=Instrument.TAPE)

_HALF_STEPS = {Instrument.CALLIPER: 0.01, Instrument.TAPE: 0.5, Instrument.RULE: 0.25, Instrument.GAUGE: 0.25}


def grown(oval: Oval, by: float) -> Oval:
    """The oval grown all round [mm]; an ellipse as the ellipse of the grown axes, which differs by little."""
    radius = None if oval.end_radius is None else oval.end_radius + by
    return replace(oval, length=oval.length + 2 * by, width=oval.width + 2 * by, end_radius=radius)


def filled(row: Reading, values: Sequence[float | None]) -> Reading:
    return Reading(
        row.kind, tuple(values), angle=row.angle, along=row.along, turns=row.turns, instrument=row.instrument,
        weight=row.weight, end=row.end, place=row.place,
    )  # fmt: skip


def simulated(
    oval: Oval,
    rows: Sequence[Reading],
    samples: int,
    rng: np.random.Generator,
    *,
    noise: float = 0.1,
    growth: float = 0.2,
    instruments: bool = True,
) -> Readings:
    """A table read off samples of an oval that differ in growth all round.

    Args:
        noise: standard deviation of each reading [mm].
        growth: standard deviation of the growth [mm].
        instruments: whether each instrument is off by up to half a step, the same for all samples.
    """
    grew = rng.normal(0.0, growth, samples)
    exact = np.array([[predicted(grown(oval, by), row) for by in grew] for row in rows])
    read = exact + rng.normal(0.0, noise, exact.shape)
    if instruments:
        half = np.array([_HALF_STEPS[row.instrument] for row in rows])
        read += (rng.uniform(-1.0, 1.0, len(rows)) * half)[:, None]
    return Readings(
        tuple(f"sample {i + 1}" for i in range(samples)),
        tuple(filled(row, values) for row, values in zip(rows, read.tolist(), strict=True)),
    )


def exact(oval: Oval, rows: Sequence[Reading], samples: int = 3, spread: float = 0.02) -> Readings:
    """A table without noise: every sample's readings lie ``spread`` apart [mm], round the exact ones."""
    offsets = (np.arange(samples) - (samples - 1) / 2.0) * spread
    table = [filled(row, [float(predicted(oval, row) + off) for off in offsets]) for row in rows]
    return Readings(tuple(f"sample {i + 1}" for i in range(samples)), tuple(table))
