"""A veil over what speaks of verdicts, for as long as those of the project that is shown are not known."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from PySide6.QtCore import QEvent, QObject, QRect, Qt
from PySide6.QtGui import QColor, QPainter
from PySide6.QtWidgets import QWidget

if TYPE_CHECKING:
    from PySide6.QtGui import QPaintEvent

    from app.session.session import Session

PENDING: Final = "Checking …"
"""What is said in place of a verdict."""
_THICK: Final = 0.8  # what was found before is made out still, and nobody takes it for what holds now


class Veil(QWidget):
    """Lies over the whole of a widget between the session's ``changed`` and ``judged``."""

    def __init__(self, covered: QWidget, session: Session) -> None:
        super().__init__(covered)
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self._session = session
        covered.installEventFilter(self)
        session.changed.connect(self._settle)
        session.judged.connect(self._settle)
        self._settle()

    def _settle(self) -> None:
        self.setVisible(not self._session.is_judged)
        self.raise_()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        if event.type() == QEvent.Type.Resize and isinstance(watched, QWidget):
            self.setGeometry(QRect(0, 0, watched.width(), watched.height()))
        return False

    def paintEvent(self, _event: QPaintEvent) -> None:
        paper = QColor(self.palette().base().color())
        paper.setAlphaF(_THICK)
        with QPainter(self) as painter:
            painter.fillRect(self.rect(), paper)
