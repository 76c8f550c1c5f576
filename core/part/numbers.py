"""How many of each thing a project may hold: as many as are answered in seconds and in a gigabyte or so.

Measured with the scale benchmark: 5,000 holes take a second, 1,000 lugs two, 160 ribs that all cross two, an outline of
10,000 vertices fifteen.
"""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Final

from core.part.fields import RefusedError

if TYPE_CHECKING:
    from collections.abc import Iterator

    from core.part.insert import Insert
    from core.part.project import Project

FEATURES: Final = 5_000
STUDS: Final = 200
NEIGHBOURS: Final = 500
VERTICES: Final = 10_000
CANDIDATES: Final = 500
READINGS: Final = 500
SAMPLES: Final = 200


def refuse_too_many(project: Project) -> None:
    """Check how many of each thing a project holds.

    Raises:
        RefusedError: more than can be answered; it names the list, how many there are, and how many may be.
    """
    for where, what, count, most in _counts(project):
        if count > most:
            raise RefusedError(
                where,
                f"has {count:,} {what}; at most {most:,} can be worked with",
                hint="Leave out what is not needed.",
            )


def _counts(project: Project) -> Iterator[tuple[str, str, int, int]]:
    housing = project.housing
    for where, piece in (("housing.base.features", housing.base), ("housing.lid.features", housing.lid)):
        features = piece.features if piece is not None else ()
        yield where, "features", len(features), FEATURES
        for kind, count in Counter(type(feature) for feature in features).items():
            yield where, f"of the kind {kind.word()}", count, kind.most
    yield "housing.studs", "studs", len(housing.studs), STUDS
    yield "housing.keep_outs", "neighbours", len(housing.keep_outs), NEIGHBOURS
    yield "candidates", "candidates", len(project.candidates), CANDIDATES
    inserts = {"old_insert": project.old_insert, "new_insert": project.new_insert}
    inserts |= {f"candidates[{i}]": candidate for i, candidate in enumerate(project.candidates[:CANDIDATES])}
    for name, insert in inserts.items():
        yield from _of_insert(name, insert)


def _of_insert(name: str, insert: Insert) -> Iterator[tuple[str, str, int, int]]:
    yield f"{name}.outline", "vertices", len(insert.outline or ()), VERTICES
    yield f"{name}.readings.rows", "readings", len(insert.readings.rows), READINGS
    yield f"{name}.readings.samples", "samples", len(insert.readings.samples), SAMPLES
