"""How the controls of Qt's own look: fields over a rule, outlined buttons, hair lines, and no boxes.

Only what is painted differs from Fusion; sizes stay its own, since each call that is answered in Python costs time at
the start. A widget's dynamic property ``filled`` makes its button the one that stands out in a step, ``refused`` marks
a field whose text does not count.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, cast

from PySide6.QtCore import QRect, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPalette
from PySide6.QtWidgets import (
    QAbstractItemView,
    QAbstractScrollArea,
    QFrame,
    QProxyStyle,
    QStyle,
    QStyleOption,
    QStyleOptionButton,
    QStyleOptionComplex,
    QStyleOptionFrame,
    QStyleOptionSlider,
    QWidget,
)

from app.widgets.style.marks import (
    HAIR,
    RULE,
    paint_arrow,
    paint_dot,
    paint_field,
    paint_outline,
    paint_tick,
)
from app.widgets.theme import ink

if TYPE_CHECKING:
    from collections.abc import Callable

    from PySide6.QtGui import QColor

    from app.widgets.theme import Ink

_State = QStyle.StateFlag
_Role = QPalette.ColorRole
_Primitive = QStyle.PrimitiveElement
_Control = QStyle.ControlElement
_Complex = QStyle.ComplexControl
_WAYS: Final = {
    _Primitive.PE_IndicatorArrowRight: (1, 0),
    _Primitive.PE_IndicatorArrowLeft: (-1, 0),
    _Primitive.PE_IndicatorArrowDown: (0, 1),
    _Primitive.PE_IndicatorArrowUp: (0, -1),
    _Primitive.PE_IndicatorSpinUp: (0, -1),
    _Primitive.PE_IndicatorSpinDown: (0, 1),
}


_BUTTON_LINES: Final = 1.75  # high


class CalmStyle(QProxyStyle):
    """Fusion, painted in the window's own language."""

    def __init__(self) -> None:
        super().__init__("Fusion")

    def drawPrimitive(  # noqa: N802 - Qt's name
        self, element: _Primitive, option: QStyleOption, painter: QPainter, widget: QWidget | None = None
    ) -> None:
        paint = _PRIMITIVES.get(element)
        if paint is not None:
            paint(option, painter, widget)
        elif element in _WAYS:
            paint_arrow(painter, QRectF(option.rect), ink(option.palette).quiet, _WAYS[element])
        else:
            super().drawPrimitive(element, option, painter, widget)

    def drawControl(  # noqa: N802 - Qt's name
        self, element: _Control, option: QStyleOption, painter: QPainter, widget: QWidget | None = None
    ) -> None:
        paint = _CONTROLS.get(element)
        if paint is not None:
            paint(option, painter, widget)
            return
        tint = _TINTS.get(element)
        if tint is not None:
            tint(option, widget)
        super().drawControl(element, option, painter, widget)

    def drawComplexControl(  # noqa: N802 - Qt's name
        self, control: _Complex, option: QStyleOptionComplex, painter: QPainter, widget: QWidget | None = None
    ) -> None:
        if control is _Complex.CC_ComboBox:
            _paint_choice(option, painter, widget, self._part(control, option, "SC_ComboBoxArrow", widget))
        elif control is _Complex.CC_ScrollBar and isinstance(option, QStyleOptionSlider):
            _paint_scroll_bar(option, painter, self._part(control, option, "SC_ScrollBarSlider", widget))
        elif control is _Complex.CC_SpinBox:
            _paint_field(option, painter, widget)
            for name, way in (("SC_SpinBoxUp", (0, -1)), ("SC_SpinBoxDown", (0, 1))):
                room = QRectF(self._part(control, option, name, widget))
                paint_arrow(painter, room, ink(option.palette).quiet, way)
        else:
            super().drawComplexControl(control, option, painter, widget)

    def sizeFromContents(  # noqa: N802 - Qt's name
        self, kind: QStyle.ContentsType, option: QStyleOption, size: QSize, widget: QWidget | None = None
    ) -> QSize:
        made = super().sizeFromContents(kind, option, size, cast("QWidget", widget))
        if kind is QStyle.ContentsType.CT_PushButton:
            return made.expandedTo(QSize(0, round(option.fontMetrics.height() * _BUTTON_LINES)))
        return made

    def _part(self, control: _Complex, option: QStyleOptionComplex, name: str, widget: QWidget | None) -> QRect:
        return self.subControlRect(control, option, QStyle.SubControl[name], cast("QWidget", widget))  # or None


