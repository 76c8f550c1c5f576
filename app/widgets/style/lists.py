"""Menus, hints, heads and rows of lists, and the lines that part columns."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QPalette
from PySide6.QtWidgets import (
    QStyle,
)

from app.widgets.style.marks import RULE, has
from app.widgets.theme import ink

if TYPE_CHECKING:
    from PySide6.QtGui import QPainter
    from PySide6.QtWidgets import QStyleOption, QWidget


_Role = QPalette.ColorRole
_State = QStyle.StateFlag


def paint_over(option: QStyleOption, painter: QPainter, _widget: QWidget | None) -> None:
    """The ground of menus and hints: paper in a thin line."""
    inks = ink(option.palette)
    painter.fillRect(option.rect, inks.field)
    painter.setPen(inks.ghost)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawRect(option.rect.adjusted(0, 0, -1, -1))


def paint_menu_bar(option: QStyleOption, painter: QPainter, _widget: QWidget | None) -> None:
    """The room beside the menus."""
    painter.fillRect(option.rect, ink(option.palette).ground)


def paint_menu_title(option: QStyleOption, painter: QPainter, _widget: QWidget | None) -> None:
    """The name of a menu, underlined while it is open."""
    inks, room = ink(option.palette), QRectF(option.rect)
    painter.fillRect(room, inks.ground)
    if has(option, _State.State_Selected):
        painter.fillRect(QRectF(room.left(), room.bottom() - RULE, room.width(), RULE), inks.highlight)
    flags = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextShowMnemonic | Qt.TextFlag.TextSingleLine
    painter.setPen(inks.text if has(option, _State.State_Enabled) else inks.quiet)
    painter.drawText(option.rect, int(flags), option.text)  # type: ignore[attr-defined]


def tint_chosen(option: QStyleOption, _widget: QWidget | None) -> None:
    """What is chosen in a list or a menu is lit, and its words keep their colour."""
    inks = ink(option.palette)
    option.palette.setColor(_Role.Highlight, inks.lit)
    option.palette.setColor(_Role.HighlightedText, inks.text)


def paint_splitter(option: QStyleOption, painter: QPainter, _widget: QWidget | None) -> None:
    """The hair line between two columns."""
    room, color = option.rect, ink(option.palette).neutral
    if room.width() < room.height():
        painter.fillRect(room.center().x(), room.top(), 1, room.height(), color)
    else:
        painter.fillRect(room.left(), room.center().y(), room.width(), 1, color)


def paint_head(option: QStyleOption, painter: QPainter, _widget: QWidget | None) -> None:
    """The ground of a column's head, over a hair line."""
    inks, room = ink(option.palette), option.rect
    painter.fillRect(room, inks.ground)
    painter.fillRect(room.left(), room.bottom(), room.width(), 1, inks.neutral)


def tint_head(option: QStyleOption, _widget: QWidget | None) -> None:
    """The words of a column's head only accompany."""
    option.palette.setColor(_Role.ButtonText, ink(option.palette).quiet)


def paint_nothing(_option: QStyleOption, _painter: QPainter, _widget: QWidget | None) -> None:
    """Where Fusion has a box or a shadow."""
