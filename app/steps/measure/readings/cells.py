"""How the cells of the readings' table look, and how they are typed in."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QEvent, QObject, QPointF, QRect, QRectF, Qt, Signal
from PySide6.QtGui import QFont, QKeyEvent, QKeySequence, QPainter, QPen, QPolygonF
from PySide6.QtWidgets import QComboBox, QLineEdit, QStyle, QStyledItemDelegate, QStyleOptionViewItem, QWidget

from app.steps.measure.readings.model import CHOICES_ROLE, MARK_ROLE
from app.widgets.theme import ink, paint_mark
from core.measure.table.columns import FIRST_SAMPLE, Column, Mark
from core.words.verdicts import Verdict

if TYPE_CHECKING:
    from PySide6.QtGui import QColor

    from app.steps.measure.readings.model import Index, ReadingsModel
    from app.widgets.theme import Ink

_UNDO_KEYS: Final = (QKeySequence.StandardKey.Undo, QKeySequence.StandardKey.Redo)
_LEAVING_KEYS: Final = (
    QKeySequence.StandardKey.Save,
    QKeySequence.StandardKey.SaveAs,
    QKeySequence.StandardKey.Open,
    QKeySequence.StandardKey.New,
    QKeySequence.StandardKey.Close,
    QKeySequence.StandardKey.Quit,
)
STEPS: Final = {
    Qt.Key.Key_Return: (1, 0),
    Qt.Key.Key_Enter: (1, 0),
    Qt.Key.Key_Down: (1, 0),
    Qt.Key.Key_Up: (-1, 0),
    Qt.Key.Key_Tab: (0, 1),
    Qt.Key.Key_Backtab: (0, -1),
}
"""Rows and columns that a key goes on by."""
_FAR_OFF: Final = 2.0  # standard uncertainties, as everywhere in measuring (about 95 %)


class CellPainter(QStyledItemDelegate):
    """Paints cells and makes their editors.

    Attributes:
        went: a text was taken and the user goes on: rows down, columns right.
    """

    went = Signal(int, int)

    def __init__(self, model: ReadingsModel, parent: QWidget) -> None:
        super().__init__(parent)
        self._model = model
        self._owner = parent

    # How a cell looks

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: Index) -> None:
        inks = ink(self._owner.palette())
        rect: QRect = option.rect
        column = self._model.column(index.column())
        mark = index.data(MARK_ROLE)
        assert isinstance(mark, Mark)
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self._paint_ground(painter, rect, index, column, inks)
        if option.state & QStyle.StateFlag.State_Selected:
            pen_rect = QRectF(rect).adjusted(0.5, 0.5, -1.5, -1.5)
            painter.setPen(QPen(inks.highlight if self._owner.hasFocus() else inks.ghost, 2.0))
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.drawRect(pen_rect.adjusted(0.5, 0.5, -0.5, -0.5))
        pad = self.pad
        inner = rect.adjusted(pad, 0, -pad, 0)
        if mark.outlier is not None:
            side = painter.fontMetrics().ascent() * 0.8
            box = QRectF(rect.left() + pad / 2.0, rect.center().y() - side / 2.0, side, side)
            paint_mark(painter, box, Verdict.MARGINAL, inks)
            inner.setLeft(round(box.right() + pad / 2.0))
        if mark.is_refused:
            self._paint_refused(painter, rect, inks)
        painter.setFont(self._font(painter.font(), column, mark))
        painter.setPen(self._color(index, column, mark, inks))
        text = str(index.data() or "")
        text = painter.fontMetrics().elidedText(text, Qt.TextElideMode.ElideRight, inner.width())
        painter.drawText(inner, int(index.data(Qt.ItemDataRole.TextAlignmentRole)), text)
        painter.restore()

    def _paint_ground(self, painter: QPainter, rect: QRect, index: Index, column: Column, inks: Ink) -> None:
        view = self._owner
        current = view.currentIndex() if hasattr(view, "currentIndex") else None
        # Over what the style paints for a selected cell: here a frame says it, and the texts keep their colours.
        painter.fillRect(rect, inks.field if column is Column.SAMPLE else inks.paper)
        if current is not None and current.isValid() and current.row() == index.row():
            painter.fillRect(rect, inks.lit)
        painter.fillRect(QRectF(rect.left(), rect.bottom(), rect.width(), 1), inks.neutral)
        if column in (Column.MEAN, Column.SAMPLE) and (column is Column.MEAN or index.column() == FIRST_SAMPLE):
            painter.fillRect(QRectF(rect.left(), rect.top(), 1, rect.height()), inks.neutral)

    def _paint_refused(self, painter: QPainter, rect: QRect, inks: Ink) -> None:
        thick = max(2.0, painter.fontMetrics().height() / 9.0)
        painter.fillRect(QRectF(rect.left(), rect.bottom() + 1 - thick, rect.width(), thick), inks.no_go)
        left, bottom = rect.left() + 2 * thick, rect.bottom() + 1 - thick
        wedge = [QPointF(left - thick, bottom), QPointF(left + thick, bottom), QPointF(left, bottom - 2 * thick)]
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(inks.no_go)
        painter.drawPolygon(QPolygonF(wedge))

    def _font(self, font: QFont, column: Column, mark: Mark) -> QFont:
        made = QFont(font)
        made.setBold(column is Column.MEAN or mark.outlier is not None)
        made.setItalic(mark.is_lacking)
        return made

    def _color(self, index: Index, column: Column, mark: Mark, inks: Ink) -> QColor:
        if mark.is_refused or mark.is_lacking:
            return inks.no_go
        if mark.outlier is not None or (column is Column.OFF and self._model.is_far_off(index.row(), _FAR_OFF)):
            return inks.marginal
        is_quiet = column in (Column.PLACE, Column.INSTRUMENT, Column.PLUS_MINUS, Column.OFF)
        return inks.quiet if is_quiet else inks.text

    @property
    def pad(self) -> int:
        """Air at both sides of a text."""
        return max(3, self._owner.fontMetrics().height() // 4)

    # How it is typed in

    def createEditor(self, parent: QWidget, _option: QStyleOptionViewItem, index: Index) -> QWidget:
        choices = index.data(CHOICES_ROLE)
        name = str(index.data(Qt.ItemDataRole.AccessibleTextRole))
        if choices:
            box = QComboBox(parent)
            for key, text in choices:
                box.addItem(text, key)
            box.activated.connect(lambda: self._finish(box, 0, 0))
            box.setAccessibleName(name)
            return box
        line = QLineEdit(parent)
        line.setAccessibleName(name)
        line.setFrame(False)
        line.setAlignment(Qt.AlignmentFlag(int(index.data(Qt.ItemDataRole.TextAlignmentRole))))
        pad = self.pad - 2
        line.setTextMargins(pad, 0, pad, 0)
        return line

    def setEditorData(self, editor: QWidget, index: Index) -> None:
        text = str(index.data(Qt.ItemDataRole.EditRole))
        if isinstance(editor, QComboBox):
            editor.setCurrentIndex(editor.findData(text))
        elif isinstance(editor, QLineEdit):
            editor.setText(text)

    def setModelData(self, editor: QWidget, _model: object, index: Index) -> None:
        self._model.setData(index, _text_of(editor))

    def eventFilter(self, editor: QObject, event: QEvent) -> bool:
        if not isinstance(event, QKeyEvent) or not isinstance(editor, QLineEdit | QComboBox):
            return super().eventFilter(editor, event)
        if any(event.matches(k) for k in _UNDO_KEYS):  # the project's undo, not the text's
            if event.type() == QEvent.Type.ShortcutOverride:
                event.ignore()
                self.closeEditor.emit(editor, QStyledItemDelegate.EndEditHint.RevertModelCache)
            return True
        if event.type() == QEvent.Type.ShortcutOverride and any(event.matches(k) for k in _LEAVING_KEYS):
            self._model.setData(self._index(), _text_of(editor))  # what is typed belongs to what is saved
        if event.type() != QEvent.Type.KeyPress:
            return super().eventFilter(editor, event)
        key = Qt.Key(event.key())
        if key == Qt.Key.Key_Escape:
            self._model.give_back(self._index())
            self.closeEditor.emit(editor, QStyledItemDelegate.EndEditHint.RevertModelCache)
            return True
        if key in STEPS and not (isinstance(editor, QComboBox) and key in (Qt.Key.Key_Up, Qt.Key.Key_Down)):
            self._finish(editor, *STEPS[key])
            return True
        return super().eventFilter(editor, event)

    def _finish(self, editor: QLineEdit | QComboBox, down: int, right: int) -> None:
        """Take the text and go on; a refused one stays as it is, with its reason."""
        if self._model.setData(self._index(), _text_of(editor)):
            self.closeEditor.emit(editor, QStyledItemDelegate.EndEditHint.NoHint)
            self.went.emit(down, right)
        elif isinstance(editor, QLineEdit):
            editor.selectAll()

    def _index(self) -> Index:
        view = self._owner
        assert hasattr(view, "currentIndex")
        index: Index = view.currentIndex()
        return index


def _text_of(editor: QWidget) -> str:
    if isinstance(editor, QComboBox):
        return str(editor.currentData())
    assert isinstance(editor, QLineEdit)
    return editor.text()
