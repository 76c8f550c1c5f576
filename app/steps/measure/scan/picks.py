"""Choosing an edge in the scan's form: from a list, or by a click in the picture."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
from PySide6.QtWidgets import QPushButton, QWidget

from app.widgets.choice_field import ChoiceField
from app.widgets.source import OfPage

if TYPE_CHECKING:
    from app.steps.measure.scan.model import ScanModel
    from core.measure.scan.state import Pick

CHARS: Final = 8
"""That a list of choices shows at least."""


class PickButton(QPushButton):
    """A button that stays down while a click in the picture is waited for; pressed again, or Escape, gives up."""

    def __init__(self, text: str, pick: Pick, model: ScanModel, parent: QWidget) -> None:
        super().__init__(text, parent)
        self._pick, self._model = pick, model
        self.setCheckable(True)
        self.clicked.connect(self._clicked)

    def show_state(self) -> None:
        """Be down while the picture waits for this."""
        self.setChecked(self._model.state.pick is self._pick)
        self.setEnabled(self._model.state.opened is not None)

    def _clicked(self) -> None:
        self._model.ask_for_pick(self._pick)


class EdgeChoice(ChoiceField):
    """One of the edges found, told by its size in pixels, for those who don't click."""

    def __init__(self, name: str, pick: Pick, model: ScanModel, parent: QWidget) -> None:
        self._picked = OfPage((name, ""), parent)
        super().__init__(self._picked, (), parent, chars=CHARS)
        self.take_room()
        self._pick, self._model = pick, model
        self._shown: object = None
        self._picked.taken.connect(lambda index: model.pick_edge(pick, index))

    def show_state(self) -> None:
        """List the edges there are now."""
        state, choices = self._model.state, self._model.choices(self._pick)
        shown = (state.opened, state.edges, choices)
        if self._shown != shown:
            self._shown = shown
            words: list[tuple[object, str]] = []
            for number, index in enumerate(choices, 1):
                size = np.ptp(state.edges[index].points, axis=0)
                words.append((index, f"{number}: {size[0]:.0f} × {size[1]:.0f} px"))
            self.fill(words)
            self.setPlaceholderText("none yet" if choices or state.opened is None else "none found")
        self._picked.set(state.picked_index(self._pick))
        self.setEnabled(bool(choices))
