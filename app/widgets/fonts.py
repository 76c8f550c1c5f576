"""Fonts and the room that texts take."""

from __future__ import annotations

from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QFont, QFontMetrics

WRAP = Qt.TextFlag.TextWordWrap | Qt.AlignmentFlag.AlignLeft | Qt.AlignmentFlag.AlignTop


def bold(font: QFont) -> QFont:
    """The same font, bold."""
    made = QFont(font)
    made.setBold(True)
    return made


def text_height(font: QFont, width: int, text: str) -> int:
    """How tall a text is when it is wrapped at a width."""
    return QFontMetrics(font).boundingRect(QRect(0, 0, width, 100_000), int(WRAP), text).height() if text else 0
