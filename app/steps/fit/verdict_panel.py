"""The checks, always in sight: the overall verdict, then every conflict and finding, the worst first."""

from __future__ import annotations

from typing import TYPE_CHECKING

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QShowEvent
from PySide6.QtWidgets import QSizePolicy, QVBoxLayout, QWidget

from app.steps.fit.answers import answer_rows, counts_text
from app.widgets.fonts import bold
from app.widgets.rows import Rows
from app.widgets.theme import ink, paint_mark
from app.widgets.veil import PENDING, Veil
from core.resize.resize import Conflict
from core.words.verdicts import WORDS, Finding, Verdict

if TYPE_CHECKING:
    from app.session.session import Session
    from app.steps.fit.answers import Answer


class Overall(QWidget):
    """The overall verdict as shape, word and colour, and how many conflicts and findings stand behind it."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._session = session
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        session.changed.connect(self._refresh)
        session.judged.connect(self._refresh)
        self._refresh()

    @property
    def verdict(self) -> Verdict:
        """The verdict of the project that is shown."""
        return self._session.result.overall

    @property
    def counts(self) -> str:
        """How many conflicts, and how many checks of each verdict."""
        return counts_text(self._session.result)

    def _refresh(self) -> None:
        known = self._session.is_judged
        self.setAccessibleName(f"Overall verdict: {WORDS[self.verdict]}" if known else PENDING)
        self.setAccessibleDescription(self.counts if known else "")
        self.update()

    def sizeHint(self) -> QSize:
        return QSize(self.fontMetrics().averageCharWidth() * 30, round(self.fontMetrics().height() * 3.6))

    def paintEvent(self, _event: QPaintEvent) -> None:
        inks = ink(self.palette())
        line = self.fontMetrics().height()
        with QPainter(self) as painter:
            side = line * 1.9
            top = (self.height() - side) / 2.0
            if not self._session.is_judged:
                painter.setPen(inks.quiet)
                painter.drawText(self.rect().adjusted(line // 2, 0, 0, 0), Qt.AlignmentFlag.AlignVCenter, PENDING)
                return
            paint_mark(painter, QRectF(line * 0.5, top, side, side), self.verdict, inks)
            x = line * 0.5 + side + line * 0.7
            font = bold(self.font())
            font.setPointSizeF(self.font().pointSizeF() * 1.7)
            painter.setFont(font)
            painter.setPen(inks.of(self.verdict))
            words = QRectF(x, top - line * 0.35, self.width() - x, line * 1.7)
            painter.drawText(words, Qt.AlignmentFlag.AlignVCenter, WORDS[self.verdict])
            painter.setFont(self.font())
            painter.setPen(inks.quiet)
            counts = QRectF(x, words.bottom(), self.width() - x, line * 1.2)
            text = self.fontMetrics().elidedText(self.counts, Qt.TextElideMode.ElideRight, int(counts.width()))
            painter.drawText(counts, Qt.AlignmentFlag.AlignVCenter, text)


class AnswerList(Rows):
    """Conflicts and findings of the session's result as rows; choosing one goes to its place."""

    def __init__(
        self, session: Session, parent: QWidget | None = None, *, worst_first: bool = True, is_brief: bool = False
    ) -> None:
        """Answers of ``session``, the worst first or in the order of the checks; brief ones have one line each."""
        super().__init__("Conflicts and checks", parent)
        self._session, self._worst_first, self._is_brief = session, worst_first, is_brief
        self.chosen.connect(lambda answer: session.point_at(None if answer is None else answer.place))
        self.asked.connect(lambda answer: session.ask_for(answer.place.path))
        self._is_behind = True
        self._veil = Veil(self.viewport(), session)
        session.changed.connect(self._fall_behind)
        session.judged.connect(self._judged)
        session.remedied.connect(self._remedied)
        if session.is_judged:
            self._catch_up()

    def answers(self) -> tuple[Answer, ...]:
        """What is listed, in its order."""
        self._catch_up()
        return tuple(row.value for row in self.rows.rows if isinstance(row.value, Conflict | Finding))

    def showEvent(self, event: QShowEvent) -> None:
        if self._session.is_judged:
            self._catch_up()
        super().showEvent(event)

    def _fall_behind(self) -> None:
        self._is_behind = True

    def _judged(self) -> None:
        if self.isVisible():
            self._catch_up()

    def _remedied(self) -> None:
        self._fall_behind()
        self._judged()

    def _catch_up(self) -> None:
        """List what has been found while the list was out of sight."""
        if self._is_behind:
            self._is_behind = False
            self._refresh()

    def _refresh(self) -> None:
        self.put(answer_rows(self._session.result, worst_first=self._worst_first, is_brief=self._is_brief))


class VerdictPanel(QWidget):
    """Overall verdict and answers, one below the other."""

    def __init__(self, session: Session, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.overall = Overall(session, self)
        self.answers = AnswerList(session, self)
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(0)
        column.addWidget(self.overall)
        column.addWidget(self.answers, 1)
