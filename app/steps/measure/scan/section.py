"""One section of the scan's form: its head, what works beside the window, and why there is no answer."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from PySide6.QtWidgets import QHBoxLayout, QProgressBar, QPushButton, QWidget

from app.steps.measure.scan.entry import Figure
from app.steps.measure.scan.rows import EdgeChoice, PickButton, Rows
from app.widgets.forms import Heading, QuietLabel, Refusal

if TYPE_CHECKING:
    from app.session.session import Session
    from app.steps.measure.scan.model import ScanModel
    from app.widgets.fields import PageField
    from core.measure.scan.state import Part, Pick

_PERCENT: Final = 100


class Working(QWidget):
    """A bar with a Stop, there while a part is worked on beside the window."""

    def __init__(self, part: Part, model: ScanModel, parent: QWidget) -> None:
        super().__init__(parent)
        self._part, self._model = part, model
        line = QHBoxLayout(self)
        line.setContentsMargins(0, 0, 0, 0)
        self.bar = QProgressBar(self)
        self.bar.setRange(0, _PERCENT)
        self.bar.setTextVisible(False)
        self.bar.setAccessibleName("Part that is done")
        self.stop_button = plain_button("Stop", self)
        self.stop_button.clicked.connect(model.stop)
        line.addWidget(self.bar, 1)
        line.addWidget(self.stop_button)
        model.progressed.connect(self._progressed)
        self.hide()

    def show_state(self) -> None:
        """Be there while the part is worked on."""
        is_busy = self._part in self._model.state.busy
        if is_busy and self.isHidden():
            self.bar.setValue(0)
        self.setVisible(is_busy)

    def _progressed(self, part: float) -> None:
        self.bar.setValue(round(part * _PERCENT))


class Note(QuietLabel):
    """A quiet sentence that takes no room while there is nothing to say."""

    def __init__(self, text: str, parent: QWidget) -> None:
        super().__init__(text, parent, wrap=True)
        self.setVisible(bool(text))

    def say(self, text: str) -> None:
        """Show a sentence, or nothing."""
        self.setText(text)
        self.setVisible(bool(text))


class Section(Rows):
    """Rows under a head; ``show_state`` brings them up to date with the model."""

    def __init__(self, session: Session, model: ScanModel, title: str, parent: QWidget) -> None:
        super().__init__(session, parent)
        self._model = model
        self.refusals: dict[Part, Refusal] = {}
        self.working: dict[Part, Working] = {}
        self._choices: list[EdgeChoice] = []
        self._buttons: list[PickButton] = []
        self.wide(Heading(title, self))

    def show_state(self) -> None:
        """Show what the model knows now."""
        state = self._model.state
        for part, refusal in self.refusals.items():
            refusal.tell(state.refusal(part))
        for working in self.working.values():
            working.show_state()
        for choice in self._choices:
            choice.show_state()
        for button in self._buttons:
            button.show_state()

    def note(self, rows: Rows | None = None, text: str = "") -> Note:
        """A quiet sentence."""
        rows = rows or self
        label = Note(text, rows)
        rows.wide(label)
        return label

    def answers(self, part: Part, *, works: bool = True) -> None:
        """Room for why a part has no answer, and for its progress."""
        refusal = self.refusals[part] = Refusal(self)
        self.wide(refusal)
        if works:
            working = self.working[part] = Working(part, self._model, self)
            self.wide(working)

    def edge_row(self, rows: Rows, label: str, name: str, pick: Pick, *, has_button: bool = True) -> EdgeChoice:
        """A row to choose one of the edges found, by its size or in the picture."""
        choice = EdgeChoice(name, pick, self._model, rows)
        self._choices.append(choice)
        if has_button:
            rows.named(label, choice, self.pick_button("Pick", name, pick, rows))
        else:
            rows.named(label, choice)
        return choice

    def pick_button(self, text: str, name: str, pick: Pick, parent: QWidget) -> PickButton:
        """A button that waits for clicks in the picture."""
        button = PickButton(text, pick, self._model, parent)
        button.setAccessibleName(f"{text}: {name}")
        self._buttons.append(button)
        return button

    def page(self) -> Rows:
        """Rows that are shown and hidden together."""
        page = Rows(self._session, self)
        self.wide(page)
        return page

    def figure(
        self, rows: Rows, name: str, words: tuple[str, str], figure: Figure = Figure.LENGTH, more: QWidget | None = None
    ) -> PageField:
        """A row for one of the scale's figures; ``words`` are its label and its meaning."""
        entry = rows.entry(*words, figure, more)
        entry.figure.taken.connect(lambda value: self._model.set_scaling(**{name: value}))
        return entry


def plain_button(text: str, parent: QWidget) -> QPushButton:
    """A button that Return in a field beside it doesn't press."""
    button = QPushButton(text, parent)
    button.setAutoDefault(False)
    return button
