"""The verdict list: what is not go first and whole, then the concerns that go, each in one line."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from PySide6.QtCore import Qt
from PySide6.QtGui import QPalette
from PySide6.QtWidgets import QFrame, QHBoxLayout, QPushButton, QScrollArea, QVBoxLayout, QWidget

from app.steps.fit.answers import cards
from app.steps.fit.concern_row import ConcernRow, spare_text
from app.steps.fit.overall import Overall
from app.steps.resize.changes_table import ChangesTable
from app.widgets.folds import Fold
from app.widgets.forms import Form
from app.widgets.labels import Heading, QuietLabel
from app.widgets.layouts import bare
from app.widgets.rows import Rows
from app.widgets.veil import Veil
from core.fit.checks.concerns import CONCERNS, concern_of, standings, tightness
from core.words.verdicts import Verdict, counted

if TYPE_CHECKING:
    from collections.abc import Callable

    from PySide6.QtGui import QResizeEvent

    from app.session.session import Session
    from app.steps.fit.answers import Answer
    from app.widgets.grid import FieldWidget

CAUTION: Final = (
    "Computed from the sizes that were typed or read: lay the real insert on a 1:1 outline and try it in the finished "
    "seat before it is relied on. A rim that does not seal lets dust or water through."
)
RESIZE, FIT = 1, 2


class VerdictPanel(QWidget):
    """Overall verdict, cards, and the list of the step: concerns, or changes."""

    def __init__(
        self, session: Session, parent: QWidget | None = None, *, write_outlines: Callable[[], None] = lambda: None
    ) -> None:
        super().__init__(parent)
        self._session = session
        self._is_behind = True
        self._is_short = False
        self.overall = Overall(session, self)
        self.answers = Rows("What is not go", self, most_lines=10_000)
        self.answers.chosen.connect(lambda a: session.point_at(None if a is None else a.place))
        self.answers.asked.connect(lambda a: session.ask_for(a.place.path))
        self.concerns = [ConcernRow(session, concern, self) for concern in CONCERNS]
        for row in self.concerns:
            row.opened.connect(self._shut_others)
        self.changes = ChangesTable(session, self)
        self._lay_out(write_outlines)
        session.changed.connect(self._fall_behind)
        session.judged.connect(self._catch_up)
        session.remedied.connect(self._again)
        self.show_step(0)
        if session.is_judged:
            self._catch_up()

    def listed(self) -> tuple[Answer, ...]:
        """What the cards tell, in their order."""
        self._catch_up()
        return tuple(row.value for row in self.answers.rows.rows)  # type: ignore[misc]

    def show_step(self, number: int, *, is_writing: bool = False) -> None:
        """Show the list of a step, from 0: changes in Resize, else the concerns; in Fit, the way to the outlines."""
        self._list.setVisible(number != RESIZE)
        self._line.setVisible(number == RESIZE)
        self.changes.setVisible(number == RESIZE)
        self._foot.setVisible(number == FIT and not is_writing)
        self._is_short = number == RESIZE
        self._settle()

    def take_focus(self) -> None:
        """Bring the focus to what is not go, or to the first concern."""
        first = self.answers if self.answers.isVisibleTo(self) else self.concerns[0].head
        first.setFocus(Qt.FocusReason.ShortcutFocusReason)

    def _settle(self) -> None:
        """In Resize the cards take no more than they need, and at most half of the height."""
        inside = self._scroll.widget()
        assert inside is not None
        tall = inside.sizeHint().height() if self._is_short else 16_777_215  # Qt's QWIDGETSIZE_MAX
        self._scroll.setMaximumHeight(min(tall, self.height() // 2) if self._is_short else tall)

    def resizeEvent(self, event: QResizeEvent) -> None:
        super().resizeEvent(event)
        self._settle()

    def find_field(self, path: str) -> FieldWidget | None:
        """The field of a limit; what folds it away is opened."""
        for row in self.concerns:
            field = row.find_field(path)
            if field is not None:
                self._bring_in_sight(field)
                return field
        found = self._judging.find_field(path)
        if found is not None:
            self._how.open()
            self._bring_in_sight(found)
        return found

    def _bring_in_sight(self, field: FieldWidget) -> None:
        """Scroll to a field; what has only just been opened is laid out first."""
        inside = self._scroll.widget()
        assert inside is not None
        layout = inside.layout()
        assert layout is not None
        layout.activate()
        inside.adjustSize()
        self._scroll.ensureWidgetVisible(field)

    # How it is laid out

    def _lay_out(self, write_outlines: Callable[[], None]) -> None:
        line = self.fontMetrics().height()
        column = QVBoxLayout(self)
        column.setContentsMargins(line, line // 2, line, line)
        column.setSpacing(line // 2)
        column.addWidget(self.overall)
        inside = QWidget(self)
        within = bare(QVBoxLayout(inside), 0)
        for rows in (self.answers, self.changes.list):
            rows.viewport().setBackgroundRole(QPalette.ColorRole.Window)
        within.addWidget(self.answers)
        within.addWidget(self._concern_list())
        self._line = QuietLabel("", self, wrap=True)
        within.addWidget(self._line)
        within.addStretch(1)
        self._scroll = QScrollArea(self)
        self._scroll.setWidgetResizable(True)
        self._scroll.setFrameShape(QFrame.Shape.NoFrame)
        self._scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._scroll.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self._scroll.setWidget(inside)
        self._veil = Veil(self._scroll.viewport(), self._session)
        column.addWidget(self._scroll, 1)
        column.addWidget(self.changes, 2)
        column.addWidget(self._write(write_outlines))

    def _concern_list(self) -> QWidget:
        self._list = QWidget(self)
        column = bare(QVBoxLayout(self._list), 0)
        head = QWidget(self._list)
        row = bare(QHBoxLayout(head))
        row.addWidget(Heading("By concern", head), 1)
        row.addWidget(QuietLabel("least to spare", head))
        column.addWidget(head)
        for concern in self.concerns:
            column.addWidget(concern)
        self._judging = Form(self._session, self._list)
        self._judging.field("limits.marginal")
        self._judging.note(CAUTION)
        self._how = Fold("How it is judged", self._judging, self._list)
        column.addSpacing(self.fontMetrics().height() // 2)
        column.addWidget(self._how)
        return self._list

    def _write(self, write_outlines: Callable[[], None]) -> QWidget:
        self._foot = QWidget(self)
        column = bare(QVBoxLayout(self._foot))
        column.addWidget(QuietLabel("Lay the real insert on a 1:1 outline before it is relied on.", self, wrap=True))
        self.write_button = QPushButton("Write the outlines …", self)
        self.write_button.setProperty("filled", True)
        self.write_button.clicked.connect(lambda _checked=False: write_outlines())
        column.addWidget(self.write_button)
        return self._foot

    # Keeping up to date

    def _fall_behind(self) -> None:
        self._is_behind = True

    def _again(self) -> None:
        self._fall_behind()
        self._catch_up()

    def _catch_up(self) -> None:
        """List what was found since it was listed last."""
        if not self._is_behind:
            return
        self._is_behind = False
        result = self._session.result
        rows = cards(result)
        self.answers.setVisible(bool(rows))
        self.answers.put(rows)
        found = {standing.concern.title: standing for standing in standings(result.findings)}
        going = [standing for standing in found.values() if standing.verdict is Verdict.GO]
        for row in self.concerns:
            row.put(found.get(row.concern.title))
        tightest = min((s.tightest for s in going if s.tightest is not None), key=tightness, default=None)
        least = ""
        if tightest is not None:
            spare = " ".join(spare_text(tightest, result.project.style))
            least = f"; least to spare {spare}, {concern_of(tightest).title.lower()}"
        self._settle()
        self._line.setText(f"{counted(len(going), 'concern')} {'goes' if len(going) == 1 else 'go'}{least}")

    def _shut_others(self, opened: ConcernRow) -> None:
        for row in self.concerns:
            if row is not opened:
                row.head.setChecked(False)
