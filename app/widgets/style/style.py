"""How the controls of Qt's own look: fields over a rule, outlined buttons, hair lines, and no boxes.

Only what is painted differs from Fusion, and the height of buttons: each call that is answered in Python costs time at
the start. A button's dynamic property ``filled`` makes it the one that stands out in a step; a field whose text does
not count says so by its ``is_refused``.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, cast

from PySide6.QtCore import QRect, QRectF, QSize
from PySide6.QtWidgets import QProxyStyle, QStyle, QStyleOption, QStyleOptionComplex, QStyleOptionSlider, QWidget

from app.widgets.style import buttons, fields, lists
from app.widgets.style.marks import paint_arrow
from app.widgets.theme import ink

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping
    from typing import TypeAlias

    from PySide6.QtGui import QPainter

    _Paint: TypeAlias = Callable[[QStyleOption, QPainter, QWidget | None], None]


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
_BUTTON_LINES: Final = 1.9  # high


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
            fields.paint_choice(option, painter, widget, self._part(control, option, "SC_ComboBoxArrow", widget))
        elif control is _Complex.CC_ScrollBar and isinstance(option, QStyleOptionSlider):
            fields.paint_scroll_bar(option, painter, self._part(control, option, "SC_ScrollBarSlider", widget))
        elif control is _Complex.CC_Slider:
            fields.paint_slider(option, painter, self._part(control, option, "SC_SliderHandle", widget))
        elif control is _Complex.CC_SpinBox:
            fields.paint_input(option, painter, widget)
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


_PRIMITIVES: Final[Mapping[_Primitive, _Paint]] = {
    _Primitive.PE_PanelLineEdit: fields.paint_line_edit,
    _Primitive.PE_FrameLineEdit: lists.paint_nothing,
    _Primitive.PE_Frame: fields.paint_frame,
    _Primitive.PE_FrameFocusRect: buttons.paint_focus,
    _Primitive.PE_PanelMenu: lists.paint_over,
    _Primitive.PE_FrameMenu: lists.paint_nothing,
    _Primitive.PE_PanelTipLabel: lists.paint_over,
    _Primitive.PE_PanelMenuBar: lists.paint_nothing,
    _Primitive.PE_PanelButtonTool: buttons.paint_tool,
    _Primitive.PE_IndicatorCheckBox: buttons.paint_check,
    _Primitive.PE_IndicatorItemViewItemCheck: buttons.paint_check,
    _Primitive.PE_IndicatorRadioButton: buttons.paint_radio,
    _Primitive.PE_IndicatorToolBarSeparator: lists.paint_nothing,
}
_CONTROLS: Final[Mapping[_Control, _Paint]] = {
    _Control.CE_PushButtonBevel: buttons.paint_button,
    _Control.CE_ShapedFrame: fields.paint_shaped_frame,
    _Control.CE_MenuBarItem: lists.paint_menu_title,
    _Control.CE_MenuBarEmptyArea: lists.paint_menu_bar,
    _Control.CE_Splitter: lists.paint_splitter,
    _Control.CE_ProgressBarGroove: fields.paint_groove,
    _Control.CE_ProgressBarContents: fields.paint_progress,
    _Control.CE_HeaderSection: lists.paint_head,
    _Control.CE_HeaderEmptyArea: lists.paint_head,
}
_TINTS: Final[Mapping[_Control, Callable[[QStyleOption, QWidget | None], None]]] = {
    _Control.CE_PushButtonLabel: buttons.tint_button,
    _Control.CE_MenuItem: lists.tint_chosen,
    _Control.CE_ItemViewItem: lists.tint_chosen,
    _Control.CE_HeaderLabel: lists.tint_head,
}