def _has(option: QStyleOption, state: QStyle.StateFlag) -> bool:
    return bool(option.state & state)


def _rule(option: QStyleOption, widget: QWidget | None, inks: Ink) -> QColor:
    """Of a field: by whether its text is refused, and by the focus."""
    if widget is not None and widget.property("refused"):
        return inks.no_go
    return inks.highlight if _has(option, _State.State_HasFocus) else inks.ghost


def _paint_field(option: QStyleOption, painter: QPainter, widget: QWidget | None) -> None:
    inks = ink(option.palette)
    rule = _rule(option, widget, inks)
    ground = option.palette.color(_Role.Base) if _has(option, _State.State_Enabled) else inks.ground
    paint_field(painter, option.rect, inks, ground=ground, rule=rule, is_strong=rule != inks.ghost)


def _paint_line_edit(option: QStyleOption, painter: QPainter, widget: QWidget | None) -> None:
    if isinstance(option, QStyleOptionFrame) and option.lineWidth > 0:
        _paint_field(option, painter, widget)  # without a frame it stands in a field of another kind


def _paint_choice(option: QStyleOption, painter: QPainter, widget: QWidget | None, arrow: QRect) -> None:
    _paint_field(option, painter, widget)
    paint_arrow(painter, QRectF(arrow), ink(option.palette).quiet, (0, 1))


def _paint_frame(option: QStyleOption, painter: QPainter, widget: QWidget | None) -> None:
    """Of texts of several lines, a field; of lists, none; of what lies over the window, a line."""
    if isinstance(widget, QAbstractItemView):
        return
    if isinstance(widget, QAbstractScrollArea):
        _paint_field(option, painter, widget)
    else:
        paint_outline(painter, QRectF(option.rect), ink(option.palette).neutral, HAIR)


def _paint_shaped_frame(option: QStyleOption, painter: QPainter, widget: QWidget | None) -> None:
    shape = option.frameShape if isinstance(option, QStyleOptionFrame) else QFrame.Shape.NoFrame
    room, color = option.rect, ink(option.palette).neutral
    if shape is QFrame.Shape.HLine:
        painter.fillRect(room.left(), room.center().y(), room.width(), 1, color)
    elif shape is QFrame.Shape.VLine:
        painter.fillRect(room.center().x(), room.top(), 1, room.height(), color)
    elif shape is not QFrame.Shape.NoFrame:
        _paint_frame(option, painter, widget)


def _paint_over(option: QStyleOption, painter: QPainter, _widget: QWidget | None) -> None:
    """The ground of menus and hints: paper in a thin line."""
    inks = ink(option.palette)
    painter.fillRect(option.rect, inks.field)
    painter.setPen(inks.ghost)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    painter.drawRect(option.rect.adjusted(0, 0, -1, -1))


def _paint_focus(option: QStyleOption, painter: QPainter, _widget: QWidget | None) -> None:
    paint_outline(painter, QRectF(option.rect), ink(option.palette).highlight, RULE)


