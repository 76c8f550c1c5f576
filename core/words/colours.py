"""The one drawing language in colour: every ink of the window, and what stands for it in a picture on white paper.

A colour is written once, here, for a light and a dark ground; on any other, every ink that carries text or a line is
moved from it until it reaches its contrast. The pairs that must be told apart (go and no-go, tight and loose) lie on
the blue-yellow axis, which colour-blind eyes keep.
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


class Ink(NamedTuple):
    """One ink: its colours as ``#rrggbb`` on the usual light and dark grounds, and what it must reach on any other.

    Attributes:
        light: also on the white paper of a picture.
        dark: on a dark ground.
        contrast: with every ground; 0 is none in particular.
    """

    light: str
    dark: str
    contrast: float = 0.0


INKS: Final[Mapping[str, Ink]] = MappingProxyType(
    {
        "ground": Ink("#efebe1", "#221f1c"),
        "paper": Ink("#fbf9f2", "#2d2926"),
        "field": Ink("#ffffff", "#1b1816"),
        "lit": Ink("#e2eef2", "#203640"),
        "insert_fill": Ink("#ead6be", "#493928"),
        "neutral": Ink("#d9d2c4", "#443f39"),
        "ghost": Ink("#857d6e", "#91897b", SHAPE_CONTRAST),
        "line": Ink("#25221e", "#eee8dc", TEXT_CONTRAST),
        "text": Ink("#25221e", "#eee8dc", TEXT_CONTRAST),
        "quiet": Ink("#625b50", "#b4ab9c", TEXT_CONTRAST),
        "highlight": Ink("#00648f", "#62c1ec", TEXT_CONTRAST),
        "go": Ink("#0a6b62", "#55cfbe", TEXT_CONTRAST),
        "marginal": Ink("#855400", "#edb245", TEXT_CONTRAST),
        "no_go": Ink("#b0103e", "#ff8299", TEXT_CONTRAST),
        "machine": Ink("#6a3fa0", "#c3a0f2", TEXT_CONTRAST),
        "keep_out": Ink("#9c4433", "#e69a86", TEXT_CONTRAST),
        "dimension": Ink("#33455e", "#b4c5dc", TEXT_CONTRAST),
        "moved": Ink("#8f2fb0", "#dc93f2", TEXT_CONTRAST),
        "tight": Ink("#bf4e18", "#ef8c52", SHAPE_CONTRAST),
        "loose": Ink("#2a69b0", "#7db4ee", SHAPE_CONTRAST),
    }
)
"""By name; what each is for is said where the window has its inks (`app.widgets.theme.Ink`)."""

VERDICT_INKS: Final[Mapping[Verdict, Literal["go", "marginal", "no_go"]]] = MappingProxyType(
    {Verdict.GO: "go", Verdict.MARGINAL: "marginal", Verdict.NO_GO: "no_go"}
)


def printed(name: str) -> str:
    """What stands for an ink in a picture, as ``#rrggbb``."""
    return INKS[name].light


def printed_rgb(name: str) -> Rgb:
    """What stands for an ink in a picture."""
    red, green, blue = bytes.fromhex(INKS[name].light[1:])
    return red, green, blue
