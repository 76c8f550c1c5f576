"""A field for a length that is no part of the project: how closely a file is looked at."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtWidgets import QLineEdit

from core.words.errors import LengthError
from core.words.lengths import edit_text, parse_length, unit_of

if TYPE_CHECKING:
    from collections.abc import Callable

    from PySide6.QtGui import QFocusEvent, QKeyEvent
    from PySide6.QtWidgets import QWidget

    from core.words.lengths import Style

_CHARS, _DIGITS = 8, 3


class LengthEntry(QLineEdit):
    """A length, taken when the typing is over: what follows from it takes its time.

    Attributes:
        entered: the new length [mm].
        told: why the text is refused; empty when it isn't.
    """

    entered = Signal(float)
    told = Signal(str)

    def __init__(
        self, name: str, check: Callable[[float], str], style: Callable[[], Style], parent: QWidget | None = None
    ) -> None:
        """A field.

        Args:
            name: of the length, for those who can't see its label.
            check: why a length [mm] can't be used; empty when it can.
            style: how lengths are shown now.
            parent: owner.
        """
        super().__init__(parent)
        self._check, self._style = check, style
        self._mm = 0.0
        self.setAccessibleName(name)
        self.setAlignment(Qt.AlignmentFlag.AlignRight)
        self.editingFinished.connect(self._finish)

    @property
    def mm(self) -> float:
        """The length that counts [mm]."""
        return self._mm

    def put(self, mm: float) -> None:
        """Show a length, without telling anyone; what is being typed stays."""
        self._mm = mm
        if not (self.hasFocus() and self.isModified()):
            self._show()

    def sizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        hint = super().sizeHint()
        return QSize(self.fontMetrics().horizontalAdvance("0") * (_CHARS + 2), hint.height())

    def _show(self) -> None:
        style = self._style()
        whole = edit_text(self._mm, style)
        if not self.hasFocus():
            # Tolerances are small: rounded as sizes are, they would be read as nothing.
            value = self._mm / parse_length("1", unit_of(style))
            whole = np.format_float_positional(value, precision=_DIGITS, fractional=False, trim="-")
        self.setText(whole)
        self.setModified(False)

    def focusOutEvent(self, event: QFocusEvent) -> None:  # noqa: N802 - Qt's name
        super().focusOutEvent(event)
        if not self.isModified():
            self._show()

    def _finish(self) -> None:
        if not self.isModified():
            return
        try:
            mm = parse_length(self.text(), unit_of(self._style()))
        except LengthError as error:
            self.told.emit(f"{error.what[:1].upper()}{error.what[1:]}. {error.hint}".strip())
            return
        reason = self._check(mm)
        self.told.emit(reason)
        if reason:
            return
        self._mm = mm
        self._show()
        self.entered.emit(mm)

    def keyPressEvent(self, event: QKeyEvent) -> None:  # noqa: N802 - Qt's name
        if event.key() == Qt.Key.Key_Escape and self.isModified():
            self._show()
            self.told.emit("")
            self.selectAll()
        else:
            super().keyPressEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:  # noqa: N802 - Qt's name
        super().focusInEvent(event)
        if not self.isModified():
            self._show()
        if event.reason() in (Qt.FocusReason.TabFocusReason, Qt.FocusReason.BacktabFocusReason):
            self.selectAll()