def _paint_button(option: QStyleOption, painter: QPainter, widget: QWidget | None) -> None:
    """An outline, a fill for the one that stands out, a rule under a word that is switched on."""
    inks, room = ink(option.palette), QRectF(option.rect)
    if _is_flat(option):
        if _has(option, _State.State_On):
            painter.fillRect(QRectF(room.left(), room.bottom() - RULE, room.width(), RULE), inks.highlight)
        return
    room.adjust(0.0, 1.0, 0.0, -1.0)
    edge = inks.text if _has(option, _State.State_Enabled) else inks.ghost
    if _is_filled(option, widget):
        fill = inks.quiet if _has(option, _State.State_MouseOver) or edge == inks.ghost else inks.text
        paint_outline(painter, room, fill, HAIR, fill)
    else:
        is_lit = _has(option, _State.State_MouseOver) or _has(option, _State.State_Sunken)
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


def _tint_button(option: QStyleOption, widget: QWidget | None) -> None:
    inks = ink(option.palette)
    if _is_flat(option):
        is_on = _has(option, _State.State_On) or _has(option, _State.State_MouseOver)
        option.palette.setColor(_Role.ButtonText, inks.text if is_on else inks.quiet)
    elif _is_filled(option, widget):
        option.palette.setColor(_Role.ButtonText, inks.field)


def _paint_tool(option: QStyleOption, painter: QPainter, _widget: QWidget | None) -> None:
    inks = ink(option.palette)
    if not _has(option, _State.State_AutoRaise):
        paint_outline(painter, QRectF(option.rect), inks.text, HAIR, inks.paper)
    elif _has(option, _State.State_On):
        room = QRectF(option.rect)
        painter.fillRect(QRectF(room.left(), room.bottom() - RULE, room.width(), RULE), inks.highlight)
    elif _has(option, _State.State_MouseOver) and _has(option, _State.State_Enabled):
        painter.fillRect(option.rect, inks.lit)


def _paint_check(option: QStyleOption, painter: QPainter, _widget: QWidget | None) -> None:
    inks, box = ink(option.palette), QRectF(option.rect)
    ink_of = inks.text if _has(option, _State.State_Enabled) else inks.ghost
    is_on, is_part = _has(option, _State.State_On), _has(option, _State.State_NoChange)
    paint_outline(painter, box, ink_of if is_on else inks.ghost, HAIR, ink_of if is_on else inks.field)
    if is_on:
        paint_tick(painter, box, inks.field)
    elif is_part:
        painter.fillRect(QRectF(box.left() + 3, box.center().y() - 1, box.width() - 6, 2), ink_of)


def _paint_radio(option: QStyleOption, painter: QPainter, _widget: QWidget | None) -> None:
    inks = ink(option.palette)
    dot = inks.text if _has(option, _State.State_Enabled) else inks.ghost
    paint_dot(painter, QRectF(option.rect), inks.ghost, inks.field, dot if _has(option, _State.State_On) else None)


def _paint_menu_bar(option: QStyleOption, painter: QPainter, _widget: QWidget | None) -> None:
    painter.fillRect(option.rect, ink(option.palette).ground)


def _paint_menu_title(option: QStyleOption, painter: QPainter, widget: QWidget | None) -> None:
    inks, room = ink(option.palette), QRectF(option.rect)
    painter.fillRect(room, inks.ground)
    if _has(option, _State.State_Selected):
        painter.fillRect(QRectF(room.left(), room.bottom() - RULE, room.width(), RULE), inks.highlight)
    flags = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextShowMnemonic | Qt.TextFlag.TextSingleLine
    painter.setPen(inks.text if _has(option, _State.State_Enabled) else inks.quiet)
    del widget
    painter.drawText(option.rect, int(flags), option.text)  # type: ignore[attr-defined]


def _tint_chosen(option: QStyleOption, _widget: QWidget | None) -> None:
    """What is chosen in a list or a menu is lit, and its words keep their colour."""
    inks = ink(option.palette)
    option.palette.setColor(_Role.Highlight, inks.lit)
    option.palette.setColor(_Role.HighlightedText, inks.text)


