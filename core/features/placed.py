"""Features that have one place: they go where their place goes."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, Self

from msgspec.structs import replace

from core.features.follow import follow_point
from core.features.kind import CURVE_WORDS, Kind
from core.words.verdicts import Sentence, plain

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from core.features.ground import Curves
    from core.geometry.lines.outline import Point

PLACE: Final = "place (from centre)"


class Placed(Kind, frozen=True):
    """A feature with a centre ``x``, ``y`` [mm]."""

    if TYPE_CHECKING:

        @property
        def x(self) -> float:
            """Along the long axis, from the seat centre [mm]."""

        @property
        def y(self) -> float:
            """Across the long axis, from the seat centre [mm]."""

    @property
    def at(self) -> Point:
        """Its centre [mm]."""
        return self.x, self.y

    def followed(self, was: Curves, now: Curves) -> tuple[Self, Sentence | None]:
        went = follow_point(self.at, self.follows, was, now)
        moved = self if went.value == self.at else replace(self, x=went.value[0], y=went.value[1])
        return moved, None if went.is_found else self._stuck(went.distance)

    def quantities(self, inset: Callable[[], float | None]) -> Iterator[tuple[str, float | Point]]:
        del inset
        yield PLACE, self.at

    def _stuck(self, distance: float) -> Sentence:
        curve = CURVE_WORDS[self.follows]
        return Sentence.of(
            f"{plain(self.name)} can't follow {curve}: {{far}} {'inside' if distance < 0.0 else 'outside'} it no one "
            "place lies square on the new one, for it is past a centre of curvature, beyond a corner or midway between "
            f"two sides; it stays where it was: put it nearer to {curve}, or let it {self.others()}",
            far=abs(distance),
        )
