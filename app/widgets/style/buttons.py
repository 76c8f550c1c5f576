"""What is pressed and what is switched: buttons, tools, boxes to tick, the ring of the focus."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QRectF
from PySide6.QtGui import QPalette
from PySide6.QtWidgets import (
    QPushButton,
    QStyle,
    QStyleOptionButton,
)

from app.widgets.style.marks import HAIR, RULE, has, paint_dot, paint_outline, paint_tick
from app.widgets.theme import ink

if TYPE_CHECKING:
    from PySide6.QtGui import QPainter
    from PySide6.QtWidgets import QStyleOption, QWidget


_Role = QPalette.ColorRole
_State = QStyle.StateFlag


def paint_focus(option: QStyleOption, painter: QPainter, widget: QWidget | None) -> None:
    """The ring round what has the focus; buttons have it round their fill, where it is seen."""
    if not isinstance(widget, QPushButton):
        paint_outline(painter, QRectF(option.rect), ink(option.palette).highlight, RULE)


def paint_button(option: QStyleOption, painter: QPainter, widget: QWidget | None) -> None:
    """An outline, a fill for the one that stands out, a rule under a word that is switched on."""
    inks, room = ink(option.palette), QRectF(option.rect)
    has_focus = has(option, _State.State_HasFocus)
    if has_focus:
        paint_outline(painter, room, inks.highlight, RULE)
    if _is_flat(option):
        if has(option, _State.State_On):
            painter.fillRect(QRectF(room.left(), room.bottom() - RULE, room.width(), RULE), inks.highlight)
        return
    aside = RULE + HAIR if has_focus else 0.0
    room.adjust(aside, max(1.0, aside), -aside, -max(1.0, aside))
    edge = inks.text if has(option, _State.State_Enabled) else inks.ghost
    if _is_filled(option, widget):
        fill = inks.quiet if has(option, _State.State_MouseOver) or edge == inks.ghost else inks.text
        paint_outline(painter, room, fill, HAIR, fill)
    else:
        is_lit = has(option, _State.State_MouseOver) or has(option, _State.State_Sunken)
        paint_outline(painter, room, edge, HAIR, inks.lit if is_lit and edge == inks.text else inks.paper)


def _is_flat(option: QStyleOption) -> bool:
    return isinstance(option, QStyleOptionButton) and bool(
        option.features & QStyleOptionButton.ButtonFeature.Flat  # a word that acts
    )


def _is_filled(option: QStyleOption, widget: QWidget | None) -> bool:
    is_default = isinstance(option, QStyleOptionButton) and bool(
        option.features & QStyleOptionButton.ButtonFeature.DefaultButton
    )
    return is_default or (widget is not None and bool(widget.property("filled")))


def tint_button(option: QStyleOption, widget: QWidget | None) -> None:
    """The words of a button: of a filled one as its ground, of a flat one quiet until it is meant."""
    inks = ink(option.palette)
    if _is_flat(option):
        is_on = has(option, _State.State_On) or has(option, _State.State_MouseOver)
        option.palette.setColor(_Role.ButtonText, inks.text if is_on else inks.quiet)
    elif _is_filled(option, widget):
        option.palette.setColor(_Role.ButtonText, inks.field)


def paint_tool(option: QStyleOption, painter: QPainter, _widget: QWidget | None) -> None:
    """A word that acts, underlined while it is on; with an outline unless it is flat."""
    inks = ink(option.palette)
    if not has(option, _State.State_AutoRaise):
        paint_outline(painter, QRectF(option.rect), inks.text, HAIR, inks.paper)
    elif has(option, _State.State_On):
        room = QRectF(option.rect)
        painter.fillRect(QRectF(room.left(), room.bottom() - RULE, room.width(), RULE), inks.highlight)
    elif has(option, _State.State_MouseOver) and has(option, _State.State_Enabled):
        painter.fillRect(option.rect, inks.lit)


def paint_check(option: QStyleOption, painter: QPainter, _widget: QWidget | None) -> None:
    """A box with or without its tick, or with a bar where only some are chosen."""
    inks, box = ink(option.palette), QRectF(option.rect)
    ink_of = inks.text if has(option, _State.State_Enabled) else inks.ghost
    is_on, is_part = has(option, _State.State_On), has(option, _State.State_NoChange)
    paint_outline(painter, box, ink_of if is_on else inks.ghost, HAIR, ink_of if is_on else inks.field)
    if is_on:
        paint_tick(painter, box, inks.field)
    elif is_part:
        painter.fillRect(QRectF(box.left() + 3, box.center().y() - 1, box.width() - 6, 2), ink_of)


def paint_radio(option: QStyleOption, painter: QPainter, _widget: QWidget | None) -> None:
    """A ring with or without its dot."""
    inks = ink(option.palette)
    dot = inks.text if has(option, _State.State_Enabled) else inks.ghost
    paint_dot(painter, QRectF(option.rect), inks.ghost, inks.field, dot if has(option, _State.State_On) else None)
