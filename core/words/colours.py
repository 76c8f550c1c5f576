"""The one drawing language in colour: every ink of the window, and what stands for it in a picture on white paper.

A hue is written once, here; how light each ink comes out in the window follows from the paper it is seen on, so that
every ink that carries text or a line reaches its contrast in a light and in a dark palette alike. The pairs that must
be told apart (go and no-go, tight and loose) lie on the blue-yellow axis, which colour-blind eyes keep.
"""

from __future__ import annotations

from types import MappingProxyType
from typing import TYPE_CHECKING, Final, Literal, NamedTuple, TypeAlias

from core.words.verdicts import Verdict

if TYPE_CHECKING:
    from collections.abc import Mapping

Rgb: TypeAlias = tuple[int, int, int]
"""Red, green, blue, 0 to 255."""

TEXT_CONTRAST: Final = 4.5
"""Least contrast of text, and of what stands for text, with the paper (WCAG 2.1, success criterion 1.4.3)."""
SHAPE_CONTRAST: Final = 3.0
"""Least contrast of lines and fills that carry a meaning of their own (WCAG 2.1, success criterion 1.4.11)."""
LIGHTNESS: Final = (0.42, 0.62)
"""Of a hue before it is mixed, on light and on dark paper, 0 to 1."""


class Ink(NamedTuple):
    """How one ink is mixed, and what stands for it in a picture.

    Attributes:
        hue: degrees and saturation, 0 to 1; None is the text's own colour.
        contrast: with the paper, which it reaches by going towards black or white; 0 is none in particular.
        text: part of the way to the text's colour that the hue is mixed, 0 to 1.
        paper: then part of the way to the paper, light and dark.
        printed: in a picture on white paper, as ``#rrggbb``; empty where pictures have no such ink.
    """

    hue: tuple[float, float] | None = None
    contrast: float = 0.0
    text: float = 0.0
    paper: tuple[float, float] = (0.0, 0.0)
    printed: str = ""


INKS: Final[Mapping[str, Ink]] = MappingProxyType(
    {
        "line": Ink(printed="#1c1f24"),
        "ghost": Ink(contrast=SHAPE_CONTRAST, paper=(0.55, 0.55), printed="#8d9196"),
        "insert_fill": Ink((30, 0.62), paper=(0.72, 0.68), printed="#ead9b8"),
        "machine": Ink((272, 0.42), TEXT_CONTRAST, printed="#5a4a78"),
        "keep_out": Ink((8, 0.35), SHAPE_CONTRAST),
        "tight": Ink((18, 0.85), SHAPE_CONTRAST, printed="#d6700c"),
        "loose": Ink((212, 0.75), SHAPE_CONTRAST, printed="#215ca8"),
        "neutral": Ink(paper=(0.80, 0.80), printed="#f4f2ec"),
        "highlight": Ink((198, 0.95), TEXT_CONTRAST),
        "moved": Ink((286, 0.60), SHAPE_CONTRAST),
        "go": Ink((176, 0.85), TEXT_CONTRAST, printed="#1b6e5a"),
        "marginal": Ink((38, 0.90), TEXT_CONTRAST, printed="#8a6100"),
        "no_go": Ink((348, 0.75), 5.5, printed="#a02c2c"),
        "dimension": Ink((215, 0.30), TEXT_CONTRAST, text=0.35),
        "text": Ink(),
        "quiet": Ink(contrast=TEXT_CONTRAST, paper=(0.38, 0.38)),
    }
)
"""By name; the text's own colour reaches 7 to 1 before anything is mixed of it."""

VERDICT_INKS: Final[Mapping[Verdict, Literal["go", "marginal", "no_go"]]] = MappingProxyType(
    {Verdict.GO: "go", Verdict.MARGINAL: "marginal", Verdict.NO_GO: "no_go"}
)


def printed(name: str) -> str:
    """What stands for an ink in a picture, as ``#rrggbb``."""
    return INKS[name].printed


def printed_rgb(name: str) -> Rgb:
    """What stands for an ink in a picture."""
    red, green, blue = bytes.fromhex(INKS[name].printed[1:])
    return red, green, blue
