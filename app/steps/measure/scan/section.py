"""One section of the scan's form: its head, what works beside the window, and why there is no answer."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from PySide6.QtWidgets import QHBoxLayout, QProgressBar, QPushButton, QWidget

from app.steps.measure.scan.picks import CHARS, EdgeChoice, PickButton
from app.widgets.choice_field import ChoiceField
from app.widgets.fields import TextField
from app.widgets.forms import Form
from app.widgets.labels import QuietLabel, Refusal
from app.widgets.layouts import bare
from app.widgets.source import OfPage
from app.widgets.switch import SwitchField

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from app.session.session import Session
    from app.steps.measure.scan.model import ScanModel
    from app.widgets.source import FigureOfPage
    from core.measure.scan.state import Part, Pick, ScanState

_PERCENT: Final = 100
_CHARS: Final = 7


class Working(QWidget):
    """A bar with a Stop, there while a part is worked on beside the window."""

    def __init__(self, part: Part, model: ScanModel, parent: QWidget) -> None:
        super().__init__(parent)
        self._part, self._model = part, model
        line = bare(QHBoxLayout(self))
        self.bar = QProgressBar(self)
        self.bar.setRange(0, _PERCENT)
        self.bar.setTextVisible(False)
        self.bar.setAccessibleName("Part that is done")
        self.stop_button = QPushButton("Stop", self)
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


class Section(Form):
    """Rows under a head; ``show_state`` brings them up to date with the model."""

    def __init__(self, session: Session, model: ScanModel, title: str, parent: QWidget) -> None:
        super().__init__(session, parent)
        self._session, self._scan = session, model
        self.refusals: dict[Part, Refusal] = {}
        self.working: dict[Part, Working] = {}
        self._shown: list[EdgeChoice | PickButton] = []
        self._kept: list[tuple[OfPage, Callable[[ScanState], object]]] = []
        self.heading(title)

    def show_state(self) -> None:
        """Show what the model knows now."""
        state = self._scan.state
        for part, refusal in self.refusals.items():
            refusal.tell(state.refusal(part))
        for widget in (*self.working.values(), *self._shown):
            widget.show_state()
        for source, read in self._kept:
            source.set(read(state))

    def follow(self, source: OfPage, read: Callable[[ScanState], object], put: Callable[[Any], object]) -> None:
        """Let a field show what the model knows, and tell the model what is put."""
        source.taken.connect(put)
        self._kept.append((source, read))

    def choice_of(
        self,
        words: Sequence[tuple[object, str]],
        name: str,
        read: Callable[[ScanState], object],
        put: Callable[[Any], object],
    ) -> ChoiceField:
        """A list of words for something that the model keeps."""
        source = OfPage((name, ""), self)
        self.follow(source, read, put)
        made = ChoiceField(source, words, self, chars=CHARS)
        made.take_room()
        return made

    def switch_of(
        self,
        words: Sequence[tuple[str, str]],
        name: str,
        read: Callable[[ScanState], str],
        put: Callable[[str], object],
    ) -> SwitchField:
        """A switch for something that the model keeps."""
        source = OfPage((name, ""), self)
        self.follow(source, read, put)
        return SwitchField(source, words, self)

    def quiet(self, form: Form | None = None) -> QuietLabel:
        """A quiet sentence that takes no room while there is nothing to say."""
        made = (form or self).note("")
        made.hide()
        return made

    def answers(self, part: Part, *, works: bool = True) -> None:
        """Room for why a part has no answer, and for its progress."""
        refusal = self.refusals[part] = Refusal(self)
        self.widget(refusal)
        if works:
            working = self.working[part] = Working(part, self._scan, self)
            self.widget(working)

    def edge_row(self, form: Form, label: str, name: str, pick: Pick, *, has_button: bool = True) -> EdgeChoice:
        """A row to choose one of the edges found, by its size or in the picture."""
        choice = EdgeChoice(name, pick, self._scan, form)
        self._shown.append(choice)
        form.line(label, choice, *((self.pick_button("Pick", name, pick, form),) if has_button else ()))
        return choice

    def pick_button(self, text: str, name: str, pick: Pick, parent: QWidget) -> PickButton:
        """A button that waits for clicks in the picture."""
        button = PickButton(text, pick, self._scan, parent)
        button.setAccessibleName(f"{text}: {name}")
        self._shown.append(button)
        return button

    def page(self) -> Form:
        """Rows that are shown and hidden together."""
        page = Form(self._session, self)
        self.widget(page)
        return page

    def figure(self, source: FigureOfPage, form: Form, more: QWidget | None = None) -> TextField:
        """A row for a figure that the model keeps, in a form of this section."""
        entry = TextField(source, form, chars=_CHARS)
        form.row(entry, more=more)
        return entry
