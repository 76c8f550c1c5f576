"""The sections of the scan's form that answer: the shape with its sizes, and what it is used for."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from PySide6.QtWidgets import QPushButton

from app.steps.measure.scan.section import Section
from app.steps.measure.scan.sizes import ScanSizes
from core.geometry.ovals.ovals import SIZED_FAMILIES, Family
from core.measure.scan import words
from core.measure.scan.asked import How
from core.measure.scan.state import Part, Pick

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from PySide6.QtWidgets import QWidget

    from app.session.session import Session
    from app.steps.measure.scan.model import ScanModel

_FAMILIES: Final = sorted(SIZED_FAMILIES, key=lambda family: family.kind.is_round)
OWNERS: Final = (("new_insert", "new insert"), ("old_insert", "old insert"))


class ShapeSection(Section):
    """Which family, and what came out."""

    def __init__(
        self, session: Session, model: ScanModel, ask_picture: Callable[[QWidget], Path | None], parent: QWidget
    ) -> None:
        super().__init__(session, model, "5  The shape", parent)
        self._ask_picture = ask_picture
        choices: list[tuple[object, str]] = [(None, "best fit")]
        choices += [(family, family.kind.words) for family in _FAMILIES]
        choices.append((Family.MEASURED, "the outline itself"))
        self.family = self.choice_of(choices, "Shape", lambda state: state.family, model.set_family)
        self.line("Shape", self.family)
        self.sizes = ScanSizes(session, model, self)
        self.widget(self.sizes)
        self.said = self.quiet()
        self.answers(Part.SHAPE)
        self.turned_button = QPushButton("Open the turned scan …", self)
        self.turned_button.clicked.connect(self._open_turned)
        self.forget_button = QPushButton("Forget it", self)
        self.forget_button.setAccessibleName("Forget the turned scan")
        self.forget_button.clicked.connect(model.forget_turned)
        self.line("", self.turned_button, self.forget_button)
        self.turned_note = self.quiet()
        self.answers(Part.TURNED)

    def show_state(self) -> None:
        super().show_state()
        state = self._scan.state
        self.sizes.refresh()
        self.said.tell(words.shape_text(state, self._session.project.style))
        is_flat = state.scaling.how is not How.CORNERS
        self.turned_button.setEnabled(is_flat and state.picked_edge(Pick.EDGE) is not None)
        self.forget_button.setVisible(state.turned is not None)
        self.turned_note.tell(words.turned_text(state, self._session.project.style))

    def _open_turned(self) -> None:
        path = self._ask_picture(self.window())
        if path is not None:
            self._scan.open_turned(path)


class TakeSection(Section):
    """What the sizes are used for."""

    def __init__(self, session: Session, model: ScanModel, parent: QWidget) -> None:
        super().__init__(session, model, "6  Use it", parent)
        self.buttons: dict[str, QPushButton] = {}
        for owner, spoken in OWNERS:
            button = self.buttons[owner] = QPushButton(f"Use for the {spoken}", self)
            button.clicked.connect(lambda _checked=False, o=owner: model.take(o))
            self.widget(button)
        self.said = self.quiet()
        self.answers(Part.TAKE, works=False)

    def show_state(self) -> None:
        super().show_state()
        state, project = self._scan.state, self._session.project
        for button in self.buttons.values():
            button.setEnabled(state.fitted is not None)
        holders = [text for owner, text in OWNERS if words.is_taken(state, getattr(project, owner))]
        self.said.tell(words.take_text(state, holders))
