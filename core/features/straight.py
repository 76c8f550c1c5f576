"""Features that run straight across a piece: their middle line goes where the curve that it follows goes."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, ClassVar, Final, Self

from msgspec.structs import replace

from core.features.follow import follow_offset
from core.features.kind import CURVE_WORDS, Kind
from core.part.schema import Coordinate, says
from core.words.verdicts import Sentence, plain

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from core.features.ground import Curves
    from core.geometry.lines.outline import Point

OFFSET: Final = "offset from centre"
Offset = Annotated[
    Coordinate,
    says("Offset", "This is the distance of its middle line from the seat centre, to the left of its direction."),
]


class Straight(Kind, frozen=True):
    """A strip at an ``angle`` [degrees], its middle line at an ``offset`` from the seat centre [mm]."""

    most: ClassVar = 200  # each may cross each: their work grows with the square of their number

    if TYPE_CHECKING:

        @property
        def angle(self) -> float:
            """Of the strip from +X [degrees]."""

        @property
        def offset(self) -> float:
            """Of its middle line from the seat centre, to the left of its direction [mm]."""

    def followed(self, was: Curves, now: Curves) -> tuple[Self, Sentence | None]:
        went = follow_offset(self.offset, self.angle, self.follows, was, now)
        offset = went.value[0]
        moved = self if offset == self.offset else replace(self, offset=offset)
        return moved, None if went.is_found else self._stuck(went.distance)

    def quantities(self, inset: Callable[[], float | None]) -> Iterator[tuple[str, float | Point]]:
        del inset
        yield OFFSET, self.offset

    def _stuck(self, past: float) -> Sentence:
        return Sentence.of(
            f"{plain(self.name)} can't follow {CURVE_WORDS[self.follows]}: it lies {{offset}} from the centre and "
            "would be drawn {past} past it, to the other side; it stays where it was: put it further out, or let it "
            f"{self.others()}",
            offset=abs(self.offset),
            past=abs(past),
        )
