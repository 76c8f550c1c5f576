"""What can be typed in, chosen from or moved: fields, frames, sliders, bars."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QRect, QRectF, Qt
from PySide6.QtGui import QPainter, QPalette
from PySide6.QtWidgets import (
    QAbstractItemView,
    QAbstractScrollArea,
    QFrame,
    QStyle,
    QStyleOptionFrame,
    QStyleOptionProgressBar,
)

from app.widgets.style.marks import HAIR, RULE, has, paint_arrow, paint_dot, paint_field, paint_outline
from app.widgets.theme import ink

if TYPE_CHECKING:
    from PySide6.QtGui import QColor
    from PySide6.QtWidgets import QStyleOption, QStyleOptionSlider, QWidget

    from app.widgets.theme import Ink

_Role = QPalette.ColorRole
_State = QStyle.StateFlag


def _rule(option: QStyleOption, widget: QWidget | None, inks: Ink) -> QColor:
    """Of a field: by whether its text is refused, and by the focus."""
    if getattr(widget, "is_refused", False):
        return inks.no_go
    return inks.highlight if has(option, _State.State_HasFocus) else inks.ghost


def paint_input(option: QStyleOption, painter: QPainter, widget: QWidget | None) -> None:
    """A field by its state: enabled, with the focus, refused."""
    inks = ink(option.palette)
    rule = _rule(option, widget, inks)
    ground = option.palette.color(_Role.Base) if has(option, _State.State_Enabled) else inks.ground
    paint_field(painter, option.rect, inks, ground=ground, rule=rule, is_strong=rule != inks.ghost)


def paint_line_edit(option: QStyleOption, painter: QPainter, widget: QWidget | None) -> None:
    """A field for text; without a frame it stands in a field of another kind."""
    if isinstance(option, QStyleOptionFrame) and option.lineWidth > 0:
        paint_input(option, painter, widget)


def paint_choice(option: QStyleOption, painter: QPainter, widget: QWidget | None, arrow: QRect) -> None:
    """A field with an arrow."""
    paint_input(option, painter, widget)
    paint_arrow(painter, QRectF(arrow), ink(option.palette).quiet, (0, 1))


def paint_frame(option: QStyleOption, painter: QPainter, widget: QWidget | None) -> None:
    """Of texts of several lines, a field; of lists, none; of what lies over the window, a line."""
    if isinstance(widget, QAbstractItemView):
        return
    if isinstance(widget, QAbstractScrollArea):
        paint_input(option, painter, widget)
    else:
        paint_outline(painter, QRectF(option.rect), ink(option.palette).neutral, HAIR)


def paint_shaped_frame(option: QStyleOption, painter: QPainter, widget: QWidget | None) -> None:
    """A line that parts, or a frame."""
    shape = option.frameShape if isinstance(option, QStyleOptionFrame) else QFrame.Shape.NoFrame
    room, color = option.rect, ink(option.palette).neutral
    if shape is QFrame.Shape.HLine:
        painter.fillRect(room.left(), room.center().y(), room.width(), 1, color)
    elif shape is QFrame.Shape.VLine:
        painter.fillRect(room.center().x(), room.top(), 1, room.height(), color)
    elif shape is not QFrame.Shape.NoFrame:
        paint_frame(option, painter, widget)


def paint_slider(option: QStyleOption, painter: QPainter, handle: QRect) -> None:
    """A hair line with a disc on it."""
    inks, room = ink(option.palette), option.rect
    color = inks.text if has(option, _State.State_Enabled) else inks.ghost
    painter.fillRect(room.left(), handle.center().y(), room.width(), 1, inks.ghost)
    side = min(handle.width(), handle.height()) - 2.0
    disc = QRectF(handle.center().x() - side / 2.0, handle.center().y() + 0.5 - side / 2.0, side, side)
    paint_dot(painter, disc, color, color, None)
    if has(option, _State.State_HasFocus):
        paint_outline(painter, QRectF(room), inks.highlight, RULE)


def paint_groove(option: QStyleOption, painter: QPainter, _widget: QWidget | None) -> None:
    """What a bar of progress fills."""
    inks = ink(option.palette)
    paint_field(painter, option.rect, inks, ground=inks.field, rule=inks.ghost, is_strong=False)


def paint_progress(option: QStyleOption, painter: QPainter, _widget: QWidget | None) -> None:
    """How far it is, as a fill; all of it, paler, where nobody knows."""
    if not isinstance(option, QStyleOptionProgressBar):
        return
    inks, span = ink(option.palette), option.maximum - option.minimum
    done = (option.progress - option.minimum) / span if span > 0 else 1.0
    room = QRectF(option.rect)
    room.setWidth(room.width() * min(1.0, max(0.0, done)))
    painter.fillRect(room, inks.highlight if span > 0 else inks.lit)


def paint_scroll_bar(option: QStyleOptionSlider, painter: QPainter, slider: QRect) -> None:
    """The slider alone, slim, on the ground of what it scrolls."""
    inks = ink(option.palette)
    painter.fillRect(option.rect, option.palette.window())
    if option.minimum == option.maximum:
        return
    is_upright = option.orientation is Qt.Orientation.Vertical
    room, slim = QRectF(slider), max(4.0, min(slider.width(), slider.height()) * 0.4)
    aside = ((room.width() if is_upright else room.height()) - slim) / 2.0
    bar = room.adjusted(aside, 1.0, -aside, -1.0) if is_upright else room.adjusted(1.0, aside, -1.0, -aside)
    is_held = has(option, _State.State_MouseOver) or has(option, _State.State_Sunken)
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(inks.quiet if is_held else inks.ghost)
    painter.drawRoundedRect(bar, slim / 2.0, slim / 2.0)
    painter.restore()
