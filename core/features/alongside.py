"""Features that run inside a curve of their piece: they go where it goes, or hold on to the old one."""

from __future__ import annotations

from typing import TYPE_CHECKING, Self

from msgspec.structs import replace

from core.features.kind import Kind

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from core.features.ground import Curves
    from core.geometry.lines.outline import Point
    from core.part.curve import HeldCurve
    from core.words.verdicts import Sentence


class Alongside(Kind, frozen=True):
    """A feature whose edge lies ``inset`` inside a curve [mm], or is ``held``, as it was, since it left that curve."""

    if TYPE_CHECKING:

        @property
        def inset(self) -> float:
            """From the curve to its edge [mm]."""

        @property
        def held(self) -> HeldCurve | None:
            """Its edge where it no longer follows the curve."""

    def followed(self, was: Curves, now: Curves) -> tuple[Self, Sentence | None]:
        del was, now  # its distance from the curve tells where it is
        return self, None

    def quantities(self, inset: Callable[[], float | None]) -> Iterator[tuple[str, float | Point]]:
        del inset
        yield "inset", self.inset

    def _held_inside(self, curve: HeldCurve | None) -> Self:
        """The same with its edge held where it now lies inside its curve."""
        if curve is None or self.held is not None:
            return self
        return replace(self, held=curve.inward(self.inset))