def _paint_splitter(option: QStyleOption, painter: QPainter, _widget: QWidget | None) -> None:
    room, color = option.rect, ink(option.palette).neutral
    if room.width() < room.height():
        painter.fillRect(room.center().x(), room.top(), 1, room.height(), color)
    else:
        painter.fillRect(room.left(), room.center().y(), room.width(), 1, color)


def _paint_head(option: QStyleOption, painter: QPainter, _widget: QWidget | None) -> None:
    inks, room = ink(option.palette), option.rect
    painter.fillRect(room, inks.ground)
    painter.fillRect(room.left(), room.bottom(), room.width(), 1, inks.neutral)


def _tint_head(option: QStyleOption, _widget: QWidget | None) -> None:
    option.palette.setColor(_Role.ButtonText, ink(option.palette).quiet)


def _paint_scroll_bar(option: QStyleOptionSlider, painter: QPainter, slider: QRect) -> None:
    """The slider alone, slim, on the ground of what it scrolls."""
    inks = ink(option.palette)
    painter.fillRect(option.rect, option.palette.window())
    if option.minimum == option.maximum:
        return
    is_upright = option.orientation is Qt.Orientation.Vertical
    room, slim = QRectF(slider), max(4.0, min(slider.width(), slider.height()) * 0.4)
    aside = ((room.width() if is_upright else room.height()) - slim) / 2.0
    bar = room.adjusted(aside, 1.0, -aside, -1.0) if is_upright else room.adjusted(1.0, aside, -1.0, -aside)
    is_held = _has(option, _State.State_MouseOver) or _has(option, _State.State_Sunken)
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(inks.quiet if is_held else inks.ghost)
    painter.drawRoundedRect(bar, slim / 2.0, slim / 2.0)
    painter.restore()


def _paint_nothing(_option: QStyleOption, _painter: QPainter, _widget: QWidget | None) -> None:
    """Where Fusion has a box or a shadow."""


_PRIMITIVES: Final[dict[_Primitive, Callable[[QStyleOption, QPainter, QWidget | None], None]]] = {
    _Primitive.PE_PanelLineEdit: _paint_line_edit,
    _Primitive.PE_FrameLineEdit: _paint_nothing,
    _Primitive.PE_Frame: _paint_frame,
    _Primitive.PE_FrameFocusRect: _paint_focus,
    _Primitive.PE_PanelMenu: _paint_over,
    _Primitive.PE_FrameMenu: _paint_nothing,
    _Primitive.PE_PanelTipLabel: _paint_over,
    _Primitive.PE_PanelMenuBar: _paint_nothing,
    _Primitive.PE_PanelButtonTool: _paint_tool,
    _Primitive.PE_IndicatorCheckBox: _paint_check,
    _Primitive.PE_IndicatorItemViewItemCheck: _paint_check,
    _Primitive.PE_IndicatorRadioButton: _paint_radio,
    _Primitive.PE_IndicatorToolBarSeparator: _paint_nothing,
}
_CONTROLS: Final[dict[_Control, Callable[[QStyleOption, QPainter, QWidget | None], None]]] = {
    _Control.CE_PushButtonBevel: _paint_button,
    _Control.CE_ShapedFrame: _paint_shaped_frame,
    _Control.CE_MenuBarItem: _paint_menu_title,
    _Control.CE_MenuBarEmptyArea: _paint_menu_bar,
    _Control.CE_Splitter: _paint_splitter,
    _Control.CE_HeaderSection: _paint_head,
    _Control.CE_HeaderEmptyArea: _paint_head,
}
_TINTS: Final[dict[_Control, Callable[[QStyleOption, QWidget | None], None]]] = {
    _Control.CE_PushButtonLabel: _tint_button,
    _Control.CE_MenuItem: _tint_chosen,
    _Control.CE_ItemViewItem: _tint_chosen,
    _Control.CE_HeaderLabel: _tint_head,
}
