"""Fonts and the room that texts take."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QFont, QFontInfo, QFontMetrics

WRAP = Qt.TextFlag.TextWordWrap | Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop
_LEAST_PIXELS: Final = 11


def bold(font: QFont) -> QFont:
    """The same font, of weight 600: titles, results, and the one word of what is chosen."""
    made = QFont(font)
    made.setWeight(QFont.Weight.DemiBold)
    return made


def verdict(font: QFont) -> QFont:
    """The verdict's, once in a window."""
    return bold(_scaled(font, 1.7))


def title(font: QFont) -> QFont:
    """What stands over a group."""
    return bold(_scaled(font, 1.15))


def drawing(font: QFont) -> QFont:
    """What stands in a drawing."""
    return _scaled(font, 0.95)


def small(font: QFont) -> QFont:
    """What only accompanies; never under 11 pixels, unless the reading size itself is."""
    pixels = QFontInfo(font).pixelSize()
    return _scaled(font, max(0.88, min(1.0, _LEAST_PIXELS / pixels))) if pixels else font


def figures(font: QFont) -> QFont:
    """With figures of one width, to stand under each other at the right; the whole application's."""
    made = QFont(font)
    made.setFeature(QFont.Tag("tnum"), 1)
    return made


def _scaled(font: QFont, em: float) -> QFont:
    made = QFont(font)
    if font.pixelSize() > 0:
        made.setPixelSize(round(font.pixelSize() * em))
    else:
        made.setPointSizeF(font.pointSizeF() * em)
    return made


def text_height(font: QFont, width: int, text: str) -> int:
    """How tall a text is when it is wrapped at a width."""
    return QFontMetrics(font).boundingRect(QRect(0, 0, width, 100_000), int(WRAP), text).height() if text else 0
