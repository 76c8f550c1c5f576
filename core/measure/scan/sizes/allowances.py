"""What a picture can't tell of itself, allowed for: a shadow, an edge off the plane of the reference, a pencil's lean.

These are limits that the user sets, no spreads: how large the effect may be at most. None of them averages out, and a
shadow only ever adds. So they widen an interval by their whole sum, beside the spread (JCGM 100:2008, F.2.4.5, from
memory: the bound of an effect that is not corrected is added to the expanded uncertainty); to a standard uncertainty
they give their limit over √3, as of an even spread (4.3.7 there).
"""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING, Final

from msgspec import Struct

from core.measure.scan.results import Scale, ScanError

if TYPE_CHECKING:
    from core.measure.scan.results import Aslant

_NORMAL_95: Final = 1.96  # standard deviations that hold 95 % of a normal distribution: any table of it


class Allowances(Struct, frozen=True):
    """How much each effect may be at most [mm].

    Attributes:
        shadow: a shadow along one side of the edge, and of a disc or plate that gives the scale.
        off_plane: height of the edge over or under the plane that the scale holds in: the glass, or the reference.
        lens: from the lens to that plane, along the light's way.
        pencil: difference in how far the pencil ran outside the part and outside the known disc.
    """

    shadow: float
    off_plane: float
    lens: float
    pencil: float

    @property
    def parallax(self) -> float:
        """By what part of itself a length may come out too large or too small for being off the plane [1].

        Raises:
            ScanError: the edge would be as far off the plane as the lens is.
        """
        if self.off_plane >= self.lens:
            raise ScanError(
                "allowances",
                "the edge can't be as far off the plane as the lens is",
                hint="Type the way from the lens to the plane, and how far the edge may be off the plane.",
            )
        return self.off_plane / (self.lens - self.off_plane)


NONE: Final = Allowances(0.0, 0.0, inf, 0.0)
"""Points that no camera saw."""


def scale_within(allowances: Allowances, view: Scale | Aslant) -> float:
    """Half the 95 % interval of the scale, a shadow on the thing that gave it allowed for [1].

    Args:
        allowances: the limits.
        view: how pixels become millimetres.
    """
    return _NORMAL_95 * view.relative + allowances.shadow / reference_of(view)


def reference_of(view: Scale | Aslant) -> float:
    """Length of the thing whose edge gave the scale [mm]; infinite where none did, or only its corners count."""
    return view.reference if isinstance(view, Scale) else inf


def widening(allowances: Allowances, length: float, reference: float, *, is_traced: bool) -> float:
    """By how much the allowances widen what a length is known within, about [mm].

    Args:
        allowances: the limits.
        length: that was fitted [mm].
        reference: length of the thing whose edge gave the scale [mm]; infinite where none did.
        is_traced: whether the edge is that of a pencil's line.
    """
    a = allowances
    ends = a.shadow + (2.0 * a.pencil if is_traced else 0.0)
    return ends + length * (a.parallax + a.shadow / reference)


START: Final = Allowances(shadow=0.2, off_plane=0.5, lens=300.0, pencil=0.1)
"""What is allowed until the user says otherwise: common practice, no source."""

_START: Final = "The start value is common practice, without a source"
ORIGINS: Final = {
    "shadow": f"{_START}: the broken edge of a part that lies flat on the glass. Zoom in on all sides; type 0 where "
    "there is no shadow, or what you see.",
    "off_plane": f"{_START}: half a rounded edge. Type the height of the edge over the glass, or over the disc, plate "
    "or rule; 0 where it lies in their plane.",
    "lens": f"{_START}: the folded way of light in a flatbed scanner with a lens. For a photograph, type how far the "
    "camera was.",
    "pencil": f"{_START}: a sharp pencil that leans a little more or less.",
}
"""Where the start values come from, and when another is right; whole sentences."""
